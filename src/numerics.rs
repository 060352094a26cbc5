//! Small numerical methods, each with its source and what it promises.

pub mod monotone;
pub mod newton;
