//! Other programs measure the files that the writers made: usvg and resvg the SVG, lopdf the PDF.
//!
//! The sheets are of invented pieces, with every kind of annotation, on every paper. They are also put into the target
//! folder, where `tests/programs/measure_sheets.py` measures them again with programs that are not written in Rust.

// A test that cannot go on should stop.
#![allow(clippy::unwrap_used)]

mod demo;
mod pdf;
mod svg;

use nockwright::sheets::SheetSet;
use nockwright::sheets::paper::PAPERS;
use nockwright::template::Template;
use nockwright::template::legible::crossed_texts;
use nockwright::writers::{WRITERS, files};

/// Bytes of one format's files.
fn written(name: &str, set: &SheetSet) -> Vec<(String, Vec<u8>)> {
    let writer = WRITERS.iter().find(|w| w.name == name).unwrap();
    (writer.write)(set).unwrap()
}

#[test]
fn two_runs_write_the_same_bytes() {
    for paper in PAPERS {
        for writer in &WRITERS {
            assert!((writer.write)(&demo::sheets(paper)) == (writer.write)(&demo::sheets(paper)), "{}", writer.name);
        }
    }
}

#[test]
fn every_writer_knows_its_own_files_and_no_other() {
    let set = demo::sheets(PAPERS[0]);
    for writer in &WRITERS {
        for (_, bytes) in (writer.write)(&set).unwrap() {
            for other in &WRITERS {
                assert_eq!((other.made)(&bytes), other.name == writer.name);
            }
        }
        assert!(
            !(writer.made)(b"<svg xmlns=\"http://www.w3.org/2000/svg\"/>")
                && !(writer.made)(b"%PDF-1.7\n")
                && !(writer.made)(b"")
        );
    }
}

#[test]
fn no_text_on_a_page_is_run_into() {
    for paper in PAPERS {
        for page in demo::sheets(paper).pages {
            let mut all = Template::new("page");
            page.parts.into_iter().for_each(|part| all.add(part));
            assert_eq!(crossed_texts(&all), Vec::<String>::new(), "{}", page.name);
        }
    }
}

#[test]
fn sheets_are_saved_for_other_programs() {
    for paper in PAPERS {
        let folder = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join("sheets").join(paper.name);
        let set = demo::sheets(paper);
        let files: Vec<_> = WRITERS.iter().flat_map(|w| (w.write)(&set).unwrap()).collect();
        let saved = files::save(&folder, &files::file_stem(&set.title.bow), &files).unwrap();
        assert_eq!(saved.written.len(), set.pages.len() + 1);
        std::fs::write(folder.join("design.toml"), &set.attachments[0].text).unwrap();
    }
}
