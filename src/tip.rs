//! The limb's end as a solid: one radial function about the limb's centreline, from which everything else is read.

pub mod cut;
pub mod flattening;
pub mod jet;
pub mod limb_end;
pub mod mesh;
pub mod solid;

pub use cut::{Cut, FilePass};
pub use limb_end::LimbEnd;
pub use solid::{Shell, Surface, TipSolid};
