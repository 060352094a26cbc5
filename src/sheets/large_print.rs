//! The same pieces in large letters: every line stays where it is, only words change their size and, where they must, their place.
//!
//! A piece's title and explanation are set anew above it. A word in the drawing grows where it stands if nothing is in its way;
//! else a number in brackets stands there, and the words follow in a list. Tables are set anew below, or as a list where they would be too wide.

use kurbo::{Affine, BezPath, Point, Rect, Shape};

use super::Piece;
use crate::font::{CAP_HEIGHT, text_width, wrap};
use crate::template::legible::Ground;
use crate::template::paragraph::{LEADING, height, paragraph_of};
use crate::template::table::{Drawn, table_of, taken_out};
use crate::template::{Anchor, Figure, Item, Role, Template, look::WIDEST, size, text_box};

/// Size of the smallest letters: 12 points, mm.
pub const LETTERS: f64 = 12.0 * 25.4 / 72.0;
/// Size of a piece's name, mm.
pub const NAME: f64 = size::HEAD * LETTERS / size::SMALL;

/// The least width that words are set in where there is room, mm.
const WORDS_WIDE: f64 = 116.0;
/// The least width of a list, and the width of a title that stands apart from its drawing, mm: beside one another on one sheet.
const LIST_WIDE: f64 = 56.0;
const TITLE_WIDE: f64 = 80.0;
/// Between words and drawing, mm.
const APART: f64 = 5.0;
/// How far a word may move from where it stood, and a number, mm: near enough to be read as belonging there.
const WORD_MOVES: f64 = 3.2;
const NUMBER_MOVES: f64 = 5.0;
/// How far a single letter may move up or down, mm.
const LETTER_MOVES: f64 = 5.0;
/// How far words may reach beyond the drawing they stand in, mm.
const BEYOND: f64 = 14.0;

/// A piece in large letters, followed by its lists.
pub(super) fn enlarged(piece: Piece, field: (f64, f64)) -> Vec<Piece> {
    let Piece { template, may_turn, with_next } = piece;
    let clear = template.clear;
    let (tables, rest) = taken_out(&template.items);
    let (blocks, rest) = explanations(&rest);
    let (labels, lines): (Vec<Item>, Vec<Item>) =
        rest.into_iter().partition(|item| matches!(item.figure, Figure::Text { .. }));
    let mut drawing = Template { name: template.name.clone(), items: lines, clear };
    let listed = place(&mut drawing, &labels, field);

    let mut lists = Vec::new();
    if !listed.is_empty() {
        let lines: Vec<String> = listed.iter().enumerate().map(|(i, words)| format!("({}) {words}", i + 1)).collect();
        lists.extend(list(&format!("{}, words", template.name), &lines, field));
    }
    for drawn in &tables {
        lists.extend(table(&format!("{}, table", template.name), drawn, field));
    }
    let drawn = drawing.bounds();
    let wide = drawn.map_or(0.0, |b| b.width()).max(WORDS_WIDE).min(field.0 - WIDEST);
    let mut words = Template::new(format!("{}, title", template.name));
    let high = set(&mut words, wide, &blocks);
    let mut made = Vec::new();
    match drawn {
        None => made.push(Piece { template: Template { name: template.name, ..words }, may_turn, with_next }),
        Some(bounds) if high > 0.0 => {
            let together = bounds.height() + APART + high + WIDEST <= field.1 && bounds.width() + WIDEST <= field.0;
            if together {
                let mut whole = Template::new(template.name);
                whole.add(words.moved(Affine::translate((bounds.x0, bounds.y1 + APART + high))));
                whole.add(drawing);
                made.push(Piece { template: whole, may_turn, with_next });
            } else {
                words.items.clear();
                set(&mut words, TITLE_WIDE, &blocks);
                made.push(Piece { template: words, may_turn: false, with_next: true });
                made.push(Piece { template: drawing, may_turn, with_next });
            }
        }
        Some(_) => made.push(Piece { template: drawing, may_turn, with_next }),
    }
    if let (Some(last), false) = (made.last_mut(), lists.is_empty()) {
        last.with_next = true;
    }
    made.extend(lists);
    made
}

/// A name in bold and the lines of text below it.
struct Block {
    name: String,
    text: String,
}

/// The titled explanations among items, and the other items: a bold line at the left, and small lines right below it.
fn explanations(items: &[Item]) -> (Vec<Block>, Vec<Item>) {
    let (mut blocks, mut others, mut at) = (Vec::new(), Vec::new(), 0);
    while at < items.len() {
        let names = run(&items[at..], true);
        let lines = run(&items[at + names.len()..], false);
        let below =
            |name: Point, line: Point| (name.x - line.x).abs() < 1e-6 && name.y > line.y && name.y - line.y < 8.0;
        let together = names.last().zip(lines.first()).is_some_and(|(n, l)| below(n.1, l.1));
        if together {
            let name = names.iter().map(|n| n.0.as_str()).collect::<Vec<_>>().join(" ");
            blocks.push(Block { name, text: rejoined(&lines) });
            at += names.len() + lines.len();
        } else {
            others.push(items[at].clone());
            at += 1;
        }
    }
    (blocks, others)
}

/// Lines of text, one below the other, that these items begin with: of names (bold, larger) or of small ordinary letters.
fn run(items: &[Item], names: bool) -> Vec<(String, Point)> {
    let mut lines: Vec<(String, Point)> = Vec::new();
    for item in items {
        let Figure::Text { text, at, size, anchor: Anchor::Start, turn, bold } = &item.figure else { break };
        let right_kind = *bold == names && (*size > size::SMALL) == names && *turn == 0.0;
        let follows = lines.last().is_none_or(|(_, last)| {
            let down = (last.y - at.y) / size;
            (last.x - at.x).abs() < 1e-6 && (1.2..1.4).contains(&down)
        });
        if !(right_kind && follows) {
            break;
        }
        lines.push((text.clone(), *at));
    }
    lines
}

/// Wrapped lines as the text they were wrapped from: a line that had room for the next word was ended on purpose.
fn rejoined(lines: &[(String, Point)]) -> String {
    let width = |text: &str| text_width(text, size::SMALL, false);
    let widest = lines.iter().map(|(text, _)| width(text)).fold(0.0, f64::max);
    let mut text = String::new();
    for (i, (line, _)) in lines.iter().enumerate() {
        if let Some((before, _)) = i.checked_sub(1).and_then(|i| lines.get(i)) {
            let word = line.split_whitespace().next().unwrap_or_default();
            text.push(if width(&format!("{before} {word}")) <= widest { '\n' } else { ' ' });
        }
        text.push_str(line);
    }
    text
}

/// Sets explanations from the origin down and answers how high they came out, mm.
fn set(t: &mut Template, wide: f64, blocks: &[Block]) -> f64 {
    let mut down = 0.0;
    for (i, block) in blocks.iter().enumerate() {
        down += if i > 0 { APART } else { 0.0 };
        for line in wrap(&block.name, NAME, true, wide) {
            t.words((0.0, -down - CAP_HEIGHT * NAME), NAME, Anchor::Start, 0.0, true, line);
            down += 1.25 * NAME;
        }
        down += paragraph_of(t, Point::new(0.0, -down), wide, LETTERS, &block.text);
    }
    down
}

/// Puts every label into the drawing, large where there is room; those without are numbered, and come back as a list.
fn place(drawing: &mut Template, labels: &[Item], field: (f64, f64)) -> Vec<String> {
    let Some(bounds) = labels.iter().chain(&drawing.items).map(Item::bounds).reduce(|a, b| a.union(b)) else {
        return Vec::new();
    };
    let beyond = |own: f64, most: f64| (0.5 * (most - WIDEST - own)).clamp(0.0, BEYOND);
    let room = bounds.inflate(beyond(bounds.width(), field.0), beyond(bounds.height(), field.1));
    let mut ground = Ground::of(drawing.items.iter());
    for (number, label) in labels.iter().enumerate() {
        ground.reserve(label, number);
    }
    let rings: Vec<BezPath> = drawing
        .items
        .iter()
        .filter(|item| item.role == Role::Cut)
        .filter_map(|item| match &item.figure {
            Figure::Line(path) => Some(path.clone()),
            _ => None,
        })
        .collect();
    let within = |ring: &BezPath, item: &Item| ring_holds(ring, item.bounds());
    let mut listed: Vec<String> = Vec::new();
    for (number, label) in labels.iter().enumerate() {
        let Figure::Text { text, bold, .. } = &label.figure else { continue };
        let middle = label.bounds().center();
        let reach = text_width(text, LETTERS, *bold) + NUMBER_MOVES + LETTERS;
        let near = ground.near(middle, reach);
        // What stands on a part that is cut out stays on it.
        let cut_out: Vec<&BezPath> = rings.iter().filter(|ring| within(ring, label)).collect();
        let stays = |tried: &Item| cut_out.iter().all(|ring| within(ring, tried));
        let free = |tried: &Item| {
            let b = tried.bounds();
            room.contains(Point::new(b.x0, b.y0))
                && room.contains(Point::new(b.x1, b.y1))
                && near.is_clear(tried, number)
        };
        // A figure on a scale, or a stroke's number, stays itself: another number in its place would mislead.
        if text.chars().all(|c| c.is_ascii_digit()) {
            let tries = tries_of_number(label, text);
            let put = tries.into_iter().find(|tried| stays(tried) && free(tried)).unwrap_or_else(|| label.clone());
            ground.settle(number, &put);
            drawing.items.push(put);
            continue;
        }
        let words = tries_of_words(label).into_iter().find(|tried| stays(tried) && free(tried));
        let put = words.unwrap_or_else(|| {
            let known = listed.iter().position(|words| words == text);
            let mark = format!("({})", known.unwrap_or(listed.len()) + 1);
            let tries = tries_of_number(label, &mark);
            let stayed = tries.iter().find(|tried| stays(tried) && free(tried));
            let put = stayed.or_else(|| tries.iter().find(|tried| free(tried))).cloned();
            // The name of a part that is cut out stays on it, however small.
            if put.is_none() && !cut_out.is_empty() {
                return label.clone();
            }
            if known.is_none() {
                listed.push(text.clone());
            }
            put.unwrap_or_else(|| small(label, &mark))
        });
        ground.settle(number, &put);
        drawing.items.push(put);
    }
    listed
}

/// Whether a closed line goes round a box; it is known not to cross it.
fn ring_holds(ring: &BezPath, b: Rect) -> bool {
    [(b.x0, b.y0), (b.x1, b.y0), (b.x1, b.y1), (b.x0, b.y1)].into_iter().all(|p| ring.contains(Point::from(p)))
}

/// Steps away from a place, nearest first, along and across the text, mm.
fn steps(step: f64, most: f64) -> Vec<(f64, f64)> {
    let count = (most / step) as i32;
    let mut all: Vec<(f64, f64)> = (-count..=count)
        .flat_map(|i| (-count..=count).map(move |j| (f64::from(i) * step, f64::from(j) * step)))
        .filter(|(along, across)| along.hypot(*across) <= most)
        .collect();
    all.sort_by(|a, b| a.0.hypot(a.1).total_cmp(&b.0.hypot(b.1)));
    all
}

/// The label itself, larger, about where it stood.
fn tries_of_words(label: &Item) -> Vec<Item> {
    let Figure::Text { text, at, size, anchor, turn, bold } = &label.figure else { return Vec::new() };
    let larger = size * LETTERS / size::SMALL;
    // Its capitals keep their middle.
    let lower = -CAP_HEIGHT * (larger - size) / 2.0;
    // A letter stays over the tick it stands at, and may stand higher.
    let letter = text.chars().count() == 1;
    let (most, aside) = if letter { (LETTER_MOVES, 0.8) } else { (WORD_MOVES, WORD_MOVES) };
    let steps = steps(0.8, most).into_iter().filter(|(along, _)| along.abs() <= aside);
    let tries = steps.map(|(along, across)| {
        let at = *at + (Affine::rotate(turn.to_radians()) * Point::new(along, across + lower)).to_vec2();
        with(label, text.clone(), at, larger, *anchor, *bold)
    });
    tries.collect()
}

/// A number in place of the label, nearest to where the label begins: a leader ends there.
fn tries_of_number(label: &Item, mark: &str) -> Vec<Item> {
    let Figure::Text { text, at, size, anchor, turn, bold } = &label.figure else { return Vec::new() };
    let own = text_box(text, *size, *anchor, *bold);
    let half = text_width(mark, LETTERS, true) / 2.0;
    let x = match anchor {
        Anchor::Start => own.x0 + half,
        Anchor::Middle => own.center().x,
        Anchor::End => own.x1 - half,
    };
    let first = Point::new(x, CAP_HEIGHT * (size - LETTERS) / 2.0);
    let reach = NUMBER_MOVES + own.width();
    let over = (own.x0 - NUMBER_MOVES)..=(own.x1 + NUMBER_MOVES);
    let tries = steps(0.6, reach)
        .into_iter()
        .filter(|(along, across)| across.abs() <= NUMBER_MOVES && over.contains(&(first.x + along)));
    tries
        .map(|(along, across)| {
            let off = first + kurbo::Vec2::new(along, across);
            let at = *at + (Affine::rotate(turn.to_radians()) * off).to_vec2();
            with(label, mark.to_owned(), at, LETTERS, Anchor::Middle, true)
        })
        .collect()
}

/// The number as small as the label was, where nothing larger has room: the label kept clear, so it does, too.
fn small(label: &Item, mark: &str) -> Item {
    let Figure::Text { at, size, anchor, .. } = &label.figure else { return label.clone() };
    with(label, mark.to_owned(), *at, *size, *anchor, true)
}

fn with(label: &Item, words: String, to: Point, larger: f64, lean: Anchor, heavy: bool) -> Item {
    let Figure::Text { turn, .. } = &label.figure else { return label.clone() };
    let figure = Figure::Text { text: words, at: to, size: larger, anchor: lean, turn: *turn, bold: heavy };
    Item { role: label.role, figure }
}

/// Lines of words under a name, on as many pieces as they need.
fn list(name: &str, lines: &[String], field: (f64, f64)) -> Vec<Piece> {
    let natural = lines.iter().map(|line| text_width(line, LETTERS, false)).fold(LIST_WIDE, f64::max);
    let wide = (natural + 0.1).min(WORDS_WIDE).min(field.0 - WIDEST);
    let most = field.1 - WIDEST - 4.0 * NAME - APART;
    let high = |line: &String| height(wrap(line, LETTERS, false, wide).len(), LETTERS) + 0.4 * LEADING * LETTERS;
    let mut parts: Vec<Vec<&String>> = vec![Vec::new()];
    let mut used = 0.0;
    for line in lines {
        if used + high(line) > most && used > 0.0 {
            parts.push(Vec::new());
            used = 0.0;
        }
        used += high(line);
        if let Some(part) = parts.last_mut() {
            part.push(line);
        }
    }
    let several = parts.len() > 1;
    let piece = |(number, part): (usize, Vec<&String>)| {
        let name = if several { format!("{name} {}", number + 1) } else { name.to_owned() };
        let mut t = Template::new(name.clone());
        let mut down = set(&mut t, wide, &[Block { name: capital(&name), text: String::new() }]);
        for line in part {
            paragraph_of(&mut t, Point::new(0.0, -down), wide, LETTERS, line);
            down += high(line);
        }
        Piece::new(t)
    };
    parts.into_iter().enumerate().map(piece).collect()
}

/// A table in large letters; where it would be too wide, a list of its rows.
fn table(name: &str, drawn: &Drawn, field: (f64, f64)) -> Vec<Piece> {
    let mut t = Template::new(name);
    let down = set(&mut t, field.0 - WIDEST, &[Block { name: capital(name), text: String::new() }]);
    table_of(&mut t, Point::new(0.0, -down), LETTERS, &drawn.columns, &drawn.rows);
    if t.bounds().is_some_and(|b| b.width() + WIDEST <= field.0 && b.height() + WIDEST <= field.1) {
        return vec![Piece::new(t)];
    }
    let line = |row: &Vec<String>| -> String {
        let cells = drawn.columns.iter().zip(row).filter(|(_, cell)| !cell.is_empty());
        cells.map(|(column, cell)| format!("{}: {cell}", column.head)).collect::<Vec<_>>().join("; ")
    };
    list(name, &drawn.rows.iter().map(line).collect::<Vec<_>>(), field)
}

fn capital(name: &str) -> String {
    let mut letters = name.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

#[cfg(test)]
mod tests;
