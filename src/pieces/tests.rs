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

/// Width and height of the tip's section at `a` before grooves are cut, mm, from the finished solid's own outline.
fn extents(solid: &crate::tip::TipSolid, a: f64) -> [f64; 2] {
    let whole = crate::tip::TipSolid { cuts: Vec::new(), ..solid.clone() };
    let outline = whole.section(a, 2000);
    let reach = |k: usize| {
        let along = outline.iter().map(|p| p[k] * 1e3);
        along.clone().fold(f64::NEG_INFINITY, f64::max) - along.fold(f64::INFINITY, f64::min)
    };
    [reach(0), reach(1)]
}

#[test]
fn gauges_fit_their_parts() {
    let mut worst = 0.0_f64;
    let mut lower = 0;
    for (side, (name, worked, all)) in Side::BOTH.into_iter().flat_map(|side| EVERY.iter().map(move |set| (side, set)))
    {
        let nock = worked.nocks.get(side);
        let shape = TipShape::of(nock, worked.statics.swings.get(side).brace);
        // A piece for both limbs is the upper one's, too.
        let own = |p: &&Piece| {
            let of_lower = p.template.name.starts_with("lower limb");
            of_lower == (side == Side::Lower)
        };
        let pieces: Vec<Piece> = all.iter().filter(own).cloned().collect();
        let pieces = &pieces[..];
        if pieces.is_empty() || cut_line(pieces, "width gauge").is_empty() {
            assert_eq!(side, Side::Lower, "{name}");
            continue;
        }
        lower += usize::from(side == Side::Lower);
        for (which, gauge) in ["width gauge", "thickness gauge"].into_iter().enumerate() {
            let points = cut_line(pieces, gauge);
            // Between the corners of the slots' mouths, lower edge first: no-go, then go from right to left.
            let edge = |y: f64| points.iter().filter(|p| (p.y - y).abs() < 1e-9).map(|p| p.x).collect::<Vec<_>>();
            let (low, high) =
                points.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), p| (l.min(p.y), h.max(p.y)));
            let slots = |y: f64| -> Vec<f64> {
                let mut x = edge(y);
                x.sort_by(f64::total_cmp);
                x.dedup();
                x[1..x.len() - 1].chunks(2).map(|c| c[1] - c[0]).collect()
            };
            let measured: Vec<f64> = shape
                .stations
                .iter()
                .filter(|(_, a)| *a < nock.solid.end - nock.solid.rounding)
                .map(|(_, a)| extents(&nock.solid, *a)[which])
                .collect();
            let (no_go, go) = (slots(low), slots(high));
            assert!(no_go.len() == measured.len() && go.len() == measured.len() && go.len() > 2, "{name}, {gauge}");
            for ((part, no_go), go) in measured.iter().zip(no_go).zip(go) {
                let off = (go - part - station_gauges::PLAY).abs().max((part - station_gauges::PLAY - no_go).abs());
                worst = worst.max(off);
                assert!(off < 0.02, "{name}, {gauge}: {part} {no_go} {go}");
            }
        }
        // The nose of the groove gauge reaches as deep as the seat was cut.
        let seat: f64 = nock.solid.uncut(0.0, nock.crest()) - nock.solid.radius(0.0, nock.crest());
        let open = nock.groove.as_ref().is_some_and(|g| g.wish.open);
        let points = cut_line(pieces, if open { "shoulder gauge" } else { "groove gauge" });
        let edge = points.first().map_or(f64::NAN, |p| p.y);
        let nose = edge - points.iter().map(|p| p.y).fold(f64::INFINITY, f64::min);
        assert!((nose - seat * 1e3).abs() < 0.02, "{name}: nose {nose}, seat {}", seat * 1e3);
    }
    assert!(lower >= 3, "{lower} lower limbs with gauges of their own");
    println!("gauges against parts: at worst {worst:.4} mm");
}

/// The hollow of the cone's gauge stands off the bit's grind by the glue's room, square to the faces, and from its end.
#[test]
fn the_cone_leaves_room_for_the_glue() {
    for (name, worked, pieces) in EVERY.iter().filter(|(name, ..)| name.contains("horn")) {
        let gap = worked.design.nocks.upper.number("glue_gap") * 1e3;
        let bit = cut_line(pieces, "grind of the flat bit");
        let gauge = cut_line(pieces, "gauge for the wooden cone");
        let [mouth, bottom] = [bit[0], bit[1]];
        // The gauge's hollow comes last: its far mouth corner, its bottom, and back.
        let middle = 0.5 * gauge.iter().map(|p| p.y).fold(0.0, f64::max);
        let hollow: Vec<kurbo::Vec2> = gauge[4..8].iter().map(|p| *p - kurbo::Point::new(0.0, middle)).collect();
        let face = (bottom - mouth) / (bottom - mouth).hypot();
        for corner in &hollow[2..4] {
            let off = face.cross(*corner - mouth.to_vec2());
            assert!((off.abs() - gap).abs() < 0.02, "{name}: {off} against {gap}");
            assert!(corner.y.abs() < mouth.y.abs(), "{name}: the cone is the smaller");
        }
        assert!((bottom.x - hollow[2].x - gap).abs() < 0.02, "{name}: {bottom:?} {hollow:?}");
    }
}

/// The blank holds all of the cap, the limb's corners at the mouth with it.
#[test]
fn the_blank_holds_the_cap() {
    let nock = "[nock]\nstyle = \"horn nock\"\n";
    let bow = include_str!("../../tests/bows/long.toml")
        .replace("section  = \"rounded rectangle\"", "section  = \"rectangle\"");
    for bow in [include_str!("../../tests/bows/long.toml"), &bow] {
        let worked = worked(&format!("{bow}\n{nock}"));
        let solid = &worked.nocks.upper.solid;
        let from = worked.nocks.upper.from;
        let mut reach = 0.0_f64;
        for i in 0..=200 {
            let a = from + (solid.end - from) * f64::from(i) / 200.0;
            reach = solid.section(a, 720).iter().map(|[w, b]| 1e3 * w.hypot(*b)).fold(reach, f64::max);
        }
        let blank = cut_line(&all(&worked, &[]), "horn blank");
        let half = blank.iter().map(|p| p.y).fold(0.0, f64::max);
        assert!((half - reach - 1.5).abs() < 0.05, "{half} {reach}");
    }
}

/// Each drawing has the slot where an eye that looks at it that way would see it: right is what stands square to up and to the eye.
#[test]
fn a_slot_lies_on_its_own_hand_in_every_view() {
    let cross =
        |u: [f64; 3], v: [f64; 3]| [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
    for hand in ["left", "right"] {
        let nock = format!("[nock]\nstyle = \"horn nock with side slot\"\nslot_side = \"{hand}\"\n");
        let worked = worked(&format!("{}\n{nock}", include_str!("../../tests/bows/long.toml")));
        let pieces = all(&worked, &[]);
        let solid = &worked.nocks.upper.solid;
        // Where most is cut away at the seat, found on the solid itself.
        let deepest = (-180..180)
            .map(|k| f64::from(k).to_radians())
            .max_by(|p, q| {
                let cut = |t: f64| solid.uncut(0.0, t) - solid.radius(0.0, t);
                cut(*p).total_cmp(&cut(*q))
            })
            .unwrap();
        let slot = crate::tip::solid::place(0.0, deepest, 1.0);
        // The back toward the eye and the tip up, as the key has it.
        let (tip, w, back) = ([1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]);
        let right = cross(tip, back);
        let along = (0..3).map(|i| slot[i] * right[i]).sum::<f64>();
        assert!((along > 0.0) == (hand == "right"), "{hand}: {slot:?}");

        let piece = |name: &str| {
            let found = pieces.iter().find(|p| p.template.name.contains(name));
            &found.unwrap_or_else(|| panic!("no {name}")).template
        };
        let longest = |t: &crate::template::Template, role: Role| -> Vec<kurbo::Point> {
            let lines = t.items.iter().filter(|i| i.role == role).filter_map(|i| match &i.figure {
                Figure::Line(path) => {
                    Some(path.elements().iter().filter_map(kurbo::PathEl::end_point).collect::<Vec<_>>())
                }
                _ => None,
            });
            lines.max_by_key(Vec::len).unwrap()
        };
        // The wrap lies with the tip up: the crest is the highest place of the string's line.
        let wrap = longest(piece("wrap 1"), Role::Mark);
        let back_line = piece("wrap 1").items.iter().find_map(|i| match &i.figure {
            Figure::Text { text, at, .. } if text == "back" => Some(at.x),
            _ => None,
        });
        let crest = wrap.iter().max_by(|p, q| p.y.total_cmp(&q.y)).unwrap();
        assert!((crest.x > back_line.unwrap()) == (hand == "right"), "{hand}: wrap {crest:?}");
        // The back view lies with the tip to the right: turned up, what was below comes to the right.
        let view = piece("back view");
        let middle = longest(view, Role::Centre);
        let axis = view.items.iter().filter(|i| i.role == Role::Centre).find_map(|i| match &i.figure {
            Figure::Line(path) if path.elements().len() == 2 => path.elements()[0].end_point(),
            _ => None,
        });
        let crest = middle.iter().max_by(|p, q| p.x.total_cmp(&q.x)).unwrap();
        assert!((crest.y < axis.unwrap().y) == (hand == "right"), "{hand}: back view {crest:?}");
        // Seen from the belly, the hands are changed over.
        let words = |t: &crate::template::Template| -> String {
            let texts = t.items.iter().filter_map(|i| match &i.figure {
                Figure::Text { text, .. } => Some(text.as_str()),
                _ => None,
            });
            texts.collect::<Vec<_>>().join(" ")
        };
        let other = if hand == "right" { "left" } else { "right" };
        assert!(words(piece("back view")).contains(&format!("the slot is on the {hand}.")));
        assert!(words(piece("belly view")).contains(&format!("the slot is on the {other}.")));
        // From the slotted side with the back up, the tip lies where right points.
        let eye = w.map(|v| v * deepest.signum());
        let tip_at_right = cross(back, eye)[0] > 0.0;
        let letter = |name: &str, letter: &str| {
            piece(name).items.iter().find_map(|i| match &i.figure {
                Figure::Text { text, at, .. } if text == letter => Some(at.x),
                _ => None,
            })
        };
        assert_eq!(letter("slotted side", "D") > letter("slotted side", "A"), tip_at_right, "{hand}");
        assert_eq!(letter("bare side", "D") > letter("bare side", "A"), !tip_at_right, "{hand}");
    }
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

/// A pin's gauge goes on the pin as it is finished, and a pin has one.
#[test]
fn a_pin_has_a_gauge_of_its_own() {
    let mut gauges = 0;
    for (name, worked, pieces) in EVERY.iter().filter(|(name, ..)| name.ends_with("pin nock")) {
        let points = cut_line(pieces, "pin gauge");
        let low = points.iter().map(|p| p.y).fold(f64::INFINITY, f64::min);
        let mut x: Vec<f64> = points.iter().filter(|p| (p.y - low).abs() < 1e-9).map(|p| p.x).collect();
        x.sort_by(f64::total_cmp);
        x.dedup();
        let slots: Vec<f64> = x[1..x.len() - 1].chunks(2).map(|c| c[1] - c[0] + station_gauges::PLAY).collect();
        let solid = &worked.nocks.upper.solid;
        // On the pin beyond the hollow, and before the rounded end.
        let at = TipShape::of(&worked.nocks.upper, 0.5).stations;
        let (_, a) = at.iter().rev().find(|(_, a)| *a < solid.end - solid.rounding).unwrap();
        let mut reach = [0.0_f64; 3];
        for k in 0..2000 {
            let theta = std::f64::consts::TAU * f64::from(k) / 2000.0;
            let r = solid.radius(*a, theta) * 1e3;
            reach = [reach[0].max(r * theta.sin()), reach[1].max(r * theta.cos()), reach[2].max(-r * theta.cos())];
        }
        let (wide, thick) = (2.0 * reach[0], reach[1] + reach[2]);
        assert!((slots[0] - wide).abs() < 0.05 && (slots[1] - thick).abs() < 0.05, "{name}: {slots:?} {wide} {thick}");
        assert!(slots[1] < extents(solid, *a)[1] - 0.5, "{name}: as thick as the limb");
        gauges += 1;
    }
    assert!(gauges > 3);
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

/// The corners of a string angle card read as the string stands, or the card says why not.
#[test]
fn a_cards_corners_read_as_the_string_stands_or_it_says_why_not() {
    let mut cards = 0;
    for (name, _, pieces) in EVERY.iter() {
        for piece in pieces.iter().filter(|p| p.template.name.ends_with("string angle card")) {
            let texts = texts_of(piece);
            let corners: Vec<&&str> =
                texts.iter().filter(|t| t.strip_suffix('°').is_some_and(|n| n.parse::<f64>().is_ok())).collect();
            let words = texts.join(" ");
            assert_eq!(corners.len(), 2, "{name}: {texts:?}");
            let told = corners.iter().all(|c| words.matches(**c).count() > 1);
            assert!(told || words.contains("taken off here") || words.contains("added here"), "{name}: {words}");
            cards += 1;
        }
    }
    assert!(cards > 40, "{cards}");
}

/// At every draw at which the string lies on a recurved end, its drawing leaves the straight line of the loop's legs.
#[test]
fn a_lying_string_is_drawn_lying() {
    let set = |name: &str| EVERY.iter().find(|(n, _, _)| n == name).unwrap();
    let (_, worked, pieces) = set("recurved back overlay with belly strip");
    let view = pieces.iter().find(|p| p.template.name.contains("side view")).unwrap();
    let texts = texts_of(view);
    for draw in ["at brace, legs", "half draw, legs"] {
        assert!(texts.iter().any(|t| t.starts_with(draw)), "{draw}: {texts:?}");
    }
    assert!(texts.iter().any(|t| t.starts_with("full draw ")), "{texts:?}");
    assert!(texts.join(" ").contains("It lies on the belly"), "{texts:?}");
    // The words over the braced string keep off every string's edge, tails and all.
    for (name, _, pieces) in EVERY.iter().filter(|(name, ..)| name.starts_with("recurved")) {
        let mut named = 0;
        for t in pieces.iter().map(|p| &p.template).filter(|t| t.name.contains("side view")) {
            let words = t
                .items
                .iter()
                .filter(|i| matches!(&i.figure, Figure::Text { text, .. } if text.starts_with("at brace, legs")));
            for around in words.map(|i| i.bounds().inflate(0.3, 0.3)) {
                for item in t.items.iter().filter(|i| i.role == Role::String) {
                    let Figure::Line(path) = &item.figure else { continue };
                    kurbo::flatten(path, 0.01, |e| {
                        if let Some(p) = e.end_point() {
                            assert!(!around.contains(p), "{name}: {p:?} in {around:?}");
                        }
                    });
                }
                named += 1;
            }
        }
        assert!(named > 0, "{name}");
    }
    let brace = worked.statics.cycle.at_brace().limbs.get(Side::Upper);
    assert!(brace.lying.is_some() && worked.statics.cycle.at_full_draw().limbs.get(Side::Upper).lying.is_none());
    // The braced string keeps off the strip's face by its own half, from the throat to where it leaves, as it is drawn.
    let [throat, lift_off] = brace.lies_from_nock().unwrap();
    let solid = &worked.nocks.upper.solid;
    let lain = brace.laid_straight(worked.statics.cycle.at_brace().nocking_point, 0.0).unwrap();
    let mut looked_at = 0;
    for [a, b] in lain.iter().filter(|[a, _]| (-lift_off..-throat).contains(a)) {
        let face = -solid.limb.section(*a).belly_distance() - solid.strip.unwrap().height(-a);
        let guide = worked.design.nocks.upper.guide().unwrap().depth;
        let off = face - b + guide - 0.5 * worked.design.string.diameter;
        assert!(off.abs() < 0.1e-3, "{a}: {off}");
        looked_at += 1;
    }
    assert!(looked_at > 5, "{looked_at}");
}

mod wraps;
