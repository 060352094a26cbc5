//! The loop on the tip through the draw: where it touches the unrolled tip, and how far its throat reaches.

use super::round_marks;
use crate::checks::loop_on_tip::SMOOTH;
use crate::design::Units;
use crate::string::hanging::Hanging;
use crate::string::path::Run;
use crate::template::{Anchor, Role, Template, size};
use crate::tip::TipSolid;
use crate::units::{INCH, number_text};
use kurbo::{BezPath, Point, Rect};

/// One nock's part of the figure.
pub struct Shown<'a> {
    /// The limb it is on.
    pub limb: &'a str,
    /// What it is called in the figure.
    pub name: &'a str,
    /// Its solid.
    pub solid: &'a TipSolid,
    /// The loop on it.
    pub hanging: &'a Hanging,
    /// Diameter of the string, m.
    pub string: f64,
}

/// Where the string touches, at every few steps, on the tip's girth laid flat: back in the middle, a side to each hand,
/// the tip's end up. Enlarged three times.
pub fn footprint(shown: &Shown) -> Template {
    const SCALE: f64 = 3.0;
    let mut t = Template::new(format!("{} limb, footprint, {}", shown.limb, shown.name));
    let girth = girth(shown.solid);
    let half = girth.last().map_or(0.0, |g| g[1]);
    let across = |theta: f64| {
        let k = girth.partition_point(|g| g[0] <= theta.abs()).clamp(1, girth.len() - 1);
        let ([t0, g0], [t1, g1]) = (girth[k - 1], girth[k]);
        theta.signum() * (g0 + (g1 - g0) * (theta.abs() - t0) / (t1 - t0)) * 1e3 * SCALE
    };
    let lines: Vec<Vec<Point>> = shown
        .hanging
        .draw
        .figures
        .iter()
        .map(|state| state.footprint(shown.solid, 0.5 * shown.string))
        .map(|line| line.iter().map(|&[a, theta]| Point::new(across(theta), a * 1e3 * SCALE)).collect())
        .collect();
    let lowest = lines.iter().flatten().map(|p| p.y).fold(-5.0 * SCALE, f64::min) - 2.0;
    let highest = lines.iter().flatten().map(|p| p.y).fold(3.0 * SCALE, f64::max) + 2.0;
    let wide = half * 1e3 * SCALE;
    let frame = Rect::new(-wide, lowest, wide, highest);
    t.line(Role::Outline, rectangle(frame));
    for theta in [-0.5, 0.0, 0.5] {
        let x = across(theta * std::f64::consts::PI);
        t.segment(Role::Centre, (x, lowest), (x, highest));
    }
    let last = lines.len().saturating_sub(1);
    let (brace, full) = (shown.hanging.first_own.min(last), shown.hanging.last_own.min(last));
    for (k, points) in lines.iter().enumerate() {
        let own = k == brace || k == full;
        if points.len() < 2 || !(own || k == last || k % 4 == 0) {
            continue;
        }
        // Contacts with a gap between them lie on either side of a stretch where the string is off the tip.
        let mut path = BezPath::new();
        for (i, p) in points.iter().enumerate() {
            if i == 0 || (p.x - points[i - 1].x).abs() > 1.5 * SCALE {
                path.move_to(*p);
            } else {
                path.line_to(*p);
            }
        }
        t.line(if own { Role::Mark } else { Role::String }, path);
    }
    // Brace and full draw are named at the end of their lines, the lower one first, each on a line of its own.
    let lost = shown.hanging.draw.leaves.is_some();
    let mut named = vec![(brace, "at brace")];
    if full > brace {
        named.push((full, if lost { "where it is lost" } else { "at full draw" }));
    }
    let mut ends: Vec<(Point, &str)> =
        named.iter().filter_map(|&(k, word)| Some((*lines.get(k)?.last()?, word))).collect();
    ends.sort_by(|p, q| p.0.y.total_cmp(&q.0.y));
    let mut above = f64::NEG_INFINITY;
    for (end, word) in ends {
        let y = end.y.max(above + 3.0);
        above = y;
        t.segment(Role::Dimension, (end.x + 0.6, end.y), (wide + 1.5, y));
        t.text((wide + 2.2, y - 0.9), size::SMALL, Anchor::Start, word);
    }
    for (x, word) in [(-0.75 * wide, "side"), (0.0, "back"), (0.75 * wide, "side")] {
        t.text((x, highest + 1.4), size::SMALL, Anchor::Middle, word);
    }
    let heading = format!("{} limb, {}: where the string touches the tip", shown.limb, shown.name);
    t.text((-wide, highest + 6.0), size::BODY, Anchor::Start, heading);
    t.text((-wide, lowest - 4.0), size::SMALL, Anchor::Start, "3:1, not for tracing; tip's end up");
    t
}

/// Reach of the throat against draw, all nocks in one plot, clicks marked.
pub fn reach(shown: &[Shown], units: Units) -> Template {
    let limb = shown.first().map_or("", |s| s.limb);
    let mut t = Template::new(format!("{limb} limb, reach of the throat against draw"));
    const WIDE: f64 = 150.0;
    const HIGH: f64 = 70.0;
    // A let-down that goes another way than the draw did has a line of its own.
    let back = |s: &Shown| {
        s.hanging
            .let_down
            .as_ref()
            .filter(|_| s.hanging.largest_click().iter().any(|c| *c >= SMOOTH))
            .map(Run::reach_by_draw)
    };
    let points = |s: &Shown| s.hanging.draw.reach_by_draw();
    let all: Vec<(f64, f64)> =
        shown.iter().flat_map(|s| points(s).into_iter().chain(back(s).unwrap_or_default())).collect();
    let range = |values: &mut dyn Iterator<Item = f64>| {
        values.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)))
    };
    let (d0, d1) = range(&mut all.iter().map(|p| p.0));
    let (r0, r1) = range(&mut all.iter().map(|p| p.1));
    if !(d1 > d0 && r1 > r0) {
        t.text((0.0, 0.0), size::BODY, Anchor::Start, "no rest was found for the loop, so there is no reach to show");
        return t;
    }
    let room = 0.04 * (r1 - r0);
    let (r0, r1) = (r0 - room, r1 + room);
    let (unit, name) = match units {
        Units::Inch => (INCH, "in"),
        Units::Millimetre => (1e-3, "mm"),
    };
    let x = |draw: f64| (draw - d0) / (d1 - d0) * WIDE;
    let y = |reach: f64| (reach - r0) / (r1 - r0) * HIGH;
    t.line(Role::Outline, rectangle(Rect::new(0.0, 0.0, WIDE, HIGH)));
    for mark in round_marks(d0 / unit, d1 / unit, 7.0) {
        let at = x(mark * unit);
        t.segment(Role::Dimension, (at, 0.0), (at, -1.5));
        t.text((at, -5.0), size::SMALL, Anchor::Middle, number_text(mark, 0));
    }
    for mark in round_marks(r0 * 1e3, r1 * 1e3, 7.0) {
        let at = y(mark * 1e-3);
        t.segment(Role::Dimension, (0.0, at), (-1.5, at));
        t.text((-2.5, at - 0.9), size::SMALL, Anchor::End, number_text(mark, if r1 - r0 < 4e-3 { 1 } else { 0 }));
    }
    t.text((WIDE / 2.0, -10.0), size::SMALL, Anchor::Middle, format!("draw, {name}"));
    let heading = format!("{limb} limb: reach of the throat along the pull, mm");
    t.text((0.0, HIGH + 10.0), size::BODY, Anchor::Start, heading);
    for (k, s) in shown.iter().enumerate() {
        let role = if k == 0 { Role::Outline } else { Role::Hidden };
        let curve = points(s);
        let path = polyline(&curve, &x, &y);
        if path.elements().len() > 1 {
            t.line(role, path);
        }
        let (key, left) = (HIGH + 3.0, 16.0 + 50.0 * k as f64);
        t.segment(role, (left - 14.0, key + 0.9), (left - 2.0, key + 0.9));
        t.text((left, key), size::SMALL, Anchor::Start, s.name);
        marked(&mut t, &s.hanging.draw, &curve, true, &|draw| x(draw.clamp(d0, d1)), &y);
        if let (Some(curve), Some(run)) = (back(s), &s.hanging.let_down) {
            t.line(Role::Dimension, polyline(&curve, &x, &y));
            marked(&mut t, run, &curve, false, &|draw| x(draw.clamp(d0, d1)), &y);
            let left = 16.0 + 50.0 * shown.len() as f64;
            t.segment(Role::Dimension, (left - 14.0, key + 0.9), (left - 2.0, key + 0.9));
            t.text((left, key), size::SMALL, Anchor::Start, format!("{} let down", s.name));
        }
        if let Some(lost) = s.hanging.draw.leaves {
            let at = x(lost.at.draw.clamp(d0, d1));
            t.segment(Role::Mark, (at, 0.0), (at, HIGH));
        }
    }
    t.text(
        (0.0, -15.0),
        size::SMALL,
        Anchor::Start,
        "filled triangle: a click as the bow is drawn, open: as it is let down, taller for a larger jump; long-dashed upright: the loop is lost",
    );
    t
}

/// A curve of (draw, reach) on the plot.
fn polyline(curve: &[(f64, f64)], x: &dyn Fn(f64) -> f64, y: &dyn Fn(f64) -> f64) -> BezPath {
    let mut path = BezPath::new();
    for (i, &(draw, reach)) in curve.iter().enumerate() {
        let p = Point::new(x(draw), y(reach));
        if i == 0 { path.move_to(p) } else { path.line_to(p) }
    }
    path
}

/// A triangle over each click of a run, on its own curve, taller for a larger jump; filled for the draw, open for the let-down.
fn marked(
    t: &mut Template,
    run: &Run,
    curve: &[(f64, f64)],
    drawn: bool,
    x: &dyn Fn(f64) -> f64,
    y: &dyn Fn(f64) -> f64,
) {
    for click in run.clicks.iter().filter(|c| c.size.abs() >= SMOOTH) {
        let highest = curve.iter().filter(|p| p.0 == click.at.draw).map(|p| y(p.1)).fold(f64::NEG_INFINITY, f64::max);
        let (at, foot, tall) = (x(click.at.draw), highest + 0.8, (2.0 + click.size.abs() * 2e4).min(8.0));
        let mut arrow = BezPath::new();
        arrow.move_to((at - 1.2, foot + tall));
        arrow.line_to((at + 1.2, foot + tall));
        arrow.line_to((at, foot));
        arrow.close_path();
        if drawn { t.fill(Role::Note, arrow) } else { t.line(Role::Dimension, arrow) }
    }
}

fn rectangle(r: Rect) -> BezPath {
    kurbo::Shape::to_path(&r, 0.1)
}

/// Girth from the middle of the back by polar angle, at the seat: pairs (theta, m), theta rising from 0 to pi.
fn girth(solid: &TipSolid) -> Vec<[f64; 2]> {
    const POINTS: usize = 180;
    let place = |k: usize| {
        let theta = std::f64::consts::PI * k as f64 / POINTS as f64;
        let r: f64 = solid.uncut(0.0, theta);
        (theta, r * theta.sin(), r * theta.cos())
    };
    let mut along = 0.0;
    let mut last = place(0);
    let mut table = vec![[0.0, 0.0]];
    for k in 1..=POINTS {
        let here = place(k);
        along += (here.1 - last.1).hypot(here.2 - last.2);
        table.push([here.0, along]);
        last = here;
    }
    table
}
