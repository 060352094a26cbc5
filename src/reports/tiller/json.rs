//! The report of `tiller` for programs.

use super::words::{best, named, remarks, says};
use crate::bow::draw_curve::Cycle;
use crate::design::{Both, Design, Side};
use crate::reports::sweep::{rounded, to_json};
use crate::tiller::explain::Cause;
use crate::tiller::strays::{Slip, Stray};
use crate::tiller::table::Tiller;
use serde::Serialize;

/// For programs: mm, degrees.
pub fn json(design: &Design, found: &Tiller) -> String {
    #[derive(Serialize)]
    struct Report<'a> {
        program: &'static str,
        version: &'static str,
        bow: &'a str,
        limbs: Both<LimbJson>,
        measured: Vec<MeasuredJson>,
        left_out: Vec<StrayJson>,
        cause: Option<&'static str>,
        whole_limb: Option<WholeLimbJson>,
        stretch: Option<StretchJson>,
        taper: Option<Both<Vec<PlaceJson>>>,
        notes: Vec<String>,
        string_angle_deg: Option<Both<[f64; 2]>>,
    }
    #[derive(Serialize)]
    struct LimbJson {
        at_mm: Vec<f64>,
        lines: Vec<LineJson>,
    }
    #[derive(Serialize)]
    struct LineJson {
        draw_mm: Option<f64>,
        distance_mm: Vec<f64>,
    }
    #[derive(Serialize)]
    struct MeasuredJson {
        limb: &'static str,
        at_mm: f64,
        draw_mm: Option<f64>,
        measured_mm: f64,
        expected_mm: f64,
        fitted_mm: Option<f64>,
    }
    #[derive(Serialize)]
    struct StrayJson {
        measured: usize,
        about_mm: f64,
        why: &'static str,
    }
    #[derive(Serialize)]
    struct WholeLimbJson {
        limb: &'static str,
        factor: f64,
        within: f64,
        left_mm: f64,
    }
    #[derive(Serialize)]
    struct StretchJson {
        limb: &'static str,
        at_mm: f64,
        at_range_mm: [f64; 2],
        reach_mm: f64,
        reach_range_mm: [f64; 2],
        factor: f64,
        factor_range: [f64; 2],
        left_mm: f64,
    }
    #[derive(Serialize)]
    struct PlaceJson {
        at_mm: f64,
        factor: f64,
        within: f64,
    }
    let mm = |m: f64| rounded(m * 1e3);
    let start = design.bow.stiff_handle / 2.0;
    let told = found.told.as_ref();
    let angles = |cycle: &Cycle, side: Side| {
        [cycle.at_brace(), cycle.at_full_draw()].map(|s| rounded(s.limbs.get(side).string_angle.to_degrees()))
    };
    to_json(&Report {
        program: env!("CARGO_PKG_NAME"),
        version: env!("CARGO_PKG_VERSION"),
        bow: &design.name,
        limbs: Both::build(|side| LimbJson {
            at_mm: found.stations.get(side).iter().copied().map(mm).collect(),
            lines: found
                .lines
                .get(side)
                .iter()
                .map(|l| LineJson {
                    draw_mm: l.draw.map(mm),
                    distance_mm: l.distances.iter().copied().map(mm).collect(),
                })
                .collect(),
        }),
        measured: found
            .beside
            .iter()
            .map(|b| MeasuredJson {
                limb: b.measured.side.name(),
                at_mm: mm(b.measured.at),
                draw_mm: b.measured.draw.map(mm),
                measured_mm: mm(b.measured.distance),
                expected_mm: mm(b.expected),
                fitted_mm: b.fitted.map(mm),
            })
            .collect(),
        left_out: told
            .map(|t| {
                let shown = |s: &Stray| StrayJson {
                    measured: s.index,
                    about_mm: mm(s.about),
                    why: match s.slip {
                        Some(Slip::Decimal) => "slipped decimal",
                        Some(Slip::Unit) => "unit mixed up",
                        None => "the others contradict it",
                    },
                };
                t.strays.iter().map(shown).collect()
            })
            .unwrap_or_default(),
        cause: told.map(|t| match best(t) {
            _ if found.too_few() || found.unexplained(design.tiller.sure_to).is_some() => "none",
            Some(Cause::AsDesigned) => "as designed",
            Some(Cause::Limb(_)) => "whole limb",
            Some(Cause::Stretch(_)) => "stretch",
            Some(Cause::Taper) => "taper",
            None => "none",
        }),
        whole_limb: told.and_then(|t| match named(t, |c| matches!(c, Cause::Limb(_))) {
            Some(Cause::Limb(l)) => Some(WholeLimbJson {
                limb: l.side.name(),
                factor: rounded(l.factor),
                within: rounded(l.within),
                left_mm: mm(l.left),
            }),
            _ => None,
        }),
        stretch: told.and_then(|t| match named(t, |c| matches!(c, Cause::Stretch(_))) {
            Some(Cause::Stretch(s)) => Some(StretchJson {
                limb: s.side.name(),
                at_mm: mm(start + s.at),
                at_range_mm: s.at_range.map(|at| mm(start + at)),
                reach_mm: mm(s.reach),
                reach_range_mm: s.reach_range.map(mm),
                factor: rounded(s.factor),
                factor_range: s.factor_range.map(rounded),
                left_mm: mm(s.left),
            }),
            _ => None,
        }),
        taper: told.and_then(|t| {
            let fitted = t.taper.as_ref().ok()?;
            Some(Both::build(|side| {
                let each = t.places.get(side).iter().zip(fitted.factor.get(side)).zip(fitted.within.get(side));
                each.map(|((at, factor), within)| PlaceJson {
                    at_mm: mm(*at),
                    factor: rounded(*factor),
                    within: rounded(*within),
                })
                .collect()
            }))
        }),
        notes: remarks(design, found).into_iter().chain(told.iter().flat_map(|t| says(design, found, t))).collect(),
        string_angle_deg: told.map(|t| Both::build(|side| angles(&t.cycle, side))),
    })
}
