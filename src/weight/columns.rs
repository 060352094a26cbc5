//! Whether a new taper would do: the whole bow bent anew with it, and how far it is from going sideways.

use super::plan::{Shaving, TakeOff};
use crate::bow::bracing::LIMB_STEPS;
use crate::bow::draw_curve::cycle;
use crate::design::{Both, Design, Limb, Side, Station, Units};
use crate::units::{INCH, number_text, plain_length_text};
use crate::worked::least_taper::FLOOR;
use crate::worked::soundness::reserve_in_the_draw;

/// One way of taking wood off, tried on the whole bow.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// Weight at the asked draw of the whole bow bent anew, N; none where it cannot be braced or drawn.
    pub weight: Option<f64>,
    /// Least sideways reserve of both limbs from brace to that draw; none as for the weight.
    pub reserve: Option<Both<f64>>,
    /// Why this way does not do.
    pub wont: Option<String>,
}

impl Column {
    /// Whether this way does.
    pub fn does(&self) -> bool {
        self.wont.is_none()
    }
}

/// A figure of a column that does; a dash in one that does not.
pub fn shown(does: bool, figure: String) -> String {
    if does { figure } else { "-".to_owned() }
}

impl TakeOff {
    /// What equal or unequal parts do to the tiller.
    pub fn tiller(&self) -> &'static str {
        if (self.stiffness.upper - self.stiffness.lower).abs() < 1e-9 {
            "Equal parts of both limbs keep the tiller."
        } else {
            "Unequal parts change the tiller: the limb that loses more bends more."
        }
    }

    /// What to mind before wood comes off, in sentences.
    pub fn cautions(&self) -> String {
        let mut words = String::from(
            "What scraping takes out of the wood by set is left out, so stop short and weigh again. Thickness comes off the belly.",
        );
        if self.by_corners.is_some() {
            words.push_str(
                " The corners' column rounds all four alike; where the back's grain must not be cut, as on a bow of one piece, leave it \
                 (common practice, no source).",
            );
        }
        if self.factor < 0.8 {
            words.push_str(
                " More than a fifth is to come off: take half of it, weigh, and ask again, for tiller and profile will have moved.",
            );
        }
        words
    }

    /// Which of the columns do, in sentences.
    pub fn which(&self) -> String {
        let mut words = String::new();
        let columns = [Some(&self.by_thickness), Some(&self.by_width), self.by_corners.as_ref()];
        if columns.iter().flatten().filter(|column| column.does()).count() > 1 {
            words.push_str("One column does it at each place; half of one and half of another does, too.");
        } else {
            words.push_str("One column does it; the others do not.");
        }
        for (column, what) in columns.into_iter().zip(["thickness", "width", "corners"]) {
            if let Some(why) = column.and_then(|c| c.wont.as_ref()) {
                words.push_str(&format!(" Do not take it off the {what}: {why}."));
            }
        }
        if self.by_corners.is_none() && (self.has_corners.upper || self.has_corners.lower) {
            words.push_str(" Rounded corners alone do not take off enough anywhere.");
        }
        words
    }
}

/// Steps in which a bow is drawn to look at its sideways reserve from brace on.
pub(super) const LOOKS: usize = 8;

/// The whole bow bent anew may miss the wanted weight by this part and the law still be said to hold: about what a spring scale tells.
/// Common practice, no source.
const LAW_HOLDS: f64 = 0.03;

/// Tries the limbs that `shape` makes of the shavings on the bow `now`, whose limbs are `stiff` times as stiff as their modulus says, at
/// `draw` (m); `wanted` in N.
pub(super) fn tried(
    now: &Design,
    seat_offsets: Both<f64>,
    [draw, stiff, wanted]: [f64; 3],
    shavings: &Both<Vec<Shaving>>,
    shape: fn(&mut Limb, &[Shaving]),
) -> Column {
    let mut after = now.clone();
    after.bow.weight = None;
    after.bow.draw = draw;
    for side in Side::BOTH {
        let limb = after.limbs.get_mut(side);
        shape(limb, shavings.get(side));
        limb.wood.modulus.value *= stiff;
    }
    let drawn = match cycle(&after, seat_offsets, LIMB_STEPS, LOOKS) {
        Ok(drawn) => drawn,
        Err(fault) => return Column { weight: None, reserve: None, wont: Some(fault.what) },
    };
    let weight = drawn.at_full_draw().force;
    let reserve = reserve_in_the_draw(&after, seat_offsets, &drawn);
    let wont = too_slight(&after).or_else(|| goes_sideways(&reserve, now.units)).or_else(|| {
        ((weight / wanted - 1.0).abs() > LAW_HOLDS).then(|| {
            let off = number_text(100.0 * (weight / wanted - 1.0), 0);
            format!("the law breaks down so far off: the whole bow bent anew misses the wanted weight by {off} %")
        })
    });
    Column { weight: Some(weight), reserve: Some(reserve.map(|r| r.1)), wont }
}

/// Some place of the new taper that is too slight to carry a string, in words.
fn too_slight(after: &Design) -> Option<String> {
    let floor = FLOOR * after.string.diameter;
    // As the table gives sizes: fractions would hide by how little.
    let text = |m: f64| match after.units {
        Units::Inch => format!("{} in", number_text(m / INCH, 3)),
        Units::Millimetre => format!("{} mm", number_text(m * 1e3, 2)),
    };
    Side::BOTH.iter().find_map(|&side| {
        let least = |size: fn(&Station) -> f64| {
            let sizes = after.limbs.get(side).stations.iter().map(|s| (size(s), s.at));
            sizes.min_by(|a, b| a.0.total_cmp(&b.0)).filter(|s| s.0 < floor)
        };
        let (what, (size, at)) = least(|s| s.width)
            .map(|s| ("wide", s))
            .or_else(|| least(|s| s.thickness).map(|s| ("thick", s)))?;
        Some(format!(
            "{} from the middle the {} limb would be left {} {what}, and a string wants a tip of {} of its diameters, {}",
            text(at),
            side.name(),
            text(size),
            number_text(FLOOR, 0),
            text(floor)
        ))
    })
}

/// `reserve`: where it is least from brace to the asked draw, m, and what it is.
fn goes_sideways(reserve: &Both<(f64, f64)>, units: Units) -> Option<String> {
    let side = Side::BOTH.into_iter().find(|&side| reserve.get(side).1 < 1.0)?;
    let (draw, least) = *reserve.get(side);
    Some(format!(
        "the {} limb would go sideways at a draw of {} (reserve {}; below 1 it turns out of the bow's plane)",
        side.name(),
        plain_length_text(draw, units),
        number_text(least, 2)
    ))
}
