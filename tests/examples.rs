//! The example bows: each reads without a fault or a remark, braces, draws, and is a bow one could have made.
//!
//! The bounds are wide and of the trade: a wood's modulus varies by a third from tree to tree; a straight bow's string
//! angle lies near 17 to 30 degrees at brace and 60 to 80 at full draw, on a recurved end, on which the braced string lies, near
//! half of that; no limb is stressed beyond its modulus of rupture.

use std::fs;
use std::path::{Path, PathBuf};

use nockwright::bow::draw_curve::cycle;
use nockwright::bow::limb::Profile;
use nockwright::design::file::{Overrides, Reading, read_bytes};
use nockwright::design::{Both, Side};

fn examples() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    let mut files: Vec<PathBuf> = fs::read_dir(folder)
        .expect("examples/")
        .map(|entry| entry.expect("an entry of examples/").path())
        .filter(|path| path.extension().is_some_and(|e| e == "toml"))
        .collect();
    files.sort();
    assert!(files.len() >= 5, "the examples are not where they should be");
    files
}

fn reading(path: &Path) -> Reading {
    let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
    let bytes = fs::read(path).expect("an example that can be read");
    let reading = read_bytes(&bytes, &name, &Overrides::default()).unwrap_or_else(|refusal| panic!("{refusal}"));
    assert!(reading.remarks.is_empty(), "{}", reading.places.remarks(&reading.remarks, false));
    reading
}

#[test]
fn every_example_is_a_bow_one_could_have_made() {
    let mut wrong = Vec::new();
    for path in examples() {
        let name = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        let Reading { design, mut places, .. } = reading(&path);
        let seats = Both::build(|side| design.limbs.get(side).stations.last().map_or(0.0, |s| 0.5 * s.thickness));
        let cycle = cycle(&design, seats, 100, 20).unwrap_or_else(|fault| panic!("{}", places.refusal(vec![fault])));
        let mut within = |what: &str, value: f64, low: f64, high: f64| {
            if !(low..=high).contains(&value) {
                wrong.push(format!("{name}: {what} {value:.2}, not {low} to {high}"));
            }
        };
        within("stiffness factor", cycle.stiffness_factor, 0.6, 1.3);
        for side in Side::BOTH {
            let angle =
                |state: &nockwright::bow::draw_curve::BowAtDraw| state.limbs.get(side).string_angle.to_degrees();
            let recurved = cycle.at_brace().limbs.get(side).lying.is_some();
            let (at_brace, at_full_draw) =
                if recurved { ([7.0, 16.0], [35.0, 60.0]) } else { ([17.0, 30.0], [60.0, 80.0]) };
            within(&format!("{} brace angle", side.name()), angle(cycle.at_brace()), at_brace[0], at_brace[1]);
            within(
                &format!("{} full-draw angle", side.name()),
                angle(cycle.at_full_draw()),
                at_full_draw[0],
                at_full_draw[1],
            );
            let limb = design.limbs.get(side);
            let profile = Profile::of(limb);
            let bent = &cycle.at_full_draw().limbs.get(side).bent;
            let start = design.bow.stiff_handle / 2.0;
            let stress = bent.s.iter().zip(&bent.moment).map(|(s, moment)| {
                let section = profile.section(start + s);
                let far = section.back_distance().max(section.belly_distance());
                moment.abs() * far / section.second_moment() / 1e6
            });
            let worst = stress.fold(0.0, f64::max);
            let rupture = limb.wood.rupture.as_ref().map_or(f64::NAN, |r| r.value / 1e6);
            within(&format!("{} worst stress over rupture", side.name()), worst / rupture, 0.4, 1.0);
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
