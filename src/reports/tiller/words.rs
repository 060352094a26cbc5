//! What measured distances say, in sentences.

use crate::design::{Design, Side, Units};
use crate::fault::Fault;
use crate::tiller::BEHIND;
use crate::tiller::explain::{Cause, WholeLimb, is_any_seldom, is_seldom};
use crate::tiller::fit::Wording;
use crate::tiller::table::{Tiller, Told, stray_words};
use crate::units::{INCH, inch_text, number_text, plain_length_text};

/// What is to be known of the table of expected distances.
pub(super) fn remarks(design: &Design, found: &Tiller) -> Vec<String> {
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
pub(super) fn says(design: &Design, found: &Tiller, told: &Told) -> Vec<String> {
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
pub(super) fn best(told: &Told) -> Option<Cause> {
    told.cause.as_ref().ok().map(|c| c.cause)
}

/// The best cause or its rival, whichever is of a kind.
pub(super) fn named(told: &Told, kind: impl Fn(&Cause) -> bool) -> Option<Cause> {
    let found = told.cause.as_ref().ok()?;
    [Some(found.cause), found.rival].into_iter().flatten().find(kind)
}

/// What explains the distances best.
fn cause_words(design: &Design, told: &Told, alone: Option<Side>) -> Vec<String> {
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
            let rough = |m: f64, [a, b]: [f64; 2]| rough_text(m, b - a, design.units);
            let from = |r: [f64; 2], start: f64| format!("{} to {}", rough(start + r[0], r), rough(start + r[1], r));
            format!(
                "the {} limb about {} from the middle ({}) is {} than the design, if it fades over {} to either side. The distances tell per \
                 cent and length together: it may fade over {} and be {}, the shorter the more; so feel for its length at the limb before you \
                 scrape. Ranges hold about 19 times in 20, for stretches neither shorter nor longer than were looked for. With it the distances are met to {} on the whole.{}",
                s.side.name(),
                rough(wording.start + s.at, s.at_range),
                from(s.at_range, wording.start),
                per_cent(s.factor),
                rough(s.reach, s.reach_range),
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
            return vec![format!(
                "Neither a single stretch nor a whole limb is named, and no stiffness to write into the file is given: {}; {}. {}.",
                fault.what,
                fault.why,
                capital(&fault.cure)
            )];
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
    if let Some(rival) = best.rival.as_ref().filter(|rival| **rival != Cause::Taper) {
        lines.push(format!(
            "Nearly as well does another reading explain the distances; more of them would tell the two apart: {}",
            named(rival)
        ));
    }
    if let Some(unplaced) = &best.unplaced {
        lines.push(format!(
            "About as well does a single stretch, but where it is the distances do not tell: {}. {} before you scrape.",
            unplaced.what,
            capital(&unplaced.cure)
        ));
    }
    lines
}

/// A length that is known to within `width`, m: no finer than a maker can make use of.
fn rough_text(metres: f64, width: f64, units: Units) -> String {
    match units {
        Units::Inch => inch_text(metres, if width > INCH { 4 } else { 16 }),
        Units::Millimetre => {
            let step = if width > 0.02 { 5e-3 } else { 1e-3 };
            format!("{} mm", number_text((metres / step).round() * step * 1e3, 0))
        }
    }
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
    let rivals = told.cause.as_ref().is_ok_and(|c| c.rival == Some(Cause::Taper));
    match &told.taper {
        // What asks for less is surer; a taper beside it would only smear it out.
        Ok(_) if !rivals && best(told).is_some_and(|c| matches!(c, Cause::Stretch(_) | Cause::Limb(_))) => {}
        // One that fits hardly better than the design says nothing, whatever its places.
        Ok(fitted) if best(told) == Some(Cause::AsDesigned) && fitted.has_a_sure_place() => {
            lines.push(format!(
                "A whole taper would be off at some places, yet leave {}: too little better than the design to be told. A draw, a brace height or \
                 a station that is a little off looks like that.",
                wording.small(fitted.left)
            ));
        }
        Ok(fitted) => {
            if let Some(fault) = &told.fewer {
                lines.push(format!(
                    "A taper at {} places is not told, but one at fewer is: {}",
                    design.tiller.places,
                    because(fault)
                ));
            }
            lines.push(format!(
                "{}, against {}; {} are left on the whole (± holds about 19 times in 20):",
                if rivals { "As well does a whole taper explain them" } else { "As a whole taper" },
                match alone {
                    None => "the bow's own mean (the scale tells how stiff it is as a whole)".to_owned(),
                    Some(side) => format!("the {} limb as designed", side.name()),
                },
                wording.small(fitted.left)
            ));
            let mut named = false;
            for side in Side::BOTH {
                let each = told.places.get(side).iter().zip(fitted.factor.get(side)).zip(fitted.within.get(side));
                for ((at, factor), within) in each {
                    let off = factor - 1.0;
                    let word = match (off.abs() <= *within, off < 0.0) {
                        (true, _) => "as designed, as far as can be told",
                        (false, true) => "weak",
                        (false, false) => "stiff",
                    };
                    named |= off.abs() > *within;
                    lines.push(format!(
                        "  {} limb, {} from the middle: {}{} % ± {} %, {word}",
                        side.name(),
                        plain_length_text(*at, design.units),
                        if off > 0.0 { "+" } else { "" },
                        number_text(100.0 * off, 1),
                        number_text(100.0 * within, 1)
                    ));
                }
            }
            match best(told) {
                _ if fitted.has_a_sure_place() => {}
                Some(Cause::Taper) => {
                    lines.push("No place by itself is surely off; all of them together are.".to_owned());
                }
                _ if named => {
                    lines.push("Among so many places one may be called so by chance: none is surely off.".to_owned());
                }
                _ => {}
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
