//! The string on the tip: one state, and a whole draw of 60 steps.

use nockwright::design::{Both, NockChoice, Side, file::read};
use nockwright::nock::{Nock, style};
use nockwright::samples::{SAMPLE, SAMPLE_NAME};
use nockwright::string::path::{DrawStep, Loop, Rest, Settings, run};
use nockwright::string::sweep::Swing;
use nockwright::tip::LimbEnd;

fn main() {
    divan::main();
}

fn sample() -> (Nock, f64, f64) {
    let Ok(reading) = read(SAMPLE, SAMPLE_NAME) else { panic!("the sample reads") };
    let design = reading.design;
    let end = LimbEnd::of(design.limbs.get(Side::Upper));
    let nocks: &Both<NockChoice> = &design.nocks;
    let choice = nocks.get(Side::Upper);
    let r = f64::to_radians;
    let swing = Swing {
        brace: r(22.0),
        full_draw: r(75.0),
        least: r(21.0),
        greatest: r(76.0),
        pull_at_brace: 290.0,
        pull_at_full_draw: 280.0,
        greatest_pull: 290.0,
        lies_to: 0.0,
    };
    let made = style(choice.style).map(|s| s.nock(&end, choice, &design.string, &swing));
    let Some(Ok(nock)) = made else { panic!("the sample's nock is made") };
    (nock, design.string.diameter, design.string.loop_length)
}

fn steps(n: usize) -> Vec<DrawStep> {
    (0..n)
        .map(|i| {
            let f = i as f64 / (n - 1) as f64;
            DrawStep {
                draw: 0.16 + 0.5 * f,
                angle: (22.0 + 53.0 * f).to_radians(),
                pull: 290.0 - 160.0 * f + 150.0 * f * f,
            }
        })
        .collect()
}

/// A new loop on a new tip through 60 steps, everything worked out anew.
#[divan::bench]
fn whole_draw(bencher: divan::Bencher) {
    let (nock, diameter, half) = sample();
    let steps = steps(60);
    bencher.bench(|| {
        let mut hung = Loop::new(&nock.solid, diameter, half, Settings::default());
        let Ok(start) = hung.hang(steps[0].direction(), |t| nock.line(t)) else { panic!("hangs") };
        run(&mut hung, &start, &steps, nock.seat_offset).steps.len()
    });
}

/// One state from its neighbour, the surface known.
#[divan::bench]
fn one_state(bencher: divan::Bencher) {
    let (nock, diameter, half) = sample();
    let steps = steps(60);
    let mut hung = Loop::new(&nock.solid, diameter, half, Settings::default());
    let Ok(mut start) = hung.hang(steps[0].direction(), |t| nock.line(t)) else { panic!("hangs") };
    assert!(hung.settle(&mut start, steps[0].direction()).is_ok());
    bencher.bench_local(|| {
        let mut rest: Rest = start.clone();
        assert!(hung.settle(&mut rest, steps[1].direction()).is_ok());
        rest.leg
    });
}

/// Making the nock itself: girth, wall, groove, volumes.
#[divan::bench]
fn make_the_nock() -> f64 {
    sample().0.seat_offset
}
