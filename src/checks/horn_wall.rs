//! Does a cap's wall hold round its bore?

use crate::design::Side;
use crate::findings::{Bound, Check, Quantity};
use crate::strength::tip::HornSocket;
use crate::tip::Shell;
use crate::units::millimetre_text;
use crate::wood::nock_strength;
use crate::worked::Worked;
use crate::worked::soundness::{how_sure, shot_pull};

/// Tension round the bore at the nock when the cone wedges the cap open in the shot, as if neither glue nor friction held.
pub fn check(worked: &Worked) -> Vec<Check> {
    let check = |side: Side| {
        let nock = worked.nocks.get(side);
        let Shell::Cap { mouth, bore, bore_depth, bore_slope, .. } = nock.solid.shell else { return None };
        let strength = nock.parts.iter().find_map(|p| nock_strength(&p.material))?.bending;
        let deep = bore_depth.min(bore / bore_slope);
        // At the groove, or at the bore's end where that comes first: the thinnest wall under the string.
        let at = (0.0_f64).min(mouth + deep);
        let floor = (0..72)
            .map(|k| nock.solid.radius(at, f64::from(k) * std::f64::consts::TAU / 72.0))
            .fold(f64::INFINITY, f64::min);
        let socket = HornSocket {
            outer: 2.0 * floor,
            bore: 2.0 * (bore - bore_slope * (at - mouth)).max(0.0),
            depth: deep,
            half_angle: bore_slope.atan(),
            friction: 0.0,
        };
        let brace = worked.statics.cycle.at_brace().limbs.get(side);
        let thrust = shot_pull(worked) * brace.string_angle.cos();
        let wall = 0.5 * (socket.outer - socket.bore);
        // Without a wall there is nothing to bear it.
        let measured = socket.splitting(thrust).unwrap_or(f64::INFINITY);
        Some(Check {
            id: "horn_wall",
            side: Some(side),
            title: "tension round the bore, at the groove".into(),
            place: format!("in the shot, {} of wall left", millimetre_text(wall.max(0.0))),
            measured,
            allowed: strength.value,
            quantity: Quantity::Stress,
            bound: Bound::AtMost,
            verdict: Check::judge(measured, strength.value, Bound::AtMost, 0.2),
            why: "where the glue has let go, the wooden cone wedges the cap open; a wall too thin for its bore splits along the horn".into(),
            source: format!(
                "thick ring under inner pressure (Lame; Timoshenko & Goodier, section 28); {}; splitting along the horn is weaker \
                 than this figure by an unpublished part",
                how_sure(&strength)
            ),
            cure: "a longer horn_length or a wider bore_angle, so that the bore is slimmer under the groove; else a smaller bore_diameter or a \
                   larger seat_diameter"
                .into(),
        })
    };
    Side::BOTH.iter().filter_map(|&side| check(side)).collect()
}
