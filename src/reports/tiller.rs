//! The report of `tiller`.

use super::check::CAUTIONS;
use super::lists::wrapped;
use super::sweep::{draw_words, rounded, to_json};
use crate::bow::draw_curve::Cycle;
use crate::design::{Both, Design, Side, StiffnessAt, Units};
use crate::tiller::strays::{Slip, Stray};
use crate::tiller::table::{Tiller, Told, stray_words};
use crate::units::{INCH, angle_text, number_text, plain_length_text};
use serde::Serialize;
use std::fmt::Write;

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
    for line in says(design, told) {
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
        text.push_str("\nto let string angles, checks and sheets follow it, write into the file:\n");
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

/// What the distances say, in sentences.
fn says(design: &Design, told: &Told) -> Vec<String> {
    let start = design.bow.stiff_handle / 2.0;
    let place = |m: f64| plain_length_text(m, design.units);
    let mut lines = Vec::new();
    for stray in &told.strays {
        lines.push(format!("Left out, measure it again: {}.", stray_words(design, stray)));
    }
    let alone = Side::BOTH.into_iter().find(|&side| told.places.get(side).is_empty());
    if let Some(side) = alone {
        lines.push(format!(
            "Nothing was measured on the {} limb: it is taken as designed, and the other is told against it. What is amiss there would \
             show here as its opposite: a weak stretch as a stiff one.",
            side.name()
        ));
    }
    match &told.stretch {
        Ok(Some(s)) => {
            let per_cent = |factor: f64| {
                format!(
                    "{} % {} than the design",
                    number_text(100.0 * (factor - 1.0).abs(), 0),
                    if factor < 1.0 { "weaker" } else { "stiffer" }
                )
            };
            let longer = s.if_longer.map_or_else(String::new, |factor| {
                format!(
                    " One twice as long, {} in its middle, explains the distances as well: they tell per cent and length together, so feel \
                     for its length at the limb before you scrape.",
                    per_cent(factor)
                )
            });
            lines.push(format!(
                "One stretch stands out: the {} limb about {} from the middle, give or take {}, is {}, give or take {} %, if it fades over \
                 {} to either side.{longer} With it the distances are met to {} mm on the whole.",
                s.side.name(),
                place(start + s.at),
                place(0.5 * s.reach),
                per_cent(s.factor),
                number_text(100.0 * s.spread, 1),
                place(s.reach),
                number_text(1e3 * s.left, 2)
            ));
        }
        Ok(None) => lines.push(format!(
            "No single stretch stands out of what distances sure to {} mm can tell.",
            number_text(1e3 * design.tiller.sure_to, 2)
        )),
        Err(fault) => {
            lines.push(format!("A single weak or stiff stretch is not named: {}; {}.", fault.what, fault.why))
        }
    }
    match &told.taper {
        // One stretch asks for less and is surer; a taper beside it would only smear it out.
        _ if matches!(told.stretch, Ok(Some(_))) => {}
        Ok(fitted) => {
            lines.push(format!(
                "As a whole taper, against {}; {} mm are left on the whole:",
                match alone {
                    None => "the bow's own mean (the scale tells how stiff it is as a whole)".to_owned(),
                    Some(side) => format!("the {} limb as designed", side.name()),
                },
                number_text(1e3 * fitted.left, 2)
            ));
            for side in Side::BOTH {
                let each = told.places.get(side).iter().zip(fitted.factor.get(side)).zip(fitted.spread.get(side));
                for ((at, factor), spread) in each {
                    let off = factor - 1.0;
                    let word = match off {
                        o if o.abs() <= 3.0 * spread => "as designed, as far as can be told",
                        o if o < 0.0 => "weak",
                        _ => "stiff",
                    };
                    lines.push(format!(
                        "  {} limb, {} from the middle: {}{} % ± {} %, {word}",
                        side.name(),
                        place(*at),
                        if off > 0.0 { "+" } else { "" },
                        number_text(100.0 * off, 1),
                        number_text(100.0 * spread, 1)
                    ));
                }
            }
        }
        Err(fault) => lines.push(format!("A whole taper is not told: {}; {}. {}.", fault.what, fault.why, fault.cure)),
    }
    lines
}

/// For programs: mm, degrees.
pub fn json(design: &Design, found: &Tiller) -> String {
    #[derive(Serialize)]
    struct Report<'a> {
        program: &'static str,
        version: &'static str,
        bow: &'a str,
        limbs: Both<LimbJson>,
        measured: Vec<MeasuredJson>,
        left_out: Vec<StrayJson>,
        stretch: Option<StretchJson>,
        taper: Option<Both<Vec<PlaceJson>>>,
        notes: Vec<String>,
        string_angle_deg: Option<Both<[f64; 2]>>,
    }
    #[derive(Serialize)]
    struct LimbJson {
        at_mm: Vec<f64>,
        lines: Vec<LineJson>,
    }
    #[derive(Serialize)]
    struct LineJson {
        draw_mm: Option<f64>,
        distance_mm: Vec<f64>,
    }
    #[derive(Serialize)]
    struct MeasuredJson {
        limb: &'static str,
        at_mm: f64,
        draw_mm: Option<f64>,
        measured_mm: f64,
        expected_mm: f64,
        fitted_mm: Option<f64>,
    }
    #[derive(Serialize)]
    struct StrayJson {
        measured: usize,
        about_mm: f64,
        why: &'static str,
    }
    #[derive(Serialize)]
    struct StretchJson {
        limb: &'static str,
        at_mm: f64,
        reach_mm: f64,
        factor: f64,
        spread: f64,
        factor_if_longer: Option<f64>,
        left_mm: f64,
    }
    #[derive(Serialize)]
    struct PlaceJson {
        at_mm: f64,
        factor: f64,
        spread: f64,
    }
    let mm = |m: f64| rounded(m * 1e3);
    let start = design.bow.stiff_handle / 2.0;
    let told = found.told.as_ref();
    let angles = |cycle: &Cycle, side: Side| {
        [cycle.at_brace(), cycle.at_full_draw()].map(|s| rounded(s.limbs.get(side).string_angle.to_degrees()))
    };
    to_json(&Report {
        program: env!("CARGO_PKG_NAME"),
        version: env!("CARGO_PKG_VERSION"),
        bow: &design.name,
        limbs: Both::build(|side| LimbJson {
            at_mm: found.stations.get(side).iter().copied().map(mm).collect(),
            lines: found
                .lines
                .get(side)
                .iter()
                .map(|l| LineJson {
                    draw_mm: l.draw.map(mm),
                    distance_mm: l.distances.iter().copied().map(mm).collect(),
                })
                .collect(),
        }),
        measured: found
            .beside
            .iter()
            .map(|b| MeasuredJson {
                limb: b.measured.side.name(),
                at_mm: mm(b.measured.at),
                draw_mm: b.measured.draw.map(mm),
                measured_mm: mm(b.measured.distance),
                expected_mm: mm(b.expected),
                fitted_mm: b.fitted.map(mm),
            })
            .collect(),
        left_out: told
            .map(|t| {
                let shown = |s: &Stray| StrayJson {
                    measured: s.index,
                    about_mm: mm(s.about),
                    why: match s.slip {
                        Some(Slip::Decimal) => "slipped decimal",
                        Some(Slip::Unit) => "unit mixed up",
                        None => "the others contradict it",
                    },
                };
                t.strays.iter().map(shown).collect()
            })
            .unwrap_or_default(),
        stretch: told.and_then(|t| t.stretch.as_ref().ok().copied().flatten()).map(|s| StretchJson {
            limb: s.side.name(),
            at_mm: mm(start + s.at),
            reach_mm: mm(s.reach),
            factor: rounded(s.factor),
            spread: rounded(s.spread),
            factor_if_longer: s.if_longer.map(rounded),
            left_mm: mm(s.left),
        }),
        taper: told.and_then(|t| {
            let fitted = t.taper.as_ref().ok()?;
            Some(Both::build(|side| {
                let each = t.places.get(side).iter().zip(fitted.factor.get(side)).zip(fitted.spread.get(side));
                each.map(|((at, factor), spread)| PlaceJson {
                    at_mm: mm(*at),
                    factor: rounded(*factor),
                    spread: rounded(*spread),
                })
                .collect()
            }))
        }),
        notes: told.map(|t| says(design, t)).unwrap_or_default(),
        string_angle_deg: told.map(|t| Both::build(|side| angles(&t.cycle, side))),
    })
}
