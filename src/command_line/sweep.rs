//! `nockwright sweep`

use super::{DesignArgs, Ending, say, show};
use crate::reports::sweep as report;
use crate::worked::{Statics, loops, nocks};

/// Force at the hand, string pull and string angle at each tip, from brace to full draw.
///
/// Works for any bow that can be braced, whether or not its nock can be made.
#[derive(Debug, clap::Args)]
pub(super) struct Sweep {
    #[command(flatten)]
    design: DesignArgs,
    /// How many steps from brace to full draw
    #[arg(long, default_value_t = 20, value_parser = clap::value_parser!(u32).range(2..=1000))]
    steps: u32,
    /// Write comma-separated values for a spreadsheet
    #[arg(long, conflicts_with = "json")]
    csv: bool,
    /// Write JSON for programs (mm, N, degrees)
    #[arg(long)]
    json: bool,
}

impl Sweep {
    pub(super) fn run(self) -> Ending {
        let input = match self.design.read() {
            Ok(input) => input,
            Err(ending) => return ending,
        };
        let design = &input.reading.design;
        match Statics::of(design, self.steps as usize) {
            Err(fault) => input.refuse(vec![fault]),
            Ok(statics) => {
                // Without a nock there is no loop to follow, but the bow still has its sweep.
                let loops = match nocks(design, &statics) {
                    Ok(made) => Some(loops(design, &statics, &made)),
                    Err(faults) => {
                        for fault in faults {
                            say(&format!("note: the nock cannot be made, so the loop is left out: {}", fault.what));
                        }
                        None
                    }
                };
                show(&match (self.csv, self.json) {
                    (true, _) => report::csv(&statics, loops.as_ref()),
                    (_, true) => report::json(design, &statics, loops.as_ref()),
                    _ => report::table(design, &statics, loops.as_ref()),
                });
                Ending::Good
            }
        }
    }
}
