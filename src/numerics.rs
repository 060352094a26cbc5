//! Small numerical methods, each with its source and what it promises.

pub mod banded;
pub mod cholesky;
pub mod lanes;
pub mod monotone;
pub mod newton;
