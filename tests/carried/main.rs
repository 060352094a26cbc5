//! The design comes back from its sheets: from SVG and PDF, and from the code on the printed page.
//!
//! Also what must not work: truncated, altered, blown-up and foreign files.
#![allow(clippy::unwrap_used)]

mod clear_border;
mod hostile;
mod photo;

use nockwright::carried::code::Code;
use nockwright::carried::{Carried, recover};
use nockwright::sheets::paper::A4;
use nockwright::sheets::{Attachment, Piece, SheetSet, SheetTitle, lay_out};
use nockwright::template::{Role, Template};
use nockwright::writers::{pdf, svg};

/// All sample designs, and texts that a writer could stumble over.
fn designs() -> Vec<(String, String)> {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    let mut all: Vec<(String, String)> = std::fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap().path())
        .filter(|p| p.extension().is_some_and(|e| e == "toml"))
        .map(|p| (p.file_name().unwrap().to_str().unwrap().to_owned(), std::fs::read_to_string(&p).unwrap()))
        .collect();
    all.sort();
    assert!(all.len() >= 5);
    for (name, text) in [
        ("crlf.toml", "a = 1\r\n# Größe ½ 弓\r\n"),
        ("control.toml", "a = 1\n\u{1}\u{FFFF}"),
        ("markup.toml", "# </metadata> ]]> & <!-- drawing=\"unsealed\" -->\n  a = '<b>'  \n\n"),
        ("empty.toml", ""),
    ] {
        all.push((name.into(), text.into()));
    }
    all
}

fn sheets(name: &str, design: &str) -> SheetSet {
    let mut square = Template::new("square");
    square.line(Role::Cut, kurbo::Shape::to_path(&kurbo::Rect::new(0.0, 0.0, 50.0, 50.0), 0.1));
    let mut pieces = vec![Piece::new(square)];
    pieces.splice(..0, Code::of(design).as_ref().map(Code::piece));
    let title = SheetTitle {
        bow: name.into(),
        digest: "ABCD-2345".into(),
        program: "Nockwright 9.9".into(),
        ..SheetTitle::default()
    };
    lay_out(title, A4, pieces, Attachment { file_name: name.into(), text: design.into() }).unwrap()
}

fn written_svg(set: &SheetSet) -> String {
    String::from_utf8(svg::write(set).unwrap().remove(0).1).unwrap()
}

fn written_pdf(set: &SheetSet) -> Vec<u8> {
    pdf::write(set).unwrap().remove(0).1
}

fn only(found: Vec<Carried>) -> Carried {
    assert_eq!(found.len(), 1);
    found.into_iter().next().unwrap()
}

#[test]
fn every_design_comes_back_byte_for_byte_from_svg_and_pdf() {
    for (name, design) in designs() {
        let set = sheets(&name, &design);
        for bytes in [written_svg(&set).into_bytes(), written_pdf(&set)] {
            let back = only(recover(&bytes).unwrap_or_else(|f| panic!("{name}: {}", f.what)));
            assert_eq!(back.text, design.as_bytes(), "{name}");
            assert!(back.whole && back.file_name == name);
        }
    }
}

#[test]
fn a_class_of_designs_comes_back_in_order() {
    let mut set = sheets("b.toml", "b = 1\n");
    set.attachments.push(Attachment { file_name: "a.toml".into(), text: "a = 1\n".into() });
    let found = recover(&written_pdf(&set)).unwrap();
    assert_eq!(found.iter().map(|d| d.file_name.as_str()).collect::<Vec<_>>(), ["a.toml", "b.toml"]);
}

#[test]
fn metadata_that_another_program_wrote_again_still_give_the_design() {
    // Other quotes, other order, another prefix, entities for letters: the same XML to every reader.
    let (name, design) = designs().swap_remove(0);
    let again = written_svg(&sheets(&name, &design))
        .replace("nockwright:design", "nw:design")
        .replace("xmlns:nockwright=", "xmlns:nw=")
        .replace("encoding=\"text\"", "encoding='text'")
        .replacen("Ash", "&#65;sh", 40);
    let text = format!("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<!-- saved again -->\n{again}");
    assert_eq!(only(recover(text.as_bytes()).unwrap()).text, design.as_bytes());
}
