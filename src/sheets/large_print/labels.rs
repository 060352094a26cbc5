//! Words in a drawing, made larger where they stand or listed.
//!
//! What is cut out must tell by itself what it is: every word that stands within a cut line stays within it, as large as there is
//! room for, and a piece's name may go to another place within it for that. Elsewhere a number stands for words without room.

use kurbo::{Affine, BezPath, PathEl, Point, Rect, Shape, Vec2};

use super::LETTERS;
use crate::font::{CAP_HEIGHT, text_width};
use crate::template::legible::Ground;
use crate::template::look::WIDEST;
use crate::template::paragraph::LEADING;
use crate::template::{Anchor, Figure, Item, Role, Template, size, text_box};

/// How far a word may move from where it stood, and a number, mm: near enough to be read as belonging there.
const WORD_MOVES: f64 = 3.2;
const NUMBER_MOVES: f64 = 5.0;
/// How far a figure on a scale may move from its tick, mm.
const FIGURE_MOVES: f64 = 2.2;
/// How far a single letter or a short word may move up or down, mm.
const LETTER_MOVES: f64 = 5.0;
/// How far words may reach beyond the drawing they stand in, mm.
const BEYOND: f64 = 14.0;
/// Between two texts on one line, mm: nearer, they read as one.
const WORDS_APART: f64 = 0.9;
/// Sizes that words on what is cut out are tried in, as shares of the large size, before they keep their own.
const SIZES: [f64; 4] = [1.0, 0.9, 0.8, 0.7];
/// Places for a name within a cut line are tried this far apart, mm.
const NAME_STEP: f64 = 1.2;
/// Between a name and the line it stands inside of, mm.
const OFF_LINE: f64 = 0.5;

/// What became of words without room for large letters.
#[derive(Debug, Default)]
pub(super) struct Without {
    /// Words with a number in their place, in the order of the numbers.
    pub numbered: Vec<String>,
    /// Words on what is cut out, in smaller letters there.
    pub smaller: Vec<String>,
}

/// Puts every label into the drawing, large where there is room. `whose` is the limb that names of what is cut out begin with.
pub(super) fn place(drawing: &mut Template, labels: &[Item], field: (f64, f64), whose: &str) -> Without {
    let mut without = Without::default();
    let Some(bounds) = labels.iter().chain(&drawing.items).map(Item::bounds).reduce(|a, b| a.union(b)) else {
        return without;
    };
    let beyond = |own: f64, most: f64| (0.5 * (most - WIDEST - own)).clamp(0.0, BEYOND);
    let room = bounds.inflate(beyond(bounds.width(), field.0), beyond(bounds.height(), field.1));
    let mut ground = Ground::of(drawing.items.iter()).words_apart(WORDS_APART);
    for (number, label) in labels.iter().enumerate() {
        ground.reserve(label, number);
    }
    let rings: Vec<BezPath> = drawing.items.iter().filter_map(cut_ring).cloned().collect();
    let mut number = 0;
    while let Some(label) = labels.get(number) {
        let cut_out: Vec<&BezPath> = rings.iter().filter(|ring| stands_within(ring, label)).collect();
        let name = if cut_out.is_empty() { 0 } else { name_lines(&labels[number..], whose) };
        if name > 0 {
            let numbers = number..number + name;
            let put = name_within(&labels[numbers.clone()], &cut_out, &ground, number);
            numbers.clone().for_each(|number| ground.remove(number));
            for item in put {
                without.smaller.extend(smaller(&item));
                ground.settle(number, &item);
                drawing.items.push(item);
            }
            number = numbers.end;
            continue;
        }
        let put = placed(label, number, &cut_out, &ground, room, &mut without);
        ground.settle(number, &put);
        drawing.items.push(put);
        number += 1;
    }
    without
}

/// One label that is no name of what is cut out.
fn placed(
    label: &Item,
    number: usize,
    cut_out: &[&BezPath],
    ground: &Ground,
    room: Rect,
    without: &mut Without,
) -> Item {
    let Figure::Text { text, bold, .. } = &label.figure else { return label.clone() };
    let reach = text_width(text, LETTERS, *bold) + NUMBER_MOVES + LETTERS;
    let near = ground.near(label.bounds().center(), reach);
    // What stands on a part that is cut out stays on it.
    let stays = |tried: &Item| cut_out.iter().all(|ring| holds(ring, tried));
    let free = |tried: &Item| {
        let b = tried.bounds();
        room.contains(Point::new(b.x0, b.y0))
            && room.contains(Point::new(b.x1, b.y1))
            && near.is_clear(tried, number)
            && stays(tried)
    };
    // A figure on a scale, or a stroke's number, stays itself: another number in its place would mislead.
    if text.chars().all(|c| c.is_ascii_digit()) {
        let stood = label.bounds().center();
        let near_tick = |tried: &Item| (tried.bounds().center() - stood).hypot() <= FIGURE_MOVES;
        let tries = tries_of_number(label, text).into_iter().filter(near_tick);
        return tries.into_iter().find(free).unwrap_or_else(|| label.clone());
    }
    if let Some(words) = tries_of_words(label, 1.0).into_iter().find(free) {
        return words;
    }
    if !cut_out.is_empty() {
        let mut tries = SIZES.into_iter().skip(1).flat_map(|share| tries_of_words(label, share));
        let put = tries.find(free).unwrap_or_else(|| label.clone());
        without.smaller.extend(smaller(&put));
        return put;
    }
    let known = without.numbered.iter().position(|words| words == text);
    let mark = format!("({})", known.unwrap_or(without.numbered.len()) + 1);
    if known.is_none() {
        without.numbered.push(text.clone());
    }
    tries_of_number(label, &mark).into_iter().find(free).unwrap_or_else(|| small(label, &mark))
}

/// The words of a label below the large size.
fn smaller(item: &Item) -> Option<String> {
    match &item.figure {
        Figure::Text { text, size, .. } if *size < LETTERS - 1e-9 => Some(text.clone()),
        _ => None,
    }
}

/// How many of the labels at the front are the lines of a name: the first begins with the limb, in words or as its letter, and the
/// others stand right below it.
fn name_lines(labels: &[Item], whose: &str) -> usize {
    let first_word = whose.split(' ').next().unwrap_or_default();
    let letter = first_word.get(..1).unwrap_or_default();
    let line = |item: &Item| match &item.figure {
        Figure::Text { text, at, size, anchor: Anchor::Middle, turn, bold: false } => {
            Some((text.clone(), *at, *size, *turn))
        }
        _ => None,
    };
    let Some((text, ..)) = labels.first().and_then(line) else { return 0 };
    let begins = text.split([' ', ':']).next().unwrap_or_default();
    if first_word.is_empty() || ![first_word, letter, "UL"].contains(&begins) {
        return 0;
    }
    let follows = |pair: &[Item]| {
        let (Some((_, at, high, turn)), Some((_, next, next_high, next_turn))) = (line(&pair[0]), line(&pair[1]))
        else {
            return false;
        };
        let down = Affine::rotate(turn.to_radians()) * Point::new(0.0, -LEADING * high);
        high == next_high && turn == next_turn && (at + down.to_vec2() - next).hypot() < 1e-6
    };
    1 + labels.windows(2).take_while(|pair| follows(pair)).count()
}

/// A name's lines as large as they have room within the lines round them, as near as may be to where they stood, level or rising.
fn name_within(lines: &[Item], cut_out: &[&BezPath], ground: &Ground, number: usize) -> Vec<Item> {
    let unchanged = lines.to_vec();
    let Some(stood) = lines.iter().map(Item::bounds).reduce(|a, b| a.union(b)) else { return unchanged };
    let Some(inner) = cut_out.iter().map(|ring| ring.bounding_box()).reduce(|a, b| a.intersect(b)) else {
        return unchanged;
    };
    let Some(Figure::Text { turn: own, size: own_size, .. }) = lines.first().map(|item| &item.figure) else {
        return unchanged;
    };
    let mut others = ground.clone();
    (number..number + lines.len()).for_each(|number| others.remove(number));
    let other_way = if *own == 0.0 { 90.0 } else { 0.0 };
    let near = stood.center();
    let mut places = places_in(inner, near);
    places.retain(|place| cut_out.iter().all(|ring| ring.contains(*place)));
    let set = |lines: &[Item], others: &Ground, size: f64| {
        [*own, other_way].into_iter().find_map(|turn| {
            let set = |middle: &Point| set_about(lines, *middle, size, turn);
            places.iter().map(set).find(|put| {
                let stays = |item: &Item| {
                    let around = corners(item, OFF_LINE);
                    around.is_some_and(|b| cut_out.iter().all(|ring| b.iter().all(|p| ring.contains(*p))))
                };
                let clear = |item: &Item| others.is_clear(&heightened(item), number);
                put.iter().all(|item| inner.contains_rect(item.bounds()))
                    && put.iter().all(clear)
                    && put.iter().all(stays)
            })
        })
    };
    for size in SIZES.map(|share| share * LETTERS).into_iter().filter(|size| size > own_size) {
        for lines in broken_otherwise(lines) {
            if let Some(put) = set(&lines, &others, size) {
                return put;
            }
            // A first line that tells whose and what by itself needs the others only somewhere near.
            if lines.len() == 2 && lines.first().is_some_and(|line| text_of(line).contains(": ")) {
                let mut others = others.clone();
                let each = |line: &Item| {
                    let item = set(std::slice::from_ref(line), &others, size)?.pop()?;
                    others.settle(number, &item);
                    Some(item)
                };
                if let Some(put) = lines.iter().map(each).collect() {
                    return put;
                }
            }
        }
    }
    unchanged
}

/// A name in its own lines, then with whose and what it is on one line, then on two.
fn broken_otherwise(lines: &[Item]) -> Vec<Vec<Item>> {
    let mut ways = vec![lines.to_vec()];
    let mut with = |texts: &[String], rest: &[Item]| {
        let Some(like) = lines.first() else { return };
        let mut way: Vec<Item> = texts.iter().map(|text| with_text(like, text)).collect();
        way.extend_from_slice(rest);
        ways.push(way);
    };
    match lines {
        [first, rest @ ..] if text_of(first).contains(": ") => {
            if let Some((whose, what)) = text_of(first).split_once(": ") {
                with(&[format!("{whose}:"), what.to_owned()], rest);
            }
        }
        [whose, what, rest @ ..] => with(&[format!("{}: {}", text_of(whose), text_of(what))], rest),
        _ => {}
    }
    ways
}

fn text_of(item: &Item) -> &str {
    match &item.figure {
        Figure::Text { text, .. } => text,
        _ => "",
    }
}

fn with_text(like: &Item, words: &str) -> Item {
    let mut item = like.clone();
    if let Figure::Text { text, .. } = &mut item.figure {
        *text = words.to_owned();
    }
    item
}

/// Places within a box, the nearest to a place first.
fn places_in(inner: Rect, near: Point) -> Vec<Point> {
    let steps = |length: f64| (0..=(length / NAME_STEP) as i32).map(|i| f64::from(i) * NAME_STEP);
    let column = |x: f64| steps(inner.height()).map(move |y| inner.origin() + Vec2::new(x, y));
    let mut places: Vec<Point> = steps(inner.width()).flat_map(column).collect();
    places.sort_by(|p, q| (*p - near).hypot().total_cmp(&(*q - near).hypot()));
    places.insert(0, near);
    places
}

/// A line of text that takes a little more room above and below: words beside words keep a line's distance.
fn heightened(item: &Item) -> Item {
    let mut item = item.clone();
    if let Figure::Text { at, size, turn, .. } = &mut item.figure {
        let more = 1.15;
        *at +=
            (Affine::rotate(turn.to_radians()) * Point::new(0.0, -0.5 * (more - 1.0) * CAP_HEIGHT * *size)).to_vec2();
        *size *= more;
    }
    item
}

/// Lines of text of a size about a place.
fn set_about(lines: &[Item], middle: Point, size: f64, turn: f64) -> Vec<Item> {
    let high = size * LEADING;
    // From the foot of the last capitals to the top of the first.
    let first = 0.5 * (high * (lines.len() - 1) as f64 - CAP_HEIGHT * size);
    let place = Affine::translate(middle.to_vec2()) * Affine::rotate(turn.to_radians());
    let line = |(row, item): (usize, &Item)| {
        let mut item = item.clone();
        if let Figure::Text { at, size: own, turn: way, .. } = &mut item.figure {
            (*at, *own, *way) = (place * Point::new(0.0, first - high * row as f64), size, turn);
        }
        item
    };
    lines.iter().enumerate().map(line).collect()
}

/// The closed line that something is cut out along.
pub(super) fn cut_ring(item: &Item) -> Option<&BezPath> {
    match &item.figure {
        Figure::Line(path) if item.role == Role::Cut => {
            matches!(path.elements().last(), Some(PathEl::ClosePath)).then_some(path)
        }
        _ => None,
    }
}

/// Whether a closed line goes round a text's letters, which are known not to cross it.
pub(super) fn holds(ring: &BezPath, item: &Item) -> bool {
    corners(item, 0.0).is_some_and(|corners| corners.into_iter().all(|p| ring.contains(p)))
}

/// Whether the middle of a text's letters stands within a closed line.
pub(super) fn stands_within(ring: &BezPath, item: &Item) -> bool {
    corners(item, 0.0).is_some_and(|[p, _, q, _]| ring.contains(p.midpoint(q)))
}

/// The corners of the box round a text's letters, from the baseline up, with so much more all round, mm.
fn corners(item: &Item, more: f64) -> Option<[Point; 4]> {
    let Figure::Text { text, at, size, anchor, turn, bold } = &item.figure else { return None };
    let b = Rect { y0: 0.0, ..text_box(text, *size, *anchor, *bold) }.inflate(more, more);
    let place = Affine::translate(at.to_vec2()) * Affine::rotate(turn.to_radians());
    Some([(b.x0, b.y0), (b.x1, b.y0), (b.x1, b.y1), (b.x0, b.y1)].map(|p| place * Point::from(p)))
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

/// The label itself, larger, about where it stood: as a share of the large size.
fn tries_of_words(label: &Item, share: f64) -> Vec<Item> {
    let Figure::Text { text, at, size, anchor, turn, bold } = &label.figure else { return Vec::new() };
    let larger = size * (share * LETTERS / size::SMALL).max(1.0);
    // Its capitals keep their middle.
    let lower = -CAP_HEIGHT * (larger - size) / 2.0;
    // A letter stays over the tick it stands at, and may stand higher, as may a short word.
    let (most, aside) = match text.chars().count() {
        1 => (LETTER_MOVES, 0.8),
        2..=4 => (LETTER_MOVES, WORD_MOVES),
        _ => (WORD_MOVES, WORD_MOVES),
    };
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
