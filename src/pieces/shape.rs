//! The finished tip as lines to draw: silhouettes, the groove's edges, the string. Millimetres, in the tip frame.

use std::f64::consts::{FRAC_PI_2, PI};

use kurbo::Point;

use crate::design::BowString;
use crate::nock::Nock;
use crate::tip::{Cut, TipSolid};

/// Millimetres in a metre.
pub(super) const MM: f64 = 1e3;

/// A cut shallower than this does not count as groove, m: its edges are rounded and have no sharp end.
const SHALLOWEST: f64 = 0.02e-3;

/// The groove across one polar angle: from where to where along `a`, m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Crossing {
    /// Polar angle, rad.
    pub theta: f64,
    /// Its edge toward the handle.
    pub low: f64,
    /// Its edge toward the tip.
    pub high: f64,
}

/// One tip, ready to be drawn.
#[derive(Debug, Clone)]
pub(super) struct TipShape {
    /// How far the drawing goes toward the handle, m along `a`.
    pub shown_from: f64,
    /// Back and belly of the silhouette seen from the side, (a, b), mm, from the handle to the end.
    pub back: Vec<Point>,
    /// See `back`.
    pub belly: Vec<Point>,
    /// The silhouette seen from the back, (a, |w|), mm, its `+w` side.
    pub side: Vec<Point>,
    /// The same of its `-w` side.
    pub other_side: Vec<Point>,
    /// Whether both sides are alike.
    pub even: bool,
    /// The groove: runs of crossings by rising polar angle, on the `+w` side where both are alike, else on both.
    pub groove: Vec<Vec<Crossing>>,
    /// Letter and place of each station, m along `a`, from the handle to the end.
    pub stations: Vec<(char, f64)>,
}

impl TipShape {
    /// The lines of a nock's tip. `least_angle` is the flattest string angle drawn, rad.
    pub fn of(nock: &Nock, least_angle: f64) -> Self {
        let solid = &nock.solid;
        let groove = crossings(nock);
        let low = groove.iter().flatten().map(|c| c.low).fold(nock.from, f64::min);
        // The string at brace comes out under the belly within the drawing.
        // On the bare side of a slot it goes round the tip first.
        let round = nock.groove.as_ref().filter(|groove| !groove.is_even());
        let round = round.map_or(nock.seat_offset, |g| g.girth.along(FRAC_PI_2 + g.girth.about.abs()));
        let depth = round + 0.5 * solid.limb.thickness.at(-0.03);
        let beyond = if nock.is_even() { 20e-3 } else { 10e-3 };
        let out = -(depth + 6e-3) / least_angle.tan().max(0.2) - beyond;
        let shown_from = (low - 8e-3).min(out).max(-105e-3);
        let places = places(shown_from, span(&groove), solid);
        let even = nock.is_even();
        let mut shape = TipShape {
            shown_from,
            back: vec![],
            belly: vec![],
            side: vec![],
            other_side: vec![],
            even,
            groove,
            stations: stations(nock, low),
        };
        for a in places {
            let mut reach = [0.0_f64; 4];
            for i in if even { 0 } else { -30 }..=30 {
                let t = 0.05 * f64::from(i);
                reach[0] = reach[0].max(solid.radius(a, t) * t.cos());
                reach[1] = reach[1].max(solid.radius(a, PI - t) * t.cos());
            }
            for i in -26..=26 {
                let t = FRAC_PI_2 + 0.05 * f64::from(i);
                reach[2] = reach[2].max(solid.radius(a, t) * t.sin());
                if !even {
                    reach[3] = reach[3].max(solid.radius(a, -t) * t.sin());
                }
            }
            let [back, belly, side, other] = reach.map(|r| r * MM);
            shape.back.push(Point::new(a * MM, back));
            shape.belly.push(Point::new(a * MM, -belly));
            shape.side.push(Point::new(a * MM, side));
            shape.other_side.push(Point::new(a * MM, if even { side } else { other }));
        }
        shape
    }

    /// How the groove's polar angles are to be taken to draw it whole: as they are, and mirrored where only one side is held.
    pub fn signs(&self) -> &'static [f64] {
        if self.even { &[1.0, -1.0] } else { &[1.0] }
    }

    /// The groove as far as it lies on one side, 1 for `+w` and -1 for `-w`, by polar angles from the back outward.
    pub fn groove_on(&self, seen: f64) -> Vec<Vec<Crossing>> {
        if self.even {
            return self.groove.clone();
        }
        let on = |run: &Vec<Crossing>| {
            let mut on: Vec<Crossing> = run.iter().filter(|c| c.theta * seen >= 0.0).copied().collect();
            if seen < 0.0 {
                on.reverse();
            }
            on
        };
        self.groove.iter().map(on).filter(|run| run.len() > 1).collect()
    }

    /// Where the groove lies along `a`, m; around the seat when there is none.
    pub fn groove_span(&self) -> [f64; 2] {
        span(&self.groove)
    }

    /// The greatest distance of a side from the middle within the drawing, mm.
    pub fn widest(&self) -> f64 {
        self.side.iter().chain(&self.other_side).map(|p| p.y).fold(0.0, f64::max)
    }

    /// The greatest height of the back over the centreline within the drawing, mm.
    pub fn top(&self) -> f64 {
        self.back.iter().map(|p| p.y).fold(0.0, f64::max)
    }

    /// The greatest depth of the belly under the centreline, mm, as a negative number.
    pub fn bottom(&self) -> f64 {
        self.belly.iter().map(|p| p.y).fold(0.0, f64::min)
    }

    /// The height of a silhouette at `a` mm.
    pub fn at(line: &[Point], a: f64) -> f64 {
        let i = line.partition_point(|p| p.x < a).clamp(1, line.len().max(2) - 1);
        match (line.get(i - 1), line.get(i)) {
            (Some(p), Some(q)) if q.x > p.x => p.y + (q.y - p.y) * ((a - p.x) / (q.x - p.x)).clamp(0.0, 1.0),
            (Some(p), _) => p.y,
            _ => 0.0,
        }
    }
}

/// Places along `a` close enough to draw by: closer in the groove's span, and closing up toward the rounded end.
fn places(from: f64, groove: [f64; 2], solid: &TipSolid) -> Vec<f64> {
    let straight = solid.end - solid.rounding;
    let (low, high) = (groove[0] - 1e-3, (groove[1] + 1e-3).min(straight));
    let mut all = vec![from];
    while let Some(a) = all.last().map(|a| a + if *a > low && *a < high { 0.25e-3 } else { 0.8e-3 }) {
        if a >= straight {
            break;
        }
        all.push(a);
    }
    all.extend((0..=24).map(|i| straight + solid.rounding * (FRAC_PI_2 * f64::from(i) / 24.0).sin()));
    all
}

/// Where crossings lie along `a`, m; around the seat when there are none.
fn span(groove: &[Vec<Crossing>]) -> [f64; 2] {
    let all = groove.iter().flatten();
    let span = all.fold([f64::INFINITY, f64::NEG_INFINITY], |s, c| [s[0].min(c.low), s[1].max(c.high)]);
    if span[0] < span[1] { span } else { [-2e-3, 2e-3] }
}

/// The groove's edges, on the `+w` side where both are alike.
fn crossings(nock: &Nock) -> Vec<Vec<Crossing>> {
    // A guide down the belly is drawn by itself.
    let cuts: Vec<Cut> = nock.solid.cuts.iter().filter(|cut| !matches!(cut, Cut::Guide(_))).cloned().collect();
    if cuts.is_empty() {
        return Vec::new();
    }
    let solid = TipSolid { cuts, ..nock.solid.clone() };
    let removed = |a: f64, t: f64| -> f64 {
        let uncut: f64 = solid.uncut(a, t);
        uncut - solid.radius(a, t)
    };
    let (from, to) = search_span(nock);
    let step = 0.6e-3;
    let n = ((to - from) / step).ceil() as usize;
    let edge = |mut inside: f64, mut outside: f64, t: f64| {
        for _ in 0..14 {
            let mid = 0.5 * (inside + outside);
            if removed(mid, t) > SHALLOWEST { inside = mid } else { outside = mid }
        }
        inside
    };
    let mut runs: Vec<Vec<Crossing>> = Vec::new();
    let mut open = false;
    for k in if nock.is_even() { 0 } else { -108 }..=108 {
        let theta = PI * f64::from(k) / 108.0;
        let inside: Vec<usize> = (0..=n).filter(|i| removed(from + step * *i as f64, theta) > SHALLOWEST).collect();
        let (Some(first), Some(last)) = (inside.first(), inside.last()) else {
            open = false;
            continue;
        };
        let at = |i: usize| from + step * i as f64;
        let crossing = Crossing {
            theta,
            low: edge(at(*first), at(*first) - step, theta),
            high: edge(at(*last), at(*last) + step, theta),
        };
        if !open {
            runs.push(Vec::new());
        }
        open = true;
        if let Some(run) = runs.last_mut() {
            run.push(crossing);
        }
    }
    runs.retain(|run| run.len() > 1);
    runs
}

/// Where along `a` a groove can lie, m.
fn search_span(nock: &Nock) -> (f64, f64) {
    let low = match &nock.groove {
        Some(groove) => groove.wall.at(groove.run[1]) - 2.0 * (groove.wish.radius + groove.wish.edge),
        None => nock.from - 45e-3,
    };
    (low.max(-120e-3), nock.solid.end - 0.2e-3)
}

/// Stations: on the limb, in the groove's turn, at the seat, behind the groove.
fn stations(nock: &Nock, low: f64) -> Vec<(char, f64)> {
    let end = nock.solid.end;
    let reach = nock.groove.as_ref().map_or(2e-3, |g| g.wish.radius + g.wish.edge);
    let turn = nock.groove.as_ref().map_or(0.4 * low, |g| g.wall.at(g.wall.turned()));
    let straight = end - nock.solid.rounding;
    let behind = (reach + 1e-3).max(0.5 * straight).min(0.9 * end);
    let mut places = vec![low - 3e-3, 0.5 * (low + turn), turn.min(-reach), 0.0, behind];
    places.sort_by(f64::total_cmp);
    places.dedup_by(|a, b| (*a - *b).abs() < 1.5e-3);
    ('A'..='Z').zip(places).collect()
}

/// The string's centreline seen from the side, (a, b) mm, when it leaves at `angle` (rad): from the middle of the back along
/// the wall to where it leaves it, over the floor to the side, and straight on for `length` mm. Also the number of the point
/// where it leaves the wall. `seen` is the side looked at, 1 for `+w` and -1 for `-w`.
pub(super) fn string_line(nock: &Nock, string: &BowString, angle: f64, length: f64, seen: f64) -> (Vec<Point>, usize) {
    if let Some(groove) = nock.groove.as_ref().filter(|groove| !groove.is_even()) {
        return super::slot_string::seen_from(nock, groove, string, angle, length, seen);
    }
    let mut line = vec![Point::new(0.0, nock.seat_offset * MM)];
    let mut leaves = 0;
    if let Some(groove) = &nock.groove {
        let left = groove.wall.where_angle(angle).clamp(0.0, groove.girth.side);
        let n = 160;
        for i in 1..=n {
            let g = groove.girth.side * f64::from(i) / f64::from(n);
            let a = if g <= left { groove.wall.at(g) } else { groove.wall.at(left) - (g - left) / angle.tan() };
            let theta = groove.girth.angle(g);
            let slant = groove.girth.slant(theta);
            let uncut: f64 = nock.solid.uncut(a.min(nock.solid.end), theta);
            let depth: f64 = groove.depth(g);
            let out = uncut + (0.5 * string.diameter - depth) * slant;
            let p = Point::new(a * MM, out * theta.cos() * MM);
            if line.last().is_none_or(|q| (p - *q).hypot() > 0.08) {
                if g <= left {
                    leaves = line.len();
                }
                line.push(p);
            }
        }
    }
    let last = line[line.len() - 1];
    line.push(last + kurbo::Vec2::new(-angle.cos(), -angle.sin()) * length);
    (line, leaves)
}

/// The line down the middle of the groove: (a, theta) from the back outward on the `+w` side; of a groove on one side only the whole.
pub(super) fn groove_middle(nock: &Nock) -> Vec<Vec<[f64; 2]>> {
    if let Some(groove) = &nock.groove {
        let n = 120;
        let end = groove.run[1].min(0.98 * groove.girth.half);
        if !groove.is_even() {
            let on = |i: i32| (end * f64::from(i.abs()) / f64::from(n), f64::from(i.signum()));
            let place = |i: i32| {
                let (g, arm) = on(i);
                [groove.wall.at(g), groove.theta(g, arm)]
            };
            return vec![(-n..=n).map(place).collect()];
        }
        let line = (0..=n)
            .map(|i| end * f64::from(i) / f64::from(n))
            .map(|g| [groove.wall.at(g), groove.girth.angle(g)])
            .collect();
        return vec![line];
    }
    let passes = nock.solid.cuts.iter().filter_map(|cut| match cut {
        Cut::Pass(pass) if pass.through[1] > 0.0 => Some(pass),
        _ => None,
    });
    passes
        .map(|pass| {
            let along = |t: f64| [0, 1, 2].map(|i| pass.through[i] + t * pass.along[i]);
            (-40..=120)
                .map(|k| along(f64::from(k) * 0.4e-3))
                .map(|[a, w, b]| [a, w.atan2(b)])
                .filter(|[a, t]| {
                    let (uncut, cut): (f64, f64) = (nock.solid.uncut(*a, *t), nock.solid.radius(*a, *t));
                    uncut - cut > SHALLOWEST
                })
                .collect::<Vec<_>>()
        })
        .filter(|line| line.len() > 1)
        .collect()
}
