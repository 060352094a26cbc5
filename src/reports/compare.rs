//! The report of `compare`: two designs side by side in every figure.

use super::check::unit;
use super::lists::wrapped;
use super::sweep::{rounded, to_json};
use crate::design::{Side, Units};
use crate::findings::Finding;
use crate::units::{number_text, quantity_text};
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
    let same = |a: &Finding, b: &Finding| a.id == b.id && a.side == b.side && a.quantity == b.quantity;
    let mut pairs: Vec<_> = first.iter().map(|a| (Some(a), second.iter().find(|b| same(a, b)))).collect();
    let only = second.iter().filter(|b| !first.iter().any(|a| same(a, b)));
    pairs.extend(only.map(|b| (None, Some(b))));
    pairs
}

/// For people.
pub fn text(first: &Shown, second: &Shown, units: Units) -> String {
    let mut text = String::new();
    let _ = writeln!(text, "first:  {} ({})\nsecond: {} ({})\n", first.name, first.file, second.name, second.file);
    let _ =
        writeln!(text, "{:<8}{:<62} {:>22} {:>22} {:>14}", "limb", "figure", "first", "second", "second less first");
    for (a, b) in pairs(first.figures, second.figures) {
        let Some(any) = a.or(b) else { continue };
        let limb = any.side.map_or("", Side::name);
        let shown = |f: Option<&Finding>| {
            let Some(f) = f else { return "-".to_owned() };
            let verdict =
                if matches!(f.note.as_str(), "fails" | "wears" | "close") { format!(" {}", f.note) } else { String::new() };
            quantity_text(f.value, f.quantity, units) + &verdict
        };
        let difference = match (a, b) {
            (Some(a), Some(b)) if a.value == b.value => "same".to_owned(),
            (Some(a), Some(b)) => {
                let (name, scale) = unit(a.quantity);
                let name = if matches!(name, "1" | "count") { String::new() } else { format!(" {name}") };
                let off = (b.value - a.value) * scale;
                format!("{}{}{name}", if off > 0.0 { "+" } else { "" }, number_text(off, 3))
            }
            _ => String::new(),
        };
        let mut label = wrapped(&any.label, 0, 60);
        let more = label.split_off(label.find('\n').map_or(label.len(), |k| k + 1));
        let _ = writeln!(text, "{limb:<8}{:<62} {:>22} {:>22} {difference:>14}", label.trim_end(), shown(a), shown(b));
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
        figures: Vec<Row<'a>>,
    }
    #[derive(Serialize)]
    struct Row<'a> {
        id: &'static str,
        limb: Option<&'static str>,
        label: &'a str,
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
            label: &any.label,
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
