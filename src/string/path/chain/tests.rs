//! The loop's rest against what unrolling says.

use super::*;
use crate::design::SectionForm;
use crate::tip::LimbEnd;

/// A cone on which the centreline of a string of radius `r` runs on a cone of radius 6 mm at `a = 0`.
fn cone(half_angle: f64, r: f64) -> TipSolid {
    let k = half_angle.to_radians().tan();
    let d = 12e-3 - 2.0 * r / half_angle.to_radians().cos();
    TipSolid::bare(LimbEnd::straight(SectionForm::Ellipse, [d, -2.0 * k], [d, -2.0 * k]), f64::INFINITY, 1.0)
}

/// A loop hung on a bare cone, pulled from its throat toward the wide end: exact by unrolling the cone.
#[test]
fn a_loop_on_a_bare_cone_rests_where_unrolling_says() {
    for (deg, leg_angle, ratio) in [(5.0_f64, 74.3119663_f64, 0.540798761), (10.0, 58.743328, 1.03774561)] {
        let (sin, r) = (deg.to_radians().sin(), 1.6e-3);
        let solid = cone(deg, r);
        // The loop that rests with its throat at slant distance 6 mm / sin.
        let throat = 6e-3 / sin;
        let length = 2.0 * throat * (PI * sin).sin();
        let mut errors = Vec::new();
        for points in [30, 60, 120, 240] {
            let mut hung = Loop::new(&solid, 2.0 * r, 0.5 * length, Settings { side_points: points, most_steps: 1000 });
            let mut rest = hung.hang([-1.0, 0.0, -0.05], |_| 2e-3).unwrap();
            hung.settle(&mut rest, [-1.0, 0.0, 0.0]).unwrap();
            assert!(rest.throat_bears && rest.bears.iter().all(|b| *b));
            let slant = |a: f64| (6e-3 / deg.to_radians().tan() - a) / deg.to_radians().cos();
            // The pull is along the axis; the part of it along the cone is what the legs carry: 2 leg cos(angle) = pull cos(deg).
            let carried = deg.to_radians().cos() / rest.leg;
            let found = [
                carried / ratio - 1.0,
                (0.5 * carried).acos().to_degrees() / leg_angle - 1.0,
                slant(rest.throat[0]) / throat - 1.0,
                slant(rest.a[points]) / (throat * (PI * sin).cos()) - 1.0,
            ];
            errors.push(found.iter().map(|e| e.abs()).fold(0.0, f64::max));
        }
        assert!(errors[3] < 1e-5 && errors[2] < 1e-4, "{deg}: {errors:?}");
        for pair in errors.windows(2) {
            assert!(pair[0] / pair[1] > 3.5, "second order: {errors:?}");
        }
    }
}

#[test]
fn too_short_a_loop_says_by_how_much() {
    let solid = cone(5.0, 1.6e-3);
    let mut hung = Loop::new(&solid, 3.2e-3, 12e-3, Settings::default());
    assert!(matches!(hung.hang([-1.0, 0.0, 0.0], |_| 0.0), Err(Unrest::TooShort(by)) if by > 5e-3));
}

/// Half a chain and the whole one find the same rest, and the whole one finds it from an uneven start too.
#[test]
fn half_a_chain_rests_where_the_whole_one_does() {
    let limb = LimbEnd::straight(SectionForm::RoundedRectangle { corner: 3e-3 }, [12.7e-3, -0.35], [11e-3, -0.35]);
    let solid = TipSolid::bare(limb, f64::INFINITY, 1.0);
    let u = [-1.0, 0.0, -0.05];
    let hang = |uneven: f64, part: Part| {
        let mut hung = Loop::new(&solid, 3.2e-3, 40e-3, Settings::default());
        let mut rest = hung.hang(u, |_| 2e-3).unwrap();
        for i in 0..rest.a.len() {
            rest.a[i] += uneven * hung.angles[i].sin();
        }
        if part == Part::Half {
            hung.settle(&mut rest, u).unwrap();
            assert!(hung.is_even(&rest));
        } else {
            hung.settle_here(&mut rest, u, Part::Whole).unwrap();
        }
        rest
    };
    let half = hang(0.0, Part::Half);
    for uneven in [0.0, 2e-4] {
        let whole = hang(uneven, Part::Whole);
        assert!((half.leg - whole.leg).abs() < 1e-8, "{} {}", half.leg, whole.leg);
        let places = half.a.iter().zip(&whole.a).chain(half.radius.iter().zip(&whole.radius));
        assert!(places.clone().all(|(h, w)| (h - w).abs() < 1e-8));
        assert!(half.throat.iter().zip(whole.throat).all(|(h, w)| (h - w).abs() < 1e-8));
    }
}
