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
