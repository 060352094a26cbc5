//! The string: how it swings at each tip, and how it lies there.

pub mod hanging;
pub mod making;
pub mod path;
pub mod sweep;
