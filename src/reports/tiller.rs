//! The report of `tiller`.

use super::check::CAUTIONS;
use super::lists::wrapped;
use super::sweep::{draw_words, rounded, to_json};
use crate::bow::draw_curve::Cycle;
use crate::design::{Both, Design, Side, StiffnessAt, Units};
use crate::fault::Fault;
use crate::tiller::BEHIND;
use crate::tiller::explain::{Cause, PLACE_STANDS_OUT, WholeLimb, is_any_seldom, is_seldom};
use crate::tiller::fit::Wording;
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
        let _ = writeln!(text, "\nto let string angles, checks and sheets follow {first}, write into the file:");
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

/// What is to be known of the table of expected distances.
fn remarks(design: &Design, found: &Tiller) -> Vec<String> {
    let mut lines = Vec::new();
    if Side::BOTH.iter().any(|&side| found.lines.get(side).iter().any(|l| l.distances.iter().any(|d| *d < 0.0))) {
        lines.push(BEHIND.to_owned());
    }
    let farthest = found.states.iter().filter_map(|(draw, _)| *draw).fold(0.0, f64::max);
    let asked = design.serves.draw[1].max(design.bow.draw);
    if farthest > asked + FAR_BEYOND {
        lines.push(format!(
            "Take care: {} is beyond the longest draw in the file, {}. The figures there are geometry alone; whether the limbs bear it is not \
             judged, and a bow drawn so far may break. Put the draw into the file and run `check` first.",
            plain_length_text(farthest, design.units),
            plain_length_text(asked, design.units)
        ));
    }
    lines
}

/// A draw this much beyond the file's longest is told with a caution, m: half an inch, as draws come out at the bow.
const FAR_BEYOND: f64 = INCH / 2.0;

/// What the distances say, in sentences.
fn says(design: &Design, found: &Tiller, told: &Told) -> Vec<String> {
    let mut lines = Vec::new();
    if found.too_few() {
        lines.push(
            "So few distances tell nothing of the limbs' stiffness: measure at more stations and draws, on both limbs."
                .to_owned(),
        );
        let alone = Side::BOTH.into_iter().find(|&side| told.places.get(side).is_empty());
        lines.extend(taper_words(design, told, alone));
        return lines;
    }
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
    if let Some(left) = found.unexplained(design.tiller.sure_to) {
        lines.push(format!(
            "The distances stray from the design by {} on the whole, stated sure to {}, and so few do not tell why. Check the brace height, the \
             draws, the stations and the unstrung profile, and measure at more places.",
            Wording { units: design.units, start: 0.0 }.small(left),
            Wording { units: design.units, start: 0.0 }.small(design.tiller.sure_to)
        ));
        return lines;
    }
    lines.extend(cause_words(design, told, alone));
    lines.extend(taper_words(design, told, alone));
    lines
}

fn per_cent(factor: f64) -> String {
    let word = if factor < 1.0 { "weaker" } else { "stiffer" };
    format!("{} % {word}", number_text(100.0 * (factor - 1.0).abs(), 0))
}

/// Two figures of a range in one unit: `9 % weaker to 14 % weaker` is told as `9 to 14 % weaker`.
fn per_cent_range([a, b]: [f64; 2]) -> String {
    let figure = |f: f64| number_text(100.0 * (f - 1.0).abs(), 0);
    match (a < 1.0, b < 1.0) {
        (true, true) => format!("{} to {} % weaker", figure(b), figure(a)),
        (false, false) => format!("{} to {} % stiffer", figure(a), figure(b)),
        _ => format!("{} to {}", per_cent(a), per_cent(b)),
    }
}

/// Said of an amount that wood seldom comes to.
const FAR: &str = "So much is seldom the wood: something else is wrong, such as a measure of the limb (width, thickness, the unstrung \
                   profile), a wrong station, or a crack. Measure those again before you scrape; no stiffness to write into the file is given.";

/// The best cause.
fn best(told: &Told) -> Option<Cause> {
    told.cause.as_ref().ok().map(|c| c.cause)
}

/// The best cause or its rival, whichever is of a kind.
fn named(told: &Told, kind: impl Fn(&Cause) -> bool) -> Option<Cause> {
    let found = told.cause.as_ref().ok()?;
    [Some(found.cause), found.rival].into_iter().flatten().find(kind)
}

/// What explains the distances best.
fn cause_words(design: &Design, told: &Told, alone: Option<Side>) -> Vec<String> {
    let place = |m: f64| plain_length_text(m, design.units);
    let wording = Wording { units: design.units, start: design.bow.stiff_handle / 2.0 };
    let far = |factor: f64| if is_seldom(factor) { format!(" {FAR}") } else { String::new() };
    let against = |l: &WholeLimb| match alone {
        Some(side) => format!("the {} limb as designed", side.name()),
        None => format!("the {} limb, each beside its design", if l.side == Side::Upper { "lower" } else { "upper" }),
    };
    let named = |cause: &Cause| match cause {
        Cause::Limb(l) => {
            format!(
                "the {} limb as a whole is {} than {}, give or take {} %. With it the distances are met to {} on the whole.{}",
                l.side.name(),
                per_cent(l.factor),
                against(l),
                number_text(100.0 * l.within, 1),
                wording.small(l.left),
                far(l.factor)
            )
        }
        Cause::Stretch(s) => {
            let from = |[a, b]: [f64; 2], start: f64| format!("{} to {}", place(start + a), place(start + b));
            format!(
                "the {} limb about {} from the middle ({}) is {} than the design, if it fades over {} to either side. The distances tell per \
                 cent and length together: it may fade over {} and be {}, the shorter the more; so feel for its length at the limb before you \
                 scrape. Ranges hold about 19 times in 20, for stretches neither shorter nor longer than were looked for. With it the distances are met to {} on the whole.{}",
                s.side.name(),
                place(wording.start + s.at),
                from(s.at_range, wording.start),
                per_cent(s.factor),
                place(s.reach),
                from(s.reach_range, 0.0),
                per_cent_range(s.factor_range),
                wording.small(s.left),
                far(s.factor)
            )
        }
        Cause::AsDesigned => format!(
            "The limbs are as designed, as far as distances sure to {} can tell: neither a stretch nor a whole limb stands out.",
            wording.small(design.tiller.sure_to)
        ),
        Cause::Taper => {
            "No single stretch and no whole limb explains the distances as well as a whole taper does.".to_owned()
        }
    };
    let best = match &told.cause {
        Ok(found) => found,
        Err(fault) if told.taper.as_ref().err() == Some(fault) => {
            return vec![format!(
                "The distances tell no stiffness: {}; {}. {}.",
                fault.what,
                fault.why,
                capital(&fault.cure)
            )];
        }
        Err(fault) => {
            return vec![format!("Neither a single stretch nor a whole limb is named: {}; {}.", fault.what, fault.why)];
        }
    };
    let mut lines = vec![match &best.cause {
        limb @ Cause::Limb(_) => format!("One limb stands out: {}", named(limb)),
        stretch @ Cause::Stretch(_) => format!("One stretch stands out: {}", named(stretch)),
        other => named(other),
    }];
    if let Some(left) = best.hidden {
        lines.push(format!(
            "Yet other limbs would leave only {} of the distances. If you read them about as surely as that, write `sure_to` into [tiller] and \
             ask again: what then stands out is told.",
            wording.small(left)
        ));
    }
    if best.few && matches!(best.cause, Cause::Limb(_)) {
        lines.push(
            "So few distances do not tell a whole limb from a stretch, so no stiffness to write into the file is given: measure at more stations \
             and draws, on both limbs."
                .to_owned(),
        );
    }
    if let (Cause::AsDesigned, Some(l), true) = (best.cause, best.limb, told.taper.is_err()) {
        lines.push(format!(
            "As one factor a limb: the {} limb is {} % {} than {}, ± {} %, as designed as far as can be told.",
            l.side.name(),
            number_text(100.0 * (l.factor - 1.0).abs(), 1),
            if l.factor < 1.0 { "weaker" } else { "stiffer" },
            against(&l),
            number_text(100.0 * l.within, 1)
        ));
    }
    if let Some(rival) = &best.rival {
        lines.push(format!(
            "Nearly as well does another reading explain the distances; more of them would tell the two apart: {}",
            named(rival)
        ));
    }
    lines
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// The taper, where it is told or its reason is news.
fn taper_words(design: &Design, told: &Told, alone: Option<Side>) -> Vec<String> {
    let wording = Wording { units: design.units, start: design.bow.stiff_handle / 2.0 };
    let mut lines = Vec::new();
    let because = |fault: &Fault| format!("{}; {}. {}.", fault.what, fault.why, capital(&fault.cure));
    match &told.taper {
        // What asks for less is surer; a taper beside it would only smear it out.
        Ok(_) if best(told).is_some_and(|c| matches!(c, Cause::Stretch(_) | Cause::Limb(_))) => {}
        Ok(fitted) => {
            if let Some(fault) = &told.fewer {
                lines.push(format!(
                    "A taper at {} places is not told, but one at fewer is: {}",
                    design.tiller.places,
                    because(fault)
                ));
            }
            lines.push(format!(
                "As a whole taper, against {}; {} are left on the whole:",
                match alone {
                    None => "the bow's own mean (the scale tells how stiff it is as a whole)".to_owned(),
                    Some(side) => format!("the {} limb as designed", side.name()),
                },
                wording.small(fitted.left)
            ));
            for side in Side::BOTH {
                let each = told.places.get(side).iter().zip(fitted.factor.get(side)).zip(fitted.spread.get(side));
                for ((at, factor), spread) in each {
                    let off = factor - 1.0;
                    let word = match off {
                        o if o.abs() <= PLACE_STANDS_OUT * spread => "as designed, as far as can be told",
                        o if o < 0.0 => "weak",
                        _ => "stiff",
                    };
                    lines.push(format!(
                        "  {} limb, {} from the middle: {}{} % ± {} %, {word}",
                        side.name(),
                        plain_length_text(*at, design.units),
                        if off > 0.0 { "+" } else { "" },
                        number_text(100.0 * off, 1),
                        number_text(100.0 * spread, 1)
                    ));
                }
            }
            if is_any_seldom(fitted) {
                lines.push(FAR.to_owned());
            }
        }
        Err(fault) if told.cause.as_ref().err() == Some(fault) => {}
        Err(fault) => lines.push(format!("A whole taper is not told: {}", because(fault))),
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
        cause: Option<&'static str>,
        whole_limb: Option<WholeLimbJson>,
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
    struct WholeLimbJson {
        limb: &'static str,
        factor: f64,
        within: f64,
        left_mm: f64,
    }
    #[derive(Serialize)]
    struct StretchJson {
        limb: &'static str,
        at_mm: f64,
        at_range_mm: [f64; 2],
        reach_mm: f64,
        reach_range_mm: [f64; 2],
        factor: f64,
        factor_range: [f64; 2],
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
        cause: told.map(|t| match best(t) {
            _ if found.too_few() || found.unexplained(design.tiller.sure_to).is_some() => "none",
            Some(Cause::AsDesigned) => "as designed",
            Some(Cause::Limb(_)) => "whole limb",
            Some(Cause::Stretch(_)) => "stretch",
            Some(Cause::Taper) => "taper",
            None => "none",
        }),
        whole_limb: told.and_then(|t| match named(t, |c| matches!(c, Cause::Limb(_))) {
            Some(Cause::Limb(l)) => Some(WholeLimbJson {
                limb: l.side.name(),
                factor: rounded(l.factor),
                within: rounded(l.within),
                left_mm: mm(l.left),
            }),
            _ => None,
        }),
        stretch: told.and_then(|t| match named(t, |c| matches!(c, Cause::Stretch(_))) {
            Some(Cause::Stretch(s)) => Some(StretchJson {
                limb: s.side.name(),
                at_mm: mm(start + s.at),
                at_range_mm: s.at_range.map(|at| mm(start + at)),
                reach_mm: mm(s.reach),
                reach_range_mm: s.reach_range.map(mm),
                factor: rounded(s.factor),
                factor_range: s.factor_range.map(rounded),
                left_mm: mm(s.left),
            }),
            _ => None,
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
        notes: remarks(design, found).into_iter().chain(told.iter().flat_map(|t| says(design, found, t))).collect(),
        string_angle_deg: told.map(|t| Both::build(|side| angles(&t.cycle, side))),
    })
}
