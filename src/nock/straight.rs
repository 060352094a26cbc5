//! Straight groove: one file stroke across the back and one down each side, to compare with.

use super::shared::{EDGE_RADIUS, GROOVE_DEPTH, GROOVE_RADIUS, TIP_LENGTH, TIP_ROUNDING};
use super::{Bulk, Key, KeyDefault, KeyKind, Nock, NockStyle, Part};
use crate::design::NockValue::Choice;
use crate::design::{BowString, NockChoice, NockValue};
use crate::fault::{Fault, Faults};
use crate::string::sweep::Swing;
use crate::tip::{Cut, FilePass, LimbEnd, TipSolid};

/// The `straight groove` style.
#[derive(Debug, Clone, Copy)]
pub struct StraightGroove;

static KEYS: &[Key] = &[
    TIP_LENGTH,
    Key {
        name: "groove_angle",
        kind: KeyKind::Angle(0.1, 1.57),
        default: KeyDefault::Worked("the string angle at brace", |_| Choice(String::from("brace"))),
        meaning: "Angle between the grooves and the limb.",
        reason: "The groove is filed along the braced string, as is commonly done. Common practice, no source.",
    },
    GROOVE_DEPTH,
    GROOVE_RADIUS,
    EDGE_RADIUS,
    TIP_ROUNDING,
];

impl NockStyle for StraightGroove {
    fn name(&self) -> &'static str {
        "straight groove"
    }

    fn summary(&self) -> &'static str {
        "A groove filed square across the back, and one straight down each side at the brace angle. Quick, and here to compare with: the report shows where the string meets its edges as it is drawn."
    }

    fn keys(&self) -> &'static [Key] {
        KEYS
    }

    fn seat_offset(&self, end: &LimbEnd, choice: &NockChoice, string: &BowString) -> f64 {
        end.section(0.0).back_distance() - choice.number("groove_depth") + 0.5 * string.diameter
    }

    fn nock(&self, end: &LimbEnd, choice: &NockChoice, string: &BowString, swing: &Swing) -> Result<Nock, Faults> {
        let angle = match choice.values.iter().find(|(k, _)| *k == "groove_angle") {
            Some((_, NockValue::Angle(v))) => *v,
            _ => swing.brace,
        };
        let (depth, radius) = (choice.number("groove_depth"), choice.number("groove_radius"));
        let tip = choice.number("tip_length");
        let half = 0.5 * end.width.at(0.0);
        if depth > 0.95 * radius || depth > 0.6 * half {
            return Err(vec![
                Fault::at(
                    "nock.groove_depth",
                    format!("side grooves {:.2} mm deep with a bottom radius of {:.2} mm in a tip {:.1} mm wide", depth * 1e3, radius * 1e3, half * 2e3),
                    "a round file cuts clean only to 0.95 of its radius, and more than six tenths of the half width would be gone",
                )
                .cure("a shallower groove, a larger groove_radius or a wider tip"),
            ]);
        }
        // The stroke's middle crosses the back's height at the seat, and follows the widening side.
        let back = end.section(0.0).back_distance();
        let run = [-angle.cos(), 0.0, -angle.sin()];
        let deep = back / angle.sin().max(0.1);
        let widen = 0.5 * (end.width.at(deep * run[0]) - end.width.at(0.0)) / deep;
        let scale = 1.0 / (1.0 + widen * widen).sqrt();
        let cut = |side: f64| {
            Cut::Pass(FilePass {
                through: [0.0, side * (half - depth + radius), back],
                along: [run[0] * scale, side * widen * scale, run[2] * scale],
                radius,
                edge: choice.number("edge_radius"),
            })
        };
        let across = Cut::Pass(FilePass {
            through: [0.0, 0.0, back - depth + radius],
            along: [0.0, 1.0, 0.0],
            radius,
            edge: choice.number("edge_radius"),
        });
        let solid = TipSolid {
            cuts: vec![across, cut(1.0), cut(-1.0)],
            ..TipSolid::bare(end.clone(), tip, choice.number("tip_rounding").min(0.9 * tip))
        };
        let from = -4.0 * string.diameter;
        Ok(Nock {
            style: self.name(),
            seat_offset: self.seat_offset(end, choice, string),
            solid,
            groove: None,
            from,
            parts: vec![Part { name: "limb", material: String::from("wood"), bulk: Bulk::Limb }],
            glue: None,
            passes: vec![angle],
            ridge: 0.0,
        })
    }
}
