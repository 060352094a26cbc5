//! `nockwright report`

use super::{DesignArgs, Ending, disk, say};
use crate::page;
use std::path::PathBuf;

/// Write the report as one HTML file that needs no network: findings, checks, the figure with a slider over the draw, the design.
///
/// It can be mailed and opened by a double click.
#[derive(Debug, clap::Args)]
pub(super) struct ReportCommand {
    #[command(flatten)]
    design: DesignArgs,
    /// Where to write it; it must not exist yet
    #[arg(long, value_name = "FILE")]
    html: PathBuf,
}

impl ReportCommand {
    pub(super) fn run(self) -> Ending {
        let input = match self.design.read() {
            Ok(input) => input,
            Err(ending) => return ending,
        };
        match page::report(&input.reading.design, &input.text, &input.file_name, &self.design.changes()) {
            Ok((_, report)) => match disk::write_new(&self.html, report.as_bytes()) {
                Ok(()) => {
                    say(&format!("wrote {}", self.html.display()));
                    Ending::Good
                }
                Err(ending) => ending,
            },
            Err(faults) => input.refuse(faults),
        }
    }
}
