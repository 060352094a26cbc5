//! Changes to a design's text: one value put in, taken out or replaced, and not a letter more.
//!
//! A value that stands in the file is replaced where it stands; all else keeps its place, its comments and its gaps.

use std::ops::Range;

use toml::Spanned;
use toml::de::{DeArray, DeTable, DeValue};
use toml_edit::{DocumentMut, Item, TableLike, Value};

use crate::fault::Fault;

/// A design's text with the places of its values, as far as it is TOML.
pub(super) struct Written<'t> {
    text: &'t str,
    root: Spanned<DeTable<'t>>,
}

/// One part of a dotted key.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Part<'k> {
    Name(&'k str),
    Place(usize),
}

/// `bow.weight.at`, `limb.stations[1].width` and the like in parts; none where it is no such key.
fn parts(key: &str) -> Option<Vec<Part<'_>>> {
    let mut parts = Vec::new();
    for piece in key.split('.') {
        let (name, mut rest) = piece.split_at(piece.find('[').unwrap_or(piece.len()));
        let plain = !name.is_empty() && name.len() < 40 && name.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'_');
        if !plain {
            return None;
        }
        parts.push(Part::Name(name));
        while !rest.is_empty() {
            let (number, after) = rest.strip_prefix('[')?.split_once(']')?;
            parts.push(Part::Place(number.parse().ok()?));
            rest = after;
        }
    }
    (parts.len() < 8).then_some(parts)
}

fn in_table<'a, 't>(table: &'a DeTable<'t>, parts: &[Part]) -> Option<&'a Spanned<DeValue<'t>>> {
    let (Part::Name(name), rest) = parts.split_first()? else { return None };
    in_value(table.get(*name)?, rest)
}

fn in_value<'a, 't>(value: &'a Spanned<DeValue<'t>>, parts: &[Part]) -> Option<&'a Spanned<DeValue<'t>>> {
    match (value.get_ref(), parts) {
        (_, []) => Some(value),
        (DeValue::Table(table), _) => in_table(table, parts),
        (DeValue::Array(list), [Part::Place(at), rest @ ..]) => in_value(list.get(*at)?, rest),
        _ => None,
    }
}

impl<'t> Written<'t> {
    /// Finds the places of all values; what is not TOML is left aside.
    pub fn new(text: &'t str) -> Self {
        Written { text, root: DeTable::parse_recoverable(text).0 }
    }

    fn find(&self, key: &str) -> Option<&Spanned<DeValue<'t>>> {
        in_table(self.root.get_ref(), &parts(key)?)
    }

    /// The value of `key` as a maker reads it (a text without its quotes), and its bytes in the file.
    /// None where the file does not write it, or writes a table or a list there.
    pub fn value(&self, key: &str) -> Option<(String, Range<usize>)> {
        let value = self.find(key)?;
        let span = value.span();
        match value.get_ref() {
            DeValue::Table(_) | DeValue::Array(_) => None,
            DeValue::String(text) => Some((text.to_string(), span)),
            _ => Some((self.text.get(span.clone())?.to_owned(), span)),
        }
    }

    /// The list under `key`.
    pub fn list(&self, key: &str) -> Option<&DeArray<'t>> {
        match self.find(key)?.get_ref() {
            DeValue::Array(list) => Some(list),
            _ => None,
        }
    }

    /// Whether a table stands under `key`.
    pub fn is_table(&self, key: &str) -> bool {
        self.find(key).is_some_and(|value| matches!(value.get_ref(), DeValue::Table(_)))
    }
}

/// How a value is written: a plain number stays bare where the key takes one, all else stands in quotes.
fn literal(value: &str, bare: bool) -> String {
    let number = value.trim();
    if bare && number.parse::<f64>().is_ok_and(f64::is_finite) && number.parse::<toml_edit::Value>().is_ok() {
        return number.to_owned();
    }
    Value::from(value).to_string().trim().to_owned()
}

/// The text with `key` set to what was typed; an empty value takes the key out, so that it stands at its default.
/// `bare` says that the key takes a plain number.
///
/// # Errors
/// Why it cannot be put in.
pub(super) fn set(text: &str, key: &str, value: &str, bare: bool) -> Result<String, Fault> {
    let Some(parts) = parts(key) else {
        return Err(Fault::at(key, "this is no key of a design file", "keys are words joined by dots"));
    };
    let span = Written::new(text).value(key).map(|(_, span)| span);
    match span {
        Some(span) if !value.trim().is_empty() => {
            let mut changed = text.to_owned();
            changed.replace_range(span, &literal(value, bare));
            Ok(changed)
        }
        Some(_) => edited(text, key, |document| take_out(document.as_table_mut(), &parts)),
        None if value.trim().is_empty() => Ok(text.to_owned()),
        None => edited(text, key, |document| {
            let value: Value = literal(value, bare).parse().ok()?;
            put_in(document.as_table_mut(), &parts, value)
        }),
    }
}

/// One value of a new row.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Cell {
    pub name: &'static str,
    pub value: String,
    /// Whether the key takes a plain number.
    pub bare: bool,
}

/// A row to be put into a list.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum NewRow {
    Table(Vec<Cell>),
    Text(String),
}

impl NewRow {
    fn value(&self) -> Option<Value> {
        match self {
            NewRow::Text(text) => Some(Value::from(text.as_str())),
            NewRow::Table(cells) => {
                let mut row = toml_edit::InlineTable::new();
                for Cell { name, value, bare } in cells {
                    row.insert(*name, literal(value, *bare).parse().ok()?);
                }
                Some(Value::InlineTable(row))
            }
        }
    }
}

/// The list under a key, where the document has it.
fn list_of<'d>(document: &'d mut DocumentMut, parts: &[Part]) -> Option<&'d mut toml_edit::Array> {
    let mut item = document.as_item_mut();
    for part in parts {
        let Part::Name(name) = part else { return None };
        item = item.as_table_like_mut()?.get_mut(name)?;
    }
    item.as_array_mut()
}

/// The text with a row put into the list under `key` after its row `after`; as its first where none is named.
///
/// # Errors
/// Why it cannot be done.
pub(super) fn put_row(text: &str, key: &str, after: Option<usize>, row: &NewRow) -> Result<String, Fault> {
    let parts = parts(key).ok_or_else(|| no_list(key))?;
    edited(text, key, |document| {
        let row = row.value()?;
        match (list_of(document, &parts), after) {
            (None, None) => put_in(document.as_table_mut(), &parts, Value::Array(toml_edit::Array::from_iter([row]))),
            (Some(list), None) => {
                list.insert(0, row);
                Some(())
            }
            (None, Some(_)) => None,
            (Some(list), Some(after)) => {
                let before = list.get(after)?.decor().clone();
                list.insert(after + 1, row);
                // It stands as its neighbour stands; a comment that follows the neighbour is the neighbour's own.
                let prefix = before.prefix().and_then(|p| p.as_str()).filter(|p| p.trim().is_empty() && !p.is_empty());
                let prefix = prefix.unwrap_or(" ").to_owned();
                if let Some(new) = list.get_mut(after + 1) {
                    new.decor_mut().set_prefix(prefix);
                }
                Some(())
            }
        }
    })
}

/// The text without row `row` of the list under `key`; the last one takes its list with it.
///
/// # Errors
/// Why it cannot be done.
pub(super) fn take_row(text: &str, key: &str, row: usize) -> Result<String, Fault> {
    let parts = parts(key).ok_or_else(|| no_list(key))?;
    edited(text, key, |document| {
        let list = list_of(document, &parts)?;
        if row == 0 && list.len() == 1 {
            return take_out(document.as_table_mut(), &parts);
        }
        (row < list.len()).then(|| list.remove(row)).map(|_| ())
    })
}

fn no_list(key: &str) -> Fault {
    Fault::at(key, "this is no list of a design file", "keys are words joined by dots")
}

fn edited(text: &str, key: &str, change: impl FnOnce(&mut DocumentMut) -> Option<()>) -> Result<String, Fault> {
    let mut document: DocumentMut = text.parse().map_err(|_| {
        Fault::at(
            key,
            "the design file's text has a slip in it, so nothing can be added to it here",
            "a new line needs a file that is TOML",
        )
        .cure("mend the text first: its faults are listed with their lines")
    })?;
    // The parser turns line ends of other systems into its own; so only what it changed is taken over.
    let before = document.to_string();
    change(&mut document).map(|()| spliced(text, &before, &document.to_string())).ok_or_else(|| {
        Fault::at(key, format!("`{key}` has no place in this file"), "something else stands where it would be written")
            .cure("write it in the design file's text")
    })
}

/// `text` with what differs between `before` and `after` put in; `before` is `text` with plain line ends.
fn spliced(text: &str, before: &str, after: &str) -> String {
    let alike =
        |a: &mut dyn Iterator<Item = (char, char)>| a.take_while(|(p, q)| p == q).map(|(p, _)| p.len_utf8()).sum();
    let start: usize = alike(&mut before.chars().zip(after.chars()));
    let end: usize = alike(&mut before[start..].chars().rev().zip(after[start..].chars().rev()));
    // The place in `text` of a place in `before`: each `\r` before it that `before` does not have comes on top.
    let place = |at: usize| {
        let (mut own, mut theirs) = (0, text.char_indices().peekable());
        loop {
            match theirs.next() {
                Some((i, '\r')) if theirs.peek().is_some_and(|(_, c)| *c == '\n') => {
                    if own == at {
                        return i;
                    }
                }
                Some((i, _)) if own >= at => return i,
                Some((_, c)) => own += c.len_utf8(),
                None => return text.len(),
            }
        }
    };
    let new = &after[start..after.len() - end];
    let new = if text.contains("\r\n") { new.replace('\n', "\r\n") } else { new.to_owned() };
    [&text[..place(start)], &new, &text[place(before.len() - end)..]].concat()
}

fn take_out(table: &mut dyn TableLike, parts: &[Part]) -> Option<()> {
    match parts {
        [Part::Name(name)] => table.remove(name).map(|_| ()),
        [Part::Name(name), rest @ ..] => take_out_of(table.get_mut(name)?, rest),
        _ => None,
    }
}

fn take_out_of(item: &mut Item, parts: &[Part]) -> Option<()> {
    match parts {
        [Part::Place(at), rest @ ..] => {
            let list = item.as_array_mut()?;
            match rest {
                // A list's places are counted; one of them stays, empty, and is asked for.
                [] => list.get_mut(*at).map(|value| *value = Value::from("")),
                [Part::Name(name)] => list.get_mut(*at)?.as_inline_table_mut()?.remove(name).map(|_| ()),
                _ => None,
            }
        }
        _ => take_out(item.as_table_like_mut()?, parts),
    }
}

fn put_in(table: &mut dyn TableLike, parts: &[Part], value: Value) -> Option<()> {
    match parts {
        [Part::Name(name)] => {
            if table.contains_key(name) {
                return None;
            }
            table.insert(name, Item::Value(value));
            Some(())
        }
        [Part::Name(name), Part::Place(at)] => {
            let list = table.get_mut(name);
            match (list, at) {
                (Some(list), _) => {
                    let list = list.as_array_mut()?;
                    (*at == list.len()).then(|| list.push(value))
                }
                (None, _) => {
                    // The first end of a range stands for both until the other is typed.
                    let mut both = toml_edit::Array::new();
                    both.push(value.clone());
                    both.push(value);
                    table.insert(name, Item::Value(Value::Array(both)));
                    Some(())
                }
            }
        }
        [Part::Name(name), Part::Place(at), Part::Name(field)] => {
            let row = table.get_mut(name)?.as_array_mut()?.get_mut(*at)?.as_inline_table_mut()?;
            row.insert(*field, value);
            Some(())
        }
        [Part::Name(name), rest @ ..] => {
            if !table.contains_key(name) {
                let mut new = toml_edit::Table::new();
                // `[upper.nock]` needs no line `[upper]` above it.
                new.set_implicit(matches!(rest, [_, _, ..]));
                table.insert(name, Item::Table(new));
            }
            put_in(table.get_mut(name)?.as_table_like_mut()?, rest, value)
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples::SAMPLE;

    fn ok(result: Result<String, Fault>) -> String {
        result.unwrap_or_else(|fault| panic!("{fault:?}"))
    }

    #[test]
    fn a_value_is_replaced_and_nothing_else() {
        let changed = ok(set(SAMPLE, "bow.brace_height", "6 1/2 in", false));
        assert_eq!(changed, SAMPLE.replace("brace_height  = \"6 1/4 in\"", "brace_height  = \"6 1/2 in\""));
        let changed = ok(set(SAMPLE, "limb.stations[2].width", "9/16 in", false));
        assert_eq!(changed, SAMPLE.replace("width =   \"1/2 in\"", "width =   \"9/16 in\""));
        let changed = ok(set(SAMPLE, "range.draw[1]", "30 in", false));
        assert_eq!(changed, SAMPLE.replace("\"29 in\"]", "\"30 in\"]"));
        // What was typed stays as it was typed.
        let changed = ok(set(SAMPLE, "bow.name", " <b> \"x\" ' \\ ", false));
        assert_eq!(Written::new(&changed).value("bow.name").map(|v| v.0).as_deref(), Some(" <b> \"x\" ' \\ "));
    }

    #[test]
    fn a_new_key_comes_to_its_table_and_goes_again() {
        let added = ok(set(SAMPLE, "nock.fan_margin", "8 deg", false));
        assert_eq!(Written::new(&added).value("nock.fan_margin").map(|v| v.0).as_deref(), Some("8 deg"));
        assert_eq!(added.lines().count(), SAMPLE.lines().count() + 1);
        assert_eq!(ok(set(&added, "nock.fan_margin", " ", false)), SAMPLE);
        let added = ok(set(SAMPLE, "upper.nock.groove_depth", "2 mm", false));
        assert!(added.contains("[upper.nock]\ngroove_depth = \"2 mm\""), "{added}");
        let added = ok(set(SAMPLE, "string.friction", "0.2", true));
        assert!(added.contains("friction = 0.2\n"), "{added}");
    }

    #[test]
    fn line_ends_of_other_systems_stay() {
        let text = SAMPLE.replace('\n', "\r\n");
        let added = ok(set(&text, "string.friction", "0.2", true));
        assert_eq!(added.replace("friction = 0.2\r\n", ""), text);
        assert_eq!(ok(set(&added, "string.friction", "", true)), text);
        // Here and there only.
        let text = SAMPLE.replacen("\n", "\r\n", 20).replace("ö", "o");
        let added = ok(set(&text, "upper.nock.groove_depth", "2 mm", false));
        let new = added.replace("\r\n[upper.nock]\r\ngroove_depth = \"2 mm\"\r\n", "");
        assert_eq!(new, text);
    }

    #[test]
    fn rows_come_and_go() {
        let cell = |name, value: &str, bare| Cell { name, value: value.to_owned(), bare };
        let cells =
            vec![cell("at", "12 in", false), cell("width", "1 3/4 in", false), cell("thickness", "1/2 in", false)];
        let more = ok(put_row(SAMPLE, "limb.stations", Some(0), &NewRow::Table(cells)));
        assert_eq!(Written::new(&more).list("limb.stations").map(|l| l.len()), Some(4));
        assert_eq!(Written::new(&more).value("limb.stations[1].at").map(|v| v.0).as_deref(), Some("12 in"));
        assert_eq!(ok(take_row(&more, "limb.stations", 1)), SAMPLE);
        // A list comes with its first row and goes with its last.
        let spot = NewRow::Table(vec![cell("at", "20 in", false), cell("factor", "1", true)]);
        let more = ok(put_row(SAMPLE, "limb.stiffness", None, &spot));
        assert!(more.contains("stiffness = [{ at = \"20 in\", factor = 1 }]\n"), "{more}");
        assert_eq!(ok(take_row(&more, "limb.stiffness", 0)), SAMPLE);
        let more = ok(put_row(SAMPLE, "bow.scale", None, &NewRow::Text("30 lb at 20 in".into())));
        let more = ok(put_row(&more, "bow.scale", Some(0), &NewRow::Text("36 lb at 23 in".into())));
        assert!(more.contains("scale = [\"30 lb at 20 in\", \"36 lb at 23 in\"]\n"), "{more}");
        assert!(put_row(SAMPLE, "limb.stations", Some(9), &spot).is_err());
        assert!(take_row(SAMPLE, "limb.stations", 9).is_err() && take_row(SAMPLE, "bow.scale", 0).is_err());
    }

    #[test]
    fn what_is_no_key_is_refused() {
        for key in ["", "..", "bow..name", "bow.[0]", "a b", "limb.stations[x]", "../../etc/passwd"] {
            assert!(set(SAMPLE, key, "1 in", false).is_err(), "{key}");
        }
        assert!(set("bow = [", "bow.name", "x", false).is_err());
        assert!(set("bow = 3", "bow.name", "x", false).is_err());
    }
}
