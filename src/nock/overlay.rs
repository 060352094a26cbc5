//! Back overlay: a piece glued on the limb's back carries the groove, which runs out past its edges; the sides stay smooth below.

use super::{Bulk, GlueFace, Key, Nock, NockStyle, Part, cut_blended, groove_wish, strokes};
use crate::design::{BowString, NockChoice};
use crate::fault::{Fault, Faults};
use crate::groove::{Groove, GrooveWish};
use crate::string::sweep::Swing;
use crate::tip::{LimbEnd, Shell, TipSolid};

/// The `back overlay` style.
#[derive(Debug, Clone, Copy)]
pub struct BackOverlay;

/// The keys that describe an overlay.
pub(super) mod overlay_keys {
    use crate::design::NockValue::Length;
    use crate::nock::shared::{
        EDGE_RADIUS, FAN_MARGIN, GROOVE_DEPTH, GROOVE_RADIUS, RUN_OUT, TIP_ROUNDING, WALL_RADIUS,
    };
    use crate::nock::{Key, KeyDefault, KeyKind};

    pub const TIP_LENGTH: Key = Key {
        default: KeyDefault::Worked("four string diameters", |g| Length(4.0 * g.string_diameter)),
        ..crate::nock::shared::TIP_LENGTH
    };
    pub const MATERIAL: Key = Key {
        name: "overlay_material",
        kind: KeyKind::Choice(&["horn", "antler", "phenolic", "hardwood"]),
        default: KeyDefault::Written("horn"),
        meaning: "What the overlay is made of.",
        reason: "Horn is tough across its fibres and polishes smooth under the string. Common practice, no source.",
    };
    pub const THICKNESS: Key = Key {
        name: "overlay_thickness",
        kind: KeyKind::Length(1e-3, 30e-3),
        default: KeyDefault::Worked("0.6 of the tip's width", |g| Length(0.6 * g.width)),
        meaning: "Height of the overlay over the limb's back at the nock.",
        reason: "The groove turns where the overlay is round, and only its shallow end reaches past the glue line into the wood. Common practice, no source.",
    };
    pub const LENGTH: Key = Key {
        name: "overlay_length",
        kind: KeyKind::Length(10e-3, 200e-3),
        default: KeyDefault::Worked("fifteen string diameters", |g| Length(15.0 * g.string_diameter)),
        meaning: "Length of the overlay's glue face, from the tip's end toward the handle; the last half feathers down to the limb.",
        reason: "Enough glue face for the string's push along the limb. Common practice, no source.",
    };
    pub const SHOULDER: Key = Key {
        name: "shoulder",
        kind: KeyKind::Length(0.3e-3, 30e-3),
        default: KeyDefault::Worked("0.48 of the tip's width", |g| Length(0.48 * g.width)),
        meaning: "Radius to which the overlay's two back edges are rounded.",
        reason: "The string is pressed into its groove only where it goes round a curve, so the turn belongs on a round back.",
    };

    /// What every nock on an overlay is asked, up to how its groove runs out.
    pub const FIRST: [Key; 9] =
        [TIP_LENGTH, MATERIAL, THICKNESS, LENGTH, SHOULDER, GROOVE_DEPTH, GROOVE_RADIUS, WALL_RADIUS, FAN_MARGIN];
    /// What it is asked after that.
    pub const LAST: [Key; 2] = [EDGE_RADIUS, TIP_ROUNDING];
    /// All of a plain back overlay, for styles that have a groove down the belly besides.
    pub const ALL: [Key; 12] = super::joined(FIRST, super::joined::<1, 2, 3>([RUN_OUT], LAST));
}

static KEYS: [Key; 12] = overlay_keys::ALL;

impl NockStyle for BackOverlay {
    fn name(&self) -> &'static str {
        "back overlay"
    }

    fn summary(&self) -> &'static str {
        "A piece of horn, antler or wood glued on the limb's back; the groove crosses it and runs out past its rounded edges; the sides stay smooth from a little below the glue line on. For flat bows and narrow light tips."
    }

    fn keys(&self) -> &'static [Key] {
        &KEYS
    }

    fn seat_offset(&self, end: &LimbEnd, choice: &NockChoice, string: &BowString) -> f64 {
        seat_on_an_overlay(end, choice, string)
    }

    fn nock(&self, end: &LimbEnd, choice: &NockChoice, string: &BowString, swing: &Swing) -> Result<Nock, Faults> {
        on_an_overlay(self, end, choice, string, swing, |solid, wish| cut_blended(solid, wish, string))
    }
}

/// The keys of one list and then of another.
pub(super) const fn joined<const N: usize, const M: usize, const ALL: usize>(
    first: [Key; N],
    then: [Key; M],
) -> [Key; ALL] {
    assert!(N + M == ALL && N > 0);
    let mut all = [first[0]; ALL];
    let mut i = 0;
    while i < ALL {
        all[i] = if i < N { first[i] } else { then[i - N] };
        i += 1;
    }
    all
}

/// A nock of `style` on an overlay; `cut` puts on what else the style has, and cuts the groove of this wish.
pub(super) fn on_an_overlay(
    style: &dyn NockStyle,
    end: &LimbEnd,
    choice: &NockChoice,
    string: &BowString,
    swing: &Swing,
    cut: impl FnOnce(&mut TipSolid, GrooveWish) -> Result<Groove, Faults>,
) -> Result<Nock, Faults> {
    let wish = groove_wish(choice, swing)?;
    let overlay = Overlay::of(end, choice);
    overlay.whole_by(wish.radius + wish.edge + 0.5 * string.diameter)?;
    let mut solid = overlay.solid();
    let groove = cut(&mut solid, wish)?;
    Ok(overlay.nock(style, choice, string, solid, groove))
}

/// Height of the string over the centreline in a groove across an overlay, m.
pub(super) fn seat_on_an_overlay(end: &LimbEnd, choice: &NockChoice, string: &BowString) -> f64 {
    end.section(0.0).back_distance() + choice.number("overlay_thickness") - choice.number("groove_depth")
        + 0.5 * string.diameter
}

/// An overlay's measures, m.
struct Overlay<'a> {
    end: &'a LimbEnd,
    thickness: f64,
    shoulder: f64,
    rounding: f64,
    /// Where its glue face starts.
    from: f64,
    /// From where on it has its full height.
    full: f64,
    /// Where the tip ends.
    tip: f64,
}

impl<'a> Overlay<'a> {
    /// As the maker chose it.
    fn of(end: &'a LimbEnd, choice: &NockChoice) -> Self {
        let (tip, length) = (choice.number("tip_length"), choice.number("overlay_length"));
        let from = tip - length;
        Overlay {
            end,
            thickness: choice.number("overlay_thickness"),
            shoulder: choice.number("shoulder"),
            rounding: choice.number("tip_rounding").min(0.9 * tip),
            from,
            full: from + 0.5 * length,
            tip,
        }
    }

    /// It must have its full height `clear` (m) before the nock.
    fn whole_by(&self, clear: f64) -> Result<(), Faults> {
        if self.full <= -clear {
            return Ok(());
        }
        Err(vec![
            Fault::at(
                "nock.overlay_length",
                format!(
                    "an overlay {:.0} mm long has its full height only from {:.1} mm before the nock on",
                    (self.tip - self.from) * 1e3,
                    -self.full * 1e3
                ),
                format!("the groove needs the whole height from {:.1} mm before the nock on", clear * 1e3),
            )
            .cure("a longer overlay, or a shorter tip_length"),
        ])
    }

    /// Limb and overlay, no groove cut.
    fn solid(&self) -> TipSolid {
        TipSolid {
            limb: self.end.clone(),
            shell: Shell::Overlay {
                thickness: self.thickness,
                shoulder: self.shoulder,
                from: self.from,
                full: self.full,
            },
            strip: None,
            end: self.tip,
            rounding: self.rounding,
            cuts: Vec::new(),
        }
    }

    /// The nock of `style` that `solid` is, its groove cut.
    fn nock(
        &self,
        style: &dyn NockStyle,
        choice: &NockChoice,
        string: &BowString,
        solid: TipSolid,
        groove: Groove,
    ) -> Nock {
        let (passes, ridge) = strokes(&groove);
        Nock {
            style: style.name(),
            seat_offset: style.seat_offset(self.end, choice, string),
            solid,
            groove: Some(groove),
            from: self.from,
            parts: vec![
                Part { name: "limb", material: String::from("wood"), bulk: Bulk::Limb },
                Part { name: "overlay", material: choice.choice("overlay_material").to_owned(), bulk: Bulk::Over },
            ],
            glue: Some(self.glue()),
            passes,
            ridge,
        }
    }

    /// Its glue face: as wide as the limb.
    fn glue(&self) -> GlueFace {
        let (n, length) = (200, self.tip - self.from);
        let middle = |i: i32| self.from + length * (f64::from(i) + 0.5) / f64::from(n);
        let area = (0..n).map(|i| self.end.width.at(middle(i))).sum::<f64>() * length / f64::from(n);
        GlueFace { area, span: [self.from, self.tip] }
    }
}
