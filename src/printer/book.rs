//! The book of measured printers: a small TOML file that a person can read and mend.
//!
//! It keeps what was read with the rule, not what was worked out, so that a reading mended by hand counts.

use std::fmt::Write as _;

use toml_edit::{DocumentMut, Item, Table, value};

use super::{Correction, PrinterMap, Readings, Unbelievable, misprint};
use crate::fault::Fault;
use crate::units::{self, Kind, number_text};

/// First lines of a new book.
const HEAD: &str = "# Printers measured with `nockwright printer`. Each keeps the four lengths read from its test page.\n\
                    # Measure again when the paper, the driver or the printer changes.\n\n";
const KEYS: [&str; 6] = ["measured", "across", "up", "rising", "falling", "reading_error"];

/// One printer as measured: lengths as they were typed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Profile {
    /// Its name.
    pub name: String,
    /// Date of measuring, as given.
    pub measured: String,
    /// The bar across, the bar up, the rising and the falling diagonal, and how far each may be off: as typed.
    pub lengths: [String; 5],
}

impl Profile {
    /// What the readings say of the printer. `place` names where they stand: an option or a key.
    ///
    /// # Errors
    /// All readings that are no lengths; or why together they are impossible.
    pub fn map(&self) -> Result<PrinterMap, Vec<Fault>> {
        let mut faults = Vec::new();
        let read = self.lengths.each_ref().map(|text| units::read(text, Kind::Length));
        let mm = read.map(|length| length.map(|m| m * 1e3));
        for (length, key) in mm.iter().zip(&KEYS[1..]) {
            if let Err(m) = length {
                faults.push(Fault::at(*key, m.what.clone(), m.why.clone()).cure(m.cure.clone()));
            }
        }
        let [Ok(across), Ok(up), Ok(rising), Ok(falling), Ok(error)] = mm else { return Err(faults) };
        Readings { across, up, rising, falling, error }.fit().map_err(|why| vec![fault(&why)])
    }

    /// The correction, as the sheets name it.
    ///
    /// # Errors
    /// As for [`Profile::map`].
    pub fn correction(&self) -> Result<Correction, Vec<Fault>> {
        Ok(Correction { printer: self.name.clone(), measured: Some(self.measured.clone()), map: self.map()? })
    }

    /// The printer in words: scales and lean with their uncertainty, what it does to 100 mm.
    ///
    /// # Errors
    /// As for [`Profile::map`].
    pub fn words(&self) -> Result<String, Vec<Fault>> {
        let map = self.map()?;
        let mut text = format!("{}, measured {}\n", self.name, self.measured);
        for (way, scale) in [("across", map.across), ("up", map.up)] {
            let _ = writeln!(
                text,
                "  {way:<8}100 mm prints as {:.2} ± {:.2} mm",
                scale.value * 100.0,
                scale.plus_minus * 100.0
            );
        }
        let (lean, lean_error) = (map.lean.value.to_degrees(), map.lean.plus_minus.to_degrees());
        let side = if lean < 0.0 { "left" } else { "right" };
        let _ = writeln!(text, "  lean    {:.2} ± {lean_error:.2}° to the {side}", lean.abs());
        Ok(text)
    }
}

/// All measured printers.
#[derive(Debug, Clone)]
pub struct Book {
    document: DocumentMut,
}

impl Default for Book {
    fn default() -> Self {
        let mut document = DocumentMut::new();
        document.decor_mut().set_prefix(HEAD);
        Book { document }
    }
}

impl Book {
    /// Reads a book.
    ///
    /// # Errors
    /// It is not TOML, or an entry lacks something.
    pub fn read(text: &str) -> Result<Self, Fault> {
        let document: DocumentMut = text.parse().map_err(|e: toml_edit::TomlError| {
            Fault::at(
                "",
                format!("the book of printers is not TOML: {}", e.message()),
                "it was altered by hand or damaged",
            )
            .cure("mend it, or move it away and measure again")
        })?;
        let book = Book { document };
        for (name, item) in book.document.iter() {
            let whole = item.as_table().is_some_and(|t| KEYS.iter().all(|k| t.get(k).is_some_and(Item::is_str)));
            if !whole {
                return Err(Fault::at(
                    name,
                    format!("the printer {} is not whole", units::quoted(name)),
                    format!("an entry has the texts {}", KEYS.join(", ")),
                )
                .cure("measure that printer again, or strike its entry out"));
            }
        }
        Ok(book)
    }

    /// The printers in the book.
    pub fn profiles(&self) -> Vec<Profile> {
        self.document
            .iter()
            .map(|(name, item)| {
                let text = |key: &str| item.get(key).and_then(Item::as_str).unwrap_or_default().to_owned();
                let [_, lengths @ ..] = KEYS;
                Profile { name: name.to_owned(), measured: text("measured"), lengths: lengths.map(text) }
            })
            .collect()
    }

    /// The printer of that name; case does not matter.
    ///
    /// # Errors
    /// It is not in the book.
    pub fn find(&self, name: &str) -> Result<Profile, Fault> {
        let profiles = self.profiles();
        let known: Vec<String> = profiles.iter().map(|p| format!("\"{}\"", p.name)).collect();
        profiles.into_iter().find(|p| p.name.eq_ignore_ascii_case(name.trim())).ok_or_else(|| {
            let why = if known.is_empty() {
                "no printer was measured yet".into()
            } else {
                format!("measured so far: {}", known.join(", "))
            };
            Fault::at("--printer", format!("no printer {} is in the book", units::quoted(name)), why)
                .cure("print the page that `nockwright printer` writes, and type in what you read")
        })
    }

    /// Puts a printer in, in place of one of the same name. Everything else keeps its words.
    pub fn put(&mut self, profile: &Profile) {
        let old = self.document.iter().map(|(k, _)| k.to_owned()).find(|k| k.eq_ignore_ascii_case(&profile.name));
        let mut table = match old.and_then(|k| self.document.remove(&k)) {
            Some(Item::Table(table)) => table,
            _ => {
                let mut table = Table::new();
                table.decor_mut().set_prefix(if self.document.is_empty() { "" } else { "\n" });
                table
            }
        };
        let values = std::iter::once(&profile.measured).chain(&profile.lengths);
        for (key, text) in KEYS.iter().zip(values) {
            table[key] = value(text.as_str());
        }
        self.document.insert(&profile.name, Item::Table(table));
    }

    /// The book as a file.
    pub fn text(&self) -> String {
        self.document.to_string()
    }
}

/// Why readings are impossible, for a maker.
fn fault(why: &Unbelievable) -> Fault {
    match why {
        Unbelievable::NoLength => Fault::at("", "a length of nothing or less was read", "the four lengths are all more than nothing")
            .cure("measure from line middle to line middle, and write each with its unit"),
        Unbelievable::WrongError(error) => Fault::at("reading_error", format!("no rule is read to {} mm", number_text(*error, 3)), "a reading may be off by 0.01 mm to 1 mm; a rule in quarter millimetres by 0.25 mm")
            .cure("read with a finer rule, or leave the reading error out"),
        Unbelievable::Exchanged => Fault::at("across", "the bar across and the bar up seem to be exchanged", format!("the bar across is about {} mm long, the bar up about {} mm", super::ACROSS, super::UP))
            .cure("hold the page upright, the words readable, and read again"),
        Unbelievable::WrongScale { across, up, .. } => misprint::fault("", *across, *up),
        Unbelievable::WrongLean(lean) => Fault::at("rising", format!("the diagonals say that the page leans by {:.1}°", lean.to_degrees()), "paper is fed less than 1° askew")
            .cure("measure both diagonals again: rising from the lower left, falling from the upper left"),
        Unbelievable::Contradicting { off, diagonal } => Fault::at(
            "rising",
            "the four lengths contradict each other",
            format!("with such bars the two diagonals are about {diagonal:.1} mm, one as much longer as the other is shorter; at least one reading is off by {off:.1} mm"),
        )
        .cure("measure all four again, from line middle to line middle; give --reading-error if your rule is coarse"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn profile(name: &str, across: &str) -> Profile {
        let lengths = [across, "9 5/32 in", "290.9 mm", "289.5 mm", "0.25 mm"].map(str::to_owned);
        Profile { name: name.into(), measured: "2026-11-25".into(), lengths }
    }

    #[test]
    fn a_book_comes_back_with_its_own_words() {
        let mut book = Book::default();
        book.put(&profile("Shed \"old\" #2", "173.6 mm"));
        book.put(&profile("office", "174 mm"));
        let text = book.text().replace("[office]", "# upstairs\n[office]");
        let mut book = Book::read(&text).unwrap();
        assert_eq!(book.profiles().len(), 2);
        book.put(&profile("Office", "174.1 mm"));
        assert_eq!(book.profiles().len(), 2);
        assert!(
            book.text().starts_with("# Printers measured") && book.text().contains("# upstairs"),
            "{}",
            book.text()
        );
        assert_eq!(book.find(" OFFICE ").unwrap().lengths[0], "174.1 mm");
        assert_eq!(Book::read(&book.text()).unwrap().profiles(), book.profiles());
    }

    #[test]
    fn readings_in_both_units_make_a_correction_with_name_and_date() {
        let profile = profile("shed", "173.6 mm");
        let correction = profile.correction().unwrap();
        assert_eq!(correction.words(), "shed, measured 2026-11-25");
        assert!((correction.map.up.value - 9.15625 * 25.4 / 232.0).abs() < 2e-3);
        assert!(profile.words().unwrap().contains("100 mm prints as"));
    }

    #[test]
    fn every_bad_length_is_named_and_a_damaged_book_refused() {
        let mut bad = profile("shed", "174");
        bad.lengths[2] = "long".into();
        assert_eq!(bad.map().unwrap_err().len(), 2);
        for text in ["[shed]\nmeasured = 1\n", "shed = 3", "[shed", "[shed]\nacross = \"1 mm\""] {
            assert!(Book::read(text).is_err(), "{text}");
        }
        assert!(Book::default().find("shed").unwrap_err().why.contains("no printer"));
    }
}
