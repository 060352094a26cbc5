//! Gauges, blanks and cards held against the parts that they are for.

use super::*;

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
    let bow = include_str!("../../../tests/bows/long.toml")
        .replace("section  = \"rounded rectangle\"", "section  = \"rectangle\"");
    for bow in [include_str!("../../../tests/bows/long.toml"), &bow] {
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
