//! Bow statics: from a design to the braced bow and its draw.
//!
//! Limbs are inextensible, unshearable planar rods (Euler-Bernoulli elastica); see [`elastica`].
//! Two limbs, equal or not, meet in a stiff handle; see [`bracing`] and [`draw_curve`].
//! A string that lies on a recurved limb end is that of [`lying`].

pub mod bracing;
mod clearance;
pub mod draw_curve;
pub mod elastica;
pub mod limb;
pub mod lying;
