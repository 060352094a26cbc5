//! What a loop does on its nock, in words.

use crate::checks::loop_on_tip::{SMOOTH, lost_words};
use crate::design::Units;
use crate::string::hanging::{Hanging, TIED};
use crate::units::{angle_text, number_text, plain_length_text};

/// Clicks that can be felt and where the loop is lost, drawing and letting down; with none, that there is none.
pub fn told(hanging: &Hanging, units: Units) -> Vec<String> {
    if !hanging.is_followed() {
        return vec![TIED.into()];
    }
    let mut said = Vec::new();
    for (run, way) in [(Some(&hanging.draw), "drawing"), (hanging.let_down.as_ref(), "letting down")] {
        let Some(run) = run else { continue };
        for click in run.clicks.iter().filter(|c| c.size.abs() >= SMOOTH) {
            said.push(format!(
                "{way}: click of {} mm ({} mJ) at a draw of {}, string angle {}",
                number_text(click.size.abs() * 1e3, 2),
                number_text(click.energy.abs() * 1e3, 0),
                plain_length_text(click.at.draw, units),
                angle_text(click.at.angle)
            ));
        }
        if let Some(lost) = run.leaves {
            let draw = plain_length_text(lost.at.draw, units);
            said.push(format!("{way}: {} at a draw of {draw}", lost_words(&lost.how)));
        }
    }
    if said.is_empty() {
        let least = number_text(SMOOTH * 1e3, 2);
        said.push(format!("no click of {least} mm or more, neither drawing nor letting down"));
    }
    said
}
