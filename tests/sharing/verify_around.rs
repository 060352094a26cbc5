//! What is put round a drawing and changes what is printed of it, each caught by `verify`.

use super::Bench;
use lopdf::{Dictionary, Document, Object, ObjectId, dictionary};

fn bench(name: &str) -> Bench {
    let bench = Bench::new(name);
    assert_eq!(bench.run(&["templates", "base.toml", "--out", "out"]).code, Some(0));
    bench
}

fn sheet(bench: &Bench, folder: &str, ending: &str) -> Vec<u8> {
    bench.files(folder).into_iter().find(|(name, _)| name.ends_with(ending)).unwrap().1
}

/// The sheets as PDF with one change, proved: the exit code and what was shown.
fn changed(bench: &Bench, folder: &str, change: impl FnOnce(&mut Document, ObjectId)) -> (Option<i32>, String) {
    let mut document = Document::load_mem(&sheet(bench, folder, ".pdf")).unwrap();
    let second = *document.get_pages().values().nth(1).unwrap();
    change(&mut document, second);
    document.save(bench.path("changed.pdf")).unwrap();
    let run = bench.run(&["verify", "changed.pdf"]);
    (run.code, run.shown)
}

fn set(key: &'static str, value: impl Into<Object>) -> impl FnOnce(&mut Document, ObjectId) {
    let value = value.into();
    move |document, page| document.get_dictionary_mut(page).unwrap().set(key, value)
}

fn numbers(numbers: [f32; 4]) -> Vec<Object> {
    numbers.into_iter().map(Object::Real).collect()
}

fn parent(document: &mut Document, page: ObjectId) -> &mut Dictionary {
    let above = document.get_dictionary(page).unwrap().get(b"Parent").unwrap().as_reference().unwrap();
    document.get_dictionary_mut(above).unwrap()
}

fn note(kind: &'static str) -> Dictionary {
    dictionary! { "Type" => "Annot", "Subtype" => kind, "Rect" => numbers([100.0, 100.0, 300.0, 300.0]) }
}

/// A4 in points, as the sheets have it.
const A4: [f32; 4] = [0.0, 0.0, 595.2756, 841.8898];

#[test]
fn crops_turns_units_and_notes_are_caught_and_the_drawing_is_still_told_unchanged() {
    let bench = bench("verify-around");
    let (code, shown) = changed(&bench, "out", |_, _| {});
    assert!(code == Some(0) && shown.contains("none is cropped, turned or in other units, and no note"), "{shown}");
    let half = A4.map(|side| side / 2.0);
    type Change = Box<dyn FnOnce(&mut Document, ObjectId)>;
    let cases: Vec<(&str, Change)> = vec![
        ("sheet 2: CROPPED to 105 × 149 mm of 210 × 297 mm", Box::new(set("CropBox", numbers(half)))),
        // One side alone, by a millimetre; corners the other way round.
        ("sheet 2: CROPPED to 209 × 297 mm", Box::new(set("CropBox", numbers([A4[2] - 2.835, A4[3], 0.0, 0.0])))),
        ("sheet 2: CROPPED to 0 × 0 mm", Box::new(set("CropBox", numbers([900.0, 900.0, 1000.0, 1000.0])))),
        ("sheet 1: CROPPED", Box::new(move |d, p| parent(d, p).set("CropBox", numbers(half)))),
        (
            "sheet 2: CROPPED",
            Box::new(move |d, p| {
                let crop = d.add_object(numbers(half));
                set("CropBox", crop)(d, p);
            }),
        ),
        ("sheet 2: TURNED by 90°", Box::new(set("Rotate", 90))),
        ("sheet 2: TURNED by 270°", Box::new(set("Rotate", -90))),
        ("sheet 1: TURNED by 180°", Box::new(|d, p| parent(d, p).set("Rotate", 180))),
        ("sheet 2: 1 NOTE lies on the drawing (Square)", Box::new(set("Annots", vec![note("Square").into()]))),
        (
            "sheet 2: 2 NOTES lie on the drawing (FreeText, Ink)",
            Box::new(|d, p| {
                let notes = ["FreeText", "Ink"].map(|kind| d.add_object(note(kind)).into()).to_vec();
                let notes = d.add_object(notes);
                set("Annots", notes)(d, p);
            }),
        ),
    ];
    for (wanted, change) in cases {
        let (code, shown) = changed(&bench, "out", change);
        assert_eq!(code, Some(1), "{wanted}: {shown}");
        assert!(shown.contains(wanted), "{wanted}: {shown}");
        assert!(shown.contains("as it was written") && shown.contains("do not cut from it"), "{wanted}: {shown}");
        assert!(shown.contains("bars are true") && !shown.contains("none is cropped"), "{wanted}: {shown}");
    }
}

#[test]
fn what_changes_nothing_in_print_is_no_finding() {
    let bench = bench("verify-around-idle");
    type Change = Box<dyn FnOnce(&mut Document, ObjectId)>;
    let cases: Vec<Change> = vec![
        Box::new(set("CropBox", numbers(A4))),
        Box::new(set("CropBox", numbers([-50.0, -50.0, 900.0, 900.0]))),
        Box::new(set("Annots", Vec::<Object>::new())),
        Box::new(set("Rotate", 360)),
        Box::new(set("UserUnit", 1)),
        // The page's size said once for all pages.
        Box::new(|d, p| {
            let media = d.get_dictionary_mut(p).unwrap().remove(b"MediaBox").unwrap();
            parent(d, p).set("MediaBox", media);
        }),
    ];
    for (number, change) in cases.into_iter().enumerate() {
        let (code, shown) = changed(&bench, "out", change);
        assert!(code == Some(0) && shown.contains("none is cropped"), "{number}: {shown}");
    }
}

#[test]
fn bars_are_measured_in_the_pages_own_units() {
    let bench = bench("verify-unit");
    let (code, shown) = changed(&bench, "out", set("UserUnit", 2));
    assert!(code == Some(1) && shown.contains("sheet 2: UNITS of 2 points"), "{shown}");
    assert!(shown.contains("sheet 2: 100.0 mm across measures 200.00 mm: 200.00 %"), "{shown}");
    assert!(!shown.contains("sheet 1: 100.0 mm"), "{shown}");
    // Drawn half as large in units twice as large: the bars are true where the units are heeded, and both are told.
    let (code, shown) = changed(&bench, "out", |document, page| {
        set("UserUnit", 2)(document, page);
        let halved = [b"q 0.5 0 0 0.5 0 0 cm\n".to_vec(), document.get_page_content(page), b"\nQ".to_vec()].concat();
        document.change_page_content(page, halved).unwrap();
    });
    assert!(code == Some(1) && shown.contains("UNITS of 2 points") && shown.contains("CHANGED"), "{shown}");
    assert!(!shown.contains("measures") && shown.contains("the bars are true, but"), "{shown}");
}

#[test]
fn a_print_setting_that_is_gone_is_a_caution_and_the_bars_stay_true() {
    let bench = bench("verify-print-setting");
    let wishes = |value: Option<&'static str>| {
        move |document: &mut Document, _: ObjectId| {
            let wishes = value.map_or(dictionary! {}, |name| dictionary! { "PrintScaling" => name });
            let wishes = document.add_object(wishes);
            document.catalog_mut().unwrap().set("ViewerPreferences", wishes);
        }
    };
    for value in [None, Some("AppDefault")] {
        let (code, shown) = changed(&bench, "out", wishes(value));
        assert!(code == Some(0) && shown.contains("printing  CAUTION"), "{shown}");
        assert!(shown.contains("the sheet is true: print at 100 %"), "{shown}");
    }
    let (code, shown) = changed(&bench, "out", |document, _| {
        document.catalog_mut().unwrap().remove(b"ViewerPreferences");
    });
    assert!(code == Some(0) && shown.contains("printing  CAUTION"), "{shown}");
    let (code, shown) = changed(&bench, "out", wishes(Some("None")));
    assert!(code == Some(0) && shown.contains("asks not to be scaled") && !shown.contains("CAUTION"), "{shown}");
}

/// A printer that stretches one way only spoils a turned page, however it was corrected.
#[test]
fn a_turned_page_meets_the_printers_stretch_the_other_way() {
    let bench = Bench::new("verify-turned-for-printer");
    let (across, up) = (0.985 * nockwright::printer::ACROSS, 1.004 * nockwright::printer::UP);
    let [a, u, d] = [across, up, across.hypot(up)].map(|mm| format!("{mm:.3} mm"));
    let run = bench.run(&["printer", "shed", "--across", &a, "--up", &u, "--rising", &d, "--falling", &d]);
    assert_eq!(run.code, Some(0), "{}", run.said);
    let run = bench.run(&["templates", "base.toml", "--printer", "shed", "--out", "out"]);
    assert_eq!(run.code, Some(0), "{}", run.said);
    assert_eq!(changed(&bench, "out", |_, _| {}).0, Some(0));
    let (code, shown) = changed(&bench, "out", set("Rotate", 90));
    assert_eq!(code, Some(1));
    // 100 mm up are drawn 100/1.004 long, and come out 0.985 of that across; and the other way.
    for wanted in ["sheet 2: 100.0 mm across measures 98.11 mm", "sheet 2: 100.0 mm up measures 101.93 mm"] {
        assert!(shown.contains(wanted), "{wanted}: {shown}");
    }
}

#[test]
fn hidden_and_restyled_parts_of_an_svg_are_caught() {
    let bench = bench("verify-hidden");
    let svg = String::from_utf8(sheet(&bench, "out", "-2.svg")).unwrap();
    for (from, to, wanted) in [
        ("<g class=\"cut\"", "<g display=\"none\" class=\"cut\"", "HIDDEN"),
        ("<g class=\"cut\"", "<g style=\"opacity:0.1\" class=\"cut\"", "HIDDEN"),
        ("<g class=\"cut\"", "<g clip-path=\"url(#c)\" class=\"cut\"", "HIDDEN"),
        ("<style>", "<style>.cut{stroke:none}", "style sheet was ADDED"),
        ("<metadata>", "<metadata><style>svg{zoom:.98}</style>", "style sheet was ADDED"),
        ("<svg ", "<?xml-stylesheet href=\"a.css\"?><svg ", "style sheet was ADDED"),
        ("<svg ", "<svg onload=\"x()\" ", "a script"),
        ("<metadata>", "<script xmlns=\"http://www.w3.org/1999/xhtml\"/><metadata>", "a script"),
        ("<metadata>", "<defs><set href=\"#a\" attributeName=\"d\"/></defs><metadata>", "a script"),
        // What is written in place of the drawing's own attributes, or beside them.
        ("<svg ", "<svg style=\"transform:scale(0.98)\" ", "CHANGED"),
        ("<svg ", "<svg style=\"width:200mm\" ", "CHANGED"),
        ("<svg ", "<svg preserveAspectRatio=\"none\" ", "CHANGED"),
        ("<g class=\"cut\"", "<g style=\"stroke:none\" class=\"cut\"", "CHANGED"),
        ("<g class=\"cut\"", "<g systemLanguage=\"xx\" class=\"cut\"", "CHANGED"),
        ("<text ", "<text dx=\"30\" ", "CHANGED"),
    ] {
        assert!(svg.contains(from));
        bench.put("changed.svg", &svg.replacen(from, to, 1));
        let run = bench.run(&["verify", "changed.svg"]);
        assert!(run.code == Some(1) && run.shown.contains(wanted), "{to}: {}", run.shown);
        assert!(run.shown.contains("do not cut from it"), "{to}: {}", run.shown);
    }
    bench.put("same.svg", &svg);
    let run = bench.run(&["verify", "same.svg"]);
    assert!(run.code == Some(0) && run.shown.contains("nothing on it is hidden"), "{}", run.shown);
}
