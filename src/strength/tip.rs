//! Strength of what is put on a tip: the overlay's glue line and the horn's wall.

use std::f64::consts::PI;

/// Mean shear stress in an overlay's glue line, Pa: the pull's part along the limb (N) over length and width of the line (m).
///
/// A glue line carries more at its ends than in its middle; the mean is what published joint strengths are stated as.
pub fn glue_line_shear(pull_along: f64, length: f64, width: f64) -> f64 {
    pull_along.abs() / (length * width)
}

/// Shear stress in a glue line from bending, Pa: `V Q/(I b)`, with the first moment of the overlay about the whole section's centroid.
/// `shear` in N; the overlay is `width` x `overlay` on a rectangle `width` x `core` of the same stiffness (m).
pub fn glue_line_bending_shear(shear: f64, width: f64, core: f64, overlay: f64) -> f64 {
    let whole = core + overlay;
    // Q/(I b) = b o (whole - o)/2 / (b^2 whole^3/12).
    6.0 * shear.abs() * overlay * core / (width * whole.powi(3))
}

/// A strip glued on a limb's belly, at one place along it: two layers that bend as one.
///
/// Plane sections; the strip is taken as a rectangle. SI units throughout.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StripOn {
    /// Area of the limb's own section, m^2.
    pub area: f64,
    /// Its second moment about its own centroid, m^4.
    pub second_moment: f64,
    /// From its centroid to its belly, m.
    pub belly: f64,
    /// Width of the strip, m.
    pub width: f64,
    /// Height of the strip, m.
    pub height: f64,
    /// The strip's modulus over the limb's.
    pub stiffer: f64,
}

impl StripOn {
    /// From the limb's centroid to the whole's, toward the belly, m, and the whole's second moment in terms of the limb's wood, m^4.
    fn whole(&self) -> [f64; 2] {
        // Transformed section: n A2 y2/(A1 + n A2); I1 + A1 c^2 + n (I2 + A2 (y2 - c)^2).
        let (strip, off) = (self.stiffer * self.width * self.height, self.belly + 0.5 * self.height);
        let centre = strip * off / (self.area + strip);
        let own = strip * self.height * self.height / 12.0;
        let whole = self.second_moment + self.area * centre * centre + own + strip * (off - centre).powi(2);
        [centre, whole]
    }

    /// Bending stiffness of both over that of the limb alone.
    pub fn stiffening(&self) -> f64 {
        self.whole()[1] / self.second_moment
    }

    /// Force along the strip, N, when both bend as one under `moment` (N m): `n A2 M (y2 - c)/I`. At its ends it is nothing; the glue
    /// passes it on from the limb, `tau = dN/dx over width`.
    pub fn force(&self, moment: f64) -> f64 {
        let [centre, whole] = self.whole();
        self.stiffer * self.width * self.height * moment * (self.belly + 0.5 * self.height - centre) / whole
    }
}

/// A horn with a conical bore, glued or wedged on a tip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HornSocket {
    /// Outer diameter at the place looked at, m (at the groove's floor, where there is one).
    pub outer: f64,
    /// Bore's diameter there, m.
    pub bore: f64,
    /// Depth of the bore along the limb, m.
    pub depth: f64,
    /// Half the cone's angle, rad.
    pub half_angle: f64,
    /// Coefficient of friction of horn on wood; 0 leaves all of the thrust to the wedge.
    pub friction: f64,
}

impl HornSocket {
    /// Pressure between horn and wood, Pa, when `thrust` (N) along the limb seats the horn and no glue holds:
    /// `N/(pi d L (tan a + mu))`.
    pub fn pressure(&self, thrust: f64) -> f64 {
        thrust.abs() / (PI * self.bore * self.depth * (self.half_angle.tan() + self.friction))
    }

    /// Greatest tension round the bore that such a thrust causes, Pa: thick ring under inner pressure,
    /// `p (ro^2 + ri^2)/(ro^2 - ri^2)` (Lame; Timoshenko & Goodier, Theory of Elasticity, section 28).
    /// None when the bore leaves no wall.
    pub fn splitting(&self, thrust: f64) -> Option<f64> {
        let (o, i) = (self.outer * self.outer, self.bore * self.bore);
        (o > i).then(|| self.pressure(thrust) * (o + i) / (o - i))
    }

    /// Bending stress of the horn's ring alone, Pa, under `moment` (N m): `32 M D/(pi (D^4 - d^4))`. None without a wall.
    pub fn bending(&self, moment: f64) -> Option<f64> {
        let (o, i) = (self.outer.powi(4), self.bore.powi(4));
        (o > i).then(|| 32.0 * moment.abs() * self.outer / (PI * (o - i)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::SectionForm;
    use crate::section::Section;
    use crate::strength::stress::{bearing_pressure, face_stress};

    fn close(got: f64, want: f64, relative: f64) {
        assert!((got - want).abs() <= relative * want.abs(), "got {got:.9e}, want {want:.9e}");
    }

    #[test]
    fn glue_in_the_middle_of_a_rectangle_carries_its_peak_shear() {
        // Overlay as thick as the core: the glue line is the neutral axis, 3/2 V/A.
        close(glue_line_bending_shear(10.0, 0.012, 0.005, 0.005), 1.5 * 10.0 / (0.012 * 0.010), 1e-12);
        close(glue_line_shear(-240.0, 0.04, 0.012), 500e3, 1e-12);
    }

    #[test]
    fn a_strip_of_the_limbs_own_wood_is_a_thicker_limb() {
        // Core 5 mm and strip 5 mm of the same wood: a bar 10 mm thick, stiffer 8 times; the half below the middle pulls 3/2 M/h.
        let bar = |height: f64| 0.012 * height.powi(3) / 12.0;
        let same = StripOn {
            area: 0.012 * 0.005,
            second_moment: bar(0.005),
            belly: 0.0025,
            width: 0.012,
            height: 0.005,
            stiffer: 1.0,
        };
        close(same.stiffening(), bar(0.010) / bar(0.005), 1e-12);
        close(same.force(2.0), 1.5 * 2.0 / 0.010, 1e-12);
        // tau = dN/dx / b with V = dM/dx is V Q/(I b).
        close(same.force(30.0) / 0.012, glue_line_bending_shear(30.0, 0.012, 0.005, 0.005), 1e-12);
        let thin = StripOn { height: 0.002, ..same };
        close(thin.force(30.0) / 0.012, glue_line_bending_shear(30.0, 0.012, 0.005, 0.002), 1e-12);
        // A strip with no stiffness takes nothing and stiffens nothing.
        let soft = StripOn { stiffer: 0.0, ..same };
        assert!(soft.force(2.0) == 0.0 && (soft.stiffening() - 1.0).abs() < 1e-12);
    }

    #[test]
    fn a_solid_horn_bends_as_a_round_rod() {
        let horn = HornSocket { outer: 0.012, bore: 0.0, depth: 0.03, half_angle: 0.1, friction: 0.2 };
        let round = Section::new(SectionForm::Ellipse, 0.012, 0.012);
        close(horn.bending(2.0).expect("solid"), face_stress(&round, 2.0, 0.0).back, 1e-12);
    }

    #[test]
    fn thin_wall_splits_by_the_boiler_formula() {
        // p d/(2 t); the cone's forces balance the thrust: p pi d L (tan a + mu) = N.
        let horn = HornSocket { outer: 0.01002, bore: 0.010, depth: 0.03, half_angle: 0.1, friction: 0.0 };
        let p = 300.0 / (PI * 0.010 * 0.03 * 0.1_f64.tan());
        close(horn.pressure(300.0), p, 1e-12);
        close(horn.splitting(300.0).expect("a wall"), p * 0.010 / (2.0 * 1e-5), 2e-3);
        assert_eq!(HornSocket { bore: 0.011, ..horn }.splitting(300.0), None);
    }

    #[test]
    fn bearing_by_hand() {
        close(bearing_pressure(120.0, 0.006, 0.003), 120.0 / 18e-6, 1e-12);
    }
}
