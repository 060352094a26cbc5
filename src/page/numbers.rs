//! The numbers beside the figure, each with its why.

use serde::Serialize;

use crate::checks;
use crate::design::{Bracing, Design, Side, Units};
use crate::findings::{Bound, Check, Finding, Verdict};
use crate::reports::sweep::draw_words;
use crate::units::{angle_text, force_text, length_text, number_text, plain_length_text, quantity_text};
use crate::worked::soundness::how_sure;
use crate::worked::{Statics, Worked};

/// One number with its why.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Row {
    pub id: String,
    pub label: String,
    pub value: String,
    pub why: String,
}

/// Numbers under one heading.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Rows {
    pub title: String,
    pub rows: Vec<Row>,
}

/// One check, on all limbs that it is made on.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Judged {
    pub id: &'static str,
    pub title: String,
    pub verdict: &'static str,
    /// The verdict as a mark beside the title.
    pub mark: &'static str,
    /// A line for each limb: its name, the words, its verdict.
    pub lines: Vec<[String; 2]>,
    pub why: String,
    pub source: String,
    pub cure: String,
}

fn row(id: &str, label: &str, value: String, why: impl Into<String>) -> Row {
    Row { id: id.to_owned(), label: label.to_owned(), value, why: why.into() }
}

/// What the statics say.
pub(super) fn of_statics(design: &Design, statics: &Statics) -> Vec<Rows> {
    let (units, cycle) = (design.units, &statics.cycle);
    let full = cycle.at_full_draw();
    let mut bow = vec![
        row(
            "force_full_draw",
            "Force at full draw",
            force_text(full.force, units),
            format!(
                "What a scale at the nocking point shows, drawn to {} {}. Both limbs are bent as elastic rods as far as they go; the \
                 pulls of both halves of the string add up to it.",
                plain_length_text(design.bow.draw, units),
                draw_words(design.bow.draw_to)
            ),
        ),
        row(
            "energy",
            "Energy of the draw",
            format!("{} J", number_text(cycle.energy, 1)),
            "Strain energy that both limbs (and a string that stretches) gain from brace to full draw; the work under the draw \
             curve comes to the same.",
        ),
        row(
            "brace_height",
            "Brace height",
            length_text(cycle.braced.brace_height, units),
            match design.bow.bracing {
                Bracing::Height(_) => {
                    "As the design gives it: from the grip's belly side at the pivot square to the string."
                }
                Bracing::StringLength(_) => "It follows from the string's length.",
            },
        ),
        row(
            "string_length",
            "String, nock seat to nock seat",
            length_text(cycle.braced.string_length, units),
            match design.bow.bracing {
                Bracing::Height(_) => "The straight line between both seats when the bow is braced at this height.",
                Bracing::StringLength(_) => "As the design gives it, under the pull at brace.",
            },
        ),
    ];
    let wood = &design.limbs.upper.wood;
    let modulus = crate::findings::Quantity::Modulus;
    bow.push(match design.bow.weight {
        Some(weight) => row(
            "modulus",
            "Modulus that the scale implies",
            quantity_text(cycle.stiffness_factor * wood.modulus.value, modulus, units),
            format!(
                "The scale said {} at {}; the limbs' stiffness is scaled as a whole until it reads that: {} times the {} given for \
                 {} ({}).",
                force_text(weight.pull, units),
                plain_length_text(weight.draw, units),
                number_text(cycle.stiffness_factor, 2),
                quantity_text(wood.modulus.value, modulus, units),
                wood.name,
                how_sure(&wood.modulus)
            ),
        ),
        None => row(
            "modulus",
            "Modulus",
            quantity_text(wood.modulus.value, modulus, units),
            format!("No weight is given, so {}'s figure is taken as it stands ({}).", wood.name, how_sure(&wood.modulus)),
        ),
    });
    bow.push(row(
        "lean",
        "Handle leans at full draw",
        angle_text(full.tilt),
        "The hand presses at the pivot and cannot hold a moment, so the handle turns until the force runs through it. Plus: its \
         upper end toward the archer.",
    ));
    let mut all = vec![Rows { title: "The bow".into(), rows: bow }];
    all.extend(Side::BOTH.map(|side| tip(statics, side, units)));
    all
}

fn tip(statics: &Statics, side: Side, units: Units) -> Rows {
    let swing = statics.swings.get(side);
    let rows = vec![
        row(
            "angle_brace",
            "String angle at brace",
            angle_text(swing.brace),
            "Between the string leaving the nock and the limb, seen from the handle's side: 0° lies along the limb, 90° stands \
             square to it. It follows from the braced shape of this limb.",
        ),
        row(
            "angle_full_draw",
            "String angle at full draw",
            angle_text(swing.full_draw),
            "The same angle when the bow is fully drawn.",
        ),
        row(
            "sweep",
            "Sweep",
            angle_text(swing.full_draw - swing.brace),
            "How far the string turns about this nock from brace to full draw. A groove filed at one angle fits only one moment of it.",
        ),
        row(
            "serves",
            "The nock serves angles",
            format!("{} to {}", angle_text(swing.least), angle_text(swing.greatest)),
            "From the lowest brace height to the longest draw of the range; the groove's wall and fan are laid out for these.",
        ),
        row(
            "pull_brace",
            "Pull at brace",
            force_text(swing.pull_at_brace, units),
            "What the string pulls at this nock when the bow is braced; both nocks carry the same.",
        ),
        row(
            "pull_full_draw",
            "Pull at full draw",
            force_text(swing.pull_at_full_draw, units),
            format!(
                "What the string pulls at this nock at full draw; over the whole range up to {}.",
                force_text(swing.greatest_pull, units)
            ),
        ),
    ];
    let name = if side == Side::Upper { "Upper tip" } else { "Lower tip" };
    let rows = rows.into_iter().map(|r| Row { id: format!("{}.{}", side.name(), r.id), ..r }).collect();
    Rows { title: name.into(), rows }
}

/// Why a nock's figure is what it is, where the figure's own note does not say it.
fn reason(id: &str) -> &'static str {
    match id {
        "width_at_seat" | "thickness_at_seat" => "Read off the limb's stations at the nock.",
        "groove_depth" => "As the design gives it, or the style's default.",
        "seat_offset" => {
            "It comes from the limb's thickness, what stands over it, the groove's depth and half the string."
        }
        "wall_radius" => "Where the wall turns most sharply, on the unrolled tip.",
        "wall_end" => "A little past the least string angle, so that the string leaves the wall before the wall ends.",
        "fan" => {
            "The greatest string angle the nock serves, the fan margin, and what the tip's taper asks for besides."
        }
        "run_out" => "Past the wall's turn nothing presses the string sideways, so the depth runs out to nothing.",
        "file_passes" => {
            "Straight strokes of the file that rough the wall with ridges a tenth of a millimetre high at most."
        }
        "ridge" => "From the wall's mean radius and the step between two passes.",
        "reach_at_brace" | "reach_at_full_draw" => "Simulated: the taut loop on the finished tip, at rest.",
        "bearing" => "Simulated: a leg's pull times the curvature of its path, where it is greatest.",
        "sideways_over_pressing" => "Simulated, against the surface as it would be without a groove.",
        _ => "",
    }
}

/// What is known of one nock.
pub(super) fn of_nock(worked: &Worked, side: Side) -> Rows {
    let units = worked.design.units;
    let rows = worked.findings(side).into_iter().map(|Finding { id, label, value, quantity, note, .. }| {
        let mut letters = label.chars();
        let label: String = letters.next().into_iter().flat_map(char::to_uppercase).chain(letters).collect();
        let why = [note.as_str(), reason(id)].into_iter().filter(|w| !w.is_empty()).collect::<Vec<_>>().join(". ");
        Row { id: format!("{}.{id}", side.name()), label, value: quantity_text(value, quantity, units), why }
    });
    let name = if side == Side::Upper { "Upper nock" } else { "Lower nock" };
    Rows { title: format!("{name}: {}", worked.design.nocks.get(side).style), rows: rows.collect() }
}

/// All checks, those that fail first, and how many came out which way.
pub(super) fn judged(worked: &Worked) -> (Vec<Judged>, String) {
    let units = worked.design.units;
    let mut groups: Vec<Vec<Check>> = Vec::new();
    for check in checks::all(worked) {
        match groups.last_mut() {
            Some(group) if group[0].id == check.id && group[0].why == check.why => group.push(check),
            _ => groups.push(vec![check]),
        }
    }
    let worst = |group: &[Check]| group.iter().map(|c| c.verdict).max().unwrap_or(Verdict::Holds);
    groups.sort_by_key(|group| std::cmp::Reverse(worst(group)));
    let line = |check: &Check| {
        let bound = if check.bound == Bound::AtLeast { "at least" } else { "at most" };
        let value = |v: f64| quantity_text(v, check.quantity, units);
        let place = if check.place.is_empty() { String::new() } else { format!(" {}", check.place) };
        let words = format!("{}{place}; allowed {bound} {}", value(check.measured), value(check.allowed));
        [check.side.map_or(String::new(), |side| format!("{} limb", side.name())), words]
    };
    let verdicts: Vec<Verdict> = groups.iter().map(|group| worst(group)).collect();
    let judged = groups
        .into_iter()
        .map(|group| Judged {
            id: group[0].id,
            title: group[0].title.clone(),
            verdict: worst(&group).name(),
            mark: worst(&group).mark(),
            lines: group.iter().map(line).collect(),
            why: group[0].why.clone(),
            source: group[0].source.clone(),
            cure: group[0].cure.clone(),
        })
        .collect();
    (judged, Verdict::tally(&verdicts))
}
