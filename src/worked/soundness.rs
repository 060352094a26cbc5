//! How strong, how stable and how light the limbs are: what the checks, the report and `compare` read.

use super::{Statics, Worked, belly, seat_offsets};
use crate::bow::bracing::{LIMB_STEPS, RestingBow};
use crate::bow::draw_curve::{BowAtDraw, Cycle, cycle_near};
use crate::bow::limb::Profile;
use crate::design::{Both, Certainty, Design, Limb, Side, Sourced, Station};
use crate::fault::Fault;
use crate::findings::{Finding, Quantity};
use crate::section::Section;
use crate::strength::loaded::{LoadedLimb, SHEAR_RATIO};
use crate::strength::mass::{mass, travel, virtual_mass};
use crate::strength::sideways::{Unevenness, sideways_lean, sideways_reserve, stands_sideways};
use crate::wood::nock_strength;
use rayon::prelude::*;

/// Published ratios of shear modulus to bending modulus run between these (Wood Handbook, ch. 5, elastic ratios; from memory).
pub const RATIOS: [f64; 2] = [0.05, 0.12];
/// The draw is looked at in this many parts for its worst place.
const PARTS: usize = 8;
/// Parts by which a tip is made narrower or wider, thinner or thicker in the small table.
pub const CHANGES: [f64; 3] = [-0.1, 0.0, 0.1];
/// Steps along each limb for the small table: its figures, of two decimals, do not show the difference to [`LIMB_STEPS`].
const COARSE_STEPS: usize = LIMB_STEPS / 2;
/// A tip twisted by two degrees over the limb's outer third stands for a stave that is not true. Common practice, no source.
const TWIST: f64 = 2.0 * std::f64::consts::PI / 180.0;

/// How near a limb is to going sideways.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sideways {
    /// Reserve of the braced bow: the factor by which the stiffness sideways and in twist could shrink; below 1 it has gone.
    pub at_brace: f64,
    /// Reserve at full draw.
    pub at_full_draw: f64,
    /// Least reserve from brace to full draw.
    pub least: f64,
    /// Draw at which it is least, m.
    pub least_draw: f64,
    /// The least reserve with the lowest and with the highest published shear modulus.
    pub between: [f64; 2],
    /// Sideways lean of the tip (m) and its twist (rad) at full draw when the string stands `off_centre` beside the tip's middle.
    pub off_centre: Option<[f64; 2]>,
    /// The same for a tip twisted by two degrees over the outer third.
    pub twisted: Option<[f64; 2]>,
}

/// One cell of the small table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Variant {
    /// Change of the tip's width, as a part; it fades to nothing half way in.
    pub width: f64,
    /// Change of its thickness.
    pub thickness: f64,
    /// Reserve at full draw, each limb.
    pub reserve: Both<f64>,
    /// Mass of each limb's outer half, kg; none without a density.
    pub mass: Both<Option<f64>>,
}

/// What one tip weighs.
#[derive(Debug, Clone, PartialEq)]
pub struct TipMass {
    /// Pieces by name: mass, kg, and where the density is from.
    pub parts: Vec<(&'static str, f64, Sourced)>,
    /// All of it, kg.
    pub whole: f64,
    /// Mass that would carry the same energy at the nocking point, kg: near brace, half way and at full draw.
    pub at_string: [f64; 3],
}

/// A limb's bow with its stiffness as the scale has it, to look at limbs under load.
struct Look<'a> {
    design: &'a Design,
    bow: RestingBow,
}

impl<'a> Look<'a> {
    fn of(design: &'a Design, offsets: Both<f64>, stiffness_factor: f64) -> Self {
        Look::with_steps(design, offsets, stiffness_factor, LIMB_STEPS)
    }

    fn with_steps(design: &'a Design, offsets: Both<f64>, stiffness_factor: f64, steps: usize) -> Self {
        Look { design, bow: RestingBow::of(design, offsets, steps).stiffened(stiffness_factor) }
    }

    fn loaded(&self, state: &BowAtDraw, side: Side, braced: bool, ratio: f64) -> LoadedLimb {
        let limb = state.limbs.get(side);
        let far = |p: [f64; 2]| (limb.leaves[0] - p[0]).hypot(limb.leaves[1] - p[1]);
        // Nothing holds the braced string between its nocks.
        let other = if side == Side::Upper { &state.limbs.lower } else { &state.limbs.upper };
        let string = if braced { far(other.leaves) } else { far(state.nocking_point) };
        let profile = Profile::of(self.design.limbs.get(side));
        let start = self.design.bow.stiff_handle / 2.0;
        LoadedLimb::of(self.bow.limbs.get(side), limb, |s| profile.section(start + s), string, ratio)
    }

    fn reserve(&self, state: &BowAtDraw, side: Side, braced: bool, ratio: f64) -> f64 {
        // A limb whose values are not sound has no reserve to speak of.
        sideways_reserve(&self.loaded(state, side, braced, ratio).under_pull()).map_or(0.0, |r| r.factor)
    }
}

/// A limb at one draw of a design that was drawn, node by node.
pub fn loaded(design: &Design, statics: &Statics, side: Side, state: &BowAtDraw) -> LoadedLimb {
    let braced = state.draw == statics.cycle.at_brace().draw;
    Look::of(design, statics.seat_offsets, statics.cycle.stiffness_factor).loaded(state, side, braced, SHEAR_RATIO)
}

/// Every few states from brace to full draw, both ends among them.
pub fn some_states(statics: &Statics) -> Vec<&BowAtDraw> {
    let states = &statics.cycle.states;
    let step = (states.len() / PARTS).max(1);
    let mut some: Vec<&BowAtDraw> = states.iter().step_by(step).collect();
    if !(states.len() - 1).is_multiple_of(step) {
        some.push(statics.cycle.at_full_draw());
    }
    some
}

/// Sideways stability of one limb through the draw.
pub fn sideways(design: &Design, statics: &Statics, side: Side) -> Sideways {
    let look = Look::of(design, statics.seat_offsets, statics.cycle.stiffness_factor);
    let states = some_states(statics);
    let reserve = |k: usize, ratio: f64| look.reserve(states[k], side, k == 0, ratio);
    let all: Vec<f64> = (0..states.len()).map(|k| reserve(k, SHEAR_RATIO)).collect();
    let worst = (0..all.len()).min_by(|&a, &b| all[a].total_cmp(&all[b])).unwrap_or(0);
    let last = states.len() - 1;
    let full = look.loaded(states[last], side, false, SHEAR_RATIO);
    let lean = |uneven: &Unevenness| {
        let lean = sideways_lean(&full.under_pull(), uneven).ok()?;
        Some([lean.tip(), lean.tip_twist()])
    };
    let length = full.s.last().copied().unwrap_or(0.0);
    let twist: Vec<f64> =
        full.s.iter().map(|s| TWIST * ((s - 2.0 / 3.0 * length) / (length / 3.0)).clamp(0.0, 1.0)).collect();
    Sideways {
        at_brace: all[0],
        at_full_draw: all[last],
        least: all[worst],
        least_draw: states[worst].draw,
        between: RATIOS.map(|ratio| reserve(worst, ratio)),
        off_centre: lean(&Unevenness { string_offset: design.strength.off_centre, ..Unevenness::default() }),
        twisted: lean(&Unevenness { twist: &twist, ..Unevenness::default() }),
    }
}

/// What narrower, wider, thinner and thicker tips would have for reserve and weigh; each bow brought to the weight on the scale again.
///
/// # Errors
/// What keeps one of them from being braced or drawn.
pub fn variants(design: &Design, statics: &Statics) -> Result<Vec<Variant>, Fault> {
    let changes: Vec<[f64; 2]> = CHANGES.iter().flat_map(|t| CHANGES.map(|w| [w, *t])).collect();
    let all: Vec<Result<Variant, Fault>> = changes
        .par_iter()
        .map(|&[width, thickness]| {
            let mass = |limbs: &Both<Limb>| limbs.map(|limb| outer_mass(limb, design.bow.stiff_handle / 2.0));
            if width == 0.0 && thickness == 0.0 {
                let look = Look::of(design, statics.seat_offsets, statics.cycle.stiffness_factor);
                let reserve = |side| look.reserve(statics.cycle.at_full_draw(), side, false, SHEAR_RATIO);
                return Ok(Variant { width, thickness, reserve: Both::build(reserve), mass: mass(&design.limbs) });
            }
            let mut changed = design.clone();
            for side in Side::BOTH {
                let limb = changed.limbs.get_mut(side);
                limb.stations = tapered(limb, design.bow.stiff_handle / 2.0, width, thickness);
            }
            let reserve = reserve_of_one_like(&changed, statics)?;
            Ok(Variant { width, thickness, reserve, mass: mass(&changed.limbs) })
        })
        .collect();
    all.into_iter().collect()
}

/// Sideways reserve of both limbs at full draw, of a bow that differs little from one that was drawn and is brought to the weight on the
/// scale again.
///
/// # Errors
/// What keeps it from being braced or drawn.
pub fn reserve_of_one_like(design: &Design, statics: &Statics) -> Result<Both<f64>, Fault> {
    let offsets = seat_offsets(design)?;
    let drawn = cycle_near(design, offsets, COARSE_STEPS, 2, &statics.cycle)?;
    let look = Look::with_steps(design, offsets, drawn.stiffness_factor, COARSE_STEPS);
    Ok(Both::build(|side| look.reserve(drawn.at_full_draw(), side, false, SHEAR_RATIO)))
}

/// A bow that differs little from one that was drawn and is brought to the weight on the scale again, drawn step by step to look at its
/// sideways reserve.
///
/// # Errors
/// What keeps it from being braced or drawn.
pub fn drawn_like(design: &Design, statics: &Statics) -> Result<Cycle, Fault> {
    cycle_near(design, seat_offsets(design)?, LIMB_STEPS, 4, &statics.cycle)
}

/// Sideways reserve from brace to full draw.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Through {
    /// Where it is least.
    pub least: f64,
    /// The draw where that is, m.
    pub draw: f64,
    /// The least with the lowest published shear modulus.
    pub lowest: f64,
}

/// Sideways reserve of both limbs of a bow from [`drawn_like`].
///
/// # Errors
/// As there.
pub fn reserve_through(design: &Design, drawn: &Cycle) -> Result<Both<Through>, Fault> {
    let offsets = seat_offsets(design)?;
    let lowest = least_reserve(design, offsets, drawn, RATIOS[0]);
    let least = reserve_in_the_draw(design, offsets, drawn);
    Ok(Both::build(|side| {
        let (draw, least) = *least.get(side);
        Through { least, draw, lowest: lowest.get(side).1 }
    }))
}

/// Whether both limbs of a bow from [`drawn_like`] have at least this sideways reserve from brace to full draw, with the lowest published
/// shear modulus.
///
/// # Errors
/// As there.
pub fn stand_through(design: &Design, drawn: &Cycle, reserve: f64) -> Result<Both<bool>, Fault> {
    let look = Look::of(design, seat_offsets(design)?, drawn.stiffness_factor);
    Ok(Both::build_together(|side| {
        let stands = |(k, state): (usize, &BowAtDraw)| {
            // A limb whose values are not sound does not stand.
            stands_sideways(&look.loaded(state, side, k == 0, RATIOS[0]).under_pull(), reserve).unwrap_or(false)
        };
        drawn.states.iter().enumerate().all(stands)
    }))
}

/// Draw (m) at which each limb's sideways reserve is least from brace to full draw, and that reserve, of a bow drawn with
/// [`LIMB_STEPS`].
pub fn reserve_in_the_draw(design: &Design, seat_offsets: Both<f64>, drawn: &Cycle) -> Both<(f64, f64)> {
    least_reserve(design, seat_offsets, drawn, SHEAR_RATIO)
}

fn least_reserve(design: &Design, offsets: Both<f64>, drawn: &Cycle, ratio: f64) -> Both<(f64, f64)> {
    let look = Look::of(design, offsets, drawn.stiffness_factor);
    Both::build(|side| {
        let each = drawn.states.iter().enumerate().map(|(k, s)| (s.draw, look.reserve(s, side, k == 0, ratio)));
        each.min_by(|a, b| a.1.total_cmp(&b.1)).unwrap_or((drawn.at_full_draw().draw, 0.0))
    })
}

/// The statics of a design that differs from a drawn one in its limbs alone, at brace, half way and at full draw; swings as they were.
///
/// # Errors
/// As for [`reserve_of_one_like`].
pub fn statics_of_one_like(design: &Design, statics: &Statics) -> Result<Statics, Fault> {
    let seat_offsets = seat_offsets(design)?;
    let cycle = cycle_near(design, seat_offsets, LIMB_STEPS, 2, &statics.cycle)?;
    Ok(Statics { seat_offsets, cycle, ..statics.clone() })
}

/// Stations with the tip's width and thickness changed by these parts, the change fading evenly to nothing half way in.
fn tapered(limb: &Limb, start: f64, width: f64, thickness: f64) -> Vec<Station> {
    const STATIONS: usize = 24;
    let profile = Profile::of(limb);
    let half = 0.5 * (start + limb.length);
    let end = limb.stations.last().map_or(limb.length, |s| s.at.max(limb.length));
    (0..=STATIONS)
        .map(|k| {
            let at = start + (end - start) * k as f64 / STATIONS as f64;
            let part = ((at - half) / (limb.length - half)).clamp(0.0, 1.0);
            Station {
                at,
                width: profile.width(at) * (1.0 + part * width),
                thickness: profile.thickness(at) * (1.0 + part * thickness),
            }
        })
        .collect()
}

/// Mass of a limb's outer half, kg.
fn outer_mass(limb: &Limb, start: f64) -> Option<f64> {
    let density = limb.wood.density.as_ref()?.value;
    let profile = Profile::of(limb);
    let half = 0.5 * (start + limb.length);
    let places: Vec<f64> = (0..=40).map(|k| half + (limb.length - half) * f64::from(k) / 40.0).collect();
    let sections: Vec<Section> = places.iter().map(|&at| profile.section(at)).collect();
    Some(mass(&places, &sections, density))
}

/// What a tip weighs, from where its nock starts on the limb; none where a density is not known.
pub fn tip_mass(worked: &Worked, side: Side) -> Option<TipMass> {
    let nock = worked.nocks.get(side);
    let wood = &worked.design.limbs.get(side).wood;
    let part = |(p, volume): (&crate::nock::Part, f64)| {
        let density = match p.material.as_str() {
            "wood" => wood.density.clone()?,
            other => nock_strength(other)?.density,
        };
        Some((p.name, volume * density.value, density))
    };
    let parts = nock.parts.iter().zip(nock.volumes()).map(part).collect::<Option<Vec<_>>>()?;
    let whole: f64 = parts.iter().map(|p| p.1).sum();
    let states = &worked.statics.cycle.states;
    let at = |k: usize| {
        let (before, after) = (&states[k - 1], &states[k]);
        let seat = |s: &BowAtDraw| s.limbs.get(side).seat;
        let way = travel(seat(before), seat(after), [before.to_pivot, after.to_pivot]).unwrap_or(0.0);
        // A strip on the belly moves where it lies, slower than the tip.
        let strip = parts.iter().filter(|p| p.0 == "strip").map(|p| p.1).sum::<f64>();
        let (mut masses, mut ways) = (vec![whole - strip], vec![way]);
        for (part, d) in strip_slices(worked, side) {
            let place = |s: &BowAtDraw| belly::place_at(s.limbs.get(side), d);
            masses.push(strip * part);
            ways.push(travel(place(before), place(after), [before.to_pivot, after.to_pivot]).unwrap_or(0.0));
        }
        virtual_mass(&masses, &ways)
    };
    let last = states.len() - 1;
    let at_string = [at(1), at(last.div_ceil(2)), at(last)];
    Some(TipMass { parts, whole, at_string })
}

/// A strip in slices: what part of its volume each is, and where, m from the nock.
fn strip_slices(worked: &Worked, side: Side) -> Vec<(f64, f64)> {
    let solid = &worked.nocks.get(side).solid;
    let Some(strip) = solid.strip else { return Vec::new() };
    let at = |k: u32| strip.start + (strip.end - strip.start) * (f64::from(k) + 0.5) / f64::from(belly::SLICES);
    let size = |d: f64| strip.height(d) * solid.limb.width.at(-d);
    let whole: f64 = (0..belly::SLICES).map(|k| size(at(k))).sum();
    (0..belly::SLICES).map(at).map(|d| (size(d) / whole, d)).collect()
}

/// Pull of the string in the shot, N: the shock factor times the draw weight.
pub fn shot_pull(worked: &Worked) -> f64 {
    worked.design.strength.shock_factor * worked.statics.cycle.at_full_draw().force
}

/// `, from memory` where a figure is.
pub fn how_sure(figure: &Sourced) -> String {
    let sure = if figure.certainty == Certainty::Memory { ", from memory" } else { "" };
    format!("{}{sure}", figure.source)
}

/// Figures of strength, stability and mass of one limb.
pub fn findings(worked: &Worked, side: Side) -> Vec<Finding> {
    let mut findings = Vec::new();
    let mut add = |id: &'static str, label: String, value: f64, quantity: Quantity, note: String| {
        findings.push(Finding { id, side: Some(side), label, value, quantity, note, verdict: None });
    };
    let sideways = worked.sideways().get(side);
    add("sideways_at_brace", "sideways reserve at brace".into(), sideways.at_brace, Quantity::Ratio, String::new());
    add(
        "sideways_at_full_draw",
        "sideways reserve at full draw".into(),
        sideways.at_full_draw,
        Quantity::Ratio,
        String::new(),
    );
    let [low, high] = sideways.between;
    add(
        "sideways_least",
        "least sideways reserve".into(),
        sideways.least,
        Quantity::Ratio,
        format!(
            "at a draw of {}; {low:.2} to {high:.2} for shear moduli of 1/20 to 1/8 of the bending modulus, from memory; below 1 the \
             limb goes sideways",
            crate::units::plain_length_text(sideways.least_draw, worked.design.units)
        ),
    );
    let beside = crate::units::length_text(worked.design.strength.off_centre, worked.design.units);
    // Which way a tip leans changes as the reserve falls: the figure passes through nothing there.
    let toward = match sideways.off_centre {
        Some([aside, _]) if aside < 0.0 => ", away from the string's side",
        _ => ", to the string's side",
    };
    for (ids, lean, why, toward) in [
        (
            ["lean_off_centre", "twist_off_centre"],
            sideways.off_centre,
            format!("string {beside} beside the middle"),
            toward,
        ),
        (["lean_twisted", "twist_twisted"], sideways.twisted, "tip twisted 2° over the outer third".to_owned(), ""),
    ] {
        // The lean is worked out as a small one; of large ones, near where the limb goes by itself and beyond, it says nothing.
        let small = |twist: f64| sideways.at_full_draw > 1.0 && twist.abs() < LARGE_TWIST;
        let Some([aside, twist]) = lean.filter(|[_, twist]| small(*twist)) else { continue };
        add(ids[0], "tip leans sideways at full draw".into(), aside.abs(), Quantity::Length, format!("{why}{toward}"));
        add(ids[1], "tip twists at full draw".into(), twist.abs(), Quantity::Angle, why);
    }
    let built = worked.least_taper().get(side).reserve;
    for (id, which, reserve) in
        [("sideways_least_thickness", "thickness", built[0]), ("sideways_least_width", "width", built[1])]
    {
        let Some(reserve) = reserve else { continue };
        let label = format!("sideways reserve at the least {which}");
        let note = format!(
            "the least from brace to full draw, at a draw of {}, built to the least that the tip-taper sheet gives; {:.2} with the lowest \
             shear modulus",
            crate::units::plain_length_text(reserve.draw, worked.design.units),
            reserve.lowest
        );
        add(id, label, reserve.least, Quantity::Ratio, note);
    }
    if let Some(mass) = tip_mass(worked, side) {
        for (name, kg, density) in &mass.parts {
            let id = match *name {
                "overlay" => "mass_overlay",
                "cap" => "mass_cap",
                "strip" => "mass_strip",
                _ => "mass_wood",
            };
            add(
                id,
                format!("mass of the tip's {name}"),
                *kg,
                Quantity::Mass,
                format!("density: {}", how_sure(density)),
            );
        }
        add(
            "mass_tip",
            "mass of the whole tip".into(),
            mass.whole,
            Quantity::Mass,
            "from where the nock starts".into(),
        );
        let words = ["near brace", "half way", "at full draw"];
        let ids = ["string_mass_brace", "string_mass_half", "string_mass_full"];
        for ((id, words), kg) in ids.into_iter().zip(words).zip(mass.at_string) {
            let note = "as if it sat on the string at the nocking point".to_owned();
            add(id, format!("counts at the string {words}"), kg, Quantity::Mass, note);
        }
    }
    findings
}

/// Twists above this are no small ones, rad: 20°.
const LARGE_TWIST: f64 = 0.35;

/// What to do about a tip that leans.
pub const WHICH_EDGE: &str = "Where a tip leans to one side as it bends, first see that the string runs over the tip's middle; then thin the \
belly's other edge, for a limb bends toward its thinner edge.";

/// Advice on a limb's stability, in words.
pub fn advice(side: Side, sideways: &Sideways) -> String {
    let name = side.name();
    match sideways.least {
        r if r < 1.0 => format!(
            "The {name} limb goes sideways by itself: widen the outer limb, or flatten it (thinner at the same width); a deep narrow \
             section is what makes it go."
        ),
        r if r < 1.5 => format!(
            "The {name} limb stands, but a string a little off the middle leans it a good deal: leave its width, flatten it where it is \
             deep, and keep the string in the middle."
        ),
        _ => format!("The {name} limb stands well in its plane; the table below says what going narrower would cost."),
    }
}
