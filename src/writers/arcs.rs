//! Curves as chains of straight lines and circular arcs, for formats and machines that know nothing else.
//!
//! A piece of a curve becomes two arcs that meet smoothly (a biarc); where they stray too far from the curve, it is halved.

use kurbo::{BezPath, ParamCurve, PathEl, PathSeg, Point, Vec2};

/// One corner of a chain: where it is, and how the way to the next corner bends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Corner {
    /// Its place, mm.
    pub at: Point,
    /// Tangent of a quarter of the arc's angle to the next corner, plus anticlockwise; 0 for a straight line.
    pub bulge: f64,
}

/// A chain of lines and arcs.
#[derive(Debug, Clone, PartialEq)]
pub struct ArcChain {
    /// Its corners in order.
    pub corners: Vec<Corner>,
    /// Whether the last corner leads back to the first.
    pub closed: bool,
}

/// Points nearer than this are one, mm.
const SAME: f64 = 1e-6;
/// A curve is halved at most so often.
const HALVINGS: u32 = 12;
/// Places at which a piece is held against its arcs.
const SAMPLES: usize = 12;

/// The subpaths of `path` as chains that stay within `tolerance` (mm) of it. Straight lines stay as they are.
pub fn chains(path: &BezPath, tolerance: f64) -> Vec<ArcChain> {
    let mut made = Vec::new();
    let mut corners: Vec<Corner> = Vec::new();
    let (mut here, mut start) = (Point::ZERO, Point::ZERO);
    let mut finish = |corners: &mut Vec<Corner>, here: Point, start: Point, shut: bool| {
        if corners.is_empty() {
            return;
        }
        let mut closed = shut || (corners.len() > 2 && here.distance(start) < SAME);
        if !closed || here.distance(start) >= SAME {
            corners.push(Corner { at: here, bulge: 0.0 });
        }
        // Two corners with nothing but straight lines between them enclose nothing.
        closed &= corners.len() > 2 || corners.iter().any(|c| c.bulge != 0.0);
        made.push(ArcChain { corners: std::mem::take(corners), closed });
    };
    for element in path.elements() {
        let segment = match *element {
            PathEl::MoveTo(p) => {
                finish(&mut corners, here, start, false);
                (here, start) = (p, p);
                continue;
            }
            PathEl::ClosePath => {
                finish(&mut corners, here, start, true);
                here = start;
                continue;
            }
            PathEl::LineTo(p) => {
                if here.distance(p) >= SAME {
                    corners.push(Corner { at: here, bulge: 0.0 });
                    here = p;
                }
                continue;
            }
            PathEl::QuadTo(a, p) => PathSeg::Quad(kurbo::QuadBez::new(here, a, p)),
            PathEl::CurveTo(a, b, p) => PathSeg::Cubic(kurbo::CubicBez::new(here, a, b, p)),
        };
        fit(&segment, tolerance, HALVINGS, &mut corners);
        here = segment.end();
    }
    finish(&mut corners, here, start, false);
    made
}

/// Appends the corners of one curved segment, all but its end.
fn fit(curve: &PathSeg, tolerance: f64, halvings: u32, corners: &mut Vec<Corner>) {
    let (from, to) = (curve.start(), curve.end());
    // Sampled, so a little is kept for what lies between the samples.
    let within = 0.8 * tolerance;
    if halvings > 0 {
        if let Some(found) = arcs(curve).filter(|arcs| strays(curve, arcs, to) <= within) {
            corners.extend(found);
            return;
        }
        fit(&curve.subsegment(0.0..0.5), tolerance, halvings - 1, corners);
        fit(&curve.subsegment(0.5..1.0), tolerance, halvings - 1, corners);
    } else if from.distance(to) >= SAME {
        corners.push(Corner { at: from, bulge: 0.0 });
    }
}

/// One or two arcs from the curve's start to its end along its directions there; none for shapes that must be halved first.
fn arcs(curve: &PathSeg) -> Option<Vec<Corner>> {
    let (p, q) = (curve.start(), curve.end());
    let chord = q - p;
    if chord.hypot() < SAME {
        // A piece of no length is left out; a loop is halved.
        let longest = (1..SAMPLES).map(|i| p.distance(curve.eval(i as f64 / SAMPLES as f64))).fold(0.0, f64::max);
        return (longest < SAME).then(Vec::new);
    }
    let (s, t) = (leaving(curve)?, leaving(&curve.reverse()).map(|v| -v)?);
    let (at_start, at_end) = (angle(s, chord), angle(chord, t));
    // A piece that turns by more than a quarter between its halves is no single bend.
    if at_start.abs() > 1.4 || at_end.abs() > 1.4 {
        return None;
    }
    if (at_start - at_end).abs() < 1e-4 {
        return Some(vec![Corner { at: p, bulge: (0.25 * (at_start + at_end)).tan() }]);
    }
    // Equal arms d of both tangents: |chord|^2 - 2 d chord.(s + t) + 2 d^2 (s.t - 1) = 0.
    let (a, b, c) = (2.0 * (s.dot(t) - 1.0), -2.0 * chord.dot(s + t), chord.hypot2());
    let arm = if a.abs() < 1e-9 {
        -c / b
    } else {
        // The root that goes over into the one above as the directions become equal.
        2.0 * c / (-b + (b * b - 4.0 * a * c).max(0.0).sqrt())
    };
    if !(arm.is_finite() && arm > 0.0) {
        return None;
    }
    let joint = p + 0.5 * (chord + arm * (s - t));
    let (first, second) = (joint - p, q - joint);
    if first.hypot() < SAME || second.hypot() < SAME {
        return None;
    }
    Some(vec![
        Corner { at: p, bulge: (0.5 * angle(s, first)).tan() },
        Corner { at: joint, bulge: (0.5 * angle(second, t)).tan() },
    ])
}

/// Direction in which a curve leaves its start, also where its first control points fall together.
fn leaving(curve: &PathSeg) -> Option<Vec2> {
    let c = curve.to_cubic();
    [c.p1, c.p2, c.p3].into_iter().map(|x| x - c.p0).find(|v| v.hypot() > 1e-9).map(|v| v / v.hypot())
}

/// Signed angle from `u` to `v`, rad.
fn angle(u: Vec2, v: Vec2) -> f64 {
    u.cross(v).atan2(u.dot(v))
}

/// How far the curve strays from the arcs that end at `to`, mm.
fn strays(curve: &PathSeg, arcs: &[Corner], to: Point) -> f64 {
    (1..SAMPLES)
        .map(|i| {
            let x = curve.eval(i as f64 / SAMPLES as f64);
            let ends = arcs.iter().skip(1).map(|c| c.at).chain([to]);
            arcs.iter().zip(ends).map(|(c, end)| off_arc(x, *c, end)).fold(f64::INFINITY, f64::min)
        })
        .fold(0.0, f64::max)
}

/// Distance of `x` from the line or arc that goes from `corner` to `end`, mm.
pub fn off_arc(x: Point, corner: Corner, end: Point) -> f64 {
    let chord = end - corner.at;
    let ends = x.distance(corner.at).min(x.distance(end));
    if chord.hypot() < SAME {
        return ends;
    }
    let along = (x - corner.at).dot(chord) / chord.hypot2();
    if corner.bulge.abs() < 1e-9 {
        return if (0.0..=1.0).contains(&along) { (x - corner.at).cross(chord).abs() / chord.hypot() } else { ends };
    }
    // With k the bulge: radius = chord (1 + k^2) / (4 |k|), centre off the chord's middle by chord (1 - k^2) / (4 k), to the left.
    let k = corner.bulge;
    let radius = chord.hypot() * (1.0 + k * k) / (4.0 * k.abs());
    let left = Vec2::new(-chord.y, chord.x);
    let centre = corner.at.midpoint(end) + left * ((1.0 - k * k) / (4.0 * k));
    let (from, half) = (corner.at - centre, 2.0 * k.atan());
    // Within the arc's span as seen from its centre.
    let turned = angle(from, x - centre) * half.signum();
    let turned = if turned < -1e-12 { turned + std::f64::consts::TAU } else { turned };
    if turned <= 2.0 * half.abs() { (x.distance(centre) - radius).abs() } else { ends }
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::{Circle, Shape};

    /// Greatest distance of the path's points from its chains.
    fn worst(path: &BezPath, chains: &[ArcChain]) -> f64 {
        let mut worst = 0.0_f64;
        for segment in path.segments() {
            for i in 0..=200 {
                let x = segment.eval(f64::from(i) / 200.0);
                let near = chains.iter().flat_map(|c| {
                    let n = c.corners.len();
                    let last = if c.closed { n } else { n - 1 };
                    (0..last).map(move |i| off_arc(x, c.corners[i], c.corners[(i + 1) % n].at))
                });
                worst = worst.max(near.fold(f64::INFINITY, f64::min));
            }
        }
        worst
    }

    /// Area inside a closed chain: the corners' polygon and the arcs' segments.
    fn area(chain: &ArcChain) -> f64 {
        let n = chain.corners.len();
        (0..n)
            .map(|i| {
                let (c, d) = (chain.corners[i], chain.corners[(i + 1) % n].at);
                let shoelace = 0.5 * c.at.to_vec2().cross(d.to_vec2());
                let turn = 4.0 * c.bulge.atan();
                if turn == 0.0 {
                    return shoelace;
                }
                let radius = c.at.distance(d) * (1.0 + c.bulge * c.bulge) / (4.0 * c.bulge.abs());
                shoelace + 0.5 * radius * radius * (turn - turn.sin())
            })
            .sum()
    }

    #[test]
    fn a_circle_is_one_arc_for_each_of_its_curves() {
        let path = Circle::new((3.0, 4.0), 12.0).to_path(1e-3);
        let (chains, curves) = (chains(&path, 0.01), path.segments().count());
        assert_eq!((chains.len(), chains[0].corners.len(), chains[0].closed), (1, curves, true));
        assert!((area(&chains[0]) / (std::f64::consts::PI * 144.0) - 1.0).abs() < 1e-4);
        let bulge = (std::f64::consts::FRAC_PI_2 / curves as f64).tan();
        assert!(chains[0].corners.iter().all(|c| (c.bulge - bulge).abs() < 1e-4));
    }

    #[test]
    fn odd_curves_stay_within_tolerance_with_few_arcs() {
        let s = BezPath::from_svg("M0 0C40 0 10 30 60 30C60 60 20 80 0 60Z").unwrap();
        let hook = BezPath::from_svg("M0 0C0 0 5 1 9 -7Q20 -20 40 0C41 0 60 30 20 30C-9 30 44 5 5 5").unwrap();
        for (path, closed, most) in [(s, true, 45), (hook, false, 85)] {
            let mut counts = Vec::new();
            for tolerance in [0.1, 0.01, 0.001] {
                let chains = chains(&path, tolerance);
                assert_eq!((chains.len(), chains[0].closed), (1, closed));
                assert!(worst(&path, &chains) <= tolerance, "{tolerance}: {}", worst(&path, &chains));
                counts.push(chains[0].corners.len());
            }
            // Biarcs are of the third order: a tenth of the tolerance takes about 2.2 times as many.
            assert!(counts[1] < most && counts[2] < 4 * counts[1], "{counts:?}");
        }
    }

    #[test]
    fn the_area_of_a_closed_curve_is_kept() {
        let path = BezPath::from_svg("M0 0C40 0 10 30 60 30C60 60 20 80 0 60Z").unwrap();
        let chains = chains(&path, 0.01);
        let exact = path.area();
        assert!((area(&chains[0]) - exact).abs() < 0.01 * path.perimeter(1e-3) && exact.abs() > 1000.0);
    }

    #[test]
    fn lines_points_and_subpaths() {
        let path = BezPath::from_svg("M0 0L10 0L10 0L10 5L0 0M1 1L2 2M5 5ZM0 0L1 0L1 1Z").unwrap();
        let made = chains(&path, 0.01);
        let shapes: Vec<(usize, bool)> = made.iter().map(|c| (c.corners.len(), c.closed)).collect();
        assert_eq!(shapes, [(3, true), (2, false), (3, true)]);
        // A curve of no length, and one whose control points all lie on its start but one.
        let made = chains(&BezPath::from_svg("M0 0C0 0 0 0 0 0C0 0 0 0 3 4").unwrap(), 0.01);
        assert!(worst(&BezPath::from_svg("M0 0L3 4").unwrap(), &made) < 1e-9);
    }
}
