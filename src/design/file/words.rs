//! Words for messages.

use toml::de::DeValue;

use crate::design::Units;
use crate::units::{self, Kind, quoted};

use super::keys;

/// `at least 12 in, at most 120 in`, in units a maker writes.
pub(super) fn range_text(kind: Kind, least: f64, greatest: f64) -> String {
    let text = |value: f64| match kind {
        Kind::Length => units::length_text(value, Units::Inch),
        Kind::Angle => units::angle_text(value),
        Kind::Force => format!("{} N", units::number_text(value, 0)),
        Kind::Stress => format!("{} MPa", value / 1e6),
        Kind::Density => format!("{value} kg/m3"),
        Kind::Number => format!("{value}"),
    };
    format!("from {} to {}", text(least), text(greatest))
}

/// What stands in the file, in words.
pub(super) fn form_of(value: &DeValue) -> String {
    match value {
        DeValue::String(text) => format!("the text {}", quoted(text)),
        DeValue::Integer(number) => format!("the number {}", quoted(&number.to_string())),
        DeValue::Float(number) => format!("the number {}", quoted(number.as_str())),
        DeValue::Boolean(yes) => format!("`{yes}`"),
        DeValue::Datetime(when) => format!("the date {}", quoted(&when.to_string())),
        DeValue::Array(_) => "a list".into(),
        DeValue::Table(_) => "a table".into(),
    }
}

/// Words in quotes, with commas between.
pub(super) fn list_of<'a>(words: impl Iterator<Item = &'a str>) -> String {
    words.map(|w| format!("\"{w}\"")).collect::<Vec<_>>().join(", ")
}

/// The table that a key belongs in, when it is written in another.
pub(super) fn home_of(name: &str, path: &str) -> Option<String> {
    keys::TABLES
        .iter()
        .filter(|(table, _)| *table != path)
        .find(|(_, known)| known.iter().any(|k| k.name == name))
        .map(|(table, _)| format!("[{table}]"))
        .or_else(|| keys::ROOT.iter().any(|k| k.name == name).then(|| "the top of the file".to_owned()))
}
