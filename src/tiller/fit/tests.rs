//! Made-up limbs with a known weak stretch, measured with a known noise.

use super::*;
use crate::design::file::read;
use crate::samples::{SAMPLE, SAMPLE_NAME};

pub(crate) const WORDING: Wording = Wording { units: Units::Millimetre, start: 0.1 };
pub(crate) const OFFSETS: Both<f64> = Both { upper: 0.006, lower: 0.006 };

pub(crate) fn sample() -> (RestingBow, Bracing, DrawTo, f64) {
    let design = read(SAMPLE, SAMPLE_NAME).unwrap_or_else(|refusal| panic!("{refusal}")).design;
    (RestingBow::of(&design, OFFSETS, 48), design.bow.bracing, design.bow.draw_to, design.bow.draw)
}

/// Normal deviates, seeded: a linear congruential generator (Knuth, MMIX) and twelve uniforms less six.
pub(crate) struct Noise(pub(crate) u64);

impl Noise {
    fn next(&mut self) -> f64 {
        let mut sum = -6.0;
        for _ in 0..12 {
            self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            sum += (self.0 >> 11) as f64 / (1_u64 << 53) as f64;
        }
        sum
    }
}

#[test]
fn distances_of_the_braced_bow_are_plain_to_see() {
    let (bow, bracing, to, _) = sample();
    let braced = brace(&bow, bracing).unwrap_or_else(|fault| panic!("{fault:?}"));
    let state = draw_bow(&bow, &braced, to, 0.0, 0).unwrap_or_else(|fault| panic!("{fault:?}")).at_brace().clone();
    for side in Side::BOTH {
        // At the stiff handle's end the belly stands where the limb leaves it; the string runs square to the handle there.
        let limb = bow.limbs.get(side);
        let want = braced.brace_height - (limb.root[0] + limb.belly[0]);
        let got = string_distance(&bow, &state, side, 0.0);
        assert!((got - want).abs() < 2e-3, "{side:?}: {got} {want}");
        // It falls all the way out.
        let all: Vec<f64> =
            (0..=20).map(|i| string_distance(&bow, &state, side, limb.length() * f64::from(i) / 20.0)).collect();
        assert!(all.windows(2).all(|w| w[1] < w[0]), "{all:?}");
    }
}

/// As off a photograph: stations 25 mm apart, at brace and at three draws, each limb.
pub(crate) fn measure(
    bow: &RestingBow,
    bracing: Bracing,
    to: DrawTo,
    draw: f64,
    noise: &mut Noise,
    size: f64,
) -> Vec<Measured> {
    let braced = brace(bow, bracing).unwrap_or_else(|fault| panic!("{fault:?}"));
    let mut out = Vec::new();
    for draw in [None, Some(0.7 * draw), Some(0.85 * draw), Some(draw)] {
        let drawn = match draw {
            None => draw_bow(bow, &braced, to, 0.0, 0),
            Some(d) => draw_bow(bow, &braced, to, d, 2),
        }
        .unwrap_or_else(|fault| panic!("{fault:?}"));
        let state = drawn.states.last().expect("at least one");
        for side in Side::BOTH {
            for k in 1..=28 {
                let at = 0.025 * f64::from(k);
                let distance = string_distance(bow, state, side, at) + size * noise.next();
                out.push(Measured { draw, side, at, distance });
            }
        }
    }
    out
}

fn places(n: u32, first: f64, apart: f64) -> Both<Vec<f64>> {
    Both::build(|_| (0..n).map(|k| first + apart * f64::from(k)).collect())
}

#[test]
fn more_places_than_the_distances_tell_are_refused() {
    let (bow, bracing, draw_to, draw) = sample();
    let measured = measure(&bow, bracing, draw_to, draw, &mut Noise(1), 0.0005);
    let places = places(7, 0.0, 0.1);
    let request =
        Fit { bow: &bow, bracing, draw_to, measured: &measured, noise: 0.0005, places: &places, wording: WORDING };
    let refused = fit(&request).expect_err("too many places");
    assert!(refused.what.contains("cannot be told") && refused.what.contains("mm from the middle"), "{refused:?}");
    // In the design's units, and never as unsure as what is still told.
    let inches = Wording { units: Units::Inch, start: 0.1 };
    let refused = fit(&Fit { wording: inches, ..request }).expect_err("too many places");
    assert!(refused.what.contains(" in from the middle") && !refused.what.contains("mm"), "{refused:?}");
    assert!(!refused.what.contains("within 4.0 %"), "{refused:?}");
}

#[test]
fn a_wrong_taper_is_fitted_at_few_places() {
    let (bow, bracing, draw_to, draw) = sample();
    let places = places(3, 0.1, 0.25);
    // The upper limb's outer end a fifth too stiff, rising evenly from its root.
    let mut true_bow = bow.clone();
    let upper = &mut true_bow.limbs.upper;
    for (ei, s) in upper.stiffness.iter_mut().zip(&upper.s) {
        *ei *= evenly(&places.upper, &[0.0, 0.1, 0.2], *s).exp();
    }
    let measured = measure(&true_bow, bracing, draw_to, draw, &mut Noise(7), 0.0005);
    let request =
        Fit { bow: &bow, bracing, draw_to, measured: &measured, noise: 0.0005, places: &places, wording: WORDING };

    let found = fit(&request).unwrap_or_else(|fault| panic!("{fault:?}"));
    let mean = 0.3_f64 / 6.0;
    for (k, want) in [0.0_f64, 0.1, 0.2].iter().enumerate() {
        let (upper, lower) = (found.factor.upper[k], found.factor.lower[k]);
        assert!((upper / (want - mean).exp() - 1.0).abs() < 1.5 * found.within.upper[k].max(0.01), "{found:?}");
        assert!((lower / (-mean).exp() - 1.0).abs() < 1.5 * found.within.lower[k].max(0.01), "{found:?}");
    }
    assert!(found.left > 0.0003 && found.left < 0.0007);
    // The string angles of the fitted bow are the true bow's.
    let angle = |bow: &RestingBow| {
        let braced = brace(bow, bracing).unwrap_or_else(|fault| panic!("{fault:?}"));
        let drawn = draw_bow(bow, &braced, draw_to, draw, 2).unwrap_or_else(|fault| panic!("{fault:?}"));
        drawn.at_full_draw().limbs.upper.string_angle.to_degrees()
    };
    let (designed, fitted, real) = (angle(&bow), angle(&found.bow), angle(&true_bow));
    assert!((fitted - real).abs() < 0.25 * (designed - real).abs(), "{designed} {fitted} {real}");
}

#[test]
fn requests_that_cannot_be_met_are_refused() {
    let (bow, bracing, draw_to, draw) = sample();
    let measured = measure(&bow, bracing, draw_to, draw, &mut Noise(1), 0.0);
    let places = places(3, 0.1, 0.25);
    let good =
        Fit { bow: &bow, bracing, draw_to, measured: &measured, noise: 0.0005, places: &places, wording: WORDING };
    let says = |fit: &Fit, words: &str| {
        let fault = super::fit(fit).expect_err("must be refused");
        assert!(fault.what.contains(words), "{fault:?}");
    };
    assert!(fit(&good).is_ok());
    says(&Fit { measured: &measured[..4], ..good.clone() }, "measured distances on the");
    says(&Fit { places: &self::places(3, 0.5, 0.25), ..good.clone() }, "lie off the limb");
    says(&Fit { noise: 0.0, ..good.clone() }, "no number above zero");
    // Distances 20 mm off at one draw fit no limb.
    let odd: Vec<Measured> = measured
        .iter()
        .map(|m| Measured { distance: m.distance + if m.draw.is_none() { 0.02 } else { 0.0 }, ..*m })
        .collect();
    says(&Fit { measured: &odd, ..good.clone() }, "no stiffness fits");
}
