//! The strength checks.

use super::*;

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
