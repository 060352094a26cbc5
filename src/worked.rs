//! Everything worked out about one design, step by step along the flow.

use crate::bow::bracing::LIMB_STEPS;
use crate::bow::draw_curve::{Cycle, cycle};
use crate::design::{Both, Design};
use crate::fault::{Fault, Faults};
use crate::nock::{self, Nock};
use crate::string::sweep::{Swing, swings};
use crate::tip::LimbEnd;

/// What the statics say of a design: needs no nock that can be made, only where the string would sit.
#[derive(Debug, Clone)]
pub struct Statics {
    /// The limbs' ends that nocks are built on.
    pub ends: Both<LimbEnd>,
    /// From each limb's centreline to the string's centreline at its seat, plus toward the back, m.
    pub seat_offsets: Both<f64>,
    /// From brace to full draw.
    pub cycle: Cycle,
    /// The string's swing at each tip over all that the nocks must serve.
    pub swings: Both<Swing>,
}

impl Statics {
    /// Braces and draws the design's bow in `steps` steps.
    ///
    /// # Errors
    /// The fault that keeps the bow from being braced or drawn.
    pub fn of(design: &Design, steps: usize) -> Result<Self, Fault> {
        let ends = design.limbs.map(LimbEnd::of);
        let seat_offsets = Both::build(|side| {
            let choice = design.nocks.get(side);
            nock::style_of(choice).seat_offset(ends.get(side), choice, &design.string)
        });
        let cycle = cycle(design, seat_offsets, LIMB_STEPS, steps)?;
        let swings = swings(design, &cycle, seat_offsets, LIMB_STEPS)?;
        Ok(Statics { ends, seat_offsets, cycle, swings })
    }
}

/// A design worked through to its nocks.
#[derive(Debug, Clone)]
pub struct Worked {
    /// The design.
    pub design: Design,
    /// Its statics.
    pub statics: Statics,
    /// Its nocks.
    pub nocks: Both<Nock>,
}
