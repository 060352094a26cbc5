//! Back overlay: a piece glued on the limb's back carries the groove, the sides stay smooth.

use super::shared::{
    EDGE_RADIUS, FAN_MARGIN, GROOVE_DEPTH, GROOVE_RADIUS, RUN_OUT, TIP_LENGTH, TIP_ROUNDING, WALL_RADIUS,
};
use super::{GlueFace, Key, KeyDefault, KeyKind, Nock, NockStyle, Part, cut_blended, groove_wish, strokes};
use crate::design::NockValue::Length;
use crate::design::{BowString, NockChoice};
use crate::fault::{Fault, Faults};
use crate::string::sweep::Swing;
use crate::tip::{LimbEnd, Shell, TipSolid};

/// The `back overlay` style.
#[derive(Debug, Clone, Copy)]
pub struct BackOverlay;

static KEYS: &[Key] = &[
    Key { default: KeyDefault::Worked("four string diameters", |g| Length(4.0 * g.string_diameter)), ..TIP_LENGTH },
    Key {
        name: "overlay_material",
        kind: KeyKind::Choice(&["horn", "antler", "phenolic", "hardwood"]),
        default: KeyDefault::Written("horn"),
        meaning: "What the overlay is made of.",
        reason: "Horn is tough across its fibres and polishes smooth under the string. Common practice, no source.",
    },
    Key {
        name: "overlay_thickness",
        kind: KeyKind::Length(1e-3, 30e-3),
        default: KeyDefault::Worked("0.6 of the tip's width", |g| Length(0.6 * g.width)),
        meaning: "Height of the overlay over the limb's back at the nock.",
        reason: "The groove turns and runs out in the overlay and stays clear of the wood below. Common practice, no source.",
    },
    Key {
        name: "overlay_length",
        kind: KeyKind::Length(10e-3, 200e-3),
        default: KeyDefault::Worked("fifteen string diameters", |g| Length(15.0 * g.string_diameter)),
        meaning: "Length of the overlay's glue face, from the tip's end toward the handle; the last half feathers down to the limb.",
        reason: "Enough glue face for the string's push along the limb. Common practice, no source.",
    },
    Key {
        name: "shoulder",
        kind: KeyKind::Length(0.3e-3, 30e-3),
        default: KeyDefault::Worked("0.48 of the tip's width", |g| Length(0.48 * g.width)),
        meaning: "Radius to which the overlay's two back edges are rounded.",
        reason: "The string is pressed into its groove only where it goes round a curve, so the turn belongs on a round back.",
    },
    GROOVE_DEPTH,
    GROOVE_RADIUS,
    WALL_RADIUS,
    FAN_MARGIN,
    RUN_OUT,
    EDGE_RADIUS,
    TIP_ROUNDING,
];

impl NockStyle for BackOverlay {
    fn name(&self) -> &'static str {
        "back overlay"
    }

    fn summary(&self) -> &'static str {
        "A piece of horn, antler or wood glued on the limb's back; the groove crosses it and runs out on its rounded edges, the limb's sides stay smooth. For flat bows and narrow light tips."
    }

    fn keys(&self) -> &'static [Key] {
        KEYS
    }

    fn seat_offset(&self, end: &LimbEnd, choice: &NockChoice, string: &BowString) -> f64 {
        end.section(0.0).back_distance() + choice.number("overlay_thickness") - choice.number("groove_depth")
            + 0.5 * string.diameter
    }

    fn nock(&self, end: &LimbEnd, choice: &NockChoice, string: &BowString, swing: &Swing) -> Result<Nock, Faults> {
        let wish = groove_wish(choice, swing)?;
        let (tip, length) = (choice.number("tip_length"), choice.number("overlay_length"));
        let thickness = choice.number("overlay_thickness");
        let from = tip - length;
        let full = from + 0.5 * length;
        let clear = -(wish.radius + wish.edge) - 0.5 * string.diameter;
        if full > clear {
            return Err(vec![
                Fault::at(
                    "nock.overlay_length",
                    format!(
                        "an overlay {:.0} mm long has its full height only from {:.1} mm before the nock on",
                        length * 1e3,
                        -full * 1e3
                    ),
                    format!("the groove needs the whole height from {:.1} mm before the nock on", -clear * 1e3),
                )
                .cure("a longer overlay, or a shorter tip_length"),
            ]);
        }
        let mut solid = TipSolid {
            limb: end.clone(),
            shell: Shell::Overlay { thickness, shoulder: choice.number("shoulder"), from, full },
            end: tip,
            rounding: choice.number("tip_rounding").min(0.9 * tip),
            cuts: Vec::new(),
        };
        let groove = cut_blended(&mut solid, wish, string)?;
        let [wood, overlay] = solid.volume(from, tip);
        let (passes, ridge) = strokes(&groove);
        let n = 200;
        let area = (0..n).map(|i| end.width.at(from + length * (f64::from(i) + 0.5) / f64::from(n))).sum::<f64>()
            * length
            / f64::from(n);
        Ok(Nock {
            style: self.name(),
            seat_offset: self.seat_offset(end, choice, string),
            solid,
            groove: Some(groove),
            from,
            parts: vec![
                Part { name: "limb", material: String::from("wood"), volume: wood },
                Part { name: "overlay", material: choice.choice("overlay_material").to_owned(), volume: overlay },
            ],
            glue: Some(GlueFace { area, span: [from, tip] }),
            passes,
            ridge,
        })
    }
}
