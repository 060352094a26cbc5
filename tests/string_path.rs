//! The string on the tip against exact answers, and the three nocks through the whole draw.
//!
//! Exact answers: all follow from unrolling the surface flat (cylinder, cone: Clairaut's relation); digits worked out to ten places.

// Helpers of tests may unwrap like the tests themselves.
#![allow(clippy::unwrap_used)]

use nockwright::design::{BowString, NockChoice, NockValue, SectionForm};
use nockwright::nock::{Given, KeyDefault, KeyKind, Nock, style};
use nockwright::string::path::{DrawStep, Figures, Loop, Place, Run, Settings, run, taut_between};
use nockwright::string::sweep::Swing;
use nockwright::tip::jet::Jet;
use nockwright::tip::{Cut, LimbEnd, TipSolid};
use std::f64::consts::PI;

const STRING: BowString = BowString { diameter: 3.2e-3, loop_length: 63.5e-3, friction: 0.15, stiffness: None };

fn limb_end() -> LimbEnd {
    LimbEnd::straight(SectionForm::RoundedRectangle { corner: 3e-3 }, [12.7e-3, -1.0 / 12.0], [11e-3, -0.01])
}

fn swing() -> Swing {
    let r = f64::to_radians;
    Swing {
        brace: r(22.0),
        full_draw: r(75.0),
        least: r(20.5),
        greatest: r(77.0),
        pull_at_brace: 290.0,
        pull_at_full_draw: 280.0,
        greatest_pull: 295.0,
        lies_to: 0.0,
    }
}

/// A style's defaults, with some values set.
fn choice(name: &'static str, set: &[(&str, f64)]) -> NockChoice {
    let given = Given { string_diameter: STRING.diameter, width: 12.7e-3, thickness: 11e-3, core: 11e-3 };
    let number = |word: &str| word.split(' ').next().and_then(|n| n.parse::<f64>().ok());
    let values = style(name)
        .unwrap()
        .keys()
        .iter()
        .map(|key| {
            let value = match (key.default, key.kind) {
                (KeyDefault::Worked(_, work), _) => work(&given),
                (KeyDefault::Written(w), KeyKind::Length(..)) => NockValue::Length(number(w).unwrap() * 1e-3),
                (KeyDefault::Written(w), KeyKind::Angle(..)) => NockValue::Angle(number(w).unwrap().to_radians()),
                (KeyDefault::Written(w), KeyKind::Number(..)) => NockValue::Number(number(w).unwrap()),
                (KeyDefault::Written(w), KeyKind::Choice(_)) => NockValue::Choice(w.to_owned()),
            };
            let value = match (set.iter().find(|(k, _)| *k == key.name), key.kind) {
                (Some((_, v)), KeyKind::Angle(..)) => NockValue::Angle(*v),
                (Some((_, v)), _) => NockValue::Length(*v),
                (None, _) => value,
            };
            (key.name, value)
        })
        .collect();
    NockChoice { style: name, values }
}

fn nock(name: &'static str, set: &[(&str, f64)]) -> Nock {
    style(name).unwrap().nock(&limb_end(), &choice(name, set), &STRING, &swing()).unwrap()
}

fn steps(from: f64, to: f64, n: usize) -> Vec<DrawStep> {
    (0..=n)
        .map(|i| {
            let f = i as f64 / n as f64;
            DrawStep {
                draw: 0.16 + 0.5 * f,
                angle: (from + (to - from) * f).to_radians(),
                pull: 290.0 - 160.0 * f + 150.0 * f * f,
            }
        })
        .collect()
}

fn draw(nock: &Nock, steps: &[DrawStep], side_points: usize) -> Run {
    let settings = Settings { side_points, ..Settings::default() };
    let mut hung = Loop::new(&nock.solid, STRING.diameter, STRING.loop_length, settings);
    let start = hung.hang(steps[0].direction(), |theta| nock.line(theta)).unwrap();
    run(&mut hung, &start, steps, nock.seat_offset)
}

fn biggest(run: &Run) -> f64 {
    run.clicks.iter().map(|c| c.size.abs()).fold(0.0, f64::max)
}

fn round(radius: f64, taper: f64) -> LimbEnd {
    LimbEnd::straight(SectionForm::Ellipse, [2.0 * radius, -2.0 * taper], [2.0 * radius, -2.0 * taper])
}

fn length(line: &[[f64; 3]]) -> f64 {
    line.windows(2).map(|p| (0..3).map(|k| (p[1][k] - p[0][k]).powi(2)).sum::<f64>().sqrt()).sum()
}

fn near(found: f64, exact: f64, relative: f64) {
    assert!((found / exact - 1.0).abs() < relative, "{found} is not {exact}");
}

#[test]
fn helix_on_a_cylinder() {
    // R = 6 mm, path at 60 deg to the axis: half a turn is 21.76559237 mm long and advances 10.88279619 mm; normal curvature 0.125 / mm.
    let r = 1.6e-3;
    let solid = TipSolid::bare(round(6e-3 - r, 0.0), f64::INFINITY, 1.0);
    let (from, to) = (Place { a: 0.0, theta: 0.0 }, Place { a: 10.88279619e-3, theta: PI });
    let mut errors = Vec::new();
    for n in [25, 50, 100, 200] {
        let line = taut_between(&solid, r, from, to, n).unwrap();
        errors.push((length(&line) / 21.76559237e-3 - 1.0).abs());
        if n == 200 {
            near(line[100][0], 0.5 * 10.88279619e-3, 1e-8);
            let d = |i: usize, k: usize| line[i + 1][k] - line[i][k];
            let l = |i: usize| (0..3).map(|k| d(i, k).powi(2)).sum::<f64>().sqrt();
            let bend = (0..3).map(|k| (d(100, k) / l(100) - d(99, k) / l(99)).powi(2)).sum::<f64>().sqrt();
            near(bend / l(100), 125.0, 1e-4);
        }
    }
    assert!(errors[3] < 1e-4, "{errors:?}");
    assert!(errors.windows(2).all(|e| e[0] / e[1] > 3.8), "second order: {errors:?}");
}

#[test]
fn elliptic_cylinder() {
    // Half axes 6 and 4 mm: perimeter 31.7308791786 mm; rolled on by r its perimeter grows by 2 pi r (Steiner).
    // Half a turn with 10 mm advance is 18.75399086 mm long at r = 0.
    let limb = LimbEnd::straight(SectionForm::Ellipse, [12e-3, 0.0], [8e-3, 0.0]);
    let solid = TipSolid::bare(limb, f64::INFINITY, 1.0);
    near((0.5 * 31.7308791786e-3_f64).hypot(10e-3), 18.75399086e-3, 1e-9);
    for r in [1e-6, 0.5e-3, 1.6e-3] {
        let half = 0.5 * 31.7308791786e-3 + PI * r;
        let exact = half.hypot(10e-3);
        let line = taut_between(&solid, r, Place { a: 0.0, theta: 0.0 }, Place { a: 10e-3, theta: PI }, 240).unwrap();
        near(length(&line), exact, 1e-4);
    }
}

#[test]
fn geodesic_on_a_cone() {
    // Half angle 5 deg, from r = 6 mm heading 60 deg off the generator toward the apex. After a quarter turn r = 5.610422766 mm,
    // after half a turn r = 5.362584943 mm, 7.285687439 mm along, 19.21114442 mm of string.
    let (r, k) = (1.6e-3, 5f64.to_radians().tan());
    let solid = TipSolid::bare(round(6e-3 - r / 5f64.to_radians().cos(), k), f64::INFINITY, 1.0);
    let to = Place { a: 7.285687439e-3, theta: PI };
    let line = taut_between(&solid, r, Place { a: 0.0, theta: 0.0 }, to, 240).unwrap();
    near(length(&line), 19.21114442e-3, 1e-4);
    let quarter = line[120];
    near(quarter[1].hypot(quarter[2]), 5.610422766e-3, 1e-4);
    near(quarter[0], 4.452888164e-3, 1e-4);
    near(line[240][1].hypot(line[240][2]), 5.362584943e-3, 1e-4);
}

#[test]
fn rope_round_a_post() {
    // A loop round a post, pulled square: it wraps pi + 2 asin(R / D), and grips by exp(mu x angle); mu 0.15, half a turn: 1.6020.
    assert!(((0.15 * PI).exp() - 1.6020).abs() < 5e-5);
    let solid = TipSolid::bare(round(6e-3 - 1.6e-3, 0.0), f64::INFINITY, 1.0);
    let mut hung = Loop::new(&solid, 3.2e-3, 63.5e-3, Settings { side_points: 200, ..Settings::default() });
    let u = [0.0, 0.0, -1.0];
    let mut rest = hung.hang(u, |_| 0.0).unwrap();
    hung.settle(&mut rest, u).unwrap();
    let figures = Figures::of(&hung, &rest, u, 280.0, 6e-3);
    // Legs: 127 mm = 2 sqrt(D^2 - R^2) + R (pi + 2 asin(R/D)).
    let (mut low, mut high) = (7e-3_f64, 0.1_f64);
    for _ in 0..80 {
        let d = 0.5 * (low + high);
        let all = 2.0 * (d * d - 36e-6).sqrt() + 6e-3 * (PI + 2.0 * (6e-3 / d).asin());
        if all < 127e-3 { low = d } else { high = d }
    }
    near(-figures.throat[2], low, 1e-5);
    near(figures.wrapped, PI + 2.0 * (6e-3 / low).asin(), 1e-4);
    near(figures.grip(0.15), (0.15 * (PI + 2.0 * (6e-3 / low).asin())).exp(), 1e-4);
    near(figures.leg, 280.0 / (2.0 * (1.0 - (6e-3 / low).powi(2)).sqrt()), 1e-5);
}

#[test]
fn blended_grooves_neither_click_nor_pinch() {
    for name in ["back overlay", "horn nock"] {
        let nock = nock(name, &[]);
        // From the least to the greatest angle that the nock is to serve, and back.
        let there = steps(20.5, 77.0, 60);
        let up = draw(&nock, &there, 60);
        assert!(up.leaves.is_none() && up.steps.len() == 61, "{name}: {:?}", up.leaves);
        assert!(biggest(&up) < 0.02e-3, "{name}: {:?}", up.clicks);
        assert!(up.figures.iter().all(|f| !f.is_pinched()), "{name}");
        let back: Vec<DrawStep> = there.iter().rev().copied().collect();
        let settings = Settings::default();
        let mut hung = Loop::new(&nock.solid, STRING.diameter, STRING.loop_length, settings);
        let down = run(&mut hung, up.rests.last().unwrap(), &back, nock.seat_offset);
        assert!(down.leaves.is_none() && biggest(&down) < 0.02e-3, "{name}: {:?}", down.clicks);
        // Reach: its second difference changes little from step to step.
        let reach: Vec<f64> = up.figures.iter().map(|f| f.reach).collect();
        let second: Vec<f64> = reach.windows(3).map(|w| w[0] - 2.0 * w[1] + w[2]).collect();
        let third = second.windows(2).map(|w| (w[1] - w[0]).abs()).fold(0.0, f64::max);
        assert!(second.iter().all(|d| d.abs() < 0.02e-3) && third < 0.01e-3, "{name}: {third}");
        // The pull does no work on a loop of fixed length that always rests: energy law, against the throat's whole way.
        let (mut work, mut way) = (0.0, 0.0);
        for (s, f) in up.steps.windows(2).zip(up.figures.windows(2)) {
            let d: Vec<f64> = (0..3).map(|k| f[1].throat[k] - f[0].throat[k]).collect();
            let (u, v) = (s[0].direction(), s[1].direction());
            work += (0..3).map(|k| 0.5 * (u[k] + v[k]) * d[k]).sum::<f64>();
            way += d.iter().map(|d| d * d).sum::<f64>().sqrt();
        }
        assert!(way > 0.03 && work.abs() < 1e-4 * way, "{name}: {work} over {way}");
        // At brace it is the wall that holds it, not friction.
        assert!(!up.figures[0].friction_holds(STRING.friction) && up.figures[0].most_sideways > 0.5, "{name}");
        assert!(up.figures[0].held > 100.0 && up.figures[0].held > 2.0 * up.figures[60].held, "{name}");
    }
}

#[test]
fn work_is_tension_times_length_let_out() {
    // Letting out loop at a fixed pull: the throat's way along the pull x pull = leg tension x length let out.
    let nock = nock("horn nock", &[]);
    let step = steps(40.0, 40.0, 1)[0];
    let at = |half: f64| {
        let mut hung = Loop::new(&nock.solid, STRING.diameter, half, Settings::default());
        let mut rest = hung.hang(step.direction(), |t| nock.line(t)).unwrap();
        hung.settle(&mut rest, step.direction()).unwrap();
        (Figures::of(&hung, &rest, step.direction(), step.pull, nock.seat_offset).along_pull, rest.leg)
    };
    let (short, mid, long) = (at(63e-3), at(63.5e-3), at(64e-3));
    near(long.0 - short.0, mid.1 * 2e-3, 1e-4);
}

#[test]
fn straight_groove_clicks_where_it_clicks() {
    let nock = nock("straight groove", &[]);
    let worst = |points: usize| {
        let run = draw(&nock, &steps(22.0, 75.0, 60), points);
        run.clicks.iter().copied().fold(None, |m: Option<nockwright::string::path::Click>, c| match m {
            Some(b) if b.size >= c.size => Some(b),
            _ => Some(c),
        })
    };
    let (coarse, fine) = (worst(60).unwrap(), worst(120).unwrap());
    assert!(coarse.size > 0.1e-3 && fine.size > 0.1e-3, "{coarse:?} {fine:?}");
    near(coarse.at.draw, fine.at.draw, 0.02);
    near(coarse.energy, coarse.size * coarse.at.pull, 1e-12);
}

#[test]
fn a_grooved_tips_slopes_are_those_of_its_radius() {
    for name in ["back overlay", "horn nock"] {
        let tip = nock(name, &[]).solid;
        // Where two parts of the groove meet the second derivative may leap, so a few places differ; slopes are nowhere wrong.
        let h = 1e-7;
        for i in 0..60 {
            for k in 0..60 {
                let (a, theta) = (-14e-3 + 0.35e-3 * f64::from(i), 1.7 * f64::from(k) / 60.0 + 1e-3);
                let j: Jet = tip.radius(Jet::first(a), Jet::second(theta));
                let f = |a: f64, t: f64| -> f64 { tip.radius(a, t) };
                let along = (f(a + h, theta) - f(a - h, theta)) / (2.0 * h);
                let around = (f(a, theta + h) - f(a, theta - h)) / (2.0 * h);
                assert!((j.v - f(a, theta)).abs() < 1e-15, "{name} {a} {theta}");
                assert!((j.x - along).abs() < 2e-3, "{name} {a} {theta}: {} {along}", j.x);
                assert!((j.y - around).abs() < 2e-5, "{name} {a} {theta}: {} {around}", j.y);
            }
        }
    }
}

#[test]
fn a_fan_too_narrow_is_caught() {
    for name in ["back overlay", "horn nock"] {
        // The margin of 6 deg and 10 deg more are missing.
        let narrow = nock(name, &[("fan_margin", -10f64.to_radians())]);
        let run = draw(&narrow, &steps(22.0, 75.0, 30), 60);
        assert!(run.figures.last().unwrap().is_pinched(), "{name}: {}", run.figures.last().unwrap().pinched);
        assert!(!run.figures[0].is_pinched(), "{name}");
    }
}

#[test]
fn a_wall_of_half_the_string_is_caught() {
    for name in ["back overlay", "horn nock"] {
        let good = draw(&nock(name, &[]), &steps(22.0, 75.0, 30), 60);
        let sharpest = |r: &Run| r.figures.iter().map(|f| f.sharpest).fold(1.0, f64::min);
        assert!(sharpest(&good) > 1.2 * STRING.diameter, "{name}: {}", sharpest(&good));
        // One stroke square across, one along the brace angle, and a corner of half the string's diameter between them.
        let tight = nock(name, &[]).roughed(1, 0.5 * STRING.diameter).unwrap();
        let bad = draw(&tight, &steps(22.0, 75.0, 30), 60);
        assert!(bad.leaves.is_some() || sharpest(&bad) < 0.75 * sharpest(&good), "{name}: {}", sharpest(&bad));
    }
}

#[test]
fn more_file_passes_come_nearer_to_the_blended_wall() {
    let smooth = nock("horn nock", &[]);
    let there = steps(22.0, 75.0, 30);
    let reference = draw(&smooth, &there, 60);
    let off = |strokes: usize| {
        let rough = draw(&smooth.roughed(strokes, 0.4e-3).unwrap(), &there, 60);
        assert!(rough.leaves.is_none(), "{strokes}: {:?}", rough.leaves);
        rough.figures.iter().zip(&reference.figures).map(|(r, s)| (r.reach - s.reach).abs()).fold(0.0, f64::max)
    };
    let (three, six, twelve) = (off(3), off(6), off(12));
    assert!(six < 0.5 * three && twelve < 0.6 * six && twelve < 0.05e-3, "{three} {six} {twelve}");
}

#[test]
fn too_shallow_a_groove_is_refused_and_lets_the_loop_down_the_limb() {
    let choice = choice("back overlay", &[("groove_depth", 0.4e-3)]);
    let refused = style("back overlay").unwrap().nock(&limb_end(), &choice, &STRING, &swing()).unwrap_err();
    assert_eq!(refused[0].key, "nock.groove_depth");
    // Cut all the same, it does what the refusal says.
    let mut nock = nock("back overlay", &[]);
    if let Some(Cut::Laid(groove)) = nock.solid.cuts.first_mut() {
        groove.wish.depth = 0.4e-3;
    }
    let run = draw(&nock, &steps(22.0, 75.0, 30), 60);
    assert!(
        matches!(run.leaves, Some(l) if l.how == nockwright::string::path::Unrest::DownTheLimb),
        "{:?}",
        run.leaves
    );
}

#[test]
fn equal_sides_rest_equally_and_runs_repeat_to_the_bit() {
    let nock = nock("horn nock", &[]);
    let there = steps(22.0, 75.0, 10);
    let (one, two) = (draw(&nock, &there, 60), draw(&nock, &there, 60));
    assert_eq!(one, two);
    for rest in &one.rests {
        let n = rest.a.len();
        assert!((0..n).all(|i| (rest.a[i] - rest.a[n - 1 - i]).abs() < 1e-7), "lopsided");
        assert!(rest.throat[2].abs() < 1e-7);
    }
}

#[test]
fn one_groove_on_one_side_hangs_askew() {
    let mut nock = nock("straight groove", &[]);
    nock.solid.cuts.retain(|c| !matches!(c, Cut::Pass(p) if p.through[1] < 0.0));
    assert!(!nock.solid.symmetric());
    let run = draw(&nock, &steps(22.0, 30.0, 4), 60);
    assert!(run.leaves.is_some() || run.rests.iter().any(|r| r.throat[2].abs() > 1e-5), "{:?}", run.leaves);
}

#[test]
fn a_hung_loop_comes_to_the_same_rest_with_any_number_of_points() {
    for name in ["back overlay", "back overlay with side grooves", "side grooves", "horn nock", "pin nock"] {
        let nock = nock(name, &[]);
        for least in [20.5, 21.5, 23.0, 25.0] {
            let first = steps(least, 77.0, 1)[0];
            let reach = |side_points: usize| {
                let run = draw(&nock, &[first], side_points);
                assert!(run.leaves.is_none(), "{name} at {least} deg, {side_points} points: {:?}", run.leaves);
                run.figures[0].reach
            };
            let finest = reach(240);
            for side_points in [40, 50, 60, 70, 80, 90, 120] {
                let apart = reach(side_points) - finest;
                assert!(apart.abs() < 0.02e-3, "{name} at {least} deg, {side_points} points: {apart}");
            }
        }
    }
}

mod random {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]
        /// Whatever the tip, loop and groove: an answer or a named reason, no panic, no hang.
        #[test]
        fn every_tip_gets_an_answer(
            which in 0usize..3, width in 6e-3..40e-3_f64, thickness in 5e-3..30e-3_f64, taper in -0.1..0.2_f64, form in 0usize..5,
            diameter in 1.5e-3..6e-3_f64, half in 10e-3..150e-3_f64, brace in 8.0..60.0_f64, sweep in 5.0..110.0_f64,
            depth in 0.3e-3..4e-3_f64, wall in 1e-3..20e-3_f64,
        ) {
            let form = [
                SectionForm::Rectangle, SectionForm::RoundedRectangle { corner: 2e-3 }, SectionForm::Ellipse, SectionForm::D,
                SectionForm::Trapezoid { belly: 0.7 },
            ][form];
            let end = LimbEnd::straight(form, [width, -taper], [thickness, -0.2 * taper]);
            let string = BowString { diameter, loop_length: half, friction: 0.15, stiffness: None };
            let r = f64::to_radians;
            let swing = Swing {
                brace: r(brace), full_draw: r(brace + sweep), least: r(brace - 1.0), greatest: r(brace + sweep + 1.0),
                pull_at_brace: 300.0, pull_at_full_draw: 280.0, greatest_pull: 300.0, lies_to: 0.0,
            };
            let name = ["back overlay", "horn nock", "straight groove"][which];
            let style = style(name).unwrap();
            let mut choice = choice(name, &[("groove_depth", depth), ("wall_radius", wall)]);
            for (key, value) in &mut choice.values {
                if *key == "overlay_thickness" { *value = NockValue::Length(0.6 * width) }
                if *key == "seat_diameter" { *value = NockValue::Length(width.max(thickness)) }
                if *key == "end_diameter" { *value = NockValue::Length(0.6 * width.max(thickness)) }
            }
            if let Ok(nock) = style.nock(&end, &choice, &string, &swing) {
                let settings = Settings { side_points: 24, most_steps: 120 };
                let mut hung = Loop::new(&nock.solid, diameter, half, settings);
                let there = steps(brace, brace + sweep, 6);
                if let Ok(start) = hung.hang(there[0].direction(), |t| nock.line(t)) {
                    let run = run(&mut hung, &start, &there, nock.seat_offset);
                    prop_assert!(run.leaves.is_some() || run.steps.len() == 7);
                    prop_assert!(run.figures.iter().all(|f| f.reach.is_finite() && f.leg > 0.0));
                }
            }
        }
    }
}
