//! The figures of one nock that a report shows.

use super::Worked;
use crate::design::Side;
use crate::findings::{Finding, Quantity};

/// Figures of the nock on one limb.
pub(super) fn of(worked: &Worked, side: Side) -> Vec<Finding> {
    let (nock, choice) = (worked.nocks.get(side), worked.design.nocks.get(side));
    let diameter = worked.design.string.diameter;
    let mut findings = Vec::new();
    let mut add = |id: &'static str, label: &str, value: f64, quantity: Quantity, note: String| {
        findings.push(Finding { id, side: Some(side), label: label.to_owned(), value, quantity, note });
    };
    let seat = worked.statics.ends.get(side).section(0.0);
    add("width_at_seat", "limb width at the seat", seat.width, Quantity::Length, String::new());
    add("thickness_at_seat", "limb thickness at the seat", seat.thickness, Quantity::Length, String::new());
    add("groove_depth", "groove depth across the back", choice.number("groove_depth"), Quantity::Length, String::new());
    add(
        "seat_offset",
        "string's centre over the limb's centreline",
        nock.seat_offset,
        Quantity::Length,
        "the pull's lever on the limb's end".into(),
    );
    if let Some(groove) = &nock.groove {
        add(
            "wall_radius",
            "wall, least radius",
            groove.wall.least_radius,
            Quantity::Length,
            format!("{:.1} string diameters", groove.wall.least_radius / diameter),
        );
        add("wall_end", "wall turns from square to", groove.wish.wall_end, Quantity::Angle, "to the limb".into());
        add("fan", "floor opens toward the tip to", groove.wish.fan, Quantity::Angle, "to the limb".into());
        add(
            "run_out",
            "groove runs out at, along the girth",
            groove.run[1],
            Quantity::Length,
            "from the middle of the back".into(),
        );
    }
    if !nock.passes.is_empty() {
        let angles: Vec<String> = nock.passes.iter().map(|a| format!("{:.0}", a.to_degrees())).collect();
        add(
            "file_passes",
            "file passes before blending",
            nock.passes.len() as f64,
            Quantity::Count,
            format!("at {}° to the limb", angles.join(", ")),
        );
        add("ridge", "ridges they leave", nock.ridge, Quantity::Length, "blended away by the last pass".into());
    }
    if worked.design.is_tied(side) {
        // Rope round a post (Euler-Eytelwein): T1/T2 = exp(mu angle), one whole turn.
        add(
            "knot_hold",
            "bowyer's knot, hold of each turn round the tip",
            (std::f64::consts::TAU * worked.design.string.friction).exp(),
            Quantity::Ratio,
            "tied, not looped: its turns draw tight on the tip and grip the groove's edges, they do not roll over them as the string swings; so \
             a plain straight groove serves here, and neither clicks nor a loop's seat are looked for. Rope round a post, Euler and Eytelwein"
                .into(),
        );
    } else {
        loop_findings(worked, side, &mut add);
    }
    findings
}

/// What the loop does on this nock through the bow's own draw.
fn loop_findings(worked: &Worked, side: Side, add: &mut impl FnMut(&'static str, &str, f64, Quantity, String)) {
    let (hanging, friction) = (worked.loops().get(side), worked.design.string.friction);
    let own = hanging.first_own..=hanging.last_own;
    let states: Vec<_> =
        hanging.draw.figures.iter().enumerate().filter(|(k, _)| own.contains(k)).map(|(_, f)| f).collect();
    let (Some(first), Some(last)) = (states.first(), states.last()) else { return };
    let most = |of: fn(&crate::string::path::Figures) -> f64| states.iter().map(|f| of(f)).fold(0.0, f64::max);
    add("reach_at_brace", "reach of the loop's throat at brace", first.reach, Quantity::Length, "from the seat".into());
    add("reach_at_full_draw", "reach at full draw", last.reach, Quantity::Length, "from the seat".into());
    add(
        "bearing",
        "hardest bearing of the string on the tip",
        most(|f| f.most_load),
        Quantity::LineLoad,
        String::new(),
    );
    let sideways = most(|f| f.most_sideways);
    let held = if states.iter().all(|f| f.friction_holds(friction)) {
        format!("friction of {friction:.2} would hold the string without its wall")
    } else {
        format!("the wall holds the string: friction of {friction:.2} would not do it alone")
    };
    add("sideways_over_pressing", "sideways load over pressing load, greatest", sideways, Quantity::Ratio, held);
}
