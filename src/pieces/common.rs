//! What several pieces draw: captions, arrows to the tip, paths through points, figures in words.

use kurbo::{Affine, BezPath, Point, Rect, Vec2};

use super::{LIMBS, Subject, limb_letter, short};
use crate::design::Units;
use crate::font::CAP_HEIGHT;
use crate::template::caption::caption;
use crate::template::dimension::{Place, dimension};
use crate::template::inside::{Near, words_turned};
use crate::template::paragraph::bold_paragraph;
use crate::template::{Anchor, Figure, Role, Template, size};
use crate::units::{inch_text, length_text, millimetre_text, number_text, plain_length_text};

/// Between a piece's drawing and its caption, mm.
const UNDER_CAPTION: f64 = 4.0;
/// The arrow that says which way the tip lies: length, mm.
const TO_TIP: f64 = 9.0;

/// Between a caption's words and its warning, mm.
const OVER_WARNING: f64 = 0.8;

/// The least width that a caption is set in, mm.
const NARROWEST: f64 = 84.0;

/// The longest piece that goes on one sheet, turned, mm; longer ones are cut into tiles.
const ONE_SHEET: f64 = 240.0;
/// The width of a caption that goes on one tile, mm.
const ON_A_TILE: f64 = 150.0;

/// A piece with its caption on top: whose and what it is in bold, then bow, style and `words`, and a warning where a check fails.
pub(super) fn captioned(subject: &Subject, drawing: Template, what: &str, words: &str) -> Template {
    let warning = if subject.failing.is_empty() { "" } else { "Fails a check: see the report before you cut." };
    with_caption(subject, drawing, what, words, warning)
}

/// The same with another warning, in bold.
pub(super) fn with_caption(subject: &Subject, drawing: Template, what: &str, words: &str, warning: &str) -> Template {
    let Some(bounds) = drawing.bounds() else { return drawing };
    let mut head = Template::new("");
    let design = &subject.worked.design;
    let style = design.nocks.get(subject.side).style;
    let lines = format!("{} · {style} · 1:1\n{words}", design.name);
    // Words that reach over a tile's edge could stand on none.
    let widest = if bounds.width() > ONE_SHEET { ON_A_TILE } else { bounds.width() };
    let width = widest.max(NARROWEST);
    let mut high = caption(&mut head, Point::ORIGIN, width, &format!("{}: {what}", subject.whose), &lines);
    if !warning.is_empty() {
        high += OVER_WARNING;
        high += bold_paragraph(&mut head, Point::new(0.0, -high), width, warning);
    }
    let mut piece = Template::new(format!("{} {what}", subject.whose.to_lowercase()));
    piece.add(head.moved(Affine::translate((bounds.x0, bounds.y1 + UNDER_CAPTION + high))));
    piece.add(drawing);
    piece
}

/// Writes inside a cut line, as near to `near` as there is room, whose piece it is and what; at least the limb's letter. Call it last.
pub(super) fn name_inside(subject: &Subject, t: &mut Template, cut: &BezPath, near: Point, what: &str) {
    let bow = subject.worked.design.name.clone();
    // From the fullest to the shortest; for another limb the same with other words.
    named_inside(subject, t, cut, near, &|whose| {
        let mut forms = named_forms(whose, what, &bow).to_vec();
        forms.extend([vec![short(whose).to_owned()], vec![limb_letter(whose).to_owned()]]);
        forms
    });
}

/// The same for one of several like pieces: however short, its name has the `number` in it, `2/3`; at worst in two lines, when
/// `broken`. Whether there was room; nothing is drawn without.
pub(super) fn numbered_inside(
    subject: &Subject,
    t: &mut Template,
    cut: &BezPath,
    near: Point,
    what: &str,
    number: &str,
    broken: bool,
) -> bool {
    let bow = subject.worked.design.name.clone();
    named_inside(subject, t, cut, near, &|whose| {
        let letter = limb_letter(whose);
        if broken {
            return vec![vec![letter.to_owned(), number.to_owned()]];
        }
        let mut forms = named_forms(whose, what, &bow).to_vec();
        forms.extend([vec![format!("{} {number}", short(whose))], vec![format!("{letter} {number}")]]);
        forms
    })
}

/// So many of a limb's names say what the piece is.
const SAY_WHAT: usize = 6;

/// Names in full, the longest first.
fn named_forms(whose: &str, what: &str, bow: &str) -> [Vec<String>; SAY_WHAT] {
    let short = short(whose).to_owned();
    [
        vec![format!("{whose}: {what}"), bow.to_owned()],
        vec![whose.to_owned(), what.to_owned(), bow.to_owned()],
        vec![format!("{whose}: {what}")],
        vec![whose.to_owned(), what.to_owned()],
        vec![format!("{short}: {what}")],
        vec![short, what.to_owned()],
    ]
}

/// Writes the first of a limb's names that has room, level or upright; slanting where none has. Those that say what it is stand
/// apart from other words if they can.
fn named_inside(
    subject: &Subject,
    t: &mut Template,
    cut: &BezPath,
    near: Point,
    forms: &dyn Fn(&str) -> Vec<Vec<String>>,
) -> bool {
    let limbs = LIMBS.map(forms);
    let own = forms(subject.whose);
    let slants: Vec<f64> = (1..=5).flat_map(|k| [12.0, -12.0].map(|slant| slant * f64::from(k))).collect();
    let (level, slanting) = ([0.0, 90.0], slants.as_slice());
    let says_what = own.len().min(SAY_WHAT);
    let apart = (0..says_what).map(|k| (k, Near::Apart, level.as_slice()));
    let clear = (0..own.len()).map(|k| (k, Near::Clear, level.as_slice()));
    let turned = (0..own.len()).map(|k| (k, Near::Clear, slanting));
    for (place, others, turns) in apart.chain(clear).chain(turned) {
        let room: Vec<Vec<String>> = limbs.iter().filter_map(|forms| forms.get(place).cloned()).collect();
        if words_turned(t, cut, near, &own[place], &room, others, turns) {
            return true;
        }
    }
    false
}

/// Room that the words and the arrow of [`to_tip`] take along their way, mm.
pub(super) const TO_TIP_ROOM: f64 = 36.0;

/// An arrow with the words `this way to the tip`: its shaft starts at `at` and points along `x`, or along `y` when `up`.
pub(super) fn to_tip(template: &mut Template, at: Point, up: bool) {
    let way = if up { Vec2::new(0.0, 1.0) } else { Vec2::new(1.0, 0.0) };
    let end = at + way * TO_TIP;
    template.segment(Role::Note, at, end - way * 2.0);
    head(template, end, way);
    let words = "this way to the tip";
    if up {
        template.words(at + Vec2::new(-1.4, 0.0), size::SMALL, Anchor::Start, 90.0, false, words);
    } else {
        let low = CAP_HEIGHT * size::SMALL / 2.0;
        template.text((at.x - 1.2, at.y - low), size::SMALL, Anchor::End, words);
    }
}

/// A filled arrow head with its point at `at`, pointing along the unit vector `way`.
pub(super) fn head(template: &mut Template, at: Point, way: Vec2) {
    let (back, side) = (at - way * 2.6, way.turn_90() * 0.65);
    let mut path = BezPath::new();
    path.move_to(at);
    path.line_to(back + side);
    path.line_to(back - side);
    path.close_path();
    template.fill(Role::Note, path);
}

/// Points that a line may leave out, mm: what no eye and no knife can follow.
const FINE: f64 = 0.004;

/// An open path through the points, those left out that lie within 0.004 mm of it.
pub(super) fn path(points: &[Point]) -> BezPath {
    let mut path = BezPath::new();
    let kept = thinned(points);
    for (i, p) in kept.iter().enumerate() {
        if i == 0 { path.move_to(*p) } else { path.line_to(*p) }
    }
    path
}

/// A closed path through the points.
pub(super) fn ring(points: &[Point]) -> BezPath {
    let mut path = path(points);
    if !path.is_empty() {
        path.close_path();
    }
    path
}

/// Ramer's and Douglas and Peucker's rule: a point stays when the line without it would miss it by more than [`FINE`].
fn thinned(points: &[Point]) -> Vec<Point> {
    let mut keep = vec![false; points.len()];
    let mut open = vec![(0, points.len().saturating_sub(1))];
    while let Some((from, to)) = open.pop() {
        let (Some(p), Some(q)) = (points.get(from), points.get(to)) else { break };
        keep[from] = true;
        keep[to] = true;
        let way = *q - *p;
        let off = |r: &Point| {
            let d = *r - *p;
            if way.hypot() > 1e-9 { d.cross(way).abs() / way.hypot() } else { d.hypot() }
        };
        let worst = (from + 1..to).max_by(|a, b| off(&points[*a]).total_cmp(&off(&points[*b])));
        if let Some(worst) = worst.filter(|i| off(&points[*i]) > FINE) {
            open.push((from, worst));
            open.push((worst, to));
        }
    }
    points.iter().zip(keep).filter(|(_, keep)| *keep).map(|(p, _)| *p).collect()
}

/// A line `off` mm to the left of the points (negative: to the right).
pub(super) fn beside(points: &[Point], off: f64) -> Vec<Point> {
    (0..points.len())
        .map(|i| {
            let way = points[(i + 1).min(points.len() - 1)] - points[i.saturating_sub(1)];
            let length = way.hypot().max(1e-9);
            points[i] + way.turn_90() / length * off
        })
        .collect()
}

/// The part of an open line of points that lies within `rect`; the line is taken to leave it once.
pub(super) fn until(points: &[Point], rect: Rect) -> Vec<Point> {
    let mut kept: Vec<Point> = Vec::new();
    for p in points {
        if rect.contains(*p) {
            kept.push(*p);
            continue;
        }
        if let Some(last) = kept.last().copied() {
            let (mut inside, mut outside) = (last, *p);
            for _ in 0..40 {
                let mid = inside.midpoint(outside);
                if rect.contains(mid) { inside = mid } else { outside = mid }
            }
            kept.push(inside);
        }
        break;
    }
    kept
}

/// A length of `mm` millimetres in the design's units.
pub(super) fn measure(mm: f64, units: Units) -> String {
    let mm = as_printed(mm);
    match finer_inches(mm, units) {
        Some(inches) => format!("{inches} ({})", millimetre_text(mm / 1e3)),
        None => length_text(mm / 1e3, units),
    }
}

/// A length of `mm` millimetres in two lines: the design's unit, and millimetres below it where it is another.
pub(super) fn measure_lines(mm: f64, units: Units) -> Vec<String> {
    let mm = as_printed(mm);
    let inches = || finer_inches(mm, units).unwrap_or_else(|| plain_length_text(mm / 1e3, units));
    match units {
        Units::Inch => vec![inches(), millimetre_text(mm / 1e3)],
        Units::Millimetre => vec![millimetre_text(mm / 1e3)],
    }
}

/// The least that a size may be, mm, as [`measure_lines`] says sizes, but never rounded to less.
pub(super) fn least_lines(mm: f64, units: Units) -> Vec<String> {
    // A hair over a figure is that figure.
    let up = |step: f64| ((mm / step - 1e-3).ceil()) * step;
    let millimetres = millimetre_text(up(if mm < 9.995 { 0.01 } else { 0.1 }) / 1e3);
    let inches = || match inches_in_thousandths(mm, units) {
        Some(_) => format!("{} in", number_text(up(0.0254) / 25.4, 3)),
        None => inch_text(up(25.4 / 64.0) / 1e3, 64),
    };
    match units {
        Units::Inch => vec![inches(), millimetres],
        Units::Millimetre => vec![millimetres],
    }
}

/// Millimetres as they are printed, so that the same figure has the same inches beside it wherever it stands.
fn as_printed(mm: f64) -> f64 {
    let parts = if mm.abs() < 9.995 { 100.0 } else { 10.0 };
    (mm * parts).round() / parts
}

/// Inches finer than a length is told in otherwise: thousandths, and from an inch on sixty-fourths, where the nearest thirty-second
/// would miss it by more than a fifth of a millimetre.
fn finer_inches(mm: f64, units: Units) -> Option<String> {
    let inches = mm / 25.4;
    let off = (inches * 32.0 - (inches * 32.0).round()).abs() / 32.0 * 25.4;
    let fine = units == Units::Inch && inches.abs() >= 1.0 && off > 0.2;
    if fine { Some(inch_text(mm / 1e3, 64)) } else { inches_in_thousandths(mm, units) }
}

/// Inches in thousandths: a small length that the nearest sixty-fourth would miss by more than a tenth of a millimetre.
fn inches_in_thousandths(mm: f64, units: Units) -> Option<String> {
    let inches = mm / 25.4;
    let off = (inches * 64.0 - (inches * 64.0).round()).abs() / 64.0 * 25.4;
    let small = (1.0 / 32.0..0.25).contains(&inches);
    (units == Units::Inch && small && off > 0.1).then(|| format!("{} in", number_text(inches, 3)))
}

/// Which side of an upright dimension line its figures stand on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Beside {
    /// To the left of it.
    Left,
    /// To the right of it.
    Right,
}

/// An upright dimension at `x` between two points, its figures set level beside the line: for heights too short to letter along.
pub(super) fn height(template: &mut Template, from: Point, to: Point, x: f64, beside: Beside, text: &str) {
    let mut lines = Template::new("");
    dimension(&mut lines, from, to, Place::Upright(x), "");
    lines.items.retain(|item| !matches!(item.figure, Figure::Text { .. }));
    template.add(lines);
    let y = 0.5 * (from.y + to.y) - CAP_HEIGHT * size::SMALL / 2.0;
    // Where the height is less than a letter's, its extension lines run out beside the figures.
    let clear = if (to.y - from.y).abs() < 4.0 { 2.4 } else { 1.4 };
    let (off, anchor) = match beside {
        Beside::Left => (-clear, Anchor::End),
        Beside::Right => (clear, Anchor::Start),
    };
    template.text((x + off, y), size::SMALL, anchor, text);
}

/// Draws a wavy break line from `p` to `q`, where the work goes on.
pub(super) fn break_line(template: &mut Template, p: Point, q: Point) {
    let way = q - p;
    let side = way.turn_90() / way.hypot().max(1e-9) * 1.6;
    let mut path = BezPath::new();
    path.move_to(p);
    let mid = p.midpoint(q);
    path.curve_to(p + way * 0.2 + side, p + way * 0.35 + side, mid);
    path.curve_to(p + way * 0.65 - side, p + way * 0.8 - side, q);
    template.line(Role::Dimension, path);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_least_is_never_rounded_to_less() {
        assert_eq!(least_lines(7.32, Units::Inch), ["19/64 in", "7.32 mm"]);
        assert_eq!(least_lines(25.4 * 9.0 / 64.0, Units::Inch), ["9/64 in", "3.58 mm"]);
        assert_eq!(least_lines(7.321, Units::Millimetre), ["7.33 mm"]);
        for i in 0..400 {
            let mm = 1.0 + 0.13 * f64::from(i);
            for words in least_lines(mm, Units::Inch) {
                let read =
                    crate::units::read(&words, crate::units::Kind::Length).unwrap_or_else(|m| panic!("{words}: {m:?}"));
                assert!(read * 1e3 >= mm - 0.001 && read * 1e3 < mm + 0.81, "{mm}: {words}");
            }
        }
    }
}
