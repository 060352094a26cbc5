//! Files that are not what they should be: each gives a refusal that says why.

use std::io::Write;

use super::{designs, sheets, written_pdf, written_svg};
use lopdf::{Document, Object, Stream, dictionary};
use nockwright::carried::{MOST_TEXT, pack, recover};

fn refused(bytes: &[u8], what: &str) {
    let fault = recover(bytes).expect_err(what);
    assert!(fault.what.contains(what), "{what}: {}", fault.what);
    assert!(!fault.why.is_empty());
}

#[test]
fn truncated_files_are_refused() {
    let (name, design) = designs().swap_remove(0);
    let set = sheets(&name, &design);
    let (svg, pdf) = (written_svg(&set), written_pdf(&set));
    for share in [1, 5, 9] {
        refused(&svg.as_bytes()[..svg.len() * share / 10], "not whole");
        assert!(recover(&pdf[..pdf.len() * share / 10]).is_err());
    }
    refused(b"", "empty");
}

#[test]
fn altered_files_are_refused() {
    let (name, design) = designs().swap_remove(0);
    let set = sheets(&name, &design);
    refused(
        written_svg(&set).replacen("Ash flatbow, an invented", "Ash flatbow, an altered", 1).as_bytes(),
        "was changed",
    );
    let mut document = Document::load_mem(&written_pdf(&set)).unwrap();
    for object in document.objects.values_mut() {
        if let Object::Stream(stream) = object
            && stream.dict.get(b"Type").and_then(Object::as_name).is_ok_and(|n| n == b"EmbeddedFile")
        {
            let mut text = stream.get_plain_content().unwrap();
            text[20] ^= 1;
            *stream = Stream::new(stream.dict.clone(), text);
            stream.dict.remove(b"Filter");
        }
    }
    let mut bytes = Vec::new();
    document.save_to(&mut bytes).unwrap();
    refused(&bytes, "was changed");
}

#[test]
fn foreign_files_are_refused() {
    refused(b"<svg xmlns='http://www.w3.org/2000/svg' width='1mm' height='1mm'/>", "carries no design");
    refused(b"<html><p>", "not whole");
    refused(b"\x00\x01\x02", "neither SVG nor PDF");
    refused("NOCK1:GRÜN".as_bytes(), "letters");
    refused(b"NOCK1:", "cut short");
    let mut foreign = Document::with_version("1.7");
    let pages = foreign.add_object(dictionary! { "Type" => "Pages", "Kids" => Vec::<Object>::new(), "Count" => 0 });
    let catalog = foreign.add_object(dictionary! { "Type" => "Catalog", "Pages" => pages });
    foreign.trailer.set("Root", catalog);
    let mut bytes = Vec::new();
    foreign.save_to(&mut bytes).unwrap();
    refused(&bytes, "carries no design");
}

/// Zeros, deflated: a thousandth of their size.
fn squeezed(size: usize) -> Vec<u8> {
    miniz_oxide::deflate::compress_to_vec_zlib(&vec![b' '; size], 9)
}

#[test]
fn bombs_are_not_unpacked() {
    // In XML: entities within entities.
    refused(
        b"<!DOCTYPE svg [<!ENTITY a 'aaaaaaaaaa'><!ENTITY b '&a;&a;&a;&a;'>]><svg xmlns='http://www.w3.org/2000/svg'>&b;</svg>",
        "document type",
    );
    // In a PDF: an attachment, then a bundle of objects.
    let (name, design) = designs().swap_remove(0);
    let mut document = Document::load_mem(&written_pdf(&sheets(&name, &design))).unwrap();
    let bomb = squeezed(64 << 20);
    for object in document.objects.values_mut() {
        if let Object::Stream(stream) = object
            && stream.dict.get(b"Type").and_then(Object::as_name).is_ok_and(|n| n == b"EmbeddedFile")
        {
            let mut dict = stream.dict.clone();
            dict.set("Filter", "FlateDecode");
            *stream = Stream::new(dict, bomb.clone());
        }
    }
    let mut bytes = Vec::new();
    document.save_to(&mut bytes).unwrap();
    refused(&bytes, "too long");

    let mut bundle = Vec::new();
    write!(bundle, "%PDF-1.7\n1 0 obj\n<</Type/ObjStm/N 1/First 4/Filter/FlateDecode/Length {}>>stream\n", bomb.len())
        .unwrap();
    bundle.extend(&bomb);
    write!(bundle, "\nendstream\nendobj\ntrailer\n<</Size 2/Root 1 0 R>>\nstartxref\n0\n%%EOF").unwrap();
    assert!(recover(&bundle).is_err());
    refused("%PDF-1.7\nObjStm".replace("ObjStm", &"ObjStm ".repeat(600)).as_bytes(), "bundles");

    // In a code.
    refused(pack(&"a".repeat(MOST_TEXT + 1)).as_bytes(), "too long");

    // A picture that claims to be huge.
    let mut png = Vec::new();
    let mut encoder = png::Encoder::new(&mut png, 60_000, 60_000);
    encoder.set_color(png::ColorType::Grayscale);
    encoder.write_header().unwrap().write_chunk(png::chunk::IDAT, &[]).unwrap();
    refused(&png, "picture");
}

#[test]
fn names_inside_files_are_only_shown() {
    let set = sheets("../../etc/passwd.toml", "a = 1\n");
    for bytes in [written_svg(&set).into_bytes(), written_pdf(&set)] {
        assert_eq!(recover(&bytes).unwrap()[0].text, b"a = 1\n");
    }
}
