//! What a change on the bench page costs: the statics with the nocks, which come first, and the loop, which follows.

use divan::Bencher;
use nockwright::design::Design;
use nockwright::design::file::read;
use nockwright::samples::{SAMPLE, SAMPLE_NAME};
use nockwright::worked::{Statics, loops, nocks};

fn main() {
    divan::main();
}

fn design() -> Design {
    read(SAMPLE, SAMPLE_NAME).map(|r| r.design).unwrap_or_else(|refusal| panic!("{refusal}"))
}

#[divan::bench]
fn read_design(bencher: Bencher) {
    bencher.bench(design);
}

#[divan::bench]
fn statics(bencher: Bencher) {
    let design = design();
    bencher.bench(|| Statics::of(&design, 40).ok());
}

#[divan::bench]
fn nocks_alone(bencher: Bencher) {
    let design = design();
    let Ok(statics) = Statics::of(&design, 40) else { return };
    bencher.bench(|| nocks(&design, &statics).ok());
}

#[divan::bench]
fn girth(bencher: Bencher) {
    let design = design();
    let Ok(statics) = Statics::of(&design, 40) else { return };
    let Ok(nocks) = nocks(&design, &statics) else { return };
    bencher.bench(|| nockwright::groove::Girth::of(&nocks.upper.solid));
}

#[divan::bench]
fn volume(bencher: Bencher) {
    let design = design();
    let Ok(statics) = Statics::of(&design, 40) else { return };
    let Ok(nocks) = nocks(&design, &statics) else { return };
    let nock = &nocks.upper;
    bencher.bench(|| nock.solid.volume(nock.from, nock.solid.end));
}

#[divan::bench(sample_count = 5)]
fn loop_followed(bencher: Bencher) {
    let design = design();
    let Ok(statics) = Statics::of(&design, 40) else { return };
    let Ok(nocks) = nocks(&design, &statics) else { return };
    bencher.bench(|| loops(&design, &statics, &nocks));
}

/// All that the server does for a change, text in and JSON out.
#[divan::bench]
fn first_answer(bencher: Bencher) {
    bencher.bench(|| nockwright::page::first_answer(SAMPLE));
}
