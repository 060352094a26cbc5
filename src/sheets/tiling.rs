//! A piece larger than the field, in tiles that are laid on one another.
//!
//! Neighbours share a strip. Its middle is a thin line on both, with two round marks: lay one tile on the other so that the
//! marks meet, and stick. Tiles are named as on a map: columns A, B, C from the left, rows 1, 2, 3 from the top.

use kurbo::{BezPath, Circle, PathEl, Point, Rect, Shape, Vec2};

use super::large_print::{LETTERS, enlarged};
use super::{Letters, Piece};
use crate::template::caption::caption;
use crate::template::{Anchor, Figure, Item, Role, Template, look::WIDEST, size};

/// Width of the strip that neighbours share, mm. Wider wastes paper; narrower leaves no hold for paste.
const OVERLAP: f64 = 15.0;
/// Height kept free above a tile for its name, mm.
const HEAD: f64 = 8.0;
/// Most tiles of one piece; a piece that needs more has gone wrong.
const MOST_TILES: usize = 36;
/// How far a straight stroke may stray from a curve that is cut at a tile's edge, mm: far below a line's width.
const FLATNESS: f64 = 0.005;

/// The tiles of a piece, after a map of how they lie; none where it would need too many.
pub fn tiles(template: &Template, field: (f64, f64), letters: Letters) -> Option<Vec<Piece>> {
    let bounds = template.bounds()?.inflate(WIDEST, WIDEST);
    // What one tile shows; at the edge a line may reach over by half its width.
    let (wide, high) = (field.0 - WIDEST, field.1 - HEAD - WIDEST);
    let count = |length: f64, tile: f64| ((length - OVERLAP) / (tile - OVERLAP)).ceil().max(1.0) as usize;
    let (columns, rows) = (count(bounds.width(), wide), count(bounds.height(), high));
    if columns.saturating_mul(rows) > MOST_TILES {
        return None;
    }
    let mut pieces = map_of(template, (columns, rows), field, letters);
    for row in 0..rows {
        for column in 0..columns {
            let corner = Point::new(
                bounds.x0 + column as f64 * (wide - OVERLAP),
                bounds.y1 - row as f64 * (high - OVERLAP) - high,
            );
            let window = Rect::from_origin_size(corner, (wide, high));
            pieces.push(Piece::new(tile(template, window, (column, row), (columns, rows), letters)));
        }
    }
    Some(pieces)
}

fn name(column: usize, row: usize) -> String {
    format!("{}{}", char::from(b'A' + column as u8), row + 1)
}

fn tile(
    template: &Template,
    window: Rect,
    (column, row): (usize, usize),
    (columns, rows): (usize, usize),
    letters: Letters,
) -> Template {
    let own = name(column, row);
    let mut t = Template::new(format!("{} {own}", template.name));
    for item in &template.items {
        if let Some(item) = cut(item, window, (column + 1 == columns, row + 1 == rows)) {
            t.items.push(item);
        }
    }
    let (strip_x, strip_y) = (OVERLAP / 2.0, OVERLAP / 2.0);
    let mut joins = Vec::new();
    let mut seam = |here: bool, other: (usize, usize), from: Point, along: Vec2| {
        if !here {
            return;
        }
        joins.push(name(other.0, other.1));
        t.segment(Role::Note, from, from + along);
        for share in [0.25, 0.75] {
            mark(&mut t, from + along * share);
        }
    };
    let (width, height) = (window.width(), window.height());
    seam(column > 0, (column.wrapping_sub(1), row), Point::new(window.x0 + strip_x, window.y0), Vec2::new(0.0, height));
    seam(column + 1 < columns, (column + 1, row), Point::new(window.x1 - strip_x, window.y0), Vec2::new(0.0, height));
    seam(row > 0, (column, row.wrapping_sub(1)), Point::new(window.x0, window.y1 - strip_y), Vec2::new(width, 0.0));
    seam(row + 1 < rows, (column, row + 1), Point::new(window.x0, window.y0 + strip_y), Vec2::new(width, 0.0));
    let words = format!("{}, tile {own} of {columns} × {rows}; joins {}", template.name, joins.join(", "));
    let size = match letters {
        Letters::Usual => size::BODY,
        Letters::Large => LETTERS,
    };
    let words = crate::font::shorten(&words, size, true, width);
    t.words((window.x0, window.y1 + 3.0), size, Anchor::Start, 0.0, true, words);
    t
}

/// A round mark with a cross: two of them lie on one another when both circles and crosses do.
fn mark(t: &mut Template, at: Point) {
    t.line(Role::Note, Circle::new(at, 2.0).to_path(1e-3));
    t.segment(Role::Note, at - Vec2::new(4.0, 0.0), at + Vec2::new(4.0, 0.0));
    t.segment(Role::Note, at - Vec2::new(0.0, 4.0), at + Vec2::new(0.0, 4.0));
}

/// How the tiles lie, in usual or large letters.
fn map_of(template: &Template, (columns, rows): (usize, usize), field: (f64, f64), letters: Letters) -> Vec<Piece> {
    let map = map(template, columns, rows);
    match letters {
        Letters::Usual => vec![map],
        Letters::Large => enlarged(map, &[field]),
    }
}

/// How the tiles lie, not to scale.
fn map(template: &Template, columns: usize, rows: usize) -> Piece {
    let mut t = Template::new(format!("{} map", template.name));
    let words = format!(
        "{columns} × {rows} tiles. Lay the round marks of neighbours on one another, stick, then cut. Map not to scale."
    );
    caption(&mut t, Point::ORIGIN, 80.0, &template.name, &words);
    let (width, height) = (12.0, 15.0);
    let top = t.bounds().map_or(0.0, |b| b.y0) - 3.0;
    for row in 0..rows {
        for column in 0..columns {
            let (x, y) = (column as f64 * width, top - (row + 1) as f64 * height);
            t.line(Role::Note, Rect::new(x, y, x + width, y + height).to_path(0.1));
            t.words(
                (x + width / 2.0, y + height / 2.0 - 1.2),
                size::BODY,
                Anchor::Middle,
                0.0,
                true,
                name(column, row),
            );
        }
    }
    Piece::new(t)
}

/// The part of an item within a window; words go whole to the one tile whose own part of the piece holds their middle.
fn cut(item: &Item, window: Rect, (last_column, last_row): (bool, bool)) -> Option<Item> {
    let bounds = item.bounds();
    let keeps = |figure| Some(Item { role: item.role, figure });
    match &item.figure {
        Figure::Text { .. } => {
            let middle = bounds.center();
            let own = Rect::new(
                window.x0,
                if last_row { window.y0 } else { window.y0 + OVERLAP },
                if last_column { window.x1 } else { window.x1 - OVERLAP },
                window.y1,
            );
            // Words that would reach over the tile's edge stay with the tile, moved in as far as they must.
            own.contains(middle).then(|| moved_in(item, bounds, window))
        }
        _ if window.contains_rect(bounds) => Some(item.clone()),
        Figure::Line(path) => {
            let mut cut = BezPath::new();
            clip_line(path, window, &mut cut);
            if cut.elements().is_empty() { None } else { keeps(Figure::Line(cut)) }
        }
        Figure::Fill(path) => {
            let cut = clip_fill(path, window);
            if cut.elements().is_empty() { None } else { keeps(Figure::Fill(cut)) }
        }
    }
}

fn moved_in(item: &Item, bounds: Rect, window: Rect) -> Item {
    let shift = |low: f64, high: f64, from: f64, to: f64| (from - low).max(0.0) + (to - high).min(0.0);
    let by =
        Vec2::new(shift(bounds.x0, bounds.x1, window.x0, window.x1), shift(bounds.y0, bounds.y1, window.y0, window.y1));
    let mut item = item.clone();
    if let Figure::Text { at, .. } = &mut item.figure {
        *at += by;
    }
    item
}

/// Adds the parts of a path within a window, with curves as short straight strokes (Liang and Barsky's clipping).
fn clip_line(path: &BezPath, window: Rect, out: &mut BezPath) {
    let (mut start, mut last) = (Point::ZERO, Point::ZERO);
    let mut pen: Option<Point> = None;
    let mut stroke = |from: Point, to: Point, pen: &mut Option<Point>| {
        if let Some((a, b)) = clipped(from, to, window) {
            if *pen != Some(a) {
                out.move_to(a);
            }
            out.line_to(b);
            *pen = Some(b);
        }
    };
    kurbo::flatten(path.elements().iter().copied(), FLATNESS, |element| match element {
        PathEl::MoveTo(p) => (start, last, pen) = (p, p, None),
        PathEl::LineTo(p) => {
            stroke(last, p, &mut pen);
            last = p;
        }
        PathEl::ClosePath => {
            stroke(last, start, &mut pen);
            last = start;
        }
        PathEl::QuadTo(..) | PathEl::CurveTo(..) => {}
    });
}

fn clipped(from: Point, to: Point, window: Rect) -> Option<(Point, Point)> {
    let along = to - from;
    let (mut enter, mut leave) = (0.0_f64, 1.0_f64);
    for (step, room) in [
        (-along.x, from.x - window.x0),
        (along.x, window.x1 - from.x),
        (-along.y, from.y - window.y0),
        (along.y, window.y1 - from.y),
    ] {
        if step == 0.0 {
            if room < 0.0 {
                return None;
            }
        } else if step < 0.0 {
            enter = enter.max(room / step);
        } else {
            leave = leave.min(room / step);
        }
    }
    let end = |share: f64, whole: Point| if share == 0.0 || share == 1.0 { whole } else { from + along * share };
    (enter < leave).then(|| (end(enter, from), end(leave, to)))
}

/// The part of a filled path within a window, ring by ring (Sutherland and Hodgman's clipping).
fn clip_fill(path: &BezPath, window: Rect) -> BezPath {
    let mut rings: Vec<Vec<Point>> = Vec::new();
    kurbo::flatten(path.elements().iter().copied(), FLATNESS, |element| match element {
        PathEl::MoveTo(p) => rings.push(vec![p]),
        PathEl::LineTo(p) => {
            if let Some(ring) = rings.last_mut() {
                ring.push(p);
            }
        }
        _ => {}
    });
    let mut out = BezPath::new();
    for mut ring in rings {
        for side in 0..4 {
            let inside = |p: Point| match side {
                0 => p.x - window.x0,
                1 => window.x1 - p.x,
                2 => p.y - window.y0,
                _ => window.y1 - p.y,
            };
            let mut kept = Vec::with_capacity(ring.len() + 4);
            for (i, p) in ring.iter().enumerate() {
                let before = ring[(i + ring.len() - 1) % ring.len()];
                let (was, is) = (inside(before), inside(*p));
                if (was < 0.0) != (is < 0.0) {
                    kept.push(before.lerp(*p, was / (was - is)));
                }
                if is >= 0.0 {
                    kept.push(*p);
                }
            }
            ring = kept;
        }
        if let [first, rest @ ..] = ring.as_slice() {
            out.move_to(*first);
            rest.iter().for_each(|p| out.line_to(*p));
            out.close_path();
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A slanting line over several tiles, a disc on a seam, and a word in each corner.
    fn large() -> Template {
        let mut t = Template::new("large");
        t.line(Role::Cut, Rect::new(0.0, 0.0, 400.0, 300.0).to_path(0.1));
        t.segment(Role::Mark, (0.0, 0.0), (400.0, 300.0));
        t.fill(Role::Note, Circle::new((172.0, 150.0), 30.0).to_path(0.01));
        for (x, y) in [(5.0, 5.0), (360.0, 290.0), (170.0, 120.0)] {
            t.text((x, y), size::SMALL, Anchor::Start, "a word");
        }
        t
    }

    const FIELD: (f64, f64) = (184.0, 254.0);

    #[test]
    fn together_the_tiles_show_all_and_each_fits() {
        let pieces = tiles(&large(), FIELD, Letters::Usual).unwrap();
        assert_eq!(pieces.len(), 1 + 3 * 2);
        let mut words = 0;
        for piece in &pieces[1..] {
            let bounds = piece.template.bounds().unwrap().inflate(WIDEST / 2.0, WIDEST / 2.0);
            assert!(bounds.width() <= FIELD.0 && bounds.height() <= FIELD.1, "{} {bounds:?}", piece.template.name);
            words += piece
                .template
                .items
                .iter()
                .filter(|i| matches!(&i.figure, Figure::Text { text, .. } if text == "a word"))
                .count();
        }
        assert_eq!(words, 3);
        // Every point of the slanting line is on a tile, at its own place.
        for i in 0..=400 {
            let p = Point::new(f64::from(i), f64::from(i) * 0.75);
            let shown = pieces[1..].iter().flat_map(|p| &p.template.items).filter(|i| i.role == Role::Mark).any(|i| {
                let Figure::Line(path) = &i.figure else { return false };
                path.segments().any(|s| kurbo::ParamCurveNearest::nearest(&s, p, 1e-9).distance_sq < 1e-12)
            });
            assert!(shown, "{p:?}");
        }
    }

    #[test]
    fn neighbours_have_the_same_marks_at_the_same_places() {
        let pieces = tiles(&large(), FIELD, Letters::Usual).unwrap();
        let centres = |piece: &Piece| -> Vec<Point> {
            let round =
                |i: &&Item| i.role == Role::Note && matches!(&i.figure, Figure::Line(p) if p.elements().len() > 4);
            piece.template.items.iter().filter(round).map(|i| i.bounds().center()).collect()
        };
        let all: Vec<Point> = pieces[1..].iter().flat_map(centres).collect();
        // 3 x 2 tiles have seven seams with two marks each, on two tiles each.
        assert_eq!(all.len(), 7 * 2 * 2);
        for p in &all {
            assert_eq!(all.iter().filter(|q| q.distance(*p) < 1e-9).count(), 2, "{p:?}");
        }
    }

    #[test]
    fn a_cut_disc_keeps_its_area_within_the_window() {
        let path = Circle::new((0.0, 0.0), 10.0).to_path(1e-4);
        let half = clip_fill(&path, Rect::new(0.0, -20.0, 20.0, 20.0));
        assert!((half.area().abs() - 50.0 * std::f64::consts::PI).abs() < 0.1);
        assert!(clip_fill(&path, Rect::new(20.0, 20.0, 30.0, 30.0)).elements().is_empty());
    }

    #[test]
    fn a_piece_that_has_gone_wrong_is_not_tiled() {
        let mut t = Template::new("endless");
        t.segment(Role::Cut, (0.0, 0.0), (5000.0, 5000.0));
        assert!(tiles(&t, FIELD, Letters::Usual).is_none());
    }
}
