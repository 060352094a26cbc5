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
use crate::worked::least_taper::{floor, least_taper, outer_stations};

/// Draws it.
pub(super) fn draw(subject: &Subject) -> Vec<Piece> {
    let design = &subject.worked.design;
    let profile = Profile::of(design.limbs.get(subject.side));
    let stations = outer_stations(design, subject.side);
    let floor = floor(design, subject.worked.nocks.get(subject.side));
    let least = least_taper(design, &subject.worked.statics, subject.side, &stations, floor);
    let least_at = |sizes: &[f64]| Monotone::through(stations.iter().copied().zip(sizes.iter().copied()));
    let (thin, narrow) = (least_at(&least.thickness), least_at(&least.width));
    // Where the least taper asks for more than the limb has, its line lies outside the limb's.
    let t = TwoTapers {
        units: design.units,
        stations: &stations,
        figures: [measure_lines, least_lines],
        full: &|at| [profile.width(at), profile.thickness(at)],
        dashed: &|at| [narrow.at(at), thin.at(at)],
        rows: ["thick", "at least", "wide", "at least"],
    }
    .drawing();
    let built = least.reserve;
    let reserve = |r: Option<f64>| r.map_or_else(|| "not to be told".to_owned(), |r| number_text(r, 1));
    let mut words = format!(
        "The last part of the limb up to the nock seat, from the side (back up, drawn straight) and from the back, with what it measures at \
         each station. Dashed: the least it may be for a stress of {} in the draw, and for the shot at the loop: so thin at this width, or so \
         narrow at this thickness, not both. Sideways reserve at full draw: {} as it is, {} at the least thickness, {} at the least width; \
         below 1 the limb goes sideways. The nock is made for the limb as it is: before you build to the least, write it into the file and \
         check again.",
        quantity_text(least.stress, Quantity::Stress, design.units),
        reserve(Some(subject.worked.sideways().get(subject.side).at_full_draw)),
        reserve(built[0]),
        reserve(built[1])
    );
    let raised: Vec<&str> = ["thickness", "width"]
        .into_iter()
        .zip(least.raised)
        .filter_map(|(name, raised)| raised.then_some(name))
        .collect();
    if !raised.is_empty() {
        words.push_str(&format!(
            " The least {} is more than the stress asks, so that it does not.",
            raised.join(" and the least ")
        ));
    }
    // Half a hundredth less is rounding.
    let slighter = stations.iter().enumerate().any(|(k, &at)| {
        least.thickness[k] > 1.005 * profile.thickness(at) || least.width[k] > 1.005 * profile.width(at)
    });
    if slighter {
        words.push_str(" Where the least is more than the limb has, the limb is slighter there than it should be.");
    }
    if let Shell::Cap { mouth, .. } = subject.worked.nocks.get(subject.side).solid.shell {
        words.push_str(&format!(
            " The last {} are cut to the cone under the cap: see its gauge.",
            length_text(-mouth, design.units)
        ));
    }
    vec![Piece::new(captioned(subject, t, "tip taper", &words)).may_turn()]
}
