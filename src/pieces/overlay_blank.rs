//! The overlay's blank: side and glue face, with room to shape it.

use kurbo::{Point, Rect, Shape};

use super::Subject;
use super::common::{Beside, captioned, height, measure, name_inside, path, ring, to_tip};
use super::shape::{MM, TipShape};
use crate::design::Units;
use crate::sheets::Piece;
use crate::template::dimension::{Place, dimension};
use crate::template::leader::{End, leader};
use crate::template::table::{Column, table};
use crate::template::waste::{Waste, waste_ticks};
use crate::template::{Anchor, Role, Template, size};
use crate::tip::Shell;
use crate::units::number_text;

/// Left on at every edge of the blank, to be taken off after glueing, mm. Common practice, no source.
pub(super) const SPARE: f64 = 1.0;

/// Draws it.
pub(super) fn draw(subject: &Subject) -> Vec<Piece> {
    let nock = subject.worked.nocks.get(subject.side);
    let units = subject.worked.design.units;
    let solid = &nock.solid;
    let Shell::Overlay { from, full, .. } = solid.shell else { return Vec::new() };
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
    waste_ticks(&mut t, &outline, Waste::Outside);
    t.line(Role::Cut, outline.clone());
    t.line(Role::Mark, path(&finished));
    t.words((0.5 * (full * MM + right), -4.6), size::SMALL, Anchor::Middle, 0.0, false, "glue face");
    let widest = places.iter().map(|x| solid.limb.width.at(x / MM) * MM).fold(0.0_f64, f64::max);
    // Glue face: the plan, below.
    let middle = -(0.5 * widest + SPARE + 15.0);
    let plan = Rect::new(left - SPARE, middle - 0.5 * widest - SPARE, right + SPARE, middle + 0.5 * widest + SPARE);
    let plan_path = plan.to_path(0.1);
    waste_ticks(&mut t, &plan_path, Waste::Outside);
    t.line(Role::Cut, plan_path.clone());
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
    scarf(&mut t, &finished, full * MM, units);
    name_inside(subject, &mut t, &outline, Point::new(shoulder, 0.5 * highest), "overlay");
    name_inside(subject, &mut t, &plan_path, Point::new(shoulder, middle), "overlay");
    let edge = right + SPARE;
    let thick = measure(highest + SPARE, units);
    height(&mut t, Point::new(edge, 0.0), Point::new(edge, highest + SPARE), edge + 6.0, Beside::Right, &thick);
    let wide = measure(plan.height(), units);
    height(&mut t, Point::new(edge, plan.y0), Point::new(edge, plan.y1), edge + 6.0, Beside::Right, &wide);
    to_tip(&mut t, Point::new(right - 14.0, plan.y0 - 12.0), false);
    let area = nock.glue.map_or(String::new(), |g| format!(" Glue face {} cm².", number_text(g.area * 1e4, 1)));
    let stack = Stack {
        limb: &|x| solid.limb.thickness.at(x / MM) * MM,
        over: &|x| TipShape::at(&finished, x),
        name: "overlay",
    };
    let rows =
        [("feather edge", left), ("half way up", 0.5 * (left + full * MM)), ("full height", full * MM), ("seat", 0.0)];
    stack.draw(&mut t, Point::new(left - SPARE, plan.y0 - 19.0), &rows, units);
    let material = nock.parts.iter().find(|p| p.name == "overlay").map_or("", |p| p.material.as_str());
    let words = format!(
        "{}. Above from the side, below the glue face, in the table the stack of limb and overlay, finished. Cut {} outside the finished lines all \
         round; feather the scarf's thin end down to the limb after glueing.{area}",
        capital(material),
        measure(SPARE, units),
    );
    vec![Piece::new(captioned(subject, t, "overlay blank", &words))]
}

/// The scarf on the side view: its length, its rise, its feather edge. `full` is where the overlay has its full height, mm.
fn scarf(t: &mut Template, finished: &[Point], full: f64, units: Units) {
    let Some(start) = finished.first().copied() else { return };
    let length = full - start.x;
    let level = Place::Level(-10.0);
    dimension(t, start, Point::new(full, 0.0), level, &format!("{}, scarf", measure(length, units)));
    let (mean, steepest) = rise(length, TipShape::at(finished, full));
    let half = Point::new(start.x + 0.5 * length, TipShape::at(finished, start.x + 0.5 * length));
    let top = finished.iter().map(|p| p.y).fold(0.0, f64::max);
    let words = format!("scarf, rises 1:{},\nhalf way up 1:{}", number_text(mean, 1), number_text(steepest, 1));
    let knee = start.x - SPARE - 5.0;
    leader(t, half, Point::new(knee, top + 3.0), End::Arrow, &words);
    leader(t, start, Point::new(knee, 0.2 * top), End::Arrow, "feather edge");
}

/// How many along for one up a scarf rises: over its whole length, and half way up, where it is steepest. It rises as
/// `6 t^5 - 15 t^4 + 10 t^3`, whose slope in the middle is 15/8.
fn rise(length: f64, height: f64) -> (f64, f64) {
    (length / height, length / height * 8.0 / 15.0)
}

/// Thickness of limb and what is glued on it, mm, by place along the limb, mm.
pub(super) struct Stack<'a> {
    pub limb: &'a dyn Fn(f64) -> f64,
    pub over: &'a dyn Fn(f64) -> f64,
    /// What stands over the limb.
    pub name: &'a str,
}

impl Stack<'_> {
    /// The table, its upper left corner at `top_left`, a row for each named place.
    pub fn draw(&self, t: &mut Template, top_left: Point, places: &[(&str, f64)], units: Units) {
        let columns = [
            Column::words("stack"),
            Column::figures("from the seat"),
            Column::figures("limb"),
            Column::figures(self.name),
            Column::figures("together"),
        ];
        let rows: Vec<Vec<String>> = places
            .iter()
            .map(|(name, x)| {
                let (limb, over) = ((self.limb)(*x), (self.over)(*x));
                let figures = [x.abs(), limb, over, limb + over].map(|v| measure(v, units));
                std::iter::once((*name).to_owned()).chain(figures).collect()
            })
            .collect();
        table(t, top_left, &columns, &rows);
    }
}

/// The words with a capital in front.
pub(super) fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or(String::new(), |c| c.to_uppercase().chain(letters).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tip::jet::{Jet, smooth_step};

    #[test]
    fn a_scarf_rises_as_it_is_said_to() {
        // 40 mm long and 8 mm high: the slope half way up, from the curve the solid is made with.
        let (mean, steepest) = rise(40.0, 8.0);
        let slope = smooth_step(Jet::first(20.0) * (1.0 / 40.0)).x * 8.0;
        assert!((mean - 5.0).abs() < 1e-12 && (1.0 / slope - steepest).abs() < 1e-9, "{mean} {steepest} {slope}");
    }
}
