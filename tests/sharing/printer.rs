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
