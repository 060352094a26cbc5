//! Full horn nock: a cap over a wooden cone, with a blended groove on both sides.

use super::shared::{
    EDGE_RADIUS, FAN_MARGIN, GROOVE_DEPTH, GROOVE_RADIUS, RUN_OUT, TIP_LENGTH, TIP_ROUNDING, WALL_RADIUS,
};
use super::{Bulk, GlueFace, Key, Nock, NockStyle, Part, cut_about, groove_wish, strokes};
use crate::design::{BowString, NockChoice};
use crate::fault::{Fault, Faults};
use crate::groove::GrooveWish;
use crate::string::sweep::Swing;
use crate::tip::solid::SHALLOW;
use crate::tip::{LimbEnd, Shell, TipSolid};

/// The `horn nock` style.
#[derive(Debug, Clone, Copy)]
pub struct HornNock;

/// The keys that describe a cap.
pub(super) mod cap_keys {
    use crate::design::NockValue::Length;
    use crate::nock::{Key, KeyDefault, KeyKind};

    pub const MATERIAL: Key = Key {
        name: "horn_material",
        kind: KeyKind::Choice(&["horn", "antler", "phenolic", "hardwood"]),
        default: KeyDefault::Written("horn"),
        meaning: "What the cap is made of.",
        reason: "Horn is tough across its fibres and polishes smooth under the string. Common practice, no source.",
    };
    pub const LENGTH: Key = Key {
        name: "horn_length",
        kind: KeyKind::Length(10e-3, 120e-3),
        default: KeyDefault::Worked("fourteen string diameters", |g| Length(14.0 * g.string_diameter)),
        meaning: "Length of the cap, from its mouth to its end.",
        reason: "About an inch and three quarters serves most longbows, and the groove runs out within it. Common practice, no source.",
    };
    pub const SEAT: Key = Key {
        name: "seat_diameter",
        kind: KeyKind::Length(5e-3, 40e-3),
        default: KeyDefault::Worked("the greater of the limb's width and thickness at the nock", |g| {
            Length(g.width.max(g.thickness))
        }),
        meaning: "Diameter of the cap at the nock, before the groove is cut.",
        reason: "Leaves horn under the groove over the wooden cone. Common practice, no source.",
    };
    pub const END: Key = Key {
        name: "end_diameter",
        kind: KeyKind::Length(2e-3, 30e-3),
        default: KeyDefault::Worked("0.6 of the seat's diameter", |g| Length(0.6 * g.width.max(g.thickness))),
        meaning: "Diameter of the cap at its end, before the end is rounded.",
        reason: "Light, and the loop still slips over it easily. Common practice, no source.",
    };
    pub const BORE: Key = Key {
        name: "bore_diameter",
        kind: KeyKind::Length(3e-3, 30e-3),
        default: KeyDefault::Worked(
            "0.95 of the largest round that the limb's section holds about its middle at the nock",
            |g| Length(0.95 * g.core),
        ),
        meaning: "Diameter of the bore at the mouth.",
        reason: "As much wood as the limb has there all round, less a thin edge of horn. Common practice, no source.",
    };
    pub const BORE_DEPTH: Key = Key {
        name: "bore_depth",
        kind: KeyKind::Length(5e-3, 80e-3),
        default: KeyDefault::Worked("nine string diameters", |g| Length(9.0 * g.string_diameter)),
        meaning: "Depth of the bore from the mouth.",
        reason: "Past the groove, so that wood backs the horn under the string. Common practice, no source.",
    };
    pub const BORE_ANGLE: Key = Key {
        name: "bore_angle",
        kind: KeyKind::Angle(0.03, 0.8),
        default: KeyDefault::Written("14 deg"),
        meaning: "Full angle of the bore's cone.",
        reason: "A steep cone centres itself and leaves thick horn at the end. Common practice, no source.",
    };
    pub const GLUE_GAP: Key = Key {
        name: "glue_gap",
        kind: KeyKind::Length(0.0, 0.5e-3),
        default: KeyDefault::Written("0.1 mm"),
        meaning: "Room for the glue all round between the wooden cone and the bore.",
        reason: "A cone that fits dry wipes the glue off, and thick glue is weak. Common practice, no source.",
    };
}

static KEYS: &[Key] = &[
    TIP_LENGTH,
    cap_keys::MATERIAL,
    cap_keys::LENGTH,
    cap_keys::SEAT,
    cap_keys::END,
    cap_keys::BORE,
    cap_keys::BORE_DEPTH,
    cap_keys::BORE_ANGLE,
    cap_keys::GLUE_GAP,
    GROOVE_DEPTH,
    GROOVE_RADIUS,
    WALL_RADIUS,
    FAN_MARGIN,
    RUN_OUT,
    EDGE_RADIUS,
    TIP_ROUNDING,
];

impl NockStyle for HornNock {
    fn name(&self) -> &'static str {
        "horn nock"
    }

    fn summary(&self) -> &'static str {
        "A cap of horn over a cone cut on the limb's end; the groove crosses its back and runs down both sides. For longbows of deep section, and wherever soft wood needs a hard seat."
    }

    fn keys(&self) -> &'static [Key] {
        KEYS
    }

    fn seat_offset(&self, _: &LimbEnd, choice: &NockChoice, string: &BowString) -> f64 {
        seat_on_a_cap(choice, string)
    }

    fn nock(&self, end: &LimbEnd, choice: &NockChoice, string: &BowString, swing: &Swing) -> Result<Nock, Faults> {
        capped(self, end, choice, string, groove_wish(choice, swing)?, 0.0)
    }
}

/// Height of the string over the centreline in a groove across a cap, m.
pub(super) fn seat_on_a_cap(choice: &NockChoice, string: &BowString) -> f64 {
    0.5 * choice.number("seat_diameter") - choice.number("groove_depth") + 0.5 * string.diameter
}

/// Refuses a cap that its groove cuts through, to the bore or past the mouth; `mouth` and length in m.
fn open_horn(solid: &TipSolid, [mouth, length]: [f64; 2]) -> Result<(), Faults> {
    let mut faults = Faults::new();
    if let Some(from) = solid.cut_from(SHALLOW).filter(|from| *from < mouth) {
        faults.push(
            Fault::at(
                "nock.horn_length",
                format!("the groove runs {:.1} mm past the cap's mouth, into the wood", (mouth - from) * 1e3),
                "the string wants horn under it all the way, and a groove over the joint opens it",
            )
            .cure(format!(
                "a horn_length of at least {:.0} mm, or less fan_margin or run_out",
                (length + mouth - from) * 1e3 + 1.0
            )),
        );
    }
    if let Some([wall, at, theta]) = solid.thinnest_over_bore(0.0).filter(|thin| thin[0] < 0.0) {
        faults.push(
            Fault::at(
                "nock.bore_diameter",
                format!(
                    "the groove cuts {:.1} mm deep through the horn into the cone, {:.1} mm from the cap's mouth, toward the {}",
                    -wall * 1e3,
                    (at - mouth) * 1e3,
                    toward(theta)
                ),
                "the cap would come apart where its horn is cut through",
            )
            .cure("a smaller bore_diameter, a wider bore_angle, a larger seat_diameter, or less groove_depth"),
        );
    }
    if faults.is_empty() { Ok(()) } else { Err(faults) }
}

/// A polar angle in words.
pub(crate) fn toward(theta: f64) -> &'static str {
    match theta.cos() {
        c if c > 0.7 => "back",
        c if c < -0.7 => "belly",
        _ => "side",
    }
}

/// A nock of `style` under a cap, the crest of its groove at the polar angle `about` (rad).
pub(super) fn capped(
    style: &dyn NockStyle,
    end: &LimbEnd,
    choice: &NockChoice,
    string: &BowString,
    wish: GrooveWish,
    about: f64,
) -> Result<Nock, Faults> {
    let (tip, length) = (choice.number("tip_length"), choice.number("horn_length"));
    let (seat, last) = (choice.number("seat_diameter"), choice.number("end_diameter"));
    let (bore, bore_depth) = (0.5 * choice.number("bore_diameter"), choice.number("bore_depth"));
    let bore_slope = (0.5 * choice.number("bore_angle")).tan();
    let mouth = tip - length;
    // Round from half way between mouth and nock on.
    let round = 0.5 * mouth;
    let slope = 0.5 * (last - seat) / tip;
    // Toward the mouth the cap grows to the limb's own size.
    let limb = 0.5 * end.width.at(mouth).max(end.thickness.at(mouth));
    let slope_before = (0.5 * seat - limb) / -mouth;
    let mut faults = Faults::new();
    if mouth > -(wish.radius + wish.edge) * 2.0 {
        faults.push(
            Fault::at(
                "nock.horn_length",
                format!("a cap {:.0} mm long that goes {:.0} mm beyond the nock", length * 1e3, tip * 1e3),
                format!(
                    "its mouth must be at least {:.1} mm before the nock, clear of the groove",
                    (wish.radius + wish.edge) * 2e3
                ),
            )
            .cure("a longer horn, or a shorter tip_length"),
        );
    }
    if last > 1.2 * seat {
        faults.push(
            Fault::at(
                "nock.end_diameter",
                format!("{:.1} mm at the end of a cap that is {:.1} mm at the nock", last * 1e3, seat * 1e3),
                "the loop has to slip over the end",
            )
            .cure("an end no wider than the nock"),
        );
    }
    if bore_depth >= length {
        faults.push(
            Fault::at(
                "nock.bore_depth",
                format!("a bore {:.1} mm deep in a cap {:.1} mm long", bore_depth * 1e3, length * 1e3),
                "the bore would come out at the end",
            )
            .cure("a shallower bore or a longer horn"),
        );
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let mut solid = TipSolid {
        limb: end.clone(),
        strip: None,
        shell: Shell::Cap { radius: 0.5 * seat, slope, slope_before, mouth, round, bore, bore_depth, bore_slope },
        end: tip,
        rounding: choice.number("tip_rounding").min(0.9 * tip),
        cuts: Vec::new(),
    };
    // The cone is cut from the limb: none of it can stand out where the cap begins.
    if let Some([wall, at, theta]) = solid.thinnest_over_bore(0.0).filter(|thin| thin[0] < 0.0) {
        let least = 2.0 * (bore + wall);
        return Err(vec![
            Fault::at(
                "nock.bore_diameter",
                format!(
                    "the bore comes out through the cap {:.1} mm from its mouth, toward the {}, by {:.1} mm",
                    (at - mouth) * 1e3,
                    toward(theta),
                    -wall * 1e3
                ),
                "a bore has horn round it all the way, and the cone in it is cut from the limb's own wood",
            )
            .cure(format!(
                "a bore_diameter of at most {:.1} mm, or a larger limb at the cap's mouth",
                (least * 1e4).floor() / 10.0
            )),
        ]);
    }
    let groove = cut_about(&mut solid, wish, string, about)?;
    open_horn(&solid, [mouth, length])?;
    let (passes, ridge) = strokes(&groove);
    let deep = bore_depth.min(bore / bore_slope);
    let small = bore - bore_slope * deep;
    let area = std::f64::consts::PI * (bore + small) * deep * (1.0 + bore_slope * bore_slope).sqrt();
    Ok(Nock {
        style: style.name(),
        seat_offset: style.seat_offset(end, choice, string),
        solid,
        groove: Some(groove),
        from: mouth,
        parts: vec![
            Part { name: "limb", material: String::from("wood"), bulk: Bulk::Limb },
            Part { name: "cap", material: choice.choice("horn_material").to_owned(), bulk: Bulk::Over },
        ],
        glue: Some(GlueFace { area, span: [mouth, mouth + deep] }),
        passes,
        ridge,
    })
}
