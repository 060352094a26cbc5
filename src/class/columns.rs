//! What each column of a roster changes in the base design.

use crate::design::Side;
use crate::design::file::keys;
use crate::fault::{Fault, Faults};
use crate::units::{self, Kind};

/// Heads of the column with names.
const NAME: &[&str] = &["name", "student"];
/// Heads of the column with numbers.
const NUMBER: &[&str] = &["number", "no", "nr", "bench"];
/// Between the ends of a range in its cell.
pub const TO: &str = " to ";
/// How near two places along a limb are the same, m.
const SAME_PLACE: f64 = 1e-6;

/// What a column changes.
#[derive(PartialEq)]
pub enum Target {
    /// The row's label, by a name.
    Name,
    /// The row's label, by a number.
    Number,
    /// A key by its tables.
    Key(Vec<String>),
    /// The bow's weight: `40 lb at 28 in`, or `40 lb` at the row's own draw, or the base's where the row has none.
    Weight,
    /// The two ends of a key of `[range]`: `26 in to 29 in`.
    Range(String),
    /// A measure of the limbs at a station.
    Station(Station),
}

/// Width or thickness of the limbs at a station.
pub struct Station {
    /// The limb; none where both are meant.
    pub side: Option<Side>,
    /// Name of the measure.
    pub measure: &'static str,
    /// The station, as written.
    pub at: String,
}

impl PartialEq for Station {
    fn eq(&self, other: &Self) -> bool {
        let same_place = self.at == other.at || place(&self.at).is_some_and(|metres| stands_at(&other.at, metres));
        self.side == other.side && self.measure == other.measure && same_place
    }
}

fn place(text: &str) -> Option<f64> {
    units::read(text, Kind::Length).ok()
}

/// Whether a station that is written so stands at `metres`.
pub fn stands_at(text: &str, metres: f64) -> bool {
    place(text).is_some_and(|at| (at - metres).abs() < SAME_PLACE)
}

/// Whether a head is that of the bow's weight.
pub fn is_weight(head: &str) -> bool {
    ["weight", "bow.weight", "pull"].contains(&plain(head).as_str())
}

/// A head in small letters, with one underscore for blanks and hyphens.
fn plain(head: &str) -> String {
    head.trim().trim_end_matches('.').to_lowercase().replace([' ', '-'], "_")
}

/// What the column under this head changes; none where there is no such column.
pub fn target(head: &str) -> Option<Target> {
    let plain = plain(head);
    if NAME.contains(&plain.as_str()) {
        return Some(Target::Name);
    }
    if NUMBER.contains(&plain.as_str()) {
        return Some(Target::Number);
    }
    if is_weight(head) {
        return Some(Target::Weight);
    }
    if let Some(station) = station(head) {
        return Some(Target::Station(station));
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
        ["range", key] if known(keys::RANGE, key) => Some(Target::Range((*key).into())),
        // A style's own keys differ from style to style; the design's reader knows them.
        ["nock", _] | ["upper" | "lower", "nock", _] => Some(Target::Key(parts)),
        _ => None,
    }
}

/// `thickness at 20 in` of both limbs, `upper.limb.thickness at 20 in` of one.
fn station(head: &str) -> Option<Station> {
    let lower = head.trim().to_lowercase();
    let of_side = |side: Side| lower.strip_prefix(side.name()).and_then(|rest| rest.strip_prefix(".limb."));
    let side = Side::BOTH.into_iter().find(|side| of_side(*side).is_some());
    let measured = side.and_then(of_side).or_else(|| lower.strip_prefix("limb.")).unwrap_or(&lower);
    ["width", "thickness"].into_iter().find_map(|measure| {
        let at = measured.strip_prefix(measure)?.trim_start().strip_prefix("at ")?.trim().to_owned();
        Some(Station { side, measure, at })
    })
}

/// Faults of heads that change nothing.
pub fn unknown(heads: &[String]) -> Faults {
    let usual = [
        "name",
        "number",
        "brace height",
        "draw",
        "weight",
        "limb.wood",
        "string.diameter",
        "upper.limb.length",
        "range.draw",
        "thickness at",
    ];
    heads
        .iter()
        .filter(|head| target(head).is_none())
        .map(|head| {
            let fault = Fault::at(
                head.as_str(),
                format!("no column is called {}", units::quoted(head)),
                "a column is `name`, `number`, `weight`, a key of [bow], a dotted key such as limb.wood or range.draw, or \
                 `thickness at 20 in`, for one limb `upper.limb.thickness at 20 in`",
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
    let again = |(at, head): (usize, &String)| {
        let own = target(head)?;
        let first = heads[..at].iter().find(|h| target(h).is_some_and(|t| t == own))?;
        let both = format!("the columns {} and {}", units::quoted(first), units::quoted(head));
        let words = match own {
            _ if first == head => format!("the column {} stands twice", units::quoted(head)),
            Target::Name => format!("{both} are both the row's name"),
            Target::Number => format!("{both} are both the row's number"),
            _ => format!("{both} are the same measure"),
        };
        let why = "nobody could tell which of the two is meant";
        Some(Fault::at(head.as_str(), words, why).cure("strike out one of them"))
    };
    heads.iter().enumerate().filter_map(again).collect()
}
