use super::{Bench, sample};

#[test]
fn a_design_comes_back_byte_for_byte_from_svg_and_pdf() {
    let bench = Bench::new("recover");
    let design = format!("# my own words: Größe ½\r\n{}", sample());
    bench.put("mine.toml", &design);
    assert_eq!(bench.run(&["templates", "mine.toml", "--out", "out"]).code, Some(0));
    let sheets = bench.files("out");
    assert!(sheets.len() >= 2);
    for name in sheets.keys() {
        let back = bench.run(&["recover", &format!("out/{name}")]);
        assert_eq!(back.code, Some(0), "{name}: {}", back.said);
        assert_eq!(back.bytes, design.as_bytes(), "{name}");
    }
    let first = format!("out/{}", sheets.keys().next().unwrap());
    assert_eq!(bench.run(&["recover", &first, "--out", "back.toml"]).code, Some(0));
    assert_eq!(bench.read("back.toml"), design.as_bytes());
    let which = bench.run(&["recover", &first, "--which", "nobody"]);
    assert!(which.code == Some(2) && which.said.contains("no design in the file is called `nobody`"), "{}", which.said);
    // What is there stays as it is.
    bench.put("back.toml", "changed");
    let again = bench.run(&["recover", &first, "--out", "back.toml"]);
    assert_eq!(again.code, Some(2));
    assert!(again.said.contains("is there already"), "{}", again.said);
    assert_eq!(bench.read("back.toml"), b"changed");
}

#[test]
fn what_is_no_sheet_is_refused_with_a_cure() {
    let bench = Bench::new("recover-refused");
    bench.put("empty", "");
    bench.put("words.txt", "a letter to nobody");
    bench.put("foreign.svg", "<svg xmlns='http://www.w3.org/2000/svg' width='9mm' height='9mm'/>");
    bench.put("cut.pdf", "%PDF-1.7\n1 0 obj");
    bench.put("photo.png", "\u{89}PNG and no more");
    bench.put("code.txt", "NOCK1:%%%%");
    for (words, wanted) in [
        (vec!["recover", "empty"], "empty"),
        (vec!["recover", "words.txt"], "neither SVG nor PDF"),
        (vec!["recover", "foreign.svg"], "carries no design"),
        (vec!["recover", "cut.pdf"], "PDF"),
        (vec!["recover", "--image", "photo.png"], "picture cannot be read"),
        (vec!["recover", "--image", "words.txt"], "picture"),
        (vec!["recover", "code.txt"], "code"),
        (vec!["recover", "not-there.pdf"], "cannot be read"),
        (vec!["recover", "."], "cannot be read"),
    ] {
        let run = bench.run(&words);
        assert_eq!(run.code, Some(2), "{words:?}: {}", run.said);
        assert!(run.said.contains(wanted), "{words:?}: {}", run.said);
        assert!(run.shown.is_empty());
    }
}

#[test]
fn a_design_is_found_by_the_students_name() {
    let bench = Bench::new("recover-names");
    bench.put("roster.csv", "number,name\n2,Anna\n7,Mary Ann\n5,Ben Smith\n,Ben Jones\n8,\n");
    assert_eq!(bench.run(&["class", "roster.csv", "base.toml", "--each"]).code, Some(0));
    assert_eq!(bench.run(&["class", "roster.csv", "base.toml"]).code, Some(0));
    let found = |which: &str| {
        let run = bench.run(&["recover", "class-out/roster.pdf", "--which", which]);
        assert_eq!(run.code, Some(0), "{which}: {}", run.said);
        run.shown.lines().find(|line| line.starts_with("name ")).unwrap_or_default().to_owned()
    };
    for (which, wanted) in [
        ("Anna", "2 Anna,"),
        ("anna", "2 Anna,"),
        ("2 Anna", "2 Anna,"),
        ("Mary Ann", "7 Mary Ann,"),
        ("Ann", "7 Mary Ann,"),
        ("Smith", "5 Ben Smith,"),
        ("3", "5 Ben Smith,"),
        ("8", "8,"),
        ("2-7-mary-ann", "7 Mary Ann,"),
    ] {
        assert!(found(which).contains(&format!("\"{wanted} Ash flatbow\"")), "{which}: {}", found(which));
    }
    // The number of a row against one in the list, and a name that two have.
    bench.put("three.csv", "number\n3\n1\n2\n");
    assert_eq!(bench.run(&["class", "three.csv", "base.toml"]).code, Some(0));
    for (file, which, listed) in [
        ("class-out/roster.pdf", "Ben", vec!["3 3-5-ben-smith.toml (5 Ben Smith,", "4 4-ben-jones.toml (Ben Jones,"]),
        ("class-out/three.pdf", "1", vec!["1 1-3.toml (3,", "2 2-1.toml (1,"]),
    ] {
        let run = bench.run(&["recover", file, "--which", which]);
        assert!(run.code == Some(2) && run.said.contains("2 designs in the file can be meant"), "{}", run.said);
        assert!(listed.iter().all(|one| run.said.contains(one)) && run.shown.is_empty(), "{}", run.said);
    }
    for (which, code) in [("Anna", 0), ("nobody", 2), ("", 2)] {
        let run = bench.run(&["recover", "class-out/roster-1-2-anna.pdf", "--which", which]);
        assert_eq!(run.code, Some(code), "{which}: {}", run.said);
    }
}
