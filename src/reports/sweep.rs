//! The sweep as a table, as comma-separated values and as JSON.

use crate::bow::draw_curve::{BowAtDraw, Cycle};
use crate::design::{Both, Design, DrawTo, Side, Units};
use crate::units::{INCH, POUND, angle_text, force_text, length_text, number_text, plain_length_text};
use crate::worked::Statics;
use serde::Serialize;
use std::fmt::Write;

/// How the design measures draw, in words.
pub fn draw_words(to: DrawTo) -> &'static str {
    match to {
        DrawTo::Back => "to the back of the bow",
        DrawTo::Pivot => "to the pivot",
        DrawTo::PivotPlus => "to the pivot, plus 1 3/4 in",
    }
}

/// A table for people.
pub fn table(design: &Design, statics: &Statics) -> String {
    let mut text = String::new();
    let units = design.units;
    let cycle = &statics.cycle;
    let _ = writeln!(
        text,
        "{}: the string's sweep, brace to full draw (draw measured {})\n",
        design.name,
        draw_words(design.bow.draw_to)
    );
    let (length, force) = match units {
        Units::Inch => ("in", "lb"),
        Units::Millimetre => ("mm", "N"),
    };
    let _ = writeln!(text, "{:>9} {:>9}   {:^23}   {:^23}   {:>6}", "", "", "upper tip", "lower tip", "handle");
    let _ = writeln!(
        text,
        "{:>9} {:>9}   {:>11} {:>11}   {:>11} {:>11}   {:>6}",
        format!("draw {length}"),
        format!("force {force}"),
        format!("pull {force}"),
        "angle",
        format!("pull {force}"),
        "angle",
        "leans"
    );
    for state in &cycle.states {
        let (draw, force_unit) = match units {
            Units::Inch => (number_text(state.draw / INCH, 2), POUND),
            Units::Millimetre => (number_text(state.draw * 1e3, 0), 1.0),
        };
        let force = |newtons: f64| number_text(newtons / force_unit, 1);
        let Both { upper, lower } = &state.limbs;
        let _ = writeln!(
            text,
            "{:>9} {:>9}   {:>11} {:>11}   {:>11} {:>11}   {:>6}",
            draw,
            force(state.force),
            force(upper.pull),
            angle_text(upper.string_angle),
            force(lower.pull),
            angle_text(lower.string_angle),
            angle_text(state.tilt)
        );
    }
    text.push('\n');
    for side in Side::BOTH {
        let swing = statics.swings.get(side);
        let _ = writeln!(
            text,
            "{:<6} string angle {} at brace, {} at full draw: sweep {}; over the whole range {} to {}",
            side.name(),
            angle_text(swing.brace),
            angle_text(swing.full_draw),
            angle_text(swing.full_draw - swing.brace),
            angle_text(swing.least),
            angle_text(swing.greatest)
        );
    }
    let _ = writeln!(
        text,
        "string {} between the nock seats; brace height {}; energy stored by the draw {} J",
        length_text(cycle.braced.string_length, units),
        plain_length_text(cycle.braced.brace_height, units),
        number_text(cycle.energy, 1)
    );
    let full = cycle.at_full_draw();
    let _ = writeln!(text, "at full draw the hand holds {}", force_text(full.force, units));
    text
}

/// Comma-separated values, one line a draw step: mm, N, degrees.
pub fn csv(statics: &Statics) -> String {
    let mut text = String::from(
        "draw_mm,force_n,upper_pull_n,upper_string_angle_deg,lower_pull_n,lower_string_angle_deg,handle_lean_deg\n",
    );
    for state in &statics.cycle.states {
        let Both { upper, lower } = &state.limbs;
        let _ = writeln!(
            text,
            "{},{},{},{},{},{},{}",
            number_text(state.draw * 1e3, 3),
            number_text(state.force, 3),
            number_text(upper.pull, 3),
            number_text(upper.string_angle.to_degrees(), 4),
            number_text(lower.pull, 3),
            number_text(lower.string_angle.to_degrees(), 4),
            number_text(state.tilt.to_degrees(), 4)
        );
    }
    text
}

/// JSON for programs.
pub fn json(design: &Design, statics: &Statics) -> String {
    #[derive(Serialize)]
    struct Sweep<'a> {
        program: &'static str,
        version: &'static str,
        bow: BowJson<'a>,
        limbs: Both<LimbJson>,
        string: StringJson,
    }
    to_json(&Sweep {
        program: env!("CARGO_PKG_NAME"),
        version: env!("CARGO_PKG_VERSION"),
        bow: BowJson::of(design, &statics.cycle),
        limbs: limbs_json(statics),
        string: StringJson::of(&statics.cycle),
    })
}

/// The bow's part of both JSON reports.
#[derive(Serialize)]
pub struct BowJson<'a> {
    name: &'a str,
    draw_to: &'static str,
    brace_height_mm: f64,
    energy_j: f64,
    work_j: f64,
    stiffness_factor: f64,
    draw_curve: Vec<DrawJson>,
}

#[derive(Serialize)]
struct DrawJson {
    draw_mm: f64,
    to_pivot_mm: f64,
    force_n: f64,
    handle_lean_deg: f64,
}

/// One limb's part of both JSON reports.
#[derive(Serialize)]
pub struct LimbJson {
    string_angle_deg: AnglesJson,
    cycle: Vec<StepJson>,
}

#[derive(Serialize)]
struct AnglesJson {
    brace: f64,
    full_draw: f64,
    sweep: f64,
    least: f64,
    greatest: f64,
}

#[derive(Serialize)]
struct StepJson {
    draw_mm: f64,
    pull_n: f64,
    string_angle_deg: f64,
}

/// The string's part of both JSON reports.
#[derive(Serialize)]
pub struct StringJson {
    length_mm: f64,
}

impl<'a> BowJson<'a> {
    /// From a design and its cycle.
    pub fn of(design: &'a Design, cycle: &Cycle) -> Self {
        BowJson {
            name: &design.name,
            draw_to: match design.bow.draw_to {
                DrawTo::Back => "back",
                DrawTo::Pivot => "pivot",
                DrawTo::PivotPlus => "pivot+1.75in",
            },
            brace_height_mm: rounded(cycle.braced.brace_height * 1e3),
            energy_j: rounded(cycle.energy),
            work_j: rounded(cycle.work),
            stiffness_factor: rounded(cycle.stiffness_factor),
            draw_curve: cycle
                .states
                .iter()
                .map(|s| DrawJson {
                    draw_mm: rounded(s.draw * 1e3),
                    to_pivot_mm: rounded(s.to_pivot * 1e3),
                    force_n: rounded(s.force),
                    handle_lean_deg: rounded(s.tilt.to_degrees()),
                })
                .collect(),
        }
    }
}

/// Both limbs' parts.
pub fn limbs_json(statics: &Statics) -> Both<LimbJson> {
    Both::build(|side| {
        let swing = statics.swings.get(side);
        let degrees = |angle: f64| rounded(angle.to_degrees());
        let step = |state: &BowAtDraw| {
            let limb = state.limbs.get(side);
            StepJson {
                draw_mm: rounded(state.draw * 1e3),
                pull_n: rounded(limb.pull),
                string_angle_deg: degrees(limb.string_angle),
            }
        };
        LimbJson {
            string_angle_deg: AnglesJson {
                brace: degrees(swing.brace),
                full_draw: degrees(swing.full_draw),
                sweep: degrees(swing.full_draw - swing.brace),
                least: degrees(swing.least),
                greatest: degrees(swing.greatest),
            },
            cycle: statics.cycle.states.iter().map(step).collect(),
        }
    })
}

impl StringJson {
    /// From a cycle.
    pub fn of(cycle: &Cycle) -> Self {
        StringJson { length_mm: rounded(cycle.braced.string_length * 1e3) }
    }
}

/// A number to nine significant digits and without `-0`: enough for any use, and the same on machines whose last
/// digits differ.
pub fn rounded(value: f64) -> f64 {
    if value == 0.0 || !value.is_finite() {
        return 0.0_f64.max(value);
    }
    let digits = 8 - value.abs().log10().floor() as i32;
    let text = format!("{value:.*}", digits.clamp(0, 12) as usize);
    text.parse::<f64>().map_or(value, |v| v + 0.0)
}

/// Pretty JSON with a line end.
pub fn to_json(value: &impl Serialize) -> String {
    serde_json::to_string_pretty(value).map_or_else(|error| format!("{{\"error\": \"{error}\"}}\n"), |t| t + "\n")
}
