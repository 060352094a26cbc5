//! The built-in sample bow, used when no file is given.

/// The sample's text: `examples/ash-flatbow.toml`, an invented ash flatbow.
pub const SAMPLE: &str = include_str!("../examples/ash-flatbow.toml");

/// The name it goes by in messages.
pub const SAMPLE_NAME: &str = "built-in sample (examples/ash-flatbow.toml)";

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::file::read;
    use crate::units::{INCH, POUND};

    #[test]
    fn the_sample_reads_as_written() {
        let reading = read(SAMPLE, SAMPLE_NAME).unwrap_or_else(|refusal| panic!("{refusal}"));
        assert!(reading.remarks.is_empty(), "{}", reading.places.remarks(&reading.remarks, false));
        let design = reading.design;
        let close = |a: f64, b: f64| assert!((a - b).abs() < 1e-12 * b.abs(), "{a} is not {b}");
        close(design.bow.length, 68.0 * INCH);
        close(design.bow.pivot, -1.5 * INCH);
        close(design.bow.arrow_pass, 1.25 * INCH);
        close(design.limbs.upper.length, 34.0 * INCH);
        close(design.limbs.lower.stations[1].thickness, 29.0 / 64.0 * INCH);
        close(design.bow.weight.unwrap().pull, 40.0 * POUND);
        assert_eq!(design.limbs.upper, design.limbs.lower);
        assert_eq!(design.serves.brace_height.unwrap()[1], 6.75 * INCH);
    }
}
