//! The starter file that `new` writes: a bow in proportion to a few measures, every key with its meaning.
//!
//! The ash flatbow of the built-in sample, or for nocks of recurved ends a recurved bow, is scaled as a whole to the wanted length. Scaled so, stresses and angles stay the
//! same and the pull goes with the square of the length, so that the starter can be braced and drawn at any length.

use crate::design::file::keys::{self, FileKey, LeftOut, Takes};
use crate::design::file::{LAYOUT, Refusal};
use crate::design::{NockValue, SectionForm, Units};
use crate::fault::Fault;
use crate::nock::{Given, Key, KeyDefault, NOCK_STYLES, NockStyle};
use crate::section::Section;
use crate::units::{self, INCH, Kind, POUND, angle_text, inch_text, number_text, quoted};

/// What a maker asks of a starter file; all may be left out.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Wanted {
    /// Nock style, as typed after `--style`.
    pub style: Option<String>,
    /// Length of the bow, as typed after `--length`; it is written into the file in these very words.
    pub length: Option<String>,
    /// Units to write in; left out, as the length is written, and inches without one.
    pub units: Option<Units>,
}

/// Length of the bow that all is scaled from, m: 68 in.
const PATTERN: f64 = 68.0 * INCH;

/// The pull of a light bow over that of the pattern.
const LIGHT: f64 = 0.75;

/// A bow of that length; inches and pounds.
struct Pattern {
    wood: &'static str,
    handle_depth: f64,
    brace_height: f64,
    draw: f64,
    pull: f64,
    corner: f64,
    /// Width and thickness where the stiff handle ends.
    root: [f64; 2],
    /// Place, width and thickness between root and nock.
    between: &'static [[f64; 3]],
    /// Width and thickness at the nock.
    nock: [f64; 2],
    /// Place and set of the unstrung back; none for straight limbs.
    unstrung: &'static [[f64; 2]],
}

const STRAIGHT: Pattern = Pattern {
    wood: "white ash",
    handle_depth: 1.5,
    brace_height: 6.25,
    draw: 28.0,
    pull: 40.0,
    corner: 0.156_25,
    root: [1.875, 0.531],
    between: &[[20.0, 1.625, 0.453]],
    nock: [0.5, 0.4375],
    unstrung: &[],
};

/// Braced, its string lies on the ends.
const RECURVED: Pattern = Pattern {
    wood: "shagbark hickory",
    handle_depth: 1.75,
    brace_height: 6.0,
    draw: 27.0,
    pull: 30.0,
    corner: 0.093_75,
    root: [2.125, 0.375],
    between: &[[14.0, 2.125, 0.3125], [21.0, 2.125, 0.281_25], [26.0, 2.0, 0.375], [31.0, 1.125, 0.5]],
    nock: [0.5625, 0.5],
    unstrung: &[[24.0, 0.0], [26.0, 0.25], [28.0, 0.875], [30.0, 1.75], [32.0, 2.875], [34.0, 4.25]],
};

/// Writes a starter file.
///
/// # Errors
/// Faults that name the options `--style` or `--length`, where those cannot be used.
pub fn starter(wanted: &Wanted) -> Result<String, Refusal> {
    let mut faults = Vec::new();
    let style = match &wanted.style {
        None => NOCK_STYLES.first().copied(),
        Some(name) => NOCK_STYLES.iter().copied().find(|s| keys::same_word(s.name(), name)),
    };
    if let (None, Some(name)) = (style, &wanted.style) {
        let names: Vec<&str> = NOCK_STYLES.iter().map(|s| s.name()).collect();
        let fault = Fault::at(
            "--style",
            format!("{} is no nock style known here", quoted(name)),
            format!("known: {}", names.join(", ")),
        );
        faults.push(fault.cure(match keys::did_you_mean(name, names.iter().copied()) {
            Some(near) => format!("did you mean \"{near}\"?"),
            None => "choose one of them; `nockwright styles` tells what each is".into(),
        }));
    }
    let length = match wanted.length.as_deref().map(|text| units::read(text, Kind::Length)) {
        None => Some(PATTERN),
        Some(Ok(length)) if (0.5..=2.6).contains(&length) => Some(length),
        Some(Ok(_)) => {
            let text = wanted.length.as_deref().unwrap_or_default();
            let why = "a starter file is written for bows from 20 in (508 mm) to 102 in (2591 mm), nock to nock";
            faults.push(Fault::at("--length", format!("{} is no length for a starter file", quoted(text)), why));
            None
        }
        Some(Err(m)) => {
            faults.push(Fault::at("--length", m.what, m.why).cure(m.cure));
            None
        }
    };
    match (style, length) {
        (Some(style), Some(length)) if faults.is_empty() => Ok(Starter::new(wanted, style, length).write()),
        _ => Err(Refusal::of_options(faults)),
    }
}

struct Starter {
    style: &'static dyn NockStyle,
    pattern: &'static Pattern,
    /// As it is written into the file.
    length_text: String,
    length: f64,
    units: Units,
}

impl Starter {
    fn new(wanted: &Wanted, style: &'static dyn NockStyle, length: f64) -> Self {
        let metric = wanted.length.as_ref().is_some_and(|text| text.trim_end().ends_with('m'));
        let units = wanted.units.unwrap_or(if metric { Units::Millimetre } else { Units::Inch });
        let pattern = if style.for_recurve() { &RECURVED } else { &STRAIGHT };
        let mut starter = Starter { style, pattern, length_text: String::new(), length, units };
        starter.length_text = match &wanted.length {
            Some(text) => text.trim().to_owned(),
            None => starter.rounded(length, 1.0),
        };
        starter
    }

    /// A measure of the pattern in proportion to this bow, m.
    fn scaled(&self, inches: f64) -> f64 {
        inches * INCH * self.length / PATTERN
    }

    /// A length as a maker would write it, to a fraction of an inch (`fine` = 1: 1/16; 4: 1/64) or millimetres (1: 1 mm; 4: 1/4 mm).
    fn rounded(&self, metres: f64, fine: f64) -> String {
        match self.units {
            Units::Inch => inch_text(metres, (16.0 * fine) as u32),
            Units::Millimetre => {
                let step = 1.0 / fine;
                let mm = (metres * 1000.0 / step).round() * step;
                let text = number_text(mm, 2);
                format!("{} mm", text.trim_end_matches('0').trim_end_matches('.'))
            }
        }
    }

    /// The stiff handle, of which half can be written as exactly as the whole, m.
    fn handle(&self) -> f64 {
        let step = if self.units == Units::Inch { INCH / 4.0 } else { 0.002 };
        (self.scaled(8.0) / step).round().max(2.0) * step
    }

    /// Half the length, rounded up, so that the last station is not short of the nock, m.
    fn half(&self) -> f64 {
        let step = if self.units == Units::Inch { INCH / 64.0 } else { 0.00025 };
        (self.length / 2.0 / step - 1e-6).ceil() * step
    }

    fn string_diameter(&self) -> f64 {
        self.scaled(0.125).clamp(0.0015, 0.005)
    }

    /// What is written for a key of the pattern; none where the key is only shown as a comment.
    fn value(&self, table: &str, key: &FileKey) -> Option<String> {
        let text = |t: String| Some(format!("\"{t}\""));
        let coarse = |inches: f64| text(self.rounded(self.scaled(inches), 1.0));
        match (table, key.name) {
            ("bow", "name") => text("My bow".into()),
            ("bow", "length") => text(self.length_text.replace('"', " in")),
            ("bow", "stiff_handle") => text(self.rounded(self.handle(), 1.0)),
            ("bow", "handle_depth") => coarse(self.pattern.handle_depth),
            ("bow", "pivot") => coarse(-1.5),
            ("bow", "nocking_point") => coarse(1.25),
            ("bow", "hand") => text("right".into()),
            ("bow", "brace_height") => coarse(self.pattern.brace_height),
            ("bow", "draw") => coarse(self.pattern.draw),
            ("bow", "draw_to") => text("back".into()),
            ("bow", "weight") => {
                let light = if self.style.for_light_bows() { LIGHT } else { 1.0 };
                let pull = light * self.pattern.pull * POUND * (self.length / PATTERN).powi(2);
                let pull = match self.units {
                    Units::Inch => format!("{} lb", number_text(pull / POUND, 0)),
                    Units::Millimetre => format!("{} N", number_text(pull, 0)),
                };
                Some(format!("{{ at = \"{}\", pull = \"{pull}\" }}", self.rounded(self.scaled(self.pattern.draw), 1.0)))
            }
            ("limb", "wood") => text(self.pattern.wood.into()),
            // Square corners under a string cut its strands: a starter has them rounded.
            ("limb", "section") => text("rounded rectangle".into()),
            ("limb", "corner") => text(self.rounded(self.scaled(self.pattern.corner), 4.0)),
            ("limb", "stations") => Some(self.stations()),
            ("limb", "unstrung") if !self.pattern.unstrung.is_empty() => Some(self.unstrung()),
            ("string", "diameter") => text(self.rounded(self.string_diameter(), 4.0)),
            ("nock", "style") => text(self.style.name().into()),
            _ => None,
        }
    }

    fn stations(&self) -> String {
        let mut list = String::from("[\n");
        let Pattern { root, between, nock, .. } = self.pattern;
        let between = between.iter().map(|[at, width, thickness]| (self.scaled(*at), [*width, *thickness]));
        let places = [(self.handle() / 2.0, *root)].into_iter().chain(between).chain([(self.half(), *nock)]);
        for (at, [width, thickness]) in places {
            list.push_str(&format!(
                "  {{ at = \"{}\", width = \"{}\", thickness = \"{}\" }},\n",
                self.rounded(at, 4.0),
                self.rounded(self.scaled(width), 2.0),
                self.rounded(self.scaled(thickness), 4.0),
            ));
        }
        list.push(']');
        list
    }

    fn unstrung(&self) -> String {
        let mut list = String::from("[\n");
        for [at, set] in self.pattern.unstrung {
            let at = if self.scaled(*at) > 0.499 * self.length { self.half() } else { self.scaled(*at) };
            list.push_str(&format!(
                "  {{ at = \"{}\", set = \"{}\" }},\n",
                self.rounded(at, 4.0),
                self.rounded(self.scaled(*set), 4.0)
            ));
        }
        list.push(']');
        list
    }

    fn write(&self) -> String {
        let mut out = String::new();
        comment(
            &mut out,
            "A bow and its nocks. Put your own measures in place of these; a line that starts with # is not read.",
        );
        comment(&mut out, "Measures carry their unit: 6 1/4 in, 158.8 mm, 40 lb, 178 N, 22 deg.");
        out.push_str(&format!("\nlayout = {LAYOUT}\n"));
        comment(&mut out, keys::UNITS.meaning);
        out.push_str(if self.units == Units::Inch { "units = \"inch\"\n" } else { "units = \"mm\"\n" });
        for (table, known) in keys::TABLES {
            // The last tables may be left out whole, and so may their heads.
            let optional = matches!(*table, "range" | "strength" | "tiller" | "sheets");
            out.push('\n');
            comment(&mut out, head(table));
            out.push_str(&format!("{}[{table}]\n", if optional { "# " } else { "" }));
            for key in *known {
                self.entry(&mut out, table, key);
            }
            if *table == "nock" {
                comment(&mut out, self.style.summary());
                for key in self.style.keys() {
                    self.nock_entry(&mut out, key);
                }
            }
        }
        out.push('\n');
        comment(
            &mut out,
            "What differs in one limb stands in a table of its own, with the same keys: [upper.limb], [lower.limb], [upper.nock], [lower.nock].",
        );
        out
    }

    /// A key with its meaning, and what it stands at when left out.
    fn entry(&self, out: &mut String, table: &str, key: &FileKey) {
        let value = self.value(table, key);
        let left_out = match key.default {
            LeftOut::Required | LeftOut::Optional => String::new(),
            LeftOut::Written(text) | LeftOut::Worked(text) if key.reason.is_empty() => format!("; left out: {text}"),
            LeftOut::Written(text) | LeftOut::Worked(text) => format!("; left out: {text} ({})", key.reason),
        };
        let words = match key.takes {
            Takes::Words(words) => format!("; one of {}", words.join(", ")),
            _ => String::new(),
        };
        comment(out, &format!("{}{words}{left_out}", key.meaning));
        match value {
            Some(value) => out.push_str(&format!("{} = {value}\n", key.name)),
            None => out.push_str(&format!("# {} = {}\n", key.name, key.example)),
        }
    }

    /// A style's own key, shown at its default and left out.
    fn nock_entry(&self, out: &mut String, key: &Key) {
        let [width, thickness] = self.pattern.nock;
        let corner = SectionForm::RoundedRectangle { corner: self.scaled(self.pattern.corner) };
        let section = Section::new(corner, self.scaled(width), self.scaled(thickness));
        let given = Given::of(&section, self.string_diameter());
        let (rule, value) = match key.default {
            KeyDefault::Written(text) => (text.to_owned(), Some(text.to_owned())),
            KeyDefault::Worked(rule, work) => {
                let value = match work(&given) {
                    NockValue::Length(v) => Some(self.rounded(v, 4.0)),
                    NockValue::Angle(v) => Some(angle_text(v)),
                    NockValue::Number(v) => Some(number_text(v, 2)),
                    NockValue::Choice(_) => None,
                };
                (rule.to_owned(), value)
            }
        };
        comment(out, &format!("{} Left out: {rule}. {}", key.meaning, key.reason));
        if let Some(value) = value {
            out.push_str(&format!("# {} = \"{value}\"\n", key.name));
        }
    }
}

fn head(table: &str) -> &'static str {
    match table {
        "bow" => "The bow as a whole.",
        "limb" => "Both limbs.",
        "string" => "The string.",
        "nock" => "Both nocks.",
        "range" => "What the nock must serve, where that is more than this bow's own measures.",
        "strength" => "What strength is judged by.",
        "tiller" => "The measured tiller, for `nockwright tiller`.",
        _ => "The printed sheets.",
    }
}

/// A comment of one or more lines.
fn comment(out: &mut String, text: &str) {
    let mut line = String::new();
    for word in text.split_whitespace() {
        if !line.is_empty() && line.chars().count() + word.chars().count() > 96 {
            out.push_str(&format!("# {line}\n"));
            line.clear();
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(word);
    }
    out.push_str(&format!("# {line}\n"));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::file::read;

    fn wanted(style: &str, length: Option<&str>, units: Option<Units>) -> Wanted {
        Wanted { style: Some(style.to_owned()), length: length.map(str::to_owned), units }
    }

    #[test]
    fn every_starter_reads_back_without_a_word() {
        for style in NOCK_STYLES {
            for length in [
                None,
                Some("68 in"),
                Some("1727 mm"),
                Some("24 in"),
                Some("100 3/8\""),
                Some("5 ft 6 in"),
                Some("158,5 cm"),
            ] {
                for units in [None, Some(Units::Inch), Some(Units::Millimetre)] {
                    let text = starter(&wanted(style.name(), length, units)).unwrap();
                    let reading = read(&text, "starter.toml").unwrap_or_else(|r| panic!("{r}\n{text}"));
                    assert!(
                        reading.remarks.is_empty(),
                        "{length:?} {}",
                        reading.places.remarks(&reading.remarks, false)
                    );
                    let asked = length.map_or(PATTERN, |t| units::read(t, Kind::Length).unwrap());
                    // Without a wanted length the pattern's is rounded to the unit it is written in.
                    let near = if length.is_some() { 1e-9 } else { 1e-3 };
                    assert!((reading.design.bow.length - asked).abs() < near);
                }
            }
        }
    }

    /// A newcomer's first `check` tells of no fault that is the starter's own; a straight groove is no seat for a loop.
    #[test]
    fn starters_hold_their_own_checks() {
        for style in NOCK_STYLES {
            let text = starter(&wanted(style.name(), None, None)).unwrap();
            let worked = crate::worked::Worked::of(&read(&text, "starter.toml").unwrap().design).unwrap();
            // On a recurved end the braced string lies: what the guide is for.
            let lies = worked.statics.cycle.at_brace().limbs.upper.lies_from_nock().is_some();
            assert_eq!(lies, style.for_recurve(), "{}", style.name());
            let failing: Vec<&str> = crate::checks::all(&worked)
                .iter()
                .filter(|c| c.verdict == crate::findings::Verdict::Fails)
                .map(|c| c.id)
                .collect();
            match style.name() {
                "straight groove" => {
                    assert!(failing.contains(&"loop_stays_on") || failing.contains(&"click"), "{failing:?}")
                }
                name => assert!(failing.is_empty(), "{name}: {failing:?}"),
            }
        }
    }

    #[test]
    fn every_line_that_is_shown_as_a_comment_can_be_put_to_use() {
        for style in NOCK_STYLES {
            let text = starter(&wanted(style.name(), None, None)).unwrap();
            let lines: Vec<&str> = text.lines().collect();
            let shown = |line: &str| line.starts_with("# ") && line.split(' ').nth(2) == Some("=");
            let mut tried = 0;
            for (i, _) in lines.iter().enumerate().filter(|(_, line)| shown(line)) {
                let name = lines[i].split(' ').nth(1).unwrap_or_default();
                // These stand in place of another key, or belong to another section.
                if matches!(name, "string_length" | "belly_width") {
                    continue;
                }
                let in_use: Vec<String> = lines
                    .iter()
                    .enumerate()
                    .map(|(k, line)| {
                        let head = matches!(*line, "# [range]" | "# [strength]" | "# [tiller]" | "# [sheets]");
                        if k == i || head { line.trim_start_matches("# ").to_owned() } else { (*line).to_owned() }
                    })
                    .collect();
                read(&in_use.join("\n"), "starter.toml").unwrap_or_else(|r| panic!("{r}"));
                tried += 1;
            }
            assert!(tried > 15, "only {tried} lines tried");
        }
    }

    #[test]
    fn options_that_cannot_be_used() {
        let message = |w: Wanted| starter(&w).unwrap_err().to_string();
        assert!(message(wanted("back overly", None, None)).contains("did you mean \"back overlay\"?"));
        let both = message(wanted("pin", Some("68"), None));
        assert!(both.contains("--style") && both.contains("which unit? `68 in` or `68 mm`"), "{both}");
        assert!(message(wanted("horn nock", Some("9 ft"), None)).contains("no length for a starter file"));
    }
}
