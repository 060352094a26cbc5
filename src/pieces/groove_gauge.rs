//! Groove gauges: two noses for the groove's bottom and depth, and a hollow for the wall.

use kurbo::{BezPath, Point, Vec2};

use super::Subject;
use super::common::{captioned, measure, name_inside};
use super::shape::MM;
use crate::design::NockValue;
use crate::sheets::Piece;
use crate::template::leader::{End, leader};
use crate::template::waste::{Waste, waste_ticks};
use crate::template::{Anchor, Role, Template, size};

/// Size of the card, mm.
const CARD: (f64, f64) = (46.0, 20.0);
/// The second nose is this much longer: when its shoulders come down, the groove is too deep. Common practice, no source.
const TOO_DEEP: f64 = 1.15;

/// Draws them.
pub(super) fn draw(subject: &Subject) -> Vec<Piece> {
    let design = &subject.worked.design;
    let nock = subject.worked.nocks.get(subject.side);
    let choice = design.nocks.get(subject.side);
    let length = |key: &str| {
        choice.values.iter().find_map(|(k, v)| match v {
            NockValue::Length(v) if *k == key => Some(*v * MM),
            _ => None,
        })
    };
    let (Some(radius), Some(depth)) = (length("groove_radius"), length("groove_depth")) else { return Vec::new() };
    let wall = nock.groove.as_ref().map(|g| g.wall.least_radius * MM);
    let mut t = Template::new("");
    let (wide, high) = CARD;
    let x = 0.36 * wide;
    let mut path = BezPath::new();
    path.move_to((0.0, 0.0));
    nose(&mut path, Point::new(x, 0.0), radius, depth, 1.0);
    path.line_to((wide, 0.0));
    if let Some(wall) = wall {
        hollow(&mut path, wide, high, wall);
    }
    path.line_to((wide, high));
    nose(&mut path, Point::new(x, high), radius, TOO_DEEP * depth, -1.0);
    path.line_to((0.0, high));
    path.close_path();
    waste_ticks(&mut t, &path, Waste::Outside);
    t.line(Role::Cut, path.clone());
    let open = nock.groove.as_ref().is_some_and(|g| g.wish.open);
    let [enough, too] = if open { ["low enough", "too low"] } else { ["deep enough", "too deep"] };
    t.words((x, 3.0), size::SMALL, Anchor::Middle, 0.0, false, enough);
    t.words((x, high - 5.0), size::SMALL, Anchor::Middle, 0.0, false, too);
    leader(
        &mut t,
        Point::new(x + 0.6 * radius.min(depth), -depth * 0.8),
        Point::new(x + 8.0, -depth - 5.0),
        End::Arrow,
        &format!("radius {}, depth {}", measure(radius, design.units), measure(depth, design.units)),
    );
    leader(
        &mut t,
        Point::new(x + 0.6 * radius.min(depth), high + TOO_DEEP * depth * 0.8),
        Point::new(x + 8.0, high + depth + 5.0),
        End::Arrow,
        &format!("depth {}", measure(TOO_DEEP * depth, design.units)),
    );
    let mut words = String::from(if open {
        "Trace it on tin or card. Lower nose on the pin close to its shoulder, the card's edge over the limb: when the edge touches the limb, the \
         pin is low enough; if that of the upper one touches as well, it is too low."
    } else {
        "Trace it on tin or card. Lower nose square across the groove: when its shoulders touch the work, the groove is deep enough; \
         if the shoulders of the upper one touch as well, it is too deep."
    });
    if let Some(wall) = wall {
        t.words((wide - 9.0, 0.5 * high - 1.0), size::SMALL, Anchor::End, 0.0, false, "wall");
        words.push_str(&format!(
            " The hollow, radius {}, is the wall's tightest bend on the unrolled side: bent round the tip, it must rock on the \
             wall or just fit, nowhere stand on its two horns.",
            measure(wall, design.units)
        ));
    }
    // A pin has a shoulder and no groove.
    let cut = if open { "shoulder" } else { "groove" };
    name_inside(subject, &mut t, &path, Point::new(x, 0.5 * high), cut);
    vec![Piece::new(captioned(subject, t, &format!("{cut} gauge"), &words))]
}

/// A round nose that stands `depth` out of the edge at `at`: below the edge going right (`way` 1), above it going left (-1).
fn nose(path: &mut BezPath, at: Point, radius: f64, depth: f64, way: f64) {
    // Up to its radius deep, the nose is a segment of the circle; deeper, it has straight sides.
    let half = if depth < radius { (depth * (2.0 * radius - depth)).sqrt() } else { radius };
    let centre = at + Vec2::new(0.0, -way * (depth - radius));
    let reach = (half / radius).min(1.0).asin();
    path.line_to((at.x - way * half, at.y));
    let n = 48;
    for i in 0..=n {
        let t = -reach + 2.0 * reach * f64::from(i) / f64::from(n);
        let (s, c) = t.sin_cos();
        path.line_to(centre + Vec2::new(way * radius * s, -way * radius * c));
    }
    path.line_to((at.x + way * half, at.y));
}

/// A hollow of that radius in the right edge of the card.
fn hollow(path: &mut BezPath, wide: f64, high: f64, radius: f64) {
    let half = (0.42 * high).min(0.94 * radius);
    let reach = (half / radius).asin();
    let middle = Point::new(wide, 0.5 * high);
    let centre = middle + Vec2::new(radius * reach.cos(), 0.0);
    path.line_to((wide, middle.y - half));
    let n = 48;
    for i in 0..=n {
        let t = -reach + 2.0 * reach * f64::from(i) / f64::from(n);
        let (s, c) = t.sin_cos();
        path.line_to(centre + Vec2::new(-radius * c, radius * s));
    }
    path.line_to((wide, middle.y + half));
}
