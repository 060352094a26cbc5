//! Figures: drawings that show and are not traced.

pub mod loop_on_tip;
pub mod styles;

/// Round numbers between two values, about so many of them.
pub fn round_marks(low: f64, high: f64, about: f64) -> Vec<f64> {
    let rough = (high - low) / about;
    let power = 10f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0].into_iter().map(|m| m * power).find(|s| *s >= rough).unwrap_or(rough);
    let first = (low / step).ceil() as i64;
    (first..).map(|k| k as f64 * step).take_while(|v| *v <= high).take(20).collect()
}
