//! The tip taper: the last hand's breadths of the limb, side and back, with its measures at stations.

use super::Subject;
use super::common::{captioned, least_lines, measure_lines};
use super::two_tapers::TwoTapers;
use crate::bow::limb::Profile;
use crate::findings::Quantity;
use crate::numerics::monotone::Monotone;
use crate::sheets::Piece;
use crate::tip::Shell;
use crate::units::{length_text, number_text, quantity_text};
use crate::worked::least_taper::LaidOutBy;

/// Times the limb's size that the least is drawn at most: beyond, the piece would outgrow its sheet.
const MOST: f64 = 1.6;

/// Draws it.
pub(super) fn draw(subject: &Subject) -> Vec<Piece> {
    let design = &subject.worked.design;
    let profile = Profile::of(design.limbs.get(subject.side));
    let least = subject.worked.least_taper().get(subject.side);
    let stations = &least.stations;
    let least_at = |sizes: &[f64]| Monotone::through(stations.iter().copied().zip(sizes.iter().copied()));
    let (thin, narrow) = (least_at(&least.thickness), least_at(&least.width));
    // Where the least taper asks for more than the limb has, its line lies outside the limb's.
    let t = TwoTapers {
        units: design.units,
        stations,
        most: MOST,
        figures: [measure_lines, least_lines],
        full: &|at| [profile.width(at), profile.thickness(at)],
        dashed: &|at| [narrow.at(at), thin.at(at)],
        rows: ["thick", "at least", "wide", "at least"],
    }
    .drawing();
    let reserve = |k: usize| {
        least.reserve[k].map_or_else(
            || "not to be told".to_owned(),
            |r| format!("{} ({})", number_text(r.least, 2), number_text(r.lowest, 2)),
        )
    };
    let mut words = format!(
        "The last part of the limb up to the nock seat, from the side (back up, drawn straight) and from the back, with what it measures at \
         each station. Dashed: the least it may be for a stress of {} in the draw, and for the shot at the loop: so thin at this width, or so \
         narrow at this thickness, not both. Least sideways reserve from brace to full draw, both limbs built so (in brackets with the \
         lowest published shear modulus): {} at the least thickness, {} at the least width; {} as the limb is; below 1 it goes sideways. The nock is made for the limb as it is: before you build to \
         the least, write it into the file and check again.",
        quantity_text(least.stress, Quantity::Stress, design.units),
        reserve(0),
        reserve(1),
        number_text(subject.worked.sideways().get(subject.side).least, 2)
    );
    let by = |asked: LaidOutBy| -> Vec<&str> {
        let each = ["thickness", "width"].into_iter().zip(least.by);
        each.filter_map(|(name, by)| (by == asked).then_some(name)).collect()
    };
    for (names, why) in [
        (
            by(LaidOutBy::Plane),
            "is more than the stress asks, so that the limb stays in its plane at brace and all through the draw",
        ),
        (by(LaidOutBy::OwnSize), "is the limb's own: as it is it goes sideways, or may with a low shear modulus"),
    ] {
        if !names.is_empty() {
            words.push_str(&format!(" The least {} {why}.", names.join(" and the least ")));
        }
    }
    // Half a hundredth less is rounding.
    let slighter = stations.iter().enumerate().any(|(k, &at)| {
        least.thickness[k] > 1.005 * profile.thickness(at) || least.width[k] > 1.005 * profile.width(at)
    });
    if slighter {
        words.push_str(" Where the least is more than the limb has, the limb is slighter there than it should be.");
    }
    let beyond = |least: f64, own: f64| least > MOST * own;
    if stations
        .iter()
        .enumerate()
        .any(|(k, &at)| beyond(least.thickness[k], profile.thickness(at)) || beyond(least.width[k], profile.width(at)))
    {
        words.push_str(&format!(
            " The least is drawn no larger than {MOST} times the limb; the figures are the true ones: for so low a stress the whole limb wants \
             other sizes."
        ));
    }
    if design.limbs.upper == design.limbs.lower {
        words.push_str(" Both limbs are alike and have one least: what the one that bears more asks for.");
    }
    if let Shell::Cap { mouth, .. } = subject.worked.nocks.get(subject.side).solid.shell {
        words.push_str(&format!(
            " The last {} are cut to the cone under the cap: see its gauge.",
            length_text(-mouth, design.units)
        ));
    }
    vec![Piece::new(captioned(subject, t, "tip taper", &words)).may_turn()]
}
