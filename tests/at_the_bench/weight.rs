//! `weight`.

use super::*;

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
    // The new taper, bent anew, comes to what was wanted within half a per cent, by each of the three.
    for path in ["thickness", "width", "corners"].map(|by| format!("/take_off/by_{by}/weight_n")) {
        let path = path.as_str();
        assert!((number(&report, path) / POUND - 40.0).abs() < 0.2, "{report}");
    }
    // Coming down by little, round corners do it all along.
    let little = json(&["weight", "--reads", "45 lb at 28 in", "--wanted", "44 lb at 28 in"]);
    assert!((number(&little, "/take_off/by_corners/weight_n") / POUND - 44.0).abs() < 0.1, "{little}");
    assert!(
        little.pointer("/take_off/limbs/upper").unwrap().as_array().unwrap().iter().all(|r| r["corner_mm"].is_number())
    );
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
    // Unequal parts come to the wanted weight as well: the rule of first order alone would miss by one per cent.
    assert!((number(&lower, "/take_off/by_thickness/weight_n") / POUND - 40.0).abs() < 0.1, "{lower}");
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

#[test]
fn weight_takes_no_reading_near_brace_and_takes_nothing_off_on_contradictory_ones() {
    let said = refused(&["weight", "--reads", "35 lb at 7.8 in"]);
    assert!(said.contains("tells nothing of the weight at full draw"), "{said}");
    let two = ["weight", "--reads", "35 lb at 24 in", "--reads", "80 lb at 25 in"];
    let said = refused(&[&two[..], &["--wanted", "40 lb at 28 in"]].concat());
    assert!(said.contains("the readings stray"), "{said}");
}

#[test]
fn weight_stops_where_the_bow_would_be_another_one_and_points_at_what_was_typed() {
    // (words, what is said of it, the option it is said of)
    let cases: [(&[&str], &str, &str); 8] = [
        (&["--reads", "45 lb at 28 in", "--wanted", "1 lb at 28 in"], "97.8 % of its stiffness", "--> --wanted"),
        (&["--wanted", "22 lb at 28 in", "--upper-share", "100 %"], "the upper limb would lose", "--> --wanted"),
        (&["--reads", "35 lb at 2 in"], "at or before the braced string", "--> --reads"),
        (&["--reads", "35 lb at 7.8 in"], "tells nothing of the weight", "--> --reads"),
        (&["--wanted", "40 lb at 7 in"], "at or before the braced string", "--> --wanted"),
        (&["--reads", "-35 lb at 24 in"], "is no sensible reading", "--> --reads"),
        (&["--upper-share", "1"], "may be 1 % or the whole", "--> --upper-share"),
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
    // What nobody asked for in so many words is no reason to withhold the forecast.
    let words = ["weight", "--reads", "70 lb at 24 in"];
    let (report, said) = (json(&words), sentences(&words));
    assert!(number(&report, "/foretold_n") / POUND > 80.0 && report["take_off"].is_null(), "{report}");
    assert!(said.contains("What to take off is not told: the wanted weight is"), "{said}");
    // Corners are spoken of where there are any.
    let round = SAMPLE.replace("\"rounded rectangle\"", "\"D\"").replace("corner   = \"1/8 in\"\n", "");
    let said = sentences(&["weight", "--wanted", "36 lb at 28 in", &file(&folder, "round.toml", &round)]);
    assert!(said.contains("must come off") && !said.contains("orners"), "{said}");
    // What a scale cannot tell apart is not scraped for.
    let said = sentences(&["weight", "--wanted", "39.9 lb at 28 in"]);
    assert!(said.contains("nothing is to come off"), "{said}");
}

#[test]
fn weight_takes_nothing_off_a_width_that_would_let_the_limb_go_sideways() {
    let deep = include_str!("../../examples/deep-longbow.toml");
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
        let reserve = figures.iter().find(|f| f["id"] == "sideways_least" && f["limb"] == "upper").unwrap();
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

/// The sample, its limbs narrow and deep: at brace they are nearer to going sideways than at full draw.
fn deep() -> String {
    SAMPLE
        .replace("width = \"1 7/8 in\", thickness = \"17/32 in\"", "width = \"0.96 in\", thickness = \"0.9 in\"")
        .replace("width = \"1 5/8 in\", thickness = \"29/64 in\"", "width = \"0.84 in\", thickness = \"0.8 in\"")
        .replace("width =   \"1/2 in\", thickness =  \"7/16 in\"", "width = \"0.48 in\", thickness = \"0.6 in\"")
        .replace("section  = \"rounded rectangle\"", "section  = \"rectangle\"")
        .replace("corner   = \"1/8 in\"", "")
}

/// A width that is offered leaves a bow that `check` says holds in its plane, from brace on; one that would not is not offered.
#[test]
fn a_new_width_is_offered_only_where_the_bow_built_to_it_stays_in_its_plane() {
    let folder = folder("plane");
    let path = file(&folder, "deep.toml", &deep());
    let mut offered = Vec::new();
    for pounds in ["39", "38", "35", "34"] {
        let report = json(&["weight", &path, "--wanted", &format!("{pounds} lb at 28 in")]);
        let column = report.pointer("/take_off/by_width").unwrap();
        let rows = report.pointer("/take_off/limbs/upper").unwrap().as_array().unwrap();
        let stations: Vec<String> = rows
            .iter()
            .map(|row| {
                let width = number(row, "/width_mm") - number(row, "/off_width_mm");
                let (at, thickness) = (number(row, "/at_mm"), number(row, "/thickness_mm"));
                format!("{{ at = \"{at} mm\", width = \"{width} mm\", thickness = \"{thickness} mm\" }}")
            })
            .collect();
        let body = deep();
        let (start, end) = (body.find("stations = [").unwrap(), body.find("[string]").unwrap());
        let body = format!("{}stations = [{}]\n\n{}", &body[..start], stations.join(", "), &body[end..])
            .replace("pull = \"40 lb\"", &format!("pull = \"{pounds} lb\""));
        let built = checked(&file(&folder, "built.toml", &body));
        let checks = built["checks"].as_array().unwrap();
        let least = |side: &str| {
            let found = checks.iter().find(|c| c["id"] == "sideways_reserve" && c["limb"] == side).unwrap();
            number(found, "/measured")
        };
        for side in ["upper", "lower"] {
            let told = number(column, &format!("/sideways_reserve/{side}"));
            // The overlay's default thickness goes with the tip's width, and the string's seat with it.
            assert!((told / least(side) - 1.0).abs() < 0.025, "{pounds} {side}: {told} {}", least(side));
        }
        let does = column["does"].as_bool().unwrap();
        assert_eq!(does, least("upper").min(least("lower")) >= 1.0, "{pounds} lb: {column}");
        offered.push(does);
    }
    assert!(offered[0] && !offered[3], "{offered:?}");
}

/// What the screen warns of, the sheet warns of.
#[test]
fn the_sheet_of_the_new_taper_has_the_cautions_of_the_report() {
    let folder = folder("cautions");
    let out = folder.join("out");
    let said = sentences(&[
        "weight",
        "--reads",
        "40 lb at 28 in",
        "--wanted",
        "30 lb at 28 in",
        "--upper-share",
        "60 %",
        "--out",
        &out.display().to_string(),
    ]);
    let sheets: String = std::fs::read_dir(&out)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "svg"))
        .map(|path| std::fs::read_to_string(path).unwrap())
        .collect();
    // A line may end within a sentence: words that stand together are looked for.
    for words in ["tiller: the", "take half", "comes off the belly", "Thickness"] {
        assert!(said.contains(words), "{words}: {said}");
        let parts = words.split(' ').all(|word| sheets.contains(word));
        assert!(parts, "{words}");
    }
}

/// A low working stress asks for more limb than a sheet holds: the sheets come out all the same.
#[test]
fn a_least_taper_far_beyond_the_limb_still_fits_its_sheet() {
    let folder = folder("low-stress");
    let path = file(&folder, "low.toml", &format!("{SAMPLE}\n[strength]\nworking_stress = \"12 MPa\"\n"));
    let output = run(&["templates", &path, "--out", &folder.join("out").display().to_string()]);
    assert!(output.status.code() != Some(2), "{}", String::from_utf8_lossy(&output.stderr));
    assert!(folder.join("out").exists());
}
