//! `[nock]`: a style by name, and that style's own keys.

use toml::de::DeValue;

use crate::design::{Both, NockChoice, NockValue, Side};
use crate::fault::Fault;
use crate::nock::{Given, Key, KeyDefault, KeyKind, NockStyle};
use crate::units::{self, Kind, quoted};

use super::keys::{self, FileKey, Takes, plain};
use super::reader::Reader;
use super::tables::{Entry, Layers};

type Style = &'static dyn NockStyle;

/// Both nocks. A key in `[nock]` must be one of a style that either limb uses.
pub(super) fn nocks(
    reader: &mut Reader,
    layers: &Both<Layers>,
    given: &Both<Option<Given>>,
    styles: &'static [Style],
) -> Option<Both<NockChoice>> {
    let chosen = layers.map(|layers| style(reader, layers, styles));
    for side in Side::BOTH {
        for (depth, table) in layers.get(side).each().enumerate() {
            // The common table serves both limbs, and may hold keys of either's style.
            let own = depth == 0 && table.path == format!("{}.nock", side.name());
            let serving: Vec<Style> =
                Side::BOTH.iter().filter(|s| !own || **s == side).filter_map(|s| *chosen.get(*s)).collect();
            if serving.is_empty() {
                continue;
            }
            let mut names = vec![keys::STYLE.name];
            for key in serving.iter().flat_map(|style| style.keys()) {
                if !names.contains(&key.name) {
                    names.push(key.name);
                }
            }
            let mut of: Vec<&str> = serving.iter().map(|style| style.name()).collect();
            of.dedup();
            reader.known_names(&table, &names, &format!(" for the style {}", of.join(" and ")));
        }
    }
    let upper = chosen.upper.and_then(|style| nock(reader, &layers.upper, Side::Upper, style, given.upper.as_ref()));
    let lower = chosen.lower.and_then(|style| nock(reader, &layers.lower, Side::Lower, style, given.lower.as_ref()));
    Some(Both { upper: upper?, lower: lower? })
}

fn style(reader: &mut Reader, layers: &Layers, styles: &'static [Style]) -> Option<Style> {
    let names: Vec<&'static str> = styles.iter().map(|style| style.name()).collect();
    let Some(entry) = layers.find(keys::STYLE.name) else {
        let why = format!("it says how the limb's end takes the string; known: {}", names.join(", "));
        reader.missing_one(layers, &keys::STYLE, "no `style` is given in [nock]", &why);
        return None;
    };
    let DeValue::String(text) = entry.value.get_ref() else {
        reader.wrong_form(&entry, &keys::STYLE);
        return None;
    };
    let found = styles.iter().copied().find(|style| plain(style.name()) == plain(text));
    if found.is_none() {
        reader.no_such_word(&entry, "nock style", text, &names);
    }
    found
}

fn nock(reader: &mut Reader, layers: &Layers, side: Side, style: Style, given: Option<&Given>) -> Option<NockChoice> {
    let mut values = Vec::new();
    let mut whole = true;
    for key in style.keys() {
        let value = match layers.find(key.name) {
            Some(entry) => written(reader, &entry, key),
            None => default(reader, key, side, given),
        };
        match value {
            Some(value) => values.push((key.name, value)),
            None => whole = false,
        }
    }
    whole.then(|| NockChoice { style: style.name(), values })
}

/// A key's value as the file writes it.
fn written(reader: &mut Reader, entry: &Entry, key: &Key) -> Option<NockValue> {
    let (kind, least, greatest) = match key.kind {
        KeyKind::Length(least, greatest) => (Kind::Length, least, greatest),
        KeyKind::Angle(least, greatest) => (Kind::Angle, least, greatest),
        KeyKind::Number(least, greatest) => (Kind::Number, least, greatest),
        KeyKind::Choice(words) => {
            let DeValue::String(text) = entry.value.get_ref() else {
                reader.wrong_form(entry, &file_key(key, Takes::Words(words)));
                return None;
            };
            let found = words.iter().find(|w| plain(w) == plain(text));
            if found.is_none() {
                reader.no_such_word(entry, key.name, text, words);
            }
            return found.map(|w| NockValue::Choice((*w).to_owned()));
        }
    };
    let as_file_key = file_key(key, Takes::Measure(kind, least, greatest, "outside this it is no nock that holds"));
    let (value, _) = reader.entry_measure(entry, &as_file_key, kind)?;
    let value = reader.check_range(entry, &as_file_key, value)?;
    Some(match kind {
        Kind::Length => NockValue::Length(value),
        Kind::Angle => NockValue::Angle(value),
        _ => NockValue::Number(value),
    })
}

fn default(reader: &mut Reader, key: &Key, side: Side, given: Option<&Given>) -> Option<NockValue> {
    let path = format!("{}.nock.{}", side.name(), key.name);
    match key.default {
        KeyDefault::Written(text) => {
            reader.places.stands_at(&path, text, key.reason);
            let value = match key.kind {
                KeyKind::Length(..) => units::read(text, Kind::Length).map(NockValue::Length),
                KeyKind::Angle(..) => units::read(text, Kind::Angle).map(NockValue::Angle),
                KeyKind::Number(..) => units::read(text, Kind::Number).map(NockValue::Number),
                KeyKind::Choice(_) => Ok(NockValue::Choice(text.to_owned())),
            };
            if value.is_err() {
                // A slip in the style's own table, which the test over all styles finds.
                reader.fault(Fault::at(
                    path,
                    format!("the default {} of `{}` cannot be read", quoted(text), key.name),
                    key.meaning,
                ));
            }
            value.ok()
        }
        KeyDefault::Worked(rule, work) => {
            let value = work(given?);
            let at = match &value {
                // Known only once the bow is braced and drawn; the rule says what.
                NockValue::Choice(_) => rule.to_owned(),
                _ => format!("{rule}, {}", value_text(&value)),
            };
            reader.places.stands_at(&path, &at, key.reason);
            Some(value)
        }
    }
}

/// A value as it would be written in the file.
fn value_text(value: &NockValue) -> String {
    match value {
        NockValue::Length(v) => units::millimetre_text(*v),
        NockValue::Angle(v) => units::angle_text(*v),
        NockValue::Number(v) => units::number_text(*v, 3),
        NockValue::Choice(word) => word.clone(),
    }
}

/// The style's key in the form the reader's messages go by.
fn file_key(key: &Key, takes: Takes) -> FileKey {
    let example = match (takes, key.default) {
        (_, KeyDefault::Written(text)) => text,
        (Takes::Measure(Kind::Length, ..), _) => "\"3 mm\"",
        (Takes::Measure(Kind::Angle, ..), _) => "\"6 deg\"",
        _ => "0.5",
    };
    FileKey {
        name: key.name,
        takes,
        default: keys::LeftOut::Optional,
        example,
        meaning: key.meaning.trim_end_matches('.'),
        reason: key.reason,
    }
}
