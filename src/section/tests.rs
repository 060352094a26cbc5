//! Sections against closed forms and against quadrature over their own outline.

use kurbo::{ParamCurve, ParamCurveDeriv, Shape};

use super::*;

const MM: f64 = 1e-3;

fn forms() -> Vec<SectionForm> {
    vec![
        SectionForm::Rectangle,
        SectionForm::RoundedRectangle { corner: 2.0 * MM },
        SectionForm::RoundedRectangle { corner: 50.0 * MM },
        SectionForm::Ellipse,
        SectionForm::D,
        SectionForm::Trapezoid { belly: 0.6 },
        SectionForm::Trapezoid { belly: 1.5 },
        SectionForm::Trapezoid { belly: 0.01 },
    ]
}

fn sections() -> Vec<Section> {
    let sizes = [(12.0, 8.0), (30.0, 12.0), (8.0, 8.0), (9.0, 14.0), (40.0, 2.0)];
    forms().into_iter().flat_map(|f| sizes.map(|(w, t)| Section::new(f, w * MM, t * MM))).collect()
}

fn close(got: f64, want: f64, relative: f64) {
    assert!((got - want).abs() <= relative * want.abs(), "got {got:.12e}, want {want:.12e}");
}

/// Area, centroid and second moments by the midpoint rule over the polar form.
#[test]
fn polar_quadrature_of_the_radius_gives_area_and_moments() {
    for s in sections() {
        let n = 100_000;
        let h = PI / n as f64;
        let (mut area, mut first, mut second, mut sideways) = (0.0, 0.0, 0.0, 0.0);
        for i in 0..n {
            let theta = (i as f64 + 0.5) * h;
            let r = s.radius(theta);
            let (sin, cos) = theta.sin_cos();
            // Both halves: +w and -w.
            area += r * r * h;
            first += 2.0 / 3.0 * r.powi(3) * cos * h;
            second += 0.5 * r.powi(4) * cos * cos * h;
            sideways += 0.5 * r.powi(4) * sin * sin * h;
        }
        close(s.area(), area, 1e-6);
        close(s.second_moment(), second, 1e-6);
        close(s.second_moment_sideways(), sideways, 1e-6);
        assert!((first / area).abs() < 1e-6 * s.thickness, "{s:?}: centroid off by {}", first / area);
    }
}

#[test]
fn outline_agrees_with_area_moments_and_perimeter() {
    for s in sections() {
        let path = s.outline();
        close(path.area().abs(), s.area(), 1e-6);
        close(path.perimeter(1e-10), s.perimeter(), 1e-6);
        // Green: INT b^2 = -1/3 LOOP b^3 dw, INT w^2 = 1/3 LOOP w^3 db, INT b = -1/2 LOOP b^2 dw; Simpson on each segment.
        let (mut first, mut second, mut sideways) = (0.0, 0.0, 0.0);
        for seg in path.segments().map(|s| s.to_cubic()) {
            let speed = seg.deriv();
            for i in 0..=64 {
                let u = f64::from(i) / 64.0;
                let weight = if i == 0 || i == 64 { 1.0 } else { 2.0 + 2.0 * f64::from(i % 2) } / (3.0 * 64.0);
                let (p, d) = (seg.eval(u), speed.eval(u));
                first -= weight / 2.0 * p.y.powi(2) * d.x;
                second -= weight / 3.0 * p.y.powi(3) * d.x;
                sideways += weight / 3.0 * p.x.powi(3) * d.y;
            }
        }
        close(second.abs(), s.second_moment(), 1e-6);
        close(sideways.abs(), s.second_moment_sideways(), 1e-6);
        assert!((first / s.area()).abs() < 1e-6 * s.thickness);
        let bounds = path.bounding_box();
        close(bounds.y1, s.back_distance(), 1e-9);
        close(-bounds.y0, s.belly_distance(), 1e-9);
        close(bounds.height(), s.thickness, 1e-9);
    }
}

#[test]
fn outline_points_lie_at_the_radius() {
    for s in sections() {
        for seg in s.outline().segments() {
            for i in 0..=8 {
                let p = seg.eval(f64::from(i) / 8.0);
                let r = s.radius(p.x.atan2(p.y));
                assert!((p.to_vec2().hypot() - r).abs() < 4e-9, "{s:?} at {p:?}: {r}");
            }
        }
    }
}

#[test]
fn radius_is_mirrored_and_periodic_and_meets_the_faces() {
    for s in sections() {
        close(s.radius(0.0), s.back_distance(), 1e-14);
        close(s.radius(PI), s.belly_distance(), 1e-14);
        for i in 0..=64 {
            let theta = f64::from(i) / 64.0 * 2.0 * PI;
            let r = s.radius(theta);
            assert!(r.is_finite() && r > 0.0);
            close(s.radius(-theta), r, 1e-12);
            close(s.radius(theta + 2.0 * PI), r, 1e-10);
        }
    }
}

#[test]
fn width_at_a_height_meets_the_outline() {
    for s in sections() {
        for i in 1..40 {
            let theta = PI * f64::from(i) / 40.0;
            let r = s.radius(theta);
            // Where the outline runs along the width its height says nothing of the width.
            let b = r * theta.cos();
            if b < s.back_distance() - 1e-9 && b > -s.belly_distance() + 1e-9 {
                close(s.width_at(b), 2.0 * r * theta.sin(), 1e-9);
            }
        }
        assert_eq!(s.width_at(s.back_distance() + 1e-6), 0.0);
        assert_eq!(s.width_at(-s.belly_distance() - 1e-6), 0.0);
    }
}

/// Closed forms; trapezoid base 12, top 8, height 6 and rounded rectangle 12 x 8, corner 2.
#[test]
fn closed_forms() {
    let t = Section::new(SectionForm::Trapezoid { belly: 1.5 }, 8.0, 6.0);
    close(t.area(), 60.0, 1e-14);
    close(t.centroid(), 2.8, 1e-14);
    close(t.second_moment(), 177.6, 1e-14);
    close(t.second_moment_sideways(), 520.0, 1e-14);
    let r = Section::new(SectionForm::RoundedRectangle { corner: 2.0 }, 12.0, 8.0);
    close(r.area(), 92.566_370_61, 1e-10);
    close(r.second_moment(), 468.165_186_4, 1e-10);
    // Ellipse with half axes 6 and 4: perimeter 31.7308791786 (complete elliptic integral).
    close(Section::new(SectionForm::Ellipse, 12.0, 8.0).perimeter(), 31.730_879_178_6, 1e-12);
    // A circle, two ways, and a half circle (centroid 4R/3pi from its flat, I = (pi/8 - 8/9pi) R^4).
    let round = Section::new(SectionForm::Ellipse, 2.0, 2.0);
    let rounded = Section::new(SectionForm::RoundedRectangle { corner: 9.0 }, 2.0, 2.0);
    for s in [round, rounded] {
        close(s.area(), PI, 1e-14);
        close(s.second_moment(), PI / 4.0, 1e-14);
        close(s.perimeter(), 2.0 * PI, 1e-14);
        close(s.radius(0.7), 1.0, 1e-14);
    }
    let half = Section::new(SectionForm::D, 2.0, 1.0);
    close(half.back_distance(), 4.0 / (3.0 * PI), 1e-14);
    close(half.second_moment(), 0.109_756_960_6, 1e-9);
    close(half.second_moment_sideways(), PI / 8.0, 1e-14);
    close(half.perimeter(), 2.0 + PI, 1e-14);
    // A needle ellipse is nearly a doubled line.
    close(Section::new(SectionForm::Ellipse, 2.0, 1e-9).perimeter(), 4.0, 1e-12);
}
