//! The loop on the tip through the draw: where it touches the unrolled tip, and how far its throat reaches.

use crate::design::Units;
use crate::string::hanging::Hanging;
use crate::template::{Anchor, Role, Template, size};
use crate::tip::TipSolid;
use crate::units::{INCH, number_text};
use kurbo::{BezPath, Point, Rect};

/// One nock's part of the figure.
pub struct Shown<'a> {
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
    let mut t = Template::new(format!("footprint, {}", shown.name));
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
    let own = shown.hanging.first_own..=shown.hanging.last_own.min(lines.len().saturating_sub(1));
    for (k, points) in lines.iter().enumerate() {
        let ends = k == *own.start() || k == *own.end() || k + 1 == lines.len();
        if points.len() < 2 || !(ends || k % 4 == 0) {
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
        t.line(if ends { Role::Mark } else { Role::String }, path);
    }
    for (x, word) in [(-0.75 * wide, "side"), (0.0, "back"), (0.75 * wide, "side")] {
        t.text((x, highest + 1.4), size::SMALL, Anchor::Middle, word);
    }
    t.text((-wide, highest + 6.0), size::BODY, Anchor::Start, shown.name);
    t.text((-wide, lowest - 4.0), size::SMALL, Anchor::Start, "3:1, not for tracing; tip's end up");
    t
}

/// Reach of the throat against draw, all nocks in one plot, clicks marked.
pub fn reach(shown: &[Shown], units: Units) -> Template {
    let mut t = Template::new("reach of the throat against draw");
    const WIDE: f64 = 150.0;
    const HIGH: f64 = 70.0;
    let points = |s: &Shown| -> Vec<(f64, f64)> {
        s.hanging.draw.steps.iter().zip(&s.hanging.draw.figures).map(|(k, f)| (k.draw, f.along_pull)).collect()
    };
    let all: Vec<(f64, f64)> = shown.iter().flat_map(points).collect();
    let range = |values: &mut dyn Iterator<Item = f64>| {
        values.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)))
    };
    let (d0, d1) = range(&mut all.iter().map(|p| p.0));
    let (r0, r1) = range(&mut all.iter().map(|p| p.1));
    if !(d1 > d0 && r1 > r0) {
        t.text((0.0, 0.0), size::BODY, Anchor::Start, "no rest was found for the loop, so there is no reach to show");
        return t;
    }
    let (unit, name) = match units {
        Units::Inch => (INCH, "in"),
        Units::Millimetre => (1e-3, "mm"),
    };
    let x = |draw: f64| (draw - d0) / (d1 - d0) * WIDE;
    let y = |reach: f64| (reach - r0) / (r1 - r0) * HIGH;
    t.line(Role::Outline, rectangle(Rect::new(0.0, 0.0, WIDE, HIGH)));
    for mark in marks(d0 / unit, d1 / unit) {
        let at = x(mark * unit);
        t.segment(Role::Dimension, (at, 0.0), (at, -1.5));
        t.text((at, -5.0), size::SMALL, Anchor::Middle, number_text(mark, 0));
    }
    for mark in marks(r0 * 1e3, r1 * 1e3) {
        let at = y(mark * 1e-3);
        t.segment(Role::Dimension, (0.0, at), (-1.5, at));
        t.text((-2.5, at - 0.9), size::SMALL, Anchor::End, number_text(mark, if r1 - r0 < 4e-3 { 1 } else { 0 }));
    }
    t.text((WIDE / 2.0, -10.0), size::SMALL, Anchor::Middle, format!("draw, {name}"));
    t.text((0.0, HIGH + 10.0), size::BODY, Anchor::Start, "reach of the throat along the pull, mm");
    for (k, s) in shown.iter().enumerate() {
        let role = if k == 0 { Role::Outline } else { Role::Hidden };
        let mut path = BezPath::new();
        for (i, &(draw, reach)) in points(s).iter().enumerate() {
            let p = Point::new(x(draw), y(reach));
            if i == 0 { path.move_to(p) } else { path.line_to(p) }
        }
        if path.elements().len() > 1 {
            t.line(role, path);
        }
        let (key, left) = (HIGH + 3.0, 16.0 + 60.0 * k as f64);
        t.segment(role, (left - 14.0, key + 0.9), (left - 2.0, key + 0.9));
        t.text((left, key), size::SMALL, Anchor::Start, s.name);
        let curve = points(s);
        let height = |draw: f64| {
            let i = curve.partition_point(|p| p.0 < draw).clamp(1, curve.len().saturating_sub(1).max(1));
            curve.get(i).or(curve.last()).map_or(0.0, |p| y(p.1))
        };
        for click in &s.hanging.draw.clicks {
            if click.size.abs() < 5e-6 {
                continue;
            }
            let at = x(click.at.draw.clamp(d0, d1));
            // The mark stands on its own nock's curve, taller for a larger jump.
            let (foot, tall) = (height(click.at.draw) + 0.8, (2.0 + click.size.abs() * 2e4).min(8.0));
            let mut arrow = BezPath::new();
            arrow.move_to((at - 1.2, foot + tall));
            arrow.line_to((at + 1.2, foot + tall));
            arrow.line_to((at, foot));
            arrow.close_path();
            t.fill(Role::Note, arrow);
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
        "filled triangle: a click, taller for a larger jump; long-dashed upright: the loop is lost",
    );
    t
}

/// Whole numbers between two values, about five to ten of them.
fn marks(low: f64, high: f64) -> Vec<f64> {
    let rough = (high - low) / 7.0;
    let power = 10f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0].into_iter().map(|m| m * power).find(|s| *s >= rough).unwrap_or(rough);
    let first = (low / step).ceil() as i64;
    (first..).map(|k| k as f64 * step).take_while(|v| *v <= high).take(20).collect()
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
