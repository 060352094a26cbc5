//! Sideways stability against closed forms (Timoshenko & Gere, Theory of Elastic Stability) and against rigid motion.

use std::f64::consts::PI;

use super::*;

/// Arrays of a limb, owned.
struct Owned {
    s: Vec<f64>,
    curvature: Vec<f64>,
    moment: Vec<f64>,
    normal: Vec<f64>,
    axial: Vec<f64>,
    gj: Vec<f64>,
    ei: Vec<f64>,
    restoring: f64,
    seat: f64,
}

impl Owned {
    /// Uniform stiffness, constant curvature, under a pull at its tip given by components along the tip's normal and tangent;
    /// `seat` toward the back.
    fn arc(n: usize, length: f64, curvature: f64, [normal, axial]: [f64; 2], seat: f64, gj: f64, ei: f64) -> Self {
        let s: Vec<f64> = (0..=n).map(|i| length * i as f64 / n as f64).collect();
        // Angle back from the tip; t and n of a node in the tip's own t, n.
        let back = |s: f64| curvature * (length - s);
        let components = |s: f64| {
            let (sin, cos) = back(s).sin_cos();
            // n(s) = cos n + sin t, t(s) = cos t - sin n (turning back from the tip).
            [normal * cos + axial * sin, axial * cos - normal * sin]
        };
        let moment = |s: f64| {
            // Arm from the section to the seat, in the tip's t, n: M = F_n arm_t - F_t arm_n.
            let a = back(s);
            let [along, across] =
                if curvature == 0.0 { [length - s, 0.0] } else { [a.sin() / curvature, (1.0 - a.cos()) / curvature] };
            normal * along - axial * (across - seat)
        };
        Owned {
            curvature: vec![curvature; n + 1],
            moment: s.iter().map(|&s| moment(s)).collect(),
            normal: s.iter().map(|&s| components(s)[0]).collect(),
            axial: s.iter().map(|&s| components(s)[1]).collect(),
            gj: vec![gj; n + 1],
            ei: vec![ei; n + 1],
            restoring: 0.0,
            seat,
            s,
        }
    }

    fn limb(&self) -> LimbUnderPull<'_> {
        LimbUnderPull {
            s: &self.s,
            curvature: &self.curvature,
            moment: &self.moment,
            normal_force: &self.normal,
            axial_force: &self.axial,
            gj: &self.gj,
            ei_sideways: &self.ei,
            string_restoring: self.restoring,
            seat_offset: self.seat,
        }
    }

    fn reserve(&self) -> f64 {
        sideways_reserve(&self.limb()).expect("a sound limb").factor
    }
}

#[test]
fn a_limb_stands_up_to_its_reserve_and_no_further() {
    for (curvature, pull, seat) in [(0.0, [30.0, 0.0], 0.0), (1.2, [80.0, -60.0], 0.01), (0.9, [20.0, -200.0], -0.004)]
    {
        let limb = Owned::arc(40, 0.7, curvature, pull, seat, 9.0, 60.0);
        let reserve = limb.reserve();
        assert!(reserve.is_finite() && reserve > 0.0, "{reserve}");
        assert_eq!(stands_sideways(&limb.limb(), reserve * (1.0 - 1e-6)), Ok(true));
        assert_eq!(stands_sideways(&limb.limb(), reserve * (1.0 + 1e-6)), Ok(false));
    }
}

fn close(got: f64, want: f64, relative: f64) {
    assert!((got - want).abs() <= relative * want.abs(), "got {got:.10}, want {want:.10}");
}

#[test]
fn narrow_cantilever_under_an_end_load() {
    // Least root of J_(-1/4)(x/2) = 0 by x = P L^2/sqrt(EI GJ): 4.0126 (Timoshenko & Gere, section 6.3: 4.013).
    let (gj, ei, length) = (3.0_f64, 7.0_f64, 0.8);
    let load = 4.0126 * (gj * ei).sqrt() / (length * length);
    for n in [8, 40] {
        close(Owned::arc(n, length, 0.0, [load, 0.0], 0.0, gj, ei).reserve(), 1.0, 1e-3 / n as f64);
        // The other way is no different.
        close(Owned::arc(n, length, 0.0, [-load, 0.0], 0.0, gj, ei).reserve(), 1.0, 1e-3 / n as f64);
    }
}

#[test]
fn load_above_or_below_the_centroid() {
    // The same place: P = 4.013 sqrt(EI GJ)/L^2 (1 - (a/L) sqrt(EI/GJ)) for a load a above the centroid, a small.
    let (gj, ei, length, a) = (3.0_f64, 7.0_f64, 0.8, 0.008);
    let load = 4.0126 * (gj * ei).sqrt() / (length * length);
    for side in [-1.0, 1.0] {
        // A pull toward the archer (down) hung on the back (above).
        let got = Owned::arc(40, length, 0.0, [load, 0.0], side * a, gj, ei).reserve();
        close(got, 1.0 - side * a / length * (ei / gj).sqrt(), 1e-3);
    }
}

#[test]
fn euler_column_sideways() {
    let (gj, ei, length) = (3.0, 7.0, 0.8);
    let load = PI * PI * ei / (4.0 * length * length);
    close(Owned::arc(20, length, 0.0, [0.0, -load], 0.0, gj, ei).reserve(), 1.0, 1e-5);
    // A string that holds the tip as stiffly as a wall: clamped and pinned, tan x = x, x = 4.493409.
    let mut held = Owned::arc(40, length, 0.0, [0.0, -4.493_409_458_f64.powi(2) * ei / (length * length)], 0.0, gj, ei);
    held.restoring = 1e7;
    close(held.reserve(), 1.0, 1e-4);
    // A string to a point straight under the root pulls along itself: T/l with l = L doubles the ends' difference,
    // P = pi^2 EI/L^2 (the follower that always points to the root).
    let mut along = Owned::arc(40, length, 0.0, [0.0, -4.0 * load], 0.0, gj, ei);
    along.restoring = 4.0 * load / length;
    close(along.reserve(), 1.0, 1e-5);
    // Tension holds.
    assert_eq!(Owned::arc(20, length, 0.0, [0.0, load], 0.0, gj, ei).reserve(), f64::INFINITY);
}

/// A curved bar of radius R spanning the angle a, bent in its own plane by equal couples, both ends held from moving sideways and
/// from twisting and free otherwise (Timoshenko & Gere, section 7.9):
/// M = (EI + GJ)/2R +- sqrt(((EI - GJ)/2R)^2 + EI GJ pi^2/(R a)^2).
#[test]
fn curved_bar_in_pure_bending() {
    let mut last = [f64::NAN; 2];
    for n in [4, 8, 16, 32] {
        let mut now = [0.0; 2];
        for (which, sign) in [(0, 1.0), (1, -1.0)] {
            let (gj, ei, radius, angle) = (3.0_f64, 7.0_f64, 0.6, 1.1);
            let root = (((ei - gj) / (2.0 * radius)).powi(2) + ei * gj * (PI / (radius * angle)).powi(2)).sqrt();
            let moment = (ei + gj) / (2.0 * radius) + sign * root;
            let mut arc = Owned::arc(n, radius * angle, 1.0 / radius, [0.0, 0.0], 0.0, gj, ei);
            arc.moment.fill(moment);
            let mut system = System::of(&arc.limb()).expect("sound");
            let tip = PER_NODE * n;
            system.hold(&[0, 2, tip, tip + 2]);
            now[which] = (system.reserve(n + 1).factor - 1.0).abs();
        }
        if n == 32 {
            assert!(now.iter().all(|e| *e < 1e-6), "{now:?}");
        }
        // Refinement: the error falls by near 16 for each halving.
        if last[0].is_finite() {
            assert!((0..2).all(|k| now[k] < last[k] / 10.0 || now[k] < 1e-10), "{last:?} {now:?}");
        }
        last = now;
    }
}

/// Turning the whole limb rigidly about the line of the pull costs nothing, which binds every term's sign, curvature and seat included.
#[test]
fn rigid_turning_about_the_pull_is_free() {
    let mut last = f64::INFINITY;
    for n in [5, 10, 20, 40] {
        let (length, kappa, pull, seat) = (0.8, 1.9, [30.0, -45.0], 0.012);
        let limb = Owned::arc(n, length, kappa, pull, seat, 3.0, 7.0);
        let system = System::of(&limb.limb()).expect("sound");
        let size = f64::hypot(pull[0], pull[1]);
        let (fn_, ft) = (pull[0] / size, pull[1] / size);
        // In the tip's t, n: place r(s) from the seat at -seat n, and omega along the pull.
        let state = |s: f64| {
            let a = kappa * (length - s);
            let (sin, cos) = a.sin_cos();
            let place = [-sin / kappa, (1.0 - cos) / kappa + seat];
            // v = (omega x r).b with t x n = b; psi = omega, so theta = omega.t(s) and v' = -omega.n(s).
            let v = ft * place[1] - fn_ * place[0];
            let theta = ft * cos - fn_ * sin;
            let beta = fn_ * cos + ft * sin;
            [v, -beta, theta]
        };
        let mut x = vec![0.0; PER_NODE * n + 3];
        for i in 0..=n {
            x[PER_NODE * i..PER_NODE * i + 3].copy_from_slice(&state(limb.s[i]));
            if i < n {
                x[PER_NODE * i + 3] = state(0.5 * (limb.s[i] + limb.s[i + 1]))[2];
            }
        }
        let elastic = dot(&x, &system.elastic.times(&x));
        let geometric = dot(&x, &system.geometric.times(&x)).abs();
        assert!(elastic + geometric < last / 12.0, "{n}: {elastic} {geometric}");
        last = elastic + geometric;
    }
    assert!(last < 1e-6, "{last}");
}

#[test]
fn lean_of_an_eccentric_column() {
    // A column pressed along itself by P, c beside its middle: tip c (1/cos(L sqrt(P/EI)) - 1) (secant formula).
    let (gj, ei, length, load, aside) = (3.0, 7.0_f64, 0.8, 12.0_f64, 0.004);
    let column = Owned::arc(30, length, 0.0, [0.0, -load], 0.0, gj, ei);
    let uneven = Unevenness { string_offset: aside, ..Unevenness::default() };
    let lean = sideways_lean(&column.limb(), &uneven).expect("stands");
    let want = aside * (1.0 / (length * (load / ei).sqrt()).cos() - 1.0);
    close(lean.tip(), want, 1e-7);
    assert!(lean.tip_twist().abs() < 1e-15);
    // Too much for it.
    let over = Owned::arc(30, length, 0.0, [0.0, -3.0 * load], 0.0, gj, ei);
    assert_eq!(sideways_lean(&over.limb(), &uneven), Err(SidewaysError::Unstable));
}

#[test]
fn lean_grows_as_the_reserve_falls() {
    let (gj, ei, length) = (3.0_f64, 7.0_f64, 0.8);
    let critical = 4.0126 * (gj * ei).sqrt() / (length * length);
    let lean = |part: f64| {
        let limb = Owned::arc(40, length, 0.0, [part * critical, 0.0], 0.0, gj, ei);
        let uneven = Unevenness { string_offset: 0.003, ..Unevenness::default() };
        sideways_lean(&limb.limb(), &uneven).expect("stands").tip_twist()
    };
    // Without amplification the tip twists by -P c L/GJ.
    close(lean(1e-3), -1e-3 * critical * 0.003 * length / gj, 1e-4);
    // Near the limit the lean times what is left of the reserve is steady: the response has a simple pole there.
    close(lean(0.99) * (1.0 - 0.99_f64.powi(2)), lean(0.995) * (1.0 - 0.995_f64.powi(2)), 0.02);
    assert!(lean(0.99).abs() > 20.0 * lean(0.1).abs());
}

#[test]
fn a_twisted_tip_is_the_same_as_its_twist_when_nothing_pulls() {
    let limb = Owned::arc(20, 0.8, 1.2, [0.0, 0.0], 0.0, 3.0, 7.0);
    // Nothing pulls: a limb twisted in the straight keeps its twist; bent to a curve by nothing it stays where the least energy is.
    let mut straight = Owned::arc(20, 0.8, 0.0, [0.0, 0.0], 0.0, 3.0, 7.0);
    let twist: Vec<f64> = straight.s.iter().map(|s| 0.1 * s / 0.8).collect();
    let uneven = Unevenness { twist: &twist, ..Unevenness::default() };
    let lean = sideways_lean(&straight.limb(), &uneven).expect("stands");
    for (a, b) in lean.twist.iter().zip(&twist) {
        assert!((a - b).abs() < 1e-12);
    }
    assert!(lean.tip().abs() < 1e-12);
    // Pulled toward the archer, the twisted limb bends sideways too.
    straight.normal.fill(5.0);
    straight.moment = straight.s.iter().map(|s| 5.0 * (0.8 - s)).collect();
    assert!(sideways_lean(&straight.limb(), &uneven).expect("stands").tip().abs() > 1e-4);
    assert!(sideways_lean(&limb.limb(), &Unevenness { twist: &twist[1..], ..Unevenness::default() }).is_err());
}

/// Width of the limb at which it just stands, by halving: wider is stable, narrower is not.
#[test]
fn narrowing_finds_the_limit() {
    use crate::design::SectionForm;
    use crate::section::Section;
    let reserve = |width: f64| {
        let section = Section::new(SectionForm::Rectangle, width, 0.016);
        let (modulus, shear) = (10e9, 10e9 / 15.0);
        let gj = shear * section.torsion_constant();
        Owned::arc(40, 0.7, 1.5, [90.0, -160.0], 0.008, gj, modulus * section.second_moment_sideways()).reserve()
    };
    let (mut narrow, mut wide) = (0.002, 0.05);
    assert!(reserve(narrow) < 1.0 && reserve(wide) > 2.0);
    while wide - narrow > 1e-7 {
        let middle = 0.5 * (narrow + wide);
        if reserve(middle) < 1.0 { narrow = middle } else { wide = middle }
    }
    close(reserve(wide), 1.0, 1e-4);
    assert!(reserve(1.05 * wide) > 1.0 && reserve(0.95 * wide) < 1.0);
}

#[test]
fn unsound_limbs_are_refused() {
    let good = Owned::arc(4, 0.8, 0.0, [1.0, 0.0], 0.0, 3.0, 7.0);
    let reserve = |change: &dyn Fn(&mut Owned)| {
        let mut limb = Owned::arc(4, 0.8, 0.0, [1.0, 0.0], 0.0, 3.0, 7.0);
        change(&mut limb);
        sideways_reserve(&limb.limb()).map(|r| r.factor)
    };
    assert!(sideways_reserve(&good.limb()).is_ok());
    assert_eq!(reserve(&|l| l.gj[2] = 0.0), Err(SidewaysError::NotSound));
    assert_eq!(reserve(&|l| l.moment[2] = f64::NAN), Err(SidewaysError::NotSound));
    assert_eq!(reserve(&|l| l.s[2] = 0.0), Err(SidewaysError::NotRising));
    assert_eq!(reserve(&|l| l.s.truncate(3)), Err(SidewaysError::Lengths));
}
