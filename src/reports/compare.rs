//! The report of `compare`: two designs side by side in every figure.

use super::check::unit;
use super::lists::wrapped;
use super::sweep::{rounded, to_json};
use crate::design::{Side, Units};
use crate::findings::{Finding, Verdict};
use crate::units::quantity_text;
use serde::Serialize;
use std::fmt::Write;

/// One of the two designs.
pub struct Shown<'a> {
    /// The bow's name.
    pub name: &'a str,
    /// The file's name.
    pub file: &'a str,
    /// All its figures.
    pub figures: &'a [Finding],
}

/// Figures of both designs, paired: all of the first one's in order, then what only the second has.
fn pairs<'a>(first: &'a [Finding], second: &'a [Finding]) -> Vec<(Option<&'a Finding>, Option<&'a Finding>)> {
    let judged = |f: &Finding| f.verdict.is_some();
    let same = |a: &Finding, b: &Finding| {
        a.id == b.id && a.side == b.side && a.quantity == b.quantity && judged(a) == judged(b)
    };
    let mut pairs: Vec<_> = first.iter().map(|a| (Some(a), second.iter().find(|b| same(a, b)))).collect();
    let only = second.iter().filter(|b| !first.iter().any(|a| same(a, b)));
    pairs.extend(only.map(|b| (None, Some(b))));
    pairs
}

/// What it is, with its cause where another figure of that limb has the same name.
fn label(figure: &Finding, all: &[Finding]) -> String {
    let shared = all.iter().any(|f| f.label == figure.label && f.side == figure.side && f.id != figure.id);
    if shared && !figure.note.is_empty() { format!("{}: {}", figure.label, figure.note) } else { figure.label.clone() }
}

/// The second value less the first, in the units that both are shown in.
fn difference(a: &Finding, b: &Finding, units: Units) -> String {
    let off = b.value - a.value;
    let text = quantity_text(off.abs(), a.quantity, units);
    match text.bytes().any(|b| matches!(b, b'1'..=b'9')) {
        _ if off == 0.0 => "same".to_owned(),
        false => "same as far as shown".to_owned(),
        true if off > 0.0 => format!("+{}", text.replace('(', "(+")),
        true => format!("-{}", text.replace('(', "(-")),
    }
}

/// For people.
pub fn text(first: &Shown, second: &Shown, units: Units) -> String {
    let mut text = String::new();
    let _ = writeln!(text, "first:  {} ({})\nsecond: {} ({})\n", first.name, first.file, second.name, second.file);
    let _ =
        writeln!(text, "{:<8}{:<62} {:>25} {:>25} {:>25}", "limb", "figure", "first", "second", "second less first");
    for (a, b) in pairs(first.figures, second.figures) {
        let Some(any) = a.or(b) else { continue };
        let limb = any.side.map_or("", Side::name);
        let shown = |f: Option<&Finding>| {
            let Some(f) = f else { return "-".to_owned() };
            let worse = f.verdict.filter(|v| *v != Verdict::Holds);
            let verdict = worse.map_or_else(String::new, |v| format!(" {}", v.name()));
            quantity_text(f.value, f.quantity, units) + &verdict
        };
        let difference = match (a, b) {
            (Some(a), Some(b)) => difference(a, b, units),
            _ => String::new(),
        };
        let own = if a.is_some() { first.figures } else { second.figures };
        let mut label = wrapped(&label(any, own), 0, 60);
        let more = label.split_off(label.find('\n').map_or(label.len(), |k| k + 1));
        let _ = writeln!(text, "{limb:<8}{:<62} {:>25} {:>25} {difference:>25}", label.trim_end(), shown(a), shown(b));
        for line in more.lines() {
            let _ = writeln!(text, "{:<8}{line}", "");
        }
    }
    text
}

/// For programs.
pub fn json(first: &Shown, second: &Shown) -> String {
    #[derive(Serialize)]
    struct Report<'a> {
        program: &'static str,
        version: &'static str,
        first: &'a str,
        second: &'a str,
        figures: Vec<Row>,
    }
    #[derive(Serialize)]
    struct Row {
        id: &'static str,
        limb: Option<&'static str>,
        label: String,
        unit: &'static str,
        first: Option<f64>,
        second: Option<f64>,
        difference: Option<f64>,
    }
    let rows = pairs(first.figures, second.figures).into_iter().filter_map(|(a, b)| {
        let any = a.or(b)?;
        let (unit, scale) = unit(any.quantity);
        let value = |f: Option<&Finding>| f.map(|f| rounded(f.value * scale));
        Some(Row {
            id: any.id,
            limb: any.side.map(Side::name),
            label: label(any, if a.is_some() { first.figures } else { second.figures }),
            unit,
            first: value(a),
            second: value(b),
            difference: a.zip(b).map(|(a, b)| rounded((b.value - a.value) * scale)),
        })
    });
    to_json(&Report {
        program: env!("CARGO_PKG_NAME"),
        version: env!("CARGO_PKG_VERSION"),
        first: first.file,
        second: second.file,
        figures: rows.collect(),
    })
}
