//! `nockwright recover`

use super::{Ending, disk, say, show};
use crate::carried::{self, Carried, MOST_BYTES};
use crate::fault::Fault;
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
    /// Which design, where a file carries those of a whole class: its name or number in the list
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
        let names: Vec<&str> = found.iter().map(|d| d.file_name.as_str()).collect();
        let at = match &self.which {
            Some(which) => {
                let by_number = which.parse::<usize>().ok().and_then(|n| n.checked_sub(1)).filter(|n| *n < names.len());
                names.iter().position(|n| *n == which || n.trim_end_matches(".toml") == which).or(by_number)
            }
            None if names.len() == 1 => Some(0),
            None => None,
        };
        match at {
            Some(at) => Ok(found.swap_remove(at)),
            None => {
                let list: Vec<String> = names.iter().enumerate().map(|(i, n)| format!("{} {n}", i + 1)).collect();
                let what = match &self.which {
                    Some(which) => format!("no design in the file is called {}", units::quoted(which)),
                    None => format!("the file carries {} designs", names.len()),
                };
                Err(Fault::at("--which", what, format!("one is given back at a time: {}", list.join(", ")))
                    .cure("name one with --which"))
            }
        }
    }
}
