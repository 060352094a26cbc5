//! A PDF read by lopdf: page boxes, and the strokes of every page with all transforms.

use kurbo::{Affine, Point};
use lopdf::content::Content;
use lopdf::{Dictionary, Document, Object};

use super::around::{self, number};
use super::{Proof, Stroke, bars};
use crate::carried::{self, inherited, open_pdf, text_string};
use crate::fault::Fault;
use crate::printer::PrinterMap;
use crate::seal::{self, drawing::MOST_CONTENT};

/// Forms within forms that are followed.
const DEEPEST: usize = 8;

pub fn proof(bytes: &[u8]) -> Result<Proof, Fault> {
    let document = open_pdf(bytes)?;
    let info = document.trailer.get(b"Info").ok().and_then(|o| document.dereference(o).ok()).map(|(_, o)| o);
    let info = info.and_then(|o| o.as_dict().ok());
    let said = |key: &[u8]| {
        let object = info.and_then(|d| d.get(key).ok()).and_then(|o| document.dereference(o).ok());
        object.and_then(|(_, o)| o.as_str().ok().map(text_string)).unwrap_or_default()
    };
    let printer = PrinterMap::from_numbers(&said(b"NockwrightMap")).map(|map| (said(b"NockwrightPrinter"), map));
    let kept = said(b"NockwrightDrawing");
    let (mut pages, mut around) = (Vec::new(), Vec::new());
    for (number, (_, page)) in document.get_pages().into_iter().enumerate() {
        let mut strokes = Vec::new();
        // As it is printed: a turned page meets the printer's stretch the other way.
        let turn = Affine::rotate(-(around::turned(&document, page) as f64).to_radians());
        let scale = turn * Affine::scale(25.4 / 72.0 * around::user_unit(&document, page));
        let content = document.get_page_content_with_limit(page, MOST_CONTENT).unwrap_or_default();
        let resources = inherited(&document, page, b"Resources").and_then(|o| o.as_dict().ok());
        collect(&document, &content, resources, scale, 0, &mut strokes);
        pages.push(bars::find(&strokes));
        around.extend(around::of_page(&document, page).into_iter().map(|found| (number, found)));
    }
    Ok(Proof {
        // Another program that saved the file again may have put its own name to it; ours stands as creator.
        program: said(b"Creator"),
        digest: said(b"NockwrightDigest"),
        designs: carried::from_pdf(bytes).map(|all| all.into_iter().map(|c| c.file_name).collect()),
        printer,
        untouched: (!kept.is_empty()).then(|| kept == seal::drawing::of_pdf(&document)),
        pages,
        around,
        asks_unscaled: Some(around::asks_unscaled(&document)),
    })
}

fn collect(
    document: &Document,
    content: &[u8],
    resources: Option<&Dictionary>,
    place: Affine,
    depth: usize,
    strokes: &mut Vec<Stroke>,
) {
    let Ok(content) = Content::decode(content) else { return };
    let mut kept = Vec::new();
    let mut now = place;
    let mut last = Point::ZERO;
    for operation in &content.operations {
        if strokes.len() > bars::MOST_STROKES {
            return;
        }
        let numbers: Vec<f64> = operation.operands.iter().filter_map(number).collect();
        match (operation.operator.as_str(), numbers.as_slice()) {
            ("q", _) => kept.push(now),
            ("Q", _) => now = kept.pop().unwrap_or(place),
            ("cm", [a, b, c, d, e, f]) => now *= Affine::new([*a, *b, *c, *d, *e, *f]),
            ("m", [x, y]) => last = now * Point::new(*x, *y),
            ("l", [x, y]) => {
                let to = now * Point::new(*x, *y);
                strokes.push(Stroke { from: last, to });
                last = to;
            }
            ("c", [.., x, y]) | ("v", [.., x, y]) | ("y", [.., x, y]) => last = now * Point::new(*x, *y),
            ("Do", _) if depth < DEEPEST => {
                let form = operation.operands.first().and_then(|o| o.as_name().ok()).and_then(|name| {
                    let objects = resources?.get_deref(b"XObject", document).ok()?.as_dict().ok()?;
                    objects.get_deref(name, document).ok()?.as_stream().ok()
                });
                let Some(form) =
                    form.filter(|f| f.dict.get(b"Subtype").and_then(Object::as_name).is_ok_and(|n| n == b"Form"))
                else {
                    continue;
                };
                let own: Vec<f64> = form
                    .dict
                    .get(b"Matrix")
                    .and_then(Object::as_array)
                    .map_or(vec![], |m| m.iter().filter_map(number).collect());
                let own = <[f64; 6]>::try_from(own).map_or(Affine::IDENTITY, Affine::new);
                let inner =
                    form.dict.get_deref(b"Resources", document).ok().and_then(|o| o.as_dict().ok()).or(resources);
                if let Ok(content) = form.get_plain_content_with_limit(MOST_CONTENT) {
                    collect(document, &content, inner, now * own, depth + 1, strokes);
                }
            }
            _ => {}
        }
    }
}
