//! `nockwright loop`

use super::{DesignArgs, Ending, say, show};
use crate::checks::loop_on_tip::{SMOOTH, lost_words};
use crate::design::{Design, Side};
use crate::figures::loop_on_tip::{Shown, footprint, reach};
use crate::handout::PROGRAM;
use crate::nock::{Nock, beside};
use crate::sheets::paper::A4;
use crate::sheets::{Attachment, Piece, SheetTitle, lay_out};
use crate::string::hanging::{Hanging, TIED, hang};
use crate::string::path::Settings;
use crate::units::{angle_text, number_text, plain_length_text};
use crate::writers::{WRITERS, files};
use rayon::prelude::*;
use std::fmt::Write;
use std::path::PathBuf;

/// Follow the loop on each nock through the draw, beside a straight groove in the same limb, and draw what it does.
///
/// Shows clicks and where a loop is lost, how clicks shrink with the number of straight file passes before blending, and
/// writes a figure: where the string touches the unrolled tip at each step, and reach of the throat against draw.
#[derive(Debug, clap::Args)]
pub(super) struct LoopOnTip {
    #[command(flatten)]
    design: DesignArgs,
    /// Folder to write the figure to; it is made when it is not there
    #[arg(long, default_value = "templates-out", value_name = "FOLDER")]
    out: PathBuf,
    /// Most straight file passes to try for the roughed groove; 0 leaves that out
    #[arg(long, default_value_t = 6, value_parser = clap::value_parser!(u8).range(0..=20))]
    passes: u8,
}

impl LoopOnTip {
    pub(super) fn run(self) -> Ending {
        let (input, worked) = match self.design.work() {
            Ok(work) => work,
            Err(ending) => return ending,
        };
        let design = &worked.design;
        let mut text = String::new();
        let mut pieces = Vec::new();
        for side in Side::BOTH {
            let (end, swing, choice) =
                (worked.statics.ends.get(side), worked.statics.swings.get(side), design.nocks.get(side));
            let follow = |nock: &Nock| {
                hang(nock, &design.string, &worked.statics.cycle.states, side, swing, Settings::default())
            };
            let nock = worked.nocks.get(side);
            let _ = writeln!(text, "{} limb", side.name());
            if design.is_tied(side) {
                let _ = writeln!(text, "  {:<34} {TIED}\n", choice.style);
                continue;
            }
            told(&mut text, design, choice.style, worked.loops().get(side));
            let straight = match beside::straight(end, choice, &design.string, swing) {
                Ok(nock) => Some((follow(&nock), nock)),
                Err(faults) => {
                    for fault in faults {
                        let _ = writeln!(text, "  straight groove: cannot be filed here: {}", fault.what);
                    }
                    None
                }
            };
            if let Some((hanging, _)) = &straight {
                told(&mut text, design, "straight groove", hanging);
            }
            // The corner a file leaves between two passes.
            let rough = |passes: usize| nock.roughed(passes, 0.1 * design.string.diameter);
            let tried: Vec<Option<Hanging>> =
                (1..=usize::from(self.passes)).into_par_iter().map(|n| rough(n).map(|nock| follow(&nock))).collect();
            let mut enough = None;
            for (hanging, passes) in tried.iter().map_while(Option::as_ref).zip(1..) {
                let name = format!("roughed with {passes} straight pass{}", if passes == 1 { "" } else { "es" });
                told(&mut text, design, &name, hanging);
                let quiet = hanging.let_down.is_some() && hanging.largest_click().iter().all(|c| *c < SMOOTH);
                enough = if quiet { enough.or(Some(passes)) } else { None };
            }
            if let Some(passes) = enough {
                let _ = writeln!(
                    text,
                    "  worth cutting before blending: {passes} straight pass{}; from there to the {} tried no click of 0.02 mm",
                    if passes == 1 { "" } else { "es" },
                    self.passes
                );
            } else if self.passes > 0 && !nock.passes.is_empty() {
                let _ =
                    writeln!(text, "  no number of passes tried is quiet by itself: blend before the string goes on");
            }
            let string = design.string.diameter;
            let hanging = worked.loops().get(side);
            let mut shown = vec![Shown { name: choice.style, solid: &nock.solid, hanging, string }];
            if let Some((hanging, nock)) = &straight {
                shown.push(Shown { name: "straight groove", solid: &nock.solid, hanging, string });
            }
            let titled = |mut t: crate::template::Template| {
                t.name = format!("{} limb, {}", side.name(), t.name);
                t
            };
            pieces.extend(shown.iter().map(|s| Piece::new(titled(footprint(s)))));
            pieces.push(Piece::new(titled(reach(&shown, design.units))));
            text.push('\n');
        }
        let title = SheetTitle {
            bow: design.name.clone(),
            sheets: "the loop on the tip".into(),
            digest: crate::digest::of(&input.text, &self.design.changes()),
            program: PROGRAM.into(),
            date: design.sheets.date.clone(),
            units: crate::reports::units_words(design.units).into(),
            correction: None,
        };
        let attachment = Attachment { file_name: input.file_name.clone(), text: input.text.clone() };
        let set = match lay_out(title, A4, pieces, attachment) {
            Ok(set) => set,
            Err(faults) => return input.refuse(faults),
        };
        let mut written = Vec::new();
        for writer in WRITERS.iter().filter(|w| w.name == "svg") {
            match (writer.write)(&set) {
                Ok(files) => written.extend(files),
                Err(fault) => return input.refuse(vec![fault]),
            }
        }
        let stem = format!("{}-loop", files::file_stem(&design.name));
        match files::save(&self.out, &stem, &written) {
            Ok(saved) => {
                show(&text);
                for path in &saved.written {
                    say(&format!("wrote {}", path.display()));
                }
                Ending::Good
            }
            Err(faults) => input.refuse(faults),
        }
    }
}

/// A few words on what one loop does.
fn told(text: &mut String, design: &Design, name: &str, hanging: &Hanging) {
    let mut said = Vec::new();
    for (run, way) in [(Some(&hanging.draw), "drawing"), (hanging.let_down.as_ref(), "letting down")] {
        let Some(run) = run else { continue };
        for click in run.clicks.iter().filter(|c| c.size.abs() >= 5e-6) {
            said.push(format!(
                "{way}: click of {} mm ({} mJ) at {}, string angle {}",
                number_text(click.size.abs() * 1e3, 3),
                number_text(click.energy.abs() * 1e3, 2),
                plain_length_text(click.at.draw, design.units),
                angle_text(click.at.angle)
            ));
        }
        if let Some(lost) = run.leaves {
            said.push(format!("{way}: {} at {}", lost_words(&lost.how), plain_length_text(lost.at.draw, design.units)));
        }
    }
    if said.is_empty() {
        said.push("no click of 0.005 mm or more, neither drawing nor letting down".into());
    }
    for (k, line) in said.iter().enumerate() {
        let _ = writeln!(text, "  {:<34} {line}", if k == 0 { name } else { "" });
    }
}
