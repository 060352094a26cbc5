//! The answer to a change: design text in; form, faults, numbers and figure out.
//!
//! It comes in three parts. The first, [`changed`], holds the statics and the nocks laid out for them and is there within a frame;
//! the second, [`followed`], holds the loop followed through the draw and back, and all checks; the third, [`beside`], the same loop on
//! straight grooves, to look at.

use std::ops::Range;

use serde::{Deserialize, Serialize};

use super::drawing::{self, BowView, LoopView, TipView};
use super::edit::{self, Written};
use super::fields::{self, Group};
use super::numbers::{self, Judged, Rows};
use super::reach::{self, Reach};
use super::slider;
use crate::bow::draw_curve::DRAW_STEPS;
use crate::design::file::{Overrides, Reading, Refusal, read_bytes};
use crate::design::{Both, Design, Side, Units};
use crate::fault::Fault;
use crate::nock::{Nock, beside};
use crate::reports::check::CAUTIONS;
use crate::string::hanging::{Hanging, hang};
use crate::string::path::Settings;
use crate::units::{force_text, number_text, plain_length_text};
use crate::worked::{Statics, Worked, nocks};

/// What the page sends when something is changed.
#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Change {
    /// The design as it stands on the page.
    pub text: String,
    /// What is to be changed in it; nothing for the text as it stands.
    #[serde(default)]
    pub set: Option<Set>,
}

/// One change to the text.
#[derive(Debug, Deserialize)]
#[serde(untagged, deny_unknown_fields)]
pub(super) enum Set {
    /// A value as typed.
    Typed { key: String, value: String },
    /// A slider moved to a step.
    Slid { key: String, step: String, at: i64 },
    /// A row put in after another one, or taken out.
    Row { list: String, row: usize, take: bool },
}

/// The first part.
#[derive(Debug, Serialize)]
pub(super) struct Changed {
    /// The design as it stands now.
    text: String,
    /// The bow's name; what is shown as the page's heading.
    name: String,
    units: &'static str,
    groups: Vec<Group>,
    faults: Vec<Told>,
    remarks: Vec<Told>,
    figure: Option<Figure>,
}

/// A fault or a remark as the page shows it.
#[derive(Debug, Serialize)]
pub(super) struct Told {
    /// The field to show it beside; none where there is no such field.
    field: Option<String>,
    /// Line and column in the text, from 1.
    line: Option<usize>,
    column: Option<usize>,
    /// The place in the text, counted as a browser counts.
    from: usize,
    to: usize,
    what: String,
    why: String,
    cure: String,
}

/// What is drawn and said as soon as the statics are known.
#[derive(Debug, Serialize)]
pub(super) struct Figure {
    steps: Vec<StepWords>,
    /// The step that is half way from brace to full draw.
    middle: usize,
    bow: BowView,
    tips: Both<TipView>,
    numbers: Vec<Rows>,
}

/// One step of the draw in words.
#[derive(Debug, Serialize)]
pub(super) struct StepWords {
    draw: String,
    force: String,
}

/// The second part.
#[derive(Debug, Serialize)]
pub(super) struct Followed {
    /// Whether the string is tied on, and no loop is followed.
    tied: Both<bool>,
    loops: Both<LoopView>,
    /// Reach and hardest bearing at the bow's own steps, in words; as far as the loop was followed.
    reach: Both<Vec<[String; 2]>>,
    /// Reach against draw, of these nocks alone.
    plots: Both<Reach>,
    numbers: Vec<Rows>,
    checks: Vec<Judged>,
    /// How many checks came out which way.
    tally: String,
    cautions: &'static str,
}

/// The third part: the same beside straight grooves.
#[derive(Debug, Serialize)]
pub(super) struct Beside {
    plots: Both<Reach>,
    /// Why a straight groove cannot be filed there, where it cannot.
    no_straight: Both<String>,
}

/// Reads a text and works out the first part.
pub(super) fn changed(change: Change) -> Changed {
    let before = change.text;
    let (text, slip) = match change.set.map(|set| apply(&before, set)) {
        None => (before, None),
        Some(Ok(text)) => (text, None),
        Some(Err(fault)) => (before, Some(fault)),
    };
    let (reading, worked) = work(&text);
    let written = Written::new(&text);
    let groups = fields::groups(&written, reading.as_ref().ok());
    let tell = |fault: &Fault| told(&text, &groups, fault);
    let mut faults: Vec<Told> = slip.iter().map(tell).collect();
    let mut remarks = Vec::new();
    match &reading {
        Ok(reading) => remarks.extend(reading.remarks.iter().map(tell)),
        Err(refusal) => faults.extend(refusal.faults().map(tell)),
    }
    let figure = match (&reading, worked) {
        (Ok(reading), Some(Ok((statics, nocks)))) => Some(figure(&reading.design, &statics, &nocks)),
        (Ok(_), Some(Err(refusal))) => {
            faults.extend(refusal.faults().map(tell));
            None
        }
        _ => None,
    };
    let name = reading.as_ref().map(|r| r.design.name.clone()).ok().or(written.value("bow.name").map(|v| v.0));
    let units = match reading.as_ref().map(|r| r.design.units) {
        Ok(Units::Millimetre) => "mm",
        Ok(Units::Inch) => "inch",
        Err(_) => "",
    };
    Changed { name: name.unwrap_or_default(), units, groups, faults, remarks, figure, text }
}

type Laid = (Statics, Both<Nock>);

/// Reads the text, braces and draws the bow and lays its nocks out.
fn work(text: &str) -> (Result<Reading, Refusal>, Option<Result<Laid, Refusal>>) {
    let reading = read_bytes(text.as_bytes(), "design", &Overrides::default());
    let Ok(mut accepted) = reading else { return (reading, None) };
    let design = &accepted.design;
    let laid = Statics::of(design, DRAW_STEPS)
        .map_err(|fault| vec![fault])
        .and_then(|statics| nocks(design, &statics).map(|nocks| (statics, nocks)));
    let laid = laid.map_err(|faults| accepted.places.refusal(faults));
    (Ok(accepted), Some(laid))
}

/// The text with one change made.
fn apply(text: &str, set: Set) -> Result<String, Fault> {
    match set {
        Set::Typed { key, value } => {
            let written = Written::new(text);
            let bare = fields::find(&fields::groups(&written, None), &key).is_some_and(|field| field.bare);
            edit::set(text, &key, &value, bare)
        }
        Set::Slid { key, step, at } => {
            let value = slider::text(&step, at).ok_or_else(|| {
                Fault::at(key.as_str(), "the slider stands at no measure", "its steps are those that came with it")
            })?;
            edit::set(text, &key, &value, step == "0.01")
        }
        Set::Row { list, row, take } => {
            let values = if take { Vec::new() } else { fields::row_between(&Written::new(text), &list, row) };
            if !take && values.is_empty() {
                return Err(Fault::at(
                    list,
                    "no row can be put in here",
                    "it stands half way between two rows that can be read",
                )
                .cure("mend the rows about it first, or write it in the design file's text"));
            }
            edit::row(text, &list, row, &values)
        }
    }
}

/// A fault with its place as a browser counts it.
fn told(text: &str, groups: &[Group], fault: &Fault) -> Told {
    let field = fields::blamed(groups, &fault.key, fault.span.as_ref());
    // A browser's text field has plain line ends.
    let units = |at: usize| text.get(..at).map_or(0, |before| before.replace("\r\n", "\n").encode_utf16().count());
    let place = fault.span.as_ref().map(|Range { start, .. }| {
        let before = text.get(..*start).unwrap_or(text);
        let line = before.rfind('\n').map_or(before, |at| &before[at + 1..]);
        (before.matches('\n').count() + 1, line.chars().count() + 1)
    });
    let (from, to) = fault.span.as_ref().map_or((0, 0), |span| (units(span.start), units(span.end)));
    Told {
        field,
        line: place.map(|p| p.0),
        column: place.map(|p| p.1),
        from,
        to,
        what: fault.what.clone(),
        why: fault.why.clone(),
        cure: fault.cure.clone(),
    }
}

/// Everything that is drawn and said of an accepted design.
pub(super) fn figure(design: &Design, statics: &Statics, nocks: &Both<Nock>) -> Figure {
    let states = &statics.cycle.states;
    let half = 0.5 * (states[0].to_pivot + statics.cycle.at_full_draw().to_pivot);
    Figure {
        steps: states
            .iter()
            .map(|s| StepWords {
                draw: plain_length_text(s.draw, design.units),
                force: force_text(s.force, design.units),
            })
            .collect(),
        middle: states.partition_point(|s| s.to_pivot < half),
        bow: drawing::bow(design, statics),
        tips: Both::build_together(|side| drawing::tip(design, statics, nocks.get(side), side)),
        numbers: numbers::of_statics(design, statics),
    }
}

/// Reads the text and works it through to its nocks; none where it is refused.
fn worked(text: &str) -> Option<Worked> {
    let (reading, worked) = work(text);
    let design = reading.ok()?.design;
    let (statics, nocks) = worked?.ok()?;
    Some(Worked::with(design, statics, nocks))
}

/// Follows the loop on the text's nocks; none where the text is refused.
pub(super) fn followed(text: &str) -> Option<Followed> {
    worked(text).map(|worked| of_worked(&worked))
}

/// Follows it on straight grooves in the same limbs' ends too, which takes longer; none where the text is refused.
pub(super) fn beside(text: &str) -> Option<Beside> {
    worked(text).map(|worked| beside_straight(&worked))
}

/// The second part of a design worked through.
pub(super) fn of_worked(worked: &Worked) -> Followed {
    let (Worked { design, statics, nocks, .. }, loops) = (worked, worked.loops());
    let words = |side: Side| {
        let hanging = loops.get(side);
        let last = (hanging.last_own + 1).min(hanging.draw.figures.len());
        let figures = hanging.draw.figures.get(hanging.first_own..last).unwrap_or_default();
        let words = figures.iter().map(|f| {
            [format!("{} mm", number_text(f.reach * 1e3, 2)), format!("{} N/mm", number_text(f.most_load / 1e3, 1))]
        });
        words.collect()
    };
    let own = own_draws(statics);
    let plot = |side: Side| reach::plot(&[(design.nocks.get(side).style, loops.get(side))], &own, design.units);
    let (checks, tally) = numbers::judged(worked);
    Followed {
        tied: Both::build(|side| design.is_tied(side)),
        loops: Both::build_together(|side| drawing::followed(nocks.get(side), loops.get(side))),
        reach: Both::build(words),
        plots: Both::build(plot),
        numbers: Side::BOTH.map(|side| numbers::of_nock(worked, side)).into(),
        checks,
        tally,
        cautions: CAUTIONS,
    }
}

/// The third part of a design worked through.
pub(super) fn beside_straight(worked: &Worked) -> Beside {
    let (design, own) = (&worked.design, own_draws(&worked.statics));
    // One limb after the other, on this thread alone: the others are left to what a moving slider asks for.
    let straight = Both::build(|side| straight(worked, side));
    let plot = |side: Side| {
        let mut shown = vec![(design.nocks.get(side).style, worked.loops().get(side))];
        if let Ok(hanging) = straight.get(side) {
            shown.push(("straight groove", hanging));
        }
        reach::plot(&shown, &own, design.units)
    };
    Beside { plots: Both::build(plot), no_straight: straight.map(|s| s.as_ref().err().cloned().unwrap_or_default()) }
}

fn own_draws(statics: &Statics) -> Vec<f64> {
    statics.cycle.states.iter().map(|s| s.draw).collect()
}

/// The loop on a straight groove in the same limb's end, or why there can be none.
fn straight(worked: &Worked, side: Side) -> Result<Hanging, String> {
    let Worked { design, statics, .. } = worked;
    let swing = statics.swings.get(side);
    let nock = beside::straight(statics.ends.get(side), design.nocks.get(side), &design.string, swing)
        .map_err(|faults| faults.into_iter().map(|f| f.what).collect::<Vec<_>>().join("; "))?;
    Ok(hang(&nock, &design.string, &statics.cycle.states, side, swing, Settings::of(&nock.solid)))
}

impl Figure {
    /// The numbers of the statics.
    pub(super) fn numbers(&self) -> &[Rows] {
        &self.numbers
    }
}

impl Followed {
    /// The numbers of the nocks.
    pub(super) fn numbers(&self) -> &[Rows] {
        &self.numbers
    }

    /// All checks, those that fail first.
    pub(super) fn checks(&self) -> &[Judged] {
        &self.checks
    }
}
