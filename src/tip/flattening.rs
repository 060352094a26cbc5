//! Flattening: a band of the tip's surface as paper that is cut flat and wrapped round it.
//!
//! Paper bends one way only, so what can be wrapped is a ruled surface with one tangent plane along each ruling.
//! The band between two cross sections is given such a surface: a ruling joins the places of the two sections whose tangents
//! are parallel (for then both lie in one plane with the ruling). Cones and cylinders of any section come out exact.
//! The strips between neighbouring rulings are laid side by side in the plane with all edge lengths kept.
//!
//! The paper's middle stands half its thickness off the tip, so its length round the tip is the girth plus pi times the
//! paper's thickness.

use std::collections::HashMap;
use std::f64::consts::{FRAC_PI_2, PI};

/// Places held over half a section: of the two that a band is drawn between, and of those it is compared with.
const PLACES: usize = 720;
const COMPARED_PLACES: usize = 240;
/// Sections of a band that are compared with the paper's.
const COMPARED: usize = 16;
/// Bands are searched for on sections this far apart, m, with so many places each.
const SEARCH_STEP: f64 = 0.5e-3;
const SEARCH_PLACES: usize = 120;

/// How much a flat counts against a turn when places of two sections are paired: enough to share a flat out evenly,
/// too little to tilt the rulings elsewhere.
const FLAT_SHARE: f64 = 1e-2;
/// Between two places a section may turn by so much (sine) before it is taken to have a sharp corner there.
const CORNER: f64 = 0.15;
/// A misfit below this is not worth sharing out, m.
const UNEASED: f64 = 0.1e-3;

/// Half of a cross section, from the middle of the back to the middle of the belly.
#[derive(Debug, Clone)]
struct Half {
    /// (w, b), m.
    points: Vec<[f64; 2]>,
    /// How far the section has turned from the back at each, rad.
    turned: Vec<f64>,
    /// Way to each from the first, m.
    way: Vec<f64>,
    /// Rises along the section: how far it has turned, and a little of the way made.
    pairing: Vec<f64>,
}

impl Half {
    /// The section of `surface` at `a`, its points moved out by `out` (m).
    fn of(surface: &dyn Fn(f64, f64) -> f64, a: f64, out: f64, places: usize) -> Self {
        let even: Vec<[f64; 2]> = (0..=places)
            .map(|i| {
                let (s, c) = (PI * i as f64 / places as f64).sin_cos();
                let r = surface(a, PI * i as f64 / places as f64);
                [r * s, r * c]
            })
            .collect();
        let own = with_corners(&even);
        let last = own.len() - 1;
        // The other half is its mirror image, so the tangents at both ends are square to the axis.
        let before = [-own[1][0], own[1][1]];
        let after = [-own[last - 1][0], own[last - 1][1]];
        let mut most = 0.0_f64;
        let turned = (0..=last)
            .map(|i| {
                let p = if i == 0 { before } else { own[i - 1] };
                let q = if i == last { after } else { own[i + 1] };
                let turn = (p[1] - q[1]).atan2(q[0] - p[0]);
                // Sections that are hollow somewhere are paired as if paper spanned the hollow.
                most = most.max(if turn < -FRAC_PI_2 { turn + 2.0 * PI } else { turn });
                most
            })
            .collect();
        Half { points: own, turned, way: Vec::new(), pairing: Vec::new() }.moved(out)
    }

    /// The same section with its points moved out by `out` (m).
    fn moved(&self, out: f64) -> Self {
        let moved = |(p, t): (&[f64; 2], &f64)| [p[0] + out * t.sin(), p[1] + out * t.cos()];
        let points: Vec<[f64; 2]> = self.points.iter().zip(&self.turned).map(moved).collect();
        let way = arcs(&points);
        let whole = way.last().copied().unwrap_or(1.0);
        let pairing = self.turned.iter().zip(&way).map(|(t, l)| t + FLAT_SHARE * l / whole).collect();
        Half { points, turned: self.turned.clone(), way, pairing }
    }

    /// The place at a pairing value, by straight lines between the points.
    fn at(&self, pairing: f64) -> [f64; 2] {
        let i = self.pairing.partition_point(|p| *p < pairing).clamp(1, self.points.len() - 1);
        let (low, high) = (self.pairing[i - 1], self.pairing[i]);
        let t = if high > low { ((pairing - low) / (high - low)).clamp(0.0, 1.0) } else { 0.0 };
        lerp(self.points[i - 1], self.points[i], t)
    }
}

/// How well paper lies on the tip, m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mismatch {
    /// Greatest difference between a length round the tip from the back and the same on the paper.
    pub round: f64,
    /// Greatest distance between the paper and the tip.
    pub off: f64,
}

impl Mismatch {
    /// The worse of the two.
    pub fn worst(&self) -> f64 {
        self.round.max(self.off)
    }
}

/// A band of a tip, flat. The tip is the same on both sides.
#[derive(Debug, Clone)]
pub struct Flattening {
    /// Where the band starts and ends, m along `a`.
    pub span: [f64; 2],
    /// Thickness of the paper, m.
    pub paper: f64,
    /// How far the paper misses the tip.
    pub mismatch: Mismatch,
    /// Number of the ruling in the middle of the belly.
    belly: usize,
    /// Ends of the rulings on the two sections, (w, b), from the back over `+w` to the belly.
    on_tip: Vec<[[f64; 2]; 2]>,
    /// Ends of the rulings on the flat paper, from the back over `+w` and the belly on round to the back; m.
    flat: Vec<[[f64; 2]; 2]>,
}

impl Flattening {
    /// Lays the band of `surface` (radius by `a` and polar angle, m) between the places `span` (m) flat,
    /// for paper of thickness `paper` (m).
    ///
    /// On the paper `x` runs round the tip and `y` along it, toward the tip; the middle of the back is the line `x = 0`,
    /// and `a = 0` on it is the origin.
    pub fn of(surface: &dyn Fn(f64, f64) -> f64, span: [f64; 2], paper: f64) -> Self {
        let (ends, between) = sections(surface, span, paper);
        let paper_on_tip = rulings(&ends[0], &ends[1]);
        let mismatch = misfit(&paper_on_tip, between.iter().map(|(t, half)| (*t, half))).0;
        Self::laid(span, paper, paper_on_tip, mismatch)
    }

    /// The band as it fits best: where the tip swells or is hollow between the two ends, the misfit is shared out.
    fn eased(surface: &dyn Fn(f64, f64) -> f64, span: [f64; 2], paper: f64) -> Self {
        let (ends, between) = sections(surface, span, paper);
        let between: Vec<(f64, &Half)> = between.iter().map(|(t, half)| (*t, half)).collect();
        let (paper_on_tip, mismatch) = best_rulings(&ends[0], &ends[1], &between);
        Self::laid(span, paper, paper_on_tip, mismatch)
    }

    /// Lays rulings flat.
    fn laid(span: [f64; 2], paper: f64, on_tip: Rulings, mismatch: Mismatch) -> Self {
        let belly = on_tip.len() - 1;
        let flat = unroll(&on_tip, span[1] - span[0]);
        let mut band = Flattening { span, paper, mismatch, belly, on_tip, flat };
        let shift = band.place(0.0, 0.0)[1];
        band.flat.iter_mut().flatten().for_each(|p| p[1] -= shift);
        band
    }

    fn share(&self, a: f64) -> f64 {
        (a - self.span[0]) / (self.span[1] - self.span[0])
    }

    /// The ruling through the place at `a` and polar angle `theta` (0..pi): its number, with a fraction.
    fn ruling(&self, a: f64, theta: f64) -> f64 {
        let v = self.share(a);
        let polar = |i: usize| {
            let p = lerp(self.on_tip[i][0], self.on_tip[i][1], v);
            p[0].atan2(p[1])
        };
        let (mut low, mut high) = (0, self.belly);
        while high - low > 1 {
            let mid = (low + high) / 2;
            if polar(mid) <= theta { low = mid } else { high = mid }
        }
        let (p, q) = (polar(low), polar(high));
        low as f64 + if q > p { ((theta - p) / (q - p)).clamp(0.0, 1.0) } else { 0.0 }
    }

    /// The place on the paper at `a` and the ruling of that number, m.
    fn at_ruling(&self, a: f64, number: f64) -> [f64; 2] {
        let i = (number as usize).min(self.flat.len() - 2);
        let v = self.share(a);
        let [p, q] = [i, i + 1].map(|i| lerp(self.flat[i][0], self.flat[i][1], v));
        lerp(p, q, number - i as f64)
    }

    /// The place on the paper of the tip's place at `a` (m) and polar angle `theta` (-pi..pi, plus toward `+w`), m;
    /// and the way round the tip to it from the back, along the paper, m.
    pub fn along(&self, a: f64, theta: f64) -> ([f64; 2], f64) {
        let way = self.way(a, self.ruling(a, theta.abs()));
        (self.place(a, theta), if theta < 0.0 { -way } else { way })
    }

    /// The place on the paper of the tip's place at `a` (m) and polar angle `theta` (-pi..pi, plus toward `+w`), m.
    pub fn place(&self, a: f64, theta: f64) -> [f64; 2] {
        let [x, y] = self.at_ruling(a, self.ruling(a, theta.abs()));
        [if theta < 0.0 { -x } else { x }, y]
    }

    /// Way from the back along the paper at `a` to a ruling, m.
    fn way(&self, a: f64, number: f64) -> f64 {
        let last = number as usize;
        let mut points: Vec<[f64; 2]> =
            (0..=last.min(self.flat.len() - 1)).map(|i| self.at_ruling(a, i as f64)).collect();
        points.push(self.at_ruling(a, number));
        points.windows(2).map(|p| distance(p[0], p[1])).sum()
    }

    /// Length of the paper once round the tip at `a`, m: the girth plus pi times the paper's thickness.
    pub fn girth(&self, a: f64) -> f64 {
        2.0 * self.way(a, self.belly as f64)
    }

    /// The line across the paper at `a` from the belly's middle on the left to `past` (m) beyond the belly's middle
    /// on the right, m. The paper runs on round the tip there, so its end lies over its beginning.
    pub fn across(&self, a: f64, past: f64) -> Vec<[f64; 2]> {
        let right: Vec<[f64; 2]> = (0..=self.belly).map(|i| self.at_ruling(a, i as f64)).collect();
        let mut line: Vec<[f64; 2]> = right.iter().skip(1).rev().map(|p| [-p[0], p[1]]).collect();
        line.extend(right);
        let mut left = past;
        let mut i = self.belly;
        while left > 0.0 && i + 1 < self.flat.len() {
            let (p, q) = (self.at_ruling(a, i as f64), self.at_ruling(a, (i + 1) as f64));
            let step = distance(p, q);
            line.push(if step > left { lerp(p, q, left / step) } else { q });
            left -= step;
            i += 1;
        }
        line
    }

    /// The place on the paper `past` (m) beyond the belly's middle on the right at `a`; and the direction onward there.
    /// Minus: before it.
    pub fn near_belly(&self, a: f64, past: f64) -> ([f64; 2], [f64; 2]) {
        let step: i64 = if past >= 0.0 { 1 } else { -1 };
        let mut left = past.abs();
        let mut i = self.belly as i64;
        loop {
            let (p, q) = (self.at_ruling(a, i as f64), self.at_ruling(a, (i + step) as f64));
            let length = distance(p, q);
            let end = i + 2 * step < 0 || (i + 2 * step) as usize >= self.flat.len();
            if left <= length && length > 1e-12 || end {
                let way = [(q[0] - p[0]) / length * step as f64, (q[1] - p[1]) / length * step as f64];
                return (lerp(p, q, left / length), way);
            }
            left -= length;
            i += step;
        }
    }
}

/// Rulings' ends on two sections, (w, b), m.
type Rulings = Vec<[[f64; 2]; 2]>;

/// The two sections that a band is drawn between, and those it is compared with, with their share of the way from the first.
fn sections(surface: &dyn Fn(f64, f64) -> f64, span: [f64; 2], paper: f64) -> ([Half; 2], Vec<(f64, Half)>) {
    let ends = span.map(|a| Half::of(surface, a, 0.5 * paper, PLACES));
    let between = (0..=COMPARED)
        .map(|k| k as f64 / COMPARED as f64)
        .map(|t| (t, Half::of(surface, span[0] + t * (span[1] - span[0]), 0.5 * paper, COMPARED_PLACES)))
        .collect();
    (ends, between)
}

/// Joins the places of two sections whose tangents are parallel.
fn rulings(near: &Half, far: &Half) -> Rulings {
    let mut pairs: Vec<f64> = near.pairing.iter().chain(&far.pairing).copied().collect();
    pairs.sort_by(f64::total_cmp);
    pairs.dedup_by(|a, b| (*a - *b).abs() < 1e-12);
    pairs.iter().map(|p| [near.at(*p), far.at(*p)]).collect()
}

/// The rulings that fit the sections between best, with the misfit that is left.
fn best_rulings(near: &Half, far: &Half, between: &[(f64, &Half)]) -> (Rulings, Mismatch) {
    let tight = rulings(near, far);
    let (mismatch, [short, long]) = misfit(&tight, between.iter().copied());
    if mismatch.worst() < UNEASED {
        return (tight, mismatch);
    }
    // Half way round, a way grows by pi times what the paper is moved out.
    let loose = -0.5 * (short + long) / PI;
    let eased = rulings(&near.moved(loose), &far.moved(loose));
    let better = misfit(&eased, between.iter().copied()).0;
    if better.worst() < mismatch.worst() { (eased, better) } else { (tight, mismatch) }
}

/// How far the paper misses the tip, and by how much ways round it from the back are too short and too long on it, m.
fn misfit<'a>(on_tip: &Rulings, between: impl Iterator<Item = (f64, &'a Half)>) -> (Mismatch, [f64; 2]) {
    let belly = on_tip.len() - 1;
    let mut off = 0.0_f64;
    let mut range = [0.0_f64; 2];
    for (t, real) in between {
        let ruled: Vec<[f64; 2]> = on_tip.iter().map(|r| lerp(r[0], r[1], t)).collect();
        let ruled_way = arcs(&ruled);
        let mut i = 1;
        for (place, p) in real.points.iter().enumerate() {
            // Not yet as far round as p.
            while i < belly && cross_of(ruled[i], *p) < 0.0 {
                i += 1;
            }
            let (u, v) = (ruled[i - 1], ruled[i]);
            let (cu, cv) = (cross_of(u, *p), cross_of(v, *p));
            let s = if (cv - cu).abs() > 1e-18 { (-cu / (cv - cu)).clamp(0.0, 1.0) } else { 0.0 };
            let q = lerp(u, v, s);
            let longer = ruled_way[i - 1] + s * (ruled_way[i] - ruled_way[i - 1]) - real.way[place];
            range = [range[0].min(longer), range[1].max(longer)];
            // Distance square to the section, not along the ray.
            let edge = distance(u, v);
            let square = if edge > 1e-12 { (cross_of(sub(p, &u), sub(&v, &u)) / edge).abs() } else { distance(*p, q) };
            off = off.max(square.min(distance(*p, q)));
        }
    }
    (Mismatch { round: range[1].max(-range[0]), off }, range)
}

/// Bands of paper for one tip, looked for on coarse sections at even steps from the tip's end toward the handle. What is found of one
/// band is kept, for it is asked again for other limits.
pub struct Bands<'a> {
    surface: &'a dyn Fn(f64, f64) -> f64,
    paper: f64,
    wanted: [f64; 2],
    sections: Vec<Half>,
    misfits: HashMap<[usize; 2], Mismatch>,
    laid: HashMap<[usize; 2], Flattening>,
}

impl<'a> Bands<'a> {
    /// For `surface` (radius by `a` and polar angle, m) between the places `wanted` (m), and paper of thickness `paper` (m).
    pub fn of(surface: &'a dyn Fn(f64, f64) -> f64, wanted: [f64; 2], paper: f64) -> Self {
        let count = ((wanted[1] - wanted[0]) / SEARCH_STEP).ceil().max(1.0) as usize;
        let at = |i: usize| wanted[1] - (wanted[1] - wanted[0]) * i as f64 / count as f64;
        let sections = (0..=count).map(|i| Half::of(surface, at(i), 0.5 * paper, SEARCH_PLACES)).collect();
        Bands { surface, paper, wanted, sections, misfits: HashMap::new(), laid: HashMap::new() }
    }

    /// Bands edge to edge that paper fits to `limit` (m), from the tip's end of what is wanted to the handle's: as few as will
    /// do, none shorter than `shortest` (m), and at most `most` of them. Where so many do not do, the last ends before the handle's end.
    ///
    /// # Errors
    /// How far even the shortest first band misses the tip.
    pub fn fitting(&mut self, shortest: f64, limit: f64, most: usize) -> Result<Vec<Flattening>, Mismatch> {
        let last = self.sections.len() - 1;
        let whole = self.wanted[1] - self.wanted[0];
        let shortest = ((shortest / whole * last as f64).ceil() as usize).clamp(1, last);
        let mut ends = self.reach(shortest, limit, most)?;
        if ends.len() > 1 && ends.last() == Some(&last) {
            // The same number of bands with a smaller misfit has it shared out evenly.
            let (mut fits, mut fails) = (limit, 0.0);
            for _ in 0..6 {
                let tried = 0.5 * (fits + fails);
                match self.reach(shortest, tried, most) {
                    Ok(found) if found.len() == ends.len() && found.last() == Some(&last) => {
                        (fits, ends) = (tried, found)
                    }
                    _ => fails = tried,
                }
            }
        }
        let starts: Vec<usize> = std::iter::once(0).chain(ends.iter().copied()).collect();
        Ok(starts.iter().zip(&ends).map(|(high, low)| self.eased(*high, *low)).collect())
    }

    /// Where section number `i` is, m along `a`.
    fn at(&self, i: usize) -> f64 {
        self.wanted[1] - (self.wanted[1] - self.wanted[0]) * i as f64 / (self.sections.len() - 1) as f64
    }

    /// The band from section `high` down to section `low`, laid flat as it fits best.
    fn eased(&mut self, high: usize, low: usize) -> Flattening {
        let span = [self.at(low), self.at(high)];
        let (surface, paper) = (self.surface, self.paper);
        self.laid.entry([high, low]).or_insert_with(|| Flattening::eased(surface, span, paper)).clone()
    }

    /// Misfit of the band from section `high` down to section `low`.
    fn misfit(&mut self, high: usize, low: usize) -> Mismatch {
        let sections = &self.sections;
        *self.misfits.entry([high, low]).or_insert_with(|| {
            let every = (low - high).div_ceil(12);
            let share = |i: usize| (low - i) as f64 / (low - high) as f64;
            let between: Vec<(f64, &Half)> = (high..=low).step_by(every).map(|i| (share(i), &sections[i])).collect();
            best_rulings(&sections[low], &sections[high], &between).1
        })
    }

    /// Where bands of at least `shortest` steps that each fit to `limit` (m) end, from the tip's side, each as long as it may be: section
    /// numbers.
    fn reach(&mut self, shortest: usize, limit: f64, most: usize) -> Result<Vec<usize>, Mismatch> {
        let last = self.sections.len() - 1;
        let mut ends = Vec::new();
        let mut high = 0;
        while ends.len() < most && high < last {
            let mut fits = |low: usize| self.misfit(high, low).worst() <= limit;
            let (mut good, mut bad) = ((high + shortest).min(last), last);
            if fits(last) {
                good = last;
            } else if !fits(good) {
                if ends.is_empty() {
                    return Err(self.misfit(high, good));
                }
                break;
            }
            while bad > good + 1 {
                let mid = (good + bad) / 2;
                if fits(mid) { good = mid } else { bad = mid }
            }
            // Rather than a sliver, the last band gets its least length, if it fits there.
            let fair = last.saturating_sub(shortest);
            if good < last && good > fair && fair >= high + shortest && ends.len() + 1 < most {
                let fits_last = self.misfit(fair, last).worst() <= limit;
                good = if fits_last { fair } else { good };
            }
            ends.push(good);
            high = good;
        }
        Ok(ends)
    }
}

/// The points, and between them the sharp corners that they cut off.
fn with_corners(points: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let mut all = Vec::with_capacity(points.len() + 4);
    for (i, p) in points.iter().enumerate() {
        all.push(*p);
        if i == 0 || i + 2 >= points.len() {
            continue;
        }
        let next = points[i + 1];
        let (before, after) = (sub(p, &points[i - 1]), sub(&points[i + 2], &next));
        let (bend, lengths) = (cross_of(before, after), before[0].hypot(before[1]) * after[0].hypot(after[1]));
        if bend < -CORNER * lengths {
            // p + t before = next + u after
            let t = cross_of(sub(&next, p), after) / bend;
            all.push([p[0] + t * before[0], p[1] + t * before[1]]);
        }
    }
    all
}

fn lerp(p: [f64; 2], q: [f64; 2], t: f64) -> [f64; 2] {
    [p[0] + (q[0] - p[0]) * t, p[1] + (q[1] - p[1]) * t]
}

fn sub(p: &[f64; 2], q: &[f64; 2]) -> [f64; 2] {
    [p[0] - q[0], p[1] - q[1]]
}

fn cross_of(p: [f64; 2], q: [f64; 2]) -> f64 {
    p[0] * q[1] - p[1] * q[0]
}

fn distance(p: [f64; 2], q: [f64; 2]) -> f64 {
    let [x, y] = sub(&q, &p);
    (x * x + y * y).sqrt()
}

/// Lengths along a line of points from its start.
fn arcs(points: &[[f64; 2]]) -> Vec<f64> {
    let mut sum = 0.0;
    let mut all = vec![0.0];
    all.extend(points.windows(2).map(|p| {
        sum += distance(p[0], p[1]);
        sum
    }));
    all
}

/// Lays the strips between rulings flat, from the back over the belly on to the back again.
fn unroll(half: &[[[f64; 2]; 2]], length: f64) -> Vec<[[f64; 2]; 2]> {
    let mirrored = half.iter().rev().skip(1).map(|[p, q]| [[-p[0], p[1]], [-q[0], q[1]]]);
    let round: Vec<[[f64; 3]; 2]> =
        half.iter().copied().chain(mirrored).map(|[p, q]| [[0.0, p[0], p[1]], [length, q[0], q[1]]]).collect();
    let apart =
        |p: [f64; 3], q: [f64; 3]| ((p[0] - q[0]).powi(2) + (p[1] - q[1]).powi(2) + (p[2] - q[2]).powi(2)).sqrt();
    // The corner of a triangle over the side from `p` to `q`, to the right of it, `from_p` and `from_q` away.
    let corner = |p: [f64; 2], q: [f64; 2], from_p: f64, from_q: f64| {
        let side = distance(p, q).max(1e-12);
        let along = (from_p * from_p - from_q * from_q + side * side) / (2.0 * side);
        let across = (from_p * from_p - along * along).max(0.0).sqrt();
        let way = [(q[0] - p[0]) / side, (q[1] - p[1]) / side];
        [p[0] + way[0] * along + way[1] * across, p[1] + way[1] * along - way[0] * across]
    };
    let mut flat = vec![[[0.0, 0.0], [0.0, apart(round[0][0], round[0][1])]]];
    for pair in round.windows(2) {
        let ([p0, q0], [p1, q1]) = (pair[0], pair[1]);
        let [fp, fq] = flat[flat.len() - 1];
        let np = corner(fp, fq, apart(p0, p1), apart(q0, p1));
        let nq = corner(np, fq, apart(p1, q1), apart(q0, q1));
        flat.push([np, nq]);
    }
    flat
}

#[cfg(test)]
mod tests;
