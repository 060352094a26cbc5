//! Numbers as all writers put them down.

/// A length in mm (or any unit of a file) to a tenth of a micrometre, without trailing zeros and without a negative zero.
pub fn number(value: f64) -> String {
    let text = format!("{value:.4}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// A factor that lengths are multiplied by, to a ten-millionth, as short as it can be.
pub fn fine(value: f64) -> String {
    // Adding zero turns a negative zero into zero.
    format!("{}", (value * 1e7).round() / 1e7 + 0.0)
}

/// Millimetres to points (1/72 in), as PDF counts, to a ten-thousandth of a point.
pub fn points(mm: f64) -> f32 {
    // Adding zero turns a negative zero into zero.
    ((mm * 72.0 / 25.4 * 1e4).round() / 1e4 + 0.0) as f32
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short_and_never_minus_zero() {
        assert_eq!(number(-0.00001), "0");
        assert_eq!(number(-1.5), "-1.5");
        assert_eq!(number(100.0), "100");
        assert_eq!(number(101.6), "101.6");
        assert_eq!(number(0.123456), "0.1235");
        assert!(points(-0.0).is_sign_positive());
        assert_eq!(points(25.4), 72.0);
    }
}
