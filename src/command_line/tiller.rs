//! `nockwright tiller`

use super::{DesignArgs, Ending, sheet, show};
use crate::design::file::Refusal;
use crate::design::{Design, Units};
use crate::fault::{Fault, Faults};
use crate::pieces::tiller_sheet;
use crate::reports::tiller as report;
use crate::tiller::table::tiller;
use crate::units::{self, INCH, Kind};
use crate::worked::seat_offsets;
use std::path::PathBuf;

/// Show how far the string should stand off each limb, and what measured distances say of weak and stiff stretches.
///
/// Distances run from the string square to it to the belly, at places measured from the middle of the bow along the back.
/// Where the file has measured ones (`measured` in [tiller]), the stretch or taper of stiffness that explains them is found,
/// and the lines to write into the file so that string angles, checks and sheets follow it.
#[derive(Debug, clap::Args)]
pub(super) struct TillerCommand {
    #[command(flatten)]
    design: DesignArgs,
    /// A draw to show besides brace, measured as the file says; may be given several times. Without it: half way and full draw
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    at_draw: Vec<String>,
    /// Folder to write a sheet with the expected curves to, scaled to fit the page; without it nothing is written
    #[arg(long, value_name = "FOLDER")]
    out: Option<PathBuf>,
    /// Write JSON for programs (mm, degrees)
    #[arg(long)]
    json: bool,
}

impl TillerCommand {
    pub(super) fn run(self) -> Ending {
        let input = match self.design.read() {
            Ok(input) => input,
            Err(ending) => return ending,
        };
        let design = &input.reading.design;
        let draws = match self.draws(design) {
            Ok(draws) => draws,
            Err(faults) => return Ending::Refused(Refusal::of_options(faults).render(true)),
        };
        let step = if design.units == Units::Inch { 2.0 * INCH } else { 0.05 };
        let found = seat_offsets(design).and_then(|offsets| tiller(design, offsets, &draws, step));
        let found = match found {
            Ok(found) => found,
            // A draw typed for this run is not one of the file's.
            Err(fault) if fault.key == "bow.draw" && !self.at_draw.is_empty() => {
                return input.refuse(vec![Fault { key: "--at-draw".into(), ..fault }]);
            }
            Err(fault) => return input.refuse(vec![fault]),
        };
        let mut written = String::new();
        if let Some(folder) = &self.out {
            let pieces = tiller_sheet::draw(design, &found);
            match sheet::write(&input, &self.design, "the tiller (scaled)", "tiller", pieces, folder) {
                Ok(words) => written = words,
                Err(ending) => return ending,
            }
        }
        show(&if self.json { report::json(design, &found) } else { report::text(design, &found) });
        super::say_if(&written);
        Ending::Good
    }

    /// Braced, then the draws asked for.
    fn draws(&self, design: &Design) -> Result<Vec<Option<f64>>, Faults> {
        let mut faults = Vec::new();
        let mut draws = vec![None];
        for text in &self.at_draw {
            match units::read(text, Kind::Length) {
                Ok(draw) if (0.05..=1.2).contains(&draw) => {
                    // The same draw twice, in whatever unit, is one column.
                    if !draws.iter().flatten().any(|d: &f64| (d - draw).abs() < 1e-5) {
                        draws.push(Some(draw));
                    }
                }
                Ok(_) => faults.push(
                    Fault::at(
                        "--at-draw",
                        format!("{} is no sensible draw", units::quoted(text)),
                        "from 2 in (50 mm) to 47 in (1200 mm): as far as an arm draws",
                    )
                    .cure("check figure and unit"),
                ),
                Err(m) => faults.push(Fault::at("--at-draw", m.what, m.why).cure(m.cure)),
            }
        }
        if self.at_draw.is_empty() {
            let brace = match design.bow.bracing {
                crate::design::Bracing::Height(height) => height,
                crate::design::Bracing::StringLength(_) => 0.2 * design.bow.draw,
            };
            let half = 0.5 * (design.bow.draw + brace + design.bow.handle_depth);
            draws.extend([Some(half), Some(design.bow.draw)]);
        }
        if faults.is_empty() { Ok(draws) } else { Err(faults) }
    }
}
