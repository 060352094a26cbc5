//! Sections through the nock at its stations, hatched by material.

use kurbo::{BezPath, Point};

use super::Subject;
use super::common::{captioned, measure, ring};
use super::shape::MM;
use crate::sheets::Piece;
use crate::template::hatch::hatch;
use crate::template::table::{Column, table};
use crate::template::{Anchor, Role, Template, size};
use crate::tip::{Shell, TipSolid};

/// Points of a section's outline.
const POINTS: usize = 240;
/// Between the middles of two sections there is at least this, mm.
const APART: f64 = 27.0;

/// Draws them.
pub(super) fn draw(subject: &Subject) -> Vec<Piece> {
    let mut t = Template::new("");
    let nock = subject.worked.nocks.get(subject.side);
    let units = subject.worked.design.units;
    let stations = &subject.shape.stations;
    let outlines: Vec<Vec<Point>> = stations
        .iter()
        .map(|(_, a)| nock.solid.section(*a, POINTS).iter().map(|p| Point::new(p[0] * MM, p[1] * MM)).collect())
        .collect();
    let widest = outlines.iter().flatten().map(|p| p.x).fold(0.0, f64::max);
    let lowest = outlines.iter().flatten().map(|p| p.y).fold(0.0, f64::min);
    let highest = outlines.iter().flatten().map(|p| p.y).fold(0.0, f64::max);
    let apart = APART.max(2.0 * widest + 6.0);
    let mut rows = Vec::new();
    for (place, ((letter, a), outline)) in stations.iter().zip(&outlines).enumerate() {
        let x = place as f64 * apart;
        let by = kurbo::Affine::translate((x, 0.0));
        section(&mut t, &nock.solid, *a, outline, by);
        let (width, height) = extent(outline);
        t.segment(Role::Centre, (x, highest + 2.0), (x, lowest - 2.0));
        t.segment(Role::Centre, (x - 0.5 * width - 2.0, 0.0), (x + 0.5 * width + 2.0, 0.0));
        t.words((x, highest + 3.5), size::BODY, Anchor::Middle, 0.0, true, format!("{letter} – {letter}"));
        let [low, high] = subject.shape.groove_span();
        if !subject.shape.even && (low..=high).contains(a) {
            // Looking from the tip, `+w` lies to the right.
            let (way, anchor) = if nock.crest() > 0.0 { (1.0, Anchor::Start) } else { (-1.0, Anchor::End) };
            t.words((x + way * (0.5 * width + 0.8), 1.2), size::SMALL, anchor, 0.0, false, "slot");
        }
        rows.push(vec![letter.to_string(), where_it_is(*a, units), measure(width, units), measure(height, units)]);
    }
    let columns = [
        Column::words("section"),
        Column::words("from the seat"),
        Column::figures("width"),
        Column::figures("back to belly"),
    ];
    table(&mut t, Point::new(-widest - 2.0, lowest - 7.0), &columns, &rows);
    let mut words = "Looking from the tip toward the handle, back up.".to_owned();
    if nock.parts.iter().any(|part| part.name != "limb") {
        words.push_str(" Overlay, cap or strip is hatched close, wood wide.");
    }
    if !subject.shape.even {
        let hand = if nock.crest() > 0.0 { "right" } else { "left" };
        words.push_str(&format!(" The slotted side is on the {hand}."));
    }
    vec![Piece::new(captioned(subject, t, "sections through the tip", &words))]
}

fn where_it_is(a: f64, units: crate::design::Units) -> String {
    let far = measure(a.abs() * MM, units);
    if a.abs() < 0.05e-3 {
        "at it".into()
    } else if a < 0.0 {
        format!("{far} toward the handle")
    } else {
        format!("{far} toward the tip")
    }
}

/// Width and height of an outline, mm.
fn extent(outline: &[Point]) -> (f64, f64) {
    let (mut low, mut high) = (Point::new(f64::INFINITY, f64::INFINITY), Point::new(-f64::INFINITY, -f64::INFINITY));
    for p in outline {
        low = Point::new(low.x.min(p.x), low.y.min(p.y));
        high = Point::new(high.x.max(p.x), high.y.max(p.y));
    }
    (high.x - low.x, high.y - low.y)
}

/// One section, hatched, moved by `by`.
pub(super) fn section(t: &mut Template, solid: &TipSolid, a: f64, outline: &[Point], by: kurbo::Affine) {
    let n = outline.len();
    let wood: Vec<Point> = (0..n)
        .map(|i| {
            let theta = std::f64::consts::TAU * i as f64 / n as f64;
            let r = solid.wood(a, theta) * MM;
            Point::new(r * theta.sin(), r * theta.cos())
        })
        .collect();
    let (whole, inner) = (by * ring(outline), by * ring(&wood));
    let covered = !matches!(solid.shell, Shell::Bare | Shell::Eased { .. })
        && outline.iter().zip(&wood).any(|(p, q)| (*p - *q).hypot() > 0.05);
    let some_wood = wood.iter().any(|p| p.to_vec2().hypot() > 0.2);
    if some_wood {
        hatch(t, &inner, 2.0, 45.0, &[]);
    }
    if covered {
        let mut over = BezPath::new();
        over.extend(by * exact_ring(outline));
        if some_wood {
            over.extend(by * exact_ring(&wood));
        }
        hatch(t, &over, 1.0, 135.0, &[]);
        // Only the part of the wood's outline that lies under something is a line of its own.
        for run in under(outline, &wood).into_iter().filter(|_| some_wood) {
            t.line(Role::Outline, by * super::common::path(&run));
        }
    }
    t.line(Role::Outline, whole);
}

/// A closed path through all points, none left out, so that two rings that share a part share it exactly.
fn exact_ring(points: &[Point]) -> BezPath {
    let mut path = BezPath::new();
    for (i, p) in points.iter().enumerate() {
        if i == 0 { path.move_to(*p) } else { path.line_to(*p) }
    }
    path.close_path();
    path
}

/// The runs of the wood's outline that lie inside the section's, each with one point more at both ends.
fn under(outline: &[Point], wood: &[Point]) -> Vec<Vec<Point>> {
    let n = outline.len();
    let inside: Vec<bool> = (0..n).map(|i| (outline[i] - wood[i]).hypot() > 1e-6).collect();
    if inside.iter().all(|i| *i) {
        let mut ring = wood.to_vec();
        ring.push(wood[0]);
        return vec![ring];
    }
    let mut runs = Vec::new();
    // Start counting at a place where both agree.
    let first = inside.iter().position(|i| !*i).unwrap_or(0);
    let mut run: Vec<Point> = Vec::new();
    for k in 0..=n {
        let i = (first + k) % n;
        if inside[i] {
            if run.is_empty() {
                run.push(wood[(i + n - 1) % n]);
            }
            run.push(wood[i]);
        } else if !run.is_empty() {
            run.push(wood[i]);
            runs.push(std::mem::take(&mut run));
        }
    }
    runs
}
