//! Torsion constants against closed forms, tables and the independent solution.

use super::solver::torsion;
use super::*;

/// `q = 4 pi^2 I_p J / A^4` by the solver.
fn shape(s: &Section, degree: usize, crowd: usize) -> f64 {
    let (j, bound) = torsion(s, degree, crowd);
    assert!(bound < 5e-4 * j, "{s:?} {}", bound / j);
    4.0 * PI * PI * (s.second_moment() + s.second_moment_sideways()) * j / s.area().powi(4)
}

/// The aspect that [`place`] puts at `u`.
fn aspect(u: f64, limits: [f64; 2]) -> f64 {
    let even = |r: f64| r / (1.0 + r);
    let x = even(limits[0]) + u * (even(limits[1]) - even(limits[0]));
    x / (1.0 - x)
}

fn nodes(n: usize) -> Vec<f64> {
    (0..n).map(|i| 0.5 * (1.0 - (PI * (i as f64 + 0.5) / n as f64).cos())).collect()
}

/// Chebyshev coefficients of the interpolant through values at [`nodes`].
fn coefficients(values: &[f64]) -> Vec<f64> {
    let n = values.len() as f64;
    let one = |k: usize| {
        let sum: f64 =
            values.iter().zip(nodes(values.len())).map(|(v, u)| v * (k as f64 * (2.0 * u - 1.0).acos()).cos()).sum();
        sum * if k == 0 { 1.0 } else { 2.0 } / n
    };
    (0..values.len()).map(one).collect()
}

fn d(u: f64) -> Section {
    Section::new(SectionForm::D, 1.0, aspect(u, ASPECTS))
}

fn rounded(u: f64, v: f64) -> Section {
    let t = aspect(u, [ASPECTS[0], 1.0]);
    Section::new(SectionForm::RoundedRectangle { corner: 0.5 * v * t }, 1.0, t)
}

fn trapezoid(u: f64, v: f64) -> Section {
    Section::new(SectionForm::Trapezoid { belly: NARROW_FACE + v * (1.0 - NARROW_FACE) }, 1.0, aspect(u, ASPECTS))
}

fn fit(n: usize, m: usize, of: impl Fn(f64, f64) -> f64) -> Vec<Vec<f64>> {
    let rows: Vec<Vec<f64>> =
        nodes(n).iter().map(|&u| coefficients(&nodes(m).iter().map(|&v| of(u, v)).collect::<Vec<_>>())).collect();
    let columns: Vec<Vec<f64>> = (0..m).map(|j| coefficients(&rows.iter().map(|r| r[j]).collect::<Vec<_>>())).collect();
    (0..n).map(|i| columns.iter().map(|c| c[i]).collect()).collect()
}

/// Prints the file of fitted constants anew: `cargo test --lib regenerate -- --ignored --nocapture`.
#[test]
#[ignore = "prints fit.rs; run when the forms or the solver change"]
fn regenerate() {
    println!("//! Chebyshev coefficients of the torsion fits, printed by the ignored test `regenerate`.\n");
    let print = |name: &str, what: &str, c: Vec<Vec<f64>>| {
        println!("/// {what}\n#[rustfmt::skip]\npub(super) const {name}: [[f64; {}]; {}] = [", c[0].len(), c.len());
        for row in c {
            println!("    [{}],", row.iter().map(|v| format!("{v:.6}")).collect::<Vec<_>>().join(", "));
        }
        println!("];\n");
    };
    println!("/// D section, by thickness over width.\n#[rustfmt::skip]\npub(super) const D: [f64; 12] = [");
    for row in fit(12, 1, |u, _| shape(&d(u), 30, 20)) {
        println!("    {:.6},", row[0]);
    }
    println!("];\n");
    print(
        "ROUNDED",
        "Rounded rectangle, by short over long side, then corner over half the short side.",
        fit(7, 7, |u, v| shape(&rounded(u, v), 20, 10)),
    );
    print(
        "TRAPEZOID",
        "Trapezoid, by thickness over broader face, then narrower over broader face.",
        fit(13, 9, |u, v| shape(&trapezoid(u, v), 44, 24)),
    );
}

fn close(got: f64, want: f64, relative: f64) {
    assert!((got - want).abs() <= relative * want.abs(), "got {got:.9e}, want {want:.9e}");
}

/// Rectangles a x b, J / (a b^3): Timoshenko & Goodier, Theory of Elasticity, table in section 109 (k1), digits from memory;
/// the square's 0.140577 also from the series summed by hand.
#[test]
fn rectangles_by_the_table() {
    for (ratio, k) in [
        (1.0, 0.1406),
        (1.2, 0.166),
        (1.5, 0.196),
        (2.0, 0.229),
        (2.5, 0.249),
        (3.0, 0.263),
        (4.0, 0.281),
        (5.0, 0.291),
        (10.0, 0.312),
    ] {
        for s in [Section::new(SectionForm::Rectangle, ratio, 1.0), Section::new(SectionForm::Rectangle, 1.0, ratio)] {
            assert!((s.torsion_constant() / ratio - k).abs() < 6e-4, "{ratio}: {}", s.torsion_constant() / ratio);
        }
    }
    close(Section::new(SectionForm::Rectangle, 1.0, 1.0).torsion_constant(), 0.140_577, 1e-5);
}

/// Roark's Formulas for Stress and Strain, torsion table, solid rectangle (formula from memory): an approximation to the series.
#[test]
fn rectangles_by_roark() {
    for i in 0..40 {
        let (a, b) = (0.5 * (1.0 + f64::from(i) / 4.0), 0.5_f64);
        let roark = a * b.powi(3) * (16.0 / 3.0 - 3.36 * b / a * (1.0 - (b / a).powi(4) / 12.0));
        close(roark, Section::new(SectionForm::Rectangle, 2.0 * a, 2.0 * b).torsion_constant(), 5e-3);
    }
}

/// pi a^3 b^3/(a^2 + b^2); the half disc's (pi/2 - 4/pi) R^4; the equilateral triangle's sqrt(3) a^4/80.
#[test]
fn solver_meets_the_closed_forms() {
    let ellipse = Section::new(SectionForm::Ellipse, 3.0, 1.4);
    let (a, b) = (1.5_f64, 0.7_f64);
    let want = PI * (a * b).powi(3) / (a * a + b * b);
    close(ellipse.torsion_constant(), want, 1e-13);
    for (s, want) in [
        (ellipse, want),
        (Section::new(SectionForm::D, 2.0, 1.0), PI / 2.0 - 4.0 / PI),
        (Section::new(SectionForm::Trapezoid { belly: 0.0 }, 1.0, 0.75_f64.sqrt()), 3.0_f64.sqrt() / 80.0),
        (Section::new(SectionForm::RoundedRectangle { corner: 1.0 }, 2.0, 2.0), PI / 2.0),
    ] {
        let (j, bound) = torsion(&s, 30, 16);
        assert!((j - want).abs() <= bound + 1e-12 * want, "{s:?}: {j} {want} {bound}");
        assert!(bound < 1e-6 * want);
    }
    for (w, t) in [(1.0, 1.0), (3.0, 1.0), (1.0, 12.0)] {
        let s = Section::new(SectionForm::Rectangle, w, t);
        close(torsion(&s, 30, 16).0, s.torsion_constant(), 1e-9);
    }
}

#[test]
fn fits_meet_the_solver_between_their_nodes() {
    let check = |s: Section, degree, crowd| {
        let got =
            4.0 * PI * PI * (s.second_moment() + s.second_moment_sideways()) * s.torsion_constant() / s.area().powi(4);
        let want = shape(&s, degree, crowd);
        assert!((got / want - 1.0).abs() < 1e-4, "{s:?}: {got} {want} {:.1e}", got / want - 1.0);
    };
    for i in 0..=20 {
        check(d(f64::from(i) / 20.0), 30, 16);
    }
    for i in 0..=8 {
        for j in 0..=4 {
            let (u, v) = (f64::from(i) / 8.0, f64::from(j) / 4.0);
            check(rounded(u, v), 16, 6);
            check(trapezoid(u, v), 44, 24);
        }
    }
}

/// The forms run into one another where they should.
#[test]
fn forms_meet() {
    for (w, t) in [(30.0, 12.0), (9.0, 14.0), (12.0, 12.0)] {
        let j = |f| Section::new(f, w, t).torsion_constant();
        close(j(SectionForm::RoundedRectangle { corner: 0.0 }), j(SectionForm::Rectangle), 1e-4);
        close(j(SectionForm::Trapezoid { belly: 1.0 }), j(SectionForm::Rectangle), 1e-4);
        // Upside down: belly 1.5 times the back.
        let over = Section::new(SectionForm::Trapezoid { belly: 1.5 }, w, t).torsion_constant();
        close(over, Section::new(SectionForm::Trapezoid { belly: 1.0 / 1.5 }, 1.5 * w, t).torsion_constant(), 1e-12);
    }
    close(Section::new(SectionForm::RoundedRectangle { corner: 9.0 }, 2.0, 2.0).torsion_constant(), PI / 2.0, 1e-4);
}
