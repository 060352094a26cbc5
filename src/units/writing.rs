//! Measures out: from SI to what a maker reads.

use crate::design::Units;
use crate::findings::Quantity;

use super::{INCH, POUND};

/// A number with so many decimals, never as `-0`.
pub fn number_text(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.bytes().all(|b| matches!(b, b'0' | b'.')) => rest.to_owned(),
        _ => text,
    }
}

/// Inches and a fraction in lowest terms, rounded to the nearest 1/`parts` (a power of two): `6 1/4 in`.
pub fn inch_text(metres: f64, parts: u32) -> String {
    let parts = parts.max(1);
    let count = (metres / INCH * f64::from(parts)).round();
    // Beyond 2^53 counts a fraction means nothing.
    if !count.is_finite() || count.abs() > 9e15 {
        return format!("{} in", number_text(metres / INCH, 3));
    }
    let sign = if count < 0.0 { "-" } else { "" };
    let count = count.abs() as u64;
    let (whole, mut top, mut bottom) = (count / u64::from(parts), count % u64::from(parts), u64::from(parts));
    while top > 0 && top % 2 == 0 && bottom % 2 == 0 {
        top /= 2;
        bottom /= 2;
    }
    match (whole, top) {
        (_, 0) => format!("{sign}{whole} in"),
        (0, _) => format!("{sign}{top}/{bottom} in"),
        _ => format!("{sign}{whole} {top}/{bottom} in"),
    }
}

/// Millimetres: two decimals below 10 mm, one above: `158.8 mm`.
pub fn millimetre_text(metres: f64) -> String {
    // Half a digit goes away from zero, also where arithmetic has left a little less than the half.
    let mm = metres * 1000.0 * (1.0 + 1e-11);
    format!("{} mm", number_text(mm, if mm.abs() < 9.995 { 2 } else { 1 }))
}

/// A length in the maker's units alone: `6 1/4 in`, to the nearest 1/32 (1/64 below one inch), or `158.8 mm`.
pub fn plain_length_text(metres: f64, units: Units) -> String {
    match units {
        Units::Inch => inch_text(metres, if metres.abs() < INCH { 64 } else { 32 }),
        Units::Millimetre => millimetre_text(metres),
    }
}

/// A length in both units, rounded, for whoever's units are not known: `711 mm (28.00 in)`.
pub fn both_text(metres: f64) -> String {
    format!("{} mm ({} in)", number_text(metres * 1e3, 0), number_text(metres / INCH, 2))
}

/// A length for a report: inches with millimetres beside them, `6 1/4 in (158.8 mm)`, or millimetres alone;
/// below 1/32 in, where fractions say nothing, millimetres in either case.
pub fn length_text(metres: f64, units: Units) -> String {
    match units {
        Units::Inch if metres.abs() < INCH / 32.0 => millimetre_text(metres),
        Units::Inch => format!("{} ({})", plain_length_text(metres, units), millimetre_text(metres)),
        Units::Millimetre => millimetre_text(metres),
    }
}

/// An angle in degrees: `22.0°`.
pub fn angle_text(radians: f64) -> String {
    format!("{}°", number_text(radians.to_degrees(), 1))
}

/// A pull: `40.0 lb (178 N)` or `178 N (40.0 lb)`.
pub fn force_text(newtons: f64, units: Units) -> String {
    let pounds = format!("{} lb", number_text(newtons / POUND, 1));
    let newtons = format!("{} N", number_text(newtons, if newtons.abs() < 99.95 { 1 } else { 0 }));
    match units {
        Units::Inch => format!("{pounds} ({newtons})"),
        Units::Millimetre => format!("{newtons} ({pounds})"),
    }
}

/// Any figure of a report, from its SI value.
pub fn quantity_text(value: f64, quantity: Quantity, units: Units) -> String {
    match quantity {
        Quantity::Length => length_text(value, units),
        Quantity::Angle => angle_text(value),
        Quantity::Force => force_text(value, units),
        Quantity::Stress => format!("{} MPa", number_text(value / 1e6, 1)),
        Quantity::Modulus => format!("{} GPa", number_text(value / 1e9, 2)),
        Quantity::Moment => format!("{} N m", number_text(value, 2)),
        Quantity::Energy => format!("{} J", number_text(value, 1)),
        Quantity::Mass => format!("{} g", number_text(value * 1000.0, 1)),
        Quantity::LineLoad => format!("{} N/mm", number_text(value / 1000.0, 1)),
        Quantity::Ratio => number_text(value, 3),
        Quantity::Count => number_text(value, 0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fractions_are_rounded_and_in_lowest_terms() {
        let cases = [
            (0.999, 32, "1 in"),
            (0.99, 32, "1 in"),
            (0.97, 32, "31/32 in"),
            (6.25, 32, "6 1/4 in"),
            (6.26, 32, "6 1/4 in"),
            (6.5, 64, "6 1/2 in"),
            (0.0, 32, "0 in"),
            (0.01, 32, "0 in"),
            (-0.01, 32, "0 in"),
            (-1.5, 32, "-1 1/2 in"),
            (-0.5, 32, "-1/2 in"),
            (0.015625, 64, "1/64 in"),
            (12.984375, 64, "12 63/64 in"),
            (12.9999, 64, "13 in"),
        ];
        for (inches, parts, text) in cases {
            assert_eq!(inch_text(inches * INCH, parts), text, "{inches}");
        }
    }

    #[test]
    fn both_units_side_by_side() {
        assert_eq!(length_text(0.15875, Units::Inch), "6 1/4 in (158.8 mm)");
        assert_eq!(length_text(0.15875, Units::Millimetre), "158.8 mm");
        assert_eq!(length_text(0.0025, Units::Inch), "3/32 in (2.50 mm)");
        assert_eq!(force_text(177.928_864_6, Units::Inch), "40.0 lb (178 N)");
        assert_eq!(force_text(177.928_864_6, Units::Millimetre), "178 N (40.0 lb)");
        assert_eq!(angle_text(0.44), "25.2°");
        assert_eq!(number_text(-0.04, 1), "0.0");
        assert_eq!(number_text(-0.06, 1), "-0.1");
        assert_eq!(inch_text(f64::INFINITY, 32), "inf in");
        assert_eq!(inch_text(f64::NAN, 32), "NaN in");
    }
}
