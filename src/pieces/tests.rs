use std::sync::LazyLock;

use super::*;
use crate::nock::NOCK_STYLES;
use crate::samples::{SAMPLE, SAMPLE_NAME};
use crate::sheets::{
    Attachment, SheetTitle, lay_out,
    paper::{A4, LETTER},
};
use crate::template::{Role, legible::crossed_texts};

fn worked(text: &str) -> Worked {
    let reading = crate::design::file::read(text, SAMPLE_NAME).unwrap_or_else(|refusal| panic!("{refusal}"));
    Worked::of(&reading.design).unwrap_or_else(|faults| panic!("{faults:?}"))
}

/// The sample, and bows made from it: light, long and heavy, unequal.
fn bows() -> Vec<(&'static str, String)> {
    let light = SAMPLE
        .replace("length        = \"68 in\"", "length        = \"60 in\"")
        .replace("at = \"34 in\"", "at = \"30 in\"")
        .replace("at = \"20 in\"", "at = \"18 in\"")
        .replace("pull = \"40 lb\"", "pull = \"25 lb\"")
        .replace("units  = \"inch\"", "units  = \"mm\"");
    let heavy = SAMPLE
        .replace("length        = \"68 in\"", "length        = \"74 in\"")
        .replace("at = \"34 in\"", "at = \"37 in\"")
        .replace("pull = \"40 lb\"", "pull = \"80 lb\"")
        .replace("rounded rectangle", "D")
        .replace("corner   = \"1/8 in\"\n", "");
    vec![("sample", SAMPLE.to_owned()), ("light", light), ("heavy", heavy)]
}

/// All pieces of every bow with every nock style on both limbs.
static EVERY: LazyLock<Vec<(String, Vec<Piece>)>> = LazyLock::new(|| {
    let mut sets = Vec::new();
    for (bow, text) in bows() {
        for style in NOCK_STYLES {
            let worked = worked(&text.replace("back overlay", style.name()));
            sets.push((format!("{bow} {}", style.name()), all(&worked, &crate::checks::all(&worked))));
        }
    }
    sets
});

#[test]
fn every_piece_is_finite_and_legible() {
    let mut wrong = Vec::new();
    for (name, pieces) in EVERY.iter() {
        for piece in pieces {
            let t = &piece.template;
            if !t.items.iter().all(Item::is_finite) {
                wrong.push(format!("{name}, {}: not finite", t.name));
            }
            for text in crossed_texts(t) {
                wrong.push(format!("{name}, {}: '{text}' is crossed", t.name));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Whether two segments have an inner point in common.
fn cross(p: [kurbo::Point; 2], q: [kurbo::Point; 2]) -> bool {
    let side = |a: kurbo::Point, b: kurbo::Point, c: kurbo::Point| (b - a).cross(c - a);
    let (a, b) = (side(q[0], q[1], p[0]), side(q[0], q[1], p[1]));
    let (c, d) = (side(p[0], p[1], q[0]), side(p[0], p[1], q[1]));
    a * b < -1e-12 && c * d < -1e-12
}

#[test]
fn cut_lines_are_closed_and_never_cross_themselves() {
    for (name, pieces) in EVERY.iter() {
        for piece in pieces {
            let cuts = piece.template.items.iter().filter(|i| i.role == Role::Cut);
            for item in cuts {
                let Figure::Line(path) = &item.figure else { panic!("a cut that is no line") };
                assert!(
                    matches!(path.elements().last(), Some(kurbo::PathEl::ClosePath)),
                    "{name} {}",
                    piece.template.name
                );
                let mut points = Vec::new();
                kurbo::flatten(path, 0.01, |e| match e {
                    kurbo::PathEl::MoveTo(p) | kurbo::PathEl::LineTo(p) => points.push(p),
                    _ => points.push(points[0]),
                });
                let edges: Vec<[kurbo::Point; 2]> = points.windows(2).map(|w| [w[0], w[1]]).collect();
                for (i, p) in edges.iter().enumerate() {
                    for q in &edges[..i] {
                        assert!(!cross(*p, *q), "{name} {}: {p:?} {q:?}", piece.template.name);
                    }
                }
            }
        }
    }
}

#[test]
fn every_set_goes_on_paper() {
    for (name, pieces) in EVERY.iter() {
        for paper in [A4, LETTER] {
            let title = SheetTitle { bow: name.clone(), sheets: "nock sheets".into(), ..SheetTitle::default() };
            let set = lay_out(title, paper, pieces.clone(), Attachment::default())
                .unwrap_or_else(|faults| panic!("{name}: {faults:?}"));
            assert!(set.remarks.is_empty(), "{:?}", set.remarks);
        }
    }
}
