//! File passes: in which order and at which angles the wall is roughed, and what the strokes leave.

use kurbo::{Point, Vec2};

use super::Subject;
use super::common::{captioned, path};
use super::shape::MM;
use crate::font::CAP_HEIGHT;
use crate::groove::Groove;
use crate::nock::Nock;
use crate::sheets::Piece;
use crate::template::legible::crossed_texts;
use crate::template::table::{Column, table};
use crate::template::{Anchor, Role, Template, size};
use crate::tip::Cut;
use crate::units::{angle_text, number_text};

/// How much larger the detail is.
const ENLARGED: f64 = 3.0;

/// Draws the list of strokes on the unrolled side, and the enlarged detail.
pub(super) fn draw(subject: &Subject) -> Vec<Piece> {
    let nock = subject.worked.nocks.get(subject.side);
    let Some(groove) = &nock.groove else { return straight(subject, nock) };
    let (first, both, one, shown) = if groove.is_even() {
        ("square across the back", "both sides", "One side", "One side, unrolled, back at the left, tip up.")
    } else {
        (
            "square to the limb, at the crest",
            "down the side, and over the back",
            "The arm down the side",
            "The slot's arm down the side, unrolled, its crest at the left, tip up; the arm over the back is its mirror image.",
        )
    };
    let mut t = Template::new("");
    unrolled(&mut t, subject, groove, nock, 1.0);
    let right = t.bounds().map_or(0.0, |b| b.x1) + 8.0;
    let mut rows = vec![vec!["1".to_owned(), angle_text(std::f64::consts::FRAC_PI_2), first.to_owned()]];
    for (place, angle) in nock.passes.iter().enumerate() {
        let last = place + 1 == nock.passes.len();
        let words = if last { format!("{both}; the end of the wall") } else { both.to_owned() };
        rows.push(vec![(place + 2).to_string(), angle_text(*angle), words]);
    }
    rows.push(vec![
        (nock.passes.len() + 2).to_string(),
        String::new(),
        "roll the file from stroke to stroke: blend".to_owned(),
    ]);
    let columns = [Column::figures("stroke"), Column::figures("to the limb"), Column::words("where")];
    let top = t.bounds().map_or(0.0, |b| b.y1);
    table(&mut t, Point::new(right, top), &columns, &rows);
    let words = format!(
        "{shown} A straight stroke along each line leaves ridges of {} mm at most before the last, \
         rolling stroke. Lay the file along the wall's line; file from the back toward the side, and let it run out.",
        number_text(nock.ridge * MM, 2)
    );
    let passes = Piece::new(captioned(subject, t, "file passes", &words)).with_next();

    let cut = if groove.wish.open { "shoulder" } else { "groove" };
    let mut detail = Template::new("");
    unrolled(&mut detail, subject, groove, nock, ENLARGED);
    let words = format!(
        "Enlarged {ENLARGED} times. {one} of the {cut}, unrolled: its edges, the string's middle line along the wall, and the strokes, numbered as in the list."
    );
    let mut detail = captioned(subject, detail, &format!("{cut} detail 3:1, not for tracing"), &words);
    for item in &mut detail.items {
        if let crate::template::Figure::Text { text, .. } = &mut item.figure {
            // The caption's own scale would say 1:1.
            *text = text.replace(" · 1:1", "");
        }
    }
    vec![passes, Piece::new(detail)]
}

/// For grooves that one stroke makes.
fn straight(subject: &Subject, nock: &Nock) -> Vec<Piece> {
    let Some(angle) = nock.passes.first() else { return Vec::new() };
    let mut t = Template::new("");
    let columns = [Column::figures("stroke"), Column::figures("to the limb"), Column::words("where")];
    let crosses = |cut: &Cut| matches!(cut, Cut::Pass(pass) if pass.through[1] == 0.0 && pass.along[1].abs() > 0.5);
    let across = nock.solid.cuts.iter().any(crosses);
    let mut strokes = Vec::new();
    if across {
        strokes.push((std::f64::consts::FRAC_PI_2, "square across the back, to the full depth"));
    }
    strokes.push((*angle, "each side, straight, to the full depth"));
    let row =
        |(i, (angle, words)): (usize, &(f64, &str))| vec![(i + 1).to_string(), angle_text(*angle), (*words).to_owned()];
    let rows: Vec<Vec<String>> = strokes.iter().enumerate().map(row).collect();
    table(&mut t, Point::ORIGIN, &columns, &rows);
    let words = if across {
        "One straight stroke across the back, and one down each side."
    } else {
        "One straight stroke a side."
    };
    vec![Piece::new(captioned(subject, t, "file passes", words))]
}

/// Half the girth, flat: `x` from the middle of the back round, `y` toward the tip.
fn unrolled(t: &mut Template, subject: &Subject, groove: &Groove, nock: &Nock, scale: f64) {
    let k = scale * MM;
    let point = |g: f64, a: f64| Point::new(g * k, a * k);
    let wall: Vec<Point> =
        steps(0.0, groove.run[1].min(groove.girth.half), 160).map(|g| point(g, groove.wall.at(g))).collect();
    let low = subject.shape.groove_span()[0] - 1.5e-3;
    let high = subject.shape.groove_span()[1] + 1.5e-3;
    let start = if groove.is_even() { "back" } else { "crest" };
    // Where the two lines stand close their names are set apart.
    let apart = groove.girth.side * k > 10.0;
    for (g, name, anchor) in [(0.0, start, Anchor::End), (groove.girth.side, "side", Anchor::Start)] {
        t.segment(Role::Centre, point(g, low), point(g, high));
        let anchor = if apart { Anchor::Middle } else { anchor };
        t.words(point(g, high) + Vec2::new(0.0, 1.2), size::SMALL, anchor, 0.0, false, name);
    }
    t.line(Role::Mark, path(&wall));
    // The groove's edges.
    let way = groove.way();
    let from_crest = |theta: f64| way * (theta - groove.girth.about);
    for run in &subject.shape.groove {
        let mut run: Vec<_> = run.iter().filter(|c| from_crest(c.theta) >= 0.0).collect();
        run.sort_by(|p, q| from_crest(p.theta).total_cmp(&from_crest(q.theta)));
        let low = run.iter().map(|c| point(groove.girth.along(from_crest(c.theta)), c.low));
        let high = run.iter().rev().map(|c| point(groove.girth.along(from_crest(c.theta)), c.high));
        t.line(Role::Outline, path(&low.chain(high).collect::<Vec<_>>()));
    }
    // Each stroke as a tangent of the wall; numbered where there is room.
    let turn = std::f64::consts::FRAC_PI_2 - nock.passes.last().copied().unwrap_or(0.0);
    let step = turn / nock.passes.len().max(1) as f64;
    let numbered = scale > 1.0;
    let reach = if numbered { (3.0 / step).clamp(14.0, 40.0) } else { 7.0 };
    let strokes = std::iter::once(std::f64::consts::FRAC_PI_2).chain(nock.passes.iter().copied());
    for (number, angle) in strokes.enumerate() {
        let (first, last) = (number == 0, number == nock.passes.len());
        let g = if first { 0.0 } else { groove.wall.where_angle(angle).min(groove.wall.turned()) };
        let at = point(g, groove.wall.at(g));
        // Onward: round the side and toward the handle.
        let way = Vec2::new(angle.sin(), -angle.cos());
        let (from, to) = (at - way * if first { 0.0 } else { 0.3 * reach }, at + way * reach);
        t.segment(Role::Dimension, from, to);
        if numbered {
            let low = CAP_HEIGHT * size::SMALL / 2.0;
            // The first lies along the back, the last along the wall's end: both are numbered beside.
            let up = way.turn_90();
            let mut offs: Vec<Vec2> = match (first, last) {
                (true, _) => [2.2, 2.8, 3.4].map(|k| up * k).to_vec(),
                (_, true) => [2.6, 3.2, 4.0, 5.0].map(|k| -up * k).to_vec(),
                _ => [2.2, 3.4, 4.6, 6.0].map(|k| way * k).to_vec(),
            };
            for along in [0.0, 0.15, 0.3, 0.45, 0.6] {
                offs.extend([up * 1.8, -up * 1.8, up * 2.4, -up * 2.4].map(|o| o - way * along * reach));
            }
            let number = (number + 1).to_string();
            let lettered = |off: &Vec2| {
                let mut tried = t.clone();
                tried.words(to + *off - Vec2::new(0.0, low), size::SMALL, Anchor::Middle, 0.0, true, number.clone());
                tried
            };
            // A little aside as well: a number is not to lean on a line.
            let aside = [(0.0, 0.0), (0.6, 0.0), (-0.6, 0.0), (0.0, 0.6), (0.0, -0.6)].map(|(x, y)| Vec2::new(x, y));
            let is_clear = |off: &&Vec2| aside.iter().all(|a| crossed_texts(&lettered(&(**off + *a))).is_empty());
            let clear = offs.iter().find(is_clear);
            let legible = || offs.iter().find(|off| crossed_texts(&lettered(off)).is_empty());
            let off = clear.or_else(legible).unwrap_or(&offs[0]);
            *t = lettered(off);
        }
    }
}

fn steps(from: f64, to: f64, count: usize) -> impl Iterator<Item = f64> {
    (0..=count).map(move |i| from + (to - from) * i as f64 / count as f64)
}
