//! `tiller`.

use super::*;

/// Normal deviates, seeded: a linear congruential generator (Knuth, MMIX) and twelve uniforms less six.
fn noise(state: &mut u64) -> f64 {
    (0..12).fold(-6.0, |sum, _| {
        *state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        sum + (*state >> 11) as f64 / (1_u64 << 53) as f64
    })
}

/// The sample's file with distances measured, to half a millimetre, on a bow whose upper limb is a tenth weak about 19 in.
///
/// `spoil` changes the distances (mm) of the rows before they are written: (limb, braced, distance), upper limb first, braced bow first.
fn measured_weak(folder: &std::path::Path, spoil: impl Fn(&mut Vec<(&str, bool, f64)>)) -> String {
    let weak = "[upper.limb]\nstiffness = [ { at = \"15 in\", factor = 1 }, { at = \"19 in\", factor = 0.9 }, { at = \"23 in\", factor = 1 } ]\n\n[string]";
    let path = file(folder, "weak.toml", &SAMPLE.replace("[string]", weak));
    let real = json(&["tiller", &path, "--at-draw", "20 in", "--at-draw", "24 in", "--at-draw", "28 in"]);
    let mut state = 5;
    let (mut read, mut places) = (Vec::new(), Vec::new());
    for side in ["upper", "lower"] {
        let stations = real["limbs"][side]["at_mm"].as_array().unwrap();
        for line in real["limbs"][side]["lines"].as_array().unwrap() {
            let draw = line["draw_mm"].as_f64().map_or(String::new(), |d| format!(", draw = \"{d} mm\""));
            for (at, distance) in stations.iter().zip(line["distance_mm"].as_array().unwrap()) {
                read.push((side, draw.is_empty(), distance.as_f64().unwrap() + 0.5 * noise(&mut state)));
                places.push(format!("at = \"{at} mm\"{draw}"));
            }
        }
    }
    spoil(&mut read);
    let row = |((side, _, distance), place): (&(&str, bool, f64), &String)| {
        format!("  {{ limb = \"{side}\", {place}, distance = \"{distance:.1} mm\" }},\n")
    };
    // A distance that is no number stands for a row that was not measured.
    let rows: String = read.iter().zip(&places).filter(|(r, _)| !r.2.is_nan()).map(row).collect();
    file(folder, "measured.toml", &format!("{SAMPLE}\n[tiller]\nsure_to = \"0.5 mm\"\nmeasured = [\n{rows}]\n"))
}

#[test]
fn tiller_names_the_weak_stretch_and_what_it_does_to_the_string_angles() {
    let folder = folder("tiller");
    let path = measured_weak(&folder, |_| ());
    let report = json(&["tiller", &path]);
    assert_eq!(report["stretch"]["limb"], "upper");
    assert!((number(&report, "/stretch/factor") - 0.9).abs() < 0.02, "{report}");
    assert_eq!(report["left_out"].as_array().unwrap().len(), 0);
    // Within one station (a sixth of the limb) of 19 in.
    assert!((number(&report, "/stretch/at_mm") - 19.0 * 25.4).abs() < 102.0);
    let said = text(&["tiller", &path]);
    assert!(sentences(&["tiller", &path]).contains("is 10 % weaker than the design"), "{said}");
    assert!(said.contains("stiffness = [ { at ="), "{said}");
    // The line it gives, written into the file, makes the file's own angles those of the weak bow.
    let key = said.lines().find(|l| l.trim_start().starts_with("stiffness = [")).unwrap().trim();
    let fed = file(&folder, "fed.toml", &SAMPLE.replace("[string]", &format!("[upper.limb]\n{key}\n\n[string]")));
    let angle = |path: &str| number(&json(&["sweep", path, "--steps", "2"]), "/limbs/upper/string_angle_deg/full_draw");
    let (weak, fed, plain) = (angle(&folder.join("weak.toml").display().to_string()), angle(&fed), {
        let plain = file(&folder, "plain.toml", SAMPLE);
        angle(&plain)
    });
    assert!((plain - weak).abs() > 0.2 && (fed - weak).abs() < 0.15, "{plain} {weak} {fed}");
}

#[test]
fn tiller_refuses_what_too_few_distances_cannot_tell() {
    let folder = folder("few");
    let few = "[tiller]\nmeasured = [ { limb = \"upper\", at = \"20 in\", distance = \"4 in\" } ]\n";
    let path = file(&folder, "few.toml", &format!("{SAMPLE}\n{few}"));
    let said = refused(&["tiller", &path]);
    assert!(said.contains("few.toml") && said.contains("1 measured distance on the"), "{said}");
    let said = refused(&["tiller", "--at-draw", "28"]);
    assert!(said.contains("--at-draw") && said.contains("has no unit"), "{said}");
    let said = refused(&["tiller", "--at-draw", "5 in"]);
    assert!(said.contains("--at-draw") && said.contains("does not reach past"), "{said}");
}

#[test]
fn tiller_writes_a_sheet_that_says_its_scale() {
    let folder = folder("sheet");
    text(&["tiller", "--out", &folder.display().to_string()]);
    let svg = std::fs::read_dir(&folder)
        .unwrap()
        .map(|e| e.unwrap().path())
        .filter(|p| p.extension().is_some_and(|e| e == "svg"))
        .map(|p| std::fs::read_to_string(p).unwrap())
        .collect::<String>();
    assert!(svg.contains("of the bow, not 1:1"), "no scale on the sheet");
}

#[test]
fn tiller_names_the_reading_that_does_not_belong_and_what_it_should_be() {
    let folder = folder("stray");
    let true_distance = std::cell::Cell::new(0.0);
    type Change = fn(f64) -> f64;
    let cases: [(usize, Change, &str); 4] = [
        (5, |d| d / 10.0, "slipped decimal"),
        (9, |d| d / 25.4, "unit mixed up"),
        (9, |d| d + 12.0, "the others contradict it"),
        (70, |d| d - 8.0, "the others contradict it"),
    ];
    for (index, change, why) in cases {
        let path = measured_weak(&folder, |rows| {
            true_distance.set(rows[index].2);
            rows[index].2 = change(rows[index].2);
        });
        let report = json(&["tiller", &path]);
        let out = report["left_out"].as_array().unwrap();
        assert_eq!(
            (out.len(), out[0]["measured"].as_u64(), out[0]["why"].as_str()),
            (1, Some(index as u64), Some(why))
        );
        let about = number(&out[0], "/about_mm");
        // A slipped figure is only set right, so it keeps its noise; another is foretold to a few times the noise.
        assert!((about - true_distance.get()).abs() < 2.0, "{about} {}", true_distance.get());
        // What the others say is as before.
        assert_eq!(report["stretch"]["limb"], "upper");
        assert!((number(&report, "/stretch/factor") - 0.9).abs() < 0.02, "{report}");
        let said = sentences(&["tiller", &path]);
        assert!(said.contains("Left out, measure it again: the ") && said.contains("about"), "{said}");
    }
    // All of them ten times too small: the unit, not a reading, and nothing is said of the brace height.
    let path = measured_weak(&folder, |rows| rows.iter_mut().for_each(|r| r.2 /= 10.0));
    let said = refused(&["tiller", &path]);
    assert!(said.contains("many times off") && said.contains("tiller.measured"), "{said}");
    assert!(!said.contains("brace"), "{said}");
    // All of them 20 mm too large: no single reading is blamed.
    let path = measured_weak(&folder, |rows| rows.iter_mut().for_each(|r| r.2 += 20.0));
    let said = refused(&["tiller", &path]);
    assert!(said.contains("no stiffness fits") && !said.contains("measure again"), "{said}");
}

#[test]
fn tiller_fits_one_limb_beside_the_other_as_designed() {
    let folder = folder("one-limb");
    let leave_out = |rows: &mut Vec<(&str, bool, f64)>, whose: &str| {
        rows.iter_mut().filter(|r| r.0 == whose).for_each(|r| r.2 = f64::NAN);
    };
    let path = measured_weak(&folder, |rows| leave_out(rows, "lower"));
    let report = json(&["tiller", &path]);
    assert_eq!(report["stretch"]["limb"], "upper");
    assert!((number(&report, "/stretch/factor") - 0.9).abs() < 0.02, "{report}");
    let said = sentences(&["tiller", &path]);
    assert!(said.contains("Nothing was measured on the lower limb: it is taken as designed"), "{said}");
    assert!(said.contains("[upper.limb]") && !said.contains("[lower.limb]"), "{said}");
    // Of the other limb alone a single distance is too few, and the cure is one that can be done.
    let path = measured_weak(&folder, |rows| {
        let one = rows.iter().position(|r| r.0 == "lower").unwrap();
        let kept = rows[one].2;
        leave_out(rows, "lower");
        rows[one].2 = kept;
    });
    let said = refused(&["tiller", &path]);
    assert!(said.contains("1 measured distance on the lower limb") && said.contains("leave this limb's"), "{said}");
}
