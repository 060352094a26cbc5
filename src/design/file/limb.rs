//! `[limb]` and what `[upper.limb]` and `[lower.limb]` put in its place.

use crate::design::{Both, Certainty, Limb, Offset, SectionForm, Side, Sourced, Station, StiffnessAt, Units, Wood};
use crate::fault::Fault;
use crate::nock::Given;
use crate::section::Section;
use crate::units::{plain_length_text, quoted};
use crate::wood;

use super::bow::StringParts;
use super::keys::{self, FileKey, did_you_mean};
use super::reader::Reader;
use super::tables::{Held, Layers};

/// A limb as far as it could be read.
#[derive(Clone)]
pub(super) struct LimbParts {
    /// As the file gives it; filled in by [`lengths`].
    pub length: Held<f64>,
    /// Key of the length, or of what would be blamed for it.
    pub length_path: String,
    pub section: Option<SectionForm>,
    pub stations: Option<Vec<Station>>,
    /// Key of the list of stations.
    pub stations_path: String,
    pub unstrung: Option<Vec<Offset>>,
    /// Key of the unstrung profile.
    pub unstrung_path: String,
    pub stiffness: Option<Vec<StiffnessAt>>,
    pub wood: Option<Wood>,
}

/// How far the last station may stand short of the nock, m: its width and thickness are then taken to run on. 3 in.
pub(super) const SHORT_OF_NOCK: f64 = 0.0762;

impl LimbParts {
    /// The limb, its last station carried on to the nock where it ends a little short of it.
    pub fn finish(&self, reader: &mut Reader, units: Units) -> Option<Limb> {
        let length = self.length.is()?;
        let mut stations = self.stations.clone()?;
        let last = *stations.last()?;
        if last.at < length - 1e-6 {
            let what = format!(
                "the last station is {} short of the nock; its width and thickness are taken to run on to the nock",
                plain_length_text(length - last.at, units)
            );
            let why = "the limb's end shapes both the bend and the nock";
            reader
                .remark(Fault::at(self.stations_path.as_str(), what, why).cure("measure the limb at the nock as well"));
            stations.push(Station { at: length, ..last });
        }
        Some(Limb {
            length,
            section: self.section?,
            stations,
            unstrung: self.unstrung.clone()?,
            corners: Vec::new(),
            stiffness: self.stiffness.clone()?,
            wood: self.wood.clone()?,
        })
    }
}

/// One limb's tables, the side's own before the common one.
pub(super) fn limb(reader: &mut Reader, layers: &Layers) -> LimbParts {
    for table in layers.each() {
        reader.known_keys(&table, keys::LIMB);
    }
    let path = |key: &FileKey| match layers.find(key.name) {
        Some(entry) => entry.path,
        None => format!("{}.{}", layers.path, key.name),
    };
    LimbParts {
        length: reader.asked_measure(layers, &keys::LIMB_LENGTH),
        length_path: path(&keys::LIMB_LENGTH),
        section: section(reader, layers),
        stations: stations(reader, layers),
        stations_path: path(&keys::STATIONS),
        unstrung: unstrung(reader, layers),
        unstrung_path: path(&keys::UNSTRUNG),
        stiffness: stiffness(reader, layers),
        wood: wood(reader, layers),
    }
}

/// Fills in the limbs' lengths: half the bow, or what the other limb leaves of it.
pub(super) fn lengths(reader: &mut Reader, bow: Option<f64>, mut limbs: Both<LimbParts>) -> Both<LimbParts> {
    let filled = |own: Held<f64>, other: Held<f64>| match (own, other, bow) {
        (Held::Absent, Held::Is(other), Some(bow)) => Held::Is(bow - other),
        (Held::Absent, Held::Absent, Some(bow)) => Held::Is(bow / 2.0),
        (Held::Is(own), ..) => Held::Is(own),
        _ => Held::Bad,
    };
    let lengths = Both {
        upper: filled(limbs.upper.length, limbs.lower.length),
        lower: filled(limbs.lower.length, limbs.upper.length),
    };
    for side in Side::BOTH {
        let limb = limbs.get_mut(side);
        if limb.length == Held::Absent
            && let Held::Is(length) = *lengths.get(side)
        {
            let key = format!("{}.limb.length", side.name());
            let text = format!("{:.1} mm", length * 1000.0);
            reader.places.stands_at(&key, &text, "what the other limb leaves of bow.length, or half of it");
        }
        limb.length = *lengths.get(side);
    }
    limbs
}

/// Width and thickness of a limb at its nock, with the string's diameter: what nock defaults are worked out from.
pub(super) fn given_at_nock(limb: &LimbParts, string: &StringParts) -> Option<Given> {
    let (length, stations) = (limb.length.is()?, limb.stations.as_ref()?);
    let (width, thickness) = interpolated(stations, length)?;
    Some(Given::of(&Section::new(limb.section?, width, thickness), string.diameter?))
}

/// Width and thickness at `at`, straight between stations and as at the last one beyond it, m.
fn interpolated(stations: &[Station], at: f64) -> Option<(f64, f64)> {
    let after = stations.iter().position(|s| s.at >= at);
    match after {
        None => stations.last().map(|s| (s.width, s.thickness)),
        Some(0) => stations.first().map(|s| (s.width, s.thickness)),
        Some(i) => {
            let (a, b) = (stations.get(i - 1)?, stations.get(i)?);
            let part = (at - a.at) / (b.at - a.at).max(1e-9);
            Some((a.width + part * (b.width - a.width), a.thickness + part * (b.thickness - a.thickness)))
        }
    }
}

fn section(reader: &mut Reader, layers: &Layers) -> Option<SectionForm> {
    let form = reader.word(layers, &keys::SECTION);
    let (corner, belly) = (layers.find(keys::CORNER.name), layers.find(keys::BELLY_WIDTH.name));
    let form_layer = layers.find(keys::SECTION.name).map_or(usize::MAX, |entry| entry.layer);
    // A value of one form stands idle beside another form; from a table behind the form's own it was meant for the other limb.
    for (entry, key, of) in [(&corner, &keys::CORNER, "rounded rectangle"), (&belly, &keys::BELLY_WIDTH, "trapezoid")] {
        if let (Some(entry), Some(form)) = (entry, form)
            && form != of
            && entry.layer <= form_layer
        {
            let what = format!("`{}` is given, but the section is \"{form}\"", key.name);
            let fault =
                Fault::at(entry.path.as_str(), what, format!("it belongs to the section \"{of}\": {}", key.meaning));
            reader.fault(fault.cure(format!("write `section = \"{of}\"`, or strike the line out")));
        }
    }
    Some(match form? {
        "rounded rectangle" => SectionForm::RoundedRectangle { corner: reader.measure(layers, &keys::CORNER)? },
        "ellipse" => SectionForm::Ellipse,
        "D" => SectionForm::D,
        "trapezoid" => SectionForm::Trapezoid { belly: reader.measure(layers, &keys::BELLY_WIDTH)? },
        _ => SectionForm::Rectangle,
    })
}

fn stations(reader: &mut Reader, layers: &Layers) -> Option<Vec<Station>> {
    let Some(entry) = layers.find(keys::STATIONS.name) else {
        reader.missing(layers, &keys::STATIONS);
        return None;
    };
    let items = reader.list(&entry, &keys::STATIONS)?;
    let mut read = Vec::new();
    for (path, item) in &items {
        let Some(table) = reader.item_table(path, item, &keys::STATIONS) else {
            read.push(None);
            continue;
        };
        reader.known_keys(&table, keys::STATION);
        let at = reader.measure(&table, &keys::AT);
        let width = reader.measure(&table, &keys::WIDTH);
        let thickness = reader.measure(&table, &keys::THICKNESS);
        read.push(at.zip(width).zip(thickness).map(|((at, width), thickness)| Station { at, width, thickness }));
    }
    if items.len() < 2 {
        let what = format!("{} is too few stations", items.len());
        let why = "at least two are needed, the first at the handle's end and the last at the nock";
        reader.fault(Fault::at(entry.path.as_str(), what, why).cure("measure the limb at more places"));
        return None;
    }
    read.into_iter().collect()
}

fn unstrung(reader: &mut Reader, layers: &Layers) -> Option<Vec<Offset>> {
    let Some(entry) = layers.find(keys::UNSTRUNG.name) else { return Some(Vec::new()) };
    let items = reader.list(&entry, &keys::UNSTRUNG)?;
    let mut read = Vec::new();
    for (path, item) in &items {
        let Some(table) = reader.item_table(path, item, &keys::UNSTRUNG) else {
            read.push(None);
            continue;
        };
        reader.known_keys(&table, keys::OFFSET);
        let at = reader.measure(&table, &keys::AT);
        let set = reader.measure(&table, &keys::SET);
        read.push(at.zip(set).map(|(at, set)| Offset { at, set }));
    }
    read.into_iter().collect()
}

/// Factors on the stiffness, in order.
fn stiffness(reader: &mut Reader, layers: &Layers) -> Option<Vec<StiffnessAt>> {
    let Some(entry) = layers.find(keys::STIFFNESS.name) else { return Some(Vec::new()) };
    let items = reader.list(&entry, &keys::STIFFNESS)?;
    let mut read: Vec<Option<StiffnessAt>> = Vec::new();
    for (path, item) in &items {
        let Some(table) = reader.item_table(path, item, &keys::STIFFNESS) else {
            read.push(None);
            continue;
        };
        reader.known_keys(&table, keys::STIFFNESS_PLACE);
        let at = reader.measure(&table, &keys::AT);
        let factor = reader.measure(&table, &keys::FACTOR);
        if let (Some(at), Some(Some(before))) = (at, read.last())
            && at <= before.at + 1e-6
        {
            let fault = Fault::at(
                format!("{path}.at"),
                "this place does not lie beyond the one before it",
                "places of known stiffness run from the handle outward",
            );
            reader.fault(fault.cure("put the places in order"));
        }
        read.push(at.zip(factor).map(|(at, factor)| StiffnessAt { at, factor }));
    }
    read.into_iter().collect()
}

/// The wood by name, with the maker's own figures in place of the table's.
fn wood(reader: &mut Reader, layers: &Layers) -> Option<Wood> {
    let figure = |reader: &mut Reader, key: &FileKey| {
        let given = reader.asked_measure(layers, key);
        let source = Sourced { value: 0.0, source: "the design file".into(), certainty: Certainty::Given };
        match given {
            Held::Is(value) => Held::Is(Sourced { value, ..source }),
            Held::Absent => Held::Absent,
            Held::Bad => Held::Bad,
        }
    };
    let name = reader.text(layers, &keys::WOOD);
    let modulus = figure(reader, &keys::MODULUS);
    let rupture = figure(reader, &keys::RUPTURE);
    let shear = figure(reader, &keys::SHEAR);
    let bearing = figure(reader, &keys::BEARING);
    let crushing = figure(reader, &keys::CRUSHING);
    let density = figure(reader, &keys::DENSITY);
    let row = match &name {
        Held::Is(name) => wood::find(name),
        _ => None,
    };
    let spelt: Vec<String> = wood::woods().iter().flat_map(|row| wood::spellings(row.name)).collect();
    if let (Held::Is(name), None) = (&name, row) {
        let near = did_you_mean(name, spelt.iter().map(String::as_str));
        let path = layers.find(keys::WOOD.name).map_or_else(String::new, |entry| entry.path);
        let known = wood::woods().iter().map(|row| row.name).collect::<Vec<_>>().join(", ");
        let fault =
            Fault::at(path, format!("{} is not in the table of woods", quoted(name)), format!("known: {known}"));
        match (&modulus, near) {
            (Held::Absent, Some(near)) => {
                reader.fault(
                    fault.cure(format!("did you mean \"{near}\"? Or give the wood's own `modulus = \"11 GPa\"`")),
                );
            }
            (Held::Absent, None) => {
                reader.fault(fault.cure("give the wood's own `modulus = \"11 GPa\"` beside the name, and `rupture` and `density` where you know them"));
            }
            // With a modulus of its own a wood may be called anything; a near miss is worth a word.
            (_, Some(near)) => {
                reader.remark(fault.cure(format!("did you mean \"{near}\"? Only the figures in the file are used")))
            }
            (_, None) => {}
        }
    }
    if let (Held::Absent, Held::Absent) = (&name, &modulus) {
        let why = "the limb's stiffness comes from its wood; a weight on the scale then corrects it";
        reader.missing_one(layers, &keys::WOOD, "neither `wood` nor `modulus` is in [limb]", why);
    }
    let table = row.map(|row| row.wood());
    let or_table = |own: Held<Sourced>, table: Option<Sourced>| match own {
        Held::Is(own) => Some(own),
        _ => table,
    };
    let name = match (name, &table) {
        (_, Some(table)) => table.name.clone(),
        (Held::Is(name), None) => name,
        (Held::Absent, None) => "unnamed wood".to_owned(),
        (Held::Bad, None) => return None,
    };
    let from_table = |get: fn(&Wood) -> Option<Sourced>| table.as_ref().and_then(get);
    Some(Wood {
        name,
        modulus: or_table(modulus, table.as_ref().map(|t| t.modulus.clone()))?,
        rupture: or_table(rupture, from_table(|t| t.rupture.clone())),
        shear: or_table(shear, from_table(|t| t.shear.clone())),
        bearing: or_table(bearing, from_table(|t| t.bearing.clone())),
        crushing: or_table(crushing, from_table(|t| t.crushing.clone())),
        density: or_table(density, from_table(|t| t.density.clone())),
    })
}
