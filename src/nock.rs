//! Nock styles: one file each, and one line in [`NOCK_STYLES`].
//!
//! Everything else (design-file keys, `styles`, the starter file, tests) reads that list.

use crate::design::{BowString, NockChoice, NockValue};
use crate::fault::{Fault, Faults};
use crate::groove::{Groove, GrooveWish};
use crate::section::Section;
use crate::string::sweep::Swing;
use crate::tip::jet::Jet;
use crate::tip::{LimbEnd, TipSolid};

pub mod beside;
pub mod guided;
pub mod horn;
pub mod horn_slot;
pub mod overlay;
pub mod overlay_sides;
pub mod pin;
pub mod side_grooves;
pub mod straight;
pub mod strip;

/// What a style's key takes, with the range that makes sense; lengths in m, angles in rad.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum KeyKind {
    /// A length, least and greatest.
    Length(f64, f64),
    /// An angle, least and greatest.
    Angle(f64, f64),
    /// A plain number, least and greatest.
    Number(f64, f64),
    /// One of these words.
    Choice(&'static [&'static str]),
}

/// Measures that a default may be worked out from, m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Given {
    /// String diameter at the loop.
    pub string_diameter: f64,
    /// Limb width at the nock.
    pub width: f64,
    /// Limb thickness at the nock.
    pub thickness: f64,
    /// Diameter of the largest round about the section's middle that the limb holds at the nock.
    pub core: f64,
}

impl Given {
    /// What a limb's section at the nock gives.
    pub fn of(section: &Section, string_diameter: f64) -> Self {
        let ray = |k: i32| section.radius(f64::from(k) * std::f64::consts::PI / 90.0);
        let core = 2.0 * (0..180).map(ray).fold(f64::INFINITY, f64::min);
        Given { string_diameter, width: section.width, thickness: section.thickness, core }
    }
}

/// What a key stands at when the file leaves it out.
#[derive(Clone, Copy)]
pub enum KeyDefault {
    /// As it would be written in the file.
    Written(&'static str),
    /// Worked out from the bow's own measures: the rule in words, and the rule.
    Worked(&'static str, fn(&Given) -> NockValue),
}

/// One key of a style.
#[derive(Clone, Copy)]
pub struct Key {
    /// Its name in `[nock]`.
    pub name: &'static str,
    /// What it takes.
    pub kind: KeyKind,
    /// What it stands at when left out.
    pub default: KeyDefault,
    /// What it is, in a maker's words.
    pub meaning: &'static str,
    /// Why the default is what it is; `common practice, no source` where that is so.
    pub reason: &'static str,
}

/// Keys that several styles share, so that one word means one thing everywhere.
mod shared {
    use super::{Key, KeyDefault, KeyKind};
    use crate::design::NockValue::Length;

    pub const TIP_LENGTH: Key = Key {
        name: "tip_length",
        kind: KeyKind::Length(3e-3, 80e-3),
        default: KeyDefault::Worked("five string diameters", |g| Length(5.0 * g.string_diameter)),
        meaning: "How far the tip goes on beyond the middle of the nock.",
        reason: "Enough behind the groove that it does not shear out, no more than that: weight here costs speed. Common practice, no source.",
    };
    pub const GROOVE_DEPTH: Key = Key {
        name: "groove_depth",
        kind: KeyKind::Length(0.3e-3, 5e-3),
        default: KeyDefault::Worked("half the string's diameter", |g| Length(0.5 * g.string_diameter)),
        meaning: "How deep the groove is where it crosses the back.",
        reason: "With half the string sunk in, the wall meets it at its widest and cannot be climbed; more only weakens the tip. Common practice, no source.",
    };
    pub const GROOVE_RADIUS: Key = Key {
        name: "groove_radius",
        kind: KeyKind::Length(0.5e-3, 6e-3),
        default: KeyDefault::Worked("0.55 of the string's diameter", |g| Length(0.55 * g.string_diameter)),
        meaning: "Radius of the groove's bottom, across the string.",
        reason: "A little more than the string's own radius, so that it beds without being pinched. Common practice, no source.",
    };
    pub const WALL_RADIUS: Key = Key {
        name: "wall_radius",
        kind: KeyKind::Length(0.5e-3, 60e-3),
        default: KeyDefault::Worked("one and a half string diameters", |g| Length(1.5 * g.string_diameter)),
        meaning: "Least radius of the curved wall that the string rolls along, seen on the unrolled tip.",
        reason: "Tighter, and the string bears hard on its inner strands; wider, and the wall has to turn where nothing presses the string into the groove. Common practice, no source.",
    };
    pub const FAN_MARGIN: Key = Key {
        name: "fan_margin",
        kind: KeyKind::Angle(0.0, 0.6),
        default: KeyDefault::Written("6 deg"),
        meaning: "How much farther than the greatest string angle the groove opens toward the tip.",
        reason: "Room for a longer draw, a stretched loop and an unsteady file. Common practice, no source.",
    };
    pub const RUN_OUT: Key = Key {
        name: "run_out",
        kind: KeyKind::Length(1e-3, 40e-3),
        default: KeyDefault::Worked("two string diameters", |g| Length(2.0 * g.string_diameter)),
        meaning: "Length along the wall over which the groove's depth runs out to nothing, past the end of its turn.",
        reason: "Nothing pulls sideways there; a gentle end leaves no edge to cross. Common practice, no source.",
    };
    pub const EDGE_RADIUS: Key = Key {
        name: "edge_radius",
        kind: KeyKind::Length(0.05e-3, 5e-3),
        default: KeyDefault::Worked("a quarter of the string's diameter", |g| Length(0.25 * g.string_diameter)),
        meaning: "Rounding of the groove's upper edges.",
        reason: "Rounded and polished so that no strand is cut. Common practice, no source.",
    };
    pub const SIDE_LENGTH: Key = Key {
        name: "side_length",
        kind: KeyKind::Length(0.5e-3, 60e-3),
        default: KeyDefault::Worked("half a string diameter", |g| Length(0.5 * g.string_diameter)),
        meaning: "How far round the tip the groove keeps its depth beyond its turn, down each side.",
        reason: "A slack string finds its place by it; under load nothing bears there. Common practice, no source.",
    };
    pub const SIDE_RUN_OUT: Key = Key {
        default: KeyDefault::Worked("one and a half string diameters", |g| Length(1.5 * g.string_diameter)),
        ..RUN_OUT
    };
    pub const TIP_ROUNDING: Key = Key {
        name: "tip_rounding",
        kind: KeyKind::Length(0.5e-3, 30e-3),
        default: KeyDefault::Written("5 mm"),
        meaning: "Length over which the very end is rounded off.",
        reason: "Takes weight off where it costs most speed, and leaves nothing to catch. Common practice, no source.",
    };
}

/// A way of shaping the limb's end to take the string.
pub trait NockStyle: Sync {
    /// Its name in `style = "..."`.
    fn name(&self) -> &'static str;
    /// What it is and where it is used, one or two sentences.
    fn summary(&self) -> &'static str;
    /// Its keys, in the order they are written.
    fn keys(&self) -> &'static [Key];
    /// Whether it is for light bows alone.
    fn for_light_bows(&self) -> bool {
        false
    }
    /// What whoever handles such a bow must mind, in a sentence.
    fn caution(&self) -> Option<&'static str> {
        None
    }
    /// Whether it is for recurved ends on which the braced string lies.
    fn for_recurve(&self) -> bool {
        false
    }
    /// Distance from the limb's centreline to the string's centreline at the seat, plus toward the back, m.
    fn seat_offset(&self, end: &LimbEnd, choice: &NockChoice, string: &BowString) -> f64;
    /// The nock on this limb's end, for this string and swing, or all that keeps it from being made.
    ///
    /// A fault's key starts with `nock.`; the caller knows the limb.
    fn nock(&self, end: &LimbEnd, choice: &NockChoice, string: &BowString, swing: &Swing) -> Result<Nock, Faults>;
}

/// One piece of a finished tip.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// What it is.
    pub name: &'static str,
    /// Its material, as in the design file; `wood` for the limb's own.
    pub material: String,
    /// Which part of the solid it is.
    pub bulk: Bulk,
}

/// What a solid is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Bulk {
    /// The limb's own wood.
    Limb,
    /// What stands over it: an overlay, or a cap.
    Over,
    /// A strip on the belly.
    Strip,
}

/// A face that is glued.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GlueFace {
    /// Its area, m^2.
    pub area: f64,
    /// From where to where along `a`, m.
    pub span: [f64; 2],
}

/// A nock: the limb's end as it shall be.
#[derive(Debug, Clone, PartialEq)]
pub struct Nock {
    /// Name of its style.
    pub style: &'static str,
    /// The finished solid, grooves cut.
    pub solid: TipSolid,
    /// The blended groove; none where the groove is filed straight.
    pub groove: Option<Groove>,
    /// From the limb's centreline to the string's centreline at the seat, plus toward the back, m.
    pub seat_offset: f64,
    /// Where the nock starts on the limb, m along `a`.
    pub from: f64,
    /// Its pieces.
    pub parts: Vec<Part>,
    /// Its glue line.
    pub glue: Option<GlueFace>,
    /// Angles to the limb at which to rough the wall with straight file strokes, rad, from the back's down.
    pub passes: Vec<f64>,
    /// Height of the ridges those strokes leave, m.
    pub ridge: f64,
}

impl Nock {
    /// Whether it is alike on both sides, as all are but those with a slot on one side only.
    pub fn is_even(&self) -> bool {
        self.groove.as_ref().is_none_or(Groove::is_even)
    }

    /// Where all that is put on the limb starts, a strip on the belly too, m along `a`.
    pub fn reach(&self) -> f64 {
        self.solid.strip.map_or(self.from, |strip| self.from.min(-strip.end))
    }

    /// Volume of each of its pieces beyond [`Nock::from`]; of a strip on the belly, which reaches farther, the whole, m^3.
    pub fn volumes(&self) -> Vec<f64> {
        let [wood, over, _] = self.solid.volume(self.from, self.solid.end);
        let volume = |part: &Part| match part.bulk {
            Bulk::Limb => wood,
            Bulk::Over => over,
            Bulk::Strip => self.solid.strip.map_or(0.0, |strip| self.solid.volume(-strip.end, -strip.start)[2]),
        };
        self.parts.iter().map(volume).collect()
    }

    /// The polar angle at which the groove crosses the tip square to the limb, rad: the middle of the back, unless it has one side only.
    pub fn crest(&self) -> f64 {
        self.groove.as_ref().map_or(0.0, |groove| groove.girth.about)
    }

    /// Where along `a` (m) the string is laid when it is put on, at the polar angle `theta` (0..pi/2) of each side; the slotted side
    /// tells for both where there is but one.
    pub fn line(&self, theta: f64) -> f64 {
        if let Some(groove) = &self.groove {
            return groove.wall.at(groove.girth.along((theta - groove.girth.about.abs()).abs()));
        }
        self.solid
            .cuts
            .iter()
            .find_map(|cut| match cut {
                crate::tip::Cut::Pass(p) if p.through[1] > 0.0 && p.along[2].abs() > 1e-3 => Some(p),
                _ => None,
            })
            .map_or(0.0, |p| {
                // Where the stroke's axis passes this half-plane.
                let (s, c) = theta.sin_cos();
                let down = (p.through[2] * s - p.through[1] * c) / (p.along[1] * c - p.along[2] * s).max(1e-3);
                p.through[0] + p.along[0] * down.max(0.0)
            })
    }

    /// The same nock with its wall left as `strokes` straight strokes of the file make it; none without a blended groove.
    pub fn roughed(&self, strokes: usize, corner: f64) -> Option<Nock> {
        let smooth = self.groove.as_ref()?;
        let angles = stroke_angles(smooth, strokes);
        let wall = crate::groove::Wall::facetted(&smooth.wall, &angles, corner);
        let mut groove = Groove::on(smooth.girth.clone(), wall, smooth.wish);
        groove.run = smooth.run;
        let mut rough = self.clone();
        rough.solid.cuts = vec![crate::tip::Cut::Laid(Box::new(groove.clone()))];
        rough.groove = Some(groove);
        rough.passes = angles;
        Some(rough)
    }
}

/// Ridges up to this height are left for the last, blending pass, m. Common practice, no source.
const RIDGE: f64 = 0.1e-3;

/// `strokes` angles that share the wall's turn evenly, the last along the wall's end.
fn stroke_angles(groove: &Groove, strokes: usize) -> Vec<f64> {
    let end = groove.wish.wall_end;
    let step = (std::f64::consts::FRAC_PI_2 - end) / strokes.max(1) as f64;
    (1..=strokes).map(|i| std::f64::consts::FRAC_PI_2 - step * i as f64).collect()
}

/// Strokes whose ridges `R (1/cos(step/2) - 1)` stay under [`RIDGE`], and the ridge that is left, m.
fn strokes(groove: &Groove) -> (Vec<f64>, f64) {
    let turn = std::f64::consts::FRAC_PI_2 - groove.wish.wall_end;
    // Mean radius: length of the turn over the turn.
    let (n, end) = (200, groove.wall.turned());
    let length: f64 = (0..n)
        .map(|i| end / f64::from(n) / groove.wall.angle(end * (f64::from(i) + 0.5) / f64::from(n)).sin().max(0.05))
        .sum();
    let radius = length / turn;
    let step = 2.0 * (radius / (radius + RIDGE)).acos();
    let count = (turn / step).ceil().clamp(1.0, 60.0);
    (stroke_angles(groove, count as usize), radius * (1.0 / (0.5 * turn / count).cos() - 1.0))
}

/// The least string angle a groove can be laid out for, rad.
const LEAST_ANGLE: f64 = 0.12;

/// The wish for a groove whose floor goes on to the tip's end.
fn open_wish(choice: &NockChoice, swing: &Swing) -> Result<GrooveWish, Faults> {
    let wish = wish_of(choice, swing, 0.0)?;
    Ok(GrooveWish { open: true, fan: 2.7, ..wish })
}

/// The wish for a blended groove from a style's shared keys and the swing, or what is wrong with them.
fn groove_wish(choice: &NockChoice, swing: &Swing) -> Result<GrooveWish, Faults> {
    wish_of(choice, swing, choice.number("fan_margin"))
}

fn wish_of(choice: &NockChoice, swing: &Swing, fan_margin: f64) -> Result<GrooveWish, Faults> {
    let mut faults = Faults::new();
    if !(swing.least >= LEAST_ANGLE && swing.greatest < 2.6 && swing.least <= swing.greatest) {
        faults.push(
            Fault::at(
                "nock.style",
                format!(
                    "the string swings from {:.1} deg to {:.1} deg to the limb",
                    swing.least.to_degrees(),
                    swing.greatest.to_degrees()
                ),
                "a blended groove is laid out for string angles between 7 and 149 deg: flatter, and the string lies along the limb",
            )
            .cure(match (swing.least >= LEAST_ANGLE, swing.lies_to > 0.0) {
                (true, _) => "a shorter draw, or less of a recurve",
                (false, false) => "a higher brace height",
                (false, true) => {
                    "a shorter `loop` in [string]: this one's legs reach so far down the recurve that they lie along the limb"
                }
            }),
        );
    }
    let wish = GrooveWish {
        depth: choice.number("groove_depth"),
        radius: choice.number("groove_radius"),
        edge: choice.number("edge_radius"),
        wall_radius: choice.number("wall_radius"),
        run_out: choice.number("run_out"),
        // A little past the least angle, so that the string leaves the wall before the wall's end.
        wall_end: (0.92 * swing.least).min(1.35),
        fan: (swing.greatest + fan_margin).min(2.7),
        open: false,
    };
    if wish.depth > 0.85 * (wish.radius + wish.edge) {
        faults.push(
            Fault::at(
                "nock.groove_depth",
                format!("a groove {:.2} mm deep with a bottom radius of {:.2} mm", wish.depth * 1e3, wish.radius * 1e3),
                format!(
                    "its sides would stand upright or overhang; bottom and edge radius allow {:.2} mm",
                    0.85e3 * (wish.radius + wish.edge)
                ),
            )
            .cure("a shallower groove, or a larger groove_radius or edge_radius"),
        );
    }
    if faults.is_empty() { Ok(wish) } else { Err(faults) }
}

/// How much steeper than the string's lean a groove's side has to be, rad. From this program's own runs, no outside source.
const HOLD: f64 = 0.07;

/// Lays the groove out on `solid` and cuts it; faults where it takes more than the tip has.
fn cut_blended(solid: &mut TipSolid, wish: GrooveWish, string: &BowString) -> Result<Groove, Faults> {
    cut_about(solid, wish, string, 0.0)
}

/// The same with its crest at the polar angle `about` (rad) of a round tip instead of the middle of the back.
fn cut_about(solid: &mut TipSolid, wish: GrooveWish, string: &BowString, about: f64) -> Result<Groove, Faults> {
    let girth = crate::groove::Girth::about(solid, about);
    // On a tip that narrows, the shortest way from the side to the crest turns toward square by sin(half angle) times the
    // polar angle passed; the fan has to open that much more.
    let slope = -0.5 * [0.2, 1.4].iter().map(|t| solid.uncut(Jet::first(0.5e-3), Jet::second(*t)).x).sum::<f64>();
    let wish = GrooveWish {
        fan: wish.fan + slope.max(0.0).atan().sin() * (std::f64::consts::FRAC_PI_2 + about.abs()),
        ..wish
    };
    let uneven = about != 0.0;
    let slot_cure = "a smaller slot_crest or wall_radius, a deeper slot, or a stouter cap";
    let groove = Groove::blended(girth, wish).map_err(|f| vec![if uneven { f.cure(slot_cure) } else { f }])?;
    let least = (0..90).map(|i| solid.uncut(0.0, f64::from(i) * 0.0349)).fold(f64::INFINITY, f64::min);
    if wish.depth > 0.6 * least {
        return Err(vec![
            Fault::at(
                "nock.groove_depth",
                format!(
                    "a groove {:.2} mm deep in a tip {:.1} mm across at its narrowest",
                    wish.depth * 1e3,
                    least * 2e3
                ),
                "more than six tenths of the tip's half would be cut away",
            )
            .cure("a shallower groove, or a stouter tip"),
        ]);
    }
    // The groove's side has to be steeper than the string leans on it.
    let (lean, side) = (groove.lean(string)[0], groove.side_angle(0.0));
    if lean > side - HOLD {
        return Err(vec![
            Fault::at(
                "nock.groove_depth",
                format!("the string would lean on the groove's wall at {:.0} deg", lean.to_degrees()),
                format!(
                    "the wall of a groove {:.2} mm deep stands at {:.0} deg at most, and less {:.0} deg the string climbs out",
                    wish.depth * 1e3,
                    side.to_degrees(),
                    HOLD.to_degrees()
                ),
            )
            .cure(if uneven {
                slot_cure
            } else {
                "a deeper groove, back edges rounded to a larger radius, or a smaller wall_radius"
            }),
        ]);
    }
    solid.cuts.push(crate::tip::Cut::Laid(Box::new(groove.clone())));
    Ok(groove)
}

/// The same, with the full depth kept for `side` (m of girth) beyond the turn.
fn cut_down_the_sides(solid: &mut TipSolid, wish: GrooveWish, string: &BowString, side: f64) -> Result<Groove, Faults> {
    let mut groove = cut_blended(solid, wish, string)?;
    let most = groove.girth.half - wish.run_out;
    let made = groove.run[0] + side;
    if made > most {
        return Err(vec![
            Fault::at(
                "nock.side_length",
                format!(
                    "grooves that go {:.1} mm beyond their turn and then run out over {:.1} mm",
                    side * 1e3,
                    wish.run_out * 1e3
                ),
                format!(
                    "they would meet in the middle of the belly: the tip leaves {:.1} mm for both",
                    (groove.girth.half - groove.run[0]) * 1e3
                ),
            )
            .cure("a shorter side_length or run_out"),
        ]);
    }
    groove.run = [made, made + wish.run_out];
    solid.cuts = vec![crate::tip::Cut::Laid(Box::new(groove.clone()))];
    Ok(groove)
}

/// All styles that can be chosen.
pub static NOCK_STYLES: &[&dyn NockStyle] = &[
    &overlay::BackOverlay,
    &overlay_sides::OverlaySides,
    &guided::Guided,
    &strip::BellyStrip,
    &horn::HornNock,
    &horn_slot::HornSlot,
    &side_grooves::SideGrooves,
    &pin::PinNock,
    &straight::StraightGroove,
];

/// The style of that name.
pub fn style(name: &str) -> Option<&'static dyn NockStyle> {
    NOCK_STYLES.iter().copied().find(|s| s.name() == name)
}
