//! The recurved example: its guide in the belly, the checks of it, and what `sweep` says of a string that lies.

#![allow(clippy::unwrap_used)]

use nockwright::design::file::read;
use nockwright::design::{Design, Side};
use nockwright::findings::Verdict;
use nockwright::reports::sweep;
use nockwright::worked::{Statics, Worked};

/// The example with `more` keys of its nock.
fn design(more: &str) -> Design {
    let text = std::fs::read_to_string("examples/recurved-bow.toml").unwrap();
    read(&format!("{}\n{more}\n", text.trim_end()), "recurved").unwrap_or_else(|refusal| panic!("{refusal}")).design
}

#[test]
fn a_guide_that_does_not_serve_fails_its_check() {
    let verdicts = |more: &str| -> Vec<(&'static str, Verdict)> {
        let worked = Worked::of(&design(more)).unwrap();
        let checks = nockwright::checks::without_loop(&worked);
        checks.iter().filter(|c| c.id.contains("guide")).map(|c| (c.id, c.verdict)).collect()
    };
    let ids = ["guide_reaches", "guide_starts", "guide_radius", "left_under_guide"];
    let sound = verdicts("");
    for id in ids {
        assert_eq!(sound.iter().filter(|(i, v)| *i == id && *v != Verdict::Fails).count(), 2, "{id}: {sound:?}");
    }
    for (id, more) in [
        ("guide_reaches", "guide_end = \"80 mm\""),
        ("guide_starts", "guide_start = \"62 mm\""),
        ("guide_radius", "guide_radius = \"1.4 mm\""),
        ("left_under_guide", "guide_depth = \"2.9 mm\"\nguide_radius = \"5 mm\""),
    ] {
        let failing = verdicts(more);
        assert!(failing.contains(&(id, Verdict::Fails)), "{more}: {failing:?}");
    }
}

/// In its middle the guide is as deep as asked, and as wide as the chord of its bottom's circle; outside it the belly is whole.
#[test]
fn the_guide_is_cut_to_its_measures() {
    let worked = Worked::of(&design("")).unwrap();
    let solid = &worked.nocks.upper.solid;
    let guide = worked.design.nocks.upper.guide().unwrap();
    let removed = |a: f64, theta: f64| -> f64 { solid.uncut::<f64>(a, theta) - solid.radius::<f64>(a, theta) };
    let belly = std::f64::consts::PI;
    let [from, to] = guide.whole();
    for place in [from, 0.5 * (from + to), to] {
        assert!((removed(-place, belly) - guide.depth).abs() < 1e-9);
        let half = 0.5 * guide.width(guide.depth);
        let depth: f64 = solid.uncut(-place, belly);
        let off = (half / depth).atan();
        assert!(removed(-place, belly - 0.98 * off) > 0.0 && removed(-place, belly - 1.02 * off) == 0.0);
    }
    for place in [guide.start - 1e-4, guide.end + 1e-4] {
        assert_eq!(removed(-place, belly), 0.0);
    }
    // The string lies deeper by the guide's depth, so its pull has the less lever on the limb.
    let lever = |design: &Design| {
        let statics = Statics::of(design, 4).unwrap();
        let limb = statics.cycle.at_brace().limbs.get(Side::Upper);
        let (bent, lying) = (&limb.bent, limb.lying.as_ref().unwrap());
        let k = (0..bent.s.len()).find(|&k| bent.s[k] < lying.throat && bent.s[k] > lying.lift_off).unwrap();
        bent.moment[k] / limb.pull
    };
    let (deep, shallow) = (lever(&design("guide_depth = \"0.8 mm\"")), lever(&design("guide_depth = \"0.2 mm\"")));
    assert!((shallow - deep - 0.6e-3).abs() < 2e-5, "{deep} {shallow}");
}

#[test]
fn sweep_tells_where_the_string_lies_and_when_it_comes_free() {
    let design = design("");
    let statics = Statics::of(&design, 20).unwrap();
    let table = sweep::table(&design, &statics, None);
    assert!(table.contains("lies to") && table.contains("it comes free at a draw of"), "{table}");
    let json: serde_json::Value = serde_json::from_str(&sweep::json(&design, &statics, None)).unwrap();
    for side in Side::BOTH {
        let limb = &json["limbs"][side.name()];
        let free = limb["comes_free_draw_mm"].as_f64().unwrap();
        for step in limb["cycle"].as_array().unwrap() {
            assert_eq!(step["lies"].is_object(), step["draw_mm"].as_f64().unwrap() < free, "{step}");
        }
    }
    let csv = sweep::csv(&statics, None);
    let rows: Vec<Vec<&str>> = csv.lines().map(|line| line.split(',').collect()).collect();
    assert!(rows.iter().all(|row| row.len() == rows[0].len()));
    let column = rows[0].iter().position(|name| *name == "lower_lies_to_mm").unwrap();
    assert!(!rows[1][column].is_empty() && rows[rows.len() - 1][column].is_empty());
}

/// The example with a strip on its belly, with `more` keys of its nock.
fn with_strip(more: &str) -> Design {
    let text = std::fs::read_to_string("examples/recurved-bow.toml").unwrap();
    let text = text.replace("with belly guide", "with belly strip");
    read(&format!("{}\n{more}\n", text.trim_end()), "strip").unwrap_or_else(|refusal| panic!("{refusal}")).design
}

/// Where it is whole the strip stands its thickness over the belly, the guide is cut into it, and the limb's own wood is as it was.
#[test]
fn the_strip_stands_on_a_whole_belly() {
    let worked = Worked::of(&with_strip("")).unwrap();
    let nock = &worked.nocks.upper;
    let (solid, strip) = (&nock.solid, nock.solid.strip.unwrap());
    let guide = worked.design.nocks.upper.guide().unwrap();
    let belly = std::f64::consts::PI;
    let bare = nockwright::tip::TipSolid::bare(solid.limb.clone(), solid.end, solid.rounding);
    let [from, to] = strip.whole();
    let [deep_from, deep_to] = guide.whole();
    for place in [from, 0.5 * (from + to), to] {
        let under = solid.limb.section(-place).belly_distance();
        assert!((solid.uncut::<f64>(-place, belly) - under - strip.thickness).abs() < 1e-9, "{place}");
        for theta in [0.5 * belly + 0.01, 0.6 * belly, 0.75 * belly, 0.9 * belly, belly] {
            assert!((solid.wood(-place, theta) - bare.uncut::<f64>(-place, theta)).abs() < 1e-12, "{place} {theta}");
        }
        let side: f64 = solid.uncut(-place, 0.5 * belly);
        assert!((side - 0.5 * solid.limb.width.at(-place)).abs() < 1e-12, "{place}");
    }
    let middle = 0.5 * (deep_from + deep_to);
    let left = solid.radius::<f64>(-middle, belly) - solid.wood(-middle, belly);
    assert!((left - (strip.thickness - guide.depth)).abs() < 1e-9, "{left}");
    for place in [strip.start - 1e-4, strip.end + 1e-4] {
        assert_eq!(solid.radius::<f64>(-place, belly), bare.uncut::<f64>(-place, belly));
    }
    // On a rectangular limb, width times height, less the guide and the eased edges.
    let n = 4000;
    let step = (strip.end - strip.start) / f64::from(n);
    let places = (0..n).map(|i| strip.start + step * (f64::from(i) + 0.5));
    let block: f64 = places.map(|d| solid.limb.width.at(-d) * strip.height(d) * step).sum();
    let (part, volume) = nock.parts.iter().zip(nock.volumes()).find(|(part, _)| part.name == "strip").unwrap();
    let segment = {
        let (r, half) = (guide.radius, (1.0 - guide.depth / guide.radius).acos());
        r * r * (half - half.sin() * half.cos()) * (deep_to - deep_from)
    };
    assert!(part.material == "horn" && volume < block - segment, "{volume} {block} {segment}");
    assert!(volume > block - 1.6 * segment, "{volume} {block} {segment}");
}

/// The string lies farther out by the strip's thickness, so its pull has the more lever on the limb.
#[test]
fn a_string_lies_on_the_strip() {
    let lever = |design: &Design| {
        let statics = Statics::of(design, 4).unwrap();
        let limb = statics.cycle.at_brace().limbs.get(Side::Upper);
        let (bent, lying) = (&limb.bent, limb.lying.as_ref().unwrap());
        let k = (0..bent.s.len()).find(|&k| bent.s[k] < lying.throat && bent.s[k] > lying.lift_off).unwrap();
        bent.moment[k] / limb.pull
    };
    let [none, thin, thick] =
        [design(""), with_strip("strip_thickness = \"1 mm\""), with_strip("strip_thickness = \"2.5 mm\"")]
            .map(|design| lever(&design));
    assert!((thin - none - 1e-3).abs() < 3e-5 && (thick - thin - 1.5e-3).abs() < 3e-5, "{none} {thin} {thick}");
}

#[test]
fn a_strip_that_does_not_serve_fails_its_check() {
    let verdicts = |more: &str| -> Vec<(&'static str, Verdict)> {
        let worked = Worked::of(&with_strip(more)).unwrap();
        let checks = nockwright::checks::without_loop(&worked);
        let ours = |id: &str| id.contains("guide") || id.contains("strip");
        checks.iter().filter(|c| ours(c.id)).map(|c| (c.id, c.verdict)).collect()
    };
    let sound = verdicts("");
    for id in ["guide_reaches", "guide_starts", "guide_radius", "left_in_strip"] {
        assert_eq!(sound.iter().filter(|(i, v)| *i == id && *v != Verdict::Fails).count(), 2, "{id}: {sound:?}");
    }
    assert!(sound.iter().all(|(id, _)| *id != "left_under_guide"), "{sound:?}");
    for (id, more) in [("guide_reaches", "guide_end = \"80 mm\""), ("left_in_strip", "strip_thickness = \"1.4 mm\"")] {
        let failing = verdicts(more);
        assert!(failing.contains(&(id, Verdict::Fails)), "{more}: {failing:?}");
    }
}

/// Laid straight, the limb shows the string on its belly from the throat to where it leaves, and clear of it elsewhere.
#[test]
fn a_lying_string_is_drawn_on_what_it_lies_on() {
    for design in [design(""), with_strip("")] {
        let worked = Worked::of(&design).unwrap();
        let brace = worked.statics.cycle.at_brace();
        for side in Side::BOTH {
            let solid = &worked.nocks.get(side).solid;
            let limb = brace.limbs.get(side);
            let [throat, lift_off] = limb.lies_from_nock().unwrap();
            assert!(lift_off > throat + 5e-3);
            let seen = limb.laid_straight(brace.nocking_point, 0.05).unwrap();
            assert!((seen[0][1] - worked.nocks.get(side).seat_offset).abs() < 1e-9 && seen[0][0].abs() < 1e-12);
            let mut on = 0;
            for [a, b] in seen {
                let off = -b - 0.5 * design.string.diameter - solid.radius::<f64>(a, std::f64::consts::PI);
                if -a > throat && -a < lift_off {
                    on += 1;
                    assert!(off.abs() < 0.1e-3, "{a} {off}");
                }
                assert!(-a < throat || off > -0.1e-3, "{a} {off}");
            }
            assert!(on > 3, "{on}");
        }
    }
}

/// A thin recurved bow comes through the draws at which its string leaves the belly, whatever its brace height.
#[test]
fn a_thin_recurve_is_drawn_from_every_brace_height() {
    let mut text = include_str!("../examples/recurved-bow.toml").to_owned();
    for (from, to) in [
        ("handle_depth  = \"1 3/4 in\"", "handle_depth  = \"1 5/8 in\""),
        ("draw          = \"27 in\"", "draw          = \"32 11/16 in\""),
        (
            "thickness = \"3/8 in\" },\n  { at = \"14 in\", width = \"2 1/8 in\"",
            "thickness = \"5/16 in\" },\n  { at = \"14 in\", width = \"1 7/8 in\"",
        ),
        ("width = \"1 1/8 in\"", "width = \"1 5/16 in\""),
        ("set = \"+1/4 in\"", "set = \"+1/16 in\""),
        ("set = \"+1 3/4 in\"", "set = \"+1 1/2 in\""),
        ("loop     = \"2 3/4 in\"", "loop     = \"2 1/4 in\""),
    ] {
        assert!(text.contains(from), "{from}");
        text = text.replace(from, to);
    }
    for hundredths in (580..680).step_by(5) {
        let height = format!("brace_height  = \"{} in\"", f64::from(hundredths) / 100.0);
        let text = text.replace("brace_height  = \"6 in\"", &height);
        let design = nockwright::design::file::read(&text, "bow.toml").unwrap().design;
        let drawn = Statics::of(&design, 20);
        assert!(drawn.is_ok(), "{height}: {drawn:?}");
    }
}
