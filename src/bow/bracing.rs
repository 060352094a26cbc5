//! The braced bow: two limbs held bent by one string.

use super::elastica::{NockState, nock_state, nock_states};
use super::limb::RestingLimb;
use super::lying::Recurved;
use crate::design::{Both, Bow, Bracing, Design, Side};
use crate::fault::Fault;
use crate::numerics::newton;
use crate::units::both_text;
use guess::{Guess, courses};

mod guess;

/// A bow ready for the statics.
///
/// Handle frame: `x` toward the archer from the grip's belly side at the pivot, `y` up from the middle of the bow.
#[derive(Debug, Clone)]
pub struct RestingBow {
    /// The limbs, each in its own outward frame.
    pub limbs: Both<RestingLimb>,
    /// Height of the pivot, m.
    pub pivot: f64,
    /// Height of the nocking point on the braced string, m.
    pub nocking_point: f64,
    /// The back at the arrow pass: where draw to the back is measured from, m.
    pub arrow_pass: [f64; 2],
    /// Pull over strain of the string, N; none when it does not stretch.
    pub string_stiffness: Option<f64>,
    /// Half the loop's length: nearer to the nock than this its legs straddle the limb, m.
    pub loop_length: f64,
    /// String diameter, m.
    pub string_diameter: f64,
    /// Whether the string may lie on the limbs' bellies; see [`super::lying`]. Where not it is free from the seats on.
    pub lies: bool,
}

/// Steps along each limb that reports use. Doubling it moves no string angle of the samples by more than 1e-4 degrees;
/// fewer would be quicker and show in the third digit of strongly tapered limbs.
pub const LIMB_STEPS: usize = 48;

impl RestingBow {
    /// The bow of a design; `seat_offsets` says how far the string's centreline stands off each limb's centreline
    /// at its nock, plus toward the back, m.
    pub fn of(design: &Design, seat_offsets: Both<f64>, steps: usize) -> Self {
        let Bow { pivot, nocking_point, arrow_pass, handle_depth, .. } = design.bow;
        RestingBow {
            limbs: Both::build(|side| {
                let choice = design.nocks.get(side);
                let (guide, strip) = (choice.guide().map_or(0.0, |guide| guide.depth), choice.strip());
                let limb = RestingLimb::of(&design.bow, design.limbs.get(side), *seat_offsets.get(side), steps);
                RestingLimb { guide, strip, ..limb }
            }),
            pivot,
            nocking_point,
            arrow_pass: [-handle_depth, arrow_pass],
            string_stiffness: design.string.stiffness,
            loop_length: design.string.loop_length,
            string_diameter: design.string.diameter,
            lies: false,
        }
    }

    /// The same bow with all limb stiffness multiplied by `factor`.
    pub fn stiffened(&self, factor: f64) -> Self {
        RestingBow { limbs: self.limbs.map(|l| l.stiffened(factor)), ..self.clone() }
    }

    /// Does `work` with the string free from the nocks on and, where that fails on limbs whose bellies bulge toward the
    /// archer, once more with a string that may lie on them.
    ///
    /// # Errors
    /// As `work` fails: the second time where the first found the string on a limb.
    pub fn free_or_lying<T>(&self, work: impl Fn(&Self) -> Result<T, Fault>) -> Result<T, Fault> {
        let may_lie = |s: &Side| Recurved::may_lie(self.limbs.get(*s), self.loop_length);
        work(self).or_else(|free| {
            if self.lies || !Side::BOTH.iter().any(may_lie) {
                return Err(free);
            }
            let on_a_limb = |fault: &Fault| fault.key.ends_with("limb.unstrung");
            work(&RestingBow { lies: true, ..self.clone() }).map_err(|lying| {
                let unbraced = |fault: &Fault| fault.key == "bow.brace_height" || fault.key == "bow.string_length";
                match (on_a_limb(&free), unbraced(&lying)) {
                    (true, false) => lying,
                    (true, true) => free,
                    (false, true) => self.hollow().unwrap_or(free),
                    (false, false) => {
                        // What a string that lies came farther with says more.
                        if on_a_limb(&lying) || unbraced(&free) { lying } else { free }
                    }
                }
            })
        })
    }

    /// Why a bow may take no string whose unstrung bellies bulge in more than one place.
    fn hollow(&self) -> Option<Fault> {
        let place = |side: Side| Recurved::hollow(self.limbs.get(side), self.loop_length);
        let (side, s) = Side::BOTH.iter().find_map(|&side| Some((side, place(side)?)))?;
        let fault = Fault::at(
            format!("{}.limb.unstrung", side.name()),
            format!(
                "no braced shape was found; unstrung, the {} limb's belly is hollow or flat {:.0} mm from the middle, between two bulges",
                side.name(),
                (s + self.limbs.get(side).root[1]) * 1e3
            ),
            "the string is taken to lie on the belly in one stretch from the loop's throat inward; over a hollow it would stand \
             off and lie down again",
        );
        Some(fault.cure("a fairer recurve, bent evenly from the tip inward; check the brace height too"))
    }

    /// A limb as the string may lie on it.
    pub(super) fn recurved(&self, side: Side) -> Recurved<'_> {
        Recurved::new(self.limbs.get(side), self.loop_length, self.string_diameter)
    }

    /// A limb's nock in the handle frame (the lower limb's outward frame is mirrored); none where a lying string has no
    /// such state.
    pub fn nock(&self, side: Side, pull: f64, course: f64) -> Option<NockState> {
        let state = if self.lies {
            self.recurved(side).nock(pull, course)?
        } else {
            nock_state(self.limbs.get(side), pull, course)
        };
        Some(if side == Side::Lower { state.mirrored() } else { state })
    }

    /// Both nocks, as [`RestingBow::nock`] tells each; or the side that has no such state.
    pub fn nocks(&self, pull: Both<f64>, course: Both<f64>) -> Result<Both<NockState>, Side> {
        if self.lies {
            return Both::try_build(|side| self.nock(side, *pull.get(side), *course.get(side)).ok_or(side));
        }
        let Both { upper, lower } = nock_states(Both::build(|side| self.limbs.get(side)), pull, course);
        Ok(Both { upper, lower: lower.mirrored() })
    }

    /// Length of a string, m, that is `length` long unstretched and carries `pull`; and its derivative by pull.
    pub fn stretched(&self, length: f64, pull: f64) -> (f64, f64) {
        match self.string_stiffness {
            None => (length, 0.0),
            Some(k) => (length * (1.0 + pull / k), length / k),
        }
    }
}

/// The braced bow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Braced {
    /// Pull of the string, N.
    pub pull: f64,
    /// Each limb's unknown beside the pull, rad: the string angle at the nock, or where the string lies on the belly what
    /// stands for it in [`super::lying`].
    pub course: Both<f64>,
    /// From the pivot square to the string, m.
    pub brace_height: f64,
    /// Unstretched length of the string between the nock seats, m.
    pub string_length: f64,
    /// Unstretched lengths from each seat to the nocking point, m.
    pub parts: Both<f64>,
    /// The nocking point, handle frame, m.
    pub nocking_point: [f64; 2],
}

pub(crate) fn cross(a: [f64; 2], b: [f64; 2]) -> f64 {
    a[0] * b[1] - a[1] * b[0]
}

pub(crate) fn minus(a: [f64; 2], b: [f64; 2]) -> [f64; 2] {
    [a[0] - b[0], a[1] - b[1]]
}

pub(crate) fn length(a: [f64; 2]) -> f64 {
    a[0].hypot(a[1])
}

/// Braces the bow to a brace height or with a string length.
///
/// # Errors
/// A fault about `bow.brace_height` or `bow.string_length` when no string gives it.
pub fn brace(bow: &RestingBow, bracing: Bracing) -> Result<Braced, Fault> {
    let key = match bracing {
        Bracing::Height(_) => "bow.brace_height",
        Bracing::StringLength(_) => "bow.string_length",
    };
    let measure = |guess: &Guess| match bracing {
        Bracing::Height(_) => guess.height,
        // A longer string braces lower: turned round so that both rise with the string angle.
        Bracing::StringLength(_) => -guess.string_length,
    };
    let wanted = match bracing {
        Bracing::Height(h) => h,
        Bracing::StringLength(l) => -l,
    };
    // Walk up the string angles until what is wanted lies between two guesses; Newton does the rest from either.
    let mut passed: Vec<Guess> = Vec::new();
    for guess in courses(bow).filter_map(|course| Guess::at(bow, course)) {
        if let Some(before) = passed.last()
            && (measure(before) - wanted) * (measure(&guess) - wanted) <= 0.0
            && let Some(braced) = solve(bow, bracing, &guess).or_else(|| solve(bow, bracing, before))
        {
            return Ok(braced);
        }
        passed.push(guess);
    }
    let heights = passed.iter().map(measure);
    let (low, high) = heights.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
    Err(match bracing {
        _ if passed.is_empty() => Fault::at(
            key,
            "no pull bends these limbs far enough to take a string",
            "a braced limb bends until the string stands off it; these do not, or are bent past it unstrung",
        )
        .cure("check the limbs' unstrung profile, thicknesses and length"),
        Bracing::Height(h) => Fault::at(
            key,
            format!("no string length gives a brace height of {}", both_text(h)),
            format!("for these limbs and this handle it lies between about {} and {}", both_text(low), both_text(high)),
        )
        .cure("check the brace height, the handle's depth and the limbs' length"),
        Bracing::StringLength(l) => Fault::at(
            key,
            format!("a string of {} does not brace this bow", both_text(l)),
            format!("between the nock seats it must be about {} to {} long", both_text(-high), both_text(-low)),
        )
        .cure("a braced string is a few inches shorter than the bow; give brace_height if its length is not known"),
    })
}

/// Braces a bow much like one whose braced shape is known, from there; as [`brace`] where that leads nowhere.
///
/// # Errors
/// As for [`brace`].
pub fn brace_near(bow: &RestingBow, bracing: Bracing, known: &Braced) -> Result<Braced, Fault> {
    let guess = Guess {
        pull: Both { upper: known.pull, lower: known.pull },
        course: 0.5 * (known.course.upper + known.course.lower),
        height: known.brace_height,
        string_length: known.string_length,
    };
    solve(bow, bracing, &guess).map_or_else(|| brace(bow, bracing), Ok)
}

/// Newton's method on pull and string angle of both limbs: equal pulls, both strings along the line between the seats,
/// and the brace height or string length wanted.
fn solve(bow: &RestingBow, bracing: Bracing, guess: &Guess) -> Option<Braced> {
    let pull0 = 0.5 * (guess.pull.upper + guess.pull.lower);
    let span0 = guess.string_length;
    let found = newton::solve([1.0, guess.course, 1.0, guess.course], |&[tu, au, tl, al]| {
        if tu <= 0.0 || tl <= 0.0 || au.abs() > 3.0 || al.abs() > 3.0 {
            return None;
        }
        let pull = Both { upper: pull0 * tu, lower: pull0 * tl };
        let Both { upper, lower } = bow.nocks(pull, Both { upper: au, lower: al }).ok()?;
        // Unknown k = 0, 1 move the upper nock, 2, 3 the lower one; pulls are scaled by pull0.
        let scale = [pull0, 1.0, pull0, 1.0];
        let by = |own: &[[f64; 2]; 2], first: usize, k: usize| -> [f64; 2] {
            if k >= first && k < first + 2 { own[k - first].map(|v| v * scale[k]) } else { [0.0; 2] }
        };
        let span = minus(lower.seat, upper.seat);
        let gap = length(span);
        let mut residual = [tu - tl, cross(upper.string, span) / span0, -cross(lower.string, span) / span0, 0.0];
        let mut jacobian = [[0.0; 4]; 4];
        jacobian[0] = [1.0, 0.0, -1.0, 0.0];
        let to_pivot = minus([0.0, bow.pivot], upper.seat);
        let height = cross(to_pivot, span) / gap;
        residual[3] = match bracing {
            Bracing::Height(h) => (height - h) / span0,
            Bracing::StringLength(l) => {
                (gap + (upper.used + lower.used) - bow.stretched(l, pull0 * 0.5 * (tu + tl)).0) / span0
            }
        };
        for k in 0..4 {
            let (seat_u, seat_l) = (by(&upper.seat_by, 0, k), by(&lower.seat_by, 2, k));
            let (string_u, string_l) = (by(&upper.string_by, 0, k), by(&lower.string_by, 2, k));
            let span_by = minus(seat_l, seat_u);
            let gap_by = (span[0] * span_by[0] + span[1] * span_by[1]) / gap;
            jacobian[1][k] = (cross(string_u, span) + cross(upper.string, span_by)) / span0;
            jacobian[2][k] = -(cross(string_l, span) + cross(lower.string, span_by)) / span0;
            jacobian[3][k] = match bracing {
                Bracing::Height(_) => {
                    let arm_by = cross(minus([0.0; 2], seat_u), span) + cross(to_pivot, span_by);
                    (arm_by / gap - height * gap_by / gap) / span0
                }
                Bracing::StringLength(l) => {
                    let pull_by = if k % 2 == 0 { 0.5 * pull0 } else { 0.0 };
                    let used_by = if k < 2 { upper.used_by[k] } else { lower.used_by[k - 2] } * scale[k];
                    (gap_by + used_by - bow.stretched(l, 0.0).1 * pull_by) / span0
                }
            };
        }
        Some(newton::Equations { residual, jacobian })
    })?;
    let [tu, au, tl, al] = found;
    let pull = 0.5 * pull0 * (tu + tl);
    let course = Both { upper: au, lower: al };
    let Both { upper, lower } = bow.nocks(Both { upper: pull, lower: pull }, course).ok()?;
    let span = minus(lower.seat, upper.seat);
    let gap = length(span);
    let used = upper.used + lower.used;
    let whole = gap + used;
    let unstretched = match bow.string_stiffness {
        None => whole,
        Some(k) => whole / (1.0 + pull / k),
    };
    // The nocking point is the point of the string at that height.
    let part = (upper.seat[1] - bow.nocking_point) / (upper.seat[1] - lower.seat[1]);
    if !(0.0..=1.0).contains(&part) {
        return None;
    }
    // The nocking point divides the free string; what lies on the limbs goes to the parts that it belongs to.
    let more = (upper.used - part * used) * unstretched / whole;
    Some(Braced {
        pull,
        course,
        brace_height: cross(minus([0.0, bow.pivot], upper.seat), span) / gap,
        string_length: unstretched,
        parts: Both { upper: part * unstretched + more, lower: (1.0 - part) * unstretched - more },
        nocking_point: [upper.seat[0] + part * span[0], upper.seat[1] + part * span[1]],
    })
}
