//! Speed of the bow statics: one limb, bracing, a whole draw; and how they grow with nodes and steps.
//!
//! `cargo bench --bench statics`

use nockwright::bow::bracing::{RestingBow, brace};
use nockwright::bow::draw_curve::cycle;
use nockwright::bow::elastica::{bent_limb, nock_state, nock_states};
use nockwright::design::file::read;
use nockwright::design::{Both, Design};
use nockwright::samples::SAMPLE;

const OFFSETS: Both<f64> = Both { upper: 0.006, lower: 0.006 };

fn sample() -> Design {
    read(SAMPLE, "sample").expect("the built-in sample reads").design
}

fn main() {
    divan::main();
}

#[divan::bench(args = [24, 48, 96, 192])]
fn one_limb(bencher: divan::Bencher, nodes: usize) {
    let bow = RestingBow::of(&sample(), OFFSETS, nodes);
    bencher.bench(|| nock_state(&bow.limbs.upper, divan::black_box(250.0), 0.4));
}

#[divan::bench(args = [24, 48, 96, 192])]
fn both_limbs(bencher: divan::Bencher, nodes: usize) {
    let bow = RestingBow::of(&sample(), OFFSETS, nodes);
    let limbs = Both::build(|side| bow.limbs.get(side));
    let (pull, angle) = (Both { upper: 250.0, lower: 250.0 }, Both { upper: 0.4, lower: 0.41 });
    bencher.bench(|| nock_states(limbs, divan::black_box(pull), angle));
}

#[divan::bench(args = [24, 48, 96, 192])]
fn one_bent(bencher: divan::Bencher, nodes: usize) {
    let bow = RestingBow::of(&sample(), OFFSETS, nodes);
    bencher.bench(|| bent_limb(&bow.limbs.upper, divan::black_box(250.0), 0.4));
}

#[divan::bench(args = [24, 48, 96, 192])]
fn bracing(bencher: divan::Bencher, nodes: usize) {
    let design = sample();
    let bow = RestingBow::of(&design, OFFSETS, nodes);
    bencher.bench(|| brace(&bow, design.bow.bracing).expect("the sample braces"));
}

#[divan::bench(args = [10, 20, 40, 80])]
fn whole_draw_by_steps(bencher: divan::Bencher, steps: usize) {
    let design = sample();
    bencher.bench(|| cycle(&design, OFFSETS, 48, steps).expect("the sample draws"));
}
