//! Whether a limb and its tip are strong enough, how light they may be, and whether the limb stays in its plane.
//!
//! Pure functions of sections, moments and pulls; what they are compared with and how it is said is for the reports.

pub mod grain;
pub mod loaded;
pub mod mass;
pub mod net;
pub mod sideways;
pub mod stress;
pub mod taper;
pub mod tip;

/// The string's pull in the shot over the draw weight, where the maker gives no other (`shock_factor` in the design file).
///
/// Common practice, no source: a string is made to hold four times the draw weight because of the shot,
/// and the nock shall not be the weaker part of the two. Larger asks for heavier tips.
pub const SHOCK: f64 = 4.0;
