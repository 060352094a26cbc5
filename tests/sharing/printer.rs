use super::Bench;

#[test]
fn a_printer_is_kept_by_name_outside_any_design_and_corrects_its_sheets() {
    let bench = Bench::new("printer");
    assert_eq!(bench.run(&["printer", "--out", "page"]).code, Some(0));
    let page = bench.files("page");
    assert!(page.keys().any(|name| name.ends_with(".pdf")));
    for name in page.keys() {
        assert_eq!(bench.run(&["verify", &format!("page/{name}")]).code, Some(0), "{name}");
    }
    let table = bench.run(&["printer", "--table"]);
    assert!(
        table.code == Some(0) && table.shown.contains("94.1 %") && table.shown.contains("A4 page made to fit Letter")
    );
    // Nobody has measured a printer yet.
    let run = bench.run(&["templates", "base.toml", "--printer", "shed"]);
    assert_eq!(run.code, Some(2));
    assert!(run.said.contains("shed") && !bench.path("templates-out").exists(), "{}", run.said);

    let across = nockwright::printer::ACROSS;
    let up = nockwright::printer::UP;
    let [a, u, d] = [0.99 * across, 1.002 * up, (0.99 * across).hypot(1.002 * up)].map(|mm| format!("{mm:.2} mm"));
    let words = ["printer", "shed", "--across", &a, "--up", &u, "--rising", &d, "--falling", &d, "--measured", "May 3"];
    let run = bench.run(&words);
    assert_eq!(run.code, Some(0), "{}", run.said);
    assert!(run.shown.contains("shed") && run.shown.contains("May 3") && run.shown.contains('±'), "{}", run.shown);
    assert!(bench.path("settings/nockwright/printers.toml").exists());
    assert!(bench.run(&["printer", "shed"]).shown.contains("May 3"));
    assert!(bench.run(&["printer", "--list"]).shown.contains("shed"));

    let run = bench.run(&["templates", "base.toml", "--printer", "shed", "--out", "for-shed"]);
    assert_eq!(run.code, Some(0), "{}", run.said);
    for (name, bytes) in bench.files("for-shed") {
        let proof = bench.run(&["verify", &format!("for-shed/{name}")]);
        assert_eq!(proof.code, Some(0), "{name}: {}", proof.shown);
        assert!(proof.shown.contains("only for shed") && proof.shown.contains("101.01 across"), "{}", proof.shown);
        if name.ends_with(".svg") {
            let text = String::from_utf8(bytes).unwrap();
            assert!(text.contains("shed, measured May 3"), "{name}");
        }
    }
}

#[test]
fn impossible_readings_are_refused_with_what_they_mean_and_nothing_is_kept() {
    let bench = Bench::new("printer-refused");
    let scaled = |scale: f64| {
        let lengths = [nockwright::printer::ACROSS, nockwright::printer::UP, nockwright::printer::DIAGONAL];
        lengths.map(|mm| format!("{:.1} mm", mm * scale))
    };
    let small = scaled(0.9407);
    let fit = ["--across", &small[0], "--up", &small[1], "--rising", &small[2], "--falling", &small[2]];
    let [across, up, diagonal] = scaled(1.0);
    let unitless = ["--across", "174", "--up", &up, "--rising", &diagonal, "--falling", &diagonal];
    let swapped = ["--across", &up, "--up", &across, "--rising", &diagonal, "--falling", &diagonal];
    for (readings, wanted) in [
        (fit, "A4 page made to fit Letter paper"),
        (unitless, "unit"),
        (swapped, "exchanged"),
        (["--across", "nothing", "--up", "240 mm", "--rising", "much", "--falling", "291 mm"], "--rising"),
    ] {
        let run = bench.run(&[&["printer", "shed"], readings.as_slice()].concat());
        assert_eq!(run.code, Some(2), "{readings:?}: {}", run.shown);
        assert!(run.said.contains(wanted), "{wanted}: {}", run.said);
    }
    assert!(!bench.path("settings").exists());
}

#[test]
fn the_date_stays_on_the_sheet_however_long_the_name_and_odd_names_dates_and_errors_are_refused() {
    let bench = Bench::new("printer-names");
    let [a, u, d] = [nockwright::printer::ACROSS, nockwright::printer::UP, nockwright::printer::DIAGONAL]
        .map(|mm| format!("{:.1} mm", mm * 0.99));
    let keep = |name: &str, more: &[&str]| {
        let words = ["printer", name, "--across", &a, "--up", &u, "--rising", &d, "--falling", &d];
        bench.run(&[&words, more].concat())
    };
    let long = "the laser printer on the second floor beside the library";
    let run = keep(long, &["--measured", "3 May 2026"]);
    assert_eq!(run.code, Some(0), "{}", run.said);
    assert_eq!(bench.run(&["templates", "base.toml", "--printer", long, "--out", "out"]).code, Some(0));
    for (name, bytes) in bench.files("out").into_iter().filter(|(name, _)| name.ends_with(".svg")) {
        let text = String::from_utf8(bytes).unwrap();
        assert!(text.contains("…, measured 3 May 2026. Measure all bars."), "{name}");
    }
    let run = keep("it's \"mine\"", &[]);
    assert!(run.code == Some(0) && run.said.contains(r#"--printer 'it'\''s "mine"'"#), "{}", run.said);
    let longer = "x".repeat(61);
    for (name, more, wanted) in [
        ("a\nb", vec![], "NAME"),
        (&longer, vec![], "NAME"),
        ("shed", vec!["--measured", ""], "--measured"),
        ("shed", vec!["--measured", "a\u{1b}[31m"], "--measured"),
        ("shed", vec!["--reading-error", "5 in"], "--reading-error"),
        ("shed", vec!["--reading-error", "1e-300 mm"], "--reading-error"),
    ] {
        let run = keep(name, &more);
        assert!(run.code == Some(2) && run.said.contains(wanted), "{name} {more:?}: {}", run.said);
    }
    assert_eq!(bench.run(&["printer", "--list"]).shown.matches("measured").count(), 2);
}

#[cfg(target_os = "linux")]
#[test]
fn output_that_is_lost_on_a_full_disk_is_no_success() {
    let bench = Bench::new("lost-output");
    assert_eq!(bench.run(&["printer", "--out", "page"]).code, Some(0));
    let page = bench.path("page/printer-test-page-a4.pdf");
    for words in [vec!["printer", "--table"], vec!["verify", page.to_str().unwrap()], vec!["styles"]] {
        let full = std::fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
        let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_nockwright"));
        let output = command.args(&words).stdout(full).output().unwrap();
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.code() == Some(2) && said.contains("is lost"), "{words:?}: {said}");
    }
}

#[test]
fn a_page_that_is_of_no_design_says_so() {
    let bench = Bench::new("test-page");
    assert_eq!(bench.run(&["printer", "--out", "page"]).code, Some(0));
    for name in bench.files("page").keys() {
        let run = bench.run(&["verify", &format!("page/{name}")]);
        assert!(run.code == Some(0) && run.shown.contains("carries no design"), "{name}: {}", run.shown);
    }
}

#[test]
fn the_longest_overlay_goes_on_every_paper_in_tiles_where_it_must() {
    let bench = Bench::new("long-overlay");
    let base = String::from_utf8(bench.read("base.toml")).unwrap();
    bench.put("long.toml", &base.replace("[nock]\n", "[nock]\noverlay_length = \"200 mm\"\n"));
    for paper in ["A4", "Letter", "Legal"] {
        let run = bench.run(&["templates", "long.toml", "--paper", paper, "--out", paper]);
        assert_eq!(run.code, Some(0), "{paper}: {}", run.said);
    }
}
