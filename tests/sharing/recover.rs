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
