//! `nockwright printer`, and what `templates` asks of it.

use super::{Ending, disk, say, show};
use crate::design::file::Refusal;
use crate::fault::Fault;
use crate::printer::{Book, Correction, MeasuredBars, Profile, READING_ERROR, misprint};
use crate::sheets::paper::Paper;
use crate::sheets::test_page::test_page;
use crate::writers::{WRITERS, files};
use std::path::PathBuf;

/// The formats that are printed on paper.
const PRINTED: [&str; 2] = ["svg", "pdf"];
/// Longest name and longest date of a printer, letters.
const MOST_NAME: usize = 60;
const MOST_DATE: usize = 24;
/// Largest book of printers that is read, bytes.
const MOST_BOOK: usize = 1 << 20;

/// Measure a printer once, so that every later sheet comes out true on it.
///
/// Without a name: writes the test page, as SVG and PDF. There is no DXF of it: that is for machines that cut, and this page
/// is printed. With a name and four lengths read from the printed page: keeps them.
/// With a name alone: tells what is known of that printer.
#[derive(Debug, clap::Args)]
pub(super) struct Printer {
    /// Name you give the printer
    name: Option<String>,
    /// The bar across, as read: "173.4 mm" or "6 53/64 in"
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true, requires_all = ["name", "up", "rising", "falling"])]
    across: Option<String>,
    /// The bar up
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true, requires = "across")]
    up: Option<String>,
    /// The diagonal from the lower left to the upper right
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true, requires = "across")]
    rising: Option<String>,
    /// The diagonal from the upper left to the lower right
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true, requires = "across")]
    falling: Option<String>,
    /// How far each reading may be off, either way, 0.01 to 1 mm; a quarter of a millimetre unless given
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true, requires = "across")]
    reading_error: Option<String>,
    /// Date to keep with the readings, in your words; today's unless given
    #[arg(long, value_name = "DATE", requires = "across")]
    measured: Option<String>,
    /// List the printers measured so far
    #[arg(long, exclusive = true)]
    list: bool,
    /// List what usual mistakes in printing make of a bar
    #[arg(long, exclusive = true)]
    table: bool,
    /// Paper in the printer, for the test page
    #[arg(long, default_value = "A4", value_parser = super::templates::paper)]
    paper: Paper,
    /// Folder for the test page
    #[arg(long, default_value = "templates-out", value_name = "FOLDER")]
    out: PathBuf,
}

impl Printer {
    pub(super) fn run(self) -> Ending {
        self.ran().unwrap_or_else(|ending| ending)
    }

    fn ran(self) -> Result<Ending, Ending> {
        if self.table {
            show(&misprint::table());
            return Ok(Ending::Good);
        }
        if self.list {
            let (book, path) = book()?;
            let words: Vec<String> = book.profiles().iter().filter_map(|p| p.words().ok()).collect();
            show(&words.concat());
            say(&format!("{} measured; the book is {}", words.len(), path.display()));
            return Ok(Ending::Good);
        }
        match (self.name, self.across, self.up, self.rising, self.falling) {
            (Some(name), Some(across), Some(up), Some(rising), Some(falling)) => {
                let error = self.reading_error.unwrap_or_else(|| format!("{READING_ERROR} mm"));
                let measured = self.measured.unwrap_or_else(today);
                keep(&Profile { name: name.trim().to_owned(), measured, lengths: [across, up, rising, falling, error] })
            }
            (Some(name), ..) => {
                let profile = book()?.0.find(&name).map_err(|f| options(vec![Fault { key: "NAME".into(), ..f }]))?;
                show(&profile.words().map_err(options)?);
                Ok(Ending::Good)
            }
            _ => write_test_page(self.paper, &self.out),
        }
    }
}

fn write_test_page(paper: Paper, out: &std::path::Path) -> Result<Ending, Ending> {
    let set = test_page(paper, crate::handout::PROGRAM);
    let stem = format!("printer-test-page-{}", paper.name.to_lowercase());
    let mut written = Vec::new();
    for writer in WRITERS.iter().filter(|w| PRINTED.contains(&w.name)) {
        written.extend((writer.write)(&set).map_err(|f| options(vec![f]))?);
    }
    let saved = files::save(out, &stem, &written).map_err(|faults| disk::refuse(&out.display().to_string(), faults))?;
    for path in &saved.written {
        show(&format!("wrote {}\n", path.display()));
    }
    say("print it at 100 %, measure the four lengths, and type them as the page says");
    Ok(Ending::Good)
}

fn keep(profile: &Profile) -> Result<Ending, Ending> {
    let odd = |text: &str| text.trim().is_empty() || text.chars().any(char::is_control);
    let mut faults = Vec::new();
    if odd(&profile.name) || profile.name.chars().count() > MOST_NAME {
        let why = format!("it is found again by its name, of 1 to {MOST_NAME} letters on one line");
        faults.push(Fault::at("NAME", "that is no name for a printer", why).cure("name it as in \"office\""));
    }
    if odd(&profile.measured) || profile.measured.chars().count() > MOST_DATE {
        let why = format!("it stands on every sheet, in 1 to {MOST_DATE} letters on one line");
        faults.push(Fault::at("--measured", "that is no date", why).cure("leave it out for today's"));
    }
    if !faults.is_empty() {
        return Err(options(faults));
    }
    let words = profile.words().map_err(|faults| {
        let typed = faults.into_iter().map(|f| Fault { key: option_of(&f.key), ..f });
        options(typed.collect())
    })?;
    let (mut book, path) = book()?;
    book.put(profile);
    disk::replace(&path, book.text().as_bytes())?;
    show(&words);
    say(&format!(
        "kept in {}; print sheets for it with: nockwright templates --printer {}",
        path.display(),
        quoted_for_shell(&profile.name)
    ));
    Ok(Ending::Good)
}

/// A word as a shell reads it: in single quotes where double ones would not keep it whole.
fn quoted_for_shell(word: &str) -> String {
    if word.contains(['"', '$', '`', '\\', '!']) {
        format!("'{}'", word.replace('\'', "'\\''"))
    } else {
        format!("\"{word}\"")
    }
}

/// The correction asked for by the options of a command.
///
/// # Errors
/// The refusal to end with.
pub(super) fn correction(printer: Option<&str>, bars: Option<&str>) -> Result<Option<Correction>, Ending> {
    if let Some(bars) = bars {
        return MeasuredBars::read(bars).map(|b| Some(b.correction())).map_err(|f| options(vec![f]));
    }
    let Some(name) = printer else { return Ok(None) };
    let (book, path) = book()?;
    let profile = book.find(name).map_err(|f| options(vec![f]))?;
    profile.correction().map(Some).map_err(|faults| disk::refuse(&path.display().to_string(), faults))
}

fn options(faults: Vec<Fault>) -> Ending {
    Ending::Refused(Refusal::of_options(faults).render(true))
}

/// The option that a reading was typed with; those of several readings together, all of them.
fn option_of(key: &str) -> String {
    if key.is_empty() { "--across, --up, --rising, --falling".into() } else { format!("--{}", key.replace('_', "-")) }
}

/// The book of printers, empty where there is none yet, and where it is kept: in the user's folder for settings
/// (XDG Base Directory Specification).
fn book() -> Result<(Book, PathBuf), Ending> {
    let absolute = |name: &str| std::env::var_os(name).map(PathBuf::from).filter(|p| p.is_absolute());
    let folder = absolute("XDG_CONFIG_HOME").or_else(|| absolute("HOME").map(|home| home.join(".config")));
    let Some(folder) = folder else {
        return Err(options(vec![
            Fault::at(
                "--printer",
                "there is no folder for settings",
                "printers are kept in XDG_CONFIG_HOME, or in HOME/.config",
            )
            .cure("set HOME, or give --measured-bars instead"),
        ]));
    };
    let path = folder.join("nockwright").join("printers.toml");
    if !path.exists() {
        return Ok((Book::default(), path));
    }
    let bytes = disk::read(&path, MOST_BOOK)?;
    let book =
        Book::read(&String::from_utf8_lossy(&bytes)).map_err(|f| disk::refuse(&path.display().to_string(), vec![f]))?;
    Ok((book, path))
}

/// Today's date (UTC): the days since 1970 counted off in years from March (proleptic Gregorian calendar).
fn today() -> String {
    let seconds = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).map_or(0, |d| d.as_secs());
    date((seconds / 86_400) as i64)
}

fn date(days: i64) -> String {
    // 400 years have 146097 days; counting years from 1 March puts the leap day last.
    let days = days + 719_468;
    let (era, day) = (days.div_euclid(146_097), days.rem_euclid(146_097));
    let year = (day - day / 1_460 + day / 36_524 - day / 146_096) / 365;
    let day = day - (365 * year + year / 4 - year / 100);
    let month = (5 * day + 2) / 153;
    let day = day - (153 * month + 2) / 5 + 1;
    let (month, carry) = if month < 10 { (month + 3, 0) } else { (month - 9, 1) };
    format!("{:04}-{month:02}-{day:02}", era * 400 + year + carry)
}

#[cfg(test)]
mod tests {
    use super::date;

    #[test]
    fn days_are_counted_over_leap_years() {
        for (days, text) in [
            (0, "1970-01-01"),
            (59, "1970-03-01"),
            (10_957, "2000-01-01"),
            (11_016, "2000-02-29"),
            (19_782, "2024-02-29"),
            (20_819, "2027-01-01"),
        ] {
            assert_eq!(date(days), text);
        }
    }
}
