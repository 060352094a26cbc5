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

/// A tenth weak about 19 in, fading over 4 in: within the ranges told, and its weakness times length as it is.
fn told_of_the_weak_stretch(report: &Value) {
    let range = |name: &str| [0, 1].map(|k| number(report, &format!("/stretch/{name}/{k}")));
    for (name, real) in [("factor_range", 0.9), ("at_range_mm", 19.0 * 25.4), ("reach_range_mm", 4.0 * 25.4)] {
        let [least, greatest] = range(name);
        assert!(least <= real && real <= greatest, "{name}: {report}");
    }
    let product = (1.0 - number(report, "/stretch/factor")) * number(report, "/stretch/reach_mm") / (0.1 * 101.6);
    assert!((0.75..1.25).contains(&product), "{product} {report}");
}

#[test]
fn tiller_names_the_weak_stretch_and_what_it_does_to_the_string_angles() {
    let folder = folder("tiller");
    let path = measured_weak(&folder, |_| ());
    let report = json(&["tiller", &path]);
    assert_eq!(report["stretch"]["limb"], "upper");
    told_of_the_weak_stretch(&report);
    assert_eq!(report["left_out"].as_array().unwrap().len(), 0);
    // Within one station (a sixth of the limb) of 19 in.
    assert!((number(&report, "/stretch/at_mm") - 19.0 * 25.4).abs() < 102.0);
    let said = text(&["tiller", &path]);
    assert!(sentences(&["tiller", &path]).contains("% weaker than the design, if it fades over"), "{said}");
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
fn tiller_says_what_too_few_distances_cannot_tell() {
    let folder = folder("few");
    let few = "[tiller]\nmeasured = [ { limb = \"upper\", at = \"20 in\", distance = \"4 in\" } ]\n";
    let path = file(&folder, "few.toml", &format!("{SAMPLE}\n{few}"));
    // The table stands all the same.
    let said = sentences(&["tiller", &path]);
    assert!(said.contains("A whole taper is not told: 1 measured distance on the upper limb"), "{said}");
    assert!(
        said.contains("upper 20.00 braced 4.00 4.99")
            && said.contains("So few distances tell nothing")
            && !said.contains("stiffness = ["),
        "{said}"
    );
    // A few that are far off are not taken for the design's.
    let places = [8, 14, 20, 26].map(|at| format!("{{ limb = \"upper\", at = \"{at} in\", distance = \"9 in\" }}"));
    let off = format!("{SAMPLE}\n[tiller]\nmeasured = [ {} ]\n", places.join(", "));
    let said = sentences(&["tiller", &file(&folder, "off.toml", &off)]);
    assert!(!said.contains("limbs are as designed"), "{said}");
    assert_ne!(json(&["tiller", &folder.join("off.toml").display().to_string()])["cause"], "as designed");
    let said = refused(&["tiller", "--at-draw", "28"]);
    assert!(said.contains("--at-draw") && said.contains("has no unit"), "{said}");
    let said = refused(&["tiller", "--at-draw", "5 in"]);
    assert!(said.contains("--at-draw") && said.contains("does not reach past"), "{said}");
}

/// The sample with an upper limb a tenth stiff all along, read to half a millimetre at every other station, braced and drawn, and nothing
/// said of how sure the readings are; `changed` is what the file read has in place of the bow's own words.
fn measured_stiff(folder: &std::path::Path, changed: impl Fn(&str) -> String) -> String {
    let stiff = "[upper.limb]\nstiffness = [ { at = \"4 in\", factor = 1.1 } ]\n\n[string]";
    let path = file(folder, "stiff.toml", &SAMPLE.replace("[string]", stiff));
    let real = json(&["tiller", &path]);
    let mut state = 11;
    let mut rows = String::new();
    for side in ["upper", "lower"] {
        let stations = real["limbs"][side]["at_mm"].as_array().unwrap();
        for line in real["limbs"][side]["lines"].as_array().unwrap() {
            let draw = line["draw_mm"].as_f64().map_or(String::new(), |d| format!(", draw = \"{d} mm\""));
            for (at, distance) in stations.iter().zip(line["distance_mm"].as_array().unwrap()).step_by(2) {
                let read = distance.as_f64().unwrap() + 0.5 * noise(&mut state);
                rows += &format!("  {{ limb = \"{side}\", at = \"{at} mm\"{draw}, distance = \"{read:.1} mm\" }},\n");
            }
        }
    }
    file(folder, "measured.toml", &format!("{}\n[tiller]\nmeasured = [\n{rows}]\n", changed(SAMPLE)))
}

#[test]
fn tiller_tells_a_stiff_limb_from_a_stiff_stretch_with_nothing_said_of_the_readings() {
    let folder = folder("whole-limb");
    let path = measured_stiff(&folder, |sample| sample.to_owned());
    let report = json(&["tiller", &path]);
    assert_eq!(report["cause"], "whole limb");
    assert!(report["stretch"].is_null(), "{report}");
    assert!((number(&report, "/whole_limb/factor") - 1.1).abs() < 0.015, "{report}");
    let said = sentences(&["tiller", &path]);
    assert!(said.contains("the upper limb as a whole is 10 % stiffer than the lower limb"), "{said}");
    let key = said.split_once("stiffness = [ { at = \"4.00 in\", factor = ").unwrap().1;
    assert!((key[..5].parse::<f64>().unwrap() - 1.1).abs() < 0.015, "{said}");
    // Braced otherwise than the file says: told before any stiffness, and no stiffness to write.
    let path = measured_stiff(&folder, |sample| {
        sample.replace("brace_height  = \"6 1/4 in\"", "brace_height  = \"6 1/2 in\"")
    });
    let said = sentences(&["tiller", &path]);
    assert!(said.contains("a bow braced about 6 ") && said.contains("the file's is braced 6 1/2 in"), "{said}");
    assert!(!said.contains("stiffness = [") && said.contains("measured expected more fitted"), "{said}");
}

#[test]
fn tiller_gives_nothing_to_write_where_all_is_as_designed() {
    let folder = folder("as-designed");
    let path = measured_weak(&folder, |_| ());
    // The weak bow's own file: its distances are as it says.
    let weak = std::fs::read_to_string(folder.join("weak.toml")).unwrap();
    let measured = std::fs::read_to_string(&path).unwrap();
    let own = file(&folder, "own.toml", &format!("{weak}\n[tiller]{}", measured.split_once("[tiller]").unwrap().1));
    let said = sentences(&["tiller", &own]);
    assert!(said.contains("as designed, as far as") && !said.contains("write into the file"), "{said}");
    // One slipped reading is left out and makes no other verdict of the rest.
    let text = std::fs::read_to_string(&own).unwrap();
    let (before, after) = text.rsplit_once("distance = \"").unwrap();
    let (_, after) = after.split_once('"').unwrap();
    let slipped = file(&folder, "slipped.toml", &format!("{before}distance = \"20 in\"{after}"));
    let said = sentences(&["tiller", &slipped]);
    assert!(said.contains("Left out, measure it again") && !said.contains("stray from the design"), "{said}");
}

#[test]
fn tiller_answers_the_lines_that_new_writes_as_an_example() {
    let folder = folder("starter");
    let path = folder.join("new.toml").display().to_string();
    text(&["new", &path]);
    let lines = std::fs::read_to_string(&path).unwrap();
    let uncommented = lines.replace("# [tiller]", "[tiller]").replace("# measured = ", "measured = ");
    assert!(uncommented.contains("\n[tiller]\n") && uncommented.contains("\nmeasured = "), "{uncommented}");
    let said = sentences(&["tiller", &file(&folder, "read.toml", &uncommented)]);
    assert!(said.contains("upper 20.00 braced 4.50") && said.contains("So few distances tell nothing"), "{said}");
}

#[test]
fn tiller_shows_a_draw_once_warns_of_one_beyond_the_file_and_explains_a_minus() {
    let folder = folder("draws");
    let path = file(&folder, "plain.toml", SAMPLE);
    let braced = "7 3/4 in";
    let report = json(&["tiller", &path, "--at-draw", braced, "--at-draw", "28 in", "--at-draw", "711.3 mm"]);
    assert_eq!(report["limbs"]["upper"]["lines"].as_array().unwrap().len(), 2, "{report}");
    assert!(!sentences(&["tiller", &path]).contains("Take care"));
    let said = sentences(&["tiller", &path, "--at-draw", "33 in"]);
    assert!(said.contains("Take care: 33 in is beyond the longest draw in the file, 29 in"), "{said}");
    let curved = "examples/recurved-bow.toml";
    assert!(sentences(&["tiller", curved]).contains("A minus: the place lies beyond"));
    assert!(!sentences(&["tiller", &path]).contains("A minus"));
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
        told_of_the_weak_stretch(&report);
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
    let said = sentences(&["tiller", &path]);
    assert!(
        said.contains("all distances are about 25/32 in more")
            && !said.contains("stiffness = [")
            && !said.contains("measure again"),
        "{said}"
    );
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
    told_of_the_weak_stretch(&report);
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
    let said = sentences(&["tiller", &path]);
    assert!(said.contains("1 measured distance on the lower limb") && said.contains("leave this limb's"), "{said}");
}
