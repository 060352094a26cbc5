//! Wood pressed at an angle to its grain.

/// Strength in compression at `angle` (rad) to the grain from `along` and `across` it, all Pa:
///
/// ```text
/// N = P Q / (P sin^2 angle + Q cos^2 angle)        (Hankinson)
/// ```
///
/// Wood Handbook, FPL-GTR-282, ch. 5, which gives the exponent 2 to 2.5 for compression; 2 is the lower strength. The formula is from
/// memory of that chapter.
pub fn hankinson(along: f64, across: f64, angle: f64) -> f64 {
    let (s, c) = angle.sin_cos();
    along * across / (along * s * s + across * c * c)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::{FRAC_PI_2, FRAC_PI_4};

    #[test]
    fn along_across_and_between_by_hand() {
        // 50 x 10 / (25 + 5) at 45 degrees; 500 / (37.5 + 2.5) at 60.
        assert!((hankinson(50.0, 10.0, FRAC_PI_4) - 50.0 / 3.0).abs() < 1e-12);
        assert!((hankinson(50.0, 10.0, 60f64.to_radians()) - 12.5).abs() < 1e-12);
        assert!((hankinson(50.0, 10.0, 0.0) - 50.0).abs() < 1e-12);
        assert!((hankinson(50.0, 10.0, FRAC_PI_2) - 10.0).abs() < 1e-12);
    }
}
