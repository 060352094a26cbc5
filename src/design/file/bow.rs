//! `[bow]`, `[string]`, `[range]` and `[sheets]`.

use toml::de::DeValue;

use crate::design::{
    Bow, BowString, Bracing, DrawTo, Hand, LowerEnd, Serves, SheetWishes, StringMaking, Units, WeightReading,
};
use crate::fault::Fault;
use crate::units::{self, INCH, Kind, plain_length_text, quoted};

use super::keys::{self, FileKey, plain};
use super::reader::Reader;
use super::tables::{Entry, Held, Layers};

/// `[bow]` as far as it could be read.
pub(super) struct BowParts {
    pub name: Option<String>,
    pub length: Option<f64>,
    pub stiff_handle: Option<f64>,
    pub handle_depth: Option<f64>,
    pub pivot: Option<f64>,
    pub nocking_point: Option<f64>,
    pub arrow_pass: Option<f64>,
    pub hand: Option<Hand>,
    pub bracing: Option<Bracing>,
    pub draw: Option<f64>,
    pub draw_to: Option<DrawTo>,
    /// None where it could not be read, Some(None) where the file gives none.
    pub weight: Option<Option<WeightReading>>,
    /// What the scale says of the bow as it is now.
    pub scale: Option<Vec<WeightReading>>,
}

impl BowParts {
    pub fn finish(&self) -> Option<Bow> {
        Some(Bow {
            length: self.length?,
            stiff_handle: self.stiff_handle?,
            handle_depth: self.handle_depth?,
            pivot: self.pivot?,
            nocking_point: self.nocking_point?,
            arrow_pass: self.arrow_pass?,
            hand: self.hand?,
            bracing: self.bracing?,
            draw: self.draw?,
            draw_to: self.draw_to?,
            weight: self.weight?,
            scale: self.scale.clone()?,
        })
    }

    /// Brace height, where that is what the file gives.
    pub fn brace_height(&self) -> Option<f64> {
        match self.bracing {
            Some(Bracing::Height(height)) => Some(height),
            _ => None,
        }
    }

    /// From the pivot to the string at a draw of `draw`, m.
    pub fn true_draw(&self, draw: f64) -> Option<f64> {
        Some(match self.draw_to? {
            DrawTo::Back => draw - self.handle_depth?,
            DrawTo::Pivot => draw,
            DrawTo::PivotPlus => draw - PIVOT_PLUS,
        })
    }
}

/// What the trade's standard reading adds to the draw to the pivot, m.
pub(super) const PIVOT_PLUS: f64 = 1.75 * INCH;

/// `units`; where it is left out, as the bow's length is written.
pub(super) fn units(reader: &mut Reader, root: &Layers, bow: &Layers) -> Units {
    match reader.word(root, &keys::UNITS) {
        Some("mm") => Units::Millimetre,
        Some(_) => Units::Inch,
        None => {
            let metric = bow.find(keys::LENGTH.name).is_some_and(|entry| match entry.value.get_ref() {
                DeValue::String(text) => text.trim_end().ends_with('m'),
                _ => false,
            });
            if metric { Units::Millimetre } else { Units::Inch }
        }
    }
}

/// `[bow]`.
pub(super) fn bow(reader: &mut Reader, table: &Layers, units: Units) -> BowParts {
    reader.known_keys(table, keys::BOW);
    let name = reader.text(table, &keys::NAME).or(|| Some("unnamed bow".to_owned()));
    let length = reader.measure(table, &keys::LENGTH);
    let stiff_handle = reader.measure(table, &keys::STIFF_HANDLE);
    let handle_depth = reader.measure(table, &keys::HANDLE_DEPTH);
    let pivot = reader.measure(table, &keys::PIVOT);
    let nocking_point = reader.measure(table, &keys::NOCKING_POINT);
    let arrow_pass = reader.asked_measure(table, &keys::ARROW_PASS).or(|| nocking_point);
    let hand = reader.word(table, &keys::HAND).map(|w| if w == "left" { Hand::Left } else { Hand::Right });
    let bracing = bracing(reader, table);
    let draw = reader.measure(table, &keys::DRAW);
    let draw_to = draw_to(reader, table);
    let weight = weight(reader, table, draw, units);
    let scale = scale(reader, table);
    BowParts {
        name,
        length,
        stiff_handle,
        handle_depth,
        pivot,
        nocking_point,
        arrow_pass,
        hand,
        bracing,
        draw,
        draw_to,
        weight,
        scale,
    }
}

/// `brace_height` or `string_length`, exactly one; a brace height typed for this run stands before both.
fn bracing(reader: &mut Reader, table: &Layers) -> Option<Bracing> {
    let height = reader.asked_measure(table, &keys::BRACE_HEIGHT);
    let length = reader.asked_measure(table, &keys::STRING_LENGTH);
    let typed = reader.places.is_typed("bow.brace_height");
    match (height, length) {
        (Held::Is(height), _) if typed => Some(Bracing::Height(height)),
        (Held::Is(height), Held::Absent) => Some(Bracing::Height(height)),
        (Held::Absent, Held::Is(length)) => Some(Bracing::StringLength(length)),
        (Held::Absent, Held::Absent) => {
            if table.is_written() {
                reader.missing_one(
                    table,
                    &keys::BRACE_HEIGHT,
                    "neither `brace_height` nor `string_length` is in [bow]",
                    "one of the two fixes the braced bow; the other follows from it",
                );
            }
            None
        }
        (Held::Bad, _) | (_, Held::Bad) => None,
        (Held::Is(_), Held::Is(_)) => {
            let fault = Fault::at(
                "bow.string_length",
                "both `brace_height` and `string_length` are in [bow]",
                "one of the two fixes the braced bow; the other follows from it and would contradict it by a hair",
            );
            reader.fault(fault.cure("strike out the one you did not measure, or put a # before it"));
            None
        }
    }
}

/// `draw_to`, written with or without gaps and in any length unit.
fn draw_to(reader: &mut Reader, table: &Layers) -> Option<DrawTo> {
    let Some(entry) = table.find(keys::DRAW_TO.name) else {
        reader.word(table, &keys::DRAW_TO)?;
        return Some(DrawTo::Back);
    };
    let DeValue::String(text) = entry.value.get_ref() else {
        reader.wrong_form(&entry, &keys::DRAW_TO);
        return None;
    };
    let word = plain(text);
    let beyond = text.trim().strip_prefix("pivot").and_then(|rest| rest.trim_start().strip_prefix('+'));
    match (word.as_str(), beyond) {
        ("back", _) => Some(DrawTo::Back),
        ("pivot", _) => Some(DrawTo::Pivot),
        (_, Some(rest)) if units::read(rest, Kind::Length).is_ok_and(|v| (v - PIVOT_PLUS).abs() < 0.0002) => {
            Some(DrawTo::PivotPlus)
        }
        _ => {
            let fault = Fault::at(
                entry.path.as_str(),
                format!("{} is not a place that draw is measured to", quoted(text)),
                format!("known: \"back\", \"pivot\", \"pivot+1.75in\": {}", keys::DRAW_TO.meaning),
            );
            reader.fault(fault.cure("choose one of them, and give draw as measured so").span(entry.value.span()));
            None
        }
    }
}

/// `weight`, as a table or as `"40 lb at 28 in"`.
fn weight(reader: &mut Reader, bow: &Layers, draw: Option<f64>, units: Units) -> Option<Option<WeightReading>> {
    let Some(entry) = bow.find(keys::WEIGHT.name) else { return Some(None) };
    let (at, pull) = match entry.value.get_ref() {
        DeValue::Table(_) => {
            let table = reader.table(bow, &keys::WEIGHT);
            reader.known_keys(&table, keys::WEIGHT_TABLE);
            let at = reader.asked_measure(&table, &keys::WEIGHT_AT).or(|| draw);
            let pull = reader.measure(&table, &keys::WEIGHT_PULL);
            (at?, pull?)
        }
        DeValue::String(text) => {
            let (pull, at) = pair(reader, &entry, text, (Kind::Force, Kind::Length), "40 lb at 28 in")?;
            let pull = reader.check_range(&entry, &keys::WEIGHT_PULL, pull);
            let at = reader.check_range(&entry, &keys::WEIGHT_AT, at);
            (at?, pull?)
        }
        _ => {
            reader.wrong_form(&entry, &keys::WEIGHT);
            return None;
        }
    };
    if draw.is_some_and(|draw| at > 1.25 * draw) {
        let what = format!("the weight was read at {}, far beyond full draw", plain_length_text(at, units));
        let why = "a bow is seldom drawn on the scale much farther than it is shot; is draw_to the same for both?";
        reader.remark(Fault::at(entry.path.as_str(), what, why).span(entry.value.span()));
    }
    Some(Some(WeightReading { draw: at, pull }))
}

/// `scale`, a list of pulls with their draws.
fn scale(reader: &mut Reader, bow: &Layers) -> Option<Vec<WeightReading>> {
    let Some(entry) = bow.find(keys::SCALE.name) else { return Some(Vec::new()) };
    let items = reader.list(&entry, &keys::SCALE)?;
    let mut readings = Vec::new();
    for (path, value) in items {
        let item = Entry { path, value, layer: 0 };
        let DeValue::String(text) = value.get_ref() else {
            reader.wrong_form(&item, &keys::SCALE);
            readings.push(None);
            continue;
        };
        let both = pair(reader, &item, text, (Kind::Force, Kind::Length), "30 lb at 20 in");
        let reading = both.and_then(|(pull, at)| {
            let pull = reader.check_range(&item, &keys::WEIGHT_PULL, pull);
            let draw = reader.check_range(&item, &keys::WEIGHT_AT, at);
            Some(WeightReading { draw: draw?, pull: pull? })
        });
        readings.push(reading);
    }
    readings.into_iter().collect()
}

/// Two measures in one text.
fn pair(reader: &mut Reader, entry: &Entry, text: &str, kinds: (Kind, Kind), example: &str) -> Option<(f64, f64)> {
    match units::read_pair(text, kinds.0, kinds.1, example) {
        Ok(both) => Some(both),
        Err(misread) => {
            reader.misread(&entry.path, Some(entry.value), misread);
            None
        }
    }
}

/// `[string]` as far as it could be read.
pub(super) struct StringParts {
    pub diameter: Option<f64>,
    pub loop_length: Option<f64>,
    pub friction: Option<f64>,
    pub stiffness: Option<Option<f64>>,
    pub making: Option<StringMaking>,
}

impl StringParts {
    pub fn finish(&self) -> Option<BowString> {
        Some(BowString {
            diameter: self.diameter?,
            loop_length: self.loop_length?,
            friction: self.friction?,
            stiffness: self.stiffness?,
        })
    }
}

/// `[string]`.
pub(super) fn string(reader: &mut Reader, root: &Layers) -> StringParts {
    let table = reader.table(root, &keys::STRING_TABLE);
    reader.known_keys(&table, keys::STRING);
    let diameter = reader.measure(&table, &keys::DIAMETER);
    let loop_length = reader.asked_measure(&table, &keys::LOOP).or(|| diameter.map(|d| 20.0 * d));
    let friction = reader.measure(&table, &keys::FRICTION);
    let stiffness = stretch(reader, &table);
    let making = making(reader, &table);
    StringParts { diameter, loop_length, friction, stiffness, making }
}

/// What the string is made from.
fn making(reader: &mut Reader, table: &Layers) -> Option<StringMaking> {
    let strand_strength = match reader.asked_measure(table, &keys::STRAND_STRENGTH) {
        Held::Is(strength) => Some(Some(strength)),
        Held::Absent => Some(None),
        Held::Bad => None,
    };
    let times_weight = reader.measure(table, &keys::TIMES_WEIGHT);
    let lower_end = reader.word(table, &keys::LOWER_END);
    let tail = reader.measure(table, &keys::TAIL);
    let knot = reader.measure(table, &keys::KNOT);
    Some(StringMaking {
        strand_strength: strand_strength?,
        times_weight: times_weight?,
        lower_end: if lower_end? == "knot" { LowerEnd::Knot } else { LowerEnd::Loop },
        tail: tail?,
        knot: knot?,
    })
}

/// `stretch = "1 % at 100 lb"`: pull over strain, N.
fn stretch(reader: &mut Reader, table: &Layers) -> Option<Option<f64>> {
    let Some(entry) = table.find(keys::STRETCH.name) else { return Some(None) };
    let DeValue::String(text) = entry.value.get_ref() else {
        reader.wrong_form(&entry, &keys::STRETCH);
        return None;
    };
    let (strain, pull) = pair(reader, &entry, text, (Kind::Number, Kind::Force), "1 % at 100 lb")?;
    // Pull over strain of a single thread is some kN; a steel wire of 4 mm has 2.5 MN.
    let stiffness = pull / strain;
    if strain > 0.0 && strain <= 0.2 && pull > 0.0 && (1e3..=5e6).contains(&stiffness) {
        return Some(Some(stiffness));
    }
    let what = format!("{} is no sensible stretch", quoted(text));
    let why = "a bowstring stretches more than nothing and less than 20 %, about 1 or 2 % at 100 lb";
    let fault =
        Fault::at(entry.path.as_str(), what, why).cure("leave `stretch` out for a string that does not stretch");
    reader.fault(fault.span(entry.value.span()));
    None
}

/// `[range]` as written: lowest and highest, where given.
pub(super) struct Range {
    pub brace_height: Held<[f64; 2]>,
    pub draw: Held<[f64; 2]>,
}

/// `[range]`; where it gives none, both ends are the bow's own measure.
/// Measures typed for this run widen it, for that run asks of the nock what it says.
pub(super) fn serves(reader: &mut Reader, root: &Layers, bow: &BowParts) -> (Option<Serves>, Range) {
    let table = reader.table(root, &keys::RANGE_TABLE);
    reader.known_keys(&table, keys::RANGE);
    let brace_height = ends(reader, &table, &keys::RANGE_BRACE_HEIGHT, &keys::BRACE_HEIGHT);
    let draw = ends(reader, &table, &keys::RANGE_DRAW, &keys::DRAW);
    let widened = |reader: &Reader, ends: [f64; 2], own: Option<f64>, key: &str| match own {
        Some(own) if reader.places.is_typed(key) => [ends[0].min(own), ends[1].max(own)],
        _ => ends,
    };
    let brace = match brace_height {
        Held::Is(ends) => Some(Some(widened(reader, ends, bow.brace_height(), "bow.brace_height"))),
        Held::Absent => Some(bow.brace_height().map(|own| [own, own])),
        Held::Bad => None,
    };
    let draws = match draw {
        Held::Is(ends) => Some(widened(reader, ends, bow.draw, "bow.draw")),
        Held::Absent => bow.draw.map(|own| [own, own]),
        Held::Bad => None,
    };
    let serves = brace.zip(draws).map(|(brace_height, draw)| Serves { brace_height, draw });
    (serves, Range { brace_height, draw })
}

/// Two lengths, the lesser first; `measure` gives the bounds of each.
fn ends(reader: &mut Reader, table: &Layers, key: &FileKey, measure: &FileKey) -> Held<[f64; 2]> {
    let Some(entry) = table.find(key.name) else { return Held::Absent };
    let Some(items) = reader.list(&entry, key) else { return Held::Bad };
    let mut values = Vec::new();
    for (path, value) in &items {
        let item = Entry { path: path.clone(), value, layer: 0 };
        let read = reader.entry_measure(&item, measure, Kind::Length).map(|(value, _)| value);
        values.push(read.and_then(|value| reader.check_range(&item, measure, value)));
    }
    match values[..] {
        [Some(low), Some(high)] if low <= high => Held::Is([low, high]),
        [Some(_), Some(_)] => {
            let fault = Fault::at(entry.path.as_str(), "the ends of this range are swapped", "the lesser comes first");
            reader.fault(
                fault.cure("turn the two round").span(reader.places.span(&entry.path).unwrap_or(entry.value.span())),
            );
            Held::Bad
        }
        [_, _] => Held::Bad,
        _ => {
            let what = format!("a range has two ends; here are {}", values.len());
            let cure = format!("write it as in `{} = {}`", key.name, key.example);
            let span = reader.places.span(&entry.path).unwrap_or(entry.value.span());
            reader.fault(
                Fault::at(entry.path.as_str(), what, "the lesser comes first, then the greater").cure(cure).span(span),
            );
            Held::Bad
        }
    }
}

/// `[sheets]`.
pub(super) fn sheets(reader: &mut Reader, root: &Layers) -> Option<SheetWishes> {
    let table = reader.table(root, &keys::SHEETS_TABLE);
    reader.known_keys(&table, keys::SHEETS);
    let paper_thickness = reader.measure(&table, &keys::PAPER_THICKNESS);
    let date = match table.find(keys::DATE.name).map(|entry| entry.value.get_ref()) {
        // TOML has dates of its own; one of those prints as it stands.
        Some(DeValue::Datetime(when)) => Held::Is(when.to_string()),
        _ => reader.text(&table, &keys::DATE),
    };
    let date = match date {
        Held::Is(date) => Some(date),
        Held::Absent => None,
        Held::Bad => return None,
    };
    Some(SheetWishes { paper_thickness: paper_thickness?, date })
}
