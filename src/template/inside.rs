//! Words inside a closed line, where nothing is in their way: what is cut out keeps them.

use kurbo::{Affine, BezPath, PathEl, Point, Rect, Shape, Vec2};

use super::legible::{Ground, segment_meets};
use super::paragraph::LEADING;
use super::{Anchor, Figure, Item, Role, Template, size, text_box};

/// Between words and the line they stand inside of, mm.
const OFF_LINE: f64 = 0.7;
/// How far letters' tails reach below their line, mm.
const TAILS: f64 = 0.6;
/// How far straight strokes may stand off a curve, mm.
const FLATNESS: f64 = 0.05;
/// Places are tried this far apart, mm.
const STEP: f64 = 0.8;

/// Words that are not to be read on from others stand so far off them, mm: along the line, and above and below it.
const APART: [f64; 2] = [2.6, 0.7];

/// How near the words may come to others.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Near {
    /// So far off that nobody reads on from the others.
    Apart,
    /// As near as they are clear of them.
    Clear,
}

/// Sets a few lines of small type inside `outline` as near to `near` as they are clear of everything drawn so far, level if possible,
/// else rising. Each line is given the room of the widest of `room`'s lines, too, so that words of like pieces come to like places.
/// Whether there was room; nothing is drawn without.
pub fn words_inside(
    t: &mut Template,
    outline: &BezPath,
    near: Point,
    lines: &[String],
    room: &[Vec<String>],
    others: Near,
) -> bool {
    words_turned(t, outline, near, lines, room, others, &[0.0, 90.0])
}

/// The same, turned by one of these angles, degrees, the first that has room.
pub fn words_turned(
    t: &mut Template,
    outline: &BezPath,
    near: Point,
    lines: &[String],
    room: &[Vec<String>],
    others: Near,
    turns: &[f64],
) -> bool {
    let high = size::SMALL * LEADING;
    let wide = |lines: &[String]| {
        let widths = lines.iter().map(|line| text_box(line, size::SMALL, Anchor::Middle, false).width());
        widths.fold(0.0, f64::max)
    };
    let wide = room.iter().map(|lines| wide(lines)).fold(wide(lines), f64::max);
    let one = text_box("x", size::SMALL, Anchor::Middle, false);
    // From the lowest tail to the highest letter, about the middle of the block.
    let tall = one.height() + high * (lines.len().max(1) - 1) as f64;
    let block = Rect::from_center_size((0.0, 0.0), (wide, tall));
    let first = block.y1 - one.y1;
    let set = |lines: &[String], middle: Point, turn: f64| -> Vec<Item> {
        let place = Affine::translate(middle.to_vec2()) * Affine::rotate(turn.to_radians());
        let line = |(row, text): (usize, &String)| Item {
            role: Role::Note,
            figure: Figure::Text {
                text: text.clone(),
                at: place * Point::new(0.0, first - high * row as f64),
                size: size::SMALL,
                anchor: Anchor::Middle,
                turn,
                bold: false,
            },
        };
        lines.iter().enumerate().map(line).collect()
    };
    // A letter and figures have no tails.
    let apart = if lines.iter().all(|line| !line.contains(char::is_lowercase)) { 0.0 } else { TAILS };
    let ground = Ground::of(t.items.iter());
    let words: Vec<Rect> = match others {
        Near::Apart => t.items.iter().filter(|i| matches!(i.figure, Figure::Text { .. })).map(Item::bounds).collect(),
        Near::Clear => Vec::new(),
    };
    let (ring, bounds) = (Ring::of(outline), outline.bounding_box());
    let mut places: Vec<Point> = Vec::new();
    for i in 0..=(bounds.width() / STEP) as i32 {
        for j in 0..=(bounds.height() / STEP) as i32 {
            places.push(bounds.origin() + Vec2::new(f64::from(i) * STEP, f64::from(j) * STEP));
        }
    }
    places.sort_by(|p, q| (*p - near).hypot().total_cmp(&(*q - near).hypot()));
    for &turn in turns {
        // The ring turned back, and the block level in it.
        let back = Affine::rotate(-f64::to_radians(turn));
        let level = ring.turned(back);
        for middle in &places {
            if !level.holds(block.inflate(OFF_LINE, OFF_LINE) + (back * *middle).to_vec2()) {
                continue;
            }
            let place = Affine::translate(middle.to_vec2()) * Affine::rotate(f64::to_radians(turn));
            let alone = place.transform_rect_bbox(block.inflate(APART[0], APART[1]));
            if words.iter().any(|other| other.overlaps(alone)) {
                continue;
            }
            // A little above and below as well: words beside words keep a line's distance.
            let aside = [0.0, apart, -apart].map(|up| *middle + Vec2::from_angle(f64::to_radians(turn)).turn_90() * up);
            let clear = |lines: &[String]| {
                let mut all = aside.iter().flat_map(|middle| set(lines, *middle, turn));
                all.all(|item| ground.is_clear(&item, usize::MAX - 1))
            };
            if clear(lines) && room.iter().all(|lines| clear(lines)) {
                let items = set(lines, *middle, turn);
                t.items.extend(items);
                return true;
            }
        }
    }
    false
}

/// A closed line as short straight strokes.
struct Ring(Vec<(Point, Point)>);

impl Ring {
    fn of(outline: &BezPath) -> Self {
        let (mut strokes, mut start, mut last) = (Vec::new(), Point::ORIGIN, Point::ORIGIN);
        kurbo::flatten(outline, FLATNESS, |element| match element {
            PathEl::MoveTo(p) => (start, last) = (p, p),
            PathEl::LineTo(p) => {
                strokes.push((last, p));
                last = p;
            }
            PathEl::ClosePath => strokes.push((last, start)),
            PathEl::QuadTo(..) | PathEl::CurveTo(..) => {}
        });
        Ring(strokes)
    }

    fn turned(&self, by: Affine) -> Self {
        Ring(self.0.iter().map(|(p, q)| (by * *p, by * *q)).collect())
    }

    /// Whether it holds all of a box: no stroke meets it, and its middle lies inside.
    fn holds(&self, taken: Rect) -> bool {
        let middle = taken.center();
        // A ray to the right meets the strokes an odd number of times.
        let crossed = self.0.iter().filter(|(p, q)| {
            (p.y > middle.y) != (q.y > middle.y) && p.x + (middle.y - p.y) / (q.y - p.y) * (q.x - p.x) > middle.x
        });
        crossed.count() % 2 == 1 && !self.0.iter().any(|(p, q)| segment_meets(*p, *q, taken))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_stand_along_a_slanting_strip() {
        let place = Affine::translate((40.0, 10.0)) * Affine::rotate(f64::to_radians(30.0));
        let strip = place * Rect::new(-9.0, -2.6, 9.0, 2.6).to_path(0.1);
        let (near, lines) = (Point::new(40.0, 10.0), ["upper limb".to_owned()]);
        let mut t = Template::new("t");
        assert!(!words_inside(&mut t, &strip, near, &lines, &[], Near::Clear));
        assert!(words_turned(&mut t, &strip, near, &lines, &[], Near::Clear, &[0.0, 30.0]));
        let own = t.bounds().unwrap();
        assert!(t.items.len() == 1 && own.height() > 4.0 && strip.contains(own.center()), "{own:?}");
        // Its corners as well.
        let Figure::Text { text, at, size, anchor, turn, .. } = &t.items[0].figure else { panic!() };
        let letters = text_box(text, *size, *anchor, false);
        let set = Affine::translate(at.to_vec2()) * Affine::rotate(turn.to_radians());
        for (x, y) in [(letters.x0, letters.y0), (letters.x1, letters.y1)] {
            assert!(strip.contains(set * Point::new(x, y)));
        }
    }

    #[test]
    fn words_stand_inside_or_not_at_all() {
        let outline = Rect::new(0.0, 0.0, 30.0, 12.0).to_path(0.1);
        let mut t = Template::new("t");
        t.segment(Role::Mark, (0.0, 6.0), (30.0, 6.0));
        let lines = ["upper limb".to_owned()];
        assert!(words_inside(&mut t, &outline, Point::new(15.0, 6.0), &lines, &[], Near::Clear));
        let words = t.items.last().unwrap().bounds();
        assert!(Rect::new(0.7, 0.7, 29.3, 11.3).contains_rect(words), "{words:?}");
        assert!(words.y0 > 6.1 || words.y1 < 5.9, "{words:?}");
        // Twice as many lines as have room.
        let four = vec!["upper limb".to_owned(); 4];
        assert!(!words_inside(&mut t, &outline, Point::new(15.0, 6.0), &four, &[], Near::Clear));
        assert_eq!(t.items.len(), 2);
        // Too long to stand level, not too long to rise.
        let upright = Rect::new(0.0, 0.0, 6.0, 30.0).to_path(0.1);
        let mut t = Template::new("t");
        assert!(words_inside(&mut t, &upright, Point::ORIGIN, &lines, &[], Near::Clear));
        assert!(t.bounds().unwrap().height() > 9.0);
    }

    #[test]
    fn a_name_is_not_read_on_from_figures() {
        let outline = Rect::new(0.0, 0.0, 60.0, 5.0).to_path(0.1);
        let named = |others: Near| {
            let mut t = Template::new("t");
            t.text((30.0, 1.6), size::SMALL, Anchor::Middle, "22.2 mm");
            let there = words_inside(&mut t, &outline, Point::new(30.0, 2.5), &["Upper limb".to_owned()], &[], others);
            assert!(there);
            let [figure, name] = [0, 1].map(|i: usize| t.items[i].bounds());
            (figure.x0 - name.x1).max(name.x0 - figure.x1)
        };
        assert!(named(Near::Apart) >= APART[0] - 1e-9 && named(Near::Clear) < 1.5);
    }
}
