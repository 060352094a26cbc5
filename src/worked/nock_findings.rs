//! The figures of one nock that a report shows.

use super::Worked;
use super::belly::{BellyStrip, left_by_guide};
use crate::design::Side;
use crate::findings::{Finding, Quantity};
use crate::string::path::Figures;
use crate::tip::solid::SHALLOW;
use crate::units::{length_text, number_text};

/// Figures of the nock on one limb.
pub(super) fn of(worked: &Worked, side: Side) -> Vec<Finding> {
    let (nock, choice) = (worked.nocks.get(side), worked.design.nocks.get(side));
    let diameter = worked.design.string.diameter;
    let mut findings = Vec::new();
    let mut add = |id: &'static str, label: &str, value: f64, quantity: Quantity, note: String| {
        findings.push(Finding { id, side: Some(side), label: label.to_owned(), value, quantity, note, verdict: None });
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
    if let (Some(below), Some(_)) = (nock.solid.cut_below_glue(SHALLOW), &nock.groove) {
        add(
            "groove_below_glue",
            "groove runs out below the glue line by",
            below,
            Quantity::Length,
            "down the side; shallower than 0.05 mm is not counted".into(),
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
    if let Some((stiffest, at)) = BellyStrip::of(worked, side).map(|strip| strip.stiffest()) {
        add(
            "strip_stiffness",
            "belly strip, stiffness of limb and strip over the limb's",
            stiffest,
            Quantity::Ratio,
            format!(
                "at most, {} from the nock; left out of draw, tiller, stresses and sideways reserve, which take the limb as if the strip did not bend with it: \
                 its end bends a little less than drawn",
                length_text(at, worked.design.units)
            ),
        );
    }
    if let Some(left) = left_by_guide(worked, side) {
        add(
            "guide_stiffness",
            "belly guide, stiffness that it leaves of the limb's",
            left,
            Quantity::Ratio,
            "at its least; left out of draw, tiller, stresses and sideways reserve, which take the limb as whole"
                .into(),
        );
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
    if let Some((walk, load)) = on_the_bare_side(worked, side, &states) {
        add(
            "bare_side_walk",
            "string walks along the bare side in the draw",
            walk,
            Quantity::Length,
            format!(
                "half way round it, bearing with up to {} N/mm: followed without friction, so it stays there by the cap's shape alone, but it \
                 rubs there at each shot, and no limit for that is known: polish back and bare side, and look at the serving",
                number_text(load / 1e3, 1)
            ),
        );
    }
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

/// How far the string moves along the limb where it crosses the middle of the bare side of a tip that has its groove on one side only, m,
/// and the hardest it bears there where nothing is cut, N/m; none for a groove on both sides.
fn on_the_bare_side(worked: &Worked, side: Side, states: &[&Figures]) -> Option<(f64, f64)> {
    let groove = worked.nocks.get(side).groove.as_ref().filter(|groove| !groove.is_even())?;
    let bare = -groove.way();
    // Where the centreline goes through the plane through the middles of both sides.
    let crossing = |f: &&Figures| {
        f.line.windows(2).rfind(|p| p[0][1] * bare > 0.0 && (p[0][2] > 0.0) != (p[1][2] > 0.0)).map(|p| {
            let part = p[0][2] / (p[0][2] - p[1][2]);
            p[0][0] + part * (p[1][0] - p[0][0])
        })
    };
    let places: Vec<f64> = states.iter().filter_map(crossing).collect();
    let ends = places.iter().fold([f64::INFINITY, f64::NEG_INFINITY], |[l, h], a| [l.min(*a), h.max(*a)]);
    let contacts = states.iter().flat_map(|f| &f.contacts).filter(|c| c.theta * bare > 0.0 && c.cut < 1e-6);
    let load = contacts.map(|c| c.load).fold(0.0, f64::max);
    (!places.is_empty()).then_some((ends[1] - ends[0], load))
}
