//! Pin nock: the limb's end turned down to a pin; the loop goes round it and rests on the shoulder.

use super::shared::{EDGE_RADIUS, TIP_ROUNDING};
use super::{Key, KeyDefault, KeyKind, Nock, NockStyle, Part};
use crate::design::NockValue::Length;
use crate::design::{BowString, NockChoice};
use crate::fault::{Fault, Faults};
use crate::string::sweep::Swing;
use crate::tip::{Cut, LimbEnd, TipSolid, Turned};

/// The `pin nock` style.
#[derive(Debug, Clone, Copy)]
pub struct PinNock;

static KEYS: &[Key] = &[
    Key {
        name: "tip_length",
        kind: KeyKind::Length(3e-3, 80e-3),
        default: KeyDefault::Worked("four string diameters", |g| Length(4.0 * g.string_diameter)),
        meaning: "How far the pin goes on beyond the middle of the nock.",
        reason: "Enough that a slack loop does not fall off. Common practice, no source.",
    },
    Key {
        name: "pin_diameter",
        kind: KeyKind::Length(3e-3, 25e-3),
        default: KeyDefault::Worked("0.45 of the lesser of the limb's width and thickness at the nock", |g| {
            Length(0.45 * g.width.min(g.thickness))
        }),
        meaning: "Diameter of the pin where the loop lies.",
        reason: "Leaves a shoulder all round that is most of a string's diameter high. Common practice, no source.",
    },
    Key {
        name: "pin_head",
        kind: KeyKind::Length(3e-3, 30e-3),
        default: KeyDefault::Worked("half the lesser of the limb's width and thickness at the nock", |g| {
            Length(0.5 * g.width.min(g.thickness))
        }),
        meaning: "Diameter of the pin at its end, before the end is rounded.",
        reason: "A little more than at the seat, so that a slack loop stays on. Common practice, no source.",
    },
    Key {
        name: "shoulder_radius",
        kind: KeyKind::Length(0.5e-3, 20e-3),
        default: KeyDefault::Worked("0.6 of the string's diameter", |g| Length(0.6 * g.string_diameter)),
        meaning: "Radius of the hollow between pin and shoulder, along the limb.",
        reason: "A little more than the string's own radius, so that it beds; a sharp inner corner would start a crack. Common practice, no source.",
    },
    Key {
        name: "shoulder_height",
        kind: KeyKind::Length(0.3e-3, 10e-3),
        default: KeyDefault::Worked("three quarters of the string's diameter", |g| Length(0.75 * g.string_diameter)),
        meaning: "How far the shoulder stands over the pin, all round; behind it the limb's end is turned to a slim cone.",
        reason: "Over half the string holds it. A round shoulder that is no higher leaves the string no corner to climb as it is drawn. Common practice, no source.",
    },
    EDGE_RADIUS,
    TIP_ROUNDING,
];

/// Rise of the cone behind the shoulder, toward the handle.
const CONE: f64 = 0.12;
/// How far toward the handle that cone is turned at most, m.
const TURNED: f64 = 0.1;

impl NockStyle for PinNock {
    fn name(&self) -> &'static str {
        "pin nock"
    }

    fn summary(&self) -> &'static str {
        "The limb's end turned down to a round pin with a low round shoulder; the loop goes round the pin and bears on the shoulder. Light and quick, for slender tips and light bows."
    }

    fn keys(&self) -> &'static [Key] {
        KEYS
    }

    fn seat_offset(&self, _: &LimbEnd, choice: &NockChoice, string: &BowString) -> f64 {
        0.5 * choice.number("pin_diameter") + 0.5 * string.diameter
    }

    fn nock(&self, end: &LimbEnd, choice: &NockChoice, string: &BowString, _: &Swing) -> Result<Nock, Faults> {
        let tip = choice.number("tip_length");
        let (pin, head) = (choice.number("pin_diameter"), choice.number("pin_head"));
        let (hollow, edge) = (choice.number("shoulder_radius"), choice.number("edge_radius"));
        let section = end.section(0.0);
        let height = choice.number("shoulder_height");
        let least = 2.0 * section.back_distance().min(section.belly_distance()).min(0.5 * section.width);
        let mut faults = Faults::new();
        if pin + 2.0 * height > least {
            faults.push(
                Fault::at(
                    "nock.pin_diameter",
                    format!(
                        "a pin of {:.1} mm with a shoulder of {:.1} mm on a limb {:.1} mm across where it is least",
                        pin * 1e3,
                        height * 1e3,
                        least * 1e3
                    ),
                    format!(
                        "the shoulder is turned from the limb's own wood: {:.1} mm at most",
                        (least - 2.0 * height) * 1e3
                    ),
                )
                .cure("a thinner pin, a lower shoulder, or a stouter tip"),
            );
        }
        if height < 0.45 * string.diameter {
            faults.push(
                Fault::at(
                    "nock.shoulder_height",
                    format!("a shoulder of {:.2} mm for a string {:.2} mm thick", height * 1e3, string.diameter * 1e3),
                    "lower than nearly half the string, and the loop climbs it",
                )
                .cure("a higher shoulder, and if need be a thinner pin"),
            );
        }
        if head > 1.25 * pin {
            faults.push(
                Fault::at(
                    "nock.pin_head",
                    format!("a head of {:.1} mm on a pin of {:.1} mm", head * 1e3, pin * 1e3),
                    "the loop has to slip over it: a quarter more than the pin is the most",
                )
                .cure("a smaller pin_head"),
            );
        }
        if hollow < 0.5 * string.diameter {
            faults.push(
                Fault::at(
                    "nock.shoulder_radius",
                    format!("a hollow of {:.2} mm for a string {:.2} mm thick", hollow * 1e3, string.diameter * 1e3),
                    "it must take half the string's diameter, or the string rides on its edges",
                )
                .cure("a larger shoulder_radius, or leave it out"),
            );
        }
        if !faults.is_empty() {
            return Err(faults);
        }
        let rounding = choice.number("tip_rounding").min(0.9 * tip).min(tip - 0.5 * string.diameter);
        let mut solid = TipSolid::bare(end.clone(), tip, rounding);
        solid.cuts = vec![
            Cut::Turned(Turned { radius: 0.5 * pin, slope: 0.5 * (head - pin) / tip, start: 0.0, hollow, edge }),
            Cut::Turned(Turned {
                radius: 0.5 * pin + height + CONE * TURNED,
                slope: -CONE,
                start: -TURNED,
                hollow: 1e-3,
                edge: 0.0,
            }),
        ];
        let from = -6.0 * string.diameter;
        let [wood, _] = solid.volume(from, tip);
        Ok(Nock {
            style: self.name(),
            seat_offset: self.seat_offset(end, choice, string),
            solid,
            groove: None,
            from,
            parts: vec![Part { name: "limb", material: String::from("wood"), volume: wood }],
            glue: None,
            passes: Vec::new(),
            ridge: 0.0,
            knotted: false,
        })
    }
}
