//! The report of `weight`.

use super::lists::wrapped;
use super::sweep::{draw_words, rounded, to_json};
use crate::design::{Both, Design, Side, Units};
use crate::units::{INCH, force_text, number_text, plain_length_text};
use crate::weight::columns::{Column, shown};
use crate::weight::plan::{Plan, Shaving, TakeOff};
use serde::Serialize;
use std::fmt::Write;

const WIDTH: usize = 100;

/// Where the simple proportion is from.
const HABIT: &str = "common practice, no source";

/// For people.
pub fn text(design: &Design, plan: &Plan) -> String {
    let mut text = String::new();
    let units = design.units;
    let length = |m: f64| plain_length_text(m, units);
    let force = |n: f64| force_text(n, units);
    let _ = writeln!(
        text,
        "{}: weight at {} (draw measured {})\n",
        design.name,
        length(plan.draw),
        draw_words(design.bow.draw_to)
    );
    for led in &plan.led {
        let _ = writeln!(text, "the scale says {} at {}", force(led.reading.pull), length(led.reading.draw));
        let _ =
            writeln!(text, "  by simple proportion  {} at {}   ({HABIT})", force(led.by_proportion), length(plan.draw));
        let _ = writeln!(text, "  by the draw curve     {} at {}", force(led.by_curve), length(plan.draw));
    }
    if plan.led.len() > 1 {
        let _ = writeln!(text, "\nall readings together  {} at {}", force(plan.foretold), length(plan.draw));
        let _ = writeln!(text, "  the readings stray from the computed curve by up to {}", force(plan.misfit));
    }
    text.push('\n');
    text.push_str(&wrapped(&why(design, plan), 0, WIDTH));
    if plan.draw > 1.02 * design.bow.draw {
        let words = format!(
            "{} is farther than the draw that the bow is designed for, {}: see first with `check --draw` that the wood stands it.",
            length(plan.draw),
            length(design.bow.draw)
        );
        text.push_str(&wrapped(&words, 0, WIDTH));
    }
    let Some(wanted) = plan.wanted else { return text };
    text.push('\n');
    let over = plan.foretold - wanted;
    if let Some(fault) = &plan.withheld {
        let words = format!(
            "Wanted, as the file has it: {} at {}. What to take off is not told: {}. Allowed: {}. What helps: {}.",
            force(wanted),
            length(plan.draw),
            fault.what,
            fault.why,
            fault.cure
        );
        text.push_str(&wrapped(&words, 0, WIDTH));
        return text;
    }
    let Some(off) = &plan.take_off else {
        if over >= 0.0 {
            let words = format!(
                "Wanted: {} at {}. The bow comes to {} as it is, as near as a scale tells: nothing is to come off.",
                force(wanted),
                length(plan.draw),
                force(plan.foretold)
            );
            text.push_str(&wrapped(&words, 0, WIDTH));
            return text;
        }
        let words = format!(
            "Wanted: {} at {}. The bow comes to {}, {} less: wood cannot be put back. A shorter bow gains weight, and so does a \
             longer draw.",
            force(wanted),
            length(plan.draw),
            force(plan.foretold),
            force(-over)
        );
        text.push_str(&wrapped(&words, 0, WIDTH));
        return text;
    };
    let _ = writeln!(
        text,
        "Wanted: {} at {}. {} must come off, {} % of the weight.",
        force(wanted),
        length(plan.draw),
        force(over),
        number_text(100.0 * (1.0 - off.factor), 1)
    );
    let Both { upper, lower } = off.stiffness;
    text.push_str(&wrapped(
        &format!(
            "Stiffness comes down by {} % on the upper limb and {} % on the lower. {} {}",
            number_text(100.0 * (1.0 - upper), 1),
            number_text(100.0 * (1.0 - lower), 1),
            off.tiller(),
            off.which()
        ),
        0,
        WIDTH,
    ));
    for side in Side::BOTH {
        if side == Side::Lower && off.shavings.upper == off.shavings.lower {
            break;
        }
        let whose = if off.shavings.upper == off.shavings.lower { "both limbs" } else { side.name() };
        table(&mut text, whose, off, off.shavings.get(side), units);
    }
    text.push('\n');
    for (column, new) in [
        (Some(&off.by_thickness), "the new thicknesses"),
        (Some(&off.by_width), "the new widths"),
        (off.by_corners.as_ref(), corners_and(off)),
    ] {
        if let Some((weight, reserve)) = column.and_then(|c| Some((c.weight?, c.reserve.as_ref()?))) {
            let words = format!(
                "the whole bow bent anew with {new}: {}; least sideways reserve from brace to {}: {} on the upper limb, {} on the lower",
                force(weight),
                length(plan.draw),
                number_text(reserve.upper, 2),
                number_text(reserve.lower, 2)
            );
            text.push_str(&wrapped(&words, 0, WIDTH));
        }
    }
    text.push_str(&wrapped(&laws(off), 0, WIDTH));
    text
}

/// Why the two ways differ, with this bow's own brace height.
fn why(design: &Design, plan: &Plan) -> String {
    format!(
        "Simple proportion takes the pull for a straight line from no draw at all. The string of this bow already stands at a draw of \
         {} when it pulls nothing on the scale (braced at {}), so each further inch adds more than proportion says, and stacking \
         adds to that. Trust the curve as far as its readings agree with each other.",
        plain_length_text(plan.brace_draw, design.units),
        plain_length_text(plan.brace_height, design.units),
    )
}

/// What the corners' column was tried with.
fn corners_and(off: &TakeOff) -> &'static str {
    if off.shavings.upper.iter().chain(&off.shavings.lower).any(|s| s.corner.is_none()) {
        "the new corners, and the new thicknesses where corners alone do not take off enough"
    } else {
        "the new corners"
    }
}

/// How far the laws behind the columns reach.
fn laws(off: &TakeOff) -> String {
    format!(
        "Stiffness goes with the cube of the thickness and with the width, where the same part comes off all along; off the outer or \
         the inner limb alone it is worth less and moves the bend. {}",
        off.cautions()
    )
}

fn table(text: &mut String, whose: &str, off: &TakeOff, rows: &[Shaving], units: Units) {
    let (thin_does, narrow_does) = (off.by_thickness.does(), off.by_width.does());
    let corners_do = off.by_corners.as_ref().is_some_and(Column::does);
    let (unit, thin) = match units {
        Units::Inch => ("in", "1/1000 in"),
        Units::Millimetre => ("mm", "1/100 mm"),
    };
    let _ = writeln!(text, "\n{whose}");
    let _ = writeln!(
        text,
        "  {:>12}  {:>9} {:>9}   {:>10} {:>9}   {:>10} {:>9}   {:>9}",
        format!("at {unit}"),
        "wide",
        "thick",
        "off thick",
        "to",
        "off wide",
        "to",
        "or corner"
    );
    let _ = writeln!(
        text,
        "  {:>12}  {:>9} {:>9}   {:>10} {:>9}   {:>10} {:>9}   {:>9}",
        "", unit, unit, thin, unit, thin, unit, unit
    );
    for row in rows {
        let size = |m: f64| match units {
            Units::Inch => number_text(m / INCH, 3),
            Units::Millimetre => number_text(m * 1e3, 2),
        };
        let fine = |m: f64| match units {
            Units::Inch => number_text(m / INCH * 1e3, 0),
            Units::Millimetre => number_text(m * 1e5, 0),
        };
        let _ = writeln!(
            text,
            "  {:>12}  {:>9} {:>9}   {:>10} {:>9}   {:>10} {:>9}   {:>9}",
            size(row.now.at),
            size(row.now.width),
            size(row.now.thickness),
            shown(thin_does, fine(row.off_thickness)),
            shown(thin_does, size(row.thinner().thickness)),
            shown(narrow_does, fine(row.off_width)),
            shown(narrow_does, size(row.narrower().width)),
            shown(corners_do, row.corner.map_or_else(|| "-".to_owned(), size))
        );
    }
}

/// For programs: mm, N.
pub fn json(design: &Design, plan: &Plan) -> String {
    #[derive(Serialize)]
    struct Report<'a> {
        program: &'static str,
        version: &'static str,
        bow: &'a str,
        draw_mm: f64,
        readings: Vec<ReadingJson>,
        foretold_n: f64,
        misfit_n: f64,
        brace_height_mm: f64,
        wanted_n: Option<f64>,
        take_off: Option<TakeOffJson<'a>>,
        withheld: Option<&'a str>,
    }
    #[derive(Serialize)]
    struct ReadingJson {
        draw_mm: f64,
        pull_n: f64,
        by_proportion_n: f64,
        by_curve_n: f64,
        proportion_source: &'static str,
    }
    #[derive(Serialize)]
    struct TakeOffJson<'a> {
        factor: f64,
        stiffness_factor: Both<f64>,
        by_thickness: ColumnJson<'a>,
        by_width: ColumnJson<'a>,
        by_corners: Option<ColumnJson<'a>>,
        limbs: Both<Vec<ShavingJson>>,
    }
    #[derive(Serialize)]
    struct ColumnJson<'a> {
        weight_n: Option<f64>,
        sideways_reserve: Option<Both<f64>>,
        does: bool,
        wont: Option<&'a str>,
    }
    #[derive(Serialize)]
    struct ShavingJson {
        at_mm: f64,
        width_mm: f64,
        thickness_mm: f64,
        off_thickness_mm: f64,
        off_width_mm: f64,
        corner_mm: Option<f64>,
    }
    let mm = |m: f64| rounded(m * 1e3);
    fn column(column: &Column) -> ColumnJson<'_> {
        ColumnJson {
            weight_n: column.weight.map(rounded),
            sideways_reserve: column.reserve.as_ref().map(|r| r.map(|v| rounded(*v))),
            does: column.does(),
            wont: column.wont.as_deref(),
        }
    }
    to_json(&Report {
        program: env!("CARGO_PKG_NAME"),
        version: env!("CARGO_PKG_VERSION"),
        bow: &design.name,
        draw_mm: mm(plan.draw),
        readings: plan
            .led
            .iter()
            .map(|l| ReadingJson {
                draw_mm: mm(l.reading.draw),
                pull_n: rounded(l.reading.pull),
                by_proportion_n: rounded(l.by_proportion),
                by_curve_n: rounded(l.by_curve),
                proportion_source: HABIT,
            })
            .collect(),
        foretold_n: rounded(plan.foretold),
        misfit_n: rounded(plan.misfit),
        brace_height_mm: mm(plan.brace_height),
        wanted_n: plan.wanted.map(rounded),
        withheld: plan.withheld.as_ref().map(|fault| fault.what.as_str()),
        take_off: plan.take_off.as_ref().map(|off| TakeOffJson {
            factor: rounded(off.factor),
            stiffness_factor: off.stiffness.map(|f| rounded(*f)),
            by_thickness: column(&off.by_thickness),
            by_width: column(&off.by_width),
            by_corners: off.by_corners.as_ref().map(column),
            limbs: off.shavings.map(|rows| {
                rows.iter()
                    .map(|r| ShavingJson {
                        at_mm: mm(r.now.at),
                        width_mm: mm(r.now.width),
                        thickness_mm: mm(r.now.thickness),
                        off_thickness_mm: mm(r.off_thickness),
                        off_width_mm: mm(r.off_width),
                        corner_mm: r.corner.map(mm),
                    })
                    .collect()
            }),
        }),
    })
}
