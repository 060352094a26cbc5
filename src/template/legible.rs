//! Finds texts that a line runs through or another text lies on: what must never be on a sheet.

use kurbo::{Affine, BezPath, PathEl, Point, Rect};

use super::{Anchor, Figure, Item, Template, text_box};

/// The texts of a template that a line, a filled figure or another text runs into.
///
/// A text's box is its letters' own, from the baseline to the top of the capitals; lines count with half their width.
pub fn crossed_texts(template: &Template) -> Vec<String> {
    let mut crossed = Vec::new();
    for (place, item) in template.items.iter().enumerate() {
        let Figure::Text { text, at, size, anchor, turn, bold } = &item.figure else { continue };
        if text.trim().is_empty() {
            continue;
        }
        let letters = text_box(text, *size, *anchor, *bold);
        let letters = Rect::new(letters.x0, 0.0, letters.x1, letters.y1);
        let to_text = Affine::rotate(-turn.to_radians()) * Affine::translate(-at.to_vec2());
        let hit =
            template.items.iter().enumerate().any(|(other, item)| other != place && runs_into(item, to_text, letters));
        if hit {
            crossed.push(text.clone());
        }
    }
    crossed
}

/// What a text must keep clear of, made ready for many trials.
#[derive(Debug, Clone, Default)]
pub struct Ground {
    strokes: Vec<Stroke>,
    /// Between two texts along their lines, mm, if more than from all else.
    words_apart: f64,
}

/// A straight stroke.
#[derive(Debug, Clone, Copy)]
struct Stroke {
    ends: (Point, Point),
    /// Half its width, mm.
    half: f64,
    whose: usize,
    /// It is the outline of a text.
    text: bool,
}

/// What stays where it is.
const FIXED: usize = usize::MAX;
/// Between a text and what it keeps clear of, mm.
const CLEARANCE: f64 = 0.3;

/// The box of a text's letters, unturned, about its anchor: down to the baseline, or to the reach of tails and brackets where it has such.
fn letters_box(text: &str, size: f64, anchor: Anchor, bold: bool) -> Rect {
    let own = text_box(text, size, anchor, bold);
    let tails = text.contains(['(', ')', '[', ']', ',', ';', 'g', 'j', 'p', 'q', 'y', 'Q']);
    Rect { y0: if tails { own.y0 } else { 0.0 }, ..own }
}

impl Ground {
    /// Lines, filled figures and texts that stay where they are.
    pub fn of<'a>(items: impl Iterator<Item = &'a Item>) -> Ground {
        let mut ground = Ground::default();
        items.for_each(|item| ground.add(item, FIXED));
        ground
    }

    /// The same with that much between two texts on one line, mm.
    pub fn words_apart(self, words_apart: f64) -> Ground {
        Ground { words_apart, ..self }
    }

    /// The text of that number no longer keeps a place.
    pub fn remove(&mut self, number: usize) {
        self.strokes.retain(|stroke| stroke.whose != number);
    }

    /// A text that is still to be placed, under a number of its own.
    pub fn reserve(&mut self, item: &Item, number: usize) {
        self.add(item, number);
    }

    /// The text of that number has found its place.
    pub fn settle(&mut self, number: usize, item: &Item) {
        self.remove(number);
        self.add(item, FIXED);
    }

    fn add(&mut self, item: &Item, whose: usize) {
        match &item.figure {
            Figure::Line(path) | Figure::Fill(path) => {
                let half = if matches!(item.figure, Figure::Line(_)) { item.role.look().width / 2.0 } else { 0.0 };
                segments(path, |a, b| self.strokes.push(Stroke { ends: (a, b), half, whose, text: false }));
            }
            Figure::Text { text, at, size, anchor, turn, bold } => {
                let own = letters_box(text, *size, *anchor, *bold);
                let place = Affine::translate(at.to_vec2()) * Affine::rotate(turn.to_radians());
                // Its outline, and a line through its middle for larger texts that reach all round it.
                let rows = [own.y0, (own.y0 + own.y1) / 2.0, own.y1];
                let mut outline = |a: (f64, f64), b: (f64, f64)| {
                    let ends = (place * Point::from(a), place * Point::from(b));
                    self.strokes.push(Stroke { ends, half: 0.0, whose, text: true });
                };
                rows.into_iter().for_each(|y| outline((own.x0, y), (own.x1, y)));
                [own.x0, own.x1].into_iter().for_each(|x| outline((x, own.y0), (x, own.y1)));
            }
        }
    }

    /// Only what lies within that distance of a place, mm.
    pub fn near(&self, place: Point, far: f64) -> Ground {
        let window = Rect::from_center_size(place, (2.0 * far, 2.0 * far));
        let strokes = self.strokes.iter().filter(|s| clip(s.ends.0, s.ends.1, window).is_some()).copied().collect();
        Ground { strokes, ..*self }
    }

    /// Whether a text keeps clear of everything but its own reservation.
    pub fn is_clear(&self, item: &Item, number: usize) -> bool {
        let Figure::Text { text, at, size, anchor, turn, bold } = &item.figure else { return true };
        let letters = letters_box(text, *size, *anchor, *bold);
        let to_text = Affine::rotate(-turn.to_radians()) * Affine::translate(-at.to_vec2());
        self.strokes.iter().filter(|stroke| stroke.whose != number).all(|stroke| {
            let room = stroke.half + CLEARANCE;
            let along = if stroke.text { room.max(self.words_apart) } else { room };
            !segment_meets(to_text * stroke.ends.0, to_text * stroke.ends.1, letters.inflate(along, room))
        })
    }
}

/// Whether an item reaches into `letters` once moved by `to_text`.
fn runs_into(item: &Item, to_text: Affine, letters: Rect) -> bool {
    match &item.figure {
        Figure::Line(path) => {
            let half = item.role.look().width / 2.0;
            path_meets(&(to_text * path.clone()), letters.inflate(half, half))
        }
        Figure::Fill(path) => path_meets(&(to_text * path.clone()), letters),
        Figure::Text { text, at, size, anchor, turn, bold } => {
            let own = text_box(text, *size, *anchor, *bold);
            let own = Rect::new(own.x0, 0.0, own.x1, own.y1);
            let place = to_text * Affine::translate(at.to_vec2()) * Affine::rotate(turn.to_radians());
            let corners = [(own.x0, own.y0), (own.x1, own.y0), (own.x1, own.y1), (own.x0, own.y1), (own.x0, own.y0)];
            !text.trim().is_empty() && {
                let corners = corners.map(|c| place * Point::from(c));
                corners.windows(2).any(|side| segment_meets(side[0], side[1], letters))
            }
        }
    }
}

fn path_meets(path: &BezPath, letters: Rect) -> bool {
    let mut meets = false;
    segments(path, |a, b| meets |= segment_meets(a, b, letters));
    meets
}

/// Calls `each` with the ends of every straight stroke of a path made straight.
fn segments(path: &BezPath, mut each: impl FnMut(Point, Point)) {
    let (mut start, mut last) = (Point::ORIGIN, Point::ORIGIN);
    kurbo::flatten(path, 0.02, |element| match element {
        PathEl::MoveTo(p) => (start, last) = (p, p),
        PathEl::LineTo(p) => {
            each(last, p);
            last = p;
        }
        PathEl::ClosePath => {
            each(last, start);
            last = start;
        }
        _ => {}
    });
}

pub(super) fn segment_meets(a: Point, b: Point, rect: Rect) -> bool {
    clip(a, b, rect).is_some()
}

/// The part of the segment `a`-`b` within `rect`, as shares of the way from `a` to `b` (Liang and Barsky's clipping).
pub(super) fn clip(a: Point, b: Point, rect: Rect) -> Option<(f64, f64)> {
    let (mut enter, mut leave) = (0.0_f64, 1.0_f64);
    let way = b - a;
    for (speed, room) in
        [(-way.x, a.x - rect.x0), (way.x, rect.x1 - a.x), (-way.y, a.y - rect.y0), (way.y, rect.y1 - a.y)]
    {
        if speed == 0.0 {
            if room < 0.0 {
                return None;
            }
        } else if speed < 0.0 {
            enter = enter.max(room / speed);
        } else {
            leave = leave.min(room / speed);
        }
    }
    (enter < leave).then_some((enter, leave))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::template::{Anchor, Role};

    #[test]
    fn a_line_through_a_word_is_found_and_one_beside_it_is_not() {
        let mut t = Template::new("t");
        t.text((0.0, 0.0), 3.0, Anchor::Start, "groove");
        t.segment(Role::Cut, (-5.0, -1.0), (20.0, -1.0));
        assert!(crossed_texts(&t).is_empty());
        t.segment(Role::Cut, (4.0, -5.0), (5.0, 5.0));
        assert_eq!(crossed_texts(&t), ["groove"]);
    }

    #[test]
    fn two_texts_on_each_other_are_both_found() {
        let mut t = Template::new("t");
        t.text((0.0, 0.0), 3.0, Anchor::Start, "groove");
        t.words((2.0, -2.0), 3.0, Anchor::Start, 40.0, false, "wall");
        assert_eq!(crossed_texts(&t), ["groove", "wall"]);
    }
}
