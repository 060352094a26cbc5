//! Where each value stands in the file.

use std::collections::BTreeMap;
use std::ops::Range;

use crate::fault::{Fault, Faults};

use super::refusal::{Refusal, Shown};

/// A key the file leaves out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Standing {
    /// Dotted key.
    pub key: String,
    /// What it stands at, as it would be written.
    pub at: String,
    /// Why.
    pub reason: String,
}

/// The file's text with the place of every key, and what stands at its default.
///
/// Later steps only name the key they blame; [`Places::refusal`] turns such faults into ones that point into the file.
#[derive(Debug, Clone)]
pub struct Places {
    name: String,
    text: String,
    places: BTreeMap<String, Range<usize>>,
    standing: BTreeMap<String, Standing>,
    typed: BTreeMap<String, (String, String)>,
}

impl Places {
    pub(super) fn new(name: &str, text: &str) -> Self {
        Places {
            name: name.to_owned(),
            text: text.to_owned(),
            places: BTreeMap::new(),
            standing: BTreeMap::new(),
            typed: BTreeMap::new(),
        }
    }

    /// The file's name.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The file's text.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// What the file leaves out and stands at its default, by key.
    pub fn defaults(&self) -> impl Iterator<Item = &Standing> {
        self.standing.values()
    }

    /// Whether the file writes this very key.
    pub fn has(&self, key: &str) -> bool {
        self.places.contains_key(key)
    }

    /// Bytes of the value of this very key; of its name where the value is a table or a list.
    pub fn span(&self, key: &str) -> Option<Range<usize>> {
        self.places.get(key).cloned()
    }

    pub(super) fn put(&mut self, key: &str, span: Range<usize>) {
        self.places.insert(key.to_owned(), span);
    }

    pub(super) fn stands_at(&mut self, key: &str, at: &str, reason: &str) {
        let standing = Standing { key: key.to_owned(), at: at.to_owned(), reason: reason.to_owned() };
        self.standing.insert(key.to_owned(), standing);
    }

    pub(super) fn was_typed(&mut self, key: &str, option: &str, text: &str) {
        self.typed.insert(key.to_owned(), (option.to_owned(), text.to_owned()));
    }

    pub(super) fn is_typed(&self, key: &str) -> bool {
        self.typed.contains_key(key)
    }

    /// Faults of any step, each with the place of the key it blames, ready to be shown.
    pub fn refusal(&mut self, faults: Faults) -> Refusal {
        Refusal::new(&self.name, &self.text, self.shown(faults))
    }

    /// Remarks, each with its place, as text for people.
    pub fn remarks(&self, remarks: &[Fault], colour: bool) -> String {
        Refusal::new(&self.name, &self.text, self.shown(remarks.to_vec())).render_remarks(colour)
    }

    fn shown(&self, faults: Faults) -> Vec<Shown> {
        faults.into_iter().map(|fault| self.show(fault)).collect()
    }

    fn show(&self, mut fault: Fault) -> Shown {
        if let Some((option, text)) = self.typed.get(&fault.key) {
            return Shown { label: String::new(), typed: Some(format!("{option} \"{text}\"")), fault };
        }
        // What was typed for this run and stands in no file.
        if fault.key.starts_with("--") {
            return Shown { label: String::new(), typed: Some(fault.key.clone()), fault };
        }
        let mut label = fault.key.clone();
        if fault.span.is_none() && !fault.key.is_empty() {
            let (found, span) = self.nearest(&fault.key);
            if !same_name(&found, &fault.key) {
                let name = fault.key.rsplit('.').next().unwrap_or_default();
                let standing = same_keys(&fault.key).find_map(|key| self.standing.get(&key));
                label = match standing {
                    Some(s) => format!("`{name}` is not in the file; it stands at {}", s.at),
                    None => format!("`{name}` is not in the file"),
                };
            }
            fault.span = span;
        }
        Shown { fault, label, typed: None }
    }

    /// The place of `key`, or of the nearest thing that stands for it: the same key for both limbs, its list, its table.
    fn nearest(&self, key: &str) -> (String, Option<Range<usize>>) {
        let mut wanted = key.to_owned();
        loop {
            for candidate in same_keys(&wanted) {
                if let Some(span) = self.places.get(&candidate) {
                    return (candidate, Some(span.clone()));
                }
            }
            match wanted.rfind(['.', '[']) {
                Some(cut) => wanted.truncate(cut),
                None => return (String::new(), None),
            }
        }
    }
}

/// Keys that may hold the value of `key`: its own, then the one for both limbs, then either limb's.
fn same_keys(key: &str) -> impl Iterator<Item = String> + use<> {
    let common = ["upper.", "lower."].iter().find_map(|side| key.strip_prefix(side)).map(str::to_owned);
    let sided = ["limb", "nock"]
        .iter()
        .any(|table| key.strip_prefix(table).is_some_and(|rest| rest.is_empty() || rest.starts_with('.')));
    let either = if sided { vec![format!("upper.{key}"), format!("lower.{key}")] } else { Vec::new() };
    std::iter::once(key.to_owned()).chain(common).chain(either)
}

/// Whether two keys end in the same name, leaving places in a list aside.
fn same_name(a: &str, b: &str) -> bool {
    a.rsplit('.').next() == b.rsplit('.').next()
}
