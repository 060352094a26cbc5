//! Reads a design for a command.

use super::{DesignArgs, Ending, say};
use crate::design::file::{MOST_BYTES, Overrides, Reading, Refusal, read_bytes, too_large};
use crate::fault::{Fault, Faults};
use crate::samples::{SAMPLE, SAMPLE_NAME};
use crate::worked::Worked;
use std::io::Read;

/// A design that was read, with the file's own text.
pub(super) struct Input {
    /// The design, remarks and places.
    pub reading: Reading,
    /// The file's text, which rides along on the sheets.
    pub text: String,
    /// The file's name without folders.
    pub file_name: String,
}

impl DesignArgs {
    /// Reads the design and shows remarks on it.
    ///
    /// # Errors
    /// The refusal to end with.
    pub(super) fn read(&self) -> Result<Input, Ending> {
        let (name, bytes) = match &self.file {
            None => {
                say(
                    "no design file given: this is the built-in sample, an ash flatbow (start your own with `nockwright new FILE`)",
                );
                (SAMPLE_NAME.to_owned(), SAMPLE.as_bytes().to_vec())
            }
            Some(path) if path.as_os_str() == "-" => {
                ("standard input".to_owned(), limited(std::io::stdin().lock(), "standard input")?)
            }
            Some(path) => {
                let name = path.display().to_string();
                let unreadable = |error: std::io::Error| {
                    refused(
                        &name,
                        Fault::at(
                            "",
                            format!("the file cannot be read: {error}"),
                            "it must be a text file that you may read",
                        )
                        .cure("check the name and the folder"),
                    )
                };
                let file = std::fs::File::open(path).map_err(unreadable)?;
                if file.metadata().is_ok_and(|m| m.is_dir()) {
                    return Err(refused(&name, Fault::at("", "this is a folder", "a design is one text file")));
                }
                if let Some(size) = file.metadata().ok().map(|m| m.len()).filter(|size| *size > MOST_BYTES as u64) {
                    return Err(refused(&name, too_large(size)));
                }
                let bytes = limited(file, &name)?;
                (name, bytes)
            }
        };
        let overrides = Overrides { brace_height: self.brace_height.clone(), draw: self.draw.clone() };
        let reading = read_bytes(&bytes, &name, &overrides).map_err(|r| Ending::Refused(r.render(true)))?;
        if !reading.remarks.is_empty() {
            say(&reading.places.remarks(&reading.remarks, true));
        }
        let file_name = match &self.file {
            Some(path) if path.as_os_str() != "-" => path.file_name().map(|n| n.to_string_lossy().into_owned()),
            _ => None,
        };
        Ok(Input {
            reading,
            text: String::from_utf8_lossy(&bytes).into_owned(),
            file_name: file_name.unwrap_or_else(|| "design.toml".to_owned()),
        })
    }
}

impl DesignArgs {
    /// What was changed for this run, as typed, for the sheets' digest; empty when nothing was.
    pub(super) fn changes(&self) -> String {
        let part = |name: &str, value: &Option<String>| value.as_ref().map(|v| format!("{name} {v}"));
        let parts = [part("brace height", &self.brace_height), part("draw", &self.draw)];
        parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
    }
}

impl DesignArgs {
    /// Reads the design and works it through to its nocks.
    ///
    /// # Errors
    /// The refusal to end with.
    pub(super) fn work(&self) -> Result<(Input, Worked), Ending> {
        let input = self.read()?;
        match Worked::of(&input.reading.design) {
            Ok(worked) => Ok((input, worked)),
            Err(faults) => Err(input.refuse(faults)),
        }
    }
}

impl Input {
    /// Ends with faults found after reading, shown at their places in the file.
    pub(super) fn refuse(&self, faults: Faults) -> Ending {
        Ending::Refused(self.reading.places.clone().refusal(faults).render(true))
    }
}

/// Reads no more than a design file may hold.
fn limited(source: impl Read, name: &str) -> Result<Vec<u8>, Ending> {
    let mut bytes = Vec::new();
    match source.take(MOST_BYTES as u64 + 1).read_to_end(&mut bytes) {
        Ok(_) if bytes.len() > MOST_BYTES => Err(refused(name, too_large(bytes.len() as u64))),
        Ok(_) => Ok(bytes),
        Err(error) => Err(refused(name, Fault::at("", format!("reading failed: {error}"), "the whole file is needed"))),
    }
}

fn refused(name: &str, fault: Fault) -> Ending {
    Ending::Refused(Refusal::whole(name, fault).render(true))
}
