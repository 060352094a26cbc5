//! A row's cells put into the base design.

use toml_edit::{Array, DocumentMut, Item, TableLike, Value, value};

use super::columns::{self, Station, Target, stands_at, target};
use crate::design::Side;
use crate::design::file::keys::MOST_LETTERS;
use crate::fault::{Fault, Faults};
use crate::units::{self, Kind, quoted};

/// The base design with a row's cells put in.
pub struct Applied {
    /// The row's design file, in the base's own words but for the cells.
    pub text: String,
    /// What was put where.
    pub puts: Vec<Put>,
}

/// A key of the design that a column set.
#[derive(Debug, Clone)]
pub struct Put {
    /// The key, dotted.
    pub key: String,
    /// Head of the column.
    pub head: String,
}

/// Puts a row's cells into the base design; its name is the row's and the bow's.
///
/// # Errors
/// Cells that have no place in the base design, under the heads of their columns.
pub fn applied(base: &DocumentMut, heads: &[String], cells: &[String], label: &str) -> Result<Applied, Faults> {
    let mut document = base.clone();
    let (mut faults, mut puts) = (Faults::new(), Vec::new());
    let filled = || {
        let cells = heads.iter().zip(cells).filter(|(_, cell)| !cell.is_empty());
        cells.filter_map(|(head, cell)| Some((head, target(head)?, cell)))
    };
    // A row that gives draw and weight gives the weight at that draw.
    let draw = Target::Key(vec!["bow".into(), "draw".into()]);
    let own_draw = filled().find(|(_, target, _)| *target == draw).map(|(head, _, cell)| (head, cell));
    let mut columns: Vec<_> = filled().collect();
    // What one limb is given alone goes over what both are given.
    columns.sort_by_key(|(_, target, _)| matches!(target, Target::Station(station) if station.side.is_some()));
    for (head, target, cell) in columns {
        let put = match target {
            Target::Name | Target::Number => continue,
            Target::Key(path) => put_key(&mut document, &path, Value::from(cell.as_str())).map(|key| vec![key]),
            Target::Range(key) => put_range(&mut document, &key, cell).map(|key| vec![key]),
            Target::Station(station) => put_station(&mut document, &station, cell),
            Target::Weight => put_weight(&mut document, cell, own_draw.map(|(_, draw)| draw.as_str())).map(|own| {
                if let (Some((draw_head, _)), false) = (own_draw, own.has_draw) {
                    puts.push(Put { key: "bow.weight.at".into(), head: draw_head.clone() });
                }
                own.keys
            }),
        };
        match put {
            Ok(keys) => puts.extend(keys.into_iter().map(|key| Put { key, head: head.clone() })),
            Err(fault) => faults.push(Fault { key: head.clone(), ..fault }),
        }
    }
    let bow = document.get("bow").and_then(|b| b.get("name")).and_then(Item::as_str).unwrap_or_default().to_owned();
    let name = [label, bow.as_str()].into_iter().filter(|s| !s.is_empty()).collect::<Vec<_>>().join(", ");
    let of_label = |of: Target| {
        heads.iter().zip(cells).find(|(h, c)| !c.is_empty() && target(h).as_ref() == Some(&of)).map(|(h, _)| h)
    };
    let head = of_label(Target::Name).or_else(|| of_label(Target::Number)).cloned().unwrap_or_default();
    faults.extend(unfit_label(label, &bow, &name).map(|fault| Fault { key: head.clone(), ..fault }));
    match put_key(&mut document, &["bow".into(), "name".into()], Value::from(name)) {
        Ok(key) => puts.push(Put { key, head }),
        Err(fault) => faults.push(fault),
    }
    if faults.is_empty() { Ok(Applied { text: document.to_string(), puts }) } else { Err(faults) }
}

/// What is wrong with a label that the sheets are to have, before the bow's name.
fn unfit_label(label: &str, bow: &str, name: &str) -> Option<Fault> {
    if label.chars().any(char::is_control) {
        let what = format!("the row's label {} holds a control character", quoted(label));
        let fault = Fault::at("", what, "one line of letters that can be printed");
        return Some(fault.cure("type the cell anew"));
    }
    let (long, own) = (name.chars().count(), label.chars().count());
    if long <= MOST_LETTERS || label.is_empty() {
        return None;
    }
    let why = format!("at most {MOST_LETTERS} letters, so that it fits the sheets");
    if bow.is_empty() {
        return Some(Fault::at("", format!("the row's label is {own} letters long"), why).cure("shorten it"));
    }
    let rest = long - own;
    let what = format!(
        "what stands on the sheets is {long} letters long: {own} of the row's label, {rest} of the comma and the bow's name \
         after it, {}",
        quoted(bow)
    );
    let cure = match MOST_LETTERS.checked_sub(rest).filter(|left| *left > 0) {
        Some(left) => format!("shorten the label to {left} letters, or the bow's name in the base design"),
        None => "shorten the bow's name in the base design".to_owned(),
    };
    Some(Fault::at("", what, why).cure(cure))
}

/// Sets a key; its dotted name.
fn put_key(document: &mut DocumentMut, path: &[String], new: Value) -> Result<String, Fault> {
    let Some((key, tables)) = path.split_last() else { return Ok(String::new()) };
    let mut table: &mut dyn TableLike = document.as_table_mut();
    for name in tables {
        let item = table.entry(name).or_insert(toml_edit::table());
        table = item.as_table_like_mut().ok_or_else(|| {
            Fault::at("", format!("`{name}` is no table in the base design"), "the column's value belongs into it")
        })?;
    }
    set(table, key, new);
    Ok(path.join("."))
}

/// Puts a value in place of another, with the comment that stood behind it.
fn set(table: &mut dyn TableLike, key: &str, mut new: Value) {
    if let Some(decor) = table.get(key).and_then(Item::as_value).map(|v| v.decor().clone()) {
        *new.decor_mut() = decor;
    }
    table.insert(key, value(new.clone()));
    // `value` gives the new one plain surroundings.
    if let Some(put) = table.get_mut(key).and_then(Item::as_value_mut) {
        *put.decor_mut() = new.decor().clone();
    }
}

fn put_range(document: &mut DocumentMut, key: &str, text: &str) -> Result<String, Fault> {
    let Some((low, high)) = text.split_once(columns::TO) else {
        let what = format!("{} does not give two ends", quoted(text));
        return Err(
            Fault::at("", what, "a range has a lowest and a highest length").cure("write it as in `26 in to 29 in`")
        );
    };
    let ends: Array = [low.trim(), high.trim()].into_iter().collect();
    put_key(document, &["range".into(), key.into()], Value::from(ends))
}

/// What a weight was put under.
struct PutWeight {
    keys: Vec<String>,
    /// Whether the cell says at which draw.
    has_draw: bool,
}

fn put_weight(document: &mut DocumentMut, text: &str, own_draw: Option<&str>) -> Result<PutWeight, Fault> {
    let (pull, said) = match text.split_once(" at ") {
        Some((pull, at)) => (pull.trim(), Some(at.trim())),
        None => (text, None),
    };
    let at = said.or(own_draw);
    let bow = document.get_mut("bow").and_then(Item::as_table_like_mut);
    let weight = bow.and_then(|b| b.get_mut("weight")).and_then(Item::as_table_like_mut);
    let keys = match (weight, at) {
        (Some(weight), at) => {
            set(weight, "pull", pull.into());
            if let Some(at) = at {
                set(weight, "at", at.into());
            }
            let at = said.map(|_| "bow.weight.at".to_owned());
            ["bow.weight.pull".to_owned()].into_iter().chain(at).collect()
        }
        (None, Some(at)) => {
            vec![put_key(document, &["bow".into(), "weight".into()], format!("{pull} at {at}").into())?]
        }
        (None, None) => {
            let fault = Fault::at(
                "",
                format!("{} does not say at which draw", quoted(text)),
                "the base design has no weight whose draw would do",
            );
            return Err(fault.cure("write it as in `40 lb at 28 in`"));
        }
    };
    Ok(PutWeight { keys, has_draw: said.is_some() })
}

/// Sets a measure at a station of both limbs or of one; the keys.
///
/// Limbs that share `[limb]` have one list of stations; one limb alone is given a list of its own, like the common one.
fn put_station(document: &mut DocumentMut, station: &Station, text: &str) -> Result<Vec<String>, Fault> {
    let Station { side, measure, at } = station;
    let metres = units::read(at, Kind::Length).map_err(|m| Fault::at("", m.what, m.why).cure(m.cure))?;
    let owns = |document: &DocumentMut, side: Side| {
        document.get(side.name()).and_then(|s| s.get("limb")?.get("stations")).is_some()
    };
    let mut lists: Vec<Option<Side>> = Vec::new();
    for limb in Side::BOTH.into_iter().filter(|limb| side.is_none_or(|side| side == *limb)) {
        let own = owns(document, limb).then_some(limb);
        if !lists.contains(&own) {
            lists.push(own);
        }
    }
    // All are looked at before any is changed.
    let places = lists.iter().map(|list| place_in(document, *list, metres, station)).collect::<Result<Vec<_>, _>>()?;
    let mut keys = Vec::new();
    for (list, place) in lists.into_iter().zip(places) {
        let list = list.or_else(|| side.filter(|side| own_list(document, *side)));
        if let Some(table) = stations_mut(document, list).into_iter().nth(place) {
            set(table, measure, text.into());
        }
        keys.push(format!("{}[{place}].{measure}", stations_key(list)));
    }
    Ok(keys)
}

fn stations_key(list: Option<Side>) -> String {
    list.map_or("limb.stations".to_owned(), |side| format!("{}.limb.stations", side.name()))
}

/// Which station of a list stands at the place.
fn place_in(document: &DocumentMut, list: Option<Side>, metres: f64, station: &Station) -> Result<usize, Fault> {
    let mut copy = document.clone();
    let at = |table: &dyn TableLike| table.get("at").and_then(Item::as_str).unwrap_or_default().to_owned();
    let seen: Vec<String> = stations_mut(&mut copy, list).iter().map(|table| at(*table)).collect();
    seen.iter().position(|text| stands_at(text, metres)).ok_or_else(|| {
        let (limb, whose) = match (list.or(station.side), station.side) {
            (Some(side), _) => (format!("the base design's {} limb has", side.name()), "its stations are at"),
            (None, _) => ("the base design has".to_owned(), "its stations for both limbs are at"),
        };
        let fault =
            Fault::at("", format!("{limb} no station at {}", station.at), format!("{whose} {}", seen.join(", ")));
        match (list, station.side) {
            (Some(_), None) => fault.cure(format!(
                "name a place where both limbs have a station, or the limb that has one there, as in `upper.limb.{} at {}`",
                station.measure, station.at
            )),
            _ => fault.cure("name one of these places"),
        }
    })
}

/// Gives a limb a list of stations of its own, like the common one; whether it has one now.
fn own_list(document: &mut DocumentMut, side: Side) -> bool {
    let Some(common) = document.get("limb").and_then(|limb| limb.get("stations")).cloned() else { return false };
    let mut table: &mut dyn TableLike = document.as_table_mut();
    for name in [side.name(), "limb"] {
        let mut new = toml_edit::Table::new();
        new.set_implicit(name != "limb");
        match table.entry(name).or_insert(Item::Table(new)).as_table_like_mut() {
            Some(within) => table = within,
            None => return false,
        }
    }
    let common = match common {
        Item::ArrayOfTables(tables) => value(tables.into_array()),
        common => common,
    };
    table.insert("stations", common);
    true
}

/// The stations of `[limb]`, or of the side's own list.
fn stations_mut(document: &mut DocumentMut, list: Option<Side>) -> Vec<&mut dyn TableLike> {
    let limb = match list {
        None => document.get_mut("limb"),
        Some(side) => document.get_mut(side.name()).and_then(|side| side.get_mut("limb")),
    };
    match limb.and_then(|limb| limb.get_mut("stations")) {
        Some(Item::ArrayOfTables(tables)) => tables.iter_mut().map(|t| t as &mut dyn TableLike).collect(),
        Some(item) => {
            let tables = item.as_array_mut().into_iter().flat_map(|a| a.iter_mut());
            tables.filter_map(Value::as_inline_table_mut).map(|t| t as &mut dyn TableLike).collect()
        }
        None => Vec::new(),
    }
}
