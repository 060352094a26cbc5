//! A slider beside a measure: where it runs from and to, and what is written when it is moved.

use serde::Serialize;

use crate::design::Units;
use crate::units::{INCH, Kind, POUND, inch_text, number_text};

/// A slider in whole steps, counted from zero, so that the same place always writes the same measure.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub(super) struct Slider {
    /// The least step it goes to.
    pub least: i64,
    /// The greatest step.
    pub most: i64,
    /// The step nearest to the measure as it is.
    pub at: i64,
    /// What one step is: a name that [`text`] knows.
    pub step: &'static str,
}

/// One kind of step: its name, its kind of measure, its size in SI units.
struct Step {
    name: &'static str,
    kind: Kind,
    size: f64,
}

const STEPS: [Step; 12] = [
    Step { name: "in/4", kind: Kind::Length, size: INCH / 4.0 },
    Step { name: "in/16", kind: Kind::Length, size: INCH / 16.0 },
    Step { name: "in/64", kind: Kind::Length, size: INCH / 64.0 },
    Step { name: "5 mm", kind: Kind::Length, size: 5e-3 },
    Step { name: "mm", kind: Kind::Length, size: 1e-3 },
    Step { name: "mm/10", kind: Kind::Length, size: 1e-4 },
    Step { name: "lb", kind: Kind::Force, size: POUND },
    Step { name: "2 N", kind: Kind::Force, size: 2.0 },
    Step { name: "deg", kind: Kind::Angle, size: std::f64::consts::PI / 180.0 },
    Step { name: "0.01", kind: Kind::Number, size: 0.01 },
    Step { name: "GPa/10", kind: Kind::Stress, size: 1e8 },
    Step { name: "10 kg/m3", kind: Kind::Density, size: 10.0 },
];

/// The step that suits a measure of this kind and size.
fn step(kind: Kind, value: f64, units: Units) -> Option<&'static Step> {
    let name = match (kind, units) {
        (Kind::Length, Units::Inch) if value.abs() >= 10.0 * INCH => "in/4",
        (Kind::Length, Units::Inch) if value.abs() >= 1.5 * INCH => "in/16",
        (Kind::Length, Units::Inch) => "in/64",
        (Kind::Length, Units::Millimetre) if value.abs() >= 0.25 => "5 mm",
        (Kind::Length, Units::Millimetre) if value.abs() >= 0.035 => "mm",
        (Kind::Length, Units::Millimetre) => "mm/10",
        (Kind::Force, Units::Inch) => "lb",
        (Kind::Force, Units::Millimetre) => "2 N",
        (Kind::Angle, _) => "deg",
        (Kind::Number, _) => "0.01",
        (Kind::Stress, _) => "GPa/10",
        (Kind::Density, _) => "10 kg/m3",
    };
    STEPS.iter().find(|s| s.name == name && s.kind == kind)
}

/// A slider about `value` (SI), within what the key takes. A third to each side is as far as one tries things out; from zero,
/// as far as the key allows and no farther than two inches.
pub(super) fn about(value: f64, kind: Kind, least: f64, greatest: f64, units: Units) -> Option<Slider> {
    let step = step(kind, value, units)?;
    if !value.is_finite() || (kind == Kind::Stress && value < 1e9) {
        return None;
    }
    let signed = least < 0.0;
    let room = match kind {
        Kind::Length if signed => (0.5 * value.abs()).max(2.0 * INCH),
        Kind::Angle => (0.5 * value.abs()).max(0.2),
        Kind::Number => (0.5 * value.abs()).max(0.1),
        _ => value.abs() / 3.0,
    };
    let count = |v: f64| v / step.size;
    let (low, high) = ((value - room).max(least), (value + room).min(greatest));
    // An end that stands on a step is one.
    let (low, high) = ((count(low) - 1e-9).ceil() as i64, (count(high) + 1e-9).floor() as i64);
    let at = (count(value).round() as i64).clamp(low.min(high), high.max(low));
    (low < high).then_some(Slider { least: low, most: high, at, step: step.name })
}

/// What is written at a step: `6 5/16 in`, `158 mm`, `41 lb`.
pub(super) fn text(name: &str, at: i64) -> Option<String> {
    let step = STEPS.iter().find(|s| s.name == name)?;
    if at.abs() > 1_000_000 {
        return None;
    }
    let value = at as f64 * step.size;
    Some(match step.name {
        "in/4" => inch_text(value, 4),
        "in/16" => inch_text(value, 16),
        "in/64" => inch_text(value, 64),
        "mm/10" => format!("{} mm", number_text(value * 1e3, 1)),
        "5 mm" | "mm" => format!("{} mm", number_text(value * 1e3, 0)),
        "lb" => format!("{at} lb"),
        "2 N" => format!("{} N", 2 * at),
        "deg" => format!("{at} deg"),
        "GPa/10" => format!("{} GPa", number_text(value / 1e9, 1)),
        "10 kg/m3" => format!("{} kg/m3", 10 * at),
        _ => number_text(value, 2),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::read;

    #[test]
    fn every_step_writes_what_is_read_as_that_step() {
        for step in &STEPS {
            for at in [-40, -1, 1, 7, 640] {
                let written = text(step.name, at).unwrap();
                let value = read(&written, step.kind).unwrap_or_else(|e| panic!("{written}: {e:?}"));
                assert!((value - at as f64 * step.size).abs() < 1e-9 * value.abs(), "{written}");
            }
        }
        assert_eq!(text("fathom", 1), None);
    }

    #[test]
    fn a_slider_stays_within_what_the_key_takes() {
        let s = about(6.25 * INCH, Kind::Length, 0.02, 0.4, Units::Inch).unwrap();
        assert_eq!((s.step, s.at), ("in/16", 100));
        assert_eq!(text(s.step, s.at).as_deref(), Some("6 1/4 in"));
        let s = about(0.021, Kind::Length, 0.02, 0.4, Units::Millimetre).unwrap();
        assert_eq!((s.least, s.at), (200, 210));
        let s = about(0.0, Kind::Length, -0.5, 0.5, Units::Inch).unwrap();
        assert!(s.least < 0 && s.most > 0 && s.at == 0);
        assert_eq!(about(f64::NAN, Kind::Length, 0.0, 1.0, Units::Inch), None);
    }
}
