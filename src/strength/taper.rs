//! The least taper that holds a chosen stress.

use super::stress::face_stress;
use crate::design::SectionForm;
use crate::numerics::monotone::Monotone;
use crate::section::Section;

/// Least thickness, m, at which a section of this form and width (m) stays at or under `stress` (Pa) at both faces
/// under a bending moment (N m) and a pull along the limb (N, plus for tension). 0 without either; a rounded rectangle's corners are clamped as in [`Section::corner`].
pub fn least_thickness(form: SectionForm, width: f64, [moment, axial]: [f64; 2], stress: f64) -> f64 {
    least([moment, axial], stress, |size| Section::new(form, width, size))
}

/// Least width, m, at the given thickness; as [`least_thickness`].
pub fn least_width(form: SectionForm, thickness: f64, [moment, axial]: [f64; 2], stress: f64) -> f64 {
    least([moment, axial], stress, |size| Section::new(form, size, thickness))
}

/// The least size for which `section` holds: stress falls as the size grows, so halving in the logarithm finds it.
fn least([moment, axial]: [f64; 2], stress: f64, section: impl Fn(f64) -> Section) -> f64 {
    if moment == 0.0 && axial == 0.0 {
        return 0.0;
    }
    let holds = |log: f64| face_stress(&section(log.exp()), moment, axial).greatest().1 <= stress;
    // From a nanometre to a thousand kilometres; 60 halvings of the logarithm are past rounding.
    let (mut low, mut high) = (1e-9_f64.ln(), 1e6_f64.ln());
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if holds(middle) { high = middle } else { low = middle }
    }
    high.exp()
}

/// A taper that can be made: values at `stations` (rising, at least two) so that the fair curve through them (the one limbs are
/// drawn with) nowhere lies below `needed`, nowhere rises outward, and is nowhere below `floor`.
///
/// `needed` holds places (rising, m) and least sizes (m) along the same length. Values start at what is needed and are raised only
/// where the curve between them would be too low.
pub fn buildable(stations: &[f64], needed: &[(f64, f64)], floor: f64) -> Vec<f64> {
    if stations.is_empty() {
        return Vec::new();
    }
    // Never rising outward: each place needs at least what any place further out needs.
    let mut wanted: Vec<(f64, f64)> = needed.to_vec();
    let mut most = floor;
    for place in wanted.iter_mut().rev() {
        most = most.max(place.1);
        place.1 = most;
    }
    let outermost = |at: f64| wanted.iter().find(|p| p.0 >= at - 1e-12).map_or(floor, |p| p.1);
    let mut values: Vec<f64> = stations.iter().map(|&s| outermost(s)).collect();
    // Each round lifts both ends of the stretch that lacks most by what it lacks; the lack halves at least.
    for _ in 0..200 {
        let curve = Monotone::through(stations.iter().copied().zip(values.iter().copied()));
        let lack = |p: &&(f64, f64)| p.1 - curve.at(p.0);
        let inside = wanted.iter().filter(|p| p.0 >= stations[0] && p.0 <= stations[stations.len() - 1]);
        let Some(worst) = inside.max_by(|a, b| lack(a).total_cmp(&lack(b))) else { break };
        let short = lack(&worst);
        if short <= 1e-7 {
            break;
        }
        let after = stations.partition_point(|&s| s < worst.0).clamp(1, stations.len() - 1);
        values[after - 1] += short;
        values[after] += short;
        // The lift must not make the curve rise outward.
        for i in (1..values.len()).rev() {
            values[i - 1] = values[i - 1].max(values[i]);
        }
    }
    values
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(got: f64, want: f64, relative: f64) {
        assert!((got - want).abs() <= relative * want.abs(), "got {got:.9e}, want {want:.9e}");
    }

    /// Cantilever of uniform strength under an end load (Timoshenko, Strength of Materials I, ch. 7): at constant width the
    /// depth is a parabola, sqrt(6 P x/(w sigma)); at constant depth the width is a straight line, 6 P x/(t^2 sigma).
    #[test]
    fn cantilever_of_uniform_strength() {
        let (load, stress, width, thickness) = (60.0, 80e6, 0.02, 0.011);
        for i in 1..=20 {
            let x = 0.03 * f64::from(i);
            let t = least_thickness(SectionForm::Rectangle, width, [load * x, 0.0], stress);
            close(t, (6.0 * load * x / (width * stress)).sqrt(), 1e-12);
            let w = least_width(SectionForm::Rectangle, thickness, [load * x, 0.0], stress);
            close(w, 6.0 * load * x / (thickness * thickness * stress), 1e-12);
        }
        assert_eq!(least_thickness(SectionForm::D, width, [0.0; 2], stress), 0.0);
    }

    #[test]
    fn every_form_holds_just_the_stress() {
        for form in [
            SectionForm::RoundedRectangle { corner: 0.003 },
            SectionForm::Ellipse,
            SectionForm::D,
            SectionForm::Trapezoid { belly: 0.7 },
            SectionForm::Trapezoid { belly: 1.4 },
        ] {
            let t = least_thickness(form, 0.018, [-14.0, 0.0], 90e6);
            close(face_stress(&Section::new(form, 0.018, t), -14.0, 0.0).greatest().1, 90e6, 1e-10);
        }
    }

    #[test]
    fn buildable_taper_is_never_short_and_little_more_than_asked() {
        let (load, stress, width) = (60.0, 80e6, 0.02);
        let needed: Vec<(f64, f64)> = (0..=200)
            .map(|i| {
                let at = 0.6 * f64::from(i) / 200.0;
                (at, least_thickness(SectionForm::Rectangle, width, [load * (0.6 - at), 0.0], stress))
            })
            .collect();
        let stations: Vec<f64> = (0..=8).map(|i| 0.075 * f64::from(i)).collect();
        let values = buildable(&stations, &needed, 0.003);
        assert!(values.windows(2).all(|w| w[0] >= w[1]), "{values:?}");
        assert!(values.iter().all(|v| *v >= 0.003));
        let curve = Monotone::through(stations.iter().copied().zip(values.iter().copied()));
        for &(at, least) in &needed {
            assert!(curve.at(at) >= least - 2e-7, "{at}: {} {least}", curve.at(at));
            // Away from the tip, where the parabola falls steeply, under 2 % more than asked.
            if at < 0.45 {
                assert!(curve.at(at) < 1.02 * least, "{at}: {} {least}", curve.at(at));
            }
        }
    }
}
