//! `nockwright loop`

use super::{DesignArgs, Ending, say, show};
use crate::checks::loop_on_tip::SMOOTH;
use crate::design::{Design, Side, Units};
use crate::figures::loop_on_tip::{Shown, footprint, reach};
use crate::findings::Quantity;
use crate::handout::PROGRAM;
use crate::nock::{Nock, beside};
use crate::reports;
use crate::sheets::paper::A4;
use crate::sheets::{Attachment, Piece, SheetTitle, lay_out};
use crate::string::hanging::{Apart, Hanging, hang};
use crate::string::path::Settings;
use crate::units::{number_text, quantity_text};
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
        let mut spread = false;
        for side in Side::BOTH {
            let (end, swing, choice) =
                (worked.statics.ends.get(side), worked.statics.swings.get(side), design.nocks.get(side));
            let follow = |nock: &Nock| {
                hang(nock, &design.string, &worked.statics.cycle.states, side, swing, Settings::of(&nock.solid))
            };
            let nock = worked.nocks.get(side);
            let _ = writeln!(text, "{} limb", side.name());
            told(&mut text, design, choice.style, worked.loops().get(side));
            if design.is_tied(side) {
                text.push('\n');
                continue;
            }
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
                spread |= hanging.largest_click().iter().any(|c| *c >= SMOOTH);
            }
            // The corner a file leaves between two passes. Where the blended groove loses its loop a roughed one says nothing.
            let rough = |passes: usize| nock.roughed(passes, 0.1 * design.string.diameter);
            let most = if worked.loops().get(side).draw.leaves.is_some() { 0 } else { usize::from(self.passes) };
            let tried: Vec<Hanging> =
                (1..=most).into_par_iter().filter_map(|n| rough(n).map(|nock| follow(&nock))).collect();
            for (hanging, passes) in tried.iter().zip(1..) {
                told(&mut text, design, &format!("roughed with {}", passes_text(passes)), hanging);
                if let Some(apart) = hanging.apart_from(worked.loops().get(side)) {
                    let _ = writeln!(text, "  {:<34} {}", "", apart_words(&apart, design.units));
                }
            }
            if !tried.is_empty() {
                let _ = writeln!(text, "  {}", advice(&tried, nock));
            }
            let string = design.string.diameter;
            let hanging = worked.loops().get(side);
            let mut shown = vec![Shown { limb: side.name(), name: choice.style, solid: &nock.solid, hanging, string }];
            if let Some((hanging, nock)) = &straight {
                shown.push(Shown { limb: side.name(), name: "straight groove", solid: &nock.solid, hanging, string });
            }
            pieces.push(Piece::new(reach(&shown, design.units)));
            pieces.extend(shown.iter().map(|s| Piece::new(footprint(s))));
            text.push('\n');
        }
        if spread {
            text.push_str(SPREAD);
        }
        let title = SheetTitle {
            bow: design.name.clone(),
            sheets: "the loop on the tip".into(),
            digest: crate::digest::of(&input.text, &self.design.changes()),
            program: PROGRAM.into(),
            date: design.sheets.date.clone(),
            units: reports::units_words(design.units).into(),
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

/// How sure a straight groove's clicks are. Seen in this program's own runs over brace heights, chains and steps.
const SPREAD: &str = "\
Where a straight groove lets the string climb hangs on little: a hundredth of an inch of brace height may
move its clicks by a twentieth of the draw and make them half or twice as large. Read them as about so much.
";

fn passes_text(passes: usize) -> String {
    format!("{passes} straight pass{}", if passes == 1 { "" } else { "es" })
}

/// Whether a loop holds through the draw and back without a click.
fn is_quiet(hanging: &Hanging) -> bool {
    hanging.let_down.is_some() && hanging.largest_click().iter().all(|c| *c < SMOOTH)
}

/// From how many passes on the loop is quiet, and what is left to blend.
fn advice(tried: &[Hanging], nock: &Nock) -> String {
    let loud = tried.iter().rposition(|h| !is_quiet(h)).map_or(0, |k| k + 1);
    if loud == tried.len() {
        return String::from("no number of passes tried is quiet by itself: blend before the string goes on");
    }
    let from =
        format!("the loop holds and is quiet from {} on (of up to {} tried)", passes_text(loud + 1), tried.len());
    let sheet = nock.passes.len();
    let ridges = number_text(nock.ridge * 1e3, 2);
    if sheet > loud {
        format!("{from}; the sheet's {} leave ridges of {ridges} mm to blend away", passes_text(sheet))
    } else {
        format!("worth cutting before blending: {}; {from}", passes_text(loud + 1))
    }
}

/// How a roughed groove's loop differs from the blended one's, in words.
fn apart_words(apart: &Apart, units: Units) -> String {
    let [rough, blended] = apart.load.map(|l| quantity_text(l, Quantity::LineLoad, units));
    format!(
        "reach within {} mm of the blended groove's; bears with up to {rough} (blended: {blended})",
        number_text(apart.reach * 1e3, 2)
    )
}

/// A few words on what one loop does.
fn told(text: &mut String, design: &Design, name: &str, hanging: &Hanging) {
    for (k, line) in reports::hanging::told(hanging, design.units).iter().enumerate() {
        let _ = writeln!(text, "  {:<34} {line}", if k == 0 { name } else { "" });
    }
}
