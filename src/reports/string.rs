//! The report of `string`.

use super::check::CAUTIONS;
use super::lists::wrapped;
use super::sweep::{rounded, to_json};
use crate::design::{Both, Design, LowerEnd, Side};
use crate::string::making::{ForHeight, LoopSize, Making, TIMES_PULL};
use crate::units::{force_text, length_text, number_text, plain_length_text};
use serde::Serialize;
use std::fmt::Write;

const WIDTH: usize = 100;

/// For people.
pub fn text(design: &Design, made: &Making) -> String {
    let mut text = String::new();
    let units = design.units;
    let length = |m: f64| length_text(m, units);
    let _ = writeln!(text, "{}: its string\n", design.name);
    let mut line = |label: &str, value: String| {
        let _ = writeln!(text, "  {label:<52} {value}");
    };
    line("nock seat to nock seat, slack", length(made.own.slack));
    line(
        &format!(
            "braced to {}, under {}",
            plain_length_text(made.own.brace_height, units),
            force_text(made.own.pull, units)
        ),
        length(made.own.braced),
    );
    for other in &made.others {
        line(
            &format!("slack, for a brace height of {}", plain_length_text(other.brace_height, units)),
            length(other.slack),
        );
    }
    line("each strand to cut", length(made.strand));
    line("greatest pull in the draw", force_text(made.greatest_pull, units));
    // Where the pull in the draw asks for more than the draw weight does.
    let by_pull = made.must_hold > 1.0001 * design.making.times_weight * made.weight;
    let times = if by_pull { TIMES_PULL } else { design.making.times_weight };
    let of = if by_pull { "that pull" } else { "the draw weight" };
    line(&format!("must hold, {} times {of}", number_text(times, 1)), force_text(made.must_hold, units));
    if let (Some(strands), Some(strength)) = (made.strands, design.making.strand_strength) {
        line(&format!("strands of {}", force_text(strength, units)), strands.to_string());
    }
    for side in Side::BOTH {
        let Some(size) = made.loops.get(side) else { continue };
        if let Some(over) = size.over_tip {
            line(
                &format!("{} loop, nock to throat, to pass over the tip", side.name()),
                format!("at least {}", length(over)),
            );
        }
        line(
            &format!("{} loop, to slide {} down the limb", side.name(), plain_length_text(size.slide, units)),
            format!("at least {}", length(size.down_limb)),
        );
    }
    text.push('\n');
    for words in notes(design, made) {
        text.push_str(&wrapped(&words, 0, WIDTH));
    }
    text.push('\n');
    text.push_str(&wrapped(CAUTIONS, 0, WIDTH));
    text
}

fn notes(design: &Design, made: &Making) -> Vec<String> {
    let units = design.units;
    let text = |m: f64| plain_length_text(m, units);
    let making = &design.making;
    let lower = match making.lower_end {
        LowerEnd::Loop => "at both ends".to_owned(),
        LowerEnd::Knot => format!("at the upper end, and {} for the bowyer's knot at the lower", text(making.knot)),
    };
    let mut notes = vec![format!(
        "A strand is cut to the slack length, and more for a loop of {} and a tail of {} laid back behind it, {lower}. The loop's way \
         round the tip, some millimetres, comes off the tail. Twisting takes up more: it is how the brace height is set in the end. Tail, knot and the times of the draw weight: common practice, no \
         source.",
        text(design.string.loop_length),
        text(making.tail),
    )];
    notes.push(match design.string.stiffness {
        Some(_) => "Stretch is taken from the file; a new string also creeps for some days, which is not in it.".into(),
        None => "No stretch is given (`stretch` in [string]), so slack and braced length are the same; make a string that stretches \
                 shorter by what it stretches."
            .into(),
    });
    if making.strand_strength.is_none() {
        notes.push(
            "Give `strand_strength` in [string], the pull that breaks one strand, to be told how many strands.".into(),
        );
    }
    let own = design.string.loop_length;
    for side in Side::BOTH {
        let Some(size) = made.loops.get(side) else { continue };
        if size.over_tip.is_some_and(|over| own < over) {
            notes.push(format!(
                "The {} loop of {} is too short to pass over its tip with ease.",
                side.name(),
                text(own)
            ));
        }
    }
    // One end alone has to slide down; the other stays in its nock.
    if let Some(upper) = made.loops.upper.filter(|size| own < size.down_limb) {
        notes.push(format!(
            "A loop of {} does not slide {} down the upper limb: the bow is unstrung over the tip, by a stringer, or the upper loop is \
             made at least {}.",
            text(own),
            text(upper.slide),
            text(upper.down_limb)
        ));
    }
    notes
}

/// For programs: mm, N.
pub fn json(design: &Design, made: &Making) -> String {
    #[derive(Serialize)]
    struct Report<'a> {
        program: &'static str,
        version: &'static str,
        bow: &'a str,
        string: HeightJson,
        other_brace_heights: Vec<HeightJson>,
        strand_mm: f64,
        strands: Option<u32>,
        must_hold_n: f64,
        greatest_pull_n: f64,
        loops: Both<Option<LoopJson>>,
        notes: Vec<String>,
        cautions: &'static str,
    }
    #[derive(Serialize)]
    struct HeightJson {
        brace_height_mm: f64,
        length_mm: f64,
        braced_length_mm: f64,
        pull_n: f64,
    }
    #[derive(Serialize)]
    struct LoopJson {
        over_tip_mm: Option<f64>,
        down_limb_mm: f64,
        slide_mm: f64,
    }
    let mm = |m: f64| rounded(m * 1e3);
    let height = |h: &ForHeight| HeightJson {
        brace_height_mm: mm(h.brace_height),
        length_mm: mm(h.slack),
        braced_length_mm: mm(h.braced),
        pull_n: rounded(h.pull),
    };
    let size = |s: &LoopSize| LoopJson {
        over_tip_mm: s.over_tip.map(mm),
        down_limb_mm: mm(s.down_limb),
        slide_mm: mm(s.slide),
    };
    to_json(&Report {
        program: env!("CARGO_PKG_NAME"),
        version: env!("CARGO_PKG_VERSION"),
        bow: &design.name,
        string: height(&made.own),
        other_brace_heights: made.others.iter().map(height).collect(),
        strand_mm: mm(made.strand),
        strands: made.strands,
        must_hold_n: rounded(made.must_hold),
        greatest_pull_n: rounded(made.greatest_pull),
        loops: made.loops.map(|l| l.as_ref().map(size)),
        notes: notes(design, made),
        cautions: CAUTIONS,
    })
}
