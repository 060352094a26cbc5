//! What to take off to come to a wanted weight: readings, draw curve, shavings, a new taper.

use super::columns::{Column, LOOKS, tried};
use super::{DrawCurve, by_proportion, off_thickness, off_width, rounded_corner, shared};
use crate::bow::bracing::LIMB_STEPS;
use crate::bow::draw_curve::{DRAW_STEPS, cycle};
use crate::bow::limb::Profile;
use crate::design::{Both, CornerAt, Design, Limb, SectionForm, Side, Station, Units, WeightReading};
use crate::fault::Fault;
use crate::units::{force_text, length_text};
use crate::worked::soundness::reserve_in_the_draw;

/// What is asked.
#[derive(Debug, Clone, PartialEq)]
pub struct Ask {
    /// What the scale said, at least one reading.
    pub readings: Vec<WeightReading>,
    /// Draw at which the weight is asked for, m.
    pub draw: f64,
    /// Weight wanted there, N; none to be told what it will be.
    pub wanted: Option<f64>,
    /// The upper limb's part of what comes off; one half keeps the tiller.
    pub upper_share: f64,
    /// Where the readings stand, for faults about them.
    pub readings_key: &'static str,
    /// Where the draw asked for and the wanted weight stand.
    pub wanted_key: &'static str,
    /// Between one station of the new taper and the next, m.
    pub step: f64,
}

/// [`Ask::wanted_key`] of a weight that was asked for in so many words.
pub const TYPED: &str = "--wanted";

/// One reading and what it leads to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Led {
    /// The reading.
    pub reading: WeightReading,
    /// Weight at the asked draw by simple proportion, N.
    pub by_proportion: f64,
    /// Weight at the asked draw by the computed curve through this reading alone, N.
    pub by_curve: f64,
}

/// What comes off at one place of a limb; any one of the three does it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shaving {
    /// Width and thickness as they are.
    pub now: Station,
    /// Off the thickness, m.
    pub off_thickness: f64,
    /// Off the width, both sides together, m.
    pub off_width: f64,
    /// Radius the corners are rounded to instead, m; none where that does not take off enough.
    pub corner: Option<f64>,
}

/// What comes off, all along both limbs.
#[derive(Debug, Clone, PartialEq)]
pub struct TakeOff {
    /// Wanted weight over the foretold one, below 1.
    pub factor: f64,
    /// Factor on each limb's stiffness.
    pub stiffness: Both<f64>,
    /// Place by place.
    pub shavings: Both<Vec<Shaving>>,
    /// Whether taking it off the thickness does.
    pub by_thickness: Column,
    /// Whether taking it off the width does.
    pub by_width: Column,
    /// Whether the limbs' section has corners that can be rounded.
    pub has_corners: Both<bool>,
    /// Whether rounding the corners does, with the thickness taken off where that does not take off enough; none where it nowhere does.
    pub by_corners: Option<Column>,
}

/// The answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// Reading by reading.
    pub led: Vec<Led>,
    /// The asked draw, m.
    pub draw: f64,
    /// Weight there, N, from all readings and the computed curve.
    pub foretold: f64,
    /// Largest difference between a reading and the scaled curve, N.
    pub misfit: f64,
    /// Brace height that the curve starts from, m.
    pub brace_height: f64,
    /// The draw, as the design measures it, at which the braced string stands, m.
    pub brace_draw: f64,
    /// Weight wanted, N.
    pub wanted: Option<f64>,
    /// What comes off; none when nothing is wanted or the bow is no heavier than wanted.
    pub take_off: Option<TakeOff>,
    /// Why nothing is said of what comes off, where the wanted weight stands in the file and was not asked for in so many words.
    pub withheld: Option<Fault>,
}

/// Works it out. `seat_offsets` as for [`cycle`].
///
/// # Errors
/// What keeps the bow from being braced or drawn so far; a fault about `ask.readings_key` when a reading lies before or near brace or
/// contradicts another, and about `ask.wanted_key` when the draw asked for lies before brace or the wanted weight leaves too little wood.
pub fn plan(design: &Design, seat_offsets: Both<f64>, ask: &Ask) -> Result<Plan, Fault> {
    let Some(firmest) = ask.readings.iter().copied().max_by(|a, b| a.draw.total_cmp(&b.draw)) else {
        return Err(no_reading());
    };
    // Where the braced string stands, whatever the readings say.
    let mut unread = design.clone();
    unread.bow.weight = None;
    let brace_draw = cycle(&unread, seat_offsets, LIMB_STEPS, 1)?.at_brace().draw;
    if let Some(reading) = ask.readings.iter().find(|r| r.draw <= brace_draw) {
        let what = format!("the reading at a draw of {} lies at or before the braced string", place(reading.draw));
        return Err(before_brace(ask.readings_key, what, brace_draw));
    }
    if ask.draw <= brace_draw {
        let what = format!("a draw of {} lies at or before the braced string", place(ask.draw));
        return Err(before_brace(ask.wanted_key, what, brace_draw));
    }
    // Near brace the weight is next to nothing, and half a pound misread there becomes many at the wanted draw.
    let near = |r: &&WeightReading| r.draw < brace_draw + NEAREST * (ask.draw - brace_draw);
    if let Some(reading) = ask.readings.iter().find(near) {
        return Err(near_brace(ask.readings_key, reading, brace_draw));
    }
    // The bow as it is now, stiff enough for the reading that tells most, drawn as far as anything is asked.
    let mut now = design.clone();
    now.bow.weight = Some(firmest);
    now.bow.draw = ask.readings.iter().map(|r| r.draw).fold(ask.draw, f64::max);
    let blamed = if ask.draw < firmest.draw { ask.readings_key } else { ask.wanted_key };
    let drawn = cycle(&now, seat_offsets, LIMB_STEPS, DRAW_STEPS).map_err(|fault| match fault.key.as_str() {
        "bow.weight" => Fault { key: ask.readings_key.into(), ..fault },
        "bow.draw" => Fault { key: blamed.into(), ..fault },
        _ => fault,
    })?;
    let points: Vec<(f64, f64)> = drawn.states.iter().map(|s| (s.draw, s.force)).collect();
    let useless = || {
        before_brace(ask.readings_key, "the readings tell nothing on the computed draw curve".to_owned(), brace_draw)
    };
    let curve = DrawCurve::through(&points).ok_or_else(useless)?;
    let pair = |r: &WeightReading| (r.draw, r.pull);
    let all: Vec<(f64, f64)> = ask.readings.iter().map(pair).collect();
    let tell = |readings: &[(f64, f64)]| curve.foretell(readings, ask.draw).ok_or_else(useless);
    let told = tell(&all)?;
    let mut led = Vec::new();
    for reading in &ask.readings {
        let by_proportion = by_proportion(reading.pull, reading.draw, ask.draw);
        led.push(Led { reading: *reading, by_proportion, by_curve: tell(&[pair(reading)])?.weight });
    }
    // Wood that is off stays off: nothing is taken off on readings of which one must be wrong.
    let contradicting = (ask.wanted.is_some() && told.misfit > CONTRADICTS * told.weight)
        .then(|| contradictory(ask.readings_key, told.misfit, told.weight));
    let mut plan = Plan {
        led,
        draw: ask.draw,
        foretold: told.weight,
        misfit: told.misfit,
        brace_height: drawn.braced.brace_height,
        brace_draw,
        wanted: ask.wanted,
        take_off: None,
        withheld: None,
    };
    let factor = ask.wanted.map(|w| w / told.weight).filter(|f| *f < 1.0 - AS_IT_IS);
    let found = match (contradicting, factor) {
        (Some(fault), _) => Err(fault),
        (None, None) => return Ok(plan),
        (None, Some(factor)) => take_off(&now, seat_offsets, ask, factor, drawn.stiffness_factor * told.factor),
    };
    match found {
        Ok(found) => plan.take_off = Some(found),
        Err(fault) if ask.wanted_key == TYPED => return Err(fault),
        Err(fault) => plan.withheld = Some(fault),
    }
    Ok(plan)
}

/// `stiff` is what the table's modulus is multiplied by to meet the readings.
fn take_off(now: &Design, seat_offsets: Both<f64>, ask: &Ask, factor: f64, stiff: f64) -> Result<TakeOff, Fault> {
    let stiffness = left(now, seat_offsets, ask, factor, stiff);
    if let Some(side) = Side::BOTH.into_iter().find(|&side| *stiffness.get(side) < LEAST_LEFT) {
        return Err(too_much(ask.wanted_key, factor, side, *stiffness.get(side)));
    }
    let shavings = Both::build(|side| {
        let limb = now.limbs.get(side);
        let profile = Profile::of(limb);
        let factor = *stiffness.get(side);
        places(limb, now.bow.stiff_handle / 2.0, ask.step)
            .into_iter()
            .map(|at| {
                let section = profile.section(at);
                Shaving {
                    now: Station { at, width: section.width, thickness: section.thickness },
                    off_thickness: off_thickness(&section, factor),
                    off_width: off_width(&section, factor),
                    corner: rounded_corner(&section, factor),
                }
            })
            .collect::<Vec<_>>()
    });
    let at = [ask.draw, stiff, ask.wanted.unwrap_or_default()];
    let by_thickness = tried(now, seat_offsets, at, &shavings, thinner);
    let by_width = tried(now, seat_offsets, at, &shavings, narrower);
    if let (Some(why), Some(why_not)) = (&by_thickness.wont, &by_width.wont) {
        let drawn = cycle(now, seat_offsets, LIMB_STEPS, LOOKS)?;
        let reserve = reserve_in_the_draw(now, seat_offsets, &drawn);
        return Err(neither(ask.wanted_key, why, why_not, reserve.upper.1.min(reserve.lower.1) < 1.0));
    }
    let anywhere = shavings.upper.iter().chain(&shavings.lower).any(|s| s.corner.is_some());
    let by_corners = anywhere.then(|| tried(now, seat_offsets, at, &shavings, rounded));
    let has_corners =
        now.limbs.map(|limb| matches!(limb.section, SectionForm::Rectangle | SectionForm::RoundedRectangle { .. }));
    Ok(TakeOff { factor, stiffness, shavings, by_thickness, by_width, has_corners, by_corners })
}

/// What is left of each limb's stiffness, as a part, for the bow's weight to come by `factor`; `stiff` as for [`take_off`].
///
/// With equal shares the bow's own law says it; with unequal ones the rule of first order is corrected on the whole bow bent anew: both
/// logarithms are stretched by `k` until `weight(k) = factor * weight(0)`.
fn left(now: &Design, seat_offsets: Both<f64>, ask: &Ask, factor: f64, stiff: f64) -> Both<f64> {
    let (upper, lower) = shared(factor, ask.upper_share);
    let first = Both { upper, lower };
    if (upper - lower).abs() < 1e-9 {
        return first;
    }
    let at = |k: f64| first.map(|part| part.powf(k));
    let weight = |parts: Both<f64>| {
        let mut after = now.clone();
        after.bow.weight = None;
        after.bow.draw = ask.draw;
        for side in Side::BOTH {
            after.limbs.get_mut(side).wood.modulus.value *= stiff * parts.get(side);
        }
        Some(cycle(&after, seat_offsets, LIMB_STEPS, 4).ok()?.at_full_draw().force)
    };
    let Some(whole) = weight(at(0.0)) else { return first };
    let mut k = 1.0;
    // ln(weight) is all but straight in k, so that each turn takes off nearly all that is missing.
    for _ in 0..3 {
        let parts = at(k);
        let enough = Side::BOTH.iter().all(|&side| *parts.get(side) >= LEAST_LEFT);
        let Some(got) = weight(parts).filter(|w| enough && *w < whole) else { break };
        k *= factor.ln() / (got / whole).ln();
    }
    at(k)
}

/// The limb with the new thicknesses.
pub fn thinner(limb: &mut Limb, shavings: &[Shaving]) {
    limb.stations = shavings.iter().map(Shaving::thinner).collect();
}

/// The limb with the new widths.
pub fn narrower(limb: &mut Limb, shavings: &[Shaving]) {
    limb.stations = shavings.iter().map(Shaving::narrower).collect();
}

/// The limb with its corners rounded where that takes off enough, and thinner elsewhere.
pub fn rounded(limb: &mut Limb, shavings: &[Shaving]) {
    limb.stations = shavings.iter().map(|s| if s.corner.is_some() { s.now } else { s.thinner() }).collect();
    let as_it_is = match limb.section {
        SectionForm::RoundedRectangle { corner } => corner,
        _ => 0.0,
    };
    limb.corners = shavings.iter().map(|s| CornerAt { at: s.now.at, radius: s.corner.unwrap_or(as_it_is) }).collect();
}

impl Shaving {
    /// The place with the new thickness.
    pub fn thinner(&self) -> Station {
        Station { thickness: self.now.thickness - self.off_thickness, ..self.now }
    }

    /// The place with the new width.
    pub fn narrower(&self) -> Station {
        Station { width: self.now.width - self.off_width, ..self.now }
    }
}

/// Places of a new taper, m from the middle: the handle's end, whole steps, the limb's own stations, the nock.
fn places(limb: &Limb, start: f64, step: f64) -> Vec<f64> {
    let mut places = vec![start, limb.length];
    let mut at = (start / step).floor() * step;
    while at < limb.length {
        at += step;
        places.push(at);
    }
    places.extend(limb.stations.iter().map(|s| s.at));
    places.retain(|at| (start..=limb.length).contains(at));
    places.sort_by(f64::total_cmp);
    // A whole step that falls beside another place says nothing more.
    places.dedup_by(|a, b| (*a - *b).abs() < 0.1 * step);
    if let Some(last) = places.last_mut() {
        *last = limb.length;
    }
    places
}

fn no_reading() -> Fault {
    Fault::at(
        "bow.weight",
        "there is no reading of the scale",
        "what comes off is counted from what the scale says of the bow as it is",
    )
    .cure("give one with --reads \"35 lb at 24 in\", or as `scale` or `weight` in [bow]")
}

/// A reading must lie at least this part of the way from brace to the wanted draw. Common practice, no source.
const NEAREST: f64 = 0.15;
/// Readings that stray from the computed curve by more than this part of the weight contradict each other: scales and marks on a tiller
/// are good to a few hundredths. Common practice, no source.
const CONTRADICTS: f64 = 0.1;

/// A weight this near to the wanted one, as a part, is the wanted one: no scale tells them apart. Common practice, no source.
const AS_IT_IS: f64 = 0.005;
/// What a limb must keep of its stiffness for what is measured on this bow to tell anything of the next. Common practice, no source.
const LEAST_LEFT: f64 = 0.5;

fn place(draw: f64) -> String {
    length_text(draw, Units::Inch)
}

fn near_brace(key: &str, reading: &WeightReading, brace_draw: f64) -> Fault {
    Fault::at(
        key,
        format!("a reading at a draw of {} tells nothing of the weight at full draw", place(reading.draw)),
        format!(
            "the braced string stands at {}; a reading counts from {:.0} % of the way from there to the wanted draw",
            place(brace_draw),
            100.0 * NEAREST
        ),
    )
    .cure("read the scale farther along the draw; check the reading's draw and draw_to")
}

fn contradictory(key: &str, misfit: f64, weight: f64) -> Fault {
    Fault::at(
        key,
        format!("the readings stray from any one draw curve by up to {}", force_text(misfit, Units::Inch)),
        format!(
            "on a bow of {} more than {:.0} % is no misreading of a scale",
            force_text(weight, Units::Inch),
            100.0 * CONTRADICTS
        ),
    )
    .cure("read again, or leave the wrong one out")
}

fn before_brace(key: &str, what: String, brace_draw: f64) -> Fault {
    Fault::at(
        key,
        what,
        format!("the braced string stands at a draw of {}, and pulls nothing there", place(brace_draw)),
    )
    .cure("check the draw, the brace height, and draw_to")
}

fn too_much(key: &str, factor: f64, side: Side, left: f64) -> Fault {
    Fault::at(
        key,
        format!(
            "the wanted weight is {:.0} % of what the bow has: the {} limb would lose {:.1} % of its stiffness",
            100.0 * factor,
            side.name(),
            100.0 * (1.0 - left)
        ),
        format!(
            "down to {:.0} % of a limb's stiffness; with less it is another bow, whose tiller, profile and set nothing measured on this \
             one tells (common practice, no source)",
            100.0 * LEAST_LEFT
        ),
    )
    .cure(
        "come down part of the way, weigh, and ask again; or write the lighter bow's widths and thicknesses into the file and look at it \
         with `check`",
    )
}

fn neither(key: &str, thickness: &str, width: &str, goes_sideways: bool) -> Fault {
    let cure = if goes_sideways {
        "the bow as it is goes sideways already: widen or flatten its outer limbs first, and see what `check` says of them"
    } else {
        "come down part of the way, weigh, and ask again"
    };
    Fault::at(
        key,
        "the wanted weight cannot be had by scraping these limbs",
        format!("off the thickness: {thickness}; off the width: {width}"),
    )
    .cure(cure)
}
