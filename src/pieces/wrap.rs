//! The wrap: the tip's girth unrolled, to be cut out, wrapped round the shaped tip and marked through.
//!
//! Its left end is laid over the tab at its right end. A notch in the left end shows the tab's scale beside the end's own
//! divisions: together they read how far the real girth is off, to a tenth of a millimetre. Where the groove's end lies there, the
//! left end stays whole, and its edge is read by itself.

mod bands;

use std::f64::consts::PI;

use kurbo::{BezPath, Point, Shape, Vec2};

pub(super) use self::bands::{closing_bands, wanted};
use super::Subject;
use super::common::{captioned, measure, name_inside, numbered_inside, path, to_tip};
use super::shape::{Crossing, MM, groove_middle};
use crate::font::{CAP_HEIGHT, text_width};
use crate::nock::Nock;
use crate::sheets::Piece;
use crate::template::leader::{End, leader};
use crate::template::legible::crossed_texts;
use crate::template::waste::{Waste, waste_ticks};
use crate::template::{Anchor, Role, Template, paragraph::paragraph, size};
use crate::tip::flattening::Flattening;
use crate::units::number_text;

/// Length of the tab beyond the belly's middle, mm.
const TAB: f64 = 15.0;
/// Height and length of the notch at the left end that shows the tab's scale, mm. On low paper it is less high, to leave room below
/// the scale for its figures, but never less than its strokes.
const NOTCH: (f64, f64) = (3.4, 11.0);
const FIGURES: f64 = 3.4;
const STROKES: f64 = 2.5;
/// Where the notch and its divisions would take more than this part of the groove's lines on the left half, there is none.
const MOST_TAKEN: f64 = 0.25;
/// What paper may be off the tip, m. Common practice, no source: about the width of a pencil line.
pub(super) const MOST_OFF: f64 = 0.5e-3;
/// What is left of a line beside a scale is not drawn when it is shorter than this, mm.
const SHORTEST_LINE: f64 = 4.0;
/// Words over the sides stand this far out from the middle over their lines, mm.
const OUT: f64 = 1.5;
/// Divisions of the vernier: this many take up one millimetre less than their number.
const DIVISIONS: i32 = 10;

/// Draws it, or says why it cannot be wrapped.
pub(super) fn draw(subject: &Subject) -> Vec<Piece> {
    let nock = subject.worked.nocks.get(subject.side);
    let solid = &nock.solid;
    let units = subject.worked.design.units;
    let paper = subject.worked.design.sheets.paper_thickness;
    let wanted = wanted(nock, subject.shape);
    let surface = |a: f64, theta: f64| -> f64 { solid.uncut(a, theta) };
    let bands = match closing_bands(&surface, wanted, paper) {
        Ok(bands) => bands,
        Err(mismatch) => {
            let mut t = Template::new("");
            paragraph(
                &mut t,
                Point::ORIGIN,
                84.0,
                &format!(
                    "Not drawn. Paper bends one way only; on this tip it would miss the surface by {} and its ends by {} where they \
                     meet; more than {} is not worth marking through. Take the groove from the side view and the back view with dividers.",
                    measure(mismatch.off * MM, units),
                    measure(2.0 * mismatch.round * MM, units),
                    measure(MOST_OFF * MM, units),
                ),
            );
            return vec![Piece::new(captioned(subject, t, "wrap", &format!("For the shaped tip, {}.", before(nock))))];
        }
    };
    let count = bands.len();
    let reached = bands.last().map_or(wanted[1], |b| b.span[0]);
    let mut pieces = Vec::new();
    for (place, band) in bands.into_iter().enumerate() {
        let drawn = Wrap::of(subject, band);
        let mut t = Template::new("");
        drawn.cut(&mut t);
        drawn.centre_lines(&mut t);
        drawn.groove(&mut t);
        drawn.scales(&mut t);
        drawn.words(&mut t);
        if place == 0 {
            drawn.names(&mut t);
        }
        let (title, number) = match count {
            1 => ("wrap".to_owned(), String::new()),
            _ => (format!("wrap {} of {count}", place + 1), format!("{}/{count}", place + 1)),
        };
        name(subject, &mut t, &drawn.outline(), &title, &number);
        let mut words = drawn.explanation(place, count);
        if place + 1 == count && reached > wanted[0] + 0.5e-3 {
            words.push_str(&format!(
                " It ends {} before the seat: farther down paper would not lie on the tip. Take the rest of the groove from the side view.",
                measure(-reached * MM, units),
            ));
        }
        let piece = Piece::new(captioned(subject, t, &title, &words));
        pieces.push(if place + 1 < count { piece.with_next() } else { piece });
    }
    pieces
}

/// Writes on the paper whose it is, what, and which of several.
fn name(subject: &Subject, t: &mut Template, cut: &BezPath, what: &str, number: &str) {
    let near = cut.bounding_box().center();
    if number.is_empty() {
        name_inside(subject, t, cut, near, what);
    } else if !numbered_inside(subject, t, cut, near, what, number, false) {
        numbered_inside(subject, t, cut, near, what, number, true);
    }
}

/// Before which step of the work it is used.
fn before(nock: &Nock) -> &'static str {
    if nock.groove.as_ref().is_some_and(|groove| groove.wish.open) {
        "before the shoulder is filed"
    } else {
        "before the groove is cut"
    }
}

struct Wrap<'a> {
    subject: &'a Subject<'a>,
    band: Flattening,
    /// Whether the left end has a notch that shows the tab's scale, and divisions of its own beside it.
    notched: bool,
}

impl<'a> Wrap<'a> {
    /// With a notch where it does not take the groove's end, or much of its lines.
    fn of(subject: &'a Subject<'a>, band: Flattening) -> Self {
        let mut wrap = Wrap { subject, band, notched: true };
        wrap.notched = !wrap.takes_groove();
        wrap
    }

    /// Whether the notch and its divisions take the end of the groove on the left, or much of its lines there.
    fn takes_groove(&self) -> bool {
        let [from, to] = self.band.span;
        let taken = |a: f64, theta: f64| {
            let p = self.at(a, theta);
            !self.is_paper(a, p) || self.is_scale(a, p)
        };
        let here = |[a, theta]: [f64; 2]| (from..=to).contains(&a) && theta < 0.0;
        let ends = self
            .subject
            .shape
            .groove
            .iter()
            .filter_map(|run| run.last())
            .flat_map(|c| [c.low, c.high].map(|a| [a, -c.theta]));
        if self.subject.shape.even && ends.filter(|at| here(*at)).any(|[a, theta]| taken(a, theta)) {
            return true;
        }
        let (mut all, mut lost) = (0.0, 0.0);
        for (_, line) in self.groove_lines() {
            for pair in line.windows(2).filter(|pair| here(pair[0]) && here(pair[1])) {
                let long = (self.at(pair[1][0], pair[1][1]) - self.at(pair[0][0], pair[0][1])).hypot();
                all += long;
                lost += if taken(pair[0][0], pair[0][1]) { long } else { 0.0 };
            }
        }
        lost > MOST_TAKEN * all
    }
    fn point(p: [f64; 2]) -> Point {
        Point::new(p[0] * MM, p[1] * MM)
    }

    /// The place on paper of a place on the tip.
    fn at(&self, a: f64, theta: f64) -> Point {
        Self::point(self.band.place(a, theta))
    }

    /// `a` of the edge between the vernier and the tab's scale, m.
    fn reading_edge(&self) -> f64 {
        let [from, to] = self.band.span;
        (to - NOTCH.0 / MM).max(from + FIGURES / MM).min(to - STROKES / MM)
    }

    /// The place `past` mm beyond the belly's middle at the right end (minus: before it) at `a`.
    fn right(&self, a: f64, past: f64) -> Point {
        Self::point(self.band.near_belly(a, past / MM).0)
    }

    /// The place `inside` mm from the belly's middle at the left end, measured toward the back, at `a`.
    fn left(&self, a: f64, inside: f64) -> Point {
        let p = self.right(a, -inside);
        Point::new(-p.x, p.y)
    }

    fn run(&self, count: usize, place: impl Fn(f64) -> Point) -> Vec<Point> {
        (0..=count).map(|i| place(i as f64 / count as f64)).collect()
    }

    /// The closed cut line, anticlockwise from the lower left corner.
    fn outline(&self) -> BezPath {
        let [from, to] = self.band.span;
        let notch = self.reading_edge();
        let mut points: Vec<Point> = self.band.across(from, TAB / MM).into_iter().map(Self::point).collect();
        let mut upper: Vec<Point> = self.band.across(to, TAB / MM).into_iter().map(Self::point).collect();
        if self.notched {
            // The notch takes the left end's upper corner.
            let corner = self.left(to, NOTCH.1);
            upper.retain(|p| p.x > corner.x);
            points.extend(upper.into_iter().rev());
            points.push(corner);
            points.extend(self.run(24, |t| self.left(notch, NOTCH.1 * (1.0 - t))));
        } else {
            points.extend(upper.into_iter().rev());
        }
        super::common::ring(&points)
    }

    fn cut(&self, t: &mut Template) {
        let outline = self.outline();
        waste_ticks(t, &outline, Waste::Outside);
        t.line(Role::Cut, outline);
    }

    fn centre_lines(&self, t: &mut Template) {
        let [from, to] = self.band.span;
        for theta in [-0.5 * PI, 0.0, 0.5 * PI] {
            let line: Vec<[f64; 2]> = (0..=24).map(|i| [from + (to - from) * f64::from(i) / 24.0, theta]).collect();
            self.on_paper(t, Role::Centre, &line, &|a, p| self.is_paper(a, p));
        }
        // The belly's middle at the right end: the left end comes to lie along it. Below the scale's figures, or above where they leave no room.
        let end = self.reading_edge() - 4.2 / MM;
        let [low, high] = if end > from + 0.5 / MM { [from, end] } else { [self.reading_edge(), to] };
        t.line(Role::Centre, path(&self.run(4, |s| self.right(low + (high - low) * s, 0.0))));
    }

    fn groove(&self, t: &mut Template) {
        let free = |a: f64, p: Point| self.is_paper(a, p) && !self.is_scale(a, p);
        for (role, line) in self.groove_lines() {
            self.on_paper(t, role, &line, &free);
        }
    }

    /// The groove's edges and the string's line, (a, theta) as the paper has them: theta is plus to the right of the back.
    fn groove_lines(&self) -> Vec<(Role, Vec<[f64; 2]>)> {
        let shape = self.subject.shape;
        let mut lines = Vec::new();
        // Seen from outside with the tip up, `+w` lies to the left of the back.
        let on = |sign: f64, line: Vec<[f64; 2]>| -> Vec<[f64; 2]> {
            line.iter().map(|[a, theta]| [*a, -sign * theta]).collect()
        };
        for sign in shape.signs() {
            for run in &shape.groove {
                let low = run.iter().map(|c| [c.low, c.theta]);
                let high = run.iter().rev().map(|c| [c.high, c.theta]);
                // A slot on one side has two ends; of a groove alike on both sides one lies on the back's middle.
                let again = run.first().filter(|_| !shape.even).map(|c| [c.low, c.theta]);
                lines.push((Role::Outline, on(*sign, low.chain(high).chain(again).collect())));
            }
        }
        for line in groove_middle(self.subject.worked.nocks.get(self.subject.side)) {
            if shape.even && line.first().is_some_and(|[_, theta]| theta.abs() < 1e-6) {
                // One line over the back: two that begin there would be one long dash over it.
                let left = on(1.0, line.iter().skip(1).rev().copied().collect());
                lines.push((Role::Mark, [left, on(-1.0, line)].concat()));
            } else {
                lines.extend(shape.signs().iter().map(|sign| (Role::Mark, on(*sign, line.clone()))));
            }
        }
        lines
    }

    /// Whether the place `p` at `a` is on this paper, and not in the notch at its left end.
    fn is_paper(&self, a: f64, p: Point) -> bool {
        let [from, to] = self.band.span;
        (from..=to).contains(&a) && (!self.notched || a <= self.reading_edge() || p.x >= self.left(a, NOTCH.1).x)
    }

    /// Whether the strokes of either scale are there.
    fn is_scale(&self, a: f64, p: Point) -> bool {
        let up = (a - self.reading_edge()) * MM;
        let vernier =
            self.notched && (-2.7..=0.0).contains(&up) && p.x < self.left(a, f64::from(DIVISIONS - 1) + 0.5).x;
        let tab = (-0.4..=2.5).contains(&up) && p.x > self.right(a, -3.5).x;
        vernier || tab
    }

    /// Those parts of a line on the tip, (a, theta), whose places are `free`.
    fn on_paper(&self, t: &mut Template, role: Role, line: &[[f64; 2]], free: &dyn Fn(f64, Point) -> bool) {
        let [from, to] = self.band.span;
        let seen = |[a, theta]: [f64; 2]| self.at(a.clamp(from, to), theta);
        let is_free = |at: [f64; 2]| (from..=to).contains(&at[0]) && free(at[0], seen(at));
        let between = |p: [f64; 2], q: [f64; 2], part: f64| [0, 1].map(|i| p[i] + part * (q[i] - p[i]));
        let mut part: Vec<Point> = Vec::new();
        let mut parts = Vec::new();
        for (i, at) in line.iter().enumerate() {
            // A line may cross a corner of what is not free between two of its points.
            let before = i.checked_sub(1).and_then(|k| line.get(k)).copied().unwrap_or(*at);
            let mut last = before;
            for k in 1..=4 {
                let next = between(before, *at, f64::from(k) / 4.0);
                let (was, is) = (is_free(last), is_free(next));
                if was != is {
                    // Where the line crosses an edge, it is drawn up to it.
                    let (mut inside, mut outside) = if was { (last, next) } else { (next, last) };
                    for _ in 0..30 {
                        let mid = between(inside, outside, 0.5);
                        if is_free(mid) { inside = mid } else { outside = mid }
                    }
                    part.push(seen(inside));
                }
                if was && !is {
                    parts.push(std::mem::take(&mut part));
                }
                if is {
                    part.push(seen(next));
                }
                last = next;
            }
        }
        parts.push(part);
        let long = |part: &[Point]| part.windows(2).map(|p| (p[1] - p[0]).hypot()).sum::<f64>();
        for part in parts.into_iter().filter(|part| long(part) > SHORTEST_LINE) {
            t.line(role, path(&part));
        }
    }

    /// Names the groove's lines, under the paper.
    fn names(&self, t: &mut Template) {
        let shape = self.subject.shape;
        let sign = if shape.even { 1.0 } else { -1.0 };
        let free = |a: f64, theta: f64| {
            let [from, to] = self.band.span;
            let p = self.at(a.clamp(from, to), sign * theta);
            let clear = (from + 0.5 / MM..=to - 0.5 / MM).contains(&a) && self.is_paper(a, p) && !self.is_scale(a, p);
            clear.then_some(p)
        };
        // Apart from one another, so that each leader can be followed: the outer edge far out, the inner one near the back.
        let part_way = |places: Vec<Point>, tenths: usize| places.get(places.len() * tenths / 10).copied();
        let edges: Vec<Crossing> = shape.groove.iter().flatten().copied().collect();
        let string = groove_middle(self.subject.worked.nocks.get(self.subject.side));
        let of = |edge: &dyn Fn(&Crossing) -> f64, tenths: usize| -> Option<Point> {
            part_way(edges.iter().filter_map(|c| free(edge(c), c.theta)).collect(), tenths)
        };
        let line: Vec<Point> = string.iter().flatten().filter_map(|[a, theta]| free(*a, *theta)).collect();
        let named = [
            (part_way(line, 5), "the string's line"),
            (of(&|c| c.high, 8), "edge toward the tip"),
            (of(&|c| c.low, 2), "edge toward the handle"),
        ];
        let mut named: Vec<(Point, &str)> = named.into_iter().filter_map(|(p, words)| Some((p?, words))).collect();
        // From right to left, each a row lower: no leader runs through another's words.
        named.sort_by(|p, q| q.0.x.total_cmp(&p.0.x));
        // Under the words beside it, too.
        let low = self.outline().bounding_box().y0.min(self.arrow().y + 2.0);
        let mut knee = f64::INFINITY;
        for (row, (target, words)) in named.into_iter().enumerate() {
            knee = (target.x + 1.0).min(knee - 0.8);
            leader(t, target, Point::new(knee.max(target.x), low - 4.0 - 4.4 * row as f64), End::Arrow, words);
        }
    }

    /// How much longer the way to the left end is because it lies on top of the tab, mm: the tab's thickness times how far
    /// the tip turns under it. The belly is flat or nearly so, and it seldom shows.
    fn lift(&self) -> f64 {
        let notch = self.reading_edge();
        let heading = |past: f64| {
            let solid = &self.subject.worked.nocks.get(self.subject.side).solid;
            // Turn of the section from the belly's middle over the tab's length.
            let r = |theta: f64| -> f64 { solid.uncut(notch, theta) };
            let (mut way, mut theta) = (0.0, PI);
            let step = 0.01;
            let tangent = |theta: f64| {
                let (p, q) = (r(theta - step), r(theta + step));
                let (s0, c0) = (theta - step).sin_cos();
                let (s1, c1) = (theta + step).sin_cos();
                (q * c1 - p * c0).atan2(q * s1 - p * s0)
            };
            let start = tangent(theta);
            while way < past && theta < 2.0 * PI {
                way += r(theta) * step * MM;
                theta += step;
            }
            let turn = tangent(theta) - start;
            turn - 2.0 * PI * (turn / (2.0 * PI)).round()
        };
        heading(TAB).abs() * self.band.paper * MM
    }

    fn scales(&self, t: &mut Template) {
        let notch = self.reading_edge();
        let lift = self.lift();
        // On the tab, above the reading edge: millimetres, 0 where the left end lies when the girth is as expected.
        let main = |k: f64| k - lift;
        for k in -3..=11 {
            let at = self.right(notch, main(f64::from(k)));
            let long = if k % 5 == 0 { 2.0 } else { 1.2 };
            t.segment(Role::Note, at, self.right(notch + long / MM, main(f64::from(k))));
        }
        // On the left end, below it: its divisions are a tenth shorter.
        for k in (0..=DIVISIONS).filter(|_| self.notched) {
            let inside = f64::from(k) * f64::from(DIVISIONS - 1) / f64::from(DIVISIONS);
            let long = if k % 5 == 0 { 2.2 } else { 1.2 };
            t.segment(Role::Note, self.left(notch, inside), self.left(notch - long / MM, inside));
        }
        // The line on the tab that the notch's edge comes to lie on.
        t.line(Role::Dimension, path(&self.run(8, |s| self.right(notch, -3.0 + (TAB + 3.0 - 1.0) * s))));
        for figure in [0.0, 5.0, 10.0] {
            self.lettered(t, notch - 1.0 / MM, main(figure), &number_text(figure, 0));
        }
    }

    /// Words under the place `past` mm beyond the belly's middle at `a`, set along the girth.
    fn lettered(&self, t: &mut Template, a: f64, past: f64, words: &str) {
        let (at, [x, y]) = self.band.near_belly(a, past / MM);
        let way = Vec2::new(x, y);
        let at = Self::point(at) - way.turn_90() * (CAP_HEIGHT * size::SMALL);
        let mut tried = t.clone();
        tried.words(at, size::SMALL, Anchor::Middle, way.atan2().to_degrees(), false, words);
        // Where the groove runs under it, a figure of the scale is left out.
        if crossed_texts(&tried).is_empty() {
            *t = tried;
        }
    }

    fn words(&self, t: &mut Template) {
        let to = self.band.span[1];
        let half = 0.5 * text_width("side", size::SMALL, false);
        let mut label = |theta: f64, words: &str, off: f64, anchor: Anchor| {
            // Where the paper's edge rises outward, over its place below the words' outer end.
            let [p, q] = [0.95, 1.05].map(|part| self.at(to, theta * part));
            let rise = if theta == 0.0 { 0.0 } else { (q.y - p.y) / (q.x - p.x).abs() * (half + OUT) };
            let at = self.at(to, theta);
            t.words((at.x + off, at.y + 2.4 + rise.max(0.0)), size::SMALL, anchor, 0.0, false, words);
        };
        label(0.0, "back", 0.0, Anchor::Middle);
        // Over its line, a little out, and in larger letters away from the back.
        label(0.5 * PI, "side", OUT - half, Anchor::Start);
        label(-0.5 * PI, "side", half - OUT, Anchor::End);
        to_tip(t, self.arrow(), true);
    }

    /// Where the arrow that says which way the tip lies begins.
    fn arrow(&self) -> Point {
        let [from, to] = self.band.span;
        let middle = 0.5 * (self.at(from, 0.0).y + self.at(to, 0.0).y);
        Point::new(self.right(to, TAB).x.max(self.right(from, TAB).x) + 7.0, middle - 10.0)
    }

    /// What is printed above the wrap.
    fn explanation(&self, place: usize, count: usize) -> String {
        let units = self.subject.worked.design.units;
        let paper = self.band.paper;
        let [from, to] = self.band.span;
        let (at, where_at) = match (from <= 0.0 && 0.0 <= to, to < 0.0) {
            (true, _) => (0.0, "at the seat"),
            (_, true) => (to, "at the upper edge"),
            _ => (from, "at the lower edge"),
        };
        let on_paper = self.band.girth(at);
        let mut words = format!(
            "Girth {where_at} {}; on this paper, {} mm thick, {} mm. ",
            measure((on_paper - PI * paper) * MM, units),
            number_text(paper * MM, 2),
            number_text(on_paper * MM, 2),
        );
        if place == 0 {
            let seat = if self.subject.shape.even {
                "its crossing with the string's line on the seat"
            } else {
                "the highest place of the string's line at the height of the seat"
            };
            words.push_str(&format!(
                "For the shaped tip, {}. Printed face outside. Lay the back's line on the middle of the back, {seat}; wrap both ends to the belly, the left end over the tab. The left end's edge reads the \
                 girth's error on the tab's scale in mm, its divisions a tenth: beyond 0 the tip is too thick. ",
                before(self.subject.worked.nocks.get(self.subject.side)),
            ));
        }
        if count > 1 && place == 0 {
            words.push_str(&format!("One paper would not lie on this tip: {count}, edge to edge. "));
        } else if count > 1 {
            words.push_str("Its upper edge joins the lower edge of the one before. ");
        }
        if !self.notched {
            words.push_str("Lines to mark take the place of this left end's divisions: read its edge to half a mm. ");
        }
        let worst = self.band.mismatch.worst() * MM;
        if worst < 0.02 {
            words.push_str("The surface unrolls flat here.");
        } else {
            words.push_str(&format!(
                "Paper misses the tip by {} mm at most, and its ends by {} mm where they meet.",
                number_text(worst, 2),
                number_text(2.0 * self.band.mismatch.round * MM, 2)
            ));
        }
        words
    }
}
