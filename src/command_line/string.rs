//! `nockwright string`

use super::{DesignArgs, Ending, say, show};
use crate::bow::draw_curve::DRAW_STEPS;
use crate::reports::string as report;
use crate::string::making::making;
use crate::worked::{Statics, nocks};

/// Tell how to make the string: length for the brace height, strands, and loops that pass the tip and slide down the limb.
#[derive(Debug, clap::Args)]
pub(super) struct StringCommand {
    #[command(flatten)]
    design: DesignArgs,
    /// Write JSON for programs (mm, N)
    #[arg(long)]
    json: bool,
}

impl StringCommand {
    pub(super) fn run(self) -> Ending {
        let input = match self.design.read() {
            Ok(input) => input,
            Err(ending) => return ending,
        };
        let design = &input.reading.design;
        let statics = match Statics::of(design, DRAW_STEPS) {
            Ok(statics) => statics,
            Err(fault) => return input.refuse(vec![fault]),
        };
        // Without a nock the string's length still follows; only the way over the tip is not known.
        let made = nocks(design, &statics)
            .map_err(|faults| {
                for fault in faults {
                    say(&format!("note: the nock cannot be made, so the way over the tip is left out: {}", fault.what));
                }
            })
            .ok();
        match making(design, statics.seat_offsets, &statics.cycle, made.as_ref()) {
            Ok(made) => {
                show(&if self.json { report::json(design, &made) } else { report::text(design, &made) });
                Ending::Good
            }
            Err(fault) => input.refuse(vec![fault]),
        }
    }
}
