//! `[tiller]`.

use crate::design::{Both, Side, TillerDistance, TillerMeasures, Units};
use crate::fault::Fault;
use crate::units::plain_length_text;

use super::bow::BowParts;
use super::keys;
use super::limb::LimbParts;
use super::reader::Reader;
use super::tables::{Held, Layers};

/// `[tiller]`: distances from the string, each on a limb of the bow and at a draw past brace.
pub(super) fn tiller(
    reader: &mut Reader,
    root: &Layers,
    bow: &BowParts,
    limbs: &Both<LimbParts>,
    units: Units,
) -> Option<TillerMeasures> {
    let table = reader.table(root, &keys::TILLER_TABLE);
    reader.known_keys(&table, keys::TILLER);
    let sure_to = reader.measure(&table, &keys::SURE_TO);
    let places = reader.measure(&table, &keys::PLACES);
    if let Some(count) = places.filter(|p| p.fract() != 0.0) {
        let what = format!("{count} is no whole number of places");
        reader.fault(Fault::at("tiller.places", what, "places are counted").cure("write it as in `places = 3`"));
    }
    let measured = match table.find(keys::MEASURED.name) {
        None => Some(Vec::new()),
        Some(entry) => reader.list(&entry, &keys::MEASURED).and_then(|items| {
            let mut read = Vec::new();
            for (path, item) in items {
                let row = reader.item_table(&path, item, &keys::MEASURED);
                read.push(row.and_then(|row| distance(reader, &row, bow, limbs, units)));
            }
            read.into_iter().collect::<Option<Vec<TillerDistance>>>()
        }),
    };
    Some(TillerMeasures { measured: measured?, sure_to: sure_to?, places: places? as usize })
}

fn distance(
    reader: &mut Reader,
    row: &Layers,
    bow: &BowParts,
    limbs: &Both<LimbParts>,
    units: Units,
) -> Option<TillerDistance> {
    let text = |metres: f64| plain_length_text(metres, units);
    reader.known_keys(row, keys::TILLER_DISTANCE);
    if row.find(keys::TILLER_LIMB.name).is_none() {
        reader.missing(row, &keys::TILLER_LIMB);
    }
    let side = reader.word(row, &keys::TILLER_LIMB).map(|w| if w == "upper" { Side::Upper } else { Side::Lower });
    let at = reader.measure(row, &keys::AT);
    let distance = reader.measure(row, &keys::DISTANCE);
    let draw = match reader.asked_measure(row, &keys::TILLER_DRAW) {
        Held::Is(draw) => Some(Some(draw)),
        Held::Absent => Some(None),
        Held::Bad => None,
    };
    if let (Some(side), Some(at), Some(handle)) = (side, at, bow.stiff_handle)
        && let Held::Is(length) = limbs.get(side).length
        && !(handle / 2.0 - 1e-6..=length + 1e-6).contains(&at)
    {
        let what = format!("{} from the middle does not lie on the bending {} limb", text(at), side.name());
        let why = format!("it bends from {} to its nock at {}", text(handle / 2.0), text(length));
        let fault = Fault::at(format!("{}.at", row.path), what, why);
        reader.fault(fault.cure("measure from the middle of the bow along the back, between handle and nock"));
    }
    if let (Some(Some(draw)), Some(brace)) = (draw, bow.brace_height())
        && bow.true_draw(draw).is_some_and(|d| d <= brace + 0.005)
    {
        let what = format!("a draw of {} does not reach past the brace height, {}", text(draw), text(brace));
        let fault = Fault::at(format!("{}.draw", row.path), what, "the string cannot be drawn to where it already is");
        reader.fault(fault.cure("leave `draw` out for the braced bow, or check the figure and draw_to"));
    }
    Some(TillerDistance { draw: draw?, side: side?, at: at?, distance: distance? })
}
