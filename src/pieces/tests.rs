use std::sync::LazyLock;

use super::*;
use crate::design::Side;
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

/// The four bows of `tests/bows`, and the sample in millimetres.
fn bows() -> Vec<(&'static str, String)> {
    let four = [
        ("light", include_str!("../../tests/bows/light.toml")),
        ("heavy", include_str!("../../tests/bows/heavy.toml")),
        ("short", include_str!("../../tests/bows/short.toml")),
        ("long", include_str!("../../tests/bows/long.toml")),
    ];
    let mut bows: Vec<_> =
        four.map(|(name, text)| (name, format!("{text}\n[nock]\nstyle = \"back overlay\"\n"))).into();
    bows.push(("sample", SAMPLE.replace("units  = \"inch\"", "units  = \"mm\"")));
    bows
}

/// All pieces of every bow with every nock style on both limbs.
static EVERY: LazyLock<Vec<(String, Worked, Vec<Piece>)>> = LazyLock::new(|| {
    let mut sets = Vec::new();
    let mut add = |bow: &str, style: &str, text: &str| {
        let worked = worked(text);
        let pieces = all(&worked, &crate::checks::all(&worked));
        sets.push((format!("{bow} {style}"), worked, pieces));
    };
    for (bow, text) in bows() {
        for style in NOCK_STYLES {
            add(bow, style.name(), &text.replace("back overlay", style.name()));
        }
    }
    // The string lies on the belly only of a recurved end.
    for style in ["back overlay", "back overlay with belly guide", "back overlay with belly strip", "horn nock"] {
        let text = include_str!("../../examples/recurved-bow.toml").replace("back overlay with belly guide", style);
        // Its groove runs far down the sides.
        let text = text.replace("\"horn nock\"", "\"horn nock\"\nhorn_length = \"90 mm\"");
        add("recurved", style, &text);
    }
    // A string that is tied to the lower limb.
    let tied = bows()[0].1.replace("[string]\n", "[string]\nlower_end = \"knot\"\n");
    add(
        "tied",
        "straight groove",
        &tied.replace(
            "[nock]\nstyle = \"back overlay\"",
            "[upper.nock]\nstyle = \"back overlay\"\n[lower.nock]\nstyle = \"straight groove\"",
        ),
    );
    sets
});

#[test]
fn every_piece_is_finite_and_legible() {
    let mut wrong = Vec::new();
    for (name, _, pieces) in EVERY.iter() {
        for piece in pieces {
            let t = &piece.template;
            if !t.items.iter().all(Item::is_finite) {
                wrong.push(format!("{name}, {}: not finite", t.name));
            }
            for text in crossed_texts(t) {
                wrong.push(format!("{name}, {}: '{text}' is crossed", t.name));
            }
            let texts: Vec<(&str, [kurbo::Point; 4])> = t
                .items
                .iter()
                .filter_map(|i| match &i.figure {
                    Figure::Text { text, .. } => Some((text.as_str(), corners(i)?)),
                    _ => None,
                })
                .collect();
            for (k, (text, own)) in texts.iter().enumerate() {
                for (other, taken) in &texts[..k] {
                    if overlap(own, taken) {
                        wrong.push(format!("{name}, {}: '{text}' lies on '{other}'", t.name));
                    }
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The corners of a text's box, tails and all, a tenth of a millimetre inside it, turned as it is.
fn corners(item: &Item) -> Option<[kurbo::Point; 4]> {
    let Figure::Text { text, at, size, anchor, turn, bold } = &item.figure else { return None };
    let b = crate::template::text_box(text, *size, *anchor, *bold).inset(-0.1);
    let place = kurbo::Affine::translate(at.to_vec2()) * kurbo::Affine::rotate(turn.to_radians());
    Some([(b.x0, b.y0), (b.x1, b.y0), (b.x1, b.y1), (b.x0, b.y1)].map(|p| place * kurbo::Point::from(p)))
}

/// Whether two boxes, turned anyhow, have a place in common: none when a side of one has the other wholly beyond it.
fn overlap(p: &[kurbo::Point; 4], q: &[kurbo::Point; 4]) -> bool {
    let parted = |p: &[kurbo::Point; 4], q: &[kurbo::Point; 4]| {
        (0..4).any(|k| q.iter().all(|r| (p[(k + 1) % 4] - p[k]).cross(*r - p[k]) <= 0.0))
    };
    !parted(p, q) && !parted(q, p)
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
    for (name, _, pieces) in EVERY.iter() {
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

/// Ticks along a cut line stand on what falls away: outside of it.
#[test]
fn ticks_stand_outside_what_is_cut_out() {
    use kurbo::{ParamCurve, ParamCurveArclen, ParamCurveNearest, Shape};
    let (mut wrong, mut ticks, mut lines) = (Vec::new(), 0, 0);
    for (name, _, pieces) in EVERY.iter() {
        for Piece { template: t, .. } in pieces {
            let paths = |role: Role| {
                t.items.iter().filter(move |i| i.role == role).filter_map(|i| match &i.figure {
                    Figure::Line(path) => Some(path),
                    _ => None,
                })
            };
            for cut in paths(Role::Cut) {
                let on = |p: kurbo::Point| cut.segments().any(|edge| edge.nearest(p, 1e-3).distance_sq < 0.03 * 0.03);
                // Strokes of one item that all begin on the cut line.
                let along = |path: &&kurbo::BezPath| {
                    let strokes = path.segments().count();
                    strokes > 3
                        && path.elements().len() == 2 * strokes
                        && path.segments().all(|s| s.arclen(1e-3) < 1.5 && on(s.start()))
                };
                let own: Vec<_> = paths(Role::Note).filter(along).flat_map(kurbo::BezPath::segments).collect();
                let inside = own.iter().filter(|s| cut.contains(s.eval(0.5))).count();
                if own.is_empty() || inside > 0 {
                    wrong.push(format!("{name}, {}: {inside} of {} ticks inside", t.name, own.len()));
                }
                ticks += own.len();
                lines += 1;
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(lines > 300 && ticks > 20 * lines, "{lines} {ticks}");
}

#[test]
fn every_set_goes_on_paper() {
    for (name, _, pieces) in EVERY.iter() {
        for paper in [A4, LETTER] {
            let title = SheetTitle { bow: name.clone(), sheets: "nock sheets".into(), ..SheetTitle::default() };
            let set = lay_out(title, paper, pieces.clone(), Attachment::default())
                .unwrap_or_else(|faults| panic!("{name}: {faults:?}"));
            assert!(set.remarks.is_empty(), "{:?}", set.remarks);
            let mut found = 0;
            for page in &set.pages {
                let sheet = kurbo::Rect::new(0.0, 0.0, page.width, page.height);
                let mut placed: Vec<(&str, kurbo::Rect)> = Vec::new();
                for part in &page.parts {
                    let Some(bounds) = part.bounds() else { continue };
                    assert!(sheet.union(bounds) == sheet, "{name}, {}: {} off the page", page.name, part.name);
                    if !pieces.iter().any(|p| p.template.name == part.name) {
                        continue;
                    }
                    let off = paper.field().inset(-1.5);
                    assert!(off.contains_rect(bounds), "{name}, {}: {} lies near the frame", page.name, part.name);
                    for (other, taken) in &placed {
                        let both = bounds.intersect(*taken);
                        assert!(both.is_zero_area(), "{name}, {}: {} lies on {other}", page.name, part.name);
                    }
                    placed.push((&part.name, bounds));
                }
                found += placed.len();
            }
            assert!(found > 5, "{name}: only {found} pieces found whole on their sheets");
        }
    }
}

/// What is cut out says whose it is, and can be told apart from the other limb's.
#[test]
fn parts_that_are_cut_out_keep_a_name() {
    let (mut letters_only, mut numbers) = (0, 0);
    for (name, _, pieces) in EVERY.iter() {
        for Piece { template: t, .. } in pieces {
            // One of several papers bears its number, too: `wrap 2 of 3` is `2 of 3` or `2/3`.
            let number = t.name.split_once(" wrap ").map(|(_, of)| [of.to_owned(), of.replace(" of ", "/")]);
            for item in t.items.iter().filter(|item| item.role == Role::Cut) {
                let Figure::Line(cut) = &item.figure else { panic!("a cut that is no line") };
                let inside =
                    |item: &Item| corners(item).is_some_and(|c| c.into_iter().all(|p| kurbo::Shape::contains(cut, p)));
                let on_it: Vec<&String> = t
                    .items
                    .iter()
                    .filter(|i| inside(i))
                    .filter_map(|i| match &i.figure {
                        Figure::Text { text, .. } => Some(text),
                        _ => None,
                    })
                    .collect();
                let whose = on_it.iter().find_map(|text| {
                    let letter = |limb: &&str| text.split(' ').next() == Some(limb_letter(limb));
                    let limb = LIMBS.into_iter().find(|limb| text.starts_with(short(limb)) || letter(limb));
                    limb.map(|limb| (limb, *text))
                });
                if let Some(number) = &number {
                    let numbered = on_it.iter().any(|text| number.iter().any(|n| text.ends_with(n.as_str())));
                    assert!(numbered, "{name}, {}: {on_it:?}", t.name);
                    numbers += 1;
                }
                // A strip's side is lower than letters with what lies round them.
                if whose.is_none() && kurbo::Shape::bounding_box(cut).height() < 5.0 {
                    continue;
                }
                let Some((whose, text)) = whose else { panic!("{name}, {}: no name on it", t.name) };
                letters_only += usize::from(text.len() < 3);
                assert!(t.name.starts_with(&whose.to_lowercase()), "{name}, {}: '{text}'", t.name);
            }
        }
    }
    assert!(numbers > 20, "{numbers}");
    println!("{letters_only} have room for a letter only");
}

/// The words on a piece.
fn texts_of(piece: &Piece) -> Vec<&str> {
    let texts = piece.template.items.iter().filter_map(|i| match &i.figure {
        Figure::Text { text, .. } => Some(text.as_str()),
        _ => None,
    });
    texts.collect()
}

/// The cut line of the first piece whose name ends so, as points, mm.
fn cut_line(pieces: &[Piece], name: &str) -> Vec<kurbo::Point> {
    let piece = pieces.iter().find(|p| p.template.name.ends_with(name));
    let item = piece.and_then(|p| p.template.items.iter().find(|i| i.role == Role::Cut));
    let Some(Figure::Line(path)) = item.map(|i| &i.figure) else { return Vec::new() };
    path.elements().iter().filter_map(kurbo::PathEl::end_point).collect()
}

/// A pin has a shoulder: none of its pieces is a groove's.
#[test]
fn a_pin_has_no_groove_to_cut() {
    for (name, _, pieces) in EVERY.iter().filter(|(name, ..)| name.ends_with("pin nock")) {
        for piece in pieces {
            assert!(!piece.template.name.contains("groove"), "{name}: {}", piece.template.name);
            let words = texts_of(piece).join(" ");
            assert!(!words.contains("the groove is"), "{name}, {}: {words}", piece.template.name);
        }
        assert!(pieces.iter().any(|p| p.template.name.ends_with("shoulder gauge")), "{name}");
    }
}

/// What is seen of a strip and its guide from the belly is named there, and the length of an overlay's scarf on its blank.
#[test]
fn lines_of_strip_guide_and_scarf_are_named() {
    let (mut strips, mut scarfs) = (0, 0);
    for (name, worked, pieces) in EVERY.iter() {
        let texts = |end: &str| pieces.iter().find(|p| p.template.name.ends_with(end)).map(texts_of);
        if worked.nocks.upper.solid.strip.is_some() {
            let texts = texts("belly view of the tip").unwrap_or_default();
            assert!(texts.contains(&"the strip starts"), "{name}: {texts:?}");
            let guide = worked.design.nocks.upper.guide().is_some_and(|g| {
                let shown = TipShape::of(&worked.nocks.upper, worked.statics.swings.upper.brace).shown_from;
                -g.whole()[0] > shown + 2e-3
            });
            assert_eq!(texts.contains(&"the guide's edges"), guide, "{name}: {texts:?}");
            strips += 1;
        }
        if let Some(texts) = texts("overlay blank") {
            assert!(texts.iter().any(|text| text.ends_with(", scarf")), "{name}: {texts:?}");
            scarfs += 1;
        }
    }
    assert!(strips > 3 && scarfs > 5, "{strips} {scarfs}");
}

#[test]
fn small_lengths_are_said_so_that_both_units_agree() {
    use crate::design::Units;
    for (mm, words) in [
        (1.83, "0.072 in (1.83 mm)"),
        (1.59, "1/16 in (1.59 mm)"),
        (3.18, "1/8 in (3.18 mm)"),
        (0.25, "0.25 mm"),
        (12.7, "1/2 in (12.7 mm)"),
        // Nearest to a thirty-second, and half way between two of them: the same figure has the same inches.
        (39.6, "1 9/16 in (39.6 mm)"),
        (38.49, "1 33/64 in (38.5 mm)"),
        (38.51, "1 33/64 in (38.5 mm)"),
        // Either side of what is nearer to a sixty-fourth, and printed alike.
        (38.68, "1 17/32 in (38.7 mm)"),
        (38.72, "1 17/32 in (38.7 mm)"),
    ] {
        assert_eq!(common::measure(mm, Units::Inch), words);
    }
    assert_eq!(common::measure_lines(38.51, Units::Inch), ["1 33/64 in", "38.5 mm"]);
    assert_eq!(common::measure(1.83, Units::Millimetre), "1.83 mm");
}

mod gauges;
mod views;
mod wraps;
