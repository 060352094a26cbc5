//! How long sections and sideways stability take.

use divan::{Bencher, black_box};
use nockwright::design::SectionForm;
use nockwright::section::Section;
use nockwright::strength::sideways::{LimbUnderPull, Unevenness, sideways_lean, sideways_reserve};

fn main() {
    divan::main();
}

const FORMS: [(&str, SectionForm); 5] = [
    ("rectangle", SectionForm::Rectangle),
    ("rounded rectangle", SectionForm::RoundedRectangle { corner: 0.003 }),
    ("ellipse", SectionForm::Ellipse),
    ("D", SectionForm::D),
    ("trapezoid", SectionForm::Trapezoid { belly: 0.7 }),
];

fn section(name: &str) -> Section {
    let form = FORMS.iter().find(|f| f.0 == name).map_or(SectionForm::Rectangle, |f| f.1);
    Section::new(form, 0.012, 0.009)
}

/// 1000 directions.
#[divan::bench(args = FORMS.map(|f| f.0))]
fn thousand_radii(bencher: Bencher, name: &str) {
    let section = section(name);
    bencher.bench(|| (0..1000).map(|i| black_box(section).radius(f64::from(i) * 0.006)).sum::<f64>());
}

/// 100 sections.
#[divan::bench(args = FORMS.map(|f| f.0))]
fn hundred_torsion_constants(bencher: Bencher, name: &str) {
    let section = section(name);
    bencher.bench(|| {
        (0..100)
            .map(|i| {
                Section { width: section.width * (1.0 + f64::from(i) / 50.0), ..black_box(section) }.torsion_constant()
            })
            .sum::<f64>()
    });
}

/// A tapered limb of `n` elements near its limit.
#[divan::bench(args = [50, 200])]
fn sideways_of_one_state(bencher: Bencher, n: usize) {
    let part = |i: usize| i as f64 / n as f64;
    let along = |f: &dyn Fn(f64) -> f64| (0..=n).map(|i| f(part(i))).collect::<Vec<f64>>();
    let (length, kappa) = (0.75, 1.4);
    let s = along(&|u| length * u);
    let curvature = along(&|_| kappa);
    let turn = |u: f64| kappa * length * (1.0 - u);
    let normal = along(&|u| 90.0 * turn(u).cos() - 160.0 * turn(u).sin());
    let axial = along(&|u| -160.0 * turn(u).cos() - 90.0 * turn(u).sin());
    let moment = along(&|u| 90.0 * turn(u).sin() / kappa + 160.0 * (1.0 - turn(u).cos()) / kappa);
    let gj = along(&|u| 9.0 * (1.05 - u));
    let ei = along(&|u| 40.0 * (1.05 - u));
    let limb = LimbUnderPull {
        s: &s,
        curvature: &curvature,
        moment: &moment,
        normal_force: &normal,
        axial_force: &axial,
        gj: &gj,
        ei_sideways: &ei,
        string_restoring: 250.0,
        seat_offset: 0.0,
    };
    bencher.bench(|| {
        let uneven = Unevenness { string_offset: 0.002, ..Unevenness::default() };
        (sideways_reserve(black_box(&limb)), sideways_lean(black_box(&limb), &uneven))
    });
}
