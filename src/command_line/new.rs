//! `nockwright new`

use super::{Ending, disk, say};
use crate::design::Units;
use crate::design::starter::{Wanted, starter};
use std::path::PathBuf;

/// Write a starter design file: every key with its meaning, its unit, and why its default is what it is.
#[derive(Debug, clap::Args)]
pub(super) struct New {
    /// The file to write; it must not exist yet
    file: PathBuf,
    /// Nock style, one of those that `nockwright styles` lists
    #[arg(long)]
    style: Option<String>,
    /// The bow's length, nock to nock, with its unit; all else is scaled from it
    #[arg(long)]
    length: Option<String>,
    /// Units of the file: inch or mm
    #[arg(long, value_parser = units)]
    units: Option<Units>,
}

fn units(name: &str) -> Result<Units, String> {
    match name {
        "inch" | "in" => Ok(Units::Inch),
        "mm" => Ok(Units::Millimetre),
        _ => Err("units are inch or mm".into()),
    }
}

impl New {
    pub(super) fn run(self) -> Ending {
        let text = match starter(&Wanted { style: self.style, length: self.length, units: self.units }) {
            Ok(text) => text,
            Err(refusal) => return Ending::Refused(refusal.render(true)),
        };
        if let Err(ending) = disk::write_new(&self.file, text.as_bytes()) {
            return ending;
        }
        let name = self.file.display();
        say(&format!(
            "wrote {name}: fill in your bow's measures, then `nockwright check {name}` and `nockwright templates {name}`"
        ));
        Ending::Good
    }
}
