//! Whether a limb and its tip are strong enough, how light they may be, and whether the limb stays in its plane.

pub mod sideways;
