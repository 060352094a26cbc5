use super::Bench;

const ROSTER: &str = "number,name,brace height,draw,weight,thickness at 20 in\n\
    1,Anna,6 1/2 in,27 in,38 lb,\n\
    2,Ben,,28 in,,15/32 in\n\
    3,Cleo,6 in,,42 lb at 28 in,\n\
    4,Dan,,,,\n";

#[test]
fn output_is_the_same_whatever_the_number_of_threads() {
    for (name, more) in [("one-file", vec![]), ("each", vec!["--each", "--format", "svg,pdf"])] {
        let bench = Bench::new(&format!("threads-{name}"));
        bench.put("roster.csv", ROSTER);
        let made: Vec<_> = ["1", "2", "7"]
            .into_iter()
            .map(|threads| {
                let out = format!("out-{threads}");
                let words = [&["class", "roster.csv", "base.toml", "--out", &out], more.as_slice()].concat();
                let run = bench.run_with(&words, &[("RAYON_NUM_THREADS", threads)]);
                assert_eq!(run.code, Some(0), "{}", run.said);
                // No bar of progress where nobody looks.
                assert!(!run.said.contains('\r'));
                bench.files(&out)
            })
            .collect();
        assert!(made[0].contains_key("roster-key.pdf"), "{:?}", made[0].keys());
        assert_eq!(made[0].len() > 4, name == "each");
        assert!(made[0] == made[1] && made[0] == made[2], "{name}");
    }
}

#[test]
fn one_file_carries_every_rows_design_and_each_gives_it_back() {
    let bench = Bench::new("class-designs");
    bench.put("roster.csv", ROSTER);
    assert_eq!(bench.run(&["class", "roster.csv", "base.toml"]).code, Some(0));
    let asked = bench.run(&["recover", "class-out/roster.pdf"]);
    assert_eq!(asked.code, Some(2));
    for name in ["1-1-anna.toml", "2-2-ben.toml", "3-3-cleo.toml", "4-4-dan.toml"] {
        assert!(asked.said.contains(name), "{}", asked.said);
        let back = bench.run(&["recover", "class-out/roster.pdf", "--which", name]);
        assert_eq!(back.code, Some(0));
        // The base's own words and comments are in every row's design.
        assert!(back.shown.contains("# nock to nock along the back, unstrung"));
    }
    let anna = bench.run(&["recover", "class-out/roster.pdf", "--which", "1"]).shown;
    assert!(anna.contains("\"6 1/2 in\"") && anna.contains("\"38 lb\"") && anna.contains("1 Anna, Ash flatbow"));
    let proof = bench.run(&["verify", "class-out/roster.pdf"]);
    assert_eq!(proof.code, Some(0), "{}", proof.shown);
    assert!(proof.shown.contains("4 designs, whole and unchanged"));
}

#[test]
fn a_roster_with_twelve_faults_lists_all_twelve_and_writes_nothing() {
    let bench = Bench::new("class-faults");
    bench.put(
        "roster.csv",
        "name,brace height,draw,weight,limb.wood,thickness at 20 in,nock.style,string.diameter,colour\n\
         Anna,6.25,,,,,,,\n\
         Ben,,28 kg,,,,,,\n\
         Cleo,,,forty pounds,,,,,\n\
         Dan,,,,plywood,,,,\n\
         Eva,,,,,15/0 in,,,\n\
         Fay,,,,,,no such nock,,\n\
         Gus,,,,,,,1 m,\n\
         ,6 in,,,,,,,\n\
         Anna,,,,,,,,\n\
         Ina,90 in,,,,,,,\n\
         Jan,,,,,,,,,,too many\n",
    );
    let run = bench.run(&["class", "roster.csv", "base.toml"]);
    assert_eq!(run.code, Some(2));
    assert!(run.said.starts_with("roster.csv: 12 faults to mend; nothing was written"), "{}", run.said);
    for place in [
        "the roster, colour:",
        "line 2, Anna",
        "line 3, Ben",
        "line 4, Cleo",
        "line 5, Dan",
        "line 6, Eva",
        "line 7, Fay",
        "line 8, Gus",
        "line 9, name:",
        "line 10, Anna, name:",
        "line 11, Ina",
        "line 12, Jan",
    ] {
        assert_eq!(run.said.matches(&format!("\n{place}")).count(), 1, "{place}\n{}", run.said);
    }
    assert!(!bench.path("class-out").exists());
}

#[test]
fn the_key_tells_what_should_come_out_and_large_print_is_its_own_file() {
    let bench = Bench::new("class-key");
    bench.put("roster.toml", "[[row]]\nname = \"Anna\"\ndraw = \"27 in\"\n[[row]]\nname = \"Ben\"\n");
    assert_eq!(bench.run(&["class", "roster.toml", "base.toml", "--out", "usual"]).code, Some(0));
    assert_eq!(bench.run(&["class", "roster.toml", "base.toml", "--out", "large", "--large-print"]).code, Some(0));
    let (usual, large) = (bench.files("usual"), bench.files("large"));
    assert!(usual.keys().eq(large.keys()));
    assert!(large["roster.pdf"] != usual["roster.pdf"] && large["roster-key.pdf"] != usual["roster-key.pdf"]);
    for name in ["large/roster.pdf", "large/roster-key.pdf", "usual/roster-key.pdf"] {
        let proof = bench.run(&["verify", name]);
        assert_eq!(proof.code, Some(0), "{name}: {}", proof.shown);
    }
}

#[test]
fn a_foreign_file_in_the_way_stops_the_class_and_stays() {
    let bench = Bench::new("class-foreign");
    bench.put("roster.csv", ROSTER);
    std::fs::create_dir(bench.path("class-out")).unwrap();
    bench.put("class-out/roster.pdf", "mine");
    let run = bench.run(&["class", "roster.csv", "base.toml"]);
    assert_eq!(run.code, Some(2), "{}", run.said);
    assert_eq!(bench.files("class-out").len(), 1);
    assert_eq!(bench.read("class-out/roster.pdf"), b"mine");
}

#[test]
fn a_roster_is_read_with_any_line_ends_and_another_encoding_is_named() {
    let bench = Bench::new("class-encodings");
    let written: Vec<_> =
        [ROSTER.to_owned(), ROSTER.replace('\n', "\r\n"), ROSTER.replace('\n', "\r"), format!("\u{FEFF}{ROSTER}")]
            .into_iter()
            .enumerate()
            .map(|(number, text)| {
                bench.put("roster.csv", &text);
                let out = format!("out-{number}");
                let run = bench.run(&["class", "roster.csv", "base.toml", "--out", &out]);
                assert_eq!(run.code, Some(0), "{number}: {}", run.said);
                bench.files(&out)
            })
            .collect();
    assert!(written.iter().all(|files| *files == written[0]));
    let wide: Vec<u8> = [0xFEFF].into_iter().chain(ROSTER.encode_utf16()).flat_map(u16::to_le_bytes).collect();
    std::fs::write(bench.path("wide.csv"), wide).unwrap();
    std::fs::write(bench.path("old.csv"), b"name\nGr\xF6\xDFe\n").unwrap();
    bench.put("old.toml", "[[row]]\rname = \"Anna\"\r");
    for (name, wanted) in [
        ("wide.csv", "this file is saved as UTF-16, little end first"),
        ("old.csv", "the file is not UTF-8 text: byte 7 is 0xF6"),
        ("old.toml", "end with a bare carriage return (CR)"),
    ] {
        let run = bench.run(&["class", name, "base.toml", "--out", "never"]);
        assert_eq!(run.code, Some(2), "{name}");
        assert!(run.said.contains(wanted) && run.said.contains("save"), "{name}: {}", run.said);
        assert!(!bench.path("never").exists(), "{name}");
    }
}

#[test]
fn a_roster_that_would_be_misread_is_refused() {
    let bench = Bench::new("class-misread");
    for (roster, wanted) in [
        ("name,draw,draw\nAnna,27 in,26 in\n", "the column `draw` stands twice"),
        ("name,draw,bow.draw\nAnna,27 in,26 in\n", "`draw` and `bow.draw` are the same measure"),
        ("name,draw\nAnna,27 in\n\"Ben,27 in\nCleo,26 in\n", "in line 3 a cell begins with a quote"),
    ] {
        bench.put("roster.csv", roster);
        let run = bench.run(&["class", "roster.csv", "base.toml"]);
        assert!(run.code == Some(2) && run.said.contains(wanted), "{wanted}: {}", run.said);
        assert!(!bench.path("class-out").exists());
    }
    // Quotes round a comma, a quote written twice, and inch signs are all read.
    let name = "x".repeat(300);
    bench.put("roster.csv", "name,number,draw\n\"Doe, \"\"Jo\"\"\",1,27\"\nBen,2,\"27\"\"\"\n");
    assert_eq!(bench.run(&["class", "roster.csv", "base.toml"]).code, Some(0));
    bench.put("roster.csv", &format!("name\n{name}\n"));
    let run = bench.run(&["class", "roster.csv", "base.toml"]);
    assert!(run.code == Some(2) && !run.said.contains(&name), "{}", run.said);
}

#[test]
fn faults_name_the_line_and_the_column_and_steer_no_terminal() {
    let bench = Bench::new("class-places");
    for (roster, wanted) in [
        ("name,draw\r\nA,28 in\r\nB,banana\r\n", "\nline 3, B, draw: "),
        ("name,draw\r\nA,28 in\r\n\r\n\r\nB,banana\r\n", "\nline 5, B, draw: "),
        ("name,draw\rA,28 in\r\rB,banana\r", "\nline 4, B, draw: "),
        ("sep=;\nname;draw\nA;banana\n;;\n", "\nline 3, A, draw: "),
        ("name,draw,weight\nA,banana,40 lb\n", "roster.csv: 1 fault to mend"),
        ("name,draw\nA\u{1b}[31mB,28 in\n", "\nline 2, A\\u{1b}[31mB, name: "),
        ("name,draw\u{1b}[2J\nA,28 in\n", "the roster, draw\\u{1b}[2J: no column"),
        ("name,draw\nA,30 in\n", "a column `range.draw`"),
        ("name,student\nA,B\n", "`name` and `student` are both the row's name"),
    ] {
        bench.put("roster.csv", roster);
        let run = bench.run(&["class", "roster.csv", "base.toml"]);
        assert!(run.code == Some(2) && run.said.contains(wanted), "{wanted:?}: {}", run.said);
        assert!(!run.said.contains(['\u{1b}', '\r']), "{:?}", run.said);
    }
    bench.put(
        "roster.toml",
        "[[row]]\nname = \"A\"\nlimb.wood = \"sugar maple\"\nrange.draw = [\"26 in\", \"30 in\"]\n",
    );
    assert_eq!(bench.run(&["class", "roster.toml", "base.toml"]).code, Some(0));
    let back = bench.run(&["recover", "class-out/roster.pdf"]).shown;
    assert!(back.contains("\"sugar maple\"") && back.contains("[\"26 in\", \"30 in\"]"), "{back}");
}

#[test]
fn letters_that_are_not_printed_are_named_row_by_row() {
    let bench = Bench::new("class-letters");
    for more in [vec![], vec!["--each"]] {
        bench.put("roster.csv", "name\nИван\nAnna\nПётр\n弓\n");
        let run = bench.run(&[&["class", "roster.csv", "base.toml"], more.as_slice()].concat());
        assert_eq!(run.code, Some(0), "{}", run.said);
        assert!(run.said.contains("note: line 2, Иван: printed as □, for the sheets' face has not got it: И (U+0418)"));
        assert!(
            run.said.contains("note: line 4, Пётр: printed as □")
                && run.said.contains("note: line 5, 弓: printed as □")
        );
        assert!(!run.said.contains("Anna:"), "{}", run.said);
        let alike = "all printed as □□□□, and only the digest tells their sheets apart: line 2, Иван; line 4, Пётр;";
        assert!(run.said.contains(alike), "{}", run.said);
        assert_eq!(run.said.matches("all printed as").count(), 1);
    }
    bench.put("roster.csv", "name\nA\u{202E}B\nC\n");
    let run = bench.run(&["class", "roster.csv", "base.toml"]);
    assert!(run.said.contains("line 2, A\\u{202e}B: printed as") && !run.said.contains('\u{202E}'), "{}", run.said);
    bench.put("roster.csv", ROSTER);
    let run = bench.run(&["class", "roster.csv", "base.toml"]);
    assert!(!run.said.contains("printed as"), "{}", run.said);
    // What the base design brings along is said once.
    bench.put("base.toml", &super::sample().replace("\"Ash flatbow\"", "\"Лук\""));
    let run = bench.run(&["class", "roster.csv", "base.toml"]);
    assert!(
        run.said.contains("note: all rows: printed as □") && run.said.matches("printed as").count() == 1,
        "{}",
        run.said
    );
}

#[test]
fn what_an_earlier_run_left_is_named_and_stays() {
    let bench = Bench::new("class-earlier");
    let run = |roster: &str, rows: &str, more: &[&str]| {
        bench.put(roster, &format!("name\n{rows}"));
        let run = bench.run(&[&["class", roster, "base.toml"], more].concat());
        assert_eq!(run.code, Some(0), "{}", run.said);
        run.said
    };
    let first = run("roster.csv", "Anna\nBen\nCleo\n", &["--each", "--format", "pdf,svg"]);
    // Another roster whose name begins alike, and a foreign file.
    let other = run("roster-2.csv", "Dan\n", &["--each"]);
    run("roster-3.csv", "Dan\n", &[]);
    bench.put("class-out/roster-9-eva.pdf", "mine");
    assert!(![&first, &other].iter().any(|said| said.contains("earlier run")), "{first}{other}");
    let before: Vec<String> = bench.files("class-out").into_keys().collect();
    let said = run("roster.csv", "Anna\nCleo\n", &["--each"]);
    assert_eq!(bench.files("class-out").len(), before.len() + 1);
    let wanted: Vec<&String> = before
        .iter()
        .filter(|n| ["roster-1-", "roster-2-ben", "roster-3-cleo"].iter().any(|s| n.starts_with(s)))
        .filter(|n| *n != "roster-1-anna.pdf")
        .collect();
    assert!(
        said.contains(&format!("note: {} files of an earlier run are still in the folder", wanted.len())),
        "{said}"
    );
    let listed: Vec<&str> = said.lines().filter_map(|line| line.strip_prefix("  class-out/")).collect();
    assert_eq!(listed, wanted, "{said}");
}
