//! The form's lists: what a row holds, and what stands in a new one.

use serde::Serialize;

use super::edit::{Cell, NewRow, Written};
use super::fields::Field;
use crate::design::Units;
use crate::design::file::keys::{self, FileKey, Takes};
use crate::units::{self, Kind};

/// A list of rows, each of the same fields.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct List {
    pub key: String,
    pub title: &'static str,
    pub hint: &'static str,
    /// What one row is called.
    pub one: &'static str,
    /// Rows that stay.
    pub fewest: usize,
    /// Whether rows can be put in before there is any, and after the last.
    pub open: bool,
    pub rows: Vec<Vec<Field>>,
}

/// One kind of list.
pub(super) struct ListOf {
    pub name: &'static str,
    pub title: &'static str,
    pub hint: &'static str,
    pub one: &'static str,
    pub fewest: usize,
    pub open: bool,
    pub row: RowOf,
}

/// What a row is.
#[derive(Clone, Copy)]
pub(super) enum RowOf {
    /// A table with these keys.
    Table(&'static [FileKey]),
    /// A text; what is allowed in it.
    Text(&'static str),
}

/// All lists of the form.
pub(super) const LISTS: [ListOf; 5] = [
    ListOf {
        name: "stations",
        title: "Stations",
        hint: "width and thickness, measured from the middle of the bow",
        one: "station",
        fewest: 2,
        open: false,
        row: RowOf::Table(keys::STATION),
    },
    ListOf {
        name: "unstrung",
        title: "Unstrung profile",
        hint: "how far the unstrung back stands off the straight; without places the limbs are straight",
        one: "place",
        fewest: 0,
        open: true,
        row: RowOf::Table(keys::OFFSET),
    },
    ListOf {
        name: "stiffness",
        title: "Stiffness",
        hint: "how much stiffer the limb is than its width, thickness and wood say, place by place, as `nockwright tiller` finds it",
        one: "spot",
        fewest: 0,
        open: true,
        row: RowOf::Table(keys::STIFFNESS_PLACE),
    },
    ListOf {
        name: "scale",
        title: "What the scale says now",
        hint: "pulls of the bow as it is, at their draws; the weight above is then what it shall come to",
        one: "reading",
        fewest: 0,
        open: true,
        row: RowOf::Text("a pull and its draw, such as 30 lb at 20 in"),
    },
    ListOf {
        name: "measured",
        title: "Distances to the string",
        hint: "measured on the strung bow, from the string square to it to the limb's belly; `nockwright tiller` makes the limbs' stiffness of them",
        one: "distance",
        fewest: 0,
        open: true,
        row: RowOf::Table(keys::TILLER_DISTANCE),
    },
];

/// The kind of the list under that key.
fn kind(list: &str) -> Option<&'static ListOf> {
    LISTS.iter().find(|of| list.rsplit('.').next() == Some(of.name))
}

/// A row to put in after row `after`, or as the first: half way between its neighbours where they can be read, else with
/// what changes nothing, and empty where only a maker can know. None where no row can stand there.
pub(super) fn new_row(written: &Written, list: &str, after: Option<usize>) -> Option<NewRow> {
    let of = kind(list)?;
    let count = written.list(list).map_or(0, |rows| rows.len());
    if after.map_or(count > 0, |after| after >= count) {
        return None;
    }
    let RowOf::Table(keys) = of.row else { return Some(NewRow::Text(String::new())) };
    // Distances are read one by one; between two of them there is nothing to be known.
    let between = after.filter(|_| of.name != "measured").and_then(|after| between(written, list, after, keys));
    between.map(NewRow::Table).or_else(|| of.open.then(|| NewRow::Table(blank(written, list, after, keys))))
}

/// The cells of a row half way between row `after` and the next; none where these cannot be read.
fn between(written: &Written, list: &str, after: usize, keys: &[FileKey]) -> Option<Vec<Cell>> {
    let units = match written.value("units") {
        Some((word, _)) if keys::same_word(&word, "mm") => Units::Millimetre,
        _ => Units::Inch,
    };
    let cell = |key: &FileKey| {
        let Takes::Measure(kind, ..) = key.takes else { return None };
        let read = |row: usize| {
            let (text, _) = written.value(&format!("{list}[{row}].{}", key.name))?;
            units::read(&text, kind).ok()
        };
        let value = 0.5 * (read(after)? + read(after + 1)?);
        let bare = kind == Kind::Number;
        let value = if bare { units::number_text(value, 3) } else { units::plain_length_text(value, units) };
        Some(Cell { name: key.name, value, bare })
    };
    keys.iter().map(cell).collect()
}

/// The cells of a row that changes nothing by itself, or asks.
fn blank(written: &Written, list: &str, after: Option<usize>, keys: &[FileKey]) -> Vec<Cell> {
    let cell = |key: &FileKey| {
        let (value, bare) = match key.name {
            "factor" => ("1".to_owned(), true),
            "set" => ("0 in".to_owned(), false),
            "limb" => {
                let before = after.and_then(|after| written.value(&format!("{list}[{after}].limb")));
                (before.map_or("upper".to_owned(), |(word, _)| word), false)
            }
            _ => (String::new(), false),
        };
        Cell { name: key.name, value, bare }
    };
    // What may be left out is left out.
    keys.iter().filter(|key| key.default == keys::LeftOut::Required).map(cell).collect()
}
