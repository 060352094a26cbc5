//! Derivatives against differences, and no gap where one stretch of the course joins the next.

use super::*;

/// A tapered limb with a round recurve.
fn limb() -> RestingLimb {
    let bend = |s: f64| if s < 0.4 { 0.0 } else { -40.0 * (s - 0.4) };
    let mut limb = RestingLimb::from_functions(0.6, 48, |s| 30.0 - 35.0 * s, bend);
    limb.belly = limb.s.iter().map(|s| 0.008 - 0.004 * s - 0.003 * s * s).collect();
    limb.seat_offset = 0.009;
    limb
}

fn flat(state: &NockState) -> [f64; 5] {
    [state.seat[0], state.seat[1], state.string[0], state.string[1], state.used]
}

#[test]
fn derivatives_are_those_of_the_values() {
    let limb = limb();
    let recurved = Recurved::new(&limb, 0.06, 0.003);
    let mut seen = [false; 3];
    for (pull, course) in [(250.0, 0.5), (250.0, 0.1), (400.0, -0.05), (250.0, -0.6), (400.0, -0.9)] {
        let kind = match recurved.bent(pull, course) {
            None => 0,
            Some((_, lying)) if lying.lift_off == lying.throat => 1,
            Some(_) => 2,
        };
        seen[kind] = true;
        let at = |pull: f64, course: f64| flat(&recurved.nock(pull, course).unwrap());
        let here = recurved.nock(pull, course).unwrap();
        for (k, [dp, dc]) in [[1e-2, 0.0], [0.0, 1e-5]].into_iter().enumerate() {
            let (after, before) = (at(pull + dp, course + dc), at(pull - dp, course - dc));
            let told =
                [here.seat_by[k][0], here.seat_by[k][1], here.string_by[k][0], here.string_by[k][1], here.used_by[k]];
            for i in 0..5 {
                let found = (after[i] - before[i]) / (2.0 * (dp + dc));
                let size = told[i].abs().max(if k == 0 { 1e-5 } else { 1e-2 });
                assert!((found - told[i]).abs() < 2e-5 * size, "{pull} N, {course} rad, {k} {i}: {found} {}", told[i]);
            }
        }
    }
    assert_eq!(seen, [true; 3]);
}

#[test]
fn the_course_runs_through_without_a_gap() {
    let limb = limb();
    let recurved = Recurved::new(&limb, 0.06, 0.003);
    // Whatever has been used of the string, laid out again along its free part, starts where the seat did.
    let start = |course: f64| {
        let nock = recurved.nock(300.0, course).unwrap();
        let [x, y] = nock.string;
        [nock.seat[0] - nock.used * x, nock.seat[1] - nock.used * y, x, y]
    };
    let starts: Vec<[f64; 4]> = (0..4000).map(|i| start(0.6 - f64::from(i) * 4e-4)).collect();
    for pair in starts.windows(2) {
        for (before, after) in pair[0].iter().zip(&pair[1]) {
            assert!((after - before).abs() < 1e-3, "{:?} {:?}", pair[0], pair[1]);
        }
    }
}
