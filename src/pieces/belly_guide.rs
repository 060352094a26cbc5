//! The belly guide's pattern: the limb's belly from the nock inward, laid flat, with the guide down its middle.

use kurbo::Point;

use super::Subject;
use super::common::{captioned, measure, name_inside, path, ring, to_tip};
use super::sections::section;
use super::shape::MM;
use crate::bow::bracing::{LIMB_STEPS, RestingBow};
use crate::sheets::Piece;
use crate::template::dimension::{Place, dimension};
use crate::template::waste::{Waste, waste_ticks};
use crate::template::{Anchor, Role, Template, size};

/// The pattern goes on this far beyond the guide, mm.
const BEYOND: f64 = 8.0;

/// Draws it; nothing for a nock without a guide.
pub(super) fn draw(subject: &Subject) -> Vec<Piece> {
    let design = &subject.worked.design;
    let Some(guide) = design.nocks.get(subject.side).guide() else { return Vec::new() };
    let units = design.units;
    let solid = &subject.worked.nocks.get(subject.side).solid;
    let along = Along::of(subject, true);
    let n = 120;
    let far = guide.end * MM + BEYOND;
    let places: Vec<f64> = (0..=n).map(|i| far * f64::from(i) / f64::from(n)).collect();
    // From the nock inward to the left; half the limb's width at each place.
    let half = |from_nock: f64| 0.5 * solid.limb.width.at(-from_nock / MM) * MM;
    let edge: Vec<Point> = places.iter().map(|d| Point::new(-along.at(*d), half(*d))).collect();
    let outline: Vec<Point> = edge.iter().copied().chain(edge.iter().rev().map(|p| Point::new(p.x, -p.y))).collect();
    let mut t = Template::new("");
    let outline = ring(&outline);
    waste_ticks(&mut t, &outline, Waste::Outside);
    t.line(Role::Cut, outline.clone());
    let [whole_from, whole_to] = guide.whole().map(|d| d * MM);
    let wide = 0.5 * guide.width(guide.depth) * MM;
    let corners = [(guide.start * MM, 0.0), (whole_from, wide), (whole_to, wide), (guide.end * MM, 0.0)];
    for sign in [1.0, -1.0] {
        let line: Vec<Point> = corners.iter().map(|(d, w)| Point::new(-along.at(*d), sign * w)).collect();
        t.line(Role::Mark, path(&line));
    }
    let left = -along.at(far);
    t.segment(Role::Centre, (left - 3.0, 0.0), (3.0, 0.0));
    name_inside(subject, &mut t, &outline, Point::new(0.5 * left, 0.0), "belly guide");
    let widest = edge.iter().map(|p| p.y).fold(0.0, f64::max);
    let tick = |t: &mut Template, d: f64, words: &str, up: f64| {
        let x = -along.at(d);
        let (foot, top) = (half(d) + 1.0, widest + up);
        t.segment(Role::Note, (x, foot), (x, top));
        t.words((x, top + 1.2), size::SMALL, Anchor::Middle, 0.0, false, words.to_owned());
    };
    tick(&mut t, 0.0, "seat", 3.0);
    if let Some([throat, lift_off]) = subject.worked.statics.cycle.at_brace().limbs.get(subject.side).lies_from_nock() {
        tick(&mut t, throat * MM, "throat", 3.0);
        if lift_off > throat + 0.5e-3 {
            tick(&mut t, lift_off * MM, "the braced string leaves", 8.0);
        }
    }
    let low = -widest;
    let span = |t: &mut Template, from: f64, to: f64, y: f64| {
        let (p, q) = (Point::new(-along.at(to), low), Point::new(-along.at(from), low));
        dimension(t, p, q, Place::Level(y), &measure(q.x - p.x, units));
    };
    span(&mut t, 0.0, guide.start * MM, low - 6.0);
    span(&mut t, guide.start * MM, guide.end * MM, low - 6.0);
    // The limb's section half way along the guide.
    let middle = -0.5 * (guide.start + guide.end);
    let ring: Vec<Point> = solid.section(middle, 360).iter().map(|p| Point::new(p[0] * MM, p[1] * MM)).collect();
    let high = ring.iter().map(|p| p.y).fold(0.0, f64::max);
    let right = ring.iter().map(|p| p.x).fold(0.0, f64::max);
    let at = kurbo::Affine::translate((left + right + 2.0, low - 14.0 - high));
    section(&mut t, solid, middle, &ring, at);
    let beside = left + 2.0 * right + 8.0;
    let level = low - 14.0 - high;
    t.words((beside, level), size::SMALL, Anchor::Start, 0.0, false, "section half way along the guide, back up");
    to_tip(&mut t, Point::new(-12.0, level - 5.0), false);
    let words = format!(
        "The limb as wide as it is, laid flat and measured along {} as the unstrung limb is bent. Lay the seat's end over the nock and tape it down the \
         middle. File the guide {} deep with a bottom radius of {}; either end rises to {} over {}.",
        if solid.strip.is_some() { "the strip's face" } else { "its belly" },
        measure(guide.depth * MM, units),
        measure(guide.radius * MM, units),
        if solid.strip.is_some() { "the strip's face" } else { "the belly" },
        measure(guide.run() * MM, units),
    );
    vec![Piece::new(captioned(subject, t, "belly guide", &words))]
}

/// Lengths along the belly of the unstrung limb, by distance from the nock along its centreline, mm.
pub(super) struct Along {
    /// From the nock, both, rising.
    centre: Vec<f64>,
    belly: Vec<f64>,
}

impl Along {
    /// Along the belly itself, or `on_strip` along the face of a strip glued on it, where there is one.
    pub fn of(subject: &Subject, on_strip: bool) -> Self {
        let statics = &subject.worked.statics;
        let bow = RestingBow::of(&subject.worked.design, statics.seat_offsets, LIMB_STEPS);
        let limb = bow.limbs.get(subject.side);
        let length = limb.length();
        let (mut centre, mut belly) = (vec![0.0], vec![0.0]);
        for i in (0..limb.s.len() - 1).rev() {
            // dl = (1 - kappa0 b) ds
            let step = limb.s[i + 1] - limb.s[i];
            let face = |i: usize| limb.belly[i] + if on_strip { limb.strip_height(limb.s[i]) } else { 0.0 };
            let mean = 0.5 * (limb.curvature[i] * face(i) + limb.curvature[i + 1] * face(i + 1));
            centre.push((length - limb.s[i]) * MM);
            belly.push(belly[belly.len() - 1] + (1.0 - mean) * step * MM);
        }
        Along { centre, belly }
    }

    pub fn at(&self, from_nock: f64) -> f64 {
        let i = self.centre.partition_point(|c| *c <= from_nock).clamp(1, self.centre.len() - 1);
        let part = (from_nock - self.centre[i - 1]) / (self.centre[i] - self.centre[i - 1]);
        self.belly[i - 1] + part * (self.belly[i] - self.belly[i - 1])
    }
}
