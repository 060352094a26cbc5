//! `nockwright compare`

use super::{DesignArgs, Ending, show};
use crate::design::file::Refusal;
use crate::fault::Fault;
use crate::reports::compare as report;
use crate::worked::figures;
use std::path::PathBuf;

/// Set two designs side by side in every figure: what a variant saves in mass, costs in strength, changes in angle.
#[derive(Debug, clap::Args)]
pub(super) struct Compare {
    /// The first design file
    first: PathBuf,
    /// The second design file
    second: PathBuf,
    /// Write JSON for programs
    #[arg(long)]
    json: bool,
}

impl Compare {
    pub(super) fn run(self) -> Ending {
        if [&self.first, &self.second].iter().all(|path| path.as_os_str() == "-") {
            let fault = Fault::at("-", "both designs are to be read from standard input", "it can be read once")
                .cure("give one of them as a file");
            return Ending::Refused(Refusal::of_options(vec![fault]).render(true));
        }
        let names = [&self.first, &self.second].map(|path| path.display().to_string());
        let each = [self.first, self.second].map(|file| {
            DesignArgs { file: Some(file), brace_height: None, draw: None }.work().map(|(_, worked)| worked)
        });
        let [first, second] = match each {
            [Ok(first), Ok(second)] => [first, second],
            // Both refusals are shown, not the first alone.
            [first, second] => {
                let words = [first, second].into_iter().filter_map(Result::err).filter_map(|ending| match ending {
                    Ending::Refused(words) => Some(words),
                    _ => None,
                });
                return Ending::Refused(words.collect::<Vec<_>>().join("\n"));
            }
        };
        let figures = [&first, &second].map(|worked| figures::all(worked, &crate::checks::all(worked)));
        let shown = [&first, &second].map(|w| w.design.name.as_str());
        let [a, b] = [0, 1].map(|k| report::Shown { name: shown[k], file: &names[k], figures: &figures[k] });
        show(&if self.json { report::json(&a, &b) } else { report::text(&a, &b, first.design.units) });
        Ending::Good
    }
}
