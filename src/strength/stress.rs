//! Stress in a limb's section from bending, pull along the limb, and shear.

use super::net::NetSection;
use crate::section::Section;

/// Stress along the grain at both faces of a section, Pa, plus for tension.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FaceStress {
    /// At the back.
    pub back: f64,
    /// At the belly.
    pub belly: f64,
}

/// Which face.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Face {
    /// The back, away from the archer.
    Back,
    /// The belly, toward the archer.
    Belly,
}

impl FaceStress {
    /// The larger of the two, without sign, and where it is; the back where they are equal.
    pub fn greatest(&self) -> (Face, f64) {
        if self.belly.abs() > self.back.abs() { (Face::Belly, self.belly.abs()) } else { (Face::Back, self.back.abs()) }
    }
}

/// Stress at the faces under a bending moment `moment` (N m, plus toward the archer: back stretched, belly pressed) and a
/// pull along the limb `axial` (N, plus for tension) through the centroid: `M c/I + N/A`, straight-beam theory.
pub fn face_stress(section: &Section, moment: f64, axial: f64) -> FaceStress {
    let (i, all) = (section.second_moment(), axial / section.area());
    FaceStress { back: moment * section.back_distance() / i + all, belly: all - moment * section.belly_distance() / i }
}

/// [`face_stress`] of a section that grooves have been cut from.
pub fn net_face_stress(net: &NetSection, moment: f64, axial: f64) -> FaceStress {
    let all = axial / net.area;
    FaceStress {
        back: moment * net.back_distance / net.second_moment + all,
        belly: all - moment * net.belly_distance / net.second_moment,
    }
}

/// Greatest shear stress under a force `shear` (N) square to the limb, Pa: the largest `V Q/(I b)` over the section's height.
///
/// `Q` is the first moment of what lies beyond the height about the centroid, `b` the width there
/// (Jourawski; 3/2 V/A for a rectangle, 4/3 V/A for an ellipse, whose true peak is a few per cent higher for a wide one).
pub fn shear_stress(section: &Section, shear: f64) -> f64 {
    const LEVELS: usize = 200;
    let (bottom, h) = (-section.belly_distance(), section.thickness / LEVELS as f64);
    // From the back downward, first moment by the midpoint rule; widths at the lower edge of each slice.
    let (mut first, mut peak) = (0.0, 0.0_f64);
    for k in (1..LEVELS).rev() {
        let low = bottom + k as f64 * h;
        let middle = low + 0.5 * h;
        first += section.width_at(middle) * middle * h;
        peak = peak.max(first / section.width_at(low));
    }
    peak * shear.abs() / section.second_moment()
}

/// Pressure of a string on what it bears on, Pa: the pull of one leg (N) over radius of its path and string diameter, `T/(R d)`.
pub fn bearing_pressure(leg_pull: f64, path_radius: f64, string_diameter: f64) -> f64 {
    leg_pull / (path_radius * string_diameter)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::SectionForm;

    fn close(got: f64, want: f64, relative: f64) {
        assert!((got - want).abs() <= relative * want.abs(), "got {got:.9e}, want {want:.9e}");
    }

    #[test]
    fn rectangle_by_hand() {
        // 6 M/(w t^2), N/(w t).
        let s = Section::new(SectionForm::Rectangle, 0.03, 0.012);
        let stress = face_stress(&s, 20.0, -90.0);
        let (bend, all) = (6.0 * 20.0 / (0.03 * 0.012 * 0.012), -90.0 / (0.03 * 0.012));
        close(stress.back, bend + all, 1e-13);
        close(stress.belly, all - bend, 1e-13);
        assert_eq!(stress.greatest().0, Face::Belly);
        assert_eq!(face_stress(&s, -20.0, 0.0).greatest().0, Face::Back);
    }

    #[test]
    fn belly_of_a_d_carries_more_than_its_back() {
        // Half disc: distances R - 4R/3pi and 4R/3pi from the centroid.
        let s = Section::new(SectionForm::D, 0.02, 0.01);
        let stress = face_stress(&s, 5.0, 0.0);
        let part = 4.0 / (3.0 * std::f64::consts::PI);
        close(-stress.belly / stress.back, (1.0 - part) / part, 1e-12);
    }

    #[test]
    fn shear_peaks() {
        // 3/2 V/A and 4/3 V/A; triangle on its base 3/2 V/A at half height (Gere & Timoshenko, Mechanics of Materials, ch. 5).
        let peak = |form| {
            let s = Section::new(form, 0.02, 0.012);
            shear_stress(&s, -7.0) * s.area() / 7.0
        };
        close(peak(SectionForm::Rectangle), 1.5, 1e-6);
        close(peak(SectionForm::Ellipse), 4.0 / 3.0, 1e-3);
        close(peak(SectionForm::Trapezoid { belly: 1e-9 }), 1.5, 1e-3);
    }
}
