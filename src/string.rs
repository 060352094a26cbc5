//! The string: how it swings at each tip, and how it lies there.

pub mod path;
pub mod sweep;
