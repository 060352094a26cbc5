//! The report of `tiller`.

use super::check::CAUTIONS;
use super::lists::wrapped;
use super::sweep::draw_words;
use crate::bow::draw_curve::Cycle;
use crate::design::{Design, Side, StiffnessAt, Units};
use crate::tiller::table::Tiller;
use crate::units::{INCH, angle_text, number_text, plain_length_text};
use std::fmt::Write;
use words::{remarks, says};

mod json;
mod words;

pub use json::json;

const WIDTH: usize = 100;

/// For people.
pub fn text(design: &Design, found: &Tiller) -> String {
    let mut text = String::new();
    let units = design.units;
    let _ = writeln!(
        text,
        "{}: the tiller, from the string square to it to the belly (draw measured {})",
        design.name,
        draw_words(design.bow.draw_to)
    );
    let unit = if units == Units::Inch { "in" } else { "mm" };
    for side in Side::BOTH {
        let _ = write!(text, "\n{} limb\n  {:>10}", side.name(), format!("at {unit}"));
        for line in found.lines.get(side) {
            let head = line.draw.map_or_else(|| "braced".to_owned(), |d| plain_length_text(d, units));
            let _ = write!(text, " {head:>14}");
        }
        text.push('\n');
        for (k, at) in found.stations.get(side).iter().enumerate() {
            let _ = write!(text, "  {:>10}", figure(*at, units));
            for line in found.lines.get(side) {
                let _ = write!(text, " {:>14}", figure(line.distances[k], units));
            }
            text.push('\n');
        }
    }
    text.push_str("\nplaces: from the middle of the bow along the back\n");
    for line in remarks(design, found) {
        text.push_str(&wrapped(&line, 0, WIDTH));
    }
    let Some(told) = &found.told else {
        text.push_str(&wrapped(
            "No measured distances in the file. Write them as `measured` in [tiller] to be told weak and stiff stretches.",
            0,
            WIDTH,
        ));
        return text;
    };
    text.push_str("\nmeasured\n");
    let _ = writeln!(
        text,
        "  {:<6} {:>10} {:>12} {:>10} {:>10} {:>10} {:>10}",
        "limb",
        format!("at {unit}"),
        "draw",
        "measured",
        "expected",
        "more",
        "fitted"
    );
    for b in &found.beside {
        let m = &b.measured;
        let _ = writeln!(
            text,
            "  {:<6} {:>10} {:>12} {:>10} {:>10} {:>10} {:>10}",
            m.side.name(),
            figure(m.at, units),
            m.draw.map_or_else(|| "braced".to_owned(), |d| plain_length_text(d, units)),
            figure(m.distance, units),
            figure(b.expected, units),
            figure(m.distance - b.expected, units),
            b.fitted.map_or_else(|| "-".to_owned(), |f| figure(f, units))
        );
    }
    text.push('\n');
    for line in says(design, found, told) {
        text.push_str(&wrapped(&line, 0, WIDTH));
    }
    let _ = writeln!(text, "\n  {:<6} {:>26} {:>26}", "limb", "string angle as designed", "with the stiffness found");
    for side in Side::BOTH {
        let _ = writeln!(
            text,
            "  {:<6} {:>26} {:>26}",
            side.name(),
            swing_text(&found.cycle, side),
            swing_text(&told.cycle, side)
        );
    }
    if Side::BOTH.iter().any(|&side| told.stiffness.get(side) != &design.limbs.get(side).stiffness) {
        let first = if told.cause.as_ref().is_ok_and(|c| c.rival.is_some()) { "the first of the two" } else { "it" };
        let _ = writeln!(
            text,
            "\nto let string angles, checks and sheets follow {first}, write into the file (where it has such a table or key, in its place):"
        );
        for side in Side::BOTH {
            if !told.stiffness.get(side).is_empty() {
                let _ = writeln!(text, "  [{}.limb]\n  {}", side.name(), key_line(told.stiffness.get(side), units));
            }
        }
    }
    text.push('\n');
    text.push_str(&wrapped(CAUTIONS, 0, WIDTH));
    text
}

/// Inches with two decimals, or millimetres with one: a tiller is read finer than a tape's fractions.
fn figure(metres: f64, units: Units) -> String {
    match units {
        Units::Inch => number_text(metres / INCH, 2),
        Units::Millimetre => number_text(metres * 1e3, 1),
    }
}

fn swing_text(cycle: &Cycle, side: Side) -> String {
    let angle = |s: &crate::bow::draw_curve::BowAtDraw| angle_text(s.limbs.get(side).string_angle);
    format!("{} to {}", angle(cycle.at_brace()), angle(cycle.at_full_draw()))
}

/// The line of the design file.
fn key_line(places: &[StiffnessAt], units: Units) -> String {
    let place = |p: &StiffnessAt| {
        let at = match units {
            Units::Inch => format!("{} in", number_text(p.at / INCH, 2)),
            Units::Millimetre => format!("{} mm", number_text(p.at * 1e3, 0)),
        };
        format!("{{ at = \"{at}\", factor = {} }}", number_text(p.factor, 3))
    };
    format!("stiffness = [ {} ]", places.iter().map(place).collect::<Vec<_>>().join(", "))
}
