//! Bows built to their least taper, bent anew, against what was asked of them.

use super::*;
use crate::design::file::read;
use crate::samples::{SAMPLE, SAMPLE_NAME};
use crate::worked::soundness::sideways;

fn design(text: &str) -> Design {
    read(text, SAMPLE_NAME).unwrap_or_else(|refusal| panic!("{refusal}")).design
}

/// The flatbow of the examples, its limbs all narrow and deep but stouter at the tip: as it is it stands, at brace the least.
fn deep(widths: [&str; 3]) -> String {
    let text = include_str!("../../../examples/ash-flatbow.toml");
    let start = text.find("stations = [").expect("stations");
    let end = start + text[start..].find(']').expect("their end") + 1;
    let [a, b, c] = widths;
    let stations = format!(
        "stations = [{{ at = \"4 in\", width = \"{a} in\", thickness = \"0.9 in\" }}, \
         {{ at = \"20 in\", width = \"{b} in\", thickness = \"0.8 in\" }}, \
         {{ at = \"34 in\", width = \"{c} in\", thickness = \"0.6 in\" }}]"
    );
    let text = format!("{}{stations}{}", &text[..start], &text[end..]);
    text.replace("section  = \"rounded rectangle\"", "section  = \"rectangle\"")
        .lines()
        .filter(|line| !line.starts_with("corner "))
        .map(|line| format!("{line}\n"))
        .collect()
}

struct Laid {
    design: Design,
    statics: Statics,
    least: Both<LeastTaper>,
}

fn laid(text: &str, floor: f64) -> Laid {
    let design = design(text);
    let statics = Statics::of(&design, 8).unwrap_or_else(|fault| panic!("{fault:?}"));
    let least = least_tapers(&design, &statics, &Both { upper: floor, lower: floor });
    Laid { design, statics, least }
}

impl Laid {
    fn sizes(&self, way: Way) -> Sizes {
        self.least.map(|l| if way == Way::Thinner { l.thickness.clone() } else { l.width.clone() })
    }

    /// The bow built to it, drawn from the start.
    fn built(&self, way: Way) -> (Design, Statics) {
        let built = built(&self.design, &self.least.map(|l| l.stations.clone()), way, &self.sizes(way));
        let statics = Statics::of(&built, 24).unwrap_or_else(|fault| panic!("{way:?}: {fault:?}"));
        (built, statics)
    }
}

/// Sideways a limb is as strong as the cube of its width, so one cut down to the least width stands least.
#[test]
fn the_least_width_stands_less_than_the_limb_does() {
    let laid = laid(SAMPLE, 0.006);
    for side in Side::BOTH {
        let own = sideways(&laid.design, &laid.statics, side).least;
        let [thin, narrow] = laid.least.get(side).reserve.map(|r| r.expect("drawn").least);
        assert!(narrow < own, "{narrow} {own}");
        assert!(thin.is_finite() && thin > narrow, "{thin} {narrow}");
    }
}

/// A bow built to its least stays in its plane, at brace and all through the draw, at both limbs and with the lowest shear modulus: as
/// `check` looks at it. What is raised for that is raised no further than it must.
#[test]
fn a_bow_built_to_the_least_stays_in_its_plane_from_brace_on() {
    let mut raised = 0;
    for text in [deep(["0.96", "0.84", "0.48"]), deep(["1.2", "1.05", "0.6"]), SAMPLE.to_owned()] {
        let laid = laid(&text, 0.0064);
        for (k, way) in [Way::Thinner, Way::Narrower].into_iter().enumerate() {
            let (built, statics) = laid.built(way);
            for side in Side::BOTH {
                let least = laid.least.get(side);
                let found = sideways(&built, &statics, side);
                let told = least.reserve[k].expect("drawn");
                assert_ne!(least.by[k], LaidOutBy::OwnSize, "{way:?} {side:?} {found:?}");
                assert!(found.least >= 1.0 && found.between[0] >= 1.0, "{way:?} {side:?}: {found:?}, told {told:?}");
                assert!((found.least / told.least - 1.0).abs() < 0.02, "{way:?} {side:?}: {found:?}, told {told:?}");
                if least.by[k] == LaidOutBy::Plane {
                    raised += 1;
                    let lowest = Side::BOTH.map(|side| laid.least.get(side).reserve[k].expect("drawn").lowest);
                    assert!(lowest[0].min(lowest[1]) < 1.08, "{way:?} {side:?}: {lowest:?}");
                }
            }
        }
    }
    assert!(raised >= 3, "{raised}");
}

/// Where the limb as it is does not stand, its own size is the least, and is said to be.
#[test]
fn a_limb_that_goes_sideways_as_it_is_keeps_its_own_width() {
    let laid = laid(&deep(["0.7", "0.6", "0.36"]), 0.0064);
    let own = sideways(&laid.design, &laid.statics, Side::Upper);
    assert!(own.least < 1.0, "{own:?}");
    for side in Side::BOTH {
        let least = laid.least.get(side);
        assert_eq!(least.by[1], LaidOutBy::OwnSize);
        let profile = Profile::of(laid.design.limbs.get(side));
        assert!(least.stations.iter().zip(&least.width).all(|(at, w)| *w >= profile.width(*at) - 1e-9));
    }
}

#[test]
fn no_least_size_is_below_its_floor() {
    let laid = laid(include_str!("../../../examples/recurved-bow.toml"), 0.012);
    for least in [&laid.least.upper, &laid.least.lower] {
        assert!(least.width.iter().chain(&least.thickness).all(|size| *size >= 0.012 - 1e-12));
    }
}

/// The limb built to the least thickness, bent anew, bears the shot at its end: what `check` would say of such a bow.
#[test]
fn a_limb_built_to_the_least_thickness_bears_the_shot() {
    let text = include_str!("../../../tests/bows/short.toml");
    for text in [SAMPLE.to_owned(), format!("{text}\n[nock]\nstyle = \"back overlay\"\n")] {
        let laid = laid(&text, 0.004);
        let (built, bent) = laid.built(Way::Thinner);
        for side in Side::BOTH {
            let braced = bent.cycle.at_brace();
            let limb = loaded(&built, &bent, side, braced);
            let shot = built.strength.shock_factor * bent.cycle.at_full_draw().force / braced.limbs.get(side).pull;
            let from = limb.s[limb.s.len() - 1] - built.string.loop_length;
            let stress =
                |k: usize| shot * face_stress(&limb.sections[k], limb.moment[k], limb.axial_force[k]).greatest().1;
            let most = (0..limb.s.len()).filter(|&k| limb.s[k] >= from).map(stress).fold(0.0, f64::max);
            let rupture = built.limbs.get(side).wood.rupture.as_ref().map_or(0.0, |r| r.value);
            assert!(most < 1.01 * rupture, "{side:?}: {most:.4e} against {rupture:.4e}");
        }
    }
}

/// Stresses of the outer stretch of a bow built to its least, over the one it is laid out for, node by node up to the loop.
fn worked_how_hard(laid: &Laid, way: Way, side: Side) -> Vec<f64> {
    let (built, bent) = laid.built(way);
    let least = laid.least.get(side);
    let states: Vec<_> = some_states(&bent).into_iter().map(|s| loaded(&built, &bent, side, s)).collect();
    let start = built.bow.stiff_handle / 2.0;
    let outer = (0..states[0].s.len()).filter(|&k| start + states[0].s[k] >= least.stations[0]);
    outer
        .map(|k| {
            let each = states.iter().map(|l| face_stress(&l.sections[k], l.moment[k], 0.0).greatest().1);
            each.fold(0.0, f64::max) / least.stress
        })
        .collect()
}

/// A bow built to its least, bent anew, nowhere works harder than the chosen stress and comes near it; and the higher the stress, the
/// less the sizes. Where the shot asks for more than the stress does, they hardly change: a thinner limb bends more, so that the braced
/// string stands steeper on its tip.
#[test]
fn the_least_is_the_least_and_falls_as_the_stress_rises() {
    let example = include_str!("../../../examples/ash-flatbow.toml");
    let mut before: Option<Laid> = None;
    for stress in [70.0, 80.0, 87.1, 95.0, 103.0] {
        let laid = laid(&format!("{example}\n[strength]\nworking_stress = \"{stress} MPa\"\n"), 0.0064);
        for way in [Way::Thinner, Way::Narrower] {
            let hard = Both::build(|side| worked_how_hard(&laid, way, side));
            let all = || hard.upper.iter().chain(&hard.lower);
            assert!(all().count() > 10 && all().all(|h| *h < 1.01), "{stress} MPa {way:?}: {hard:?}");
            assert!(all().any(|h| *h > 0.98), "{stress} MPa {way:?}: {hard:?}");
            let Some(before) = &before else { continue };
            for side in Side::BOTH {
                let (lower, higher) = (before.sizes(way), laid.sizes(way));
                let (lower, higher) = (lower.get(side), higher.get(side));
                // The inner stations bear what the draw asks, the outer ones what the shot does, and none is less than one further out.
                let parts: Vec<f64> = higher.iter().zip(lower).map(|(h, l)| h / l).collect();
                let inner = parts.len() - 3;
                assert!(parts[..inner].iter().all(|p| *p < 1.02), "{stress} MPa {way:?} {side:?}: {parts:?}");
                assert!(parts[0] < 0.98 && parts.iter().all(|p| *p < 1.05), "{stress} MPa {way:?} {side:?}: {parts:?}");
            }
        }
        before = Some(laid);
    }
}
