//! `nockwright check`

use super::{DesignArgs, Ending, show};
use crate::findings::Verdict;
use crate::reports;

/// Report on a design: string angles and pulls, the groove, and every check with measured, allowed, why and source.
///
/// Ends with code 1 when a check fails.
#[derive(Debug, clap::Args)]
pub(super) struct CheckCommand {
    #[command(flatten)]
    design: DesignArgs,
    /// Write JSON for programs (mm, N, degrees)
    #[arg(long)]
    json: bool,
}

impl CheckCommand {
    pub(super) fn run(self) -> Ending {
        let (_, worked) = match self.design.work() {
            Ok(work) => work,
            Err(ending) => return ending,
        };
        let checks = crate::checks::all(&worked);
        show(&if self.json { reports::check::json(&worked, &checks) } else { reports::check::text(&worked, &checks) });
        if checks.iter().any(|c| c.verdict == Verdict::Fails) { Ending::CheckFails } else { Ending::Good }
    }
}
