//! Figures: drawings that show and are not traced.

pub mod loop_on_tip;
pub mod styles;
