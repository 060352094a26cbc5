//! Does enough horn stay over the bore, wherever the groove runs?

use crate::design::Side;
use crate::findings::{Bound, Check, Quantity};
use crate::nock::horn::toward;
use crate::tip::solid::SHALLOW;
use crate::units::millimetre_text;
use crate::worked::Worked;

/// Horn that a groove must leave over the bore, m: thinner, it breaks out in filing. Common practice, no source.
const LEFT: f64 = 0.5e-3;

/// Thickness of the horn under the groove, at its thinnest over the bore.
pub fn check(worked: &Worked) -> Vec<Check> {
    let check = |side: Side| {
        let nock = worked.nocks.get(side);
        let [wall, at, theta] = nock.solid.thinnest_over_bore(SHALLOW)?;
        Some(Check {
            id: "horn_over_bore",
            side: Some(side),
            title: "horn left over the bore, under the groove".into(),
            place: format!("thinnest {} from the cap's mouth, toward the {}", millimetre_text(at - nock.from), toward(theta)),
            measured: wall,
            allowed: LEFT,
            quantity: Quantity::Length,
            bound: Bound::AtLeast,
            verdict: Check::judge(wall, LEFT, Bound::AtLeast, 0.2),
            why: "the groove runs down the sides toward the mouth, where the bore is widest; horn filed to a skin breaks out, and the \
                  string then lies on the glue"
                .into(),
            source: "common practice, no source".into(),
            cure: "a smaller bore_diameter, a wider bore_angle or a larger seat_diameter; else less groove_depth".into(),
        })
    };
    Side::BOTH.iter().filter_map(|&side| check(side)).collect()
}
