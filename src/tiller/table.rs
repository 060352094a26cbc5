//! The tiller that is to be expected, beside what was measured, and what the difference says.

use super::explain::{Along, Cause, Explained, all_along};
use super::fit::{Fit, Fitted, Measured, Wording, fit, no_such_bow};
use super::strays::{Slip, Stray, refuse_many, slipped, strays};
use super::string_distance;
use crate::bow::bracing::{LIMB_STEPS, RestingBow};
use crate::bow::draw_curve::{BowAtDraw, Cycle, cycle, draw_bow};
use crate::design::{Both, Design, Side, StiffnessAt, TillerDistance, Units};
use crate::fault::Fault;
use crate::units::{INCH, both_text, number_text};

/// Expected distances of one limb at one draw.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Draw, m; none for the braced bow.
    pub draw: Option<f64>,
    /// Distance at each station, m.
    pub distances: Vec<f64>,
}

/// One measured distance beside the expected one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Beside {
    /// What was measured.
    pub measured: TillerDistance,
    /// What the design says, m.
    pub expected: f64,
    /// What the fitted limbs say, m; none without a fit.
    pub fitted: Option<f64>,
}

/// What the measured distances say of the limbs.
#[derive(Debug, Clone)]
pub struct Told {
    /// What explains them best, or why that cannot be said.
    pub cause: Result<Explained, Fault>,
    /// A whole taper that explains them, or why there is none.
    pub taper: Result<Fitted, Fault>,
    /// Why the taper has fewer places than were asked for, if it has.
    pub fewer: Option<Fault>,
    /// Places of the taper, m from the middle; none on a limb of which nothing was measured, which is taken as designed.
    pub places: Both<Vec<f64>>,
    /// Measured distances that were left out, for the others contradict them.
    pub strays: Vec<Stray>,
    /// The stiffness to write into the design, the file's own factors included.
    pub stiffness: Both<Vec<StiffnessAt>>,
    /// The bow drawn with it.
    pub cycle: Cycle,
}

/// The whole answer.
#[derive(Debug, Clone)]
pub struct Tiller {
    /// Stations, m from the middle.
    pub stations: Both<Vec<f64>>,
    /// Expected distances, draw by draw.
    pub lines: Both<Vec<Line>>,
    /// The bow as designed, drawn.
    pub cycle: Cycle,
    /// The bow the expected distances are of.
    pub bow: RestingBow,
    /// Its states at the draws.
    pub states: Vec<(Option<f64>, BowAtDraw)>,
    /// Measured distances beside expected ones.
    pub beside: Vec<Beside>,
    /// What they say; none where nothing was measured.
    pub told: Option<Told>,
}

/// Fewer measured distances tell nothing of a limb. Common practice, no source.
const FEWEST: usize = 3;
/// Distances that stray by more than so many times what they are sure to are not as designed.
const STRAYS: f64 = 3.0;

impl Tiller {
    /// Whether the distances are too few to tell anything of the limbs.
    pub fn too_few(&self) -> bool {
        self.beside.len() < FEWEST
    }

    /// How far the distances are from the design on the whole, m (root of the mean square), where nothing explains them and they are too far
    /// for the design; `sure_to` (m) is how sure they are.
    pub fn unexplained(&self, sure_to: f64) -> Option<f64> {
        let told = self.told.as_ref()?;
        if told.cause.as_ref().ok()?.cause != Cause::AsDesigned {
            return None;
        }
        // Readings that were left out as strays do not count.
        let kept = self.beside.iter().enumerate().filter(|(i, _)| told.strays.iter().all(|stray| stray.index != *i));
        let squares: Vec<f64> = kept.map(|(_, b)| (b.measured.distance - b.expected).powi(2)).collect();
        let left = (squares.iter().sum::<f64>() / squares.len().max(1) as f64).sqrt();
        (left > STRAYS * sure_to).then_some(left)
    }
}

/// Draws nearer to each other than this are one, m: a 64th of an inch.
const SAME_DRAW: f64 = INCH / 64.0;

/// Works it out at these draws (none: braced), with stations every `step` m.
///
/// # Errors
/// What keeps the bow from being braced or drawn, and distances most of which have slipped. Why the distances tell nothing stands in [`Told`].
pub fn tiller(design: &Design, seat_offsets: Both<f64>, draws: &[Option<f64>], step: f64) -> Result<Tiller, Fault> {
    let cycle = cycle(design, seat_offsets, LIMB_STEPS, 8)?;
    let bow = RestingBow::of(design, seat_offsets, LIMB_STEPS).stiffened(cycle.stiffness_factor);
    let start = design.bow.stiff_handle / 2.0;
    let stations = Both::build(|side| {
        let length = design.limbs.get(side).length;
        let first = (start / step - 1e-9).ceil() as usize;
        (first..).map(|k| k as f64 * step).take_while(|at| *at < length - 0.25 * step).collect::<Vec<f64>>()
    });
    let state = |draw: Option<f64>| state_at(&bow, &cycle, design, draw);
    // A draw that is the braced one's, or that stands there already, is no state of its own.
    let mut apart: Vec<Option<f64>> = Vec::new();
    for &draw in draws {
        let draw = draw.filter(|d| (d - cycle.at_brace().draw).abs() > SAME_DRAW);
        let same = |d: &Option<f64>| match (d, draw) {
            (Some(a), Some(b)) => (a - b).abs() <= SAME_DRAW,
            (a, b) => a.is_none() && b.is_none(),
        };
        if !apart.iter().any(same) {
            apart.push(draw);
        }
    }
    let states = apart.iter().map(|&d| Ok((d, state(d)?))).collect::<Result<Vec<_>, Fault>>()?;
    let lines = Both::build(|side| {
        let distance =
            |s: &BowAtDraw| stations.get(side).iter().map(|at| string_distance(&bow, s, side, at - start)).collect();
        states.iter().map(|(draw, s)| Line { draw: *draw, distances: distance(s) }).collect::<Vec<Line>>()
    });
    let measured = &design.tiller.measured;
    let mut beside = Vec::new();
    for m in measured {
        let expected = string_distance(&bow, &state(m.draw)?, m.side, m.at - start);
        beside.push(Beside { measured: *m, expected, fitted: None });
    }
    let told = if measured.is_empty() { None } else { Some(told(design, &cycle, &bow, seat_offsets, &beside)?) };
    if let Some(Told { stiffness, .. }) = &told
        && Side::BOTH.iter().any(|&side| stiffness.get(side) != &design.limbs.get(side).stiffness)
    {
        let fitted = fitted_design(design, stiffness);
        let factor = crate::bow::draw_curve::cycle(&fitted, seat_offsets, LIMB_STEPS, 2)?;
        let fitted_bow = RestingBow::of(&fitted, seat_offsets, LIMB_STEPS).stiffened(factor.stiffness_factor);
        for b in &mut beside {
            // A draw that only the bow as designed can be drawn to has no fitted distance.
            let state = state_at(&fitted_bow, &factor, &fitted, b.measured.draw).ok();
            b.fitted = state.map(|s| string_distance(&fitted_bow, &s, b.measured.side, b.measured.at - start));
        }
    }
    Ok(Tiller { stations, lines, cycle, bow, states, beside, told })
}

fn state_at(bow: &RestingBow, cycle: &Cycle, design: &Design, draw: Option<f64>) -> Result<BowAtDraw, Fault> {
    match draw {
        None => Ok(cycle.at_brace().clone()),
        Some(draw) if draw <= cycle.at_brace().draw => {
            let what = format!("a draw of {} does not reach past the braced string", both_text(draw));
            let why = format!("the braced string stands at a draw of {}", both_text(cycle.at_brace().draw));
            Err(Fault::at("bow.draw", what, why).cure("check the draw, and draw_to"))
        }
        // The braced string may lie on the limbs, and then does so for part of the draw.
        Some(draw) => bow
            .free_or_lying(|bow| Ok(draw_bow(bow, &cycle.braced, design.bow.draw_to, draw, 2)?.at_full_draw().clone())),
    }
}

fn fitted_design(design: &Design, stiffness: &Both<Vec<StiffnessAt>>) -> Design {
    let mut fitted = design.clone();
    for side in Side::BOTH {
        fitted.limbs.get_mut(side).stiffness = stiffness.get(side).clone();
    }
    fitted
}

/// Where the stiffness is sought, as parts of the bending limb: not at the root, whose bend is seen everywhere, nor at the tip, which
/// hardly bends.
const FIRST: f64 = 0.13;
const LAST: f64 = 0.79;
fn told(
    design: &Design,
    cycle: &Cycle,
    bow: &RestingBow,
    seat_offsets: Both<f64>,
    beside: &[Beside],
) -> Result<Told, Fault> {
    let start = design.bow.stiff_handle / 2.0;
    let spread = |n: usize| {
        Both::build(|side| {
            if !design.tiller.measured.iter().any(|m| m.side == side) {
                return Vec::new();
            }
            let length = bow.limbs.get(side).length();
            let part = |k: usize| FIRST + (LAST - FIRST) * k as f64 / (n - 1).max(1) as f64;
            (0..n).map(|k| part(k) * length).collect::<Vec<f64>>()
        })
    };
    let all: Vec<Measured> = design
        .tiller
        .measured
        .iter()
        .map(|m| {
            let length = bow.limbs.get(m.side).length();
            Measured { draw: m.draw, side: m.side, at: (m.at - start).clamp(0.0, length), distance: m.distance }
        })
        .collect();
    let few = spread(design.tiller.places);
    let wording = Wording { units: design.units, start };
    let bracing = crate::design::Bracing::Height(cycle.braced.brace_height);
    let (draw_to, noise) = (design.bow.draw_to, design.tiller.sure_to);
    // Slipped figures first: beside them all other errors are small.
    let expected: Vec<f64> = beside.iter().map(|b| b.expected).collect();
    let mut left_out = slipped(&all, &expected);
    refuse_many(&left_out, all.len())?;
    let own: Vec<usize> = (0..all.len()).filter(|i| left_out.iter().all(|s| s.index != *i)).collect();
    let sound: Vec<Measured> = own.iter().map(|&i| all[i]).collect();
    let others = strays(&Fit { bow, bracing, draw_to, measured: &sound, noise, places: &few, wording });
    left_out.extend(others.unwrap_or_default().into_iter().map(|s| Stray { index: own[s.index], ..s }));
    let measured: Vec<Measured> =
        (0..all.len()).filter(|i| left_out.iter().all(|s| s.index != *i)).map(|i| all[i]).collect();
    let nodes = all_along(bow, |side| !few.get(side).is_empty());
    let along = Along::of(Fit { bow, bracing, draw_to, measured: &measured, noise, places: &nodes, wording });
    let taper_at =
        |places: &Both<Vec<f64>>| fit(&Fit { bow, bracing, draw_to, measured: &measured, noise, places, wording });
    let misfit = match &along {
        Ok(along) => along.misfit(),
        Err(fault) => Some(fault.clone()),
    };
    let (mut places, mut fewer) = (few, None);
    let (mut cause, taper) = match (misfit, along) {
        (Some(misfit), _) | (None, Err(misfit)) => (Err(misfit.clone()), Err(misfit)),
        (None, Ok(along)) => {
            let mut taper = taper_at(&places);
            // Fewer places are told where more are not; the first reason stands.
            for n in (2..design.tiller.places).rev() {
                if let Err(fault) = &taper
                    && let Ok(found) = taper_at(&spread(n))
                {
                    (places, fewer, taper) = (spread(n), Some(fault.clone()), Ok(found));
                }
            }
            (along.cause(taper.as_ref().ok()), taper)
        }
    };
    let stiffness = stiffness(design, bow, &cause, &taper, &places);
    let drawn = crate::bow::draw_curve::cycle(&fitted_design(design, &stiffness), seat_offsets, LIMB_STEPS, 8);
    let (stiffness, cycle) = match drawn {
        Ok(drawn) => (stiffness, drawn),
        // The limbs found could not be drawn: the reason stands in place of them.
        Err(fault) => {
            cause = Err(no_such_bow(fault));
            (Both::build(|side| design.limbs.get(side).stiffness.clone()), cycle.clone())
        }
    };
    let places = places.map(|p| p.iter().map(|s| start + s).collect());
    Ok(Told { cause, taper, fewer, places, strays: left_out, stiffness, cycle })
}

/// The stiffness to write into the design: what is told, on top of the design's own.
fn stiffness(
    design: &Design,
    bow: &RestingBow,
    cause: &Result<Explained, Fault>,
    taper: &Result<Fitted, Fault>,
    places: &Both<Vec<f64>>,
) -> Both<Vec<StiffnessAt>> {
    let start = design.bow.stiff_handle / 2.0;
    let own = |side: Side| design.limbs.get(side).stiffness.clone();
    let to_write = match (cause, taper) {
        (Ok(found), taper) => found.to_write(taper.as_ref().ok()),
        // What is amiss is not told.
        (Err(_), _) => false,
    };
    if !to_write {
        return Both::build(own);
    }
    match (cause.as_ref().map(|c| &c.cause), taper) {
        (Ok(Cause::AsDesigned) | Err(_), _) | (Ok(Cause::Taper), Err(_)) => Both::build(own),
        (Ok(Cause::Limb(found)), _) => Both::build(|side| match side == found.side {
            true => together(&own(side), &[start], &[found.factor]),
            false => own(side),
        }),
        (Ok(Cause::Stretch(found)), _) => Both::build(|side| {
            if side != found.side {
                return own(side);
            }
            // Its feet, where they lie on the limb; else what it comes to at the limb's ends.
            let ends = [(found.at - found.reach).max(0.0), (found.at + found.reach).min(bow.limbs.get(side).length())];
            let factor = |at: f64| found.factor.powf(1.0 - ((at - found.at).abs() / found.reach).min(1.0));
            let places = [ends[0], found.at, ends[1]];
            together(&own(side), &places.map(|s| start + s), &places.map(factor))
        }),
        (Ok(Cause::Taper), Ok(fitted)) => Both::build(|side| {
            if places.get(side).is_empty() {
                return own(side);
            }
            let places: Vec<f64> = places.get(side).iter().map(|s| start + s).collect();
            together(&own(side), &places, fitted.factor.get(side))
        }),
    }
}

/// A stray reading in a sentence.
pub fn stray_words(design: &Design, stray: &Stray) -> String {
    let text = |m: f64| tiller_text(m, design.units);
    let Some(m) = design.tiller.measured.get(stray.index) else { return String::new() };
    let when = m.draw.map_or_else(|| "braced".to_owned(), |d| format!("drawn to {}", text(d)));
    let why = match stray.slip {
        Some(Slip::Decimal) => "its decimal point has slipped, as it seems: about",
        Some(Slip::Unit) => "its unit is wrong, as it seems (inches and millimetres mixed up): about",
        None => "the other distances say about",
    };
    format!(
        "the {} limb {} from the middle, {when}, {}: {why} {} is to be expected",
        m.side.name(),
        text(m.at),
        text(m.distance),
        text(stray.about)
    )
}

/// A distance as tillers are read: to a hundredth of an inch, or a tenth of a millimetre.
fn tiller_text(metres: f64, units: Units) -> String {
    match units {
        Units::Inch => format!("{} in", number_text(metres / INCH, 2)),
        Units::Millimetre => format!("{} mm", number_text(metres * 1e3, 1)),
    }
}

/// Factors found on top of those the design already has.
fn together(own: &[StiffnessAt], places: &[f64], factors: &[f64]) -> Vec<StiffnessAt> {
    let found: Vec<StiffnessAt> =
        places.iter().zip(factors).map(|(&at, &factor)| StiffnessAt { at: at.max(0.0), factor }).collect();
    let mut all: Vec<f64> = own.iter().chain(&found).map(|p| p.at).collect();
    all.sort_by(f64::total_cmp);
    all.dedup_by(|a, b| (*a - *b).abs() < 1e-4);
    let factor = |at: f64| crate::bow::limb::known_factor(own, at) * crate::bow::limb::known_factor(&found, at);
    all.into_iter().map(|at| StiffnessAt { at, factor: factor(at) }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn found_factors_stand_on_those_the_file_has() {
        let own = [StiffnessAt { at: 0.2, factor: 0.9 }, StiffnessAt { at: 0.6, factor: 0.9 }];
        let all = together(&own, &[0.2, 0.4], &[1.0, 1.1]);
        let want = [(0.2, 0.9), (0.4, 0.99), (0.6, 0.99)];
        assert_eq!(all.len(), 3);
        assert!(
            all.iter().zip(want).all(|(p, w)| (p.at - w.0).abs() < 1e-12 && (p.factor - w.1).abs() < 1e-12),
            "{all:?}"
        );
    }
}
