//! Every figure of a design in one list: what `compare` sets side by side.

use super::{Worked, soundness};
use crate::design::Side;
use crate::findings::{Check, Finding, Quantity};

/// All figures: the bow's, each limb's, each nock's, and what each check measured.
pub fn all(worked: &Worked, checks: &[Check]) -> Vec<Finding> {
    let mut all = Vec::new();
    let mut add = |id: &'static str, side: Option<Side>, label: &str, value: f64, quantity: Quantity| {
        all.push(Finding { id, side, label: label.to_owned(), value, quantity, note: String::new(), verdict: None });
    };
    let cycle = &worked.statics.cycle;
    add("draw_weight", None, "weight at full draw", cycle.at_full_draw().force, Quantity::Force);
    add("energy", None, "energy stored by the draw", cycle.energy, Quantity::Energy);
    add("stiffness_factor", None, "stiffness over the wood's own", cycle.stiffness_factor, Quantity::Ratio);
    add("brace_height", None, "brace height", cycle.braced.brace_height, Quantity::Length);
    add("string_length", None, "string between the nock seats", cycle.braced.string_length, Quantity::Length);
    add("handle_lean", None, "handle leans at full draw", cycle.at_full_draw().tilt, Quantity::Angle);
    for side in Side::BOTH {
        let (swing, side) = (worked.statics.swings.get(side), Some(side));
        add("angle_brace", side, "string angle at brace", swing.brace, Quantity::Angle);
        add("angle_full_draw", side, "string angle at full draw", swing.full_draw, Quantity::Angle);
        add("pull_brace", side, "string pull at brace", swing.pull_at_brace, Quantity::Force);
        add("pull_full_draw", side, "string pull at full draw", swing.pull_at_full_draw, Quantity::Force);
    }
    for side in Side::BOTH {
        all.extend(worked.findings(side));
        all.extend(soundness::findings(worked, side));
    }
    all.extend(checks.iter().map(|c| Finding {
        id: c.id,
        side: c.side,
        label: format!("check: {}", c.title),
        value: c.measured,
        quantity: c.quantity,
        note: c.verdict.name().to_owned(),
        verdict: Some(c.verdict),
    }));
    all
}
