//! The sweep as a table, as comma-separated values and as JSON.

use crate::bow::draw_curve::{BowAtDraw, Cycle};
use crate::checks::loop_on_tip::lost_words;
use crate::design::{Both, Design, DrawTo, Side, Units};
use crate::string::hanging::Hanging;
use crate::string::path::{Click, Figures};
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

/// What the loop does at one of the bow's own draw steps, where it was followed so far.
fn loop_at(loops: Option<&Both<Hanging>>, side: Side, step: usize) -> Option<&Figures> {
    let hanging = loops?.get(side);
    hanging.draw.figures.get(hanging.first_own + step)
}

/// A table for people.
pub fn table(design: &Design, statics: &Statics, loops: Option<&Both<Hanging>>) -> String {
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
    let lies = cycle.states.iter().any(|s| Side::BOTH.iter().any(|&side| s.limbs.get(side).lying.is_some()));
    let width = if loops.is_some() { 32 } else { 17 } + if lies { 8 } else { 0 };
    let head = |name: &str| format!("{name:^width$}");
    let _ = writeln!(text, "{:>8} {:>8}   {}   {}   {:>6}", "", "", head("upper tip"), head("lower tip"), "handle");
    let columns = |more: bool| {
        let mut own = format!("{:>8} {:>8}", format!("pull {force}"), "angle");
        if lies {
            own += &format!(" {:>7}", "lies to");
        }
        if more { format!("{own} {:>6} {:>7}", "reach", "N/mm") } else { own }
    };
    let more = loops.is_some();
    let _ = writeln!(
        text,
        "{:>8} {:>8}   {}   {}   {:>6}",
        format!("draw {length}"),
        format!("force {force}"),
        columns(more),
        columns(more),
        "leans"
    );
    for (k, state) in cycle.states.iter().enumerate() {
        let (draw, force_unit) = match units {
            Units::Inch => (number_text(state.draw / INCH, 2), POUND),
            Units::Millimetre => (number_text(state.draw * 1e3, 0), 1.0),
        };
        let force = |newtons: f64| number_text(newtons / force_unit, 1);
        let tip = |side: Side| {
            let limb = state.limbs.get(side);
            let mut own = format!("{:>8} {:>8}", force(limb.nock_pull()), angle_text(limb.string_angle));
            if lies {
                let to = limb.lies_from_nock().map_or_else(|| "free".to_owned(), |l| number_text(l[1] * 1e3, 1));
                own += &format!(" {to:>7}");
            }
            match (more, loop_at(loops, side, k)) {
                (false, _) => own,
                (true, Some(f)) => {
                    let (reach, load) = (number_text(f.reach * 1e3, 2), number_text(f.most_load / 1e3, 1));
                    format!("{own} {reach:>6} {load:>7}")
                }
                (true, None) => format!("{own} {:>6} {:>7}", "-", "-"),
            }
        };
        let _ = writeln!(
            text,
            "{:>8} {:>8}   {}   {}   {:>6}",
            draw,
            force(state.force),
            tip(Side::Upper),
            tip(Side::Lower),
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
    for side in Side::BOTH {
        if let Some(words) = lying_words(statics, side, units) {
            let _ = writeln!(text, "{:<6} {words}", side.name());
        }
    }
    if lies {
        let _ = writeln!(
            text,
            "lies to: how far from the nock along the limb the string lies on the belly, mm, from the loop's throat on; there pull and \
             angle are those of the loop's legs"
        );
    }
    if more {
        let _ = writeln!(
            text,
            "reach: from the nock seat to the throat of the loop, mm; N/mm: the string's hardest bearing on the tip"
        );
    }
    text
}

/// Where the string lies on a limb's belly and when it comes free, in words; none where it never lies there.
pub fn lying_words(statics: &Statics, side: Side, units: Units) -> Option<String> {
    let cycle = &statics.cycle;
    let [throat, lift_off] = cycle.at_brace().limbs.get(side).lies_from_nock()?;
    let on = if lift_off > throat {
        format!("lies on the belly from the loop's throat to {} from the nock", length_text(lift_off, units))
    } else {
        format!("rests on the belly with the loop's throat, {} from the nock", length_text(throat, units))
    };
    Some(match cycle.comes_free.get(side) {
        Some(draw) => {
            let force = force_between(cycle, *draw);
            format!(
                "string {on} at brace; it comes free at a draw of {}, at {}",
                length_text(*draw, units),
                force_text(force, units)
            )
        }
        None => format!("string {on} at brace and is not free at full draw"),
    })
}

/// The draw force at a draw, straight between the steps, N.
fn force_between(cycle: &Cycle, draw: f64) -> f64 {
    let states = &cycle.states;
    let k = states.partition_point(|s| s.draw <= draw).clamp(1, states.len() - 1);
    let (a, b) = (&states[k - 1], &states[k]);
    a.force + (b.force - a.force) * (draw - a.draw) / (b.draw - a.draw)
}

/// Comma-separated values, one line a draw step: mm, N, degrees; empty where the loop was not followed, and where the string
/// lies nowhere on the belly.
pub fn csv(statics: &Statics, loops: Option<&Both<Hanging>>) -> String {
    let limb = |name: &str| {
        ["pull_n", "string_angle_deg", "reach_mm", "bearing_n_per_mm", "sharpest_bend_mm", "lies_to_mm"]
            .map(|column| format!("{name}_{column}"))
            .join(",")
    };
    let mut text = format!("draw_mm,force_n,handle_lean_deg,{},{}\n", limb("upper"), limb("lower"));
    for (k, state) in statics.cycle.states.iter().enumerate() {
        let tip = |side: Side| {
            let limb = state.limbs.get(side);
            let figures = loop_at(loops, side, k);
            let value = |of: fn(&Figures) -> f64| figures.map_or(String::new(), |f| number_text(of(f), 4));
            [
                number_text(limb.nock_pull(), 3),
                number_text(limb.string_angle.to_degrees(), 4),
                value(|f| f.reach * 1e3),
                value(|f| f.most_load / 1e3),
                value(|f| f.sharpest * 1e3),
                limb.lies_from_nock().map_or(String::new(), |l| number_text(l[1] * 1e3, 3)),
            ]
            .join(",")
        };
        let _ = writeln!(
            text,
            "{},{},{},{},{}",
            number_text(state.draw * 1e3, 3),
            number_text(state.force, 3),
            number_text(state.tilt.to_degrees(), 4),
            tip(Side::Upper),
            tip(Side::Lower)
        );
    }
    text
}

/// JSON for programs.
pub fn json(design: &Design, statics: &Statics, loops: Option<&Both<Hanging>>) -> String {
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
        limbs: limbs_json(statics, loops),
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
    /// Draw at which the string leaves the belly that it lay on.
    #[serde(skip_serializing_if = "Option::is_none")]
    comes_free_draw_mm: Option<f64>,
    cycle: Vec<StepJson>,
    #[serde(skip_serializing_if = "Option::is_none")]
    clicks: Option<Vec<ClickJson>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    lost: Option<LostJson>,
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
    #[serde(skip_serializing_if = "Option::is_none")]
    lies: Option<LiesJson>,
    #[serde(skip_serializing_if = "Option::is_none")]
    reach_mm: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    bearing_n_per_mm: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    sharpest_bend_mm: Option<f64>,
}

/// The string on the belly: from where to where along the limb from the nock, and the free strand's pull.
#[derive(Serialize)]
struct LiesJson {
    throat_mm: f64,
    to_mm: f64,
    strand_pull_n: f64,
}

/// A jump of the loop.
#[derive(Serialize)]
struct ClickJson {
    way: &'static str,
    draw_mm: f64,
    string_angle_deg: f64,
    size_mm: f64,
    energy_mj: f64,
}

/// Where a loop was lost.
#[derive(Serialize)]
struct LostJson {
    way: &'static str,
    draw_mm: f64,
    how: String,
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
pub fn limbs_json(statics: &Statics, loops: Option<&Both<Hanging>>) -> Both<LimbJson> {
    Both::build(|side| {
        let swing = statics.swings.get(side);
        let degrees = |angle: f64| rounded(angle.to_degrees());
        let step = |(k, state): (usize, &BowAtDraw)| {
            let limb = state.limbs.get(side);
            let figures = loop_at(loops, side, k);
            StepJson {
                reach_mm: figures.map(|f| rounded(f.reach * 1e3)),
                bearing_n_per_mm: figures.map(|f| rounded(f.most_load / 1e3)),
                sharpest_bend_mm: figures.map(|f| rounded(f.sharpest * 1e3)),
                draw_mm: rounded(state.draw * 1e3),
                pull_n: rounded(limb.nock_pull()),
                lies: limb.lies_from_nock().map(|[throat, to]| LiesJson {
                    throat_mm: rounded(throat * 1e3),
                    to_mm: rounded(to * 1e3),
                    strand_pull_n: rounded(limb.pull),
                }),
                string_angle_deg: degrees(limb.string_angle),
            }
        };
        let runs = loops.map(|l| {
            let hanging = l.get(side);
            [("drawing", Some(&hanging.draw)), ("letting down", hanging.let_down.as_ref())]
        });
        let runs = || runs.iter().flatten().filter_map(|&(way, run)| run.map(|run| (way, run)));
        let click = |way: &'static str, c: &Click| ClickJson {
            way,
            draw_mm: rounded(c.at.draw * 1e3),
            string_angle_deg: degrees(c.at.angle),
            size_mm: rounded(c.size.abs() * 1e3),
            energy_mj: rounded(c.energy.abs() * 1e3),
        };
        LimbJson {
            clicks: loops
                .filter(|l| l.get(side).is_followed())
                .map(|_| runs().flat_map(|(way, run)| run.clicks.iter().map(move |c| click(way, c))).collect()),
            lost: runs().find_map(|(way, run)| {
                run.leaves.map(|l| LostJson { way, draw_mm: rounded(l.at.draw * 1e3), how: lost_words(&l.how) })
            }),
            string_angle_deg: AnglesJson {
                brace: degrees(swing.brace),
                full_draw: degrees(swing.full_draw),
                sweep: degrees(swing.full_draw - swing.brace),
                least: degrees(swing.least),
                greatest: degrees(swing.greatest),
            },
            comes_free_draw_mm: statics.cycle.comes_free.get(side).map(|draw| rounded(draw * 1e3)),
            cycle: statics.cycle.states.iter().enumerate().map(step).collect(),
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
