//! The least taper of the outer limb: how thin at its width, or how narrow at its thickness, it may be.

use super::Statics;
use super::soundness::{loaded, reserve_of_one_like, some_states, statics_of_one_like};
use crate::bow::limb::Profile;
use crate::design::{Design, Side, Station, Units};
use crate::nock::Nock;
use crate::section::Section;
use crate::strength::stress::face_stress;
use crate::strength::taper::{buildable, least_thickness, least_width};
use crate::tip::Shell;

/// The least taper along the outer limb, at the stations it was asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct LeastTaper {
    /// Least thickness at the width the limb has there, m.
    pub thickness: Vec<f64>,
    /// Least width at the thickness it has there, m.
    pub width: Vec<f64>,
    /// The stress it is laid out for, Pa.
    pub stress: f64,
    /// Sideways reserve at full draw of the limb built to the least thickness, and to the least width; none where such a bow could not
    /// be braced or drawn.
    pub reserve: [Option<f64>; 2],
    /// Whether least thickness and least width are more than the stress asks, for the limb to stay in its plane.
    pub raised: [bool; 2],
}

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

/// The least taper on which the limb stays in its plane: as the stress asks, raised toward the limb as it is where one built to it would go
/// sideways at full draw.
pub fn least_taper(design: &Design, statics: &Statics, side: Side, stations: &[f64], floor: f64) -> LeastTaper {
    let mut least = by_stress(design, (design, statics), side, stations, floor);
    bend_anew(&mut least, design, statics, side, stations, floor);
    let profile = Profile::of(design.limbs.get(side));
    for (k, way) in [Way::Thinner, Way::Narrower].into_iter().enumerate() {
        let asked = least.sizes(way).to_vec();
        let own: Vec<f64> = stations.iter().map(|&at| way.of(&profile.section(at))).collect();
        let raised = |part: f64| -> Vec<f64> {
            asked.iter().zip(&own).map(|(asked, own)| asked + part * (own - asked).max(0.0)).collect()
        };
        let reserve = |part: f64| reserve_built(design, statics, side, stations, (way, &raised(part)));
        least.reserve[k] = reserve(0.0);
        if least.reserve[k].is_none_or(|r| r >= 1.0) {
            continue;
        }
        // The reserve rises with the part; where even the limb as it is has none, its own size is the least.
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..RAISINGS {
            let middle = 0.5 * (low + high);
            if reserve(middle).is_some_and(|r| r >= 1.0) { high = middle } else { low = middle }
        }
        least.reserve[k] = reserve(high);
        least.raised[k] = least.reserve[k].is_some_and(|r| r >= 1.0);
        let sizes = raised(high);
        match way {
            Way::Thinner => least.thickness = sizes,
            Way::Narrower => least.width = sizes,
        }
    }
    least
}

/// Times that a limb built to its least taper is bent anew, at most.
const BENDINGS: usize = 4;
/// Growth of a least size that is none, as a part.
const NO_GROWTH: f64 = 0.003;

/// Raises the least sizes until they hold under what a limb built to them carries: a slighter end bends more, and the braced string then
/// stands steeper on it. A bow that cannot be bent so leaves them as they are.
fn bend_anew(least: &mut LeastTaper, design: &Design, statics: &Statics, side: Side, stations: &[f64], floor: f64) {
    let stress = least.stress;
    for way in [Way::Thinner, Way::Narrower] {
        for _ in 0..BENDINGS {
            let built = built(design, side, stations, (way, least.sizes(way)));
            let Ok(bent) = statics_of_one_like(&built, statics) else { break };
            let mut held = design.clone();
            held.strength.working_stress = Some(stress);
            let asked = by_stress(&held, (&built, &bent), side, stations, floor);
            let pairs = least.sizes(way).iter().zip(asked.sizes(way));
            let growth = pairs.clone().map(|(now, asked)| asked / now - 1.0).fold(0.0, f64::max);
            if growth < NO_GROWTH {
                break;
            }
            let sizes = pairs.map(|(now, asked)| now.max(*asked)).collect();
            match way {
                Way::Thinner => least.thickness = sizes,
                Way::Narrower => least.width = sizes,
            }
        }
    }
}

/// Halvings of what a least size is raised by: to a hundredth of the way.
const RAISINGS: usize = 7;

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

impl LeastTaper {
    fn sizes(&self, way: Way) -> &[f64] {
        match way {
            Way::Thinner => &self.thickness,
            Way::Narrower => &self.width,
        }
    }
}

/// Sideways reserve at full draw of the limb with these sizes over its outer stretch; none where such a bow could not be braced or drawn.
fn reserve_built(
    design: &Design,
    statics: &Statics,
    side: Side,
    stations: &[f64],
    sizes: (Way, &[f64]),
) -> Option<f64> {
    reserve_of_one_like(&built(design, side, stations, sizes), statics).ok().map(|r| *r.get(side))
}

/// The design with these sizes over the outer stretch of one limb.
fn built(design: &Design, side: Side, stations: &[f64], (way, sizes): (Way, &[f64])) -> Design {
    let limb = design.limbs.get(side);
    let profile = Profile::of(limb);
    let outer = stations.iter().zip(sizes).map(|(&at, &size)| match way {
        Way::Thinner => Station { at, width: profile.width(at), thickness: size },
        Way::Narrower => Station { at, width: size, thickness: profile.thickness(at) },
    });
    // Where the outer stretch begins the limb goes on as it is.
    let inner = limb.stations.iter().filter(|s| s.at < stations[0] - 1e-6).cloned();
    let mut changed = design.clone();
    changed.limbs.get_mut(side).stations = inner.chain(outer).collect();
    changed
}

/// The least that a limb's end may be for its string and the nock on it, m: [`FLOOR`] strings, and the cone under a cap.
pub fn floor(design: &Design, nock: &Nock) -> f64 {
    let cone = if let Shell::Cap { bore, .. } = nock.solid.shell { 2.0 * bore } else { 0.0 };
    cone.max(FLOOR * design.string.diameter)
}

/// Lays it out over these stations (rising, m from the middle), for the greatest moment anywhere in the draw and, over the
/// stretch that the loop takes, in the shot: there against the wood's rupture, for the limb further in is held by its own inertia.
/// `floor` (m) is the least anywhere; the moments are those of the `bent` bow.
fn by_stress(
    design: &Design,
    (bent, statics): (&Design, &Statics),
    side: Side,
    stations: &[f64],
    floor: f64,
) -> LeastTaper {
    let limb = design.limbs.get(side);
    let profile = Profile::of(limb);
    let start = design.bow.stiff_handle / 2.0;
    let states: Vec<_> = some_states(statics).into_iter().map(|s| loaded(bent, statics, side, s)).collect();
    let greatest = |l: &crate::strength::loaded::LoadedLimb| {
        (0..l.s.len()).map(|k| face_stress(&l.sections[k], l.moment[k], 0.0).greatest().1).fold(0.0, f64::max)
    };
    let stress = design.strength.working_stress.unwrap_or_else(|| states.iter().map(greatest).fold(0.0, f64::max));
    let braced = &states[0];
    let brace_pull = statics.cycle.at_brace().limbs.get(side).pull;
    let shot = design.strength.shock_factor * statics.cycle.at_full_draw().force / brace_pull;
    let rupture = limb.wood.rupture.as_ref().map(|r| r.value);
    let mut needed = [Vec::new(), Vec::new()];
    for (k, s) in braced.s.iter().enumerate() {
        let at = start + s;
        if at < stations[0] - 0.03 {
            continue;
        }
        let here = profile.section(at);
        let most = states.iter().map(|l| l.moment[k].abs()).fold(0.0, f64::max);
        let mut thick = least_thickness(limb.section, here.width, [most, 0.0], stress);
        let mut wide = least_width(limb.section, here.thickness, [most, 0.0], stress);
        if let Some(rupture) = rupture.filter(|_| limb.length - at <= design.string.loop_length) {
            let load = [shot * braced.moment[k], shot * braced.axial_force[k]];
            thick = thick.max(least_thickness(limb.section, here.width, load, rupture));
            wide = wide.max(least_width(limb.section, here.thickness, load, rupture));
        }
        needed[0].push((at, thick));
        needed[1].push((at, wide));
    }
    let [thickness, width] = needed.map(|n| buildable(stations, &n, floor));
    LeastTaper { thickness, width, stress, reserve: [None; 2], raised: [false; 2] }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::file::read;
    use crate::samples::{SAMPLE, SAMPLE_NAME};

    /// Sideways a limb is as strong as the cube of its width, so one cut down to the least width stands least.
    #[test]
    fn the_least_width_stands_less_than_the_limb_does() {
        let Ok(reading) = read(SAMPLE, SAMPLE_NAME) else { panic!("the sample reads") };
        let Ok(statics) = Statics::of(&reading.design, 8) else { panic!("the sample is drawn") };
        for side in Side::BOTH {
            let stations = outer_stations(&reading.design, side);
            let least = least_taper(&reading.design, &statics, side, &stations, 0.006);
            let Ok(own) = reserve_of_one_like(&reading.design, &statics) else { panic!("drawn") };
            let [thin, narrow] = least.reserve.map(|r| r.expect("drawn"));
            assert!(narrow < *own.get(side), "{narrow} {own:?} {least:?}");
            assert!(thin.is_finite() && thin > narrow, "{thin} {narrow}");
        }
    }

    /// A least width that would let the limb go sideways is raised until it does not, and no further; never below its floor.
    #[test]
    fn the_least_width_keeps_the_limb_in_its_plane() {
        let text = include_str!("../../examples/recurved-bow.toml");
        let Ok(reading) = read(text, "recurved-bow.toml") else { panic!("the example reads") };
        let design = &reading.design;
        let Ok(statics) = Statics::of(design, 8) else { panic!("the example is drawn") };
        let stations = outer_stations(design, Side::Upper);
        let asked = by_stress(design, (design, &statics), Side::Upper, &stations, 0.0064);
        let least = least_taper(design, &statics, Side::Upper, &stations, 0.0064);
        let built = |sizes| reserve_built(design, &statics, Side::Upper, &stations, (Way::Narrower, sizes));
        assert!(built(&asked.width).is_some_and(|r| r < 0.9), "{:?}", built(&asked.width));
        assert!(least.raised[1] && least.reserve[1].is_some_and(|r| (1.0..1.05).contains(&r)), "{:?}", least.reserve);
        assert!(least.width.iter().zip(&asked.width).all(|(l, a)| l >= a));
        let wide = by_stress(design, (design, &statics), Side::Upper, &stations, 0.012);
        assert!(wide.width.iter().chain(&wide.thickness).all(|size| *size >= 0.012 - 1e-12));
    }

    /// The limb built to the least thickness, bent anew, bears the shot at its end: what `check` would say of such a bow.
    #[test]
    fn a_limb_built_to_the_least_thickness_bears_the_shot() {
        let text = include_str!("../../tests/bows/short.toml");
        for text in [SAMPLE.to_owned(), format!("{text}\n[nock]\nstyle = \"back overlay\"\n")] {
            let Ok(reading) = read(&text, SAMPLE_NAME) else { panic!("the bow reads") };
            let design = &reading.design;
            let Ok(statics) = Statics::of(design, 8) else { panic!("the bow is drawn") };
            for side in Side::BOTH {
                let stations = outer_stations(design, side);
                let least = least_taper(design, &statics, side, &stations, 0.004);
                let built = built(design, side, &stations, (Way::Thinner, &least.thickness));
                let Ok(bent) = Statics::of(&built, 8) else { panic!("drawn") };
                let braced = bent.cycle.at_brace();
                let limb = loaded(&built, &bent, side, braced);
                let shot = design.strength.shock_factor * bent.cycle.at_full_draw().force / braced.limbs.get(side).pull;
                let from = limb.s[limb.s.len() - 1] - design.string.loop_length;
                let stress =
                    |k: usize| shot * face_stress(&limb.sections[k], limb.moment[k], limb.axial_force[k]).greatest().1;
                let most = (0..limb.s.len()).filter(|&k| limb.s[k] >= from).map(stress).fold(0.0, f64::max);
                let rupture = design.limbs.get(side).wood.rupture.as_ref().map_or(0.0, |r| r.value);
                assert!(most < 1.01 * rupture, "{side:?}: {most:.4e} against {rupture:.4e}");
            }
        }
    }

    /// With the moments of the draw no place of the least taper works harder than the chosen stress, and most of it nearly as hard.
    #[test]
    fn the_least_taper_works_at_the_chosen_stress() {
        let text = format!("{SAMPLE}\n[strength]\nworking_stress = \"90 MPa\"\n");
        let Ok(reading) = read(&text, SAMPLE_NAME) else { panic!("the sample reads") };
        let design = &reading.design;
        let Ok(statics) = Statics::of(design, 8) else { panic!("the sample is drawn") };
        for side in Side::BOTH {
            let stations = outer_stations(design, side);
            let least = by_stress(design, (design, &statics), side, &stations, 0.006);
            assert_eq!(least.stress, 90e6);
            let limb = design.limbs.get(side);
            let profile = Profile::of(limb);
            let start = design.bow.stiff_handle / 2.0;
            let curve = |sizes: &[f64]| {
                let points = stations.iter().copied().zip(sizes.iter().copied());
                crate::numerics::monotone::Monotone::through(points)
            };
            let (thick, wide) = (curve(&least.thickness), curve(&least.width));
            let states: Vec<_> = some_states(&statics).into_iter().map(|s| loaded(design, &statics, side, s)).collect();
            let mut hard = [Vec::new(), Vec::new()];
            for k in 0..states[0].s.len() {
                let at = start + states[0].s[k];
                if at < stations[0] || at > limb.length - design.string.loop_length {
                    continue;
                }
                let here = profile.section(at);
                let most = states.iter().map(|l| l.moment[k].abs()).fold(0.0, f64::max);
                let thinner = crate::section::Section { thickness: thick.at(at), ..here };
                let narrower = crate::section::Section { width: wide.at(at), ..here };
                for (hard, section) in hard.iter_mut().zip([thinner, narrower]) {
                    hard.push(face_stress(&section, most, 0.0).greatest().1 / 90e6);
                }
            }
            for hard in hard {
                assert!(hard.len() > 3 && hard.iter().all(|h| *h < 1.001), "{hard:?}");
                assert!(hard[0] > 0.97, "{hard:?}");
            }
        }
    }
}
