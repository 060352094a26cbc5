//! The belly strip's blank: side and glue face, laid flat, with room to shape it.

use kurbo::{Point, Rect, Shape};

use super::Subject;
use super::belly_guide::Along;
use super::common::{Beside, captioned, height, measure, name_inside, path, ring, to_tip};
use super::overlay_blank::{SPARE, Stack, capital};
use super::shape::MM;
use crate::sheets::Piece;
use crate::template::dimension::{Place, dimension};
use crate::template::waste::{Waste, waste_ticks};
use crate::template::{Anchor, Role, Template, size};
use crate::units::number_text;

/// Draws it; nothing for a nock without a strip.
pub(super) fn draw(subject: &Subject) -> Vec<Piece> {
    let nock = subject.worked.nocks.get(subject.side);
    let units = subject.worked.design.units;
    let solid = &nock.solid;
    let Some(strip) = solid.strip else { return Vec::new() };
    let along = Along::of(subject, false);
    let n = 160;
    let places: Vec<f64> =
        (0..=n).map(|i| strip.end + (strip.start - strip.end) * f64::from(i) / f64::from(n)).collect();
    // From the nock inward to the left, measured along the belly.
    let x = |d: f64| -along.at(d * MM);
    let (left, right) = (x(strip.end), x(strip.start));
    let mut t = Template::new("");
    // Side: the glue face is the straight lower edge, level.
    let finished: Vec<Point> = places.iter().map(|d| Point::new(x(*d), strip.height(*d) * MM)).collect();
    let thick = strip.thickness * MM;
    let side = Rect::new(left - SPARE, 0.0, right + SPARE, thick + SPARE).to_path(0.1);
    waste_ticks(&mut t, &side, Waste::Outside);
    t.line(Role::Cut, side.clone());
    t.line(Role::Mark, path(&finished));
    let [whole_from, whole_to] = strip.whole();
    // Glue face: the plan, below, the limb's width and a little over.
    let half = |d: f64| 0.5 * solid.limb.width.at(-d) * MM;
    let widest = places.iter().map(|d| 2.0 * half(*d)).fold(0.0_f64, f64::max);
    let middle = -(0.5 * widest + SPARE + 14.0);
    let edge = |sign: f64, more: f64| -> Vec<Point> {
        places.iter().map(|d| Point::new(x(*d), middle + sign * (half(*d) + more))).collect()
    };
    let mut plan = edge(1.0, SPARE);
    let ends = [plan[0], plan[plan.len() - 1]].map(|p| p.y - middle);
    plan.push(Point::new(right + SPARE, middle + ends[1]));
    plan.push(Point::new(right + SPARE, middle - ends[1]));
    plan.extend(edge(-1.0, SPARE).into_iter().rev());
    plan.push(Point::new(left - SPARE, middle - ends[0]));
    plan.push(Point::new(left - SPARE, middle + ends[0]));
    let plan = ring(&plan);
    waste_ticks(&mut t, &plan, Waste::Outside);
    t.line(Role::Cut, plan.clone());
    for sign in [1.0, -1.0] {
        t.line(Role::Mark, path(&edge(sign, 0.0)));
    }
    t.segment(Role::Centre, (left - SPARE - 3.0, middle), (right + SPARE + 3.0, middle));
    let guide = subject.worked.design.nocks.get(subject.side).guide();
    if let Some(guide) = guide {
        let [from, to] = guide.whole();
        let wide = 0.5 * guide.width(guide.depth) * MM;
        for sign in [1.0, -1.0] {
            let corners = [(guide.start, 0.0), (from, wide), (to, wide), (guide.end, 0.0)];
            let line: Vec<Point> = corners.iter().map(|(d, w)| Point::new(x(*d), middle + sign * w)).collect();
            t.line(Role::Mark, path(&line));
        }
    }
    for (cut, y) in [(&side, 0.5 * thick), (&plan, middle)] {
        name_inside(subject, &mut t, cut, Point::new(0.5 * (left + right), y), "strip");
    }
    let whole = measure(right - left + 2.0 * SPARE, units);
    let upper = [Point::new(left - SPARE, 0.0), Point::new(right + SPARE, 0.0)];
    dimension(&mut t, upper[0], upper[1], Place::Level(thick + SPARE + 6.0), &whole);
    let scarf = [Point::new(left, 0.0), Point::new(x(whole_to), 0.0)];
    dimension(&mut t, scarf[0], scarf[1], Place::Level(-6.5), &measure(scarf[1].x - scarf[0].x, units));
    let words = "scarf, to the handle";
    t.words((0.5 * (scarf[0].x + scarf[1].x), -11.2), size::SMALL, Anchor::Middle, 0.0, false, words);
    t.words((0.5 * (x(whole_to) + right), -4.0), size::SMALL, Anchor::Middle, 0.0, false, "glue face");
    let right_edge = right + SPARE;
    let blank = measure(thick + SPARE, units);
    let corners = [0.0, thick + SPARE].map(|y| Point::new(right_edge, y));
    height(&mut t, corners[0], corners[1], right_edge + 6.0, Beside::Right, &blank);
    let wide = measure(2.0 * ends[1], units);
    let corners = [middle - ends[1], middle + ends[1]].map(|y| Point::new(right_edge, y));
    height(&mut t, corners[0], corners[1], right_edge + 6.0, Beside::Right, &wide);
    let wide = measure(2.0 * ends[0], units);
    let corners = [middle - ends[0], middle + ends[0]].map(|y| Point::new(left - SPARE, y));
    height(&mut t, corners[0], corners[1], left - SPARE - 6.0, Beside::Left, &wide);
    let under = middle - 0.5 * widest - SPARE;
    to_tip(&mut t, Point::new(right - 14.0, under - 5.0), false);
    let stack =
        Stack { limb: &|x| solid.limb.thickness.at(x / MM) * MM, over: &|x| strip.height(-x / MM) * MM, name: "strip" };
    let half_way = 0.5 * (whole_to + strip.end);
    let rows =
        [("scarf's end", strip.end), ("half way up", half_way), ("whole from", whole_to), ("whole to", whole_from)]
            .map(|(name, d)| (name, -d * MM));
    stack.draw(&mut t, Point::new(left - SPARE, under - 11.0), &rows, units);
    let material = nock.parts.iter().find(|p| p.name == "strip").map_or("", |p| p.material.as_str());
    let area = places.windows(2).map(|w| 2.0 * half(0.5 * (w[0] + w[1])) * (x(w[1]) - x(w[0])).abs()).sum::<f64>();
    let bottom = guide.map_or(String::new(), |guide| {
        let left = measure((strip.thickness - guide.depth) * MM, units);
        format!(" File the guide after glueing; {left} of the strip is left under it.")
    });
    let words = format!(
        "{}. Above from the side, below the glue face, laid flat and measured along the belly as the unstrung limb is bent; in the table the stack \
         of limb and strip, finished. Its end toward the nock is {} from the seat along the belly. Where the belly is round, hollow the glue \
         face to it. Its own stiffness is left out of all figures. Glue face {} cm².{bottom}",
        capital(material),
        measure(along.at(strip.start * MM), units),
        number_text(area / 100.0, 1),
    );
    vec![Piece::new(captioned(subject, t, "belly strip blank", &words))]
}
