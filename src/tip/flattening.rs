//! Flattening: a band of the tip's surface as paper that is cut flat and wrapped round it.
//!
//! Paper bends one way only, so what can be wrapped is a ruled surface with one tangent plane along each ruling.
//! The band between two cross sections is given such a surface: a ruling joins the places of the two sections whose tangents
//! are parallel (for then both lie in one plane with the ruling). Cones and cylinders of any section come out exact.
//! The strips between neighbouring rulings are laid side by side in the plane with all edge lengths kept.
//!
//! The paper's middle stands half its thickness off the tip, so its length round the tip is the girth plus pi times the
//! paper's thickness.

use std::f64::consts::{FRAC_PI_2, PI};

/// Places held over half a section, and sections of the band that are compared with the paper's.
#[derive(Debug, Clone, Copy)]
struct Fineness {
    places: usize,
    compared: usize,
}

/// As bands are drawn.
const FINE: Fineness = Fineness { places: 720, compared: 24 };
/// As bands are searched for.
const COARSE: Fineness = Fineness { places: 120, compared: 10 };

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
    /// Rises along the section: how far it has turned from the back (rad), and a little of the way made.
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
        let turned: Vec<f64> = (0..=last)
            .map(|i| {
                let p = if i == 0 { before } else { own[i - 1] };
                let q = if i == last { after } else { own[i + 1] };
                let turn = (p[1] - q[1]).atan2(q[0] - p[0]);
                // Sections that are hollow somewhere are paired as if paper spanned the hollow.
                most = most.max(if turn < -FRAC_PI_2 { turn + 2.0 * PI } else { turn });
                most
            })
            .collect();
        let points: Vec<[f64; 2]> =
            own.iter().zip(&turned).map(|(p, t)| [p[0] + out * t.sin(), p[1] + out * t.cos()]).collect();
        let length = arcs(&points);
        let whole = length[last];
        let pairing = turned.iter().zip(&length).map(|(t, l)| t + FLAT_SHARE * l / whole).collect();
        Half { points, pairing }
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
        Self::at_fineness(surface, span, paper, 0.0, FINE).0
    }

    /// The band with its paper `loose` (m) farther out than it need be at its two ends; also by how much ways round half the
    /// tip are too short and too long on it, m.
    fn at_fineness(
        surface: &dyn Fn(f64, f64) -> f64,
        span: [f64; 2],
        paper: f64,
        loose: f64,
        fineness: Fineness,
    ) -> (Self, [f64; 2]) {
        let ends = span.map(|a| Half::of(surface, a, 0.5 * paper + loose, fineness.places));
        let mut pairs: Vec<f64> = ends.iter().flat_map(|e| e.pairing.iter().copied()).collect();
        pairs.sort_by(f64::total_cmp);
        pairs.dedup_by(|a, b| (*a - *b).abs() < 1e-12);
        let on_tip: Vec<[[f64; 2]; 2]> = pairs.iter().map(|p| [ends[0].at(*p), ends[1].at(*p)]).collect();
        let mut band = Flattening {
            span,
            paper,
            mismatch: Mismatch { round: 0.0, off: 0.0 },
            belly: on_tip.len() - 1,
            flat: unroll(&on_tip, span[1] - span[0]),
            on_tip,
        };
        let shift = band.place(0.0, 0.0)[1];
        band.flat.iter_mut().flatten().for_each(|p| p[1] -= shift);
        let (mismatch, range) = band.compare(surface, fineness);
        band.mismatch = mismatch;
        (band, range)
    }

    /// The band as it fits best: where the tip swells or is hollow between the two ends, the misfit is shared out.
    fn eased(surface: &dyn Fn(f64, f64) -> f64, span: [f64; 2], paper: f64, fineness: Fineness) -> Self {
        let (tight, [short, long]) = Self::at_fineness(surface, span, paper, 0.0, fineness);
        if tight.mismatch.worst() < UNEASED {
            return tight;
        }
        // Half way round, a way grows by pi times what the paper is moved out.
        let loose = -0.5 * (short + long) / PI;
        let eased = Self::at_fineness(surface, span, paper, loose, fineness).0;
        if eased.mismatch.worst() < tight.mismatch.worst() { eased } else { tight }
    }

    /// Bands edge to edge that paper fits to `limit` (m), from the tip's end of `wanted` (m) to the handle's: as few as will
    /// do, none shorter than `shortest` (m), and at most `most` of them. Where so many do not do, the last ends before `wanted`.
    ///
    /// # Errors
    /// How far even the shortest first band misses the tip.
    pub fn bands(
        surface: &dyn Fn(f64, f64) -> f64,
        wanted: [f64; 2],
        shortest: f64,
        paper: f64,
        limit: f64,
        most: usize,
    ) -> Result<Vec<Self>, Mismatch> {
        let reach = |limit: f64| Self::reach(surface, wanted, shortest, paper, limit, most);
        let mut ends = reach(limit)?;
        if ends.len() > 1 && ends.last().is_some_and(|last| *last <= wanted[0]) {
            // The same number of bands with a smaller misfit has it shared out evenly.
            let (mut fits, mut fails) = (limit, 0.0);
            for _ in 0..4 {
                let tried = 0.5 * (fits + fails);
                match reach(tried) {
                    Ok(found) if found.len() == ends.len() && found.last().is_some_and(|e| *e <= wanted[0]) => {
                        (fits, ends) = (tried, found);
                    }
                    _ => fails = tried,
                }
            }
        }
        let starts = std::iter::once(wanted[1]).chain(ends.iter().copied());
        Ok(starts.zip(&ends).map(|(high, low)| Self::eased(surface, [*low, high], paper, FINE)).collect())
    }

    /// Where bands that each fit to `limit` end, from the tip's side; each as long as it may be.
    fn reach(
        surface: &dyn Fn(f64, f64) -> f64,
        wanted: [f64; 2],
        shortest: f64,
        paper: f64,
        limit: f64,
        most: usize,
    ) -> Result<Vec<f64>, Mismatch> {
        let mut ends = Vec::new();
        let mut high = wanted[1];
        while ends.len() < most && high > wanted[0] {
            let mismatch = |low: f64| Self::eased(surface, [low, high], paper, COARSE).mismatch;
            let fits = |low: f64| mismatch(low).worst() <= limit;
            let (mut good, mut bad) = ((high - shortest).max(wanted[0]), wanted[0]);
            if fits(bad) {
                good = bad;
            } else if !fits(good) {
                if ends.is_empty() {
                    return Err(mismatch(good));
                }
                break;
            }
            while good - bad > 0.4e-3 {
                let mid = 0.5 * (good + bad);
                if fits(mid) { good = mid } else { bad = mid }
            }
            // Rather than a sliver, the last band gets its least length, if it fits there.
            let last = wanted[0] + shortest;
            if good > wanted[0] && good < last && last <= high - shortest && ends.len() + 1 < most {
                let fits_last = Self::eased(surface, [wanted[0], last], paper, COARSE).mismatch.worst() <= limit;
                good = if fits_last { last } else { good };
            }
            ends.push(good);
            high = good;
        }
        Ok(ends)
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

    /// How far the paper misses the tip, and by how much ways round it from the back are too short and too long on it, m.
    fn compare(&self, surface: &dyn Fn(f64, f64) -> f64, fineness: Fineness) -> (Mismatch, [f64; 2]) {
        let mut off = 0.0_f64;
        let mut range = [0.0_f64; 2];
        for k in 0..=fineness.compared {
            let t = k as f64 / fineness.compared as f64;
            let a = self.span[0] + t * (self.span[1] - self.span[0]);
            let real = Half::of(surface, a, 0.5 * self.paper, fineness.places);
            let real_way = arcs(&real.points);
            let ruled: Vec<[f64; 2]> = self.on_tip.iter().map(|r| lerp(r[0], r[1], t)).collect();
            let ruled_way = arcs(&ruled);
            let mut i = 1;
            for (place, p) in real.points.iter().enumerate().step_by(fineness.places / 120) {
                let theta = p[0].max(0.0).atan2(p[1]);
                while i < self.belly && ruled[i][0].max(0.0).atan2(ruled[i][1]) < theta {
                    i += 1;
                }
                // The ruled section is cut by the ray through p.
                let (u, v) = (ruled[i - 1], ruled[i]);
                let (cu, cv) = (cross_of(u, *p), cross_of(v, *p));
                let s = if (cv - cu).abs() > 1e-18 { (-cu / (cv - cu)).clamp(0.0, 1.0) } else { 0.0 };
                let q = lerp(u, v, s);
                let longer = ruled_way[i - 1] + s * (ruled_way[i] - ruled_way[i - 1]) - real_way[place];
                range = [range[0].min(longer), range[1].max(longer)];
                // Distance square to the section, not along the ray.
                let edge = distance(u, v);
                let square =
                    if edge > 1e-12 { (cross_of(sub(p, &u), sub(&v, &u)) / edge).abs() } else { distance(*p, q) };
                off = off.max(square.min(distance(*p, q)));
            }
        }
        (Mismatch { round: range[1].max(-range[0]), off }, range)
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
    (q[0] - p[0]).hypot(q[1] - p[1])
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
mod tests {
    use super::*;

    /// A round cone's paper is a flat sector: with half angle `k` (slope `tan k`), apex distance `r / sin k`, angle `2 pi sin k`.
    #[test]
    fn a_cone_comes_out_as_the_flat_sector() {
        for degrees in [2.0_f64, 5.0, 12.0] {
            let k = degrees.to_radians();
            let radius = |a: f64, _: f64| 8e-3 - a * k.tan();
            for paper in [0.0, 0.1e-3] {
                let band = Flattening::of(&radius, [-20e-3, 12e-3], paper);
                assert!(band.mismatch.worst() < 1e-8, "{:?}", band.mismatch);
                let apex = 8e-3 / k.sin();
                for a in [-20e-3, -3.0e-3, 0.0, 12e-3] {
                    let away = apex - a / k.cos() + 0.5 * paper / k.sin();
                    for theta in [-PI, -2.0, -0.4, 0.0, 1.0, PI] {
                        let turn = theta * k.sin();
                        // The origin of the paper lies at a = 0 on the back.
                        let exact = [away * turn.sin(), apex + 0.5 * paper / k.sin() - away * turn.cos()];
                        let (flat, way) = band.along(a, theta);
                        assert!(distance(flat, exact) < 0.01e-3, "{degrees} {a} {theta}: {flat:?} {exact:?}");
                        assert!((way - away * turn).abs() < 0.01e-3);
                    }
                }
            }
        }
    }

    #[test]
    fn an_elliptic_cylinder_comes_out_as_a_rectangle_as_long_as_its_girth() {
        use crate::{design::SectionForm, section::Section};
        let section = Section::new(SectionForm::Ellipse, 14e-3, 9e-3);
        for paper in [0.0, 0.1e-3] {
            let band = Flattening::of(&|_, theta| section.radius(theta), [-15e-3, 10e-3], paper);
            let girth = section.perimeter() + PI * paper;
            assert!((band.girth(0.0) - girth).abs() < 0.005e-3, "{} {girth}", band.girth(0.0));
            for a in [-15e-3, 0.0, 10e-3] {
                let ([x, y], _) = band.along(a, PI);
                assert!((x - 0.5 * girth).abs() < 0.005e-3 && (y - a).abs() < 1e-9);
            }
            assert!(band.mismatch.worst() < 1e-8);
        }
    }

    /// Lengths along both edges, and across, are those on the tip, also where width and thickness taper apart.
    #[test]
    fn lengths_are_kept_on_tips_that_taper_unevenly() {
        use crate::{design::SectionForm, section::Section};
        let forms = [
            SectionForm::Rectangle,
            SectionForm::RoundedRectangle { corner: 3e-3 },
            SectionForm::Ellipse,
            SectionForm::D,
            SectionForm::Trapezoid { belly: 0.6 },
        ];
        for form in forms {
            for (width, thickness) in [(0.12, 0.02), (0.05, 0.1), (0.0, 0.06)] {
                let section = |a: f64| Section::new(form, 13e-3 - width * a, 11e-3 - thickness * a);
                let band = Flattening::of(&|a, theta| section(a).radius(theta), [-22e-3, 8e-3], 0.0);
                for a in band.span {
                    let girth = section(a).perimeter();
                    assert!((band.girth(a) - girth).abs() < 0.05e-3, "{form:?} {a} {} {girth}", band.girth(a));
                }
                assert!(band.mismatch.worst() < 0.2e-3, "{form:?} {:?}", band.mismatch);
                // Round once, the end lies where the paper began: the belly's line is as long on both sides.
                let ([_, low], _) = band.along(-22e-3, PI);
                let ([_, high], _) = band.along(8e-3, PI);
                assert!(high > low);
            }
        }
    }

    #[test]
    fn a_ball_is_refused_and_a_swelling_tip_takes_several_bands() {
        let ball = |a: f64, _: f64| (100e-6 - a * a).max(1e-8).sqrt();
        assert!(Flattening::bands(&ball, [-8e-3, 8e-3], 14e-3, 0.0, 0.5e-3, 3).is_err());
        // A cylinder that swells toward the handle as a circle's arc.
        let swelling = |a: f64, _: f64| 8e-3 + (a.min(0.0) / 0.02).powi(2) * 1.2e-3;
        let bands = Flattening::bands(&swelling, [-30e-3, 8e-3], 6e-3, 0.0, 0.5e-3, 3).unwrap();
        assert!(bands.len() > 1);
        for pair in bands.windows(2) {
            assert_eq!(pair[0].span[0], pair[1].span[1]);
        }
        assert!(bands.iter().all(|b| b.mismatch.worst() <= 0.5e-3));
        let first = Flattening::bands(&swelling, [-30e-3, 8e-3], 6e-3, 0.0, 0.5e-3, 1).unwrap();
        assert!(first.len() == 1);
    }
}
