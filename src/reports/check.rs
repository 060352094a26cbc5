//! The report on one design, for people and for programs.

use super::lists::wrapped;
use super::sweep::{BowJson, LimbJson, StringJson, draw_words, limbs_json, lying_words, rounded, to_json};
use crate::design::{Both, Bracing, Design, Side, Units};
use crate::findings::{Bound, Check, Finding, Quantity, Verdict};
use crate::units::{angle_text, force_text, length_text, number_text, plain_length_text, quantity_text};
use crate::worked::{Worked, soundness};
use serde::Serialize;
use std::fmt::Write;

/// Width of the text report, characters.
const WIDTH: usize = 100;

/// Cautions that stand on every report and sheet.
pub const CAUTIONS: &str = "A nock that fails can hurt. Guard your eyes; horn dust harms the lungs. Never let go without an \
arrow on the string. Inspect nocks, string and limbs before each use, and take the first draws on a tiller, from a distance. \
Local rules and experienced makers come before these figures.";

/// The cautions of a design: those of every report, and those of its nock styles.
pub fn cautions(design: &Design) -> String {
    let mut own: Vec<&str> = Vec::new();
    for side in Side::BOTH {
        let style = crate::nock::style(design.nocks.get(side).style);
        own.extend(style.and_then(|style| style.caution()).filter(|caution| !own.contains(caution)));
    }
    [vec![CAUTIONS], own].concat().join(" ")
}

/// One check as a line: what, who, measured, allowed.
pub fn line(check: &Check, units: Units) -> String {
    format!("{}: {}", check.title, figures(check, units))
}

/// A check's figures: who, measured, allowed.
fn figures(check: &Check, units: Units) -> String {
    let limb = check.side.map_or(String::new(), |side| format!("{} limb ", side.name()));
    let place = if check.place.is_empty() { String::new() } else { format!(" {}", check.place) };
    let bound = match check.bound {
        Bound::AtLeast => "at least",
        Bound::AtMost => "at most",
    };
    let verdict = if check.verdict == Verdict::Holds { "" } else { check.verdict.name() };
    // Of a stress the room to the limit says more than the verdict.
    let margin = match check.quantity {
        Quantity::Stress => format!(", margin {}", number_text(check.margin(), 2)),
        _ => String::new(),
    };
    format!(
        "{limb}{}{place}, allowed {bound} {}{margin}{}{verdict}",
        quantity_text(check.measured, check.quantity, units),
        quantity_text(check.allowed, check.quantity, units),
        if verdict.is_empty() { "" } else { ": " },
    )
}

/// The report for people.
pub fn text(worked: &Worked, checks: &[Check]) -> String {
    let mut text = String::new();
    let (design, statics) = (&worked.design, &worked.statics);
    let (units, cycle) = (design.units, &statics.cycle);
    let _ = writeln!(text, "{}\n", design.name);
    bow(&mut text, worked);
    heading(&mut text, "The string at the tips");
    let _ = writeln!(
        text,
        "  {:<6} {:>9} {:>12} {:>9}   {:<20} {:<20}",
        "limb", "at brace", "at full draw", "sweep", "pull at brace", "at full draw"
    );
    for side in Side::BOTH {
        let swing = statics.swings.get(side);
        let _ = writeln!(
            text,
            "  {:<6} {:>9} {:>12} {:>9}   {:<20} {:<20}",
            side.name(),
            angle_text(swing.brace),
            angle_text(swing.full_draw),
            angle_text(swing.full_draw - swing.brace),
            force_text(swing.pull_at_brace, units),
            force_text(swing.pull_at_full_draw, units)
        );
    }
    for side in Side::BOTH {
        let swing = statics.swings.get(side);
        let _ = writeln!(
            text,
            "  {} nock serves string angles {} to {} and pulls up to {}",
            side.name(),
            angle_text(swing.least),
            angle_text(swing.greatest),
            force_text(swing.greatest_pull, units)
        );
    }
    let _ = writeln!(text, "  string angle: between string and limb; 0° lies along the limb, 90° stands square to it");
    for side in Side::BOTH {
        if let Some(words) = lying_words(statics, side, units) {
            text.push_str(&wrapped(&format!("{} {words}", side.name()), 2, WIDTH));
        }
    }
    let _ = writeln!(text, "  string {} long between the nock seats", length_text(cycle.braced.string_length, units));
    for side in Side::BOTH {
        heading(&mut text, &format!("The {} nock: {}", side.name(), design.nocks.get(side).style));
        for finding in &worked.findings(side) {
            line_of(&mut text, finding, units);
        }
    }
    strength(&mut text, worked);
    heading(&mut text, "Checks");
    let mut groups: Vec<Vec<&Check>> = Vec::new();
    for check in checks {
        match groups.last_mut() {
            Some(group) if group[0].id == check.id && group[0].why == check.why => group.push(check),
            _ => groups.push(vec![check]),
        }
    }
    let worst = |group: &[&Check]| group.iter().map(|c| c.verdict).max().unwrap_or(Verdict::Holds);
    // What fails comes first; within one verdict the order of the list stays.
    groups.sort_by_key(|group| std::cmp::Reverse(worst(group)));
    for group in &groups {
        let first = group[0];
        let verdict = worst(group);
        let _ = writeln!(text, "  {:<5}  {}", verdict.name(), first.title);
        for check in group {
            let _ = writeln!(text, "         {}", figures(check, units));
        }
        text.push_str(&wrapped(&format!("why: {}", first.why), 9, WIDTH));
        text.push_str(&wrapped(&format!("source: {}", first.source), 9, WIDTH));
        if verdict != Verdict::Holds {
            text.push_str(&wrapped(&format!("what helps: {}", first.cure), 9, WIDTH));
        }
    }
    let verdicts: Vec<Verdict> = checks.iter().map(|c| c.verdict).collect();
    let _ = writeln!(text, "\n{}", Verdict::tally(&verdicts));
    text.push('\n');
    text.push_str(&wrapped(&cautions(design), 0, WIDTH));
    text
}

/// Strength, stability and mass of both limbs, the small table, and advice.
fn strength(text: &mut String, worked: &Worked) {
    let units = worked.design.units;
    for side in Side::BOTH {
        heading(text, &format!("The {} limb: sideways stability and mass", side.name()));
        for finding in &soundness::findings(worked, side) {
            line_of(text, finding, units);
        }
        text.push_str(&wrapped(&soundness::advice(side, worked.sideways().get(side)), 2, WIDTH));
    }
    text.push_str(&wrapped(soundness::WHICH_EDGE, 2, WIDTH));
    heading(text, "What a narrower, wider, thinner or thicker tip would cost");
    match worked.tip_variants() {
        Err(fault) => text.push_str(&wrapped(&format!("not to be told: {}", fault.what), 2, WIDTH)),
        Ok(variants) => {
            let _ = writeln!(
                text,
                "  {:>9} {:>9}   {:>22} {:>22}   {:>26}",
                "width", "thickness", "reserve, upper limb", "lower limb", "outer half, upper and lower"
            );
            let part = |p: f64| match p {
                0.0 => "as it is".to_owned(),
                p => format!("{}{} %", if p > 0.0 { "+" } else { "" }, number_text(100.0 * p, 0)),
            };
            let grams =
                |m: Option<f64>| m.map_or_else(|| "-".to_owned(), |kg| quantity_text(kg, Quantity::Mass, units));
            for v in variants {
                let _ = writeln!(
                    text,
                    "  {:>9} {:>9}   {:>22} {:>22}   {:>12} {:>13}",
                    part(v.width),
                    part(v.thickness),
                    number_text(v.reserve.upper, 2),
                    number_text(v.reserve.lower, 2),
                    grams(v.mass.upper),
                    grams(v.mass.lower)
                );
            }
            text.push_str(&wrapped(
                "Reserve at full draw, the bow brought to its weight again each time. The change is that of the tip and fades to nothing \
                 half way in.",
                2,
                WIDTH,
            ));
        }
    }
}

fn heading(text: &mut String, words: &str) {
    let _ = writeln!(text, "\n{words}");
}

fn line_of(text: &mut String, finding: &Finding, units: Units) {
    let note = if finding.note.is_empty() { String::new() } else { format!("   ({})", finding.note) };
    let _ = writeln!(text, "  {:<44} {}{note}", finding.label, quantity_text(finding.value, finding.quantity, units));
}

/// The bow in a few lines.
fn bow(text: &mut String, worked: &Worked) {
    let design = &worked.design;
    let (units, cycle) = (design.units, &worked.statics.cycle);
    let braced = match design.bow.bracing {
        Bracing::Height(_) => "braced at",
        Bracing::StringLength(_) => "its string braces it at",
    };
    let _ = writeln!(
        text,
        "  {} between the nocks, {braced} {}, drawn to {} {}",
        plain_length_text(design.bow.length, units),
        plain_length_text(cycle.braced.brace_height, units),
        plain_length_text(design.bow.draw, units),
        draw_words(design.bow.draw_to)
    );
    let full = cycle.at_full_draw();
    let _ = writeln!(
        text,
        "  {} at full draw; the draw stores {} J",
        force_text(full.force, units),
        number_text(cycle.energy, 1)
    );
    let wood = &design.limbs.upper.wood;
    let words = match design.bow.weight {
        Some(weight) => format!(
            "scale: {} at {}; so {} works with a modulus of {}, {} times the given {} ({})",
            force_text(weight.pull, units),
            plain_length_text(weight.draw, units),
            wood.name,
            quantity_text(cycle.stiffness_factor * wood.modulus.value, Quantity::Modulus, units),
            number_text(cycle.stiffness_factor, 2),
            quantity_text(wood.modulus.value, Quantity::Modulus, units),
            soundness::how_sure(&wood.modulus)
        ),
        None => format!(
            "no weight given: forces follow from {}'s modulus of {} as it stands ({})",
            wood.name,
            quantity_text(wood.modulus.value, Quantity::Modulus, units),
            soundness::how_sure(&wood.modulus)
        ),
    };
    text.push_str(&wrapped(&words, 2, WIDTH));
    let tilt = full.tilt;
    if tilt.abs() > 0.05f64.to_radians() {
        let toward = if tilt > 0.0 { "toward the archer" } else { "away from the archer" };
        let _ = writeln!(text, "  at full draw the handle's upper end leans {} {toward}", angle_text(tilt.abs()));
    }
}

/// The report for programs: SI-based units stated in the keys or beside the figure.
pub fn json(worked: &Worked, checks: &[Check]) -> String {
    #[derive(Serialize)]
    struct Report<'a> {
        program: &'static str,
        version: &'static str,
        bow: BowJson<'a>,
        limbs: Both<LimbJson>,
        string: StringJson,
        nocks: Both<NockJson<'a>>,
        strength: Both<StrengthJson>,
        tip_variants: Vec<VariantJson>,
        checks: Vec<CheckJson<'a>>,
        cautions: String,
    }
    #[derive(Serialize)]
    struct NockJson<'a> {
        style: &'a str,
        findings: Vec<FindingJson>,
    }
    #[derive(Serialize)]
    struct StrengthJson {
        findings: Vec<FindingJson>,
        advice: String,
    }
    #[derive(Serialize)]
    struct VariantJson {
        width_change: f64,
        thickness_change: f64,
        reserve: Both<f64>,
        outer_half_g: Both<Option<f64>>,
    }
    #[derive(Serialize)]
    struct FindingJson {
        id: &'static str,
        label: String,
        value: f64,
        unit: &'static str,
        note: String,
    }
    #[derive(Serialize)]
    struct CheckJson<'a> {
        id: &'static str,
        limb: Option<&'static str>,
        title: &'a str,
        measured: f64,
        allowed: f64,
        margin: f64,
        bound: &'static str,
        unit: &'static str,
        verdict: &'static str,
        why: &'a str,
        source: &'a str,
        cure: &'a str,
    }
    let shown = |f: Finding| {
        let (unit, scale) = unit(f.quantity);
        FindingJson { id: f.id, label: f.label, value: rounded(f.value * scale), unit, note: f.note }
    };
    to_json(&Report {
        program: env!("CARGO_PKG_NAME"),
        version: env!("CARGO_PKG_VERSION"),
        strength: Both::build(|side| StrengthJson {
            findings: soundness::findings(worked, side).into_iter().map(shown).collect(),
            advice: soundness::advice(side, worked.sideways().get(side)),
        }),
        tip_variants: worked
            .tip_variants()
            .as_deref()
            .unwrap_or_default()
            .iter()
            .map(|v| VariantJson {
                width_change: v.width,
                thickness_change: v.thickness,
                reserve: v.reserve.map(|r| rounded(*r)),
                outer_half_g: v.mass.map(|m| m.map(|kg| rounded(kg * 1e3))),
            })
            .collect(),
        bow: BowJson::of(&worked.design, &worked.statics.cycle),
        limbs: limbs_json(&worked.statics, Some(worked.loops())),
        string: StringJson::of(&worked.statics.cycle),
        nocks: Both::build(|side| NockJson {
            style: worked.design.nocks.get(side).style,
            findings: worked.findings(side).into_iter().map(shown).collect(),
        }),
        checks: checks
            .iter()
            .map(|c| {
                let (unit, scale) = unit(c.quantity);
                CheckJson {
                    id: c.id,
                    limb: c.side.map(Side::name),
                    title: &c.title,
                    measured: rounded(c.measured * scale),
                    allowed: rounded(c.allowed * scale),
                    margin: rounded(c.margin()),
                    bound: if c.bound == Bound::AtLeast { "at_least" } else { "at_most" },
                    unit,
                    verdict: c.verdict.name(),
                    why: &c.why,
                    source: &c.source,
                    cure: &c.cure,
                }
            })
            .collect(),
        cautions: cautions(&worked.design),
    })
}

/// The unit a quantity has in JSON, and what an SI value is multiplied by to get it.
pub(super) fn unit(quantity: Quantity) -> (&'static str, f64) {
    match quantity {
        Quantity::Length => ("mm", 1e3),
        Quantity::Angle => ("deg", 1f64.to_degrees()),
        Quantity::Force => ("N", 1.0),
        Quantity::Stress => ("MPa", 1e-6),
        Quantity::Modulus => ("GPa", 1e-9),
        Quantity::Moment => ("N m", 1.0),
        Quantity::Energy => ("J", 1.0),
        Quantity::Mass => ("g", 1e3),
        Quantity::LineLoad => ("N/mm", 1e-3),
        Quantity::Ratio => ("1", 1.0),
        Quantity::Count => ("count", 1.0),
    }
}
