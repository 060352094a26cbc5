//! `weight`, `tiller`, `string` and `compare` as a maker runs them.
#![allow(clippy::unwrap_used)]

use std::path::PathBuf;
use std::process::{Command, Output};

use serde_json::Value;

mod checks;
mod tiller;
mod weight;

const SAMPLE: &str = include_str!("../../examples/ash-flatbow.toml");

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
