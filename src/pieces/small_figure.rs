//! A small figure of one nock, from the side and from the back, to tell styles apart by.

use kurbo::{Affine, Point, Rect, Shape};

use super::common::{beside, break_line, path, until};
use super::shape::{MM, TipShape, groove_middle, string_line};
use crate::design::file::read;
use crate::design::{BowString, Side};
use crate::fault::{Fault, Faults};
use crate::nock::{Nock, NockStyle};
use crate::samples::{SAMPLE, SAMPLE_NAME};
use crate::string::sweep::Swing;
use crate::template::{Anchor, Role, Template, size};
use crate::tip::Shell;
use crate::worked::{Statics, nocks};

/// The figure of a style on the built-in sample's limb.
///
/// # Errors
/// Why the sample cannot carry it.
pub fn on_the_sample(style: &dyn NockStyle) -> Result<Template, Faults> {
    let text = SAMPLE.replace("\"back overlay\"", &format!("\"{}\"", style.name()));
    let refused = |why: String| vec![Fault::at("nock.style", format!("the sample as `{}`", style.name()), why)];
    let design = read(&text, SAMPLE_NAME).map_err(|refusal| refused(refusal.to_string()))?.design;
    let statics = Statics::of(&design, 10).map_err(|fault| vec![fault])?;
    let made = nocks(&design, &statics)?;
    Ok(small_figure(&made.upper, &design.string, statics.swings.get(Side::Upper)))
}

/// How far the figure goes toward the handle, and below the limb's middle, mm.
const SHOWN: [f64; 2] = [52.0, 18.0];

/// Draws it: side view with the string at brace and at full draw, back view below, the name on top.
pub fn small_figure(nock: &Nock, string: &BowString, swing: &Swing) -> Template {
    let shape = TipShape::of(nock, swing.brace);
    // Of a slot on one side only, that side is shown.
    let seen = nock.groove.as_ref().map_or(1.0, |groove| groove.way());
    let solid = &nock.solid;
    let mut t = Template::new(nock.style);
    let [left, low] = SHOWN;
    let shown = |line: &[Point]| -> Vec<Point> { line.iter().copied().filter(|p| p.x > -left).collect() };
    let (back, belly) = (shown(&shape.back), shown(&shape.belly));
    let outline: Vec<Point> = back.iter().chain(belly.iter().rev()).copied().collect();
    t.line(Role::Outline, path(&outline));
    if let (Some(p), Some(q)) = (back.first(), belly.first()) {
        break_line(&mut t, *p, *q);
    }
    let end = solid.end * MM;
    let widest = shape.widest();
    let from_back = Affine::translate((0.0, -low - widest - 4.0));
    let (half, other): (Vec<Point>, Vec<Point>) = (shown(&shape.side), shown(&shape.other_side));
    let whole: Vec<Point> = half.iter().copied().chain(other.iter().rev().map(|p| Point::new(p.x, -p.y))).collect();
    t.line(Role::Outline, from_back * path(&whole));
    if let Some(p) = half.first() {
        break_line(&mut t, from_back * *p, from_back * Point::new(p.x, -p.y));
    }
    t.segment(Role::Centre, from_back * Point::new(-left - 2.0, 0.0), from_back * Point::new(end + 2.0, 0.0));

    // The groove's edges and its middle, on the side seen and, from the back, on both.
    let (mut from_side, mut above) = (Vec::new(), Vec::new());
    let mut line = |role: Role, places: Vec<[f64; 2]>| {
        let radius = |[a, theta]: [f64; 2]| -> f64 { solid.uncut(a, theta) };
        let near = places.iter().filter(|p| shape.even || p[1] * seen >= 0.0);
        from_side.push((role, near.map(|p| Point::new(p[0] * MM, radius(*p) * p[1].cos() * MM)).collect()));
        let top = places.iter().filter(|p| p[1].abs() < 1.4);
        above.push((role, top.map(|p| Point::new(p[0] * MM, radius(*p) * p[1].sin() * MM)).collect::<Vec<_>>()));
    };
    for run in &shape.groove {
        line(Role::Outline, run.iter().map(|c| [c.low, c.theta]).collect());
        line(Role::Outline, run.iter().map(|c| [c.high, c.theta]).collect());
    }
    for middle in groove_middle(nock) {
        line(Role::Centre, middle);
    }
    for (role, points) in from_side {
        let points: Vec<Point> = points;
        t.line(role, path(&shown(&points)));
    }
    for (role, points) in above {
        if points.len() < 2 {
            continue;
        }
        for sign in shape.signs() {
            let points: Vec<Point> = points.iter().map(|p| Point::new(p.x, sign * p.y)).collect();
            t.line(role, from_back * path(&shown(&points)));
        }
    }
    // The joint under an overlay; the cone in a cap.
    let joint: Vec<Point> = match solid.shell {
        Shell::Overlay { from, .. } => (0..=60)
            .map(|i| from + (solid.end - 0.3e-3 - from) * f64::from(i) / 60.0)
            .map(|a| Point::new(a * MM, solid.limb.section(a).back_distance() * MM))
            .filter(|p| p.y < TipShape::at(&shape.back, p.x))
            .collect(),
        Shell::Cap { mouth, bore, bore_depth, bore_slope, .. } => {
            let deep = bore_depth.min(bore / bore_slope);
            let small = (bore - bore_slope * deep) * MM;
            let (a, b) = (mouth * MM, (mouth + deep) * MM);
            vec![Point::new(a, bore * MM), Point::new(b, small), Point::new(b, -small), Point::new(a, -bore * MM)]
        }
        Shell::Bare | Shell::Eased { .. } => Vec::new(),
    };
    let glue: Vec<Point> = solid.strip_glue(-left / MM).iter().map(|[a, b]| Point::new(a * MM, b * MM)).collect();
    if glue.len() > 1 {
        t.line(Role::Hidden, path(&glue));
    }
    if joint.len() > 1 {
        t.line(Role::Hidden, path(&shown(&joint)));
    }
    let half_string = 0.5 * string.diameter * MM;
    if shape.even {
        t.line(Role::String, kurbo::Circle::new((0.0, nock.seat_offset * MM), half_string).to_path(1e-3));
    }
    let within = Rect::new(-left, -low, end + 30.0, 100.0);
    for angle in [swing.brace, swing.full_draw] {
        let (points, leaves) = string_line(nock, string, angle, 300.0, seen);
        let points = until(&points[leaves.min(points.len() - 2)..], within);
        for side in [half_string, -half_string] {
            t.line(Role::String, path(&beside(&points, side)));
        }
    }
    t.words((-left, shape.top() + 4.0), size::HEAD, Anchor::Start, 0.0, true, nock.style);
    // With the back up and the tip at the right, the `-w` side is seen.
    if shape.even || seen < 0.0 { t } else { t.mirrored() }
}
