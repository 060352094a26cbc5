use super::*;

/// A round cone's paper is a flat sector: with half angle `k` (slope `tan k`), apex distance `r / sin k`, angle `2 pi sin k`.
#[test]
fn a_cone_comes_out_as_the_flat_sector() {
    for degrees in [2.0_f64, 5.0, 12.0] {
        let k = degrees.to_radians();
        let radius = |a: f64, _: f64| 8e-3 - a * k.tan();
        for paper in [0.0, 0.1e-3] {
            let band = Flattening::of(&radius, [-20e-3, 12e-3], paper);
            assert!(band.mismatch.worst() < 1e-6, "{:?}", band.mismatch);
            let apex = 8e-3 / k.sin();
            for a in [-20e-3, -3.0e-3, 0.0, 12e-3] {
                let away = apex - a / k.cos() + 0.5 * paper / k.sin();
                for theta in [-PI, -2.0, -0.4, 0.0, 1.0, PI] {
                    let turn = theta * k.sin();
                    // The origin of the paper lies at a = 0 on the back.
                    let exact = [away * turn.sin(), apex + 0.5 * paper / k.sin() - away * turn.cos()];
                    let (flat, way) = band.along(a, theta);
                    assert!(distance(flat, exact) < 0.01e-3, "{degrees} {a} {theta}: {flat:?} {exact:?}");
                    assert!((way - away * turn).abs() < 0.01e-3);
                }
            }
        }
    }
}

#[test]
fn an_elliptic_cylinder_comes_out_as_a_rectangle_as_long_as_its_girth() {
    use crate::{design::SectionForm, section::Section};
    let section = Section::new(SectionForm::Ellipse, 14e-3, 9e-3);
    for paper in [0.0, 0.1e-3] {
        let band = Flattening::of(&|_, theta| section.radius(theta), [-15e-3, 10e-3], paper);
        let girth = section.perimeter() + PI * paper;
        assert!((band.girth(0.0) - girth).abs() < 0.005e-3, "{} {girth}", band.girth(0.0));
        for a in [-15e-3, 0.0, 10e-3] {
            let ([x, y], _) = band.along(a, PI);
            assert!((x - 0.5 * girth).abs() < 0.005e-3 && (y - a).abs() < 1e-9);
        }
        assert!(band.mismatch.worst() < 1e-6);
    }
}

/// Lengths along both edges, and across, are those on the tip, also where width and thickness taper apart.
#[test]
fn lengths_are_kept_on_tips_that_taper_unevenly() {
    use crate::{design::SectionForm, section::Section};
    let forms = [
        SectionForm::Rectangle,
        SectionForm::RoundedRectangle { corner: 3e-3 },
        SectionForm::Ellipse,
        SectionForm::D,
        SectionForm::Trapezoid { belly: 0.6 },
    ];
    for form in forms {
        for (width, thickness) in [(0.12, 0.02), (0.05, 0.1), (0.0, 0.06)] {
            let section = |a: f64| Section::new(form, 13e-3 - width * a, 11e-3 - thickness * a);
            let band = Flattening::of(&|a, theta| section(a).radius(theta), [-22e-3, 8e-3], 0.0);
            for a in band.span {
                let girth = section(a).perimeter();
                assert!((band.girth(a) - girth).abs() < 0.05e-3, "{form:?} {a} {} {girth}", band.girth(a));
            }
            assert!(band.mismatch.worst() < 0.2e-3, "{form:?} {:?}", band.mismatch);
            // Round once, the end lies where the paper began: the belly's line is as long on both sides.
            let ([_, low], _) = band.along(-22e-3, PI);
            let ([_, high], _) = band.along(8e-3, PI);
            assert!(high > low);
        }
    }
}

#[test]
fn a_ball_is_refused_and_a_swelling_tip_takes_several_bands() {
    let ball = |a: f64, _: f64| (100e-6 - a * a).max(1e-8).sqrt();
    assert!(Bands::of(&ball, [-8e-3, 8e-3], 0.0).fitting(14e-3, 0.5e-3, 3).is_err());
    // A cylinder that swells toward the handle as a circle's arc.
    let swelling = |a: f64, _: f64| 8e-3 + (a.min(0.0) / 0.02).powi(2) * 1.2e-3;
    let bands = Bands::of(&swelling, [-30e-3, 8e-3], 0.0).fitting(6e-3, 0.5e-3, 3).unwrap();
    assert!(bands.len() > 1);
    for pair in bands.windows(2) {
        assert_eq!(pair[0].span[0], pair[1].span[1]);
    }
    assert!(bands.iter().all(|b| b.mismatch.worst() <= 0.5e-3));
    let first = Bands::of(&swelling, [-30e-3, 8e-3], 0.0).fitting(6e-3, 0.5e-3, 1).unwrap();
    assert!(first.len() == 1);
}
