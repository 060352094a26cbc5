//! Reach of the throat against draw, the nock beside a straight groove, clicks marked.

use std::fmt::Write;

use serde::Serialize;

use crate::checks::loop_on_tip::SMOOTH;
use crate::design::Units;
use crate::figures::round_marks;
use crate::reports::hanging::told;
use crate::string::hanging::Hanging;
use crate::units::{INCH, number_text};

/// Size of the plot.
const WIDE: f64 = 600.0;
const HIGH: f64 = 240.0;

/// The plot; `y` downward.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Reach {
    wide: f64,
    high: f64,
    /// Place and words of the marks along the draw, and what they count.
    draws: Vec<(i64, String)>,
    draw_unit: &'static str,
    /// The same up the side, mm.
    reaches: Vec<(i64, String)>,
    pub curves: Vec<Curve>,
    /// Where each of the bow's own steps stands along the draw.
    steps: Vec<i64>,
}

/// One nock's curve.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Curve {
    pub name: &'static str,
    d: String,
    /// Foot of each click's mark, and how tall it is.
    clicks: Vec<[i64; 3]>,
    /// Where the loop is lost.
    lost: Option<i64>,
    /// What the loop does, in words.
    pub said: Vec<String>,
    /// The largest jump as the bow is drawn, mm.
    pub largest_mm: f64,
}

/// The plot of some nocks' loops.
pub(super) fn plot(nocks: &[(&'static str, &Hanging)], own: &[f64], units: Units) -> Reach {
    let points = |hanging: &Hanging| hanging.draw.reach_by_draw();
    let all: Vec<(f64, f64)> = nocks.iter().flat_map(|(_, h)| points(h)).collect();
    let range = |values: &mut dyn Iterator<Item = f64>| {
        values.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)))
    };
    let (mut d0, mut d1) = range(&mut all.iter().map(|p| p.0).chain(own.iter().copied()));
    let (mut r0, mut r1) = range(&mut all.iter().map(|p| p.1));
    if !(d1 > d0 && r1 > r0) {
        (d0, d1, r0, r1) = (0.0, 1.0, 0.0, 1e-3);
    }
    let x = |draw: f64| ((draw - d0) / (d1 - d0) * WIDE).round() as i64;
    let y = |reach: f64| ((r1 - reach) / (r1 - r0) * HIGH).round() as i64;
    let (unit, draw_unit) = match units {
        Units::Inch => (INCH, "in"),
        Units::Millimetre => (1e-3, "mm"),
    };
    let curve = |(name, hanging): &(&'static str, &Hanging)| {
        let points = points(hanging);
        let mut d = String::new();
        for (i, &(draw, reach)) in points.iter().enumerate() {
            // Writing into a String cannot fail.
            let _ = write!(d, "{}{} {}", if i == 0 { 'M' } else { 'L' }, x(draw), y(reach));
        }
        let height = |draw: f64| {
            // The top of the jump.
            let i = points.partition_point(|p| p.0 <= draw).saturating_sub(1);
            points.get(i).map_or(0, |p| y(p.1))
        };
        let clicks = hanging.draw.clicks.iter().filter(|c| c.size.abs() >= SMOOTH);
        Curve {
            name,
            d,
            clicks: clicks
                .map(|c| {
                    let draw = c.at.draw.clamp(d0, d1);
                    [x(draw), height(draw), (10.0 + c.size.abs() * 1e5).min(40.0) as i64]
                })
                .collect(),
            lost: hanging.draw.leaves.map(|lost| x(lost.at.draw.clamp(d0, d1))),
            said: told(hanging, units),
            largest_mm: (hanging.largest_click()[0] * 1e6).round() / 1e3,
        }
    };
    let fine = if r1 - r0 < 4e-3 { 1 } else { 0 };
    Reach {
        wide: WIDE,
        high: HIGH,
        draws: round_marks(d0 / unit, d1 / unit, 6.0).into_iter().map(|m| (x(m * unit), number_text(m, 0))).collect(),
        draw_unit,
        reaches: round_marks(r0 * 1e3, r1 * 1e3, 6.0)
            .into_iter()
            .map(|m| (y(m * 1e-3), number_text(m, fine)))
            .collect(),
        curves: nocks.iter().map(curve).collect(),
        steps: own.iter().map(|&d| x(d)).collect(),
    }
}
