//! Mass of a tip and what it means at the string.

use crate::section::Section;

/// Mass, kg, of a stretch given by sections at rising places along it (m) and a density (kg/m3); trapezoid rule between them.
pub fn mass(places: &[f64], sections: &[Section], density: f64) -> f64 {
    let ends = places.windows(2).zip(sections.windows(2));
    density * ends.map(|(s, c)| 0.5 * (s[1] - s[0]) * (c[0].area() + c[1].area())).sum::<f64>()
}

/// Mass that would have the same energy at the nocking point as masses (kg) that move `travel` times as fast as it:
/// `SUM m u^2`. With `travel` from two near draws (way of the mass over way of the nocking point) it holds at that draw.
pub fn virtual_mass(masses: &[f64], travel: &[f64]) -> f64 {
    masses.iter().zip(travel).map(|(m, u)| m * u * u).sum()
}

/// How fast a place of the limb moves for each unit of draw, from its places (m) at two draws (m).
/// None when the draws are equal.
pub fn travel(before: [f64; 2], after: [f64; 2], draws: [f64; 2]) -> Option<f64> {
    let way = (after[0] - before[0]).hypot(after[1] - before[1]);
    let drawn = (draws[1] - draws[0]).abs();
    (drawn > 0.0).then(|| way / drawn)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::SectionForm;

    #[test]
    fn a_wedge_of_known_weight() {
        // 0.1 m long, 12 mm wide, from 10 to 6 mm thick, 700 kg/m3.
        let s = |t| Section::new(SectionForm::Rectangle, 0.012, t);
        let m = mass(&[0.0, 0.1], &[s(0.010), s(0.006)], 700.0);
        assert!((m - 700.0 * 0.1 * 0.012 * 0.008).abs() < 1e-12);
    }

    #[test]
    fn a_swinging_rod_counts_a_third_at_its_end() {
        let n = 1000;
        let part = |i: usize| (i as f64 + 0.5) / n as f64;
        let masses = vec![0.3 / n as f64; n];
        let travel: Vec<f64> = (0..n).map(part).collect();
        assert!((virtual_mass(&masses, &travel) - 0.1).abs() < 1e-6);
    }

    #[test]
    fn way_over_draw() {
        assert_eq!(travel([0.0, 0.0], [0.03, 0.04], [0.5, 0.6]).map(|u| (u * 1e9).round()), Some(5e8));
        assert_eq!(travel([0.0, 0.0], [0.03, 0.04], [0.5, 0.5]), None);
    }
}
