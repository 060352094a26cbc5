//! A string lying on a recurved limb end against answers that are exact.

#![allow(clippy::unwrap_used)]

use nockwright::bow::bracing::{RestingBow, brace};
use nockwright::bow::draw_curve::draw_bow;
use nockwright::bow::limb::RestingLimb;
use nockwright::bow::lying::Recurved;
use nockwright::design::{Both, Bracing, DrawTo, Side};

/// Radius of the unstrung arc, belly distance, seat offset, legs, string diameter, m; and `d`.
const R: f64 = 0.15;
const BELLY: f64 = 0.006;
const OFFSET: f64 = 0.009;
const LEGS: f64 = 0.05;
const STRING: f64 = 0.003;
const D: f64 = BELLY + 0.5 * STRING;
const LENGTH: f64 = 0.3;

fn arc(stiffness: f64) -> RestingLimb {
    let mut limb = RestingLimb::from_functions(LENGTH, 60, |_| stiffness, |_| -1.0 / R);
    limb.belly.fill(BELLY);
    limb.seat_offset = OFFSET;
    limb
}

fn near(found: f64, wanted: f64, what: &str) {
    assert!((found - wanted).abs() < 1e-8 * wanted.abs().max(1.0), "{what}: {found} not {wanted}");
}

/// A rigid arc of radius `R` bent to the back. About its centre the seat stands at `R - o` and the lying string at `R + d`, so
/// the triangle of centre, seat and throat gives the throat's place by the law of cosines, and the strand lies along a circle.
#[test]
fn a_rigid_arc_is_plane_geometry() {
    let limb = arc(1e12);
    let (pull, course) = (300.0, -0.9);
    let recurved = Recurved::new(&limb, LEGS, STRING);
    let (_, lying) = recurved.bent(pull, course).unwrap();
    let (inner, outer) = (R - OFFSET, R + D);
    let round = ((inner * inner + outer * outer - LEGS * LEGS) / (2.0 * inner * outer)).acos();
    near(lying.throat, LENGTH - R * round, "throat");
    let throat = [outer * round.cos() - R, -outer * round.sin()];
    let alpha = (throat[0] + OFFSET).atan2(-throat[1]);
    near(lying.leg_angle, alpha, "legs' angle");
    near(lying.leg_pull, pull / (alpha + round).cos(), "legs' pull");
    assert!(lying.lift_off < lying.throat - 0.01);
    near(lying.used, LEGS + outer / R * (lying.throat - lying.lift_off), "string used");
    near(lying.strand_angle, -(LENGTH - lying.lift_off) / R, "strand's angle");
    // In the handle's frame the arc starts at the origin, upright: its centre stands at (-R, 0).
    let nock = recurved.nock(pull, course).unwrap();
    let turned = lying.lift_off / R;
    near(nock.seat[0], outer * turned.cos() - R, "x");
    near(nock.seat[1], outer * turned.sin(), "y");
    near(nock.string[0], turned.sin(), "along x");
    near(nock.string[1], -turned.cos(), "along y");
}

/// A uniform rod under a lying string carries `M = T d` all along, since a string pulls along its own line: it is bent to
/// another arc, of curvature `-1/R + T d / EI`, and stores `M^2 / 2 EI` on each length.
#[test]
fn a_uniform_rod_under_a_lying_string_is_an_arc() {
    let (stiffness, pull, course) = (10.0, 400.0, -0.7);
    let limb = arc(stiffness);
    let (bent, lying) = Recurved::new(&limb, LEGS, STRING).bent(pull, course).unwrap();
    let curvature = -1.0 / R + pull * D / stiffness;
    let under: Vec<usize> =
        (0..bent.s.len()).filter(|&k| bent.s[k] < lying.throat && bent.s[k] > lying.lift_off).collect();
    assert!(under.len() > 5);
    for pair in under.windows(2) {
        let [a, b] = [pair[0], pair[1]];
        near(bent.angle[b] - bent.angle[a], curvature * (bent.s[b] - bent.s[a]), "turn");
        near(bent.moment[a], pull * D, "moment");
    }
    near(lying.used, LEGS + (1.0 - curvature * D) * (lying.throat - lying.lift_off), "string used");
}

/// Rigid arcs at the ends of a bow whose inner limbs are straight, uniform and flexible. Braced, the string is parallel to the
/// handle, so it leaves where the arc stands upright; the inner limb, `phi` its angle to the string, obeys the first
/// integral of the elastica, `M^2 / 2 EI - T cos phi` the same everywhere (A. E. H. Love, Mathematical Theory of Elasticity,
/// chapter 19: the pendulum's energy).
#[test]
fn rigid_recurves_on_flexible_limbs_keep_the_elastica_s_integral() {
    let (joint, stiffness) = (0.5, 25.0);
    let inner = RestingLimb::from_functions(joint, 60, |_| stiffness, |_| 0.0);
    let outer = arc(1e12);
    // A step too short to bend stands between what bends and what does not.
    let mut limb = inner.clone();
    limb.s.extend([joint + 1e-10].into_iter().chain(outer.s.iter().map(|s| s + joint + 2e-10)));
    limb.stiffness.extend([1e12].into_iter().chain(outer.stiffness.iter().copied()));
    limb.curvature.extend([0.0].into_iter().chain(outer.curvature.iter().copied()));
    limb.belly = vec![BELLY; limb.s.len()];
    (limb.seat_offset, limb.root) = (OFFSET, [0.0, 0.1]);
    let bow = RestingBow {
        limbs: Both { upper: limb.clone(), lower: limb },
        pivot: 0.0,
        nocking_point: 0.0,
        arrow_pass: [0.0, 0.0],
        string_stiffness: None,
        loop_length: LEGS,
        string_diameter: STRING,
        lies: true,
    };
    let height = 0.2;
    let braced = brace(&bow, Bracing::Height(height)).unwrap();
    let cycle = draw_bow(&bow, &braced, DrawTo::Pivot, 0.3, 4).unwrap();
    let limb = &cycle.at_brace().limbs.upper;
    let lying = limb.lying.as_ref().unwrap();
    assert!(lying.lift_off < lying.throat - 0.01 && lying.lift_off > joint + 0.01, "{lying:?}");
    let phi = (lying.lift_off - joint) / R;
    let lever = R * (1.0 - phi.cos()) + D;
    near(braced.pull * (height * height - lever * lever) / (2.0 * stiffness), 1.0 - phi.cos(), "first integral");
    near(limb.bent.moment[0], braced.pull * height, "root's moment");
    let on_arc = (R + D) / R * (lying.throat - lying.lift_off);
    near(braced.string_length, 2.0 * (LEGS + on_arc + limb.leaves[1]), "string's length");
    near(limb.leaves[0], height, "string's distance");
    assert!(cycle.at_full_draw().limbs.get(Side::Upper).lies_from_nock() < limb.lies_from_nock());
}
