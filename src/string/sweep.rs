//! The sweep: the string's angle and pull at each tip, from brace to full draw, over all that a nock must serve.

use crate::bow::bracing::{RestingBow, brace_near};
use crate::bow::draw_curve::{BowAtDraw, Cycle, draw_bow};
use crate::design::{Both, Bracing, Design, Side};
use crate::fault::Fault;

/// What the string does at one tip.
///
/// What is true of it: `least <= brace`, `full_draw <= greatest`, all angles above 0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Swing {
    /// String angle at brace, rad.
    pub brace: f64,
    /// String angle at full draw, rad.
    pub full_draw: f64,
    /// Least string angle over all brace heights the nock serves, rad.
    pub least: f64,
    /// Greatest string angle over all brace heights and draws the nock serves, rad.
    pub greatest: f64,
    /// Pull at brace, N.
    pub pull_at_brace: f64,
    /// Pull at full draw, N.
    pub pull_at_full_draw: f64,
    /// Greatest pull over all that the nock serves, N.
    pub greatest_pull: f64,
    /// How far from the nock along the limb the string lies at most, m: 0 where it is free throughout.
    pub lies_to: f64,
}

impl Swing {
    /// The swing of one bow, from its own brace to its own full draw.
    fn of(cycle: &Cycle, side: Side) -> Self {
        let at = |state: &BowAtDraw| (state.limbs.get(side).string_angle, state.limbs.get(side).nock_pull());
        let (brace, pull_at_brace) = at(cycle.at_brace());
        let (full_draw, pull_at_full_draw) = at(cycle.at_full_draw());
        let swing = Swing {
            brace,
            full_draw,
            least: brace,
            greatest: full_draw,
            pull_at_brace,
            pull_at_full_draw,
            greatest_pull: pull_at_brace,
            lies_to: 0.0,
        };
        swing.widened(cycle, side)
    }

    /// The swing widened by what another cycle shows at the same tip.
    fn widened(mut self, cycle: &Cycle, side: Side) -> Self {
        for limb in cycle.states.iter().map(|s| s.limbs.get(side)) {
            self.least = self.least.min(limb.string_angle);
            self.greatest = self.greatest.max(limb.string_angle);
            self.greatest_pull = self.greatest_pull.max(limb.nock_pull());
            self.lies_to = self.lies_to.max(limb.lies_from_nock().map_or(0.0, |[_, to]| to));
        }
        self
    }
}

/// The swing at both tips.
///
/// The bow's own cycle gives brace and full draw; the lowest and the highest brace height of the design's range are
/// braced and drawn to its longest draw as well, with the stiffness that the cycle found.
///
/// # Errors
/// A fault about `range` where one of its corners cannot be braced or drawn.
pub fn swings(
    design: &Design,
    cycle: &Cycle,
    seat_offsets: Both<f64>,
    limb_steps: usize,
) -> Result<Both<Swing>, Fault> {
    let mut swings = Both::build(|side| Swing::of(cycle, side));
    let bow = RestingBow::of(design, seat_offsets, limb_steps).stiffened(cycle.stiffness_factor);
    let own = cycle.braced.brace_height;
    let heights = design.serves.brace_height.unwrap_or([own, own]);
    let furthest = design.serves.draw[1];
    let same = |a: f64, b: f64| (a - b).abs() < 1e-9;
    let corner = |height: f64, name: &str| -> Result<Option<Cycle>, Fault> {
        if same(height, own) && same(furthest, design.bow.draw) {
            return Ok(None);
        }
        let in_range = |fault: Fault| Fault {
            key: if fault.key == "bow.draw" { "range.draw".into() } else { "range.brace_height".into() },
            what: format!("{name} of the range: {}", fault.what),
            ..fault
        };
        let drawn = bow.free_or_lying(|bow| {
            let braced = brace_near(bow, Bracing::Height(height), &cycle.braced)?;
            // Angle and pull are smooth in the draw; eight steps find their greatest well enough to design by.
            draw_bow(bow, &braced, design.bow.draw_to, furthest, 8)
        });
        drawn.map_err(in_range).map(Some)
    };
    let (lowest, highest) = rayon::join(
        || corner(heights[0], "the lowest brace height"),
        || corner(heights[1], "the highest brace height"),
    );
    for extreme in [lowest?, highest?].iter().flatten() {
        swings = Both::build(|side| swings.get(side).widened(extreme, side));
    }
    Ok(swings)
}
