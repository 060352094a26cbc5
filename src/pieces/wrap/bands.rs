//! Where a wrap is wanted, and the bands of paper that lie there and close on the belly.

use super::MOST_OFF;
use crate::nock::Nock;
use crate::pieces::shape::TipShape;
use crate::tip::flattening::{Bands, Flattening, Mismatch};

/// The wrap goes past the groove by this much at its edge toward the tip, and toward the handle, m.
const MARGIN: [f64; 2] = [4e-3, 2e-3];
/// A band of paper shorter than this along the tip is little use, m: the first where it will do. And no more bands than this are cut.
const SHORTEST: [f64; 2] = [10e-3, 7e-3];
const MOST_BANDS: usize = 4;
/// What is left over at the handle's end is not cut when it is shorter than this, m.
const SLIVER: f64 = 5.5e-3;

/// Where a wrap is wanted, m along `a`: over the groove and a little beyond.
pub(in crate::pieces) fn wanted(nock: &Nock, shape: &TipShape) -> [f64; 2] {
    let solid = &nock.solid;
    let [low, high] = shape.groove_span();
    // A pin is marked to its shoulder; what lies beyond goes anyway.
    let high = match &nock.groove {
        Some(groove) if groove.wish.open => groove.wish.radius + groove.wish.edge,
        _ => high,
    };
    let tip_edge = (high + MARGIN[0]).min(solid.end - solid.rounding).max(high.min(solid.end - 0.5 * solid.rounding));
    [low - MARGIN[1], tip_edge.max(2e-3)]
}

/// Bands of paper that lie on the tip and close on its belly to [`MOST_OFF`], as far toward the handle as such bands go. Each end is
/// off by what the way round to it is, so both together by twice that.
///
/// # Errors
/// How far paper misses where none will do.
pub(in crate::pieces) fn closing_bands(
    surface: &dyn Fn(f64, f64) -> f64,
    wanted: [f64; 2],
    paper: f64,
) -> Result<Vec<Flattening>, Mismatch> {
    let mut best: Option<Vec<Flattening>> = None;
    let mut shortfall = None;
    let end = |bands: &[Flattening]| bands.last().map_or(f64::INFINITY, |b| b.span[0]);
    let mut laid = Bands::of(surface, wanted, paper);
    for (part, shortest) in LIMITS.into_iter().flat_map(|part| SHORTEST.map(|shortest| (part, shortest))) {
        let mut bands = match laid.fitting(shortest, part * MOST_OFF, MOST_BANDS) {
            Ok(bands) => bands,
            Err(mismatch) => {
                shortfall.get_or_insert(mismatch);
                continue;
            }
        };
        if let Some(band) = bands.iter().find(|b| !closes(&b.mismatch)) {
            shortfall.get_or_insert(band.mismatch);
            continue;
        }
        // A sliver at the handle's end has no room for its scale.
        if bands.len() > 1 && bands.last().is_some_and(|b| b.span[1] - b.span[0] < SLIVER) {
            bands.pop();
        }
        if best.as_ref().is_none_or(|best| end(&bands) < end(best) - 1e-6) {
            best = Some(bands);
        }
        if best.as_ref().is_some_and(|best| end(best) < wanted[0] + 1e-6) {
            break;
        }
    }
    best.ok_or(shortfall.unwrap_or(Mismatch { round: 0.0, off: 0.0 }))
}

/// Whether paper that misses so much may be used.
fn closes(mismatch: &Mismatch) -> bool {
    mismatch.off <= MOST_OFF && 2.0 * mismatch.round <= MOST_OFF
}

/// Parts of [`MOST_OFF`] that bands are laid out to in turn, until they close: where paper is off mostly in its distance from the
/// tip, wide bands do.
const LIMITS: [f64; 4] = [1.0, 0.75, 0.5, 0.45];
