//! Values out of tables, with every fault kept.

use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::design::Design;
use crate::fault::{Fault, Faults};
use crate::units::{self, Kind, Misread, quoted};

use super::keys::{self, FileKey, LeftOut, Takes, did_you_mean, plain};
use super::places::Places;
use super::syntax::line_of;
use super::tables::{Entry, Held, Layers, Table, join};
use super::words::{form_of, home_of, list_of, range_text};
use super::{LAYOUT, MOST_FAULTS, Overrides, Reading, Refusal};

/// Most places of a list that are read.
const MOST_ITEMS: usize = 500;

pub(super) struct Reader<'o> {
    pub places: Places,
    faults: Faults,
    remarks: Vec<Fault>,
    overrides: &'o Overrides,
    /// Keys that a misspelt one seems to mean: they are not missed as well.
    meant: Vec<String>,
    /// Lines that are not TOML; what is said about their values would be noise.
    broken: Vec<Range<usize>>,
}

impl<'o> Reader<'o> {
    pub fn new(places: Places, syntax_faults: Faults, overrides: &'o Overrides) -> Self {
        let broken =
            syntax_faults.iter().filter_map(|f| f.span.as_ref()).map(|s| line_of(places.text(), s.start)).collect();
        Reader { places, faults: syntax_faults, remarks: Vec::new(), overrides, meant: Vec::new(), broken }
    }

    /// Adds a fault, unless its line is not TOML in the first place.
    pub fn fault(&mut self, fault: Fault) {
        if self.faults.len() >= MOST_FAULTS {
            return;
        }
        let broken =
            fault.span.as_ref().is_some_and(|s| self.broken.iter().any(|b| b.start <= s.start && s.start <= b.end));
        if !broken && !self.faults.contains(&fault) {
            self.faults.push(fault);
        }
    }

    pub fn remark(&mut self, remark: Fault) {
        if self.remarks.len() < MOST_FAULTS && !self.remarks.contains(&remark) {
            self.remarks.push(remark);
        }
    }

    /// A key that has to be written and is not. Where lines could not be parsed it may well be on one of them.
    pub fn missing(&mut self, table: &Layers, key: &FileKey) {
        let path = join(&table.path, key.name);
        if table.bad || !self.broken.is_empty() || self.meant.contains(&path) {
            return;
        }
        let takes = match key.takes {
            Takes::Form("a table") => format!("write the table `{}`", key.example),
            _ => format!("write it as in `{} = {}`", key.name, key.example),
        };
        let what = if table.path.is_empty() {
            format!("`[{}]` is missing", key.name)
        } else {
            format!("`{}` is missing from [{}]", key.name, table.path)
        };
        self.fault(Fault::at(path, what, format!("it says: {}; nothing can stand in for it", key.meaning)).cure(takes));
    }

    /// As [`Reader::missing`], in words of its own.
    pub fn missing_one(&mut self, table: &Layers, key: &FileKey, what: &str, why: &str) {
        if !table.bad && self.broken.is_empty() && !self.meant.contains(&join(&table.path, key.name)) {
            let cure = format!("write it as in `{} = {}`", key.name, key.example);
            self.fault(Fault::at(join(&table.path, key.name), what, why).cure(cure));
        }
    }

    /// The value, if it is within the bounds of `key`.
    pub fn check_range(&mut self, entry: &Entry, key: &FileKey, value: f64) -> Option<f64> {
        let Takes::Measure(_, least, greatest, why) = key.takes else { return None };
        let span = entry.value.span();
        let written = match entry.value.get_ref() {
            DeValue::String(text) => text.to_string(),
            other => form_of(other),
        };
        self.within(&entry.path, Some(span), &written, value, key, (least, greatest, why)).is()
    }

    pub fn finish(mut self, design: Option<Design>) -> Result<Reading, Refusal> {
        match design {
            Some(design) if self.faults.is_empty() => {
                Ok(Reading { design, remarks: self.remarks, places: self.places })
            }
            _ => {
                if self.faults.is_empty() {
                    self.faults.push(Fault::at("", "the design is not complete", "every table must be read whole"));
                }
                Err(self.places.refusal(self.faults))
            }
        }
    }

    pub fn root<'t>(&mut self, document: &'t Spanned<DeTable<'t>>) -> Layers<'t> {
        let table = Table { path: String::new(), entries: document.get_ref() };
        self.put_places(&table);
        Layers { path: String::new(), tables: vec![table], bad: false }
    }

    /// Notes the places of all that a table holds, lists and inner tables with it.
    fn put_places(&mut self, table: &Table) {
        for (key, value) in table.entries {
            let path = join(&table.path, key.get_ref());
            self.put_value(&path, key.span(), value);
        }
    }

    fn put_value(&mut self, path: &str, key_span: Range<usize>, value: &Spanned<DeValue>) {
        match value.get_ref() {
            // A table or list may run over many lines; its name is the place to point at.
            DeValue::Table(entries) => {
                self.places.put(path, key_span);
                self.put_places(&Table { path: path.to_owned(), entries });
            }
            DeValue::Array(items) => {
                self.places.put(path, key_span);
                for (i, item) in items.iter().enumerate() {
                    self.put_value(&format!("{path}[{i}]"), item.span(), item);
                }
            }
            _ => self.places.put(path, value.span()),
        }
    }

    /// The table of that name within another.
    pub fn table<'t>(&mut self, within: &Layers<'t>, key: &FileKey) -> Layers<'t> {
        let mut layers = Layers { path: join(within.own_path(), key.name), tables: Vec::new(), bad: within.bad };
        match within.find(key.name) {
            Some(entry) => match entry.value.get_ref() {
                DeValue::Table(entries) => layers.tables.push(Table { path: entry.path, entries }),
                _ => {
                    layers.bad = true;
                    self.wrong_form(&entry, key);
                }
            },
            None if key.default == LeftOut::Required => {
                self.missing(within, key);
                layers.bad = true;
            }
            None => {}
        }
        layers
    }

    /// A list's item as a table.
    pub fn item_table<'t>(&mut self, path: &str, item: &'t Spanned<DeValue<'t>>, list: &FileKey) -> Option<Layers<'t>> {
        match item.get_ref() {
            DeValue::Table(entries) => {
                let table = Table { path: path.to_owned(), entries };
                Some(Layers { path: path.to_owned(), tables: vec![table], bad: false })
            }
            _ => {
                self.wrong_form(&Entry { path: path.to_owned(), value: item, layer: 0 }, list);
                None
            }
        }
    }

    /// Items of a list.
    pub fn list<'t>(&mut self, entry: &Entry<'t>, key: &FileKey) -> Option<Vec<(String, &'t Spanned<DeValue<'t>>)>> {
        match entry.value.get_ref() {
            DeValue::Array(items) if items.len() > MOST_ITEMS => {
                let what = format!("`{}` has {} places", key.name, items.len());
                let why = format!("at most {MOST_ITEMS} are read; a limb needs a dozen");
                let span = self.span_of(&entry.path, entry.value);
                self.fault(
                    Fault::at(entry.path.as_str(), what, why).cure("keep those where the taper changes").span(span),
                );
                None
            }
            DeValue::Array(items) => {
                Some(items.iter().enumerate().map(|(i, item)| (format!("{}[{i}]", entry.path), item)).collect())
            }
            _ => {
                self.wrong_form(entry, key);
                None
            }
        }
    }

    /// Something else stands where `key` should.
    pub fn wrong_form(&mut self, entry: &Entry, key: &FileKey) {
        let wanted = match key.takes {
            Takes::Measure(kind, ..) => kind.name().to_owned(),
            Takes::Words(words) => format!("one of {}", list_of(words.iter().copied())),
            Takes::Text => "a text in quotes".to_owned(),
            Takes::Form(form) => form.to_owned(),
        };
        let what = format!("`{}` holds {}", key.name, form_of(entry.value.get_ref()));
        let cure = match key.takes {
            Takes::Form("a table") => format!("write the table `{}`", key.example),
            _ => format!("write it as in `{} = {}`", key.name, key.example),
        };
        let span = self.span_of(&entry.path, entry.value);
        self.fault(
            Fault::at(entry.path.as_str(), what, format!("{wanted} is wanted: {}", key.meaning)).cure(cure).span(span),
        );
    }

    fn span_of(&self, path: &str, value: &Spanned<DeValue>) -> Range<usize> {
        self.places.span(path).unwrap_or_else(|| value.span())
    }

    /// Faults for keys that are not in the list.
    pub fn known_keys(&mut self, table: &Layers, known: &[FileKey]) {
        let names: Vec<&str> = known.iter().map(|k| k.name).collect();
        self.known_names(table, &names, "");
    }

    /// Faults for keys of the foremost table that are not among `names`; `of` says whose keys they are.
    pub fn known_names(&mut self, table: &Layers, names: &[&str], of: &str) {
        let Some(front) = table.tables.first() else { return };
        let front = Layers { path: front.path.clone(), tables: vec![front.clone()], bad: false };
        for (path, name, span) in front.keys() {
            if names.contains(&name) {
                continue;
            }
            if self.faults.len() >= MOST_FAULTS {
                return;
            }
            let place = if path.is_empty() { "at the top of the file".to_owned() } else { format!("in [{path}]") };
            let fault = Fault::at(
                join(path, name),
                format!("{} is not a key known {place}", quoted(name)),
                format!("known{of} {place}: {}", names.join(", ")),
            );
            let cure = match (did_you_mean(name, names.iter().copied()), home_of(name, path)) {
                (Some(near), _) => {
                    self.meant.push(join(path, near));
                    format!("did you mean `{near}`?")
                }
                (None, Some(home)) => format!("`{name}` belongs in {home}"),
                (None, None) => "strike the line out, or put a # before it to keep it as a comment".into(),
            };
            self.fault(fault.cure(cure).span(span));
        }
    }

    /// `layout = 1`.
    pub fn layout(&mut self, root: &Layers) {
        let Some(entry) = root.find(keys::LAYOUT.name) else {
            self.stands_at("layout", &keys::LAYOUT);
            return;
        };
        let written = match entry.value.get_ref() {
            DeValue::Integer(number) => number.to_string(),
            _ => return self.wrong_form(&entry, &keys::LAYOUT),
        };
        if written != LAYOUT.to_string() {
            let what = format!("the file's keys are of layout {}", quoted(&written));
            let why = format!("this program reads layout {LAYOUT}");
            let cure = format!(
                "write `layout = {LAYOUT}` if the file follows it, or use the program the file was written for"
            );
            self.fault(Fault::at("layout", what, why).cure(cure).span(entry.value.span()));
        }
    }

    fn stands_at(&mut self, path: &str, key: &FileKey) {
        match key.default {
            LeftOut::Written(text) | LeftOut::Worked(text) => self.places.stands_at(path, text, key.reason),
            LeftOut::Required | LeftOut::Optional => {}
        }
    }

    /// A measure; left out, it stands at its written default, or a fault says that it must be written.
    pub fn measure(&mut self, table: &Layers, key: &FileKey) -> Option<f64> {
        match self.asked_measure(table, key) {
            Held::Is(value) => Some(value),
            Held::Bad => None,
            Held::Absent => match (key.default, key.takes) {
                (LeftOut::Written(text), Takes::Measure(kind, ..)) => units::read(text, kind).ok(),
                (LeftOut::Required, _) => {
                    self.missing(table, key);
                    None
                }
                _ => None,
            },
        }
    }

    /// A measure that may be left out; what it stands at then is noted.
    pub fn asked_measure(&mut self, table: &Layers, key: &FileKey) -> Held<f64> {
        let Takes::Measure(kind, least, greatest, why) = key.takes else { return Held::Bad };
        let path = join(&table.path, key.name);
        let overrides = self.overrides;
        if let Some((_, option, text)) = overrides.given().find(|(typed, ..)| *typed == path) {
            self.places.was_typed(&path, option, text);
            return match units::read(text, kind) {
                Ok(value) => self.within(&path, None, text, value, key, (least, greatest, why)),
                Err(misread) => {
                    self.misread(&path, None, misread);
                    Held::Bad
                }
            };
        }
        match table.find(key.name) {
            Some(entry) => match self.entry_measure(&entry, key, kind) {
                Some((value, written)) => {
                    let span = Some(entry.value.span());
                    self.within(&entry.path, span, &written, value, key, (least, greatest, why))
                }
                None => Held::Bad,
            },
            None if table.bad => Held::Bad,
            None => {
                self.stands_at(&path, key);
                Held::Absent
            }
        }
    }

    /// The measure an entry holds, with what was written.
    pub fn entry_measure(&mut self, entry: &Entry, key: &FileKey, kind: Kind) -> Option<(f64, String)> {
        let written = match entry.value.get_ref() {
            DeValue::String(text) => text.to_string(),
            DeValue::Integer(number) => number.to_string(),
            DeValue::Float(number) => number.as_str().to_owned(),
            _ => {
                self.wrong_form(entry, key);
                return None;
            }
        };
        match units::read(&written, kind) {
            Ok(value) => Some((value, written)),
            Err(misread) => {
                self.misread(&entry.path, Some(entry.value), misread);
                None
            }
        }
    }

    /// A measure that cannot be read, with the caret under the very letters to blame.
    pub fn misread(&mut self, path: &str, value: Option<&Spanned<DeValue>>, misread: Misread) {
        let mut fault = Fault::at(path, misread.what, misread.why).cure(misread.cure);
        if let Some(value) = value {
            let span = value.span();
            let inner = match value.get_ref() {
                DeValue::String(text) => self.places.text().get(span.clone()).filter(|raw| {
                    // Only where the text stands in the file letter for letter between two quotes.
                    raw.len() == text.len() + 2 && raw.get(1..raw.len() - 1) == Some(text.as_ref())
                }),
                _ => None,
            };
            let at = misread.at;
            fault = fault.span(match inner {
                Some(_) if !at.is_empty() => span.start + 1 + at.start..span.start + 1 + at.end,
                _ => span,
            });
        }
        self.fault(fault);
    }

    fn within(
        &mut self,
        path: &str,
        span: Option<Range<usize>>,
        written: &str,
        value: f64,
        key: &FileKey,
        (least, greatest, why): (f64, f64, &str),
    ) -> Held<f64> {
        if (least..=greatest).contains(&value) {
            return Held::Is(value);
        }
        let Takes::Measure(kind, ..) = key.takes else { return Held::Bad };
        let what = format!("{} is no sensible {}", quoted(written), key.name.replace('_', " "));
        let allowed = range_text(kind, least, greatest);
        let mut fault = Fault::at(path, what, format!("{allowed}: {why}"))
            .cure(format!("{} is meant: {}; check figure and unit", key.name, key.meaning));
        fault.span = span;
        self.fault(fault);
        Held::Bad
    }

    /// One of a few words.
    pub fn word(&mut self, table: &Layers, key: &FileKey) -> Option<&'static str> {
        let Takes::Words(words) = key.takes else { return None };
        let Some(entry) = table.find(key.name) else {
            if table.bad {
                return None;
            }
            self.stands_at(&join(&table.path, key.name), key);
            return match key.default {
                LeftOut::Written(text) => words.iter().copied().find(|w| *w == text),
                _ => None,
            };
        };
        let DeValue::String(text) = entry.value.get_ref() else {
            self.wrong_form(&entry, key);
            return None;
        };
        let found = words.iter().copied().find(|w| plain(w) == plain(text));
        if found.is_none() {
            self.no_such_word(&entry, key.name, text, words);
        }
        found
    }

    /// A word that is not among those allowed.
    pub fn no_such_word(&mut self, entry: &Entry, name: &str, text: &str, words: &[&str]) {
        let name = name.replace('_', " ");
        let fault = Fault::at(
            entry.path.as_str(),
            format!("{} is no {name} known here", quoted(text)),
            format!("known: {}", list_of(words.iter().copied())),
        );
        let cure = match did_you_mean(text, words.iter().copied()) {
            Some(near) => format!("did you mean \"{near}\"?"),
            None => "choose one of them".into(),
        };
        self.fault(fault.cure(cure).span(entry.value.span()));
    }

    /// A text.
    pub fn text(&mut self, table: &Layers, key: &FileKey) -> Held<String> {
        let Some(entry) = table.find(key.name) else {
            if table.bad {
                return Held::Bad;
            }
            self.stands_at(&join(&table.path, key.name), key);
            return Held::Absent;
        };
        let DeValue::String(text) = entry.value.get_ref() else {
            self.wrong_form(&entry, key);
            return Held::Bad;
        };
        let fault = if text.trim().is_empty() {
            Some((format!("`{}` is empty", key.name), "at least a letter is wanted"))
        } else if text.chars().count() > keys::MOST_LETTERS {
            Some((
                format!("`{}` is {} letters long", key.name, text.chars().count()),
                "at most 80 letters, so that it fits the sheets",
            ))
        } else if text.chars().any(char::is_control) {
            Some((format!("`{}` holds a control character", key.name), "one line of letters that can be printed"))
        } else {
            None
        };
        match fault {
            Some((what, why)) => {
                let cure = format!("write it as in `{} = {}`", key.name, key.example);
                self.fault(Fault::at(entry.path.as_str(), what, why).cure(cure).span(entry.value.span()));
                Held::Bad
            }
            None => Held::Is(text.trim().to_owned()),
        }
    }
}
