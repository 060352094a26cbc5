//! What straight file strokes leave, followed by the loop: the straight groove that clicks, and the roughed groove before it is blended.
//!
//! Nothing here is from outside: these are limits on how far an answer may move with the chain, the brace height and the strokes.

// Helpers of tests may unwrap like the tests themselves.
#![allow(clippy::unwrap_used)]

use nockwright::design::file::read;
use nockwright::design::{Design, Side};
use nockwright::nock::{Nock, beside};
use nockwright::samples::{SAMPLE, SAMPLE_NAME};
use nockwright::string::hanging::{Hanging, hang};
use nockwright::string::path::{Click, Settings};
use nockwright::tip::jet::Jet;
use nockwright::worked::{Statics, nocks};

fn design(text: &str) -> Design {
    let Ok(reading) = read(text, SAMPLE_NAME) else { panic!("the design reads") };
    reading.design
}

/// The starter file, braced at so many inches.
fn starter(brace: f64) -> Design {
    let text = nockwright::design::starter::starter(&Default::default()).unwrap_or_default();
    let changed = text.replace("brace_height = \"6 1/4 in\"", &format!("brace_height = \"{brace} in\""));
    assert_ne!(text, changed, "the starter has a brace height");
    // Over square corners a straight groove's loop clicks; over the starter's round ones it is lost.
    let square = changed
        .replace("section = \"rounded rectangle\"", "section = \"rectangle\"")
        .replace("\ncorner = ", "\n# corner = ");
    assert_ne!(square, changed, "the starter has round corners");
    design(&square)
}

fn straight(design: &Design, statics: &Statics, side: Side) -> Nock {
    let (end, swing) = (statics.ends.get(side), statics.swings.get(side));
    beside::straight(end, design.nocks.get(side), &design.string, swing).unwrap()
}

fn follow(design: &Design, statics: &Statics, side: Side, nock: &Nock, settings: Settings) -> Hanging {
    hang(nock, &design.string, &statics.cycle.states, side, statics.swings.get(side), settings)
}

fn largest(hanging: &Hanging) -> Click {
    hanging.draw.clicks.iter().copied().max_by(|a, b| a.size.total_cmp(&b.size)).unwrap()
}

fn near(found: f64, wanted: f64, part: f64) {
    assert!((found / wanted - 1.0).abs() < part, "{found} is not {wanted}");
}

#[test]
fn the_samples_straight_groove_clicks_at_the_same_draw_in_a_finer_chain() {
    let design = design(SAMPLE);
    let statics = Statics::of(&design, 40).unwrap();
    for side in Side::BOTH {
        let straight = straight(&design, &statics, side);
        let clicks = |side_points: usize| {
            let settings = Settings { side_points, ..Settings::default() };
            let click = largest(&follow(&design, &statics, side, &straight, settings));
            assert!(click.size > 0.05e-3, "{side:?} {side_points}: {click:?}");
            click.at.draw
        };
        let finest = clicks(300);
        for side_points in [90, Settings::of(&straight.solid).side_points, 200] {
            near(clicks(side_points), finest, 0.02);
        }
    }
}

#[test]
fn a_little_more_brace_height_moves_the_starters_click_a_little() {
    let mut before: Option<Click> = None;
    for step in 0..8 {
        let design = starter(6.10 + 0.05 * f64::from(step));
        let statics = Statics::of(&design, 40).unwrap();
        let straight = straight(&design, &statics, Side::Upper);
        let hanging = follow(&design, &statics, Side::Upper, &straight, Settings::of(&straight.solid));
        let click = largest(&hanging);
        if let Some(before) = before {
            near(click.at.draw, before.at.draw, 0.015);
            near(click.size, before.size, 0.2);
        }
        assert!(hanging.largest_click()[1] > 0.02e-3, "it clicks again when it is let down");
        before = Some(click);
    }
}

#[test]
fn clicks_do_not_hang_on_the_steps_of_the_draw() {
    // The groove is laid out for the range of draws, so the bow's own draw changes nothing but where the steps stand.
    let clicks = |draw: &str, count: usize| {
        let text = SAMPLE.replace("\ndraw          = \"28 in\"", &format!("\ndraw          = \"{draw} in\""));
        let design = design(&text);
        let statics = Statics::of(&design, count).unwrap();
        let nock = straight(&design, &statics, Side::Upper);
        let hanging = follow(&design, &statics, Side::Upper, &nock, Settings::of(&nock.solid));
        let all = hanging.draw.clicks.iter().chain(hanging.let_down.iter().flat_map(|run| &run.clicks));
        all.filter(|c| c.size > 0.02e-3).map(|c| (c.at.angle, c.size)).collect::<Vec<_>>()
    };
    let there = clicks("28", 40);
    assert!(there.len() > 1, "{there:?}");
    for (draw, count) in [("28", 20), ("28", 33), ("28", 60), ("28", 80), ("27", 40), ("28.01", 40), ("28.5", 40)] {
        let here = clicks(draw, count);
        assert_eq!(here.len(), there.len(), "{draw} {count}: {here:?} {there:?}");
        for (p, q) in here.iter().zip(&there) {
            near(p.0, q.0, 0.002);
            near(p.1, q.1, 0.05);
        }
    }
}

#[test]
fn every_file_stroke_brings_the_loop_nearer_to_the_blended_groove() {
    for (name, design) in [("sample", design(SAMPLE)), ("starter", starter(6.22)), ("starter", starter(6.26))] {
        let statics = Statics::of(&design, 40).unwrap();
        let Ok(nocks) = nocks(&design, &statics) else { panic!("the nocks are made") };
        for side in Side::BOTH {
            let blended = nocks.get(side);
            let settings = Settings::of(&blended.solid);
            let reference = follow(&design, &statics, side, blended, settings);
            let rough = |strokes: usize| {
                let rough = blended.roughed(strokes, 0.1 * design.string.diameter).unwrap();
                follow(&design, &statics, side, &rough, settings)
            };
            assert!(rough(1).draw.leaves.is_some(), "{name} {side:?}: one straight pass holds nothing");
            let apart: Vec<f64> = [2, 3, 4, 6, 8]
                .into_iter()
                .map(|strokes| {
                    let rough = rough(strokes);
                    assert!(rough.largest_click().iter().all(|c| *c < 5e-6), "{name} {side:?} {strokes}");
                    rough.apart_from(&reference).unwrap().reach
                })
                .collect();
            assert!(apart.windows(2).all(|pair| pair[1] < pair[0]), "{name} {side:?}: {apart:?}");
            assert!(apart[0] > 0.1e-3 && apart[4] < 0.02e-3, "{name} {side:?}: {apart:?}");
        }
    }
}

#[test]
fn a_roughed_grooves_surface_has_the_slopes_it_says() {
    let design = design(SAMPLE);
    let statics = Statics::of(&design, 40).unwrap();
    let Ok(nocks) = nocks(&design, &statics) else { panic!("the nocks are made") };
    let rough = nocks.upper.roughed(3, 0.3e-3).unwrap().solid;
    let at = |a: f64, theta: f64| -> f64 { rough.radius(a, theta) };
    for i in 0..60 {
        for k in 0..40 {
            // Across the wall's ridges on the handle side.
            let (a, theta) = (-6e-3 + 0.1e-3 * f64::from(i) + 1.7e-5, 0.05 + 0.03 * f64::from(k));
            let j: Jet = rough.radius(Jet::first(a), Jet::second(theta));
            let (h, e) = (2e-7, 2e-5);
            let along = (at(a + h, theta) - at(a - h, theta)) / (2.0 * h);
            let about = (at(a, theta + e) - at(a, theta - e)) / (2.0 * e);
            assert!((j.x - along).abs() < 2e-2, "{a} {theta}: {} {along}", j.x);
            assert!((j.y - about).abs() < 2e-4, "{a} {theta}: {} {about}", j.y);
        }
    }
}
