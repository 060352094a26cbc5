use super::Bench;
use lopdf::{Document, Object};

/// The sample's sheets, and the text of the first SVG.
fn sheets(name: &str) -> (Bench, String) {
    let bench = Bench::new(name);
    assert_eq!(bench.run(&["templates", "base.toml", "--out", "out"]).code, Some(0));
    let first = bench.files("out").into_iter().find(|(name, _)| name.ends_with("-1.svg")).unwrap().1;
    (bench, String::from_utf8(first).unwrap())
}

fn pdf(bench: &Bench) -> Document {
    let bytes = bench.files("out").into_iter().find(|(name, _)| name.ends_with(".pdf")).unwrap().1;
    Document::load_mem(&bytes).unwrap()
}

#[test]
fn sheets_as_written_are_true_and_say_what_made_them() {
    let (bench, _) = sheets("verify-true");
    for name in bench.files("out").keys() {
        let run = bench.run(&["verify", &format!("out/{name}")]);
        assert_eq!(run.code, Some(0), "{name}: {}", run.shown);
        for wanted in [
            "Nockwright 0.",
            "base.toml, whole and unchanged",
            "as it was written",
            "the sheet is true: print at 100 %",
        ] {
            assert!(run.shown.contains(wanted), "{name}: {}", run.shown);
        }
    }
}

#[test]
fn shrunk_sheets_are_not_true() {
    let (bench, svg) = sheets("verify-shrunk");
    // Another width for the same view box: 0.1 mm on 100 mm is found, half of that too little to matter is not.
    for (width, height, found) in [("209.79", "296.703", true), ("197.6", "279.4", true), ("209.958", "296.94", false)]
    {
        bench.put(
            "shrunk.svg",
            &svg.replace("\"210mm\"", &format!("\"{width}mm\"")).replace("\"297mm\"", &format!("\"{height}mm\"")),
        );
        let run = bench.run(&["verify", "shrunk.svg"]);
        assert_eq!(run.shown.contains("NOT TRUE"), found, "{width}: {}", run.shown);
        assert_eq!(run.shown.contains("the bars are true, but"), !found, "{width}: {}", run.shown);
        // Another size is a change, true bars or not.
        assert!(run.code == Some(1) && run.shown.contains("CHANGED"), "{width}: {}", run.shown);
    }
    let mut document = pdf(&bench);
    for page in document.get_pages().into_values().collect::<Vec<_>>() {
        let content = document.get_page_content(page);
        let shrunk = [b"q 0.97 0 0 0.97 0 0 cm\n".to_vec(), content, b"\nQ".to_vec()].concat();
        document.change_page_content(page, shrunk).unwrap();
    }
    document.save(bench.path("shrunk.pdf")).unwrap();
    let run = bench.run(&["verify", "shrunk.pdf"]);
    assert_eq!(run.code, Some(1), "{}", run.shown);
    assert!(run.shown.contains("97.00") && run.shown.contains("CHANGED") && run.code == Some(1), "{}", run.shown);
}

#[test]
fn edited_sheets_are_told_from_those_that_are_only_saved_again() {
    let (bench, svg) = sheets("verify-edited");
    let changed = |name: &str, text: &str| {
        bench.put(name, text);
        bench.run(&["verify", name])
    };
    let word = svg.replacen("Side view", "Side  view", 1).replacen(">Upper", ">Uppor", 1).replacen(">Both", ">Boht", 1);
    assert_ne!(word, svg);
    let run = changed("word.svg", &word);
    assert!(run.shown.contains("CHANGED since it was written") && run.code == Some(1), "{}", run.shown);
    // A stroke taken out.
    let start = svg.find("<path ").unwrap();
    let end = start + svg[start..].find("/>").unwrap() + 2;
    let run = changed("stroke.svg", &format!("{}{}", &svg[..start], &svg[end..]));
    assert!(run.shown.contains("CHANGED") && run.code == Some(1), "{}", run.shown);
    // The design inside altered: the drawing is as it was, the design is not.
    let run = changed("design.svg", &svg.replacen("6 1/4 in", "6 1/2 in", 1));
    assert!(run.shown.contains("none:") && run.shown.contains("was changed"), "{}", run.shown);
    assert!(run.code == Some(1) && run.shown.contains("drawing   as it was written"), "{}", run.shown);
    // Another program's spelling of the same drawing.
    let again =
        svg.replace("\"/>", "\" />").replacen("<svg ", "<?xml version=\"1.0\"?>\n<!-- saved again -->\n<svg ", 1);
    let run = changed("again.svg", &again);
    assert!(run.shown.contains("as it was written") && run.code == Some(0), "{}", run.shown);
    // The same of a PDF: packed anew by another writer of PDF, then with a word changed.
    let mut document = pdf(&bench);
    document.renumber_objects();
    document.compress();
    document.save(bench.path("again.pdf")).unwrap();
    let run = bench.run(&["verify", "again.pdf"]);
    assert!(run.shown.contains("as it was written") && run.code == Some(0), "{}", run.shown);
    let page = *document.get_pages().values().next().unwrap();
    let mut content = document.get_page_content(page);
    content.extend(b"\n0 0 m 100 100 l S");
    document.change_page_content(page, content).unwrap();
    document.save(bench.path("edited.pdf")).unwrap();
    let run = bench.run(&["verify", "edited.pdf"]);
    assert!(run.shown.contains("CHANGED") && run.code == Some(1), "{}", run.shown);
}

#[test]
fn sheets_without_bars_or_of_others_are_not_taken_for_true() {
    let (bench, svg) = sheets("verify-foreign");
    let start = svg.find("<g id=\"bar-100-mm-up\"").unwrap();
    let end = start + svg[start..].find("</g>\n</g>").or_else(|| svg[start..].find("</g></g>")).unwrap_or(40);
    bench.put("barless.svg", &format!("{}{}", &svg[..start], svg[start..end].replacen("bar", "x", 1) + &svg[end..]));
    bench.put("foreign.svg", "<svg xmlns='http://www.w3.org/2000/svg' width='210mm' height='297mm' viewBox='0 0 210 297'><path d='M0 0L100 0'/></svg>");
    let run = bench.run(&["verify", "foreign.svg"]);
    assert_eq!(run.code, Some(1));
    assert!(run.shown.contains("0 of 4 found") && run.shown.contains("has no seal"), "{}", run.shown);
    // Our own bars, and nothing that vouches for the rest.
    let start = svg.find("<metadata").unwrap();
    let end = start + svg[start..].find("</metadata>").unwrap() + "</metadata>".len();
    bench.put("noseal.svg", &format!("{}{}", &svg[..start], &svg[end..]));
    let run = bench.run(&["verify", "noseal.svg"]);
    assert!(run.code == Some(1) && run.shown.contains("cannot be vouched for"), "{}", run.shown);
    assert!(!run.shown.contains("the sheet is true"), "{}", run.shown);
    // The reader looks at lines, not at names: a renamed group changes nothing.
    assert_eq!(bench.run(&["verify", "barless.svg"]).code, Some(0));
    let mut foreign = Document::with_version("1.4");
    let pages =
        foreign.add_object(lopdf::dictionary! { "Type" => "Pages", "Kids" => Vec::<Object>::new(), "Count" => 0 });
    let catalog = foreign.add_object(lopdf::dictionary! { "Type" => "Catalog", "Pages" => pages });
    foreign.trailer.set("Root", catalog);
    foreign.save(bench.path("foreign.pdf")).unwrap();
    assert_ne!(bench.run(&["verify", "foreign.pdf"]).code, Some(0));
    for (name, text) in [("words.txt", "words"), ("empty.pdf", ""), ("cut.svg", &svg[..svg.len() / 2])] {
        bench.put(name, text);
        let run = bench.run(&["verify", name]);
        assert_eq!(run.code, Some(2), "{name}: {} {}", run.shown, run.said);
    }
}
