//! The design of one bow and its nocks, in SI units.
//!
//! What is true of every [`Design`] that leaves [`design::file`](crate::design):
//!
//! - all lengths are in metres, forces in newtons, angles in radians, moduli and strengths in pascals, densities in kg/m3;
//! - every number is finite; widths, thicknesses, lengths, diameters and moduli are above zero;
//! - each limb's stations rise from the handle outward, the first at or inside the end of the stiff handle,
//!   and there are at least two;
//! - every default has been filled in: nobody after this needs to know what the file left out.
//!
//! Nobody further down checks these again.

pub mod file;
pub mod starter;

use crate::guide::Guide;
use crate::strip::Strip;

/// Upper or lower limb.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Side {
    /// The limb that points up when the bow is drawn.
    Upper,
    /// The limb that points down.
    Lower,
}

impl Side {
    /// Both sides, upper first: the order of every table and sheet.
    pub const BOTH: [Side; 2] = [Side::Upper, Side::Lower];

    /// `upper` or `lower`, as in files and reports.
    pub fn name(self) -> &'static str {
        match self {
            Side::Upper => "upper",
            Side::Lower => "lower",
        }
    }
}

/// One value for each limb.
#[derive(Debug, Clone, Copy, PartialEq, Default, serde::Serialize)]
pub struct Both<T> {
    /// For the upper limb.
    pub upper: T,
    /// For the lower limb.
    pub lower: T,
}

impl<T> Both<T> {
    /// The value for one side.
    pub fn get(&self, side: Side) -> &T {
        match side {
            Side::Upper => &self.upper,
            Side::Lower => &self.lower,
        }
    }

    /// The value for one side, to change it.
    pub fn get_mut(&mut self, side: Side) -> &mut T {
        match side {
            Side::Upper => &mut self.upper,
            Side::Lower => &mut self.lower,
        }
    }

    /// Builds both values, upper first.
    pub fn build(mut f: impl FnMut(Side) -> T) -> Self {
        Both { upper: f(Side::Upper), lower: f(Side::Lower) }
    }

    /// Builds both values at the same time, where there are cores for it; what comes out does not depend on that.
    pub fn build_together(f: impl Fn(Side) -> T + Sync) -> Self
    where
        T: Send,
    {
        let (upper, lower) = rayon::join(|| f(Side::Upper), || f(Side::Lower));
        Both { upper, lower }
    }

    /// Builds both values, or returns the first error, upper first.
    pub fn try_build<E>(mut f: impl FnMut(Side) -> Result<T, E>) -> Result<Self, E> {
        Ok(Both { upper: f(Side::Upper)?, lower: f(Side::Lower)? })
    }

    /// A new pair, made from each value.
    pub fn map<U>(&self, mut f: impl FnMut(&T) -> U) -> Both<U> {
        Both { upper: f(&self.upper), lower: f(&self.lower) }
    }
}

/// How lengths are written for people.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Units {
    /// Inches with fractions, millimetres beside them.
    Inch,
    /// Millimetres.
    Millimetre,
}

/// The hand that draws the string.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hand {
    /// Arrow pass on the left of the grip.
    Right,
    /// Arrow pass on the right of the grip.
    Left,
}

/// Which two points a draw length is measured between.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DrawTo {
    /// Nocking point to the back of the bow at the arrow pass: the traditional reading.
    Back,
    /// Nocking point to the pivot.
    Pivot,
    /// Nocking point to the pivot, plus 1 3/4 in: the archery trade's standard reading.
    PivotPlus,
}

/// What fixes the braced bow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Bracing {
    /// Distance from the pivot square to the string, m.
    Height(f64),
    /// Unstretched length of the string between the nock seats, m.
    StringLength(f64),
}

/// What a scale said: so much pull at such a draw.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WeightReading {
    /// Draw length, measured as the design's [`DrawTo`] says, m.
    pub draw: f64,
    /// Pull on the scale, N.
    pub pull: f64,
}

/// The bow as a whole.
#[derive(Debug, Clone, PartialEq)]
pub struct Bow {
    /// Nock to nock along the back, unstrung, m.
    pub length: f64,
    /// Length of the part about the middle that does not bend, m.
    pub stiff_handle: f64,
    /// Back to belly at the grip, m.
    pub handle_depth: f64,
    /// Where the hand presses, from the middle, up is plus, m.
    pub pivot: f64,
    /// Where the arrow sits on the braced string, from the middle, up is plus, m.
    pub nocking_point: f64,
    /// Height at which the arrow passes the handle, from the middle, m.
    pub arrow_pass: f64,
    /// The hand that draws.
    pub hand: Hand,
    /// Brace height or string length.
    pub bracing: Bracing,
    /// Full draw, measured as `draw_to` says, m.
    pub draw: f64,
    /// Between which points draw is measured.
    pub draw_to: DrawTo,
    /// What the scale said, or shall say. Without it the wood's modulus is taken as it stands.
    pub weight: Option<WeightReading>,
    /// What the scale says of the bow as it is now, on its way to `weight`; empty where only `weight` is known.
    pub scale: Vec<WeightReading>,
}

/// The form of a limb's cross section. Width and thickness come from the stations.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SectionForm {
    /// Square edges.
    Rectangle,
    /// A rectangle with its four corners rounded to this radius, m. Where the limb is too small for it, as far as it goes.
    RoundedRectangle {
        /// Radius of the corners, m.
        corner: f64,
    },
    /// An ellipse.
    Ellipse,
    /// Flat back, belly half an ellipse whose depth is the whole thickness.
    D,
    /// Flat back and belly, the belly narrower or wider than the back.
    Trapezoid {
        /// Belly width as a part of the back's.
        belly: f64,
    },
}

/// Width and thickness at one place along a limb.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Station {
    /// Distance from the middle of the bow, m.
    pub at: f64,
    /// Width, m.
    pub width: f64,
    /// Thickness, back to belly, m.
    pub thickness: f64,
}

/// How far the unstrung back stands off the straight line at one place along a limb.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Offset {
    /// Distance from the middle of the bow, m.
    pub at: f64,
    /// Plus toward the back (reflex), minus toward the belly (string follow), m.
    pub set: f64,
}

/// How much stiffer a limb is at one place than its width, thickness and wood say: what a measured tiller tells.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StiffnessAt {
    /// Distance from the middle of the bow, m.
    pub at: f64,
    /// Factor on the stiffness, above 0; 0.9 is a tenth weak.
    pub factor: f64,
}

/// Radius of a limb's corners at one place, where they are not alike all along.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CornerAt {
    /// Distance from the middle of the bow, m.
    pub at: f64,
    /// Radius, m.
    pub radius: f64,
}

/// How sure a figure is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Certainty {
    /// Read in the published table.
    Read,
    /// From memory, not read again: said so wherever it is shown.
    Memory,
    /// Given by the maker in the design file.
    Given,
}

/// A figure with its source.
#[derive(Debug, Clone, PartialEq)]
pub struct Sourced {
    /// The value in SI units.
    pub value: f64,
    /// Where it is from.
    pub source: String,
    /// How sure it is.
    pub certainty: Certainty,
}

/// Wood along the grain.
#[derive(Debug, Clone, PartialEq)]
pub struct Wood {
    /// Its name in the table, or the maker's own.
    pub name: String,
    /// Modulus of elasticity in bending, Pa.
    pub modulus: Sourced,
    /// Modulus of rupture, Pa.
    pub rupture: Option<Sourced>,
    /// Shear strength along the grain, Pa.
    pub shear: Option<Sourced>,
    /// Strength in compression across the grain, Pa.
    pub bearing: Option<Sourced>,
    /// Strength in compression along the grain, Pa.
    pub crushing: Option<Sourced>,
    /// Density, kg/m3.
    pub density: Option<Sourced>,
}

/// One limb.
#[derive(Debug, Clone, PartialEq)]
pub struct Limb {
    /// From the middle of the bow to the nock seat along the back, m.
    pub length: f64,
    /// Section form.
    pub section: SectionForm,
    /// Widths and thicknesses from the handle outward.
    pub stations: Vec<Station>,
    /// Unstrung profile; empty for straight limbs.
    pub unstrung: Vec<Offset>,
    /// Corner radii of a (rounded) rectangle, rising outward, joined as the stations are; empty where the section's own holds all along.
    pub corners: Vec<CornerAt>,
    /// Factors on the stiffness, rising outward, straight between places and level beyond them; empty for none.
    pub stiffness: Vec<StiffnessAt>,
    /// The limb's wood.
    pub wood: Wood,
}

/// The string.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BowString {
    /// Diameter at the loop, serving included, m.
    pub diameter: f64,
    /// Half the way round the loop: from the nock to the throat, where its legs meet, m.
    pub loop_length: f64,
    /// Coefficient of friction between string and nock.
    pub friction: f64,
    /// Pull over strain, N; none for a string that does not stretch.
    pub stiffness: Option<f64>,
}

/// How the string's lower end is made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum LowerEnd {
    /// A loop laid in, as at the upper end.
    #[default]
    Loop,
    /// A bowyer's knot (timber hitch).
    Knot,
}

/// What the string is made from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StringMaking {
    /// Pull that breaks one strand, N; none where the maker gave none.
    pub strand_strength: Option<f64>,
    /// How many times the draw weight the string must hold.
    pub times_weight: f64,
    /// How the lower end is made.
    pub lower_end: LowerEnd,
    /// Length laid back into the string behind a loop, m.
    pub tail: f64,
    /// Length that the bowyer's knot takes, m.
    pub knot: f64,
}

/// What strength is judged by.
#[derive(Debug, Clone, PartialEq)]
pub struct StrengthWishes {
    /// The string's pull in the shot over the draw weight.
    pub shock_factor: f64,
    /// Stress that the least taper is laid out for, Pa; none for the greatest that the limb has at full draw.
    pub working_stress: Option<f64>,
    /// Strength of the glue in shear, Pa; none for the wood's own.
    pub glue: Option<f64>,
    /// How far the string may stand beside the tip's middle, m.
    pub off_centre: f64,
}

/// One measured distance from the string to a limb's belly.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TillerDistance {
    /// Draw at which it was measured, as the bow's `draw_to` says, m; none for the braced bow.
    pub draw: Option<f64>,
    /// Limb.
    pub side: Side,
    /// Where along the limb, from the middle of the bow, m.
    pub at: f64,
    /// From the string square to it to the belly, m.
    pub distance: f64,
}

/// The measured tiller.
#[derive(Debug, Clone, PartialEq)]
pub struct TillerMeasures {
    /// What was measured; empty for nothing.
    pub measured: Vec<TillerDistance>,
    /// How sure each distance is: one standard deviation, m.
    pub sure_to: f64,
    /// At how many places along each limb the stiffness is sought.
    pub places: usize,
}

/// A value of a nock style's own key, in SI units.
#[derive(Debug, Clone, PartialEq)]
pub enum NockValue {
    /// m.
    Length(f64),
    /// rad.
    Angle(f64),
    /// A plain number.
    Number(f64),
    /// One of a style's named choices.
    Choice(String),
}

/// The nock a maker asks for: a style and that style's own values, defaults filled in.
#[derive(Debug, Clone, PartialEq)]
pub struct NockChoice {
    /// Name of the style, one of those listed by [`crate::nock`].
    pub style: &'static str,
    /// Values by key, in the order the style lists its keys.
    pub values: Vec<(&'static str, NockValue)>,
}

impl NockChoice {
    /// The number under `key` (metres, radians or a plain number).
    ///
    /// # Panics
    /// If the style has no such key: a slip in the style's own code, caught by the test over all styles.
    pub fn number(&self, key: &str) -> f64 {
        match self.values.iter().find(|(k, _)| *k == key) {
            Some((_, NockValue::Length(v) | NockValue::Angle(v) | NockValue::Number(v))) => *v,
            _ => panic!("nock style {} has no number {key}", self.style),
        }
    }

    /// The guide in the belly, of a style that has one.
    pub fn guide(&self) -> Option<Guide> {
        Some(Guide {
            start: self.length("guide_start")?,
            end: self.length("guide_end")?,
            depth: self.length("guide_depth")?,
            radius: self.length("guide_radius")?,
        })
    }

    /// The strip on the belly, of a style that has one.
    pub fn strip(&self) -> Option<Strip> {
        Some(Strip {
            start: self.length("strip_start")?,
            end: self.length("strip_end")?,
            thickness: self.length("strip_thickness")?,
        })
    }

    /// The length under `key`, m; none where the style has no such key.
    fn length(&self, key: &str) -> Option<f64> {
        self.values.iter().find_map(|(k, v)| match v {
            NockValue::Length(v) if *k == key => Some(*v),
            _ => None,
        })
    }

    /// The choice under `key`.
    ///
    /// # Panics
    /// If the style has no such key, as for [`NockChoice::number`].
    pub fn choice(&self, key: &str) -> &str {
        match self.values.iter().find(|(k, _)| *k == key) {
            Some((_, NockValue::Choice(v))) => v,
            _ => panic!("nock style {} has no choice {key}", self.style),
        }
    }
}

/// What the nock must serve: lowest and highest brace height, shortest and longest draw, m.
/// Where the file gives no range both ends are the bow's own measure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Serves {
    /// Brace heights, lowest and highest; none where the string length is given and no range.
    pub brace_height: Option<[f64; 2]>,
    /// Draws, shortest and longest, measured as the bow's `draw_to` says.
    pub draw: [f64; 2],
}

/// What the printed sheets need to know.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetWishes {
    /// Thickness of the paper that is wrapped round the tip, m.
    pub paper_thickness: f64,
    /// A date to print, as the maker wrote it; none otherwise, so that equal designs print equal bytes.
    pub date: Option<String>,
}

/// One bow's nock design in SI units. See the module's head for what is true of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Design {
    /// The bow's name.
    pub name: String,
    /// How lengths are written for people.
    pub units: Units,
    /// The bow.
    pub bow: Bow,
    /// Its limbs.
    pub limbs: Both<Limb>,
    /// Its string.
    pub string: BowString,
    /// Its nocks.
    pub nocks: Both<NockChoice>,
    /// What the nocks must serve.
    pub serves: Serves,
    /// The sheets.
    pub sheets: SheetWishes,
    /// What the string is made from.
    pub making: StringMaking,
    /// What strength is judged by.
    pub strength: StrengthWishes,
    /// The measured tiller.
    pub tiller: TillerMeasures,
}

impl Design {
    /// Whether the string is tied to this limb with a bowyer's knot instead of hung by a loop.
    pub fn is_tied(&self, side: Side) -> bool {
        side == Side::Lower && self.making.lower_end == LowerEnd::Knot
    }
}
