//! The sample bow's limbs, drawn: what they carry must balance, and how near they are to going sideways.

use super::*;
use crate::bow::bracing::RestingBow;
use crate::bow::draw_curve::cycle;
use crate::bow::limb::Profile;
use crate::design::file::read;
use crate::design::{Both, Design, Side};
use crate::samples::{SAMPLE, SAMPLE_NAME};
use crate::strength::sideways::{Unevenness, sideways_lean, sideways_reserve};
use crate::strength::stress::{Face, face_stress};

fn sample() -> Design {
    read(SAMPLE, SAMPLE_NAME).unwrap_or_else(|refusal| panic!("{refusal}")).design
}

/// The upper limb at brace and at full draw.
fn loaded(design: &Design) -> [LoadedLimb; 2] {
    let offsets = Both { upper: 0.006, lower: 0.006 };
    let drawn = cycle(design, offsets, 48, 8).unwrap_or_else(|fault| panic!("{fault:?}"));
    let bow = RestingBow::of(design, offsets, 48).stiffened(drawn.stiffness_factor);
    let profile = Profile::of(&design.limbs.upper);
    let start = design.bow.stiff_handle / 2.0;
    [drawn.at_brace(), drawn.at_full_draw()].map(|state| {
        let limb = state.limbs.get(Side::Upper);
        let string = (limb.seat[0] - state.nocking_point[0]).hypot(limb.seat[1] - state.nocking_point[1]);
        LoadedLimb::of(&bow.limbs.upper, limb, |s| profile.section(start + s), string, SHEAR_RATIO)
    })
}

#[test]
fn moments_and_forces_balance() {
    for limb in loaded(&sample()) {
        for i in 1..limb.s.len() - 1 {
            // Cubic Hermite through moments with slopes -F_n: at the middle node of two equal steps Simpson's rule holds.
            let [a, b, c] = [limb.s[i - 1], limb.s[i], limb.s[i + 1]];
            if ((b - a) - (c - b)).abs() > 1e-9 {
                continue;
            }
            let force =
                (c - a) / 6.0 * (limb.normal_force[i - 1] + 4.0 * limb.normal_force[i] + limb.normal_force[i + 1]);
            let change = limb.moment[i + 1] - limb.moment[i - 1];
            assert!((change + force).abs() < 1e-6 * limb.moment[0].abs(), "{i}: {change} {force}");
        }
        // The pull's size is the same all along.
        let size = |i: usize| limb.normal_force[i].hypot(limb.axial_force[i]);
        assert!((0..limb.s.len()).all(|i| (size(i) / size(0) - 1.0).abs() < 1e-12));
        // At the nock the moment is the pull along the limb times the seat's offset.
        let last = limb.s.len() - 1;
        assert!((limb.moment[last] - limb.seat_offset * limb.axial_force[last]).abs() < 1e-9);
    }
}

#[test]
fn a_flat_limb_stands_and_a_narrow_deep_one_does_not() {
    let mut design = sample();
    let reserve = |design: &Design| loaded(design).map(|l| sideways_reserve(&l.under_pull()).expect("sound").factor);
    let flat = reserve(&design);
    assert!(flat[1] > 2.0, "{flat:?}");
    // Square and slender all along: as wide as thick.
    for limb in [&mut design.limbs.upper, &mut design.limbs.lower] {
        for station in &mut limb.stations {
            station.width = 0.55 * station.thickness;
        }
    }
    let narrow = reserve(&design);
    assert!(narrow[1] < 1.0, "{flat:?} {narrow:?}");
}

#[test]
fn an_off_centre_string_leans_the_limb_a_little() {
    let [_, full] = loaded(&sample());
    let uneven = Unevenness { string_offset: 0.003, ..Unevenness::default() };
    let lean = sideways_lean(&full.under_pull(), &uneven).expect("stands");
    assert!(lean.tip_twist().abs() > 1e-4 && lean.tip_twist().abs() < 0.2);
}

#[test]
fn the_belly_is_pressed_and_the_back_stretched() {
    let [_, full] = loaded(&sample());
    let stress = face_stress(&full.sections[4], full.moment[4], full.axial_force[4]);
    assert!(stress.back > 20e6 && stress.belly < -20e6, "{stress:?}");
    assert_eq!(stress.greatest().0, Face::Belly);
}

/// The statics' own nodes are enough: twice as many change the reserve by less than 1 part in 1000.
#[test]
fn reserve_does_not_depend_on_the_grid() {
    let design = sample();
    let offsets = Both { upper: 0.006, lower: 0.006 };
    let at = |steps: usize| {
        let drawn = cycle(&design, offsets, steps, 2).unwrap_or_else(|fault| panic!("{fault:?}"));
        let bow = RestingBow::of(&design, offsets, steps).stiffened(drawn.stiffness_factor);
        let profile = Profile::of(&design.limbs.upper);
        let start = design.bow.stiff_handle / 2.0;
        let limb = drawn.at_full_draw().limbs.get(Side::Upper);
        let loaded = LoadedLimb::of(&bow.limbs.upper, limb, |s| profile.section(start + s), 0.9, SHEAR_RATIO);
        sideways_reserve(&loaded.under_pull()).expect("sound").factor
    };
    let (coarse, fine) = (at(48), at(192));
    assert!((coarse / fine - 1.0).abs() < 1e-3, "{coarse} {fine}");
}
