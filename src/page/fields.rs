//! The design as a form: every key a maker may write, with what is written, what it stands at, and why.

use std::ops::Range;

use serde::Serialize;

use super::edit::Written;
use super::lists::{LISTS, List, ListOf, RowOf};
use super::slider::{self, Slider};
use crate::design::file::Reading;
use crate::design::file::keys::{self, FileKey, LeftOut, Takes};
use crate::design::{NockValue, SectionForm, Side, Units};
use crate::nock::{Key, KeyDefault, KeyKind, NOCK_STYLES, NockStyle};
use crate::units::{self, Kind};
use crate::wood;

/// One table of the design.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Group {
    /// Its dotted key.
    pub id: String,
    /// Its heading.
    pub title: &'static str,
    /// Whether the file writes it.
    pub written: bool,
    pub fields: Vec<Field>,
    /// Lists of rows in it.
    pub lists: Vec<List>,
}

/// One value.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Field {
    pub key: String,
    pub label: String,
    /// What it is.
    pub hint: String,
    /// What is allowed, and why.
    pub allowed: String,
    /// As it is written; none where it is left out.
    pub value: Option<String>,
    /// What it stands at when left out, and why.
    pub standing: String,
    /// The words to choose from; none for what is typed.
    pub words: Vec<String>,
    /// The measure in the other unit.
    pub reading: String,
    pub slider: Option<Slider>,
    #[serde(skip)]
    pub span: Option<Range<usize>>,
    #[serde(skip)]
    pub bare: bool,
}

impl Group {
    /// Its fields, and those of its lists.
    pub fn all(&self) -> impl Iterator<Item = &Field> {
        self.fields.iter().chain(self.lists.iter().flat_map(|l| l.rows.iter().flatten()))
    }

    /// Whether another group has the same heading, lists and fields, whatever stands in them.
    pub fn same_shape(&self, other: &Group) -> bool {
        let shape = |g: &Group| (g.title, g.written, g.fields.len());
        let rows = |g: &Group| g.lists.iter().map(|l| (l.key.clone(), l.rows.len())).collect::<Vec<_>>();
        shape(self) == shape(other)
            && rows(self) == rows(other)
            && self.all().zip(other.all()).all(|(a, b)| a.key == b.key && a.label == b.label && a.words == b.words)
    }
}

impl Field {
    /// Whether another field looks the same, wherever it stands in its file.
    pub fn shows_as(&self, other: &Field) -> bool {
        let words = |f: &Field| [f.hint == other.hint, f.allowed == other.allowed, f.standing == other.standing];
        words(self) == [true; 3]
            && self.value == other.value
            && self.reading == other.reading
            && self.slider == other.slider
    }
}

/// What the form is made from.
struct Form<'a> {
    written: &'a Written<'a>,
    reading: Option<&'a Reading>,
    units: Units,
}

/// All groups of a design's text; with its reading, where it was accepted.
pub(super) fn groups(written: &Written, reading: Option<&Reading>) -> Vec<Group> {
    let units = match (reading, written.value("units")) {
        (Some(reading), _) => reading.design.units,
        (None, Some((word, _))) if keys::same_word(&word, "mm") => Units::Millimetre,
        _ => Units::Inch,
    };
    let form = Form { written, reading, units };
    let mut groups = vec![
        form.bow(),
        form.limb("limb", "Both limbs"),
        form.group("string", "The string", keys::STRING),
        form.nock("nock", "Both nocks", None),
        form.range(),
    ];
    groups.push(form.limb("upper.limb", "Upper limb, where it differs"));
    groups.push(form.limb("lower.limb", "Lower limb, where it differs"));
    groups.push(form.nock("upper.nock", "Upper nock, where it differs", Some(Side::Upper)));
    groups.push(form.nock("lower.nock", "Lower nock, where it differs", Some(Side::Lower)));
    groups.push(form.group("strength", "What strength is judged by", keys::STRENGTH));
    groups.push(form.tiller());
    groups.push(form.group("sheets", "The sheets", keys::SHEETS));
    groups
}

/// The field of that key.
pub(super) fn find<'a>(groups: &'a [Group], key: &str) -> Option<&'a Field> {
    all(groups).find(|field| field.key == key)
}

/// What a fault is shown beside: the field whose value it points at, or the one of its key, or the list that it is in.
pub(super) fn blamed(groups: &[Group], key: &str, span: Option<&Range<usize>>) -> Option<String> {
    let within = |field: &&Field| match (span, &field.span) {
        (Some(fault), Some(own)) => fault.start >= own.start && fault.start < own.end.max(own.start + 1),
        _ => false,
    };
    let common = ["upper.", "lower."].iter().find_map(|side| key.strip_prefix(side));
    let of = |key: &str| {
        // A pair of measures, or a measure in parts, is faulty at the first of them.
        let part = |f: &&Field| f.key.strip_prefix(key).is_some_and(|rest| rest.starts_with(['.', '[']));
        let list = || groups.iter().flat_map(|g| &g.lists).find(|list| list.key == key).map(|list| list.key.clone());
        find(groups, key).map(|f| f.key.clone()).or_else(list).or_else(|| all(groups).find(part).map(|f| f.key.clone()))
    };
    // A row that is not as it should be, or has more than it should, has no field of its own: it is told of at its list.
    let row = || key.split_once('[').map(|(list, _)| list);
    let found = all(groups).find(within).map(|f| f.key.clone()).or_else(|| of(key)).or_else(|| of(common?));
    found.or_else(|| of(row()?)).or_else(|| of(row()?.split_once('.').filter(|_| common.is_some())?.1))
}

fn all(groups: &[Group]) -> impl Iterator<Item = &Field> {
    groups.iter().flat_map(Group::all)
}

/// `brace_height` as a label: `Brace height`.
fn label(name: &str) -> String {
    let words = name.replace('_', " ");
    let mut letters = words.chars();
    letters.next().map_or(words.clone(), |first| first.to_uppercase().chain(letters).collect())
}

/// What a key stands at when left out, and why.
fn standing(key: &FileKey) -> String {
    let reason = if key.reason.is_empty() { String::new() } else { format!(" ({})", key.reason) };
    match key.default {
        LeftOut::Required => "must be given".to_owned(),
        LeftOut::Optional => String::new(),
        LeftOut::Written(text) => format!("stands at {text}{reason}"),
        LeftOut::Worked(rule) => format!("stands at: {rule}{reason}"),
    }
}

impl Form<'_> {
    fn group(&self, id: &str, title: &'static str, keys: &[FileKey]) -> Group {
        let mut fields = Vec::new();
        for key in keys {
            let path = format!("{id}.{}", key.name);
            // Lists have rows of their own, or stand in the text alone.
            if matches!(key.takes, Takes::Form(form) if form.starts_with("a list")) {
                continue;
            }
            if path == "bow.weight" && self.written.is_table(&path) {
                let parts = keys::WEIGHT_TABLE.iter().rev();
                fields.extend(parts.map(|part| {
                    let label = if part.name == "pull" { "Weight on the scale" } else { "Weight read at a draw of" };
                    Field { label: label.to_owned(), ..self.field(&path, part) }
                }));
                continue;
            }
            fields.push(self.field(id, key));
        }
        Group { id: id.to_owned(), title, written: self.written.is_table(id), fields, lists: Vec::new() }
    }

    fn bow(&self) -> Group {
        let mut group = self.group("bow", "The bow", keys::BOW);
        group.lists = self.lists("bow", &["scale"]);
        group
    }

    fn limb(&self, id: &str, title: &'static str) -> Group {
        let mut group = self.group(id, title, keys::LIMB);
        group.lists = self.lists(id, &["stations", "unstrung", "stiffness"]);
        // One limb has of its own what the file writes for it.
        group.lists.retain(|list| id == "limb" || !list.rows.is_empty());
        group
    }

    fn tiller(&self) -> Group {
        let mut group = self.group("tiller", "The measured tiller", keys::TILLER);
        group.lists = self.lists("tiller", &["measured"]);
        group
    }

    fn lists(&self, id: &str, names: &[&str]) -> Vec<List> {
        names.iter().filter_map(|name| LISTS.iter().find(|l| l.name == *name)).map(|of| self.list(id, of)).collect()
    }

    fn list(&self, id: &str, of: &ListOf) -> List {
        let key = format!("{id}.{}", of.name);
        let count = self.written.list(&key).map_or(0, |list| list.len()).min(60);
        let row = |at: usize| {
            let path = format!("{key}[{at}]");
            match of.row {
                RowOf::Table(keys) => {
                    let named = |k: &FileKey| {
                        let field = Field { standing: standing(k), ..self.field(&path, k) };
                        Field { label: format!("{} of {} {}", field.label, of.one, at + 1), ..field }
                    };
                    keys.iter().map(named).collect()
                }
                RowOf::Text(allowed) => {
                    let label = format!("{} {}", label(of.one), at + 1);
                    let standing = "must be given".to_owned();
                    vec![self.filled(path, label, of.hint.to_owned(), allowed.to_owned(), standing, Vec::new())]
                }
            }
        };
        List {
            title: of.title,
            hint: of.hint,
            one: of.one,
            fewest: of.fewest,
            open: of.open,
            rows: (0..count).map(row).collect(),
            key,
        }
    }

    fn range(&self) -> Group {
        let mut group = self.group("range", "What the nocks must serve", &[]);
        let ends = [
            ("brace_height", ["Lowest brace height", "Highest brace height"]),
            ("draw", ["Shortest draw", "Longest draw"]),
        ];
        for (name, labels) in ends {
            let Some(own) = keys::BOW.iter().find(|k| k.name == name) else { continue };
            for (at, label) in labels.into_iter().enumerate() {
                let key = FileKey { default: LeftOut::Worked("the bow's own"), ..*own };
                let field = self.field("range", &key);
                let path = format!("range.{name}[{at}]");
                let placed = self.placed(&path, &key, Kind::Length);
                let hint = "other strings and other archers: the nock must serve them too".to_owned();
                group.fields.push(Field { label: label.to_owned(), hint, allowed: field.allowed, ..placed });
            }
        }
        group
    }

    fn nock(&self, id: &str, title: &'static str, side: Option<Side>) -> Group {
        let chosen = |id: &str| self.written.value(&format!("{id}.style")).map(|(name, _)| name);
        let name = chosen(id).or_else(|| chosen("nock")).unwrap_or_default();
        let style = NOCK_STYLES.iter().copied().find(|s| keys::same_word(s.name(), &name));
        let mut group = self.group(id, title, &[]);
        group.fields.push(self.style(id, side, style));
        for key in style.map(NockStyle::keys).unwrap_or_default() {
            group.fields.push(self.nock_field(id, side, key));
        }
        group
    }

    fn style(&self, id: &str, side: Option<Side>, style: Option<&dyn NockStyle>) -> Field {
        let words = NOCK_STYLES.iter().map(|s| s.name().to_owned()).collect();
        let standing = side.map_or(String::new(), |_| "as for both nocks".to_owned());
        let hint = style.map_or("the way the limb's end takes the string", |s| s.summary()).to_owned();
        self.filled(format!("{id}.style"), "Style".into(), hint, String::new(), standing, words)
    }

    fn nock_field(&self, id: &str, side: Option<Side>, key: &Key) -> Field {
        let path = format!("{id}.{}", key.name);
        let (rule, given) = match key.default {
            KeyDefault::Written(text) => (text, true),
            KeyDefault::Worked(rule, _) => (rule, false),
        };
        let stands = if given { format!("stands at {rule}") } else { format!("stands at: {rule}") };
        let standing = match side {
            Some(_) => "as for both nocks".to_owned(),
            None => format!("{stands}. {}", key.reason),
        };
        let words = match key.kind {
            KeyKind::Choice(words) => words.iter().map(|w| (*w).to_owned()).collect(),
            _ => Vec::new(),
        };
        let mut field = self.filled(path, label(key.name), key.meaning.to_owned(), String::new(), standing, words);
        let (kind, least, greatest) = match key.kind {
            KeyKind::Length(l, g) => (Kind::Length, l, g),
            KeyKind::Angle(l, g) => (Kind::Angle, l, g),
            KeyKind::Number(l, g) => (Kind::Number, l, g),
            KeyKind::Choice(_) => return field,
        };
        field.bare = kind == Kind::Number;
        field.allowed = format!("from {} to {}", self.text(least, kind), self.text(greatest, kind));
        let own = field.value.as_deref().and_then(|v| units::read(v, kind).ok());
        let worked = self.reading.filter(|_| field.value.is_none()).and_then(|reading| {
            let choice = reading.design.nocks.get(side.unwrap_or(Side::Upper));
            choice.values.iter().find(|(name, _)| *name == key.name).and_then(|(_, value)| match value {
                NockValue::Length(v) | NockValue::Angle(v) | NockValue::Number(v) => Some(*v),
                NockValue::Choice(_) => None,
            })
        });
        if let Some(worked) = worked {
            field.reading = self.text(worked, kind);
        } else if let Some(own) = own {
            field.reading = self.other(own, kind);
        }
        field.slider = own.or(worked).and_then(|v| slider::about(v, kind, least, greatest, self.units));
        field
    }

    fn field(&self, path: &str, key: &FileKey) -> Field {
        let kind = match key.takes {
            Takes::Measure(kind, ..) => kind,
            _ => Kind::Length,
        };
        self.placed(&format!("{path}.{}", key.name), key, kind)
    }

    /// The field of `key` where it is written under `path`.
    fn placed(&self, path: &str, key: &FileKey, kind: Kind) -> Field {
        let words: Vec<String> = match key.takes {
            Takes::Words(words) => words.iter().map(|w| (*w).to_owned()).collect(),
            _ if key.name == "wood" => wood::woods().iter().map(|row| row.name.to_owned()).collect(),
            _ => Vec::new(),
        };
        let of_one = path.starts_with("upper.") || path.starts_with("lower.");
        let standing = if of_one { "as for both limbs".to_owned() } else { standing(key) };
        let mut field =
            self.filled(path.to_owned(), label(key.name), key.meaning.to_owned(), String::new(), standing, words);
        match key.takes {
            Takes::Measure(_, least, greatest, why) => {
                field.bare = kind == Kind::Number;
                field.allowed = format!("from {} to {}: {why}", self.text(least, kind), self.text(greatest, kind));
                let given = field.value.as_deref().and_then(|v| units::read(v, kind).ok());
                let default = match key.default {
                    LeftOut::Written(text) if field.value.is_none() && !of_one => units::read(text, kind).ok(),
                    _ => None,
                };
                field.reading = given.map_or(String::new(), |v| self.other(v, kind));
                let (least, greatest) = self.served(&field.key).unwrap_or((least, greatest));
                let turns = given.or(default).filter(|_| self.is_turned(&field.key, key.name));
                field.slider = turns.and_then(|v| slider::about(v, kind, least, greatest, self.units));
            }
            Takes::Form(form) => field.allowed = form.replace('`', ""),
            Takes::Words(_) | Takes::Text => {}
        }
        field
    }

    fn filled(
        &self,
        key: String,
        label: String,
        hint: String,
        allowed: String,
        standing: String,
        words: Vec<String>,
    ) -> Field {
        let found = self.written.value(&key);
        let (value, span) = found.map_or((None, None), |(value, span)| (Some(value), Some(span)));
        Field {
            key,
            label,
            hint,
            allowed,
            value,
            standing,
            words,
            reading: String::new(),
            slider: None,
            span,
            bare: false,
        }
    }

    fn text(&self, value: f64, kind: Kind) -> String {
        match kind {
            Kind::Length => units::plain_length_text(value, self.units),
            Kind::Angle => units::angle_text(value),
            Kind::Force => units::force_text(value, self.units),
            Kind::Stress => format!("{} GPa", units::number_text(value / 1e9, 1)),
            Kind::Density => format!("{} kg/m3", units::number_text(value, 0)),
            Kind::Number => units::number_text(value, 2),
        }
    }

    /// Whether a measure is one to be turned: a count is not, nor what another section than the limbs' has.
    fn is_turned(&self, path: &str, name: &str) -> bool {
        let Some(design) = self.reading.map(|reading| &reading.design) else { return true };
        let of = |form: fn(&SectionForm) -> bool| {
            let sides: &[Side] = match path.split('.').next() {
                Some("upper") => &[Side::Upper],
                Some("lower") => &[Side::Lower],
                _ => &Side::BOTH,
            };
            sides.iter().all(|&side| form(&design.limbs.get(side).section))
        };
        match name {
            "corner" => of(|form| matches!(form, SectionForm::RoundedRectangle { .. })),
            "belly_width" => of(|form| matches!(form, SectionForm::Trapezoid { .. })),
            "places" => false,
            _ => true,
        }
    }

    /// From where to where a measure may be turned in a design that says what its nocks serve.
    fn served(&self, key: &str) -> Option<(f64, f64)> {
        let design = &self.reading?.design;
        let [least, greatest] = match key {
            "bow.brace_height" => design.serves.brace_height?,
            "bow.draw" => design.serves.draw,
            _ => return None,
        };
        (least < greatest).then_some((least, greatest))
    }

    /// A measure in the unit that it may not be written in.
    fn other(&self, value: f64, kind: Kind) -> String {
        match kind {
            Kind::Length if self.units == Units::Millimetre => {
                format!(
                    "{} ({})",
                    units::plain_length_text(value, self.units),
                    units::plain_length_text(value, Units::Inch)
                )
            }
            Kind::Length => units::length_text(value, Units::Inch),
            Kind::Force => units::force_text(value, self.units),
            _ => String::new(),
        }
    }
}
