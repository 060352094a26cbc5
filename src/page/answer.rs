//! The answer to a change: design text in; form, faults, numbers and figure out.
//!
//! It comes in parts. The first, [`changed`], holds the statics and the nocks laid out for them at the one step of the draw that is
//! shown, and is there within a frame; [`steps`] are the lines of all others; [`followed`] holds the loop followed through the
//! draw and back, and all checks; [`beside`] the same loop on straight grooves, to look at.

use std::ops::Range;

use serde::{Deserialize, Serialize};

use super::drawing::{BowAt, BowView, Pen, TipAt, TipView};
use super::edit::{self, Written};
use super::fields::{self, Field, Group};
use super::lists;
use super::loop_drawing::{self, LoopView};
use super::memory::{Form, Memory};
use super::numbers::{self, Judged, Rows};
use super::reach::{self, Reach};
use super::slider;
use crate::bow::draw_curve::BowAtDraw;
use crate::design::{Both, Design, Side, Units};
use crate::fault::Fault;
use crate::nock::beside;
use crate::reports::check::cautions;
use crate::string::hanging::{Hanging, hang};
use crate::string::path::Settings;
use crate::units::{force_text, number_text, plain_length_text};
use crate::worked::{Statics, Worked};

/// What the page sends when something is changed.
#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Change {
    /// The design as it stands on the page.
    pub text: String,
    /// What is to be changed in it; nothing for the text as it stands.
    #[serde(default)]
    pub set: Option<Set>,
    /// The step of the draw that is shown; half draw where none is named.
    #[serde(default)]
    pub step: Option<usize>,
    /// The form that the page shows: what came with it as its mark.
    #[serde(default)]
    pub form: Option<u64>,
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
    /// A row is put in before all others where none is named.
    Row { list: String, row: Option<usize>, take: bool },
}

/// The first part.
#[derive(Debug, Serialize)]
pub(super) struct Changed {
    /// The design as it stands now.
    text: String,
    /// The bow's name; what is shown as the page's heading.
    name: String,
    units: &'static str,
    /// A mark to name this form by.
    form: u64,
    /// The whole form; none where the page shows one that differs from it in some fields only.
    groups: Option<Vec<Group>>,
    /// Those fields.
    fields: Vec<Field>,
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
    /// How many steps the draw has.
    count: usize,
    /// The step half way from brace to full draw.
    middle: usize,
    /// The step that is drawn here.
    at: usize,
    now: Step,
    bow: BowView,
    tips: Both<TipView>,
    numbers: Vec<Rows>,
}

/// One step of the draw.
#[derive(Debug, Serialize)]
pub(super) struct Step {
    draw: String,
    force: String,
    bow: BowAt,
    tips: Both<TipAt>,
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
    cautions: String,
}

/// The third part: the same beside straight grooves.
#[derive(Debug, Serialize)]
pub(super) struct Beside {
    plots: Both<Reach>,
    /// Why a straight groove cannot be filed there, where it cannot.
    no_straight: Both<String>,
}

/// Reads a text and works out the first part.
pub(super) fn changed(memory: &Memory, change: Change) -> Changed {
    let before = change.text;
    let (text, slip) = match change.set.map(|set| apply(&before, set)) {
        None => (before, None),
        Some(Ok(text)) => (text, None),
        Some(Err(fault)) => (before, Some(fault)),
    };
    let taken = memory.taken(&text);
    let written = Written::new(&text);
    let groups = fields::groups(&written, taken.reading.as_ref().ok());
    let tell = |fault: &Fault| told(&text, &groups, fault);
    let mut faults: Vec<Told> = slip.iter().map(tell).collect();
    let mut remarks = Vec::new();
    match &taken.reading {
        Ok(reading) => remarks.extend(reading.remarks.iter().map(tell)),
        Err(refusal) => faults.extend(refusal.faults().map(tell)),
    }
    let figure = match &taken.worked {
        Some(Ok(worked)) => Some(figure(worked, change.step)),
        Some(Err(refusal)) => {
            faults.extend(refusal.faults().map(tell));
            None
        }
        None => None,
    };
    let name = taken.reading.as_ref().map(|r| r.design.name.clone()).ok().or(written.value("bow.name").map(|v| v.0));
    let units = match taken.reading.as_ref().map(|r| r.design.units) {
        Ok(Units::Millimetre) => "mm",
        Ok(Units::Inch) => "inch",
        Err(_) => "",
    };
    let Form { mark: form, groups, fields } = memory.form(groups, change.form);
    Changed { name: name.unwrap_or_default(), units, form, groups, fields, faults, remarks, figure, text }
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
        Set::Row { list, row: Some(row), take: true } => edit::take_row(text, &list, row),
        Set::Row { list, row, .. } => match lists::new_row(&Written::new(text), &list, row) {
            Some(new) => edit::put_row(text, &list, row, &new),
            None => Err(Fault::at(
                list,
                "no row can be put in here",
                "it stands half way between two rows that can be read",
            )
            .cure("mend the rows about it first, or write it in the design file's text")),
        },
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

/// What is drawn and said of an accepted design at one step of the draw.
pub(super) fn figure(worked: &Worked, step: Option<usize>) -> Figure {
    let Worked { design, statics, nocks, .. } = worked;
    let states = &statics.cycle.states;
    let middle = statics.cycle.half_draw();
    let at = step.unwrap_or(middle).min(states.len() - 1);
    let pen = Pen::of(design, statics, nocks);
    Figure {
        count: states.len(),
        middle,
        at,
        now: step_at(&pen, design, &states[at]),
        bow: pen.bow(),
        tips: Both::build_together(|side| pen.tip(side)),
        numbers: numbers::of_statics(design, statics),
    }
}

fn step_at(pen: &Pen, design: &Design, state: &BowAtDraw) -> Step {
    Step {
        draw: plain_length_text(state.draw, design.units),
        force: force_text(state.force, design.units),
        bow: pen.bow_at(state),
        tips: Both::build(|side| pen.tip_at(side, state)),
    }
}

/// All steps of the draw.
pub(super) fn all_steps(worked: &Worked) -> Vec<Step> {
    let Worked { design, statics, nocks, .. } = worked;
    let pen = Pen::of(design, statics, nocks);
    statics.cycle.states.iter().map(|state| step_at(&pen, design, state)).collect()
}

/// What a text gives that is accepted and has nocks; none where it is refused.
fn of<T>(memory: &Memory, text: &str, what: impl FnOnce(&Worked) -> T) -> Option<T> {
    match &memory.taken(text).worked {
        Some(Ok(worked)) => Some(what(worked)),
        _ => None,
    }
}

/// All steps of the text's draw; none where the text is refused.
pub(super) fn steps(memory: &Memory, text: &str) -> Option<Vec<Step>> {
    of(memory, text, all_steps)
}

/// Follows the loop on the text's nocks; none where the text is refused.
pub(super) fn followed(memory: &Memory, text: &str) -> Option<Followed> {
    of(memory, text, of_worked)
}

/// Follows it on straight grooves in the same limbs' ends too, which takes longer; none where the text is refused.
pub(super) fn beside(memory: &Memory, text: &str) -> Option<Beside> {
    of(memory, text, beside_straight)
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
        loops: Both::build_together(|side| loop_drawing::followed(nocks.get(side), loops.get(side))),
        reach: Both::build(words),
        plots: Both::build(plot),
        numbers: Side::BOTH.map(|side| numbers::of_nock(worked, side)).into(),
        checks,
        tally,
        cautions: cautions(design),
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
