//! The finished tip as triangles, for a printed trial piece: read from the same radius as everything else.

use super::cut::Cut;
use super::solid::{TipSolid, place};
use std::f64::consts::TAU;

/// A closed surface of triangles.
#[derive(Debug, Clone, PartialEq)]
pub struct Mesh {
    /// Corners (a, w, b), m.
    pub points: Vec<[f64; 3]>,
    /// Triangles by their corners, anticlockwise as seen from outside.
    pub faces: Vec<[u32; 3]>,
}

/// Corners round one section.
const AROUND: u32 = 180;
/// Between sections where nothing happens, and in and about the groove, m.
const APART: [f64; 2] = [1e-3, 0.2e-3];
/// Sections over the rounded end, closer together the nearer to it.
const ROUNDED: u32 = 24;

impl Mesh {
    /// The tip from the place `from` (m along `a`) to its end, closed flat at `from`. None for a tip that has no end, or ends before `from`.
    pub fn of_tip(solid: &TipSolid, from: f64) -> Option<Self> {
        if !(solid.end.is_finite() && from < solid.end - solid.rounding) {
            return None;
        }
        let places = places(solid, from);
        let mut points = vec![[from, 0.0, 0.0]];
        for a in &places {
            for k in 0..AROUND {
                let theta = TAU * f64::from(k) / f64::from(AROUND);
                points.push(place(*a, theta, solid.radius(*a, theta)));
            }
        }
        let apex = points.len() as u32;
        points.push([solid.end, 0.0, 0.0]);
        let last = places.len() as u32 - 1;
        let at = |ring: u32, k: u32| 1 + ring * AROUND + k % AROUND;
        let mut faces = Vec::new();
        for k in 0..AROUND {
            faces.push([0, at(0, k), at(0, k + 1)]);
        }
        for ring in 0..last {
            for k in 0..AROUND {
                let (p, q, r, s) = (at(ring, k), at(ring, k + 1), at(ring + 1, k + 1), at(ring + 1, k));
                // The shorter diagonal follows grooves better.
                let far = |i: u32, j: u32| {
                    let (x, y) = (points[i as usize], points[j as usize]);
                    (0..3).map(|n| (x[n] - y[n]).powi(2)).sum::<f64>()
                };
                if far(p, r) <= far(q, s) {
                    faces.extend([[p, r, q], [p, s, r]]);
                } else {
                    faces.extend([[p, s, q], [q, s, r]]);
                }
            }
        }
        for k in 0..AROUND {
            faces.push([apex, at(last, k + 1), at(last, k)]);
        }
        Some(Mesh { points, faces })
    }

    /// Volume inside, m^3: the sum of the tetrahedra that the triangles span with the origin.
    pub fn volume(&self) -> f64 {
        let corner = |i: u32| self.points[i as usize];
        let six: f64 = self
            .faces
            .iter()
            .map(|f| {
                let [x, y, z] = f.map(corner);
                x[0] * (y[1] * z[2] - y[2] * z[1])
                    + x[1] * (y[2] * z[0] - y[0] * z[2])
                    + x[2] * (y[0] * z[1] - y[1] * z[0])
            })
            .sum();
        six / 6.0
    }
}

/// Where along `a` sections are taken.
fn places(solid: &TipSolid, from: f64) -> Vec<f64> {
    let round = solid.end - solid.rounding;
    let [low, high] = groove(solid).unwrap_or([round, round]).map(|a| a.clamp(from, round));
    let mut places = Vec::new();
    for (start, end, apart) in [(from, low, APART[0]), (low, high, APART[1]), (high, round, APART[0])] {
        if end - start > 1e-9 {
            let n = ((end - start) / apart).ceil() as u32;
            places.extend((0..n).map(|i| start + (end - start) * f64::from(i) / f64::from(n)));
        }
    }
    // Grooves may reach into the rounded end as well; even steps of the quarter turn are finest where it is steepest.
    places.extend(
        (0..ROUNDED)
            .map(|i| round + solid.rounding * (std::f64::consts::FRAC_PI_2 * f64::from(i) / f64::from(ROUNDED)).sin()),
    );
    places
}

/// From where to where along `a` grooves lie in the surface, m: found by looking.
fn groove(solid: &TipSolid) -> Option<[f64; 2]> {
    if solid.cuts.is_empty() {
        return None;
    }
    let cut = |a: f64| {
        (0..48).map(|k| TAU * f64::from(k) / 48.0).any(|theta| {
            let whole: f64 = solid.uncut(a, theta);
            let left: f64 = solid.cuts.iter().fold(whole, |r, c: &Cut| c.apply(r, a, theta));
            whole - left > 5e-6
        })
    };
    let start = -0.12;
    let n = ((solid.end - start) / 0.5e-3) as u32;
    let at: Vec<f64> = (0..=n).map(|i| start + 0.5e-3 * f64::from(i)).filter(|a| cut(*a)).collect();
    Some([at.first()? - 0.5e-3, at.last()? + 0.5e-3])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::SectionForm;
    use crate::tip::{FilePass, LimbEnd};
    use std::collections::HashMap;

    /// Every edge is shared by two triangles that run through it in opposite ways.
    fn closed(mesh: &Mesh) -> bool {
        let mut edges: HashMap<(u32, u32), i32> = HashMap::new();
        for [p, q, r] in &mesh.faces {
            for (x, y) in [(p, q), (q, r), (r, p)] {
                *edges.entry((*x.min(y), *x.max(y))).or_default() += if x < y { 1 } else { -1 };
            }
        }
        edges.values().all(|balance| *balance == 0)
    }

    #[test]
    fn a_round_rod_with_half_a_ball_on_it() {
        // The rounding is an ellipse; with its length equal to the radius, half a ball.
        let rod = TipSolid::bare(LimbEnd::straight(SectionForm::Ellipse, [12e-3, 0.0], [12e-3, 0.0]), 10e-3, 6e-3);
        let mesh = Mesh::of_tip(&rod, -20e-3).unwrap();
        let exact = std::f64::consts::PI * (36e-6 * 24e-3 + 2.0 / 3.0 * 216e-9);
        assert!(closed(&mesh));
        assert!((mesh.volume() / exact - 1.0).abs() < 1e-3, "{} {exact}", mesh.volume());
        assert!(Mesh::of_tip(&rod, 9e-3).is_none());
    }

    #[test]
    fn a_grooved_box_keeps_the_volume_of_its_sections() {
        let limb = LimbEnd::straight(SectionForm::RoundedRectangle { corner: 2e-3 }, [12.7e-3, -0.08], [11e-3, -0.02]);
        let mut tip = TipSolid::bare(limb, 16e-3, 5e-3);
        let whole = Mesh::of_tip(&tip, -30e-3).unwrap().volume();
        let pass = FilePass { through: [0.0, 6e-3, 3e-3], along: [-0.8, 0.0, -0.6], radius: 1.6e-3, edge: 0.3e-3 };
        tip.cuts = vec![Cut::Pass(pass), Cut::Pass(pass.mirrored())];
        let mesh = Mesh::of_tip(&tip, -30e-3).unwrap();
        let sections: f64 = tip.volume(-30e-3, 16e-3).iter().sum();
        assert!(closed(&mesh));
        assert!((mesh.volume() / sections - 1.0).abs() < 5e-3, "{} {sections}", mesh.volume());
        assert!(whole - mesh.volume() > 20e-9, "{whole} {}", mesh.volume());
    }
}
