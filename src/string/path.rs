//! The string on the tip: a taut loop over the solid, pulled from its throat.
//!
//! The string is a round tube, so its centreline may go anywhere a ball of half its diameter can roll; [`rolled`] gives that surface.
//! The loop is a closed chain of points in fixed half-planes about the limb's centreline. Without friction it takes the shortest way
//! the solid allows: of all shapes of the loop's length that keep off the solid, the one that lets its throat go farthest along the pull,
//! and of several such the one it slides into from where it was. [`chain`] finds one state, [`draw`] follows it through the draw.

pub mod chain;
pub mod draw;
pub mod figures;
pub mod rolled;
mod solve;
pub mod span;

pub use chain::{Loop, Rest, Settings, Unrest};
pub use draw::{Click, DrawStep, Leaves, Run, run};
pub use figures::{Contact, Figures};
pub use span::{Place, taut_between};
