//! Bow statics against answers from outside the program.

use nockwright::bow::bracing::{RestingBow, brace};
use nockwright::bow::draw_curve::draw_bow;
use nockwright::bow::elastica::{bent_limb, nock_state};
use nockwright::bow::limb::RestingLimb;
use nockwright::design::{Both, Bracing, DrawTo};

fn rows(csv: &str) -> Vec<Vec<&str>> {
    csv.lines().filter(|l| !l.starts_with('#')).skip(1).map(|l| l.split(',').collect()).collect()
}

/// Uniform cantilever under a dead end load, exact by elliptic integrals (K. E. Bisshopp and D. C. Drucker, Quart. Appl.
/// Math. 3 (1945); K. Mattiasson, Int. J. Numer. Methods Eng. 17 (1981)); digits in `data/elastica.csv`.
#[test]
fn cantilever_agrees_with_elliptic_integrals() {
    for row in rows(include_str!("data/elastica.csv")) {
        let [load_angle, load, x, y, turned, moment, energy] =
            <[f64; 7]>::try_from(row.iter().map(|v| v.parse().unwrap()).collect::<Vec<f64>>()).unwrap();
        let limb = RestingLimb::from_functions(1.0, 200, |_| 1.0, |_| 0.0);
        // The load keeps its direction: its angle to the tip is what is left after the tip has turned.
        let still = std::f64::consts::PI - load_angle.to_radians();
        let (mut low, mut high) = (still, still + 3.0);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if middle - nock_state(&limb, load, middle).tip_angle < still { low = middle } else { high = middle }
        }
        let bent = bent_limb(&limb, load, 0.5 * (low + high));
        let tip = bent.s.len() - 1;
        // The file's beam lies along x and bends toward y.
        for (what, found, wanted) in [
            ("x", bent.y[tip], x),
            ("y", bent.x[tip], y),
            ("angle", bent.angle[tip], turned),
            ("moment", bent.moment[0], moment),
            ("energy", bent.energy, energy),
        ] {
            assert!((found - wanted).abs() < 1e-6, "{load_angle} deg, load {load}: {what} {found} not {wanted}");
        }
    }
}

/// An end moment alone bends a uniform rod to a circular arc: with the pull along a lever so long that it stands for a
/// moment, the tip turns by `M L / EI`.
#[test]
fn end_moment_bends_to_an_arc() {
    let mut limb = RestingLimb::from_functions(1.0, 50, |_| 1.0, |_| 0.0);
    limb.seat_offset = -1e7;
    let state = nock_state(&limb, 1e-7, 0.0);
    assert!((state.tip_angle - 1.0).abs() < 1e-6);
    let bent = bent_limb(&limb, 1e-7, 0.0);
    assert!((bent.x[50] - (1.0 - 1f64.cos())).abs() < 1e-6 && (bent.y[50] - 1f64.sin()).abs() < 1e-6);
}

fn straight_bow(stiffness: impl Fn(f64) -> f64, steps: usize) -> RestingBow {
    let mut limb = RestingLimb::from_functions(32.0, steps, stiffness, |_| 0.0);
    limb.root = [0.0, 4.0];
    RestingBow {
        limbs: Both { upper: limb.clone(), lower: limb },
        pivot: 0.0,
        nocking_point: 0.0,
        arrow_pass: [0.0, 0.0],
        string_stiffness: None,
        loop_length: 2.0,
        string_diameter: 0.1,
        lies: false,
    }
}

/// Straight bow of half length 36 with a stiff half handle of 4, stiffness falling linearly to nothing at the tip, draw 28:
/// B. W. Kooi's straight bow (Ph.D. thesis, Groningen 1983, energy coefficient 0.407), here against an independent
/// integration to 1e-12 (scipy's DOP853), digits in `data/straight_bow.csv`.
#[test]
fn straight_bow_agrees_with_an_independent_integration() {
    for row in rows(include_str!("data/straight_bow.csv")) {
        let v: Vec<f64> = row[1..].iter().map(|v| v.parse().unwrap()).collect();
        // Nothing at the very tip divides by zero; a hundred-millionth of the root's stiffness stands in for it.
        let bow = straight_bow(|s| (1.0 - s / 32.0).max(1e-8), 2000);
        let braced = brace(&bow, Bracing::Height(v[0])).unwrap();
        let cycle = draw_bow(&bow, &braced, DrawTo::Pivot, 28.0, 60).unwrap();
        let full = cycle.at_full_draw();
        let near = |found: f64, wanted: f64, within: f64, what: &str| {
            assert!((found - wanted).abs() < within, "brace {}: {what} {found} not {wanted}", v[0]);
        };
        near(cycle.energy / (full.force * 28.0), v[1], 1e-4 * v[1], "energy coefficient");
        near(cycle.at_brace().limbs.upper.pull / full.force, v[2], 1e-4 * v[2], "pull at brace");
        near(full.limbs.upper.pull / full.force, v[3], 1e-4 * v[3], "pull at full draw");
        near(cycle.at_brace().limbs.upper.string_angle.to_degrees(), v[4], 0.02, "angle at brace");
        near(full.limbs.upper.string_angle.to_degrees(), v[5], 0.02, "angle at full draw");
        near(0.5 * braced.string_length / 28.0, v[6], 1e-4 * v[6], "half string");
    }
}

/// With constant stiffness the pull is largest at brace, falls through the draw and rises a little at its end
/// (ratio 1.8437 at brace: independent integration as above).
#[test]
fn constant_stiffness_pulls_hardest_at_brace() {
    let bow = straight_bow(|_| 1.0, 200);
    let braced = brace(&bow, Bracing::Height(6.0)).unwrap();
    let cycle = draw_bow(&bow, &braced, DrawTo::Pivot, 28.0, 60).unwrap();
    let pulls: Vec<f64> = cycle.states.iter().map(|s| s.limbs.upper.pull).collect();
    let least = (0..pulls.len()).min_by(|&a, &b| pulls[a].total_cmp(&pulls[b])).unwrap();
    assert!((pulls[0] / cycle.at_full_draw().force - 1.8437).abs() < 1e-4);
    assert!(pulls[1..].iter().all(|p| *p < pulls[0]));
    assert!(least > 30 && least < 60, "{least}");
}
