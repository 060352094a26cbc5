//! What is seen of a tip lies where an eye would see it.

use super::*;

/// Each drawing has the slot where an eye that looks at it that way would see it: right is what stands square to up and to the eye.
#[test]
fn a_slot_lies_on_its_own_hand_in_every_view() {
    let cross =
        |u: [f64; 3], v: [f64; 3]| [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
    for hand in ["left", "right"] {
        let nock = format!("[nock]\nstyle = \"horn nock with side slot\"\nslot_side = \"{hand}\"\n");
        let worked = worked(&format!("{}\n{nock}", include_str!("../../../tests/bows/long.toml")));
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
