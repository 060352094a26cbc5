//! Measures as makers write them, in and out.
//!
//! [`read`] takes `6 1/4 in`, `6-1/4"`, `15,8 cm`, `40 #`, `22°`, `1.74 Mpsi` and gives SI values;
//! [`length_text`] and its neighbours write SI values for people.
//! No other module turns text into a measure or a measure into text.

mod kinds;
mod reading;
mod writing;

pub use kinds::Kind;
pub(crate) use reading::quoted;
pub use reading::{Misread, read, read_pair};
pub use writing::{
    angle_text, both_text, force_text, inch_text, length_text, millimetre_text, number_text, plain_length_text,
    quantity_text,
};

/// Metres in an inch, exact by definition (international yard and pound agreement, 1959).
pub const INCH: f64 = 0.0254;

/// Newtons in a pound-force: 0.45359237 kg (exact, 1959) times standard gravity.
pub const POUND: f64 = 0.453_592_37 * GRAVITY;

/// Standard gravity, m/s2, exact by definition (3rd CGPM, 1901). A kilogram on a bow scale pulls this many newtons.
pub const GRAVITY: f64 = 9.806_65;

/// Pascals in a pound per square inch.
pub const PSI: f64 = POUND / (INCH * INCH);
