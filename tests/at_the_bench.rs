//! `weight`, `tiller`, `string` and `compare` as a maker runs them.
#![allow(clippy::unwrap_used)]

use std::path::PathBuf;
use std::process::{Command, Output};

use serde_json::Value;

const SAMPLE: &str = include_str!("../examples/ash-flatbow.toml");

fn run(words: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_nockwright")).args(words).output().unwrap()
}

fn text(words: &[&str]) -> String {
    let output = run(words);
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

/// A report with its lines run together, for sentences that are broken over several.
fn sentences(words: &[&str]) -> String {
    text(words).split_whitespace().collect::<Vec<_>>().join(" ")
}

fn json(words: &[&str]) -> Value {
    serde_json::from_str(&text(&[words, &["--json"]].concat())).unwrap()
}

/// What a maker reads when the words are refused.
fn refused(words: &[&str]) -> String {
    let output = run(words);
    assert_eq!(output.status.code(), Some(2), "{}", String::from_utf8_lossy(&output.stdout));
    assert!(output.stdout.is_empty());
    String::from_utf8(output.stderr).unwrap()
}

fn folder(name: &str) -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(format!("bench-{name}"));
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).unwrap();
    folder
}

/// A file of the sample with something changed.
fn file(folder: &std::path::Path, name: &str, body: &str) -> String {
    let path = folder.join(name);
    std::fs::write(&path, body).unwrap();
    path.display().to_string()
}

/// A report of `check`, whatever its verdict.
fn checked(path: &str) -> Value {
    serde_json::from_slice(&run(&["check", path, "--json"]).stdout).unwrap()
}

fn check<'a>(report: &'a Value, id: &str) -> &'a Value {
    report["checks"].as_array().unwrap().iter().find(|c| c["id"] == id).unwrap_or_else(|| panic!("no check {id}"))
}

fn number(value: &Value, path: &str) -> f64 {
    value.pointer(path).and_then(Value::as_f64).unwrap_or_else(|| panic!("no number at {path}"))
}

const POUND: f64 = 4.448_221_615_260_5;

#[test]
fn weight_shows_the_bench_habit_beside_the_curve() {
    // 35 lb at 24 in, divided and multiplied, reads 40.8 lb at 28 in (common practice).
    let words = ["weight", "--reads", "35 lb at 24 in", "--wanted", "40 lb at 28 in"];
    let said = text(&words);
    assert!(said.contains("40.8 lb") && said.contains("common practice, no source"), "{said}");
    let report = json(&words);
    assert!((number(&report, "/readings/0/by_proportion_n") / POUND - 40.0 - 5.0 / 6.0).abs() < 1e-6);
    // The computed curve starts at brace, so it says more; its own weight at the reading is the reading.
    let foretold = number(&report, "/foretold_n") / POUND;
    assert!((42.0..46.0).contains(&foretold), "{foretold}");
    // The new taper, bent anew, comes to what was wanted within half a per cent, by thickness and by width.
    for path in ["/take_off/by_thickness/weight_n", "/take_off/by_width/weight_n"] {
        assert!((number(&report, path) / POUND - 40.0).abs() < 0.2, "{report}");
    }
    let rows = report.pointer("/take_off/limbs/upper").unwrap().as_array().unwrap();
    assert!(rows.len() > 10 && rows.iter().all(|r| number(r, "/off_thickness_mm") > 0.0));
}

#[test]
fn weight_takes_the_readings_of_the_file_and_what_it_shall_come_to() {
    let folder = folder("weight");
    let body =
        SAMPLE.replace("weight        =", "scale         = [\"33 lb at 22 in\", \"40 lb at 25 in\"]\nweight        =");
    let path = file(&folder, "now.toml", &body);
    let report = json(&["weight", &path]);
    assert_eq!(report["readings"].as_array().unwrap().len(), 2);
    assert!((number(&report, "/wanted_n") / POUND - 40.0).abs() < 1e-6);
    assert!(number(&report, "/take_off/factor") < 0.95);
    // All of it off the lower limb.
    let lower = json(&["weight", &path, "--upper-share", "0 %"]);
    assert_eq!(number(&lower, "/take_off/stiffness_factor/upper"), 1.0);
    // A sheet is written only where one is asked for.
    text(&["weight", &path, "--out", &folder.join("out").display().to_string()]);
    let written = std::fs::read_dir(folder.join("out")).unwrap().count();
    assert!(written >= 2, "{written}");
}

#[test]
fn weight_says_when_wood_would_have_to_be_put_back() {
    let said = sentences(&["weight", "--reads", "30 lb at 28 in", "--wanted", "40 lb at 28 in"]);
    assert!(said.contains("wood cannot be put back"), "{said}");
}

#[test]
fn weight_refuses_what_it_cannot_read_all_at_once() {
    let said = refused(&["weight", "--reads", "35 lb", "--wanted", "4 in at 28 in", "--upper-share", "150 %"]);
    for words in ["--reads", "lacks the word `at`", "--wanted", "--upper-share", "150 %"] {
        assert!(said.contains(words), "{words}: {said}");
    }
    let said = refused(&["weight", "--reads", "10 lb at 6 in"]);
    assert!(said.contains("at or before the braced string"), "{said}");
}

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
fn string_gives_length_strands_and_loops() {
    let folder = folder("string");
    let body = SAMPLE.replace("[string]\n", "[string]\nstrand_strength = \"45 lb\"\n");
    let report = json(&["string", &file(&folder, "bow.toml", &body)]);
    // 4 x 40 lb by strands of 45 lb: 3.6, so 4.
    assert_eq!(report["strands"], 4);
    assert!((number(&report, "/must_hold_n") / POUND - 160.0).abs() < 0.01);
    // That string braces the bow to its height again.
    let length = number(&report, "/string/length_mm");
    let by_length = SAMPLE.replace("brace_height  = \"6 1/4 in\"", &format!("string_length = \"{length} mm\""));
    let again = json(&[
        "sweep",
        &file(&folder, "by-length.toml", &by_length.replace("brace_height = [\"6 in\", \"6 3/4 in\"]", "")),
        "--steps",
        "2",
    ]);
    assert!((number(&again, "/bow/brace_height_mm") - 158.75).abs() < 0.01, "{}", again["bow"]["brace_height_mm"]);
    assert!(number(&report, "/loops/upper/over_tip_mm") > 20.0);
    let said = text(&["string"]);
    assert!(said.contains("Give `strand_strength`") && said.contains("A nock that fails can hurt"), "{said}");
    assert!(refused(&["string", "no-such-file.toml"]).contains("cannot be read"));
}

#[test]
fn compare_shows_every_figure_of_both() {
    let folder = folder("compare");
    let (first, second) = (
        file(&folder, "first.toml", SAMPLE),
        file(
            &folder,
            "second.toml",
            &SAMPLE.replace(
                "style = \"back overlay\"",
                "style = \"back overlay\"\noverlay_thickness = \"1/4 in\"\noverlay_material = \"phenolic\"",
            ),
        ),
    );
    let report = json(&["compare", &first, &second]);
    let rows = report["figures"].as_array().unwrap();
    let row =
        |id: &str| rows.iter().find(|r| r["id"] == id && r["limb"] != "lower").unwrap_or_else(|| panic!("no {id}"));
    assert!(row("mass_overlay")["difference"].as_f64().unwrap() < 0.0);
    assert_eq!(row("draw_weight")["difference"], 0.0);
    for id in ["angle_full_draw", "sideways_least", "string_mass_half", "net_section", "reach_at_brace", "glue_line"] {
        assert!(row(id)["first"].is_number() && row(id)["second"].is_number(), "{id}");
    }
    let said = text(&["compare", &first, &second]);
    assert!(said.contains("first:  Ash flatbow") && said.contains("same"), "{said}");
    // Both refusals, not the first alone.
    let said = refused(&["compare", "no-one.toml", "no-two.toml"]);
    assert!(said.contains("no-one.toml") && said.contains("no-two.toml"), "{said}");
}

#[test]
fn weight_takes_no_reading_near_brace_and_takes_nothing_off_on_contradictory_ones() {
    let said = refused(&["weight", "--reads", "35 lb at 7.8 in"]);
    assert!(said.contains("tells nothing of the weight at full draw"), "{said}");
    let two = ["weight", "--reads", "35 lb at 24 in", "--reads", "80 lb at 25 in"];
    let said = refused(&[&two[..], &["--wanted", "40 lb at 28 in"]].concat());
    assert!(said.contains("the readings stray"), "{said}");
}

#[test]
fn check_says_which_strengths_are_from_memory_and_follows_the_shock_factor() {
    let folder = folder("check");
    let report = |body: &str| -> Value {
        let path = file(&folder, "bow.toml", body);
        serde_json::from_slice(&run(&["check", &path, "--json"]).stdout).unwrap()
    };
    let margin = |report: &Value, id: &str| {
        let checks = report["checks"].as_array().unwrap();
        let check = checks.iter().find(|c| c["id"] == id).unwrap_or_else(|| panic!("no check {id}"));
        check["margin"].as_f64().unwrap()
    };
    let usual = report(SAMPLE);
    let hard = report(&format!("{SAMPLE}\n[strength]\nshock_factor = 8\n"));
    for id in ["limb_end_shot", "net_section", "string_bearing_shot", "glue_line"] {
        assert!((margin(&usual, id) / margin(&hard, id) - 2.0).abs() < 1e-6, "{id}");
    }
    for id in ["limb_stress_brace", "limb_shear", "string_bearing", "sideways_reserve"] {
        assert!((margin(&usual, id) - margin(&hard, id)).abs() < 1e-9, "{id}");
    }
    // White oak's shear is from memory in the table, and said to be.
    let oak = report(&SAMPLE.replace("white ash", "white oak"));
    let shear = oak["checks"].as_array().unwrap().iter().find(|c| c["id"] == "limb_shear").unwrap().clone();
    assert!(shear["source"].as_str().unwrap().contains("from memory"), "{shear}");
    // A weak glue fails.
    let weak = report(&format!("{SAMPLE}\n[strength]\nglue = \"2 MPa\"\n"));
    assert!(margin(&weak, "glue_line") < 1.0);
    // A narrow deep limb has less reserve, and the table says so for this one.
    let cells = usual["tip_variants"].as_array().unwrap();
    let reserve = |width: f64| {
        let cell = cells.iter().find(|c| c["width_change"] == width && c["thickness_change"] == 0.0).unwrap();
        number(cell, "/reserve/upper")
    };
    assert!(cells.len() == 9 && reserve(-0.1) < reserve(0.0) && reserve(0.0) < reserve(0.1));
}

#[test]
fn a_narrow_deep_limb_fails_the_sideways_check() {
    let folder = folder("narrow");
    let body = SAMPLE
        .replace("width = \"1 7/8 in\"", "width = \"5/16 in\"")
        .replace("width = \"1 5/8 in\"", "width = \"1/4 in\"");
    let path = file(&folder, "narrow.toml", &body);
    let output = run(&["check", &path, "--json"]);
    let report: Value = serde_json::from_slice(&output.stdout)
        .unwrap_or_else(|_| panic!("{}", String::from_utf8_lossy(&output.stderr)));
    let check = report["checks"].as_array().unwrap().iter().find(|c| c["id"] == "sideways_reserve").unwrap();
    assert_eq!((check["verdict"].as_str(), output.status.code()), (Some("fails"), Some(1)), "{check}");
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

#[test]
fn weight_stops_where_the_bow_would_be_another_one_and_points_at_what_was_typed() {
    // (words, what is said of it, the option it is said of)
    let cases: [(&[&str], &str, &str); 7] = [
        (&["--reads", "45 lb at 28 in", "--wanted", "1 lb at 28 in"], "98 % of its stiffness", "--> --wanted"),
        (&["--wanted", "22 lb at 28 in", "--upper-share", "100 %"], "the upper limb would lose", "--> --wanted"),
        (&["--reads", "35 lb at 2 in"], "at or before the braced string", "--> --reads"),
        (&["--reads", "35 lb at 7.8 in"], "tells nothing of the weight", "--> --reads"),
        (&["--wanted", "40 lb at 7 in"], "at or before the braced string", "--> --wanted"),
        (&["--reads", "-35 lb at 24 in"], "is no sensible reading", "--> --reads"),
        (&["--upper-share", "-5 %"], "is no share", "--> --upper-share"),
    ];
    for (words, what, place) in cases {
        let said = refused(&[&["weight"], words].concat());
        assert!(said.contains(what) && said.contains(place), "{words:?}: {said}");
        assert!(!said.contains("[bow]") && !said.contains("no further"), "{said}");
    }
    // A reading of the file stays at its place in the file.
    let folder = folder("early");
    let body = SAMPLE.replace("weight        =", "scale         = [\"35 lb at 6 in\"]\nweight        =");
    let said = refused(&["weight", &file(&folder, "early.toml", &body)]);
    assert!(said.contains("early.toml") && said.contains("bow.scale"), "{said}");
    // What a scale cannot tell apart is not scraped for.
    let said = sentences(&["weight", "--wanted", "39.9 lb at 28 in"]);
    assert!(said.contains("nothing is to come off"), "{said}");
}

#[test]
fn weight_takes_nothing_off_a_width_that_would_let_the_limb_go_sideways() {
    let deep = include_str!("../examples/deep-longbow.toml");
    let folder = folder("sideways");
    let words = ["weight", "--wanted", "30 lb at 28 in", &file(&folder, "deep.toml", deep)];
    let report = json(&words);
    let off = &report["take_off"];
    assert_eq!((&off["by_thickness"]["does"], &off["by_width"]["does"]), (&Value::Bool(true), &Value::Bool(false)));
    assert!(off["by_width"]["wont"].as_str().unwrap().contains("go sideways"), "{off}");
    let said = text(&words);
    let row = said.lines().find(|l| l.trim_start().starts_with("12.000")).unwrap();
    assert_eq!(row.split_whitespace().filter(|w| *w == "-").count(), 3, "{row}");
    assert!(sentences(&words).contains("Do not take it off the width"), "{said}");
    // The same bow written into a file fails its check with the narrow taper, and holds with the thin one.
    let built = |name: &str, narrow: bool| {
        let rows = off["limbs"]["upper"].as_array().unwrap().iter().map(|r| {
            let [width, thickness] =
                if narrow { ["/off_width_mm", "/off_zero"] } else { ["/off_zero", "/off_thickness_mm"] }
                    .map(|off| r.pointer(off).and_then(Value::as_f64).unwrap_or(0.0));
            format!(
                "{{ at = \"{} mm\", width = \"{} mm\", thickness = \"{} mm\" }},\n",
                number(r, "/at_mm"),
                number(r, "/width_mm") - width,
                number(r, "/thickness_mm") - thickness
            )
        });
        let (before, after) = deep.split_once("stations = [").unwrap();
        let (_, after) = after.split_once("]\n").unwrap();
        let body = format!("{before}stations = [\n{}]\n{after}", rows.collect::<String>());
        let path = file(&folder, name, &body.replace("55 lb at 28 in", "30 lb at 28 in"));
        let reading = json(&["compare", &path, &path]);
        let figures = reading["figures"].as_array().unwrap();
        let reserve = figures.iter().find(|f| f["id"] == "sideways_at_full_draw" && f["limb"] == "upper").unwrap();
        (number(reserve, "/first"), checked(&path))
    };
    let (reserve, narrow) = built("narrow.toml", true);
    assert!((reserve / number(off, "/by_width/sideways_reserve/upper") - 1.0).abs() < 0.01, "{reserve} {off}");
    assert_eq!(check(&narrow, "sideways_reserve")["verdict"], "fails");
    // A tip too narrow for its string is left alone, whatever the reserve.
    let slight = SAMPLE.replace("width =   \"1/2 in\"", "width =   \"5/16 in\"");
    let slight = json(&["weight", "--wanted", "25 lb at 28 in", &file(&folder, "slight.toml", &slight)]);
    let wont = slight["take_off"]["by_width"]["wont"].as_str().unwrap();
    assert!(wont.starts_with("34.000 in from the middle") && wont.contains("2 of its diameters, 0.250 in"), "{wont}");
    let (_, thin) = built("thin.toml", false);
    assert_ne!(check(&thin, "sideways_reserve")["verdict"], "fails");
}

#[test]
fn compare_says_the_cause_and_keeps_to_the_units_of_its_figures() {
    let folder = folder("causes");
    let first = file(&folder, "first.toml", SAMPLE);
    let second = file(&folder, "second.toml", &SAMPLE.replace("pull = \"40 lb\"", "pull = \"44 lb\""));
    let said = text(&["compare", &first, &second]);
    let leans: Vec<&str> = said.lines().filter(|l| l.starts_with("upper   tip leans sideways")).collect();
    assert!(leans.len() == 2 && leans[0].contains(": string ") && leans[1].contains(": tip twisted"), "{leans:?}");
    let weight = said.lines().find(|l| l.contains("weight at full draw")).unwrap();
    assert!(weight.trim_end().ends_with("+4.0 lb (+17.8 N)"), "{weight}");
    // No row has a difference in a unit that its figures are not in.
    for line in said.lines().filter(|l| l.contains(" in (")) {
        assert!(!line.contains(" N") && !line.contains("lb"), "{line}");
    }
    let report = json(&["compare", &first, &second]);
    let mut names: Vec<(&str, &str, &str)> = report["figures"]
        .as_array()
        .unwrap()
        .iter()
        .map(|f| (f["label"].as_str().unwrap(), f["limb"].as_str().unwrap_or(""), f["unit"].as_str().unwrap()))
        .collect();
    let all = names.len();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), all, "two rows of one name");
}

#[test]
fn bearing_past_its_limit_in_the_shot_is_called_wear_everywhere() {
    let folder = folder("wear");
    // A harder shot than usual: nothing fails yet, but the wood gives under the string.
    let path = file(&folder, "bow.toml", &format!("{SAMPLE}\n[strength]\nshock_factor = 5\n"));
    let report = checked(&path);
    let shot = check(&report, "string_bearing_shot");
    assert!(number(shot, "/margin") < 1.0, "{shot}");
    assert_eq!(shot["verdict"], "wears");
    let output = run(&["check", &path]);
    assert_eq!(output.status.code(), Some(0));
    let said = String::from_utf8(output.stdout).unwrap();
    assert!(said.contains("\n  wears  bearing of the string on the tip in the shot"), "{said}");
    assert!(said.contains("2 past a limit of wear, 0 fail"), "{said}");
    // Within the limit it is none.
    let near = checked(&file(&folder, "ash.toml", SAMPLE));
    assert_eq!(check(&near, "string_bearing_shot")["verdict"], "close");
    let out = folder.join("sheets");
    text(&["templates", &path, "--out", &out.display().to_string()]);
    let sheets: String = std::fs::read_dir(&out)
        .unwrap()
        .map(|e| e.unwrap().path())
        .filter(|p| p.extension().is_some_and(|e| e == "svg"))
        .map(|p| std::fs::read_to_string(p).unwrap())
        .collect();
    assert!(sheets.contains("Wears: bearing of the string on the tip in the shot") && !sheets.contains("Fails: "));
    let html = folder.join("bow.html");
    run(&["report", &path, "--html", &html.display().to_string()]);
    let html = std::fs::read_to_string(html).unwrap();
    assert!(html.contains("<details class=\"check wears\" open><summary><strong>wears</strong>"));
}

#[test]
fn every_check_says_its_source_and_every_figure_from_memory_says_so() {
    let folder = folder("sources");
    let walnut = checked(&file(&folder, "walnut.toml", &SAMPLE.replace("white ash", "black walnut")));
    let ash = checked(&file(&folder, "ash.toml", SAMPLE));
    for report in [&walnut, &ash] {
        for check in report["checks"].as_array().unwrap() {
            let source = check["source"].as_str().unwrap();
            assert!(source.len() > 10, "{check}");
        }
    }
    // All of walnut's figures are from memory in the table; ash's rupture, shear and modulus are read.
    for id in ["limb_stress", "limb_shear", "limb_end_shot", "modulus_not_too_low"] {
        let source = |report: &Value| check(report, id)["source"].as_str().unwrap().to_owned();
        assert!(source(&walnut).contains("table 5-3, from memory"), "{id}: {}", source(&walnut));
        assert!(source(&ash).contains("table 5-3") && !source(&ash).contains("table 5-3, from memory"), "{id}");
    }
    let notes = walnut["strength"]["upper"]["findings"].as_array().unwrap();
    let mass = notes.iter().find(|f| f["id"] == "mass_wood").unwrap();
    assert!(mass["note"].as_str().unwrap().contains("from memory"), "{mass}");
}

#[test]
fn every_example_goes_through_every_command_at_the_bench() {
    let mut seen = 0;
    for entry in std::fs::read_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/examples")).unwrap() {
        let path = entry.unwrap().path().display().to_string();
        for words in [&["weight", &path, "--reads", "35 lb at 24 in"][..], &["tiller", &path], &["string", &path]] {
            text(words);
        }
        // Beyond the first stations, where an unequal bow leans, the string comes nearer to the belly all the way out, at each draw,
        // until it lies on it.
        let tiller = json(&["tiller", &path]);
        for side in ["upper", "lower"] {
            let lines = tiller["limbs"][side]["lines"].as_array().unwrap();
            assert_eq!(lines.len(), 3, "{path}");
            for line in lines {
                let far: Vec<f64> =
                    line["distance_mm"].as_array().unwrap().iter().map(|d| d.as_f64().unwrap()).collect();
                assert!(far[2..].windows(2).all(|w| w[1] < w[0] || w[0] < 10.0), "{path} {side}: {far:?}");
            }
        }
        seen += 1;
    }
    assert!(seen >= 7);
    let said = sentences(&["weight", "--wanted", "45 lb at 32 in"]);
    assert!(said.contains("farther than the draw that the bow is designed for"), "{said}");
    assert!(refused(&["compare", "-", "-"]).contains("standard input"));
}
