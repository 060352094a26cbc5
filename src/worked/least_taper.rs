//! The least taper of the outer limb: how thin at its width, or how narrow at its thickness, it may be.

use super::Statics;
use super::soundness::{loaded, reserve_of_one_like, some_states};
use crate::bow::limb::Profile;
use crate::design::{Design, Side, Station, Units};
use crate::strength::stress::face_stress;
use crate::strength::taper::{buildable, least_thickness, least_width};

/// The least taper along the outer limb.
#[derive(Debug, Clone, PartialEq)]
pub struct LeastTaper {
    /// Stations, m from the middle.
    pub at: Vec<f64>,
    /// Least thickness at the width the limb has there, m.
    pub thickness: Vec<f64>,
    /// Least width at the thickness it has there, m.
    pub width: Vec<f64>,
    /// The stress it is laid out for, Pa.
    pub stress: f64,
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

/// Sideways reserve at full draw of the limb built to the least thickness, and to the least width; none where such a bow could not be
/// braced or drawn.
pub fn reserves(design: &Design, statics: &Statics, side: Side) -> [Option<f64>; 2] {
    let least = least_taper(design, statics, side, &outer_stations(design, side));
    let limb = design.limbs.get(side);
    let profile = Profile::of(limb);
    let built = |thinner: bool| {
        let mut changed = design.clone();
        let outer = (0..least.at.len()).map(|k| {
            let at = least.at[k];
            if thinner {
                Station { at, width: profile.width(at), thickness: least.thickness[k] }
            } else {
                Station { at, width: least.width[k], thickness: profile.thickness(at) }
            }
        });
        // Where the outer stretch begins the limb goes on as it is.
        let inner = limb.stations.iter().filter(|s| s.at < least.at[0] - 1e-6).cloned();
        changed.limbs.get_mut(side).stations = inner.chain(outer).collect();
        reserve_of_one_like(&changed, statics).ok().map(|r| *r.get(side))
    };
    [built(true), built(false)]
}

/// Lays it out over these stations (rising, m from the middle), for the greatest moment anywhere in the draw and, over the
/// stretch that the loop takes, in the shot: there against the wood's rupture, for the limb further in is held by its own inertia.
pub fn least_taper(design: &Design, statics: &Statics, side: Side, stations: &[f64]) -> LeastTaper {
    let limb = design.limbs.get(side);
    let profile = Profile::of(limb);
    let start = design.bow.stiff_handle / 2.0;
    let states: Vec<_> = some_states(statics).into_iter().map(|s| loaded(design, statics, side, s)).collect();
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
        let mut thick = least_thickness(limb.section, here.width, most, stress);
        let mut wide = least_width(limb.section, here.thickness, most, stress);
        if let Some(rupture) = rupture.filter(|_| limb.length - at <= design.string.loop_length) {
            let moment = shot * braced.moment[k];
            thick = thick.max(least_thickness(limb.section, here.width, moment, rupture));
            wide = wide.max(least_width(limb.section, here.thickness, moment, rupture));
        }
        needed[0].push((at, thick));
        needed[1].push((at, wide));
    }
    let floor = FLOOR * design.string.diameter;
    let [thickness, width] = needed.map(|n| buildable(stations, &n, floor));
    LeastTaper { at: stations.to_vec(), thickness, width, stress }
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
            let least = least_taper(&reading.design, &statics, side, &outer_stations(&reading.design, side));
            let Ok(own) = reserve_of_one_like(&reading.design, &statics) else { panic!("drawn") };
            let [thin, narrow] = reserves(&reading.design, &statics, side).map(|r| r.expect("drawn"));
            assert!(narrow < *own.get(side), "{narrow} {own:?} {least:?}");
            assert!(thin.is_finite() && thin > narrow, "{thin} {narrow}");
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
            let least = least_taper(design, &statics, side, &stations);
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
