//! Tables of the file, one above the other, and what their keys hold.

use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// What a key was found to hold.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Held<T> {
    /// The file leaves it out.
    Absent,
    /// It cannot be used; a fault says why.
    Bad,
    /// Its value.
    Is(T),
}

impl<T> Held<T> {
    pub fn is(self) -> Option<T> {
        match self {
            Held::Is(value) => Some(value),
            _ => None,
        }
    }

    pub fn or(self, absent: impl FnOnce() -> Option<T>) -> Option<T> {
        match self {
            Held::Is(value) => Some(value),
            Held::Absent => absent(),
            Held::Bad => None,
        }
    }
}

/// One table of the file.
#[derive(Clone)]
pub(super) struct Table<'t> {
    pub path: String,
    pub entries: &'t DeTable<'t>,
}

/// Tables that stand one above the other: what the first leaves out is looked for in the next.
#[derive(Clone)]
pub(super) struct Layers<'t> {
    /// Path of what is blamed when no table writes a key.
    pub path: String,
    pub tables: Vec<Table<'t>>,
    /// Something stands where the table should; a fault says so.
    pub bad: bool,
}

/// A key with its value in the file.
#[derive(Clone)]
pub(super) struct Entry<'t> {
    pub path: String,
    pub value: &'t Spanned<DeValue<'t>>,
    /// Which layer it was found in, 0 the foremost.
    pub layer: usize,
}

impl<'t> Layers<'t> {
    pub fn over(mut self, common: &Layers<'t>) -> Layers<'t> {
        self.tables.extend(common.tables.iter().cloned());
        self.path = common.path.clone();
        self.bad |= common.bad;
        self
    }

    pub fn find(&self, name: &str) -> Option<Entry<'t>> {
        self.tables.iter().enumerate().find_map(|(layer, table)| {
            let value = table.entries.get(name)?;
            Some(Entry { path: join(&table.path, name), value, layer })
        })
    }

    /// Each table by itself, foremost first.
    pub fn each(&self) -> impl Iterator<Item = Layers<'t>> {
        let bad = self.bad;
        self.tables.iter().map(move |table| Layers { path: table.path.clone(), tables: vec![table.clone()], bad })
    }

    /// All keys: path of the table, name, place of the name.
    pub fn keys(&self) -> impl Iterator<Item = (&str, &str, Range<usize>)> {
        self.tables.iter().flat_map(|table| {
            table.entries.iter().map(|(key, _)| (table.path.as_str(), key.get_ref().as_ref(), key.span()))
        })
    }

    /// Path of the foremost table, or of what would be blamed.
    pub fn own_path(&self) -> &str {
        self.tables.first().map_or(&self.path, |table| &table.path)
    }

    /// Whether the file writes any of these tables.
    pub fn is_written(&self) -> bool {
        !self.tables.is_empty()
    }
}

/// The dotted key of `name` within the table at `path`.
pub(super) fn join(path: &str, name: &str) -> String {
    if path.is_empty() { name.to_owned() } else { format!("{path}.{name}") }
}
