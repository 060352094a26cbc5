//! What is left of a section where a groove has been cut.

use crate::section::Section;

/// A section less its grooves, about its own new centroid. SI units throughout.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NetSection {
    /// Area, m^2.
    pub area: f64,
    /// Second moment about the width axis, m^4.
    pub second_moment: f64,
    /// Centroid to what is left of the back, m.
    pub back_distance: f64,
    /// Centroid to the belly face, m.
    pub belly_distance: f64,
}

impl NetSection {
    /// A section with the back lowered by `back` and each side cut in by `sides` (m) over its whole height.
    /// None when nothing is left.
    pub fn of(section: &Section, back: f64, sides: f64) -> Option<Self> {
        let (bottom, height) = (-section.belly_distance(), section.thickness - back);
        // `u` below and above so that also NaN is turned away.
        if !(height > 0.0 && back >= 0.0 && sides >= 0.0) {
            return None;
        }
        // Midpoint rule over u with height (1 - cos(pi u))/2: close together where rounded faces close in.
        const SLICES: usize = 2000;
        let (mut area, mut first, mut second) = (0.0, 0.0, 0.0);
        let at = |k: usize| 0.5 * height * (1.0 - (std::f64::consts::PI * k as f64 / SLICES as f64).cos());
        for k in 0..SLICES {
            let (low, high) = (at(k), at(k + 1));
            let (middle, slice) = (0.5 * (low + high), high - low);
            let part = (section.width_at(bottom + middle) - 2.0 * sides).max(0.0) * slice;
            area += part;
            first += part * middle;
            second += part * (middle * middle + slice * slice / 12.0);
        }
        if area <= 0.0 {
            return None;
        }
        let centroid = first / area;
        Some(NetSection {
            area,
            second_moment: second - area * centroid * centroid,
            back_distance: height - centroid,
            belly_distance: centroid,
        })
    }
}

/// Area, second moment and edge distances of an outline given by its corners (w, b) in order, m; and its centroid's `b`, m.
/// Sums over the triangles from the origin. None when it encloses nothing.
pub fn of_outline(corners: &[[f64; 2]]) -> Option<(NetSection, f64)> {
    let (mut area, mut first, mut second) = (0.0, 0.0, 0.0);
    for ([w0, b0], [w1, b1]) in corners.iter().zip(corners.iter().cycle().skip(1)) {
        let twice = w0 * b1 - w1 * b0;
        area += 0.5 * twice;
        first += twice * (b0 + b1) / 6.0;
        second += twice * (b0 * b0 + b0 * b1 + b1 * b1) / 12.0;
    }
    let way = area.signum();
    let (area, first, second) = (way * area, way * first, way * second);
    if !(area > 0.0 && area.is_finite()) {
        return None;
    }
    let centroid = first / area;
    let highest = corners.iter().map(|c| c[1]).fold(f64::NEG_INFINITY, f64::max);
    let lowest = corners.iter().map(|c| c[1]).fold(f64::INFINITY, f64::min);
    let net = NetSection {
        area,
        second_moment: second - area * centroid * centroid,
        back_distance: highest - centroid,
        belly_distance: centroid - lowest,
    };
    Some((net, centroid))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::SectionForm;

    fn close(got: f64, want: f64, relative: f64) {
        assert!((got - want).abs() <= relative * want.abs(), "got {got:.9e}, want {want:.9e}");
    }

    #[test]
    fn nothing_cut_leaves_the_section() {
        for form in [
            SectionForm::Rectangle,
            SectionForm::RoundedRectangle { corner: 0.003 },
            SectionForm::Ellipse,
            SectionForm::D,
            SectionForm::Trapezoid { belly: 0.7 },
        ] {
            let s = Section::new(form, 0.014, 0.011);
            let net = NetSection::of(&s, 0.0, 0.0).expect("all of it");
            close(net.area, s.area(), 1e-5);
            close(net.second_moment, s.second_moment(), 1e-5);
            close(net.back_distance, s.back_distance(), 1e-5);
        }
    }

    #[test]
    fn a_rectangle_stays_one() {
        let s = Section::new(SectionForm::Rectangle, 0.014, 0.011);
        let net = NetSection::of(&s, 0.003, 0.002).expect("something is left");
        close(net.area, 0.010 * 0.008, 1e-12);
        close(net.second_moment, 0.010 * 0.008_f64.powi(3) / 12.0, 1e-6);
        close(net.back_distance, 0.004, 1e-9);
        assert_eq!(NetSection::of(&s, 0.011, 0.0), None);
        assert_eq!(NetSection::of(&s, 0.0, 0.007), None);
    }

    #[test]
    fn an_outline_is_measured_as_its_form_is() {
        // A rectangle 12 x 8 standing 3 off the axis, either way round.
        let mut corners = vec![[6.0, -1.0], [6.0, 7.0], [-6.0, 7.0], [-6.0, -1.0]];
        for _ in 0..2 {
            let (net, centroid) = of_outline(&corners).expect("encloses");
            close(net.area, 96.0, 1e-12);
            close(net.second_moment, 12.0 * 512.0 / 12.0, 1e-12);
            close(centroid, 3.0, 1e-12);
            close(net.back_distance, 4.0, 1e-12);
            corners.reverse();
        }
        // Triangle on its base: b h^3/36 about the centroid a third up.
        let (net, _) = of_outline(&[[0.0, 0.0], [6.0, 0.0], [2.0, 9.0]]).expect("encloses");
        close(net.second_moment, 6.0 * 729.0 / 36.0, 1e-12);
        close(net.belly_distance, 3.0, 1e-12);
        assert_eq!(of_outline(&[[0.0, 0.0], [1.0, 1.0]]), None);
    }

    #[test]
    fn half_an_ellipse_is_a_d() {
        let s = Section::new(SectionForm::Ellipse, 0.014, 0.012);
        let net = NetSection::of(&s, 0.006, 0.0).expect("half");
        let half = Section::new(SectionForm::D, 0.014, 0.006);
        close(net.area, half.area(), 1e-5);
        close(net.second_moment, half.second_moment(), 1e-5);
        close(net.back_distance, half.back_distance(), 1e-5);
    }
}
