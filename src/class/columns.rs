//! What each column of a roster changes in the base design.

use toml_edit::{DocumentMut, Item, TableLike, Value, value};

use crate::design::file::keys;
use crate::fault::{Fault, Faults};
use crate::units::{self, Kind};

/// Heads of the column with names.
pub const NAME: &[&str] = &["name", "student"];
/// Heads of the column with numbers.
pub const NUMBER: &[&str] = &["number", "no", "nr", "bench"];

/// What a column changes.
#[derive(PartialEq)]
enum Target {
    /// Nothing: it names the row.
    Label,
    /// A key by its tables.
    Key(Vec<String>),
    /// The bow's weight: `40 lb at 28 in`, or `40 lb` at the row's own draw, or the base's where the row has none.
    Weight,
    /// Width or thickness of the limbs at a station: name of the measure, station as written.
    Station(&'static str, String),
}

/// A head in small letters, with one underscore for blanks and hyphens.
pub fn plain(head: &str) -> String {
    head.trim().trim_end_matches('.').to_lowercase().replace([' ', '-'], "_")
}

fn target(head: &str) -> Option<Target> {
    let plain = plain(head);
    if NAME.contains(&plain.as_str()) || NUMBER.contains(&plain.as_str()) {
        return Some(Target::Label);
    }
    if plain == "weight" || plain == "bow.weight" || plain == "pull" {
        return Some(Target::Weight);
    }
    let lower = head.trim().to_lowercase();
    for measure in ["width", "thickness"] {
        if let Some(at) = lower.strip_prefix(measure).and_then(|rest| rest.trim_start().strip_prefix("at ")) {
            return Some(Target::Station(measure, at.trim().to_owned()));
        }
    }
    let parts: Vec<String> = plain.split('.').map(str::to_owned).collect();
    let known = |table: &[keys::FileKey], name: &str| table.iter().any(|k| k.name == name);
    let path: Vec<&str> = parts.iter().map(String::as_str).collect();
    match path.as_slice() {
        [key] if known(keys::BOW, key) => Some(Target::Key(vec!["bow".into(), (*key).into()])),
        ["bow", key] if known(keys::BOW, key) => Some(Target::Key(parts)),
        ["string", key] if known(keys::STRING, key) => Some(Target::Key(parts)),
        ["limb", key] | ["upper" | "lower", "limb", key] if known(keys::LIMB, key) || *key == "length" => {
            Some(Target::Key(parts))
        }
        // A style's own keys differ from style to style; the design's reader knows them.
        ["nock", _] | ["upper" | "lower", "nock", _] => Some(Target::Key(parts)),
        _ => None,
    }
}

/// Faults of heads that change nothing.
pub fn unknown(heads: &[String]) -> Faults {
    let usual =
        ["name", "number", "brace height", "draw", "weight", "limb.wood", "string.diameter", "upper.limb.length"];
    heads
        .iter()
        .filter(|head| target(head).is_none())
        .map(|head| {
            let fault = Fault::at(
                head.as_str(),
                format!("no column is called {}", units::quoted(head)),
                "a column is `name`, `number`, `weight`, a key of [bow], a dotted key such as limb.wood, or `thickness at 20 in`",
            );
            match keys::did_you_mean(head, usual.into_iter()) {
                Some(near) => fault.cure(format!("did you mean \"{near}\"?")),
                None => fault,
            }
        })
        .collect()
}

/// Faults of heads that change the same thing as one before them.
pub fn twice(heads: &[String]) -> Faults {
    let same = |a: &str, b: &str| match (target(a), target(b)) {
        (Some(Target::Label), Some(Target::Label)) => plain(a) == plain(b),
        (a, b) => a.is_some() && a == b,
    };
    let again = |(at, head): (usize, &String)| {
        let first = heads[..at].iter().find(|h| same(h, head))?;
        let words = match first == head {
            true => format!("the column {} stands twice", units::quoted(head)),
            false => format!("the columns {} and {} are the same measure", units::quoted(first), units::quoted(head)),
        };
        let why = "nobody could tell which of the two is meant";
        Some(Fault::at(head.as_str(), words, why).cure("strike out one of them"))
    };
    heads.iter().enumerate().filter_map(again).collect()
}

/// The base design with a row's cells put in, in the base's own words but for those; its name is the row's and the bow's.
///
/// # Errors
/// Cells that have no place in the base design.
pub fn applied(base: &DocumentMut, heads: &[String], cells: &[String], label: &str) -> Result<String, Faults> {
    let mut document = base.clone();
    let mut faults = Faults::new();
    // A row that gives draw and weight gives the weight at that draw.
    let draw = Target::Key(vec!["bow".into(), "draw".into()]);
    let is_draw = |head: &str| target(head).is_some_and(|t| t == draw);
    let own_draw = heads.iter().zip(cells).find(|(head, cell)| is_draw(head) && !cell.is_empty()).map(|(_, cell)| cell);
    for (head, cell) in heads.iter().zip(cells).filter(|(_, cell)| !cell.is_empty()) {
        let put = match target(head) {
            None | Some(Target::Label) => Ok(()),
            Some(Target::Key(path)) => put_key(&mut document, &path, cell),
            Some(Target::Weight) => put_weight(&mut document, cell, own_draw),
            Some(Target::Station(measure, at)) => put_station(&mut document, measure, &at, cell),
        };
        faults.extend(put.err().map(|fault| Fault { key: head.clone(), ..fault }));
    }
    let bow = document.get("bow").and_then(|b| b.get("name")).and_then(Item::as_str).unwrap_or_default().to_owned();
    let name = [label, bow.as_str()].into_iter().filter(|s| !s.is_empty()).collect::<Vec<_>>().join(", ");
    if let Err(fault) = put_key(&mut document, &["bow".into(), "name".into()], &name) {
        faults.push(fault);
    }
    if faults.is_empty() { Ok(document.to_string()) } else { Err(faults) }
}

fn put_key(document: &mut DocumentMut, path: &[String], text: &str) -> Result<(), Fault> {
    let Some((key, tables)) = path.split_last() else { return Ok(()) };
    let mut table: &mut dyn TableLike = document.as_table_mut();
    for name in tables {
        let item = table.entry(name).or_insert(toml_edit::table());
        table = item.as_table_like_mut().ok_or_else(|| {
            Fault::at("", format!("`{name}` is no table in the base design"), "the column's value belongs into it")
        })?;
    }
    set(table, key, text);
    Ok(())
}

/// Puts a text in place of a value, with the comment that stood behind it.
fn set(table: &mut dyn TableLike, key: &str, text: &str) {
    let decor = table.get(key).and_then(Item::as_value).map(|v| v.decor().clone());
    let mut new = Value::from(text);
    if let Some(decor) = decor {
        *new.decor_mut() = decor;
    }
    table.insert(key, value(new.clone()));
    // `value` gives the new one plain surroundings.
    if let Some(put) = table.get_mut(key).and_then(Item::as_value_mut) {
        *put.decor_mut() = new.decor().clone();
    }
}

fn put_weight(document: &mut DocumentMut, text: &str, own_draw: Option<&String>) -> Result<(), Fault> {
    let (pull, at) = match text.split_once(" at ") {
        Some((pull, at)) => (pull, Some(at)),
        None => (text, own_draw.map(String::as_str)),
    };
    let bow = document.get_mut("bow").and_then(Item::as_table_like_mut);
    let weight = bow.and_then(|b| b.get_mut("weight")).and_then(Item::as_table_like_mut);
    match (weight, at) {
        (Some(weight), at) => {
            set(weight, "pull", pull.trim());
            if let Some(at) = at {
                set(weight, "at", at.trim());
            }
            Ok(())
        }
        (None, Some(at)) => {
            put_key(document, &["bow".into(), "weight".into()], &format!("{} at {}", pull.trim(), at.trim()))
        }
        (None, None) => Err(Fault::at(
            "",
            format!("{} does not say at which draw", units::quoted(text)),
            "the base design has no weight whose draw would do",
        )
        .cure("write it as in `40 lb at 28 in`")),
    }
}

fn put_station(document: &mut DocumentMut, measure: &str, at: &str, text: &str) -> Result<(), Fault> {
    let wanted = units::read(at, Kind::Length).map_err(|m| Fault::at("", m.what, m.why).cure(m.cure))?;
    let mut seen = Vec::new();
    let limb = document.get_mut("limb").and_then(|l| l.get_mut("stations"));
    let stations = limb.and_then(Item::as_array_mut).into_iter().flat_map(|a| a.iter_mut());
    for station in stations.filter_map(Value::as_inline_table_mut) {
        let place = station.get("at").and_then(Value::as_str).unwrap_or_default().to_owned();
        if units::read(&place, Kind::Length).is_ok_and(|p| (p - wanted).abs() < 1e-6) {
            set(station, measure, text);
            return Ok(());
        }
        seen.push(place);
    }
    Err(Fault::at(
        "",
        format!("the base design has no station at {at}"),
        format!("its stations for both limbs are at {}", seen.join(", ")),
    ))
}
