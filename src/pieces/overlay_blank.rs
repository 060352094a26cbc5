//! The overlay's blank: side and glue face, with room to shape it.

use kurbo::{Point, Rect, Shape};

use super::Subject;
use super::common::{Beside, captioned, height, measure, path, ring, to_tip};
use super::shape::{MM, TipShape};
use crate::sheets::Piece;
use crate::template::dimension::{Place, dimension};
use crate::template::waste::{Waste, waste_ticks};
use crate::template::{Anchor, Role, Template, size};
use crate::tip::Shell;

/// Left on at every edge of the blank, to be taken off after glueing, mm. Common practice, no source.
const SPARE: f64 = 1.0;

/// Draws it.
pub(super) fn draw(subject: &Subject) -> Vec<Piece> {
    let nock = subject.worked.nocks.get(subject.side);
    let units = subject.worked.design.units;
    let solid = &nock.solid;
    let Shell::Overlay { from, .. } = solid.shell else { return Vec::new() };
    let base = |x: f64| solid.limb.section(x / MM).back_distance() * MM;
    let (left, right) = (from * MM, solid.end * MM);
    let n = 160;
    let places: Vec<f64> = (0..=n).map(|i| left + (right - left) * f64::from(i) / f64::from(n)).collect();
    let mut t = Template::new("");
    // Side: the glue face is the straight lower edge, level.
    let finished: Vec<Point> = places
        .iter()
        .map(|x| {
            // The uncut height over the glue line.
            let top: f64 = solid.uncut(x / MM, 0.0) * MM;
            Point::new(*x, (top - base(*x)).max(0.0))
        })
        .collect();
    let highest = finished.iter().map(|p| p.y).fold(0.0, f64::max);
    let mut blank =
        vec![Point::new(left - SPARE, 0.0), Point::new(right + SPARE, 0.0), Point::new(right + SPARE, highest + SPARE)];
    let shoulder = finished.iter().find(|p| p.y > highest - 0.3).map_or(0.0, |p| p.x);
    blank.push(Point::new(shoulder, highest + SPARE));
    blank.extend(
        finished.iter().rev().filter(|p| p.x < shoulder - 1.0).map(|p| Point::new(p.x - 0.4 * SPARE, p.y + SPARE)),
    );
    blank.push(Point::new(left - SPARE, SPARE));
    let outline = ring(&blank);
    waste_ticks(&mut t, &outline, Waste::Right);
    t.line(Role::Cut, outline);
    t.line(Role::Mark, path(&finished));
    t.words((0.5 * (shoulder + right), 1.4), size::SMALL, Anchor::Middle, 0.0, false, "glue face");
    let widest = places.iter().map(|x| solid.limb.width.at(x / MM) * MM).fold(0.0_f64, f64::max);
    // Glue face: the plan, below.
    let middle = -(0.5 * widest + SPARE + 12.0);
    let plan = Rect::new(left - SPARE, middle - 0.5 * widest - SPARE, right + SPARE, middle + 0.5 * widest + SPARE);
    let plan_path = plan.to_path(0.1);
    waste_ticks(&mut t, &plan_path, Waste::Right);
    t.line(Role::Cut, plan_path);
    for sign in [1.0, -1.0] {
        let edge: Vec<Point> =
            places.iter().map(|x| Point::new(*x, middle + sign * TipShape::at(&subject.shape.side, *x))).collect();
        t.line(Role::Mark, path(&edge));
    }
    t.segment(Role::Centre, (left - SPARE - 3.0, middle), (right + SPARE + 3.0, middle));
    t.segment(Role::Note, (0.0, plan.y0 - 1.5), (0.0, plan.y0 - 4.5));
    t.words((0.0, plan.y0 - 7.2), size::SMALL, Anchor::Middle, 0.0, false, "seat");
    dimension(
        &mut t,
        Point::new(left - SPARE, 0.0),
        Point::new(right + SPARE, 0.0),
        Place::Level(highest + 8.0),
        &measure(right - left + 2.0 * SPARE, units),
    );
    // The thin end that feathers down to the limb.
    let scarf = shoulder - left;
    let edge = right + SPARE;
    let thick = measure(highest + SPARE, units);
    height(&mut t, Point::new(edge, 0.0), Point::new(edge, highest + SPARE), edge + 6.0, Beside::Right, &thick);
    let wide = measure(plan.height(), units);
    height(&mut t, Point::new(edge, plan.y0), Point::new(edge, plan.y1), edge + 6.0, Beside::Right, &wide);
    to_tip(&mut t, Point::new(right - 14.0, plan.y0 - 12.0), false);
    let area =
        nock.glue.map_or(String::new(), |g| format!(" Glue face {} cm².", crate::units::number_text(g.area * 1e4, 1)));
    let limb = solid.limb.thickness.at(0.0) * MM;
    let over = solid.uncut(0.0, 0.0) * MM - base(0.0);
    let material = nock.parts.iter().find(|p| p.name == "overlay").map_or("", |p| p.material.as_str());
    let words = format!(
        "{}. Above from the side, below the glue face. Cut {} outside the finished lines all round; the scarf rises 1 in {} over {} to the full height, \
         feather its thin end after glueing.{area} Stack at the seat: limb {}, overlay {}, together {}.",
        capital(material),
        measure(SPARE, units),
        crate::units::number_text(scarf / highest, 1),
        measure(scarf, units),
        measure(limb, units),
        measure(over, units),
        measure(limb + over, units),
    );
    vec![Piece::new(captioned(subject, t, "overlay blank", &words))]
}

/// The words with a capital in front.
pub(super) fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or(String::new(), |c| c.to_uppercase().chain(letters).collect())
}
