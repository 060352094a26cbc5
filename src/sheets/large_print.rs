//! The same pieces in large letters: every line stays where it is, only words change their size and, where they must, their place.
//!
//! A piece's title and explanation are set anew above it. A word in the drawing grows where it stands if nothing is in its way;
//! else a number in brackets stands there, and the words follow in a list. What is cut out keeps its words, in smaller letters where it must.
//! Tables are set anew below, or as a list where they would be too wide.

mod labels;

use kurbo::{Affine, Point, Rect};

use super::Piece;
use crate::font::{CAP_HEIGHT, text_width, wrap};
use crate::template::paragraph::{LEADING, bold_paragraph_of, height, paragraph_of};
use crate::template::table::{Drawn, table_of, taken_out};
use crate::template::{Anchor, Figure, Item, Template, look::WIDEST, size};
use labels::{Without, place};

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
/// Between an explanation and the warning below it, mm.
const OVER_WARNING: f64 = 1.2;
/// A piece in large letters, followed by its lists. It is laid out in the first of the fields that has room for it with its words.
pub(super) fn enlarged(piece: Piece, fields: &[(f64, f64)]) -> Vec<Piece> {
    let Piece { template, may_turn, with_next } = piece;
    let field = fields.first().copied().unwrap_or_default();
    let clear = template.clear;
    let (tables, rest) = taken_out(&template.items);
    let (blocks, rest) = explanations(&rest);
    let (labels, lines): (Vec<Item>, Vec<Item>) =
        rest.into_iter().partition(|item| matches!(item.figure, Figure::Text { .. }));
    let ways = ways(fields, may_turn);
    let name = template.name;
    let mut drawing = Template { name: name.clone(), items: lines, clear };
    let before = labels.iter().chain(&drawing.items).map(Item::bounds).reduce(|a, b| a.union(b));
    let holds = |(way, _): &&((f64, f64), bool)| before.is_some_and(|b| fits_in(b.width(), b.height(), *way));
    let room = ways.iter().find(holds).map_or(field, |(way, _)| *way);
    let whose = blocks.first().and_then(|block| block.name.split_once(':')).map_or("", |(whose, _)| whose);
    let Without { numbered, smaller } = place(&mut drawing, &labels, room, whose);
    let mut listed: Vec<String> =
        numbered.iter().enumerate().map(|(i, words)| format!("({}) {words}", i + 1)).collect();
    let mut blocks = blocks;
    let small = small_words(smaller, &blocks);
    if let (Some(block), Some(small)) = (blocks.last_mut(), small) {
        block.text = format!("{}\n{small}", block.text);
    }

    let drawn = drawing.bounds();
    let mut lists = Vec::new();
    let mut made = Vec::new();
    match drawn {
        None => {
            let mut words = Template::new(name.clone());
            set(&mut words, WORDS_WIDE.min(field.0 - WIDEST), &blocks);
            made.push(Piece { template: words, may_turn, with_next });
        }
        Some(_) if blocks.is_empty() => made.push(Piece { template: drawing, may_turn, with_next }),
        Some(bounds) => {
            // Turned on its side a piece leaves no room for a list that stands upright beside it.
            let in_line = || {
                let mut blocks = blocks.clone();
                if let (Some(block), false) = (blocks.last_mut(), listed.is_empty()) {
                    block.text = format!("{}\n{}", block.text, listed.join("; "));
                }
                blocks
            };
            let whole = ways.iter().find_map(|(way, turned)| {
                let blocks = if *turned { in_line() } else { blocks.clone() };
                Some((headed(&drawing, bounds, &blocks, *way)?, *turned))
            });
            if let Some((template, turned)) = whole {
                if turned {
                    listed.clear();
                }
                // Words are turned on their side only where they have no room upright.
                made.push(Piece { template, may_turn: turned, with_next });
            } else {
                let mut words = Template::new(format!("{name}, title"));
                set(&mut words, TITLE_WIDE, &blocks);
                made.push(Piece { template: words, may_turn: false, with_next: true });
                let heading: Vec<Block> = blocks
                    .iter()
                    .take(1)
                    .map(|b| Block {
                        name: format!("{}, continued", b.name),
                        text: String::new(),
                        warning: String::new(),
                    })
                    .collect();
                let template = ways.iter().find_map(|(way, _)| headed(&drawing, bounds, &heading, *way));
                // What goes on no sheet whole is cut into tiles, and each of them is named.
                made.push(Piece { template: template.unwrap_or(drawing), may_turn, with_next });
            }
        }
    }
    if !listed.is_empty() {
        lists.extend(list(&format!("{name}, words"), &listed, field));
    }
    for drawn in &tables {
        lists.extend(table(&format!("{name}, table"), drawn, field));
    }
    // The lists stay with the piece, and what comes after it with the last of them.
    let after = made.last().is_some_and(|last| last.with_next);
    made.extend(lists);
    let count = made.len();
    made.iter_mut().take(count.saturating_sub(1)).for_each(|piece| piece.with_next = true);
    made.iter_mut().skip(count.saturating_sub(1)).for_each(|piece| piece.with_next = after);
    made
}

/// The fields a piece may lie in, as it is drawn, and whether it is turned by a quarter there: those before larger ones.
fn ways(fields: &[(f64, f64)], may_turn: bool) -> Vec<((f64, f64), bool)> {
    let ways = |field: &(f64, f64)| {
        let turned = may_turn.then_some(((field.1, field.0), true));
        std::iter::once((*field, false)).chain(turned).collect::<Vec<_>>()
    };
    fields.iter().flat_map(ways).collect()
}

fn fits_in(wide: f64, high: f64, field: (f64, f64)) -> bool {
    wide + WIDEST <= field.0 && high + WIDEST <= field.1
}

/// A drawing with its words above it, as wide as it or as words need; none where that is too large for the field.
fn headed(drawing: &Template, bounds: Rect, blocks: &[Block], field: (f64, f64)) -> Option<Template> {
    let wide = bounds.width().max(WORDS_WIDE).min(field.0 - WIDEST);
    let mut words = Template::new("");
    let high = set(&mut words, wide, blocks);
    fits_in(bounds.width(), bounds.height() + APART + high, field).then(|| {
        let mut whole = Template::new(drawing.name.clone());
        whole.add(words.moved(Affine::translate((bounds.x0, bounds.y1 + APART + high))));
        whole.add(drawing.clone());
        whole
    })
}

/// Words that stand on what is cut out in smaller letters, for a list; but what title and explanation say in large letters.
fn small_words(smaller: Vec<String>, blocks: &[Block]) -> Option<String> {
    let said = blocks.iter().map(|b| format!("{} {}", b.name, b.text)).collect::<Vec<_>>().join(" ").to_lowercase();
    let mut words: Vec<String> = Vec::new();
    for text in smaller {
        if !said.contains(&text.to_lowercase()) && !words.contains(&text) {
            words.push(text);
        }
    }
    (!words.is_empty()).then(|| format!("On it in smaller letters: {}.", words.join("; ")))
}

/// A name in bold and the lines of text below it.
#[derive(Debug, Clone)]
struct Block {
    name: String,
    text: String,
    /// What stands below it in bold.
    warning: String,
}

/// The titled explanations among items, and the other items: a bold line at the left, and small lines right below it.
fn explanations(items: &[Item]) -> (Vec<Block>, Vec<Item>) {
    let (mut blocks, mut others, mut at) = (Vec::new(), Vec::new(), 0);
    while at < items.len() {
        let names = run(&items[at..], Lines::Name);
        let lines = run(&items[at + names.len()..], Lines::Text);
        let below =
            |name: Point, line: Point| (name.x - line.x).abs() < 1e-6 && name.y > line.y && name.y - line.y < 8.0;
        let together = names.last().zip(lines.first()).is_some_and(|(n, l)| below(n.1, l.1));
        if together {
            let name = names.iter().map(|n| n.0.as_str()).collect::<Vec<_>>().join(" ");
            at += names.len() + lines.len();
            let mut warning = run(&items[at..], Lines::Warning);
            if !lines.last().zip(warning.first()).is_some_and(|(l, w)| below(l.1, w.1)) {
                warning.clear();
            }
            at += warning.len();
            let joined = warning.iter().map(|line| line.0.as_str()).collect::<Vec<_>>().join(" ");
            blocks.push(Block { name, text: rejoined(&lines), warning: joined });
        } else {
            others.push(items[at].clone());
            at += 1;
        }
    }
    (blocks, others)
}

/// What lines of text are: names are bold and larger, warnings bold and small.
#[derive(Clone, Copy, PartialEq)]
enum Lines {
    Name,
    Text,
    Warning,
}

/// Lines of text of a kind, one below the other, that these items begin with.
fn run(items: &[Item], kind: Lines) -> Vec<(String, Point)> {
    let mut lines: Vec<(String, Point)> = Vec::new();
    for item in items {
        let Figure::Text { text, at, size, anchor: Anchor::Start, turn, bold } = &item.figure else { break };
        let (heavy, larger) = (kind != Lines::Text, kind == Lines::Name);
        let right_kind = *bold == heavy && (*size > size::SMALL) == larger && *turn == 0.0;
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
            // So does the line of bow and style that every explanation begins with, which may be the widest.
            let style = before == "1:1" || before.ends_with("· 1:1");
            text.push(if style || width(&format!("{before} {word}")) <= widest { '\n' } else { ' ' });
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
        if !block.warning.is_empty() {
            down += OVER_WARNING;
            down += bold_paragraph_of(t, Point::new(0.0, -down), wide, LETTERS, &block.warning);
        }
    }
    down
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
        let mut down =
            set(&mut t, wide, &[Block { name: capital(&name), text: String::new(), warning: String::new() }]);
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
    let down =
        set(&mut t, field.0 - WIDEST, &[Block { name: capital(name), text: String::new(), warning: String::new() }]);
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
