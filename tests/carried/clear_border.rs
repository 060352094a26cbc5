//! The white border round the code on the first page: nothing of the page lies in it, on any paper.

use super::designs;
use super::photo::unread_in;
use kurbo::{BezPath, PathEl, Point, Rect};
use nockwright::carried::code::{MODULE, QUIET};
use nockwright::handout::{Handout, Wish};
use nockwright::sheets::paper::{A4, LETTER, PAPERS, Paper};
use nockwright::sheets::{Letters, SheetSet};
use nockwright::template::{Figure, Item};

fn examples() -> impl Iterator<Item = (String, String)> {
    designs().into_iter().filter(|(_, text)| text.contains("layout = 1"))
}

fn handout(name: &str, text: &str, paper: Paper, letters: Letters) -> SheetSet {
    let Ok(reading) = nockwright::design::file::read(text, name) else { panic!("{name}") };
    let wish = Wish {
        text: text.into(),
        file_name: name.into(),
        changes: String::new(),
        paper,
        correction: None,
        letters,
        follow_loop: false,
    };
    Handout::of(&reading.design, wish).unwrap().set
}

/// Boxes round the strokes of a path, each with half the line's width: curves by their chords.
fn strokes(path: &BezPath, half: f64) -> Vec<Rect> {
    let (mut boxes, mut start, mut at) = (Vec::new(), Point::ORIGIN, Point::ORIGIN);
    kurbo::flatten(path, 0.01, |element| {
        let to = match element {
            PathEl::MoveTo(to) => {
                (start, at) = (to, to);
                return;
            }
            PathEl::LineTo(to) => to,
            _ => start,
        };
        boxes.push(Rect::from_points(at, to).inflate(half, half));
        at = to;
    });
    boxes
}

fn boxes(item: &Item) -> Vec<Rect> {
    match &item.figure {
        Figure::Line(path) => strokes(path, item.role.look().width / 2.0),
        Figure::Fill(_) | Figure::Text { .. } => vec![item.bounds()],
    }
}

/// What lies within the white border round the code of the first page.
fn intruders(set: &SheetSet) -> Vec<String> {
    let code = set.pages[0].parts.iter().find(|part| part.name == "code of the design").unwrap();
    let modules = code.items.iter().find(|item| matches!(item.figure, Figure::Fill(_))).unwrap();
    let quiet = QUIET as f64 * MODULE;
    let border = modules.bounds().inflate(quiet - 1e-6, quiet - 1e-6);
    let mut found = Vec::new();
    for part in &set.pages[0].parts {
        for item in part.items.iter().filter(|item| !std::ptr::eq(*item, modules)) {
            let within = |b: &Rect| b.x0 < border.x1 && b.x1 > border.x0 && b.y0 < border.y1 && b.y1 > border.y0;
            found.extend(boxes(item).iter().filter(|b| within(b)).map(|b| format!("{}: {b:?}", part.name)));
        }
    }
    found
}

#[test]
fn nothing_lies_in_the_white_border_of_the_code() {
    let mut count = 0;
    for (place, (name, text)) in examples().enumerate() {
        // Larger papers have more room and the same layout: two examples tell.
        for paper in if place < 2 { &PAPERS[..] } else { &[A4, LETTER] } {
            for letters in [Letters::Usual, Letters::Large] {
                let found = intruders(&handout(&name, &text, *paper, letters));
                assert_eq!(found, Vec::<String>::new(), "{name} on {}, {letters:?}", paper.name);
                count += 1;
            }
        }
    }
    assert!(count >= 20, "{count}");
}

#[test]
fn the_code_is_read_from_blurred_and_turned_scans_of_a_full_page() {
    let (name, text) = examples().find(|(name, _)| name == "reflexed-bow.toml").unwrap();
    let set = handout(&name, &text, A4, Letters::Usual);
    assert_eq!(unread_in(&set, &text, &[(0.0, 0.7), (2.0, 0.0), (2.0, 0.7)]), Vec::<String>::new());
}
