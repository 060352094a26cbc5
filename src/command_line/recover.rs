//! `nockwright recover`

use super::{Ending, disk, say, show};
use crate::carried::{self, Carried, MOST_BYTES};
use crate::fault::Fault;
use crate::saved_as::visible;
use crate::units;
use std::path::PathBuf;

/// Get the design file back from a sheet: an SVG or PDF, or a picture of the code on its first page.
///
/// The file comes back byte for byte, comments and all. It is shown, or written to --out.
#[derive(Debug, clap::Args)]
pub(super) struct Recover {
    /// Sheet as SVG or PDF, or a text file with the text of a scanned code
    #[arg(required_unless_present = "image", conflicts_with = "image")]
    file: Option<PathBuf>,
    /// Photograph or scan of the first sheet, as PNG or JPEG
    #[arg(long, value_name = "PICTURE")]
    image: Option<PathBuf>,
    /// Where to write the design; it must not exist yet. Without it, the design is shown
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// Which design, where a file carries those of a whole class: the student's name, or the file's name or number in the list
    #[arg(long, value_name = "NAME")]
    which: Option<String>,
}

impl Recover {
    pub(super) fn run(self) -> Ending {
        self.recovered().unwrap_or_else(|ending| ending)
    }

    fn recovered(&self) -> Result<Ending, Ending> {
        let Some(path) = self.image.as_ref().or(self.file.as_ref()) else { return Ok(Ending::Good) };
        let name = path.display().to_string();
        let bytes = disk::read(path, MOST_BYTES)?;
        let found = if self.image.is_some() {
            carried::from_picture(&bytes).map(|d| vec![d])
        } else {
            carried::recover(&bytes)
        };
        let found = found.map_err(|fault| disk::refuse(&name, vec![fault]))?;
        let design = self.chosen(found).map_err(|fault| disk::refuse(&name, vec![fault]))?;
        match &self.out {
            Some(out) => {
                disk::write_new(out, &design.text)?;
                say(&format!("wrote {}", out.display()));
            }
            None => show(&String::from_utf8_lossy(&design.text)),
        }
        if !design.whole {
            say("note: the code had room for the keys and values only; the file's comments are not in it");
        }
        Ok(Ending::Good)
    }

    fn chosen(&self, mut found: Vec<Carried>) -> Result<Carried, Fault> {
        let named: Vec<Named> = found.iter().enumerate().map(|(at, design)| Named::of(at, design)).collect();
        let (meant, what) = match &self.which {
            Some(which) => {
                let meant = named_so(&named, which);
                let what = match meant.len() {
                    0 => format!("no design in the file is called {}", units::quoted(which)),
                    count => format!("{count} designs in the file can be meant by {}", units::quoted(which)),
                };
                (meant, what)
            }
            None => (named.iter().collect(), format!("the file carries {} designs", named.len())),
        };
        if let [one] = meant.as_slice() {
            let at = one.at;
            return Ok(found.swap_remove(at));
        }
        let listed = if meant.is_empty() { named.iter().collect() } else { meant };
        let list: Vec<String> = listed.into_iter().map(Named::shown).collect();
        let fault = Fault::at("--which", what, format!("one is given back at a time: {}", list.join(", ")));
        Err(fault.cure("name one with --which, by the name of its file"))
    }
}

/// A carried design by its names.
struct Named {
    /// Its place in the file, from 0.
    at: usize,
    file_name: String,
    /// `bow.name` of the design: in a class, the row's label, a comma, and the bow's name. Empty where it has none.
    name: String,
}

impl Named {
    fn of(at: usize, design: &Carried) -> Named {
        let text = String::from_utf8_lossy(&design.text);
        let document = toml_edit::Document::parse(text.trim_start_matches('\u{FEFF}')).ok();
        let name = document.and_then(|d| Some(d.get("bow")?.get("name")?.as_str()?.to_owned())).unwrap_or_default();
        Named { at, file_name: design.file_name.clone(), name }
    }

    /// `2 2-ben.toml (Ben, Ash flatbow)`
    fn shown(&self) -> String {
        let name = if self.name.is_empty() { String::new() } else { format!(" ({})", self.name) };
        visible(&format!("{} {}{name}", self.at + 1, self.file_name))
    }
}

/// The designs that `which` can mean: the one with this file's name; else those with this number in the list or this
/// label, with or without the label's own number; else those in whose name the words stand.
fn named_so<'n>(named: &'n [Named], which: &str) -> Vec<&'n Named> {
    let which = which.trim();
    let of_file = |n: &&Named| n.file_name == which || n.file_name.trim_end_matches(".toml") == which;
    if which.is_empty() {
        return Vec::new();
    }
    if let Some(one) = named.iter().find(of_file) {
        return vec![one];
    }
    let (number, wanted) = (which.parse::<usize>().ok(), which.to_lowercase());
    let begins = |name: &str| name.strip_prefix(&wanted).is_some_and(|rest| rest.is_empty() || rest.starts_with(','));
    let labelled = |name: &str| begins(name) || name.split_once(' ').is_some_and(|(_, rest)| begins(rest));
    let apart = |c: Option<char>| c.is_none_or(|c| !c.is_alphanumeric());
    let holds = |name: &str| {
        name.match_indices(&wanted).any(|(from, words)| {
            apart(name[..from].chars().next_back()) && apart(name[from + words.len()..].chars().next())
        })
    };
    let those = |fits: &dyn Fn(&str) -> bool| -> Vec<&Named> {
        named.iter().filter(|n| number == Some(n.at + 1) || fits(&n.name.to_lowercase())).collect()
    };
    let exact = those(&begins);
    if !exact.is_empty() {
        return exact;
    }
    let labelled = those(&labelled);
    if labelled.is_empty() { those(&holds) } else { labelled }
}
