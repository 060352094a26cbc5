//! The PDF as lopdf reads it.

use lopdf::content::Content;
use lopdf::{Document, Object};
use nockwright::font;
use nockwright::sheets::paper::PAPERS;

use crate::demo;
use crate::written;

const PER_MM: f64 = 72.0 / 25.4;

fn document(set: &nockwright::sheets::SheetSet) -> Document {
    Document::load_mem(&written("pdf", set)[0].1).unwrap()
}

fn number(object: &Object) -> f64 {
    match object {
        Object::Integer(i) => *i as f64,
        Object::Real(r) => f64::from(*r),
        other => panic!("not a number: {other:?}"),
    }
}

/// The longest straight stroke drawn within marked content of that tag: its lengths across and up, mm.
fn longest(content: &Content, tag: &str) -> (f64, f64) {
    let mut open: Vec<Vec<u8>> = Vec::new();
    let (mut last, mut found) = ((0.0, 0.0), (0.0_f64, 0.0_f64));
    for operation in &content.operations {
        let numbers = || operation.operands.iter().map(number).collect::<Vec<_>>();
        match operation.operator.as_str() {
            "cm" => panic!("lengths would need to be transformed"),
            "BMC" | "BDC" => open.push(operation.operands[0].as_name().unwrap().to_vec()),
            "EMC" => assert!(open.pop().is_some()),
            "m" => last = (numbers()[0], numbers()[1]),
            "l" => {
                let here = (numbers()[0], numbers()[1]);
                let way = ((here.0 - last.0).abs() / PER_MM, (here.1 - last.1).abs() / PER_MM);
                if open.iter().any(|t| t == tag.as_bytes()) && way.0.max(way.1) > found.0.max(found.1) {
                    found = way;
                }
                last = here;
            }
            _ => {}
        }
    }
    assert!(open.is_empty());
    found
}

#[test]
fn pages_and_bars_measure_true() {
    for paper in PAPERS {
        let document = document(&demo::sheets(paper));
        assert_eq!(document.version, "1.7");
        for (_, page) in document.get_pages() {
            let media = document.get_dictionary(page).unwrap().get(b"MediaBox").unwrap().as_array().unwrap();
            let media: Vec<f64> = media.iter().map(number).collect();
            assert_eq!(media[..2], [0.0, 0.0]);
            assert!((media[2] / PER_MM - paper.width).abs() < 1e-4 && (media[3] / PER_MM - paper.height).abs() < 1e-4);
            let content = Content::decode(&document.get_page_content(page)).unwrap();
            for (tag, length) in [("bar-100-mm", 100.0), ("bar-4-in", 101.6)] {
                let across = longest(&content, &format!("{tag}-across"));
                let up = longest(&content, &format!("{tag}-up"));
                assert!((across.0 - length).abs() < 0.01 && across.1 < 1e-3, "{tag}: {across:?}");
                assert!((up.1 - length).abs() < 0.01 && up.0 < 1e-3, "{tag}: {up:?}");
            }
        }
    }
}

#[test]
fn viewers_are_asked_not_to_scale() {
    let document = document(&demo::sheets(PAPERS[0]));
    let wishes = document.catalog().unwrap().get(b"ViewerPreferences").unwrap().as_dict().unwrap();
    assert_eq!(wishes.get(b"PrintScaling").unwrap().as_name().unwrap(), b"None");
    let enforced = wishes.get(b"Enforce").unwrap().as_array().unwrap();
    assert_eq!(enforced[0].as_name().unwrap(), b"PrintScaling");
}

#[test]
fn every_face_is_embedded_whole() {
    let document = document(&demo::sheets(PAPERS[0]));
    let mut seen = Vec::new();
    for object in document.objects.values() {
        let Ok(descriptor) = object.as_dict() else { continue };
        if descriptor.get(b"Type").and_then(Object::as_name).is_ok_and(|t| t == b"Font")
            && descriptor.has(b"DescendantFonts")
        {
            seen.push(String::from_utf8(descriptor.get(b"BaseFont").unwrap().as_name().unwrap().to_vec()).unwrap());
        }
        if descriptor.has(b"FontName") {
            let file = document.get_object(descriptor.get(b"FontFile2").unwrap().as_reference().unwrap()).unwrap();
            let bytes = file.as_stream().unwrap().get_plain_content().unwrap();
            assert!(font::TRUE_TYPE.contains(&bytes.as_slice()));
        }
    }
    seen.sort();
    assert_eq!(seen, ["NockwrightSans-Bold", "NockwrightSans-Regular"]);
}

#[test]
fn the_design_travels_whole() {
    for design in [demo::DESIGN, "a = 1\r\n\u{1}", ""] {
        let document = document(&demo::sheets_named("Bow", design, PAPERS[0]));
        let names = document.catalog().unwrap().get(b"Names").unwrap().as_dict().unwrap();
        let names = names.get(b"EmbeddedFiles").unwrap().as_dict().unwrap().get(b"Names").unwrap().as_array().unwrap();
        assert_eq!(names[0].as_str().unwrap(), b"invented.toml");
        let specification = document.get_dictionary(names[1].as_reference().unwrap()).unwrap();
        let file = specification.get(b"EF").unwrap().as_dict().unwrap().get(b"F").unwrap().as_reference().unwrap();
        let bytes = document.get_object(file).unwrap().as_stream().unwrap().get_plain_content().unwrap();
        assert_eq!(bytes, design.as_bytes());
    }
}

#[test]
fn no_clock_and_no_chance_goes_in() {
    let bytes = written("pdf", &demo::sheets(PAPERS[0])).remove(0).1;
    for sign in ["CreationDate", "ModDate", "GTS_PDFX", "printpdf"] {
        assert!(!bytes.windows(sign.len()).any(|w| w == sign.as_bytes()), "{sign}");
    }
}

#[test]
fn hostile_names_stay_words() {
    let document = document(&demo::sheets_named(demo::HOSTILE, demo::DESIGN, PAPERS[0]));
    let info = document.get_dictionary(document.trailer.get(b"Info").unwrap().as_reference().unwrap()).unwrap();
    let bytes = info.get(b"Title").unwrap().as_str().unwrap();
    let units: Vec<u16> = bytes[2..].chunks(2).map(|b| u16::from_be_bytes([b[0], b[1]])).collect();
    let title = String::from_utf16(&units).unwrap();
    assert!(title.starts_with("</text><script>alert(\"1\")</script> & 'Öd'"), "{title}");
}
