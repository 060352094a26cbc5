//! Every key of the design file: what it takes, what it stands at when left out, and why.
//!
//! The reader, its messages and the starter file all go by these tables.
//! Nock styles bring their own keys, see [`crate::nock::Key`].

use crate::units::{INCH, Kind};

/// What a key takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Takes {
    /// A measure of this kind, least and greatest SI value that makes sense, and why.
    Measure(Kind, f64, f64, &'static str),
    /// One of these words.
    Words(&'static [&'static str]),
    /// Any text.
    Text,
    /// Something with a form of its own, told in words.
    Form(&'static str),
}

/// What a key stands at when left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LeftOut {
    /// It must be written.
    Required,
    /// Nothing: it may be left out.
    Optional,
    /// As it would be written.
    Written(&'static str),
    /// Worked out; the rule in words.
    Worked(&'static str),
}

/// One key of a table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FileKey {
    /// Its name.
    pub name: &'static str,
    /// What it takes.
    pub takes: Takes,
    /// What it stands at when left out.
    pub default: LeftOut,
    /// An example, as it is written in the file.
    pub example: &'static str,
    /// What it is.
    pub meaning: &'static str,
    /// Why the default is what it is.
    pub reason: &'static str,
}

/// Most letters of a text on the sheets.
pub const MOST_LETTERS: usize = 80;

const PRACTICE: &str = "common practice, no source";

const fn key(
    name: &'static str,
    takes: Takes,
    default: LeftOut,
    example: &'static str,
    meaning: &'static str,
    reason: &'static str,
) -> FileKey {
    FileKey { name, takes, default, example, meaning, reason }
}

const fn length(least: f64, greatest: f64, why: &'static str) -> Takes {
    Takes::Measure(Kind::Length, least, greatest, why)
}

use LeftOut::{Optional, Required, Worked, Written};

#[rustfmt::skip]
mod table {
    use super::*;

    // The file as a whole.
    pub(in crate::design) const LAYOUT: FileKey = key("layout", Takes::Form("the number 1"), Written("1"), "1", "version of this file's keys", "the only version there is");
    pub(in crate::design) const UNITS: FileKey = key("units", Takes::Words(&["inch", "mm"]), Worked("as bow.length is written"), "\"inch\"", "how sheets and reports are written: inch (with fractions) or mm", "the maker's own unit");
    pub(in crate::design) const BOW_TABLE: FileKey = key("bow", Takes::Form("a table"), Required, "[bow]", "the bow as a whole", "");
    pub(in crate::design) const LIMB_TABLE: FileKey = key("limb", Takes::Form("a table"), Optional, "[limb]", "both limbs", "");
    pub(in crate::design) const UPPER_TABLE: FileKey = key("upper", Takes::Form("tables [upper.limb] and [upper.nock]"), Optional, "[upper.limb]", "what differs in the upper limb", "");
    pub(in crate::design) const LOWER_TABLE: FileKey = key("lower", Takes::Form("tables [lower.limb] and [lower.nock]"), Optional, "[lower.limb]", "what differs in the lower limb", "");
    pub(in crate::design) const STRING_TABLE: FileKey = key("string", Takes::Form("a table"), Required, "[string]", "the string", "");
    pub(in crate::design) const NOCK_TABLE: FileKey = key("nock", Takes::Form("a table"), Optional, "[nock]", "both nocks", "");
    pub(in crate::design) const RANGE_TABLE: FileKey = key("range", Takes::Form("a table"), Optional, "[range]", "what the nock must serve", "");
    pub(in crate::design) const STRENGTH_TABLE: FileKey = key("strength", Takes::Form("a table"), Optional, "[strength]", "what strength is judged by", "");
    pub(in crate::design) const TILLER_TABLE: FileKey = key("tiller", Takes::Form("a table"), Optional, "[tiller]", "the measured tiller", "");
    pub(in crate::design) const SHEETS_TABLE: FileKey = key("sheets", Takes::Form("a table"), Optional, "[sheets]", "the printed sheets", "");

    // [bow]
    pub(in crate::design) const NAME: FileKey = key("name", Takes::Text, Written("unnamed bow"), "\"Ash flatbow\"", "what stands on the sheets", "");
    pub(in crate::design) const LENGTH: FileKey = key("length", length(12.0 * INCH, 120.0 * INCH, "from a child's bow to the longest there are"), Required, "\"68 in\"", "nock to nock along the back, unstrung", "");
    pub(in crate::design) const STIFF_HANDLE: FileKey = key("stiff_handle", length(0.01, 1.0, "the part the hand holds, and what runs out of it, does not bend"), Required, "\"8 in\"", "the part about the middle that does not bend", "");
    pub(in crate::design) const HANDLE_DEPTH: FileKey = key("handle_depth", length(0.005, 0.15, "the grip is held in a hand"), Written("1 1/2 in"), "\"1 1/2 in\"", "back to belly at the grip", PRACTICE);
    pub(in crate::design) const PIVOT: FileKey = key("pivot", length(-0.5, 0.5, "the hand presses within the handle"), Written("0 in"), "\"-1 1/2 in\"", "where the hand presses, from the middle; below is minus", "a bow held at its middle");
    pub(in crate::design) const NOCKING_POINT: FileKey = key("nocking_point", length(-0.5, 0.5, "the arrow sits near the middle of the string"), Written("0 in"), "\"1 1/4 in\"", "where the arrow sits on the string, from the middle; below is minus", "a bow drawn at its middle");
    pub(in crate::design) const ARROW_PASS: FileKey = key("arrow_pass", length(-0.5, 0.5, "the arrow passes near the middle of the bow"), Worked("level with nocking_point"), "\"1 1/4 in\"", "where the arrow passes the handle, from the middle; below is minus", "an arrow square to the string");
    pub(in crate::design) const HAND: FileKey = key("hand", Takes::Words(&["right", "left"]), Written("right"), "\"right\"", "the hand that draws", "the commoner hand");
    pub(in crate::design) const BRACE_HEIGHT: FileKey = key("brace_height", length(0.02, 0.4, "lower, the string lies on the bow; higher, it is half drawn already"), Optional, "\"6 1/4 in\"", "from the deepest part of the grip, belly side, square to the string", "");
    pub(in crate::design) const STRING_LENGTH: FileKey = key("string_length", length(10.0 * INCH, 120.0 * INCH, "a string is a little shorter than its bow"), Optional, "\"65 in\"", "instead of brace_height: the string unstretched, nock to nock", "");
    pub(in crate::design) const DRAW: FileKey = key("draw", length(0.05, 1.2, "as far as an arm draws"), Required, "\"28 in\"", "full draw", "");
    pub(in crate::design) const DRAW_TO: FileKey = key("draw_to", Takes::Words(&["back", "pivot", "pivot+1.75in"]), Written("back"), "\"back\"", "where draw is measured to, from the string: the back of the bow, the pivot, or 1 3/4 in beyond the pivot", "the traditional reading");
    pub(in crate::design) const WEIGHT: FileKey = key("weight", Takes::Form("a pull and its draw: `\"40 lb at 28 in\"` or `{ at = \"28 in\", pull = \"40 lb\" }`"), Optional, "{ at = \"28 in\", pull = \"40 lb\" }", "what the scale said, or shall say, at which draw", "");
    pub(in crate::design) const WEIGHT_AT: FileKey = key("at", length(0.05, 1.2, "as far as an arm draws"), Worked("full draw"), "\"28 in\"", "the draw at which the scale was read", "");
    pub(in crate::design) const WEIGHT_PULL: FileKey = key("pull", Takes::Measure(Kind::Force, 1.0, 1500.0, "from a toy's pull to more than anybody draws"), Required, "\"40 lb\"", "what the scale said", "");
    pub(in crate::design) const SCALE: FileKey = key("scale", Takes::Form("a list of pulls and draws, each `\"30 lb at 20 in\"`"), Optional, "[\"30 lb at 20 in\", \"36 lb at 23 in\"]", "what the scale says of the bow as it is now; `weight` then says what it shall come to", "");

    // [limb]
    pub(in crate::design) const LIMB_LENGTH: FileKey = key("length", length(5.0 * INCH, 75.0 * INCH, "about half the bow"), Worked("half of bow.length"), "\"34 in\"", "from the middle to the nock along the back", "limbs of equal length");
    pub(in crate::design) const WOOD: FileKey = key("wood", Takes::Text, Optional, "\"white ash\"", "gives modulus, strength and density from the table of woods", "");
    pub(in crate::design) const MODULUS: FileKey = key("modulus", Takes::Measure(Kind::Stress, 1e8, 1e11, "woods lie between 6 and 25 GPa along the grain"), Worked("the wood's"), "\"12 GPa\"", "modulus of elasticity in bending", "");
    pub(in crate::design) const RUPTURE: FileKey = key("rupture", Takes::Measure(Kind::Stress, 1e6, 2e9, "woods lie between 50 and 200 MPa"), Worked("the wood's"), "\"103 MPa\"", "modulus of rupture", "");
    pub(in crate::design) const SHEAR: FileKey = key("shear", Takes::Measure(Kind::Stress, 1e5, 5e8, "woods lie between 5 and 20 MPa"), Worked("the wood's"), "\"13 MPa\"", "shear strength along the grain", "");
    pub(in crate::design) const BEARING: FileKey = key("bearing", Takes::Measure(Kind::Stress, 1e5, 1e9, "woods lie between 3 and 20 MPa"), Worked("the wood's"), "\"8 MPa\"", "strength in compression across the grain", "");
    pub(in crate::design) const CRUSHING: FileKey = key("crushing", Takes::Measure(Kind::Stress, 1e6, 1e9, "woods lie between 30 and 100 MPa"), Worked("the wood's"), "\"51 MPa\"", "strength in compression along the grain", "");
    pub(in crate::design) const DENSITY: FileKey = key("density", Takes::Measure(Kind::Density, 50.0, 3000.0, "woods lie between 300 and 1200 kg/m3"), Worked("the wood's"), "\"600 kg/m3\"", "density", "");
    pub(in crate::design) const SECTION: FileKey = key("section", Takes::Words(&["rectangle", "rounded rectangle", "ellipse", "D", "trapezoid"]), Written("rectangle"), "\"rounded rectangle\"", "form of the cross section", "the simplest form; rounding the corners makes a limb a little weaker");
    pub(in crate::design) const CORNER: FileKey = key("corner", length(0.0001, 0.05, "a corner is smaller than the limb"), Written("1/8 in"), "\"1/8 in\"", "radius of a rounded rectangle's corners", PRACTICE);
    pub(in crate::design) const BELLY_WIDTH: FileKey = key("belly_width", Takes::Measure(Kind::Number, 0.2, 2.0, "outside this the edges are knives"), Written("0.8"), "0.8", "belly width of a trapezoid as a part of the back's", PRACTICE);
    pub(in crate::design) const STATIONS: FileKey = key("stations", Takes::Form("a list of stations, each `{ at = \"4 in\", width = \"1 7/8 in\", thickness = \"5/8 in\" }`"), Required, "[ ... ]", "widths and thicknesses, measured from the middle of the bow", "");
    pub(in crate::design) const UNSTRUNG: FileKey = key("unstrung", Takes::Form("a list of places, each `{ at = \"34 in\", set = \"+1/2 in\" }`"), Worked("straight limbs"), "[ { at = \"34 in\", set = \"+1/2 in\" } ]", "how far the unstrung back stands off the straight: plus toward the back (reflex), minus is string follow", "");
    pub(in crate::design) const STIFFNESS: FileKey = key("stiffness", Takes::Form("a list of places, each `{ at = \"20 in\", factor = 0.95 }`"), Worked("as width, thickness and wood say"), "[ { at = \"8 in\", factor = 1.03 }, { at = \"24 in\", factor = 0.96 } ]", "how much stiffer the limb is than its width, thickness and wood say, place by place, as `nockwright tiller` finds it", "");
    pub(in crate::design) const FACTOR: FileKey = key("factor", Takes::Measure(Kind::Number, 0.2, 5.0, "farther from 1 it is another limb"), Required, "0.95", "0.95 is a twentieth weaker", "");
    pub(in crate::design) const AT: FileKey = key("at", length(0.0, 75.0 * INCH, "measured outward from the middle of the bow"), Required, "\"20 in\"", "from the middle of the bow", "");
    pub(in crate::design) const WIDTH: FileKey = key("width", length(0.002, 0.15, "thinner would not hold, wider is no bow"), Required, "\"1 5/8 in\"", "width of the limb", "");
    pub(in crate::design) const THICKNESS: FileKey = key("thickness", length(0.001, 0.1, "thinner would not hold, thicker would not bend"), Required, "\"1/2 in\"", "back to belly", "");
    pub(in crate::design) const SET: FileKey = key("set", length(-0.5, 0.5, "more is a hoop, not a limb"), Required, "\"+1/2 in\"", "plus toward the back (reflex), minus toward the belly (string follow)", "");

    // [string]
    pub(in crate::design) const DIAMETER: FileKey = key("diameter", length(0.0005, 0.012, "from a thread to a rope"), Required, "\"1/8 in\"", "at the loop, serving included", "");
    pub(in crate::design) const LOOP: FileKey = key("loop", length(0.01, 0.3, "shorter cannot pass over a tip, longer is no loop"), Worked("20 diameters"), "\"2 1/2 in\"", "from the nock to the throat, where the loop's legs meet", PRACTICE);
    pub(in crate::design) const FRICTION: FileKey = key("friction", Takes::Measure(Kind::Number, 0.0, 1.0, "0 is without friction; waxed string lies near 0.15"), Written("0.15"), "0.15", "coefficient of friction between string and nock", "waxed string on polished horn or wood; common practice, no source");
    pub(in crate::design) const STRETCH: FileKey = key("stretch", Takes::Form("a part of its length and the pull that does it, such as `\"1 % at 100 lb\"`"), Worked("a string that does not stretch"), "\"1 % at 100 lb\"", "how much the string stretches at which pull", "");
    pub(in crate::design) const STRAND_STRENGTH: FileKey = key("strand_strength", Takes::Measure(Kind::Force, 1.0, 5000.0, "from a thread to a cord"), Optional, "\"45 lb\"", "pull that breaks one strand, from its maker or your own test", "");
    pub(in crate::design) const TIMES_WEIGHT: FileKey = key("times_weight", Takes::Measure(Kind::Number, 2.0, 20.0, "below 2 a shot may break it; above 20 it is a rope"), Written("4"), "4", "how many times the draw weight the string shall hold", "a shot pulls far harder than the draw; common practice, no source");
    pub(in crate::design) const LOWER_END: FileKey = key("lower_end", Takes::Words(&["loop", "knot"]), Written("loop"), "\"loop\"", "how the lower end is made: a loop laid in, or a bowyer's knot", "the commoner way");
    pub(in crate::design) const TAIL: FileKey = key("tail", length(0.02, 0.5, "shorter slips, longer is waste"), Written("8 in"), "\"8 in\"", "length of each strand laid back into the string behind a loop", PRACTICE);
    pub(in crate::design) const KNOT: FileKey = key("knot", length(0.05, 0.6, "the hitch goes round the tip and some turns about itself"), Written("10 in"), "\"10 in\"", "length that the bowyer's knot takes", PRACTICE);

    // [strength]
    pub(in crate::design) const SHOCK_FACTOR: FileKey = key("shock_factor", Takes::Measure(Kind::Number, 1.0, 20.0, "1 is without shock"), Written("4"), "4", "the string's pull in the shot over the draw weight", "as strings are chosen, so that the nock is not weaker than the string; common practice, no source");
    pub(in crate::design) const WORKING_STRESS: FileKey = key("working_stress", Takes::Measure(Kind::Stress, 1e6, 1e9, "woods work between 30 and 120 MPa"), Worked("the limb's greatest at full draw"), "\"80 MPa\"", "bending stress that the least taper of the outer limb is laid out for", "the outer limb then works no harder than the rest; a level of set cannot be asked for: no published table is known that tells set from strain");
    pub(in crate::design) const GLUE: FileKey = key("glue", Takes::Measure(Kind::Stress, 1e5, 1e8, "glues lie between 2 and 30 MPa"), Worked("the wood's own shear strength"), "\"10 MPa\"", "strength of the glue in shear, mean over the joint", "a sound joint breaks in the wood");
    pub(in crate::design) const OFF_CENTRE: FileKey = key("off_centre", length(0.0, 0.02, "farther it is off the tip"), Written("2 mm"), "\"2 mm\"", "how far the string may come to stand beside the tip's middle; the report says what that does", PRACTICE);

    // [tiller]
    pub(in crate::design) const MEASURED: FileKey = key("measured", Takes::Form("a list of distances, each `{ limb = \"upper\", at = \"20 in\", distance = \"4 1/2 in\" }`, with `draw = \"20 in\"` where the bow was drawn"), Optional, "[ { limb = \"upper\", at = \"20 in\", distance = \"4 1/2 in\" } ]", "from the string square to it to the limb's belly", "");
    pub(in crate::design) const SURE_TO: FileKey = key("sure_to", length(0.00005, 0.02, "a tape is read to half a millimetre, a photo to a few"), Written("1 mm"), "\"1 mm\"", "how sure each distance is", PRACTICE);
    pub(in crate::design) const PLACES: FileKey = key("places", Takes::Measure(Kind::Number, 2.0, 8.0, "two make a taper; more than a few cannot be told"), Written("3"), "3", "at how many places along each limb the stiffness is sought", "what some dozen distances can tell");
    pub(in crate::design) const TILLER_LIMB: FileKey = key("limb", Takes::Words(&["upper", "lower"]), Required, "\"upper\"", "the limb that was measured", "");
    pub(in crate::design) const TILLER_DRAW: FileKey = key("draw", length(0.05, 1.2, "as far as an arm draws"), Worked("the braced bow"), "\"20 in\"", "the draw at which it was measured, as draw_to says", "");
    pub(in crate::design) const DISTANCE: FileKey = key("distance", length(-0.2, 1.5, "the string stands less than a draw's length off the belly"), Required, "\"4 1/2 in\"", "from the string square to it to the belly; minus where the string stands behind the belly", "");

    // [range]
    pub(in crate::design) const RANGE_BRACE_HEIGHT: FileKey = key("brace_height", Takes::Form("two lengths, lowest and highest"), Worked("the bow's own"), "[\"6 in\", \"6 3/4 in\"]", "lowest and highest brace height", "");
    pub(in crate::design) const RANGE_DRAW: FileKey = key("draw", Takes::Form("two lengths, shortest and longest"), Worked("the bow's own"), "[\"26 in\", \"29 in\"]", "shortest and longest draw", "");

    // [sheets]
    pub(in crate::design) const PAPER_THICKNESS: FileKey = key("paper_thickness", length(0.00002, 0.0012, "from tissue to card"), Written("0.1 mm"), "\"0.1 mm\"", "thickness of the paper that is wrapped round the tip", "office paper of 80 g/m2; common practice, no source");
    pub(in crate::design) const DATE: FileKey = key("date", Takes::Text, Optional, "\"3 May\"", "a date to print, as written", "");

    // [nock]
    pub(in crate::design) const STYLE: FileKey = key("style", Takes::Text, Required, "\"back overlay\"", "the way the limb's end takes the string", "");
}
pub(in crate::design) use table::*;

/// Keys and tables of the file as a whole.
pub const ROOT: &[FileKey] = &[
    LAYOUT,
    UNITS,
    BOW_TABLE,
    LIMB_TABLE,
    UPPER_TABLE,
    LOWER_TABLE,
    STRING_TABLE,
    NOCK_TABLE,
    RANGE_TABLE,
    STRENGTH_TABLE,
    TILLER_TABLE,
    SHEETS_TABLE,
];

/// Tables of `upper` and `lower`.
pub const SIDE: &[FileKey] = &[LIMB_TABLE, NOCK_TABLE];

/// Keys of `[bow]`.
pub const BOW: &[FileKey] = &[
    NAME,
    LENGTH,
    STIFF_HANDLE,
    HANDLE_DEPTH,
    PIVOT,
    NOCKING_POINT,
    ARROW_PASS,
    HAND,
    BRACE_HEIGHT,
    STRING_LENGTH,
    DRAW,
    DRAW_TO,
    WEIGHT,
    SCALE,
];

/// Keys of `weight = { ... }`.
pub const WEIGHT_TABLE: &[FileKey] = &[WEIGHT_AT, WEIGHT_PULL];

/// Keys of `[limb]`, `[upper.limb]`, `[lower.limb]`.
pub const LIMB: &[FileKey] = &[
    LIMB_LENGTH,
    WOOD,
    MODULUS,
    RUPTURE,
    SHEAR,
    BEARING,
    CRUSHING,
    DENSITY,
    SECTION,
    CORNER,
    BELLY_WIDTH,
    STATIONS,
    UNSTRUNG,
    STIFFNESS,
];

/// Keys of one station.
pub const STATION: &[FileKey] = &[AT, WIDTH, THICKNESS];

/// Keys of one place of the unstrung profile.
pub const OFFSET: &[FileKey] = &[AT, SET];

/// Keys of one place of known stiffness.
pub const STIFFNESS_PLACE: &[FileKey] = &[AT, FACTOR];

/// Keys of `[string]`.
pub const STRING: &[FileKey] =
    &[DIAMETER, LOOP, FRICTION, STRETCH, STRAND_STRENGTH, TIMES_WEIGHT, LOWER_END, TAIL, KNOT];

/// Keys of `[strength]`.
pub const STRENGTH: &[FileKey] = &[SHOCK_FACTOR, WORKING_STRESS, GLUE, OFF_CENTRE];

/// Keys of `[tiller]`.
pub const TILLER: &[FileKey] = &[MEASURED, SURE_TO, PLACES];

/// Keys of one measured distance.
pub const TILLER_DISTANCE: &[FileKey] = &[TILLER_LIMB, AT, DISTANCE, TILLER_DRAW];

/// Keys of `[range]`.
pub const RANGE: &[FileKey] = &[RANGE_BRACE_HEIGHT, RANGE_DRAW];

/// Keys of `[sheets]`.
pub const SHEETS: &[FileKey] = &[PAPER_THICKNESS, DATE];

/// Every table a maker writes, with its keys, in the order of the starter file.
pub const TABLES: &[(&str, &[FileKey])] = &[
    ("bow", BOW),
    ("limb", LIMB),
    ("string", STRING),
    ("nock", &[STYLE]),
    ("range", RANGE),
    ("strength", STRENGTH),
    ("tiller", TILLER),
    ("sheets", SHEETS),
];

/// Whether two words are the same, leaving capitals, gaps and joints aside.
pub fn same_word(a: &str, b: &str) -> bool {
    plain(a) == plain(b)
}

/// A word without capitals, gaps and joints, for comparing.
pub(in crate::design) fn plain(word: &str) -> String {
    word.chars().filter(|c| !c.is_whitespace() && !matches!(c, '_' | '-')).flat_map(char::to_lowercase).collect()
}

/// The nearest of the words, when one is near enough.
pub fn did_you_mean<'a>(word: &str, words: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    let wanted: String = plain(word).chars().take(60).collect();
    if wanted.is_empty() {
        return None;
    }
    let (distance, near) = words
        .map(|candidate| {
            let c = plain(candidate);
            let distance = strsim::damerau_levenshtein(&wanted, &c);
            let within = wanted.len() >= 4 && (c.contains(&wanted) || wanted.contains(&c));
            (if within { distance.min(1) } else { distance }, candidate)
        })
        .min_by_key(|(distance, _)| *distance)?;
    (distance <= (wanted.chars().count() / 3).max(1)).then_some(near)
}
