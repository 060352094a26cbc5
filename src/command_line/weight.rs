//! `nockwright weight`

use super::{DesignArgs, Ending, sheet, show};
use crate::design::file::Refusal;
use crate::design::{Design, Side, Units, WeightReading};
use crate::fault::{Fault, Faults};
use crate::pieces::new_taper;
use crate::reports::weight as report;
use crate::units::{self, INCH, Kind};
use crate::weight::plan::{Ask, TYPED, plan};
use crate::worked::seat_offsets;
use std::path::PathBuf;

/// Tell the weight at another draw from what the scale said, and what must come off to reach a wanted weight.
///
/// Shows the bench habit (simple proportion) beside the computed draw curve, which starts at brace height, and why they
/// differ. What must come off is given in scraping: off the thickness, or off the width, or as rounded corners, place by
/// place along each limb.
#[derive(Debug, clap::Args)]
pub(super) struct Weight {
    #[command(flatten)]
    design: DesignArgs,
    /// What the scale says now, as "35 lb at 24 in"; may be given several times. Without it: `scale` in the file, or else `weight`
    #[arg(long, value_name = "PULL at DRAW", allow_hyphen_values = true)]
    reads: Vec<String>,
    /// What it shall come to, as "40 lb at 28 in". Without it: the file's `weight`, where `scale` or --reads says what it is now
    #[arg(long, value_name = "PULL at DRAW", allow_hyphen_values = true)]
    wanted: Option<String>,
    /// The upper limb's part of what comes off, 0 to 100 %; 50 % keeps the tiller
    #[arg(long, value_name = "PERCENT", allow_hyphen_values = true, default_value = "50 %")]
    upper_share: String,
    /// Folder to write the new taper to, as a sheet to print; without it nothing is written
    #[arg(long, value_name = "FOLDER")]
    out: Option<PathBuf>,
    /// Write JSON for programs (mm, N)
    #[arg(long)]
    json: bool,
}

impl Weight {
    pub(super) fn run(self) -> Ending {
        let input = match self.design.read() {
            Ok(input) => input,
            Err(ending) => return ending,
        };
        let design = &input.reading.design;
        let ask = match self.ask(design) {
            Ok(ask) => ask,
            Err(faults) => return Ending::Refused(Refusal::of_options(faults).render(true)),
        };
        let plan = match seat_offsets(design).and_then(|offsets| plan(design, offsets, &ask)) {
            Ok(plan) => plan,
            Err(fault) => return input.refuse(vec![fault]),
        };
        let mut written = String::new();
        if let (Some(folder), Some(off)) = (&self.out, &plan.take_off) {
            let pieces = Side::BOTH.map(|side| new_taper::draw(design, side, &plan, off));
            let name = "the new taper";
            match sheet::write(&input, &self.design, name, "taper", pieces.into_iter().flatten().collect(), folder) {
                Ok(words) => written = words,
                Err(ending) => return ending,
            }
        }
        if self.out.is_some() && plan.take_off.is_none() {
            written = "nothing is to be taken off, or it is not told: no sheet was written".to_owned();
        }
        show(&if self.json { report::json(design, &plan) } else { report::text(design, &plan) });
        super::say_if(&written);
        Ending::Good
    }

    fn ask(&self, design: &Design) -> Result<Ask, Faults> {
        let mut faults = Vec::new();
        let mut readings: Vec<WeightReading> =
            self.reads.iter().filter_map(|text| pair("--reads", text, &mut faults)).collect();
        let typed = !self.reads.is_empty();
        if !typed {
            readings = design.bow.scale.clone();
        }
        // Where the scale speaks of the bow as it is, `weight` says what it shall come to; else it is what the scale said.
        let weight = design.bow.weight;
        let mut goal = self.wanted.as_deref().and_then(|text| pair("--wanted", text, &mut faults));
        if readings.is_empty() && !typed {
            readings.extend(weight);
        } else if self.wanted.is_none() {
            goal = weight;
        }
        let readings_key = match (typed, design.bow.scale.is_empty()) {
            (true, _) => "--reads",
            (false, false) => "bow.scale",
            (false, true) => "bow.weight",
        };
        let wanted_key = match (&self.wanted, goal) {
            (Some(_), _) => TYPED,
            (None, Some(_)) => "bow.weight",
            (None, None) => "bow.draw",
        };
        let upper_share = match units::read(&self.upper_share, Kind::Number) {
            // A bare 1 may be a hundredth as well as the whole.
            Ok(share) if share == 1.0 && !self.upper_share.contains('%') => {
                let what = format!("{} may be 1 % or the whole", units::quoted(&self.upper_share));
                faults.push(
                    Fault::at("--upper-share", what, "a share is written in per cent").cure("write `1 %` or `100 %`"),
                );
                0.5
            }
            Ok(share) if (0.0..=1.0).contains(&share) => share,
            Ok(_) => {
                let what = format!("{} is no share", units::quoted(&self.upper_share));
                faults.push(
                    Fault::at("--upper-share", what, "from 0 % (all off the lower limb) to 100 % (all off the upper)")
                        .cure("50 % keeps the tiller"),
                );
                0.5
            }
            Err(m) => {
                faults.push(Fault::at("--upper-share", m.what, m.why).cure(m.cure));
                0.5
            }
        };
        if !faults.is_empty() {
            return Err(faults);
        }
        let step = if design.units == Units::Inch { 2.0 * INCH } else { 0.05 };
        let draw = goal.map_or(design.bow.draw, |w| w.draw);
        Ok(Ask { readings, draw, wanted: goal.map(|w| w.pull), upper_share, readings_key, wanted_key, step })
    }
}

/// `35 lb at 24 in`, within what a bow pulls and an arm draws.
fn pair(option: &str, text: &str, faults: &mut Faults) -> Option<WeightReading> {
    match units::read_pair(text, Kind::Force, Kind::Length, "35 lb at 24 in") {
        Ok((pull, draw)) if (1.0..=1500.0).contains(&pull) && (0.05..=1.2).contains(&draw) => {
            Some(WeightReading { draw, pull })
        }
        Ok(_) => {
            let what = format!("{} is no sensible reading", units::quoted(text));
            let why = "a bow pulls from 1 N to 1500 N (337 lb), at draws from 2 in (50 mm) to 47 in (1200 mm)";
            faults.push(Fault::at(option, what, why).cure("check figure and unit"));
            None
        }
        Err(m) => {
            faults.push(Fault::at(option, m.what, m.why).cure(m.cure));
            None
        }
    }
}
