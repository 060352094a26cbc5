//! The least taper of the outer limb: how thin at its width, or how narrow at its thickness, it may be.

use super::Statics;
use super::soundness::{Through, drawn_like, loaded, reserve_through, some_states, stand_through, statics_of_one_like};
use crate::bow::limb::Profile;
use crate::design::{Both, Design, Side, Station, Units};
use crate::nock::Nock;
use crate::section::Section;
use crate::strength::loaded::LoadedLimb;
use crate::strength::stress::face_stress;
use crate::strength::taper::{buildable, least_thickness, least_width};
use crate::tip::Shell;

/// The least taper along the outer limb, at the stations it is laid out over.
#[derive(Debug, Clone, PartialEq)]
pub struct LeastTaper {
    /// Stations, rising, m from the middle.
    pub stations: Vec<f64>,
    /// Least thickness at the width the limb has there, m.
    pub thickness: Vec<f64>,
    /// Least width at the thickness it has there, m.
    pub width: Vec<f64>,
    /// The stress it is laid out for, Pa.
    pub stress: f64,
    /// Sideways reserve of the bow built to the least thickness, and to the least width; none where such a bow could not be braced or
    /// drawn.
    pub reserve: [Option<Through>; 2],
    /// What least thickness and least width are laid out by.
    pub by: [LaidOutBy; 2],
}

/// What a least size is laid out by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LaidOutBy {
    /// The stress alone: the limb stays in its plane.
    Stress,
    /// More than the stress asks, for the limb to stay in its plane.
    Plane,
    /// The limb's own size: as it is it does not stand for certain, and less would stand worse.
    OwnSize,
}

/// A limb built to its least must have this sideways reserve with the lowest published shear modulus: one, and what rounding and the
/// draws not looked at may take.
const STANDS: f64 = 1.02;

/// A string cannot be held on less than two of its own diameters. Common practice, no source.
pub const FLOOR: f64 = 2.0;

/// Longest stretch of limb it is laid out over, m: what fits a sheet's width.
const LONGEST: f64 = 0.216;

/// Stations of the outer limb, m from the middle: whole inches or steps of 25 mm up to the nock seat.
pub fn outer_stations(design: &Design, side: Side) -> Vec<f64> {
    let limb = design.limbs.get(side);
    let step = match design.units {
        Units::Inch => 25.4e-3,
        Units::Millimetre => 25e-3,
    };
    let bending = limb.length - design.bow.stiff_handle / 2.0;
    let count = (LONGEST.min(bending) / step).floor().max(1.0) as usize;
    (0..=count).map(|k| limb.length - step * (count - k) as f64).collect()
}

/// The least taper of both limbs, both built to it: as the stress asks of the bow so built, raised toward the limb as it is where that
/// would go sideways at brace or anywhere in the draw. `floors` (m) are the least anywhere. Limbs that are alike have one least taper.
pub fn least_tapers(design: &Design, statics: &Statics, floors: &Both<f64>) -> Both<LeastTaper> {
    let laying = Laying {
        design,
        statics,
        floors,
        stations: Both::build(|side| outer_stations(design, side)),
        stress: Both::build(|side| stress(design, statics, side)),
        alike: design.limbs.upper == design.limbs.lower,
    };
    let found = |way| laying.in_plane(way, laying.settled(way));
    let (thin, narrow) = rayon::join(|| found(Way::Thinner), || found(Way::Narrower));
    Both::build(|side| LeastTaper {
        stations: laying.stations.get(side).clone(),
        thickness: thin.sizes.get(side).clone(),
        width: narrow.sizes.get(side).clone(),
        stress: *laying.stress.get(side),
        reserve: [&thin, &narrow].map(|found| found.reserve.as_ref().map(|r| *r.get(side))),
        by: [&thin, &narrow].map(|found| *found.by.get(side)),
    })
}

/// Times that a bow built to its least taper is bent anew, at most.
const BENDINGS: usize = 24;
/// A least size is settled where what is asked differs from it by no more than this, as a part.
const SETTLED: f64 = 2e-3;
/// Halvings of what a least size is raised by: to a hundredth of the way.
const RAISINGS: usize = 7;

/// Sizes at the stations of both limbs, m.
type Sizes = Both<Vec<f64>>;

/// What is known while it is laid out.
struct Laying<'a> {
    design: &'a Design,
    statics: &'a Statics,
    floors: &'a Both<f64>,
    stations: Sizes,
    stress: Both<f64>,
    alike: bool,
}

/// One way's least sizes.
struct Found {
    sizes: Sizes,
    reserve: Option<Both<Through>>,
    by: Both<LaidOutBy>,
}

impl Laying<'_> {
    /// What a bent bow asks for.
    fn asked(&self, bent: &Design, statics: &Statics, way: Way) -> Sizes {
        let asked = Both::build(|side| {
            let (stations, floor) = (self.stations.get(side), *self.floors.get(side));
            by_stress(self.design, (bent, statics), side, (stations, *self.stress.get(side), floor), way)
        });
        if !self.alike {
            return asked;
        }
        let most = larger(&asked.upper, &asked.lower);
        Both { upper: most.clone(), lower: most }
    }

    /// The sizes that a bow built to them asks for: a slighter end bends more, and the braced string then stands steeper on it; on a
    /// stouter one it lies flatter. Each turn goes a part of the way, `size <- size (asked/size)^part`: most of it while that brings the two
    /// together, else half.
    fn settled(&self, way: Way) -> Sizes {
        let mut sizes = self.asked(self.design, self.statics, way);
        let mut enough = sizes.clone();
        let own = self.own(way);
        let mut last = self.statics.clone();
        let mut off_before = f64::INFINITY;
        for _ in 0..BENDINGS {
            let built = built(self.design, &self.stations, way, &sizes);
            let Ok(bent) = statics_of_one_like(&built, &last) else {
                // Too slight to be bent: toward the limb as it is.
                sizes = Both::build(|side| toward(sizes.get(side), own.get(side), 0.5));
                enough = sizes.clone();
                continue;
            };
            let asked = self.asked(&built, &bent, way);
            let off = Side::BOTH.map(|side| farthest(sizes.get(side), asked.get(side))).into_iter().fold(0.0, f64::max);
            // Never less than is asked.
            enough = Both::build(|side| larger(sizes.get(side), asked.get(side)));
            if off < SETTLED {
                break;
            }
            let part = if off < 0.7 * off_before { 0.85 } else { 0.5 };
            off_before = off;
            sizes = Both::build(|side| toward(sizes.get(side), asked.get(side), part));
            last = bent;
        }
        enough
    }

    /// The limbs' own sizes.
    fn own(&self, way: Way) -> Sizes {
        Both::build(|side| {
            let profile = Profile::of(self.design.limbs.get(side));
            self.stations.get(side).iter().map(|&at| way.of(&profile.section(at))).collect()
        })
    }

    /// Raises what the stress asks toward the limbs as they are until they stay in their plane.
    fn in_plane(&self, way: Way, asked: Sizes) -> Found {
        let own = self.own(way);
        let raised = |parts: &Both<f64>| {
            Both::build(|side| {
                let pairs = asked.get(side).iter().zip(own.get(side));
                pairs.map(|(asked, own)| asked + parts.get(side) * (own - asked).max(0.0)).collect::<Vec<f64>>()
            })
        };
        let drawn = |parts: &Both<f64>| {
            let bow = built(self.design, &self.stations, way, &raised(parts));
            drawn_like(&bow, self.statics).ok().map(|drawn| (bow, drawn))
        };
        // None where it cannot be drawn: no more is known of such a bow with a little more wood.
        let stands = |parts: &Both<f64>| -> Option<Both<bool>> {
            let (bow, drawn) = drawn(parts)?;
            let stands = stand_through(&bow, &drawn, STANDS).ok()?;
            let both = stands.upper && stands.lower;
            Some(if self.alike { Both { upper: both, lower: both } } else { stands })
        };
        let (mut low, mut high) = (Both { upper: 0.0, lower: 0.0 }, Both { upper: 1.0, lower: 1.0 });
        let asked_stands = stands(&low);
        let mut by = asked_stands
            .unwrap_or(Both { upper: true, lower: true })
            .map(|stands| if *stands { LaidOutBy::Stress } else { LaidOutBy::Plane });
        for side in Side::BOTH {
            if *by.get(side) == LaidOutBy::Stress {
                *high.get_mut(side) = 0.0;
            }
        }
        if high != low {
            // The reserve rises with the part; where even the limb as it is has none, its own size is the least.
            for _ in 0..RAISINGS {
                let middle = Both::build(|side| 0.5 * (low.get(side) + high.get(side)));
                let found = stands(&middle).unwrap_or(Both { upper: false, lower: false });
                for side in Side::BOTH {
                    let end = if *found.get(side) { high.get_mut(side) } else { low.get_mut(side) };
                    *end = *middle.get(side);
                }
            }
            let found = stands(&high).unwrap_or(Both { upper: false, lower: false });
            for side in Side::BOTH {
                if *high.get(side) >= 1.0 && !*found.get(side) {
                    *by.get_mut(side) = LaidOutBy::OwnSize;
                }
            }
        }
        let reserve = drawn(&high).and_then(|(bow, drawn)| reserve_through(&bow, &drawn).ok());
        Found { sizes: raised(&high), reserve, by }
    }
}

fn larger(a: &[f64], b: &[f64]) -> Vec<f64> {
    (0..a.len().max(b.len())).map(|k| a.get(k).copied().unwrap_or(0.0).max(b.get(k).copied().unwrap_or(0.0))).collect()
}

/// This part of the way from `a` to `b`, by their logarithms.
fn toward(a: &[f64], b: &[f64], part: f64) -> Vec<f64> {
    a.iter().zip(b).map(|(a, b)| a * (b / a).powf(part)).collect()
}

/// The largest difference between the two, as a part.
fn farthest(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| (b / a).ln().abs()).fold(0.0, f64::max)
}

/// What is made less.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Way {
    Thinner,
    Narrower,
}

impl Way {
    fn of(self, section: &Section) -> f64 {
        match self {
            Way::Thinner => section.thickness,
            Way::Narrower => section.width,
        }
    }
}

/// The design with these sizes over the outer stretch of both limbs.
fn built(design: &Design, stations: &Sizes, way: Way, sizes: &Sizes) -> Design {
    let mut changed = design.clone();
    for side in Side::BOTH {
        let limb = changed.limbs.get_mut(side);
        let profile = Profile::of(limb);
        let stations = stations.get(side);
        let outer = stations.iter().zip(sizes.get(side)).map(|(&at, &size)| match way {
            Way::Thinner => Station { at, width: profile.width(at), thickness: size },
            Way::Narrower => Station { at, width: size, thickness: profile.thickness(at) },
        });
        // Where the outer stretch begins the limb goes on as it is.
        let inner = limb.stations.iter().filter(|s| s.at < stations[0] - 1e-6).cloned();
        limb.stations = inner.chain(outer).collect();
    }
    changed
}

/// The least that a limb's end may be for its string and the nock on it, m: [`FLOOR`] strings, and the cone under a cap.
pub fn floor(design: &Design, nock: &Nock) -> f64 {
    let cone = if let Shell::Cap { bore, .. } = nock.solid.shell { 2.0 * bore } else { 0.0 };
    cone.max(FLOOR * design.string.diameter)
}

/// The stress that a limb's least taper is laid out for, Pa: the one wished for, or its greatest as it is.
fn stress(design: &Design, statics: &Statics, side: Side) -> f64 {
    let greatest = |l: LoadedLimb| {
        (0..l.s.len()).map(|k| face_stress(&l.sections[k], l.moment[k], 0.0).greatest().1).fold(0.0, f64::max)
    };
    let states = || some_states(statics).into_iter().map(|s| greatest(loaded(design, statics, side, s)));
    design.strength.working_stress.unwrap_or_else(|| states().fold(0.0, f64::max))
}

/// Least sizes at these stations (rising, m from the middle), for the greatest moment anywhere in the draw at this stress (Pa) and, over
/// the stretch that the loop takes, in the shot: there against the wood's rupture, for the limb further in is held by its own inertia.
/// `floor` (m) is the least anywhere; the moments are those of the `bent` bow.
fn by_stress(
    design: &Design,
    (bent, statics): (&Design, &Statics),
    side: Side,
    (stations, stress, floor): (&[f64], f64, f64),
    way: Way,
) -> Vec<f64> {
    let limb = design.limbs.get(side);
    let profile = Profile::of(limb);
    let start = design.bow.stiff_handle / 2.0;
    let states: Vec<_> = some_states(statics).into_iter().map(|s| loaded(bent, statics, side, s)).collect();
    let braced = &states[0];
    let brace_pull = statics.cycle.at_brace().limbs.get(side).pull;
    let shot = design.strength.shock_factor * statics.cycle.at_full_draw().force / brace_pull;
    let rupture = limb.wood.rupture.as_ref().map(|r| r.value);
    let mut needed = Vec::new();
    for (k, s) in braced.s.iter().enumerate() {
        let at = start + s;
        if at < stations[0] - 0.03 {
            continue;
        }
        let here = profile.section(at);
        let least = |load: [f64; 2], stress: f64| match way {
            Way::Thinner => least_thickness(limb.section, here.width, load, stress),
            Way::Narrower => least_width(limb.section, here.thickness, load, stress),
        };
        let most = states.iter().map(|l| l.moment[k].abs()).fold(0.0, f64::max);
        let mut size = least([most, 0.0], stress);
        if let Some(rupture) = rupture.filter(|_| limb.length - at <= design.string.loop_length) {
            size = size.max(least([shot * braced.moment[k], shot * braced.axial_force[k]], rupture));
        }
        needed.push((at, size));
    }
    buildable(stations, &needed, floor)
}

#[cfg(test)]
mod tests;
