//! How long sections and sideways stability take.

use divan::{Bencher, black_box};
use nockwright::bow::bracing::{LIMB_STEPS, RestingBow, brace};
use nockwright::bow::draw_curve::draw_bow;
use nockwright::design::{Both, SectionForm, Side};
use nockwright::samples::{SAMPLE, SAMPLE_NAME};
use nockwright::section::Section;
use nockwright::strength::sideways::{LimbUnderPull, Unevenness, sideways_lean, sideways_reserve};
use nockwright::tiller::explain::{Along, all_along};
use nockwright::tiller::fit::{Fit, Measured, Wording, fit};
use nockwright::tiller::string_distance;
use nockwright::worked::Worked;

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

/// The sample bow, 28 stations on each limb at brace and full draw; six places sought, then one stretch.
#[divan::bench(sample_count = 5, args = [false, true])]
fn tiller(bencher: Bencher, stretch: bool) {
    let Ok(reading) = nockwright::design::file::read(SAMPLE, SAMPLE_NAME) else { return };
    let design = reading.design;
    let bow = RestingBow::of(&design, Both { upper: 0.006, lower: 0.006 }, LIMB_STEPS);
    let drawn = brace(&bow, design.bow.bracing)
        .and_then(|braced| draw_bow(&bow, &braced, design.bow.draw_to, design.bow.draw, 2));
    let Ok(drawn) = drawn else { return };
    let mut measured = Vec::new();
    for (draw, state) in [(None, drawn.at_brace()), (Some(design.bow.draw), drawn.at_full_draw())] {
        for side in Side::BOTH {
            for k in 1..=28 {
                let at = 0.025 * f64::from(k);
                // A millimetre off on the upper limb: a fit that has something to do.
                let off = if side == Side::Upper { 0.001 * (4.0 * at).sin() } else { 0.0 };
                measured.push(Measured { draw, side, at, distance: string_distance(&bow, state, side, at) + off });
            }
        }
    }
    let places = Both::build(|_| vec![0.1, 0.35, 0.6]);
    let request = Fit {
        bow: &bow,
        bracing: design.bow.bracing,
        draw_to: design.bow.draw_to,
        measured: &measured,
        noise: 0.0005,
        places: &places,
        wording: Wording { units: design.units, start: design.bow.stiff_handle / 2.0 },
    };
    let nodes = all_along(&bow, |_| true);
    let cause = || {
        let along = Along::of(Fit { places: &nodes, ..request.clone() })?;
        black_box(along.misfit());
        along.cause(None)
    };
    bencher.bench(|| if stretch { cause().is_ok() } else { fit(&request).is_ok() });
}

/// The sample worked through to its nocks.
fn sample() -> Option<Worked> {
    Worked::of(&nockwright::design::file::read(SAMPLE, SAMPLE_NAME).ok()?.design).ok()
}

/// What the checks of strength ask of the whole bow, each from a bow of which nothing more is known yet.
#[divan::bench]
fn sideways_of_the_sample(bencher: Bencher) {
    bencher.with_inputs(sample).bench_refs(|worked| worked.as_ref().map(|w| *w.sideways()));
}

#[divan::bench]
fn least_taper_of_the_sample(bencher: Bencher) {
    bencher.with_inputs(sample).bench_refs(|worked| worked.as_ref().map(|w| w.least_taper().clone()));
}

#[divan::bench]
fn tip_variants_of_the_sample(bencher: Bencher) {
    bencher.with_inputs(sample).bench_refs(|worked| worked.as_ref().map(|w| w.tip_variants().is_ok()));
}
