//! PDF: all sheets in one file, to print.
//!
//! Vector graphics and text with its faces embedded whole. The file asks the program that shows it not to scale
//! (PrintScaling None, enforced) and to pick the paper by the page's size. Every piece is marked content under its name,
//! every role within it under the role's; nothing hides on a layer, for many programs cannot show one.
//! The design is attached as a file. No clock and no chance goes in: equal sheets give equal bytes.

use kurbo::{BezPath, PathEl, Shape};
use lopdf::{Object, Stream, StringFormat, dictionary};
use printpdf::{
    Color, CurTransMat, FontId, Greyscale, Line, LineCapStyle, LineDashPattern, LineJoinStyle, LinePoint, Op,
    PaintMode, ParsedFont, PdfDocument, PdfFontHandle, PdfPage, PdfSaveOptions, Point, Polygon, PolygonRing, Pt,
    TextItem, TextMatrix, WindingOrder,
};

use super::number::points;
use super::{Written, document_title, slugs};
use crate::fault::Fault;
use crate::font;
use crate::printer::Correction;
use crate::sheets::{Attachment, Page, SheetSet};
use crate::template::{Anchor, Figure, Item, Template, look::LOOKS};

/// What the file says it was made by; also the sign that this program made it.
const PRODUCER: &str = "Nockwright sheets";

/// Whether these bytes are sheets made by this program.
pub fn made(bytes: &[u8]) -> bool {
    let sign = format!("/Producer({PRODUCER})");
    bytes.starts_with(b"%PDF-") && bytes.windows(sign.len()).any(|w| w == sign.as_bytes())
}

/// Writes all sheets into one file.
pub fn write(set: &SheetSet) -> Result<Written, Fault> {
    let failed =
        |why: String| Fault::at("", format!("the PDF could not be made: {why}"), "this is an error in the program");
    let mut pdf = PdfDocument::new("");
    for bold in [0, 1] {
        let mut remarks = Vec::new();
        let mut face = ParsedFont::from_bytes(font::TRUE_TYPE[bold], 0, &mut remarks)
            .ok_or_else(|| failed("its face could not be read".into()))?;
        face.font_name = Some(font::POSTSCRIPT_NAMES[bold].to_owned());
        pdf.resources.fonts.map.insert(font_id(bold == 1), printpdf::PdfFont::new(face));
    }
    pdf.pages = set.pages.iter().map(|p| page(p, set.title.correction.as_ref())).collect();
    let mut remarks = Vec::new();
    let mut document = pdf.to_lopdf_document(&PdfSaveOptions::default(), &mut remarks);
    if let Some(remark) = remarks.iter().find(|r| r.severity == printpdf::PdfParseErrorSeverity::Error) {
        return Err(failed(remark.msg.clone()));
    }
    finish(&mut document, set).map_err(|e| failed(e.to_string()))?;
    document.compress();
    let mut bytes = Vec::new();
    document.save_to(&mut bytes).map_err(|e| failed(e.to_string()))?;
    Ok(vec![(".pdf".to_owned(), bytes)])
}

fn font_id(bold: bool) -> FontId {
    FontId(if bold { "Bold" } else { "Regular" }.to_owned())
}

/// Puts in what the document needs besides its pages, and takes out what would differ from run to run.
fn finish(document: &mut lopdf::Document, set: &SheetSet) -> Result<(), lopdf::Error> {
    document.version = "1.7".to_owned();
    let title = document_title(set);
    let mut info = dictionary! {
        "Title" => text_string(&title),
        "Producer" => Object::string_literal(PRODUCER),
        "Creator" => text_string(&set.title.program),
        "NockwrightDigest" => text_string(&set.title.digest),
        "NockwrightDrawing" => Object::string_literal(crate::seal::drawing::of_pdf(document)),
    };
    if let Some(correction) = &set.title.correction {
        info.set("NockwrightPrinter", text_string(&correction.words()));
        info.set("NockwrightMap", Object::string_literal(correction.map.numbers()));
    }
    let info = document.add_object(info);
    // A tree of names is in the order of its names (ISO 32000-1, 7.9.6), and no two are the same.
    let mut attachments: Vec<&Attachment> = set.attachments.iter().collect();
    attachments.sort_by(|a, b| a.file_name.cmp(&b.file_name));
    let mut names: Vec<Object> = Vec::new();
    let mut specifications: Vec<Object> = Vec::new();
    for attachment in attachments {
        let name = text_string(&attachment.file_name);
        let specification = attach(document, attachment);
        names.extend([name, specification.into()]);
        specifications.push(specification.into());
    }
    let digest = fingerprint(document, set);
    let old_info = document.trailer.get(b"Info").and_then(Object::as_reference);
    if let Ok(old) = old_info {
        document.objects.remove(&old);
    }
    document.trailer.set("Info", info);
    let id = Object::String(digest.to_vec(), StringFormat::Hexadecimal);
    document.trailer.set("ID", vec![id.clone(), id]);

    let catalog = document.catalog_mut()?;
    catalog.set("PageLayout", "SinglePage");
    catalog.set(
        "ViewerPreferences",
        dictionary! {
            "PrintScaling" => "None",
            "Enforce" => vec!["PrintScaling".into()],
            "PickTrayByPDFSize" => true,
            "DisplayDocTitle" => true,
        },
    );
    if !names.is_empty() {
        catalog.set("Names", dictionary! { "EmbeddedFiles" => dictionary! { "Names" => names } });
        catalog.set("AF", specifications);
    }
    catalog.set("Lang", Object::string_literal("en"));
    for (_, page) in document.get_pages() {
        let page = document.get_dictionary_mut(page)?;
        // The media box says it all; an empty list of annotations says nothing.
        for key in ["TrimBox", "CropBox", "Annots"] {
            page.remove(key.as_bytes());
        }
    }
    Ok(())
}

/// Puts a design in as a file and answers where it stands.
fn attach(document: &mut lopdf::Document, attachment: &Attachment) -> lopdf::ObjectId {
    let text = attachment.text.as_bytes();
    let file = Stream::new(
        dictionary! {
            "Type" => "EmbeddedFile",
            "Subtype" => "application/toml",
            "Params" => dictionary! { "Size" => text.len() as i64 },
        },
        text.to_vec(),
    );
    let file = document.add_object(file);
    let name = text_string(&attachment.file_name);
    document.add_object(dictionary! {
        "Type" => "Filespec",
        "F" => name.clone(),
        "UF" => name,
        "Desc" => Object::string_literal("The design these sheets were made from"),
        "AFRelationship" => "Source",
        "EF" => dictionary! { "F" => file, "UF" => file },
        "NockwrightSeal" => Object::string_literal(crate::seal::of(text)),
    })
}

/// Text outside of pages: plain where it is ASCII, else UTF-16 with its mark (ISO 32000-1, 7.9.2.2).
fn text_string(text: &str) -> Object {
    if text.chars().all(|c| c == ' ' || c.is_ascii_graphic()) {
        return Object::string_literal(text);
    }
    let units = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect::<String>();
    let mut bytes = vec![0xFE, 0xFF];
    bytes.extend(units.encode_utf16().flat_map(u16::to_be_bytes));
    Object::String(bytes, StringFormat::Hexadecimal)
}

/// Sixteen bytes that stand for the content (FNV-1a with 128 bits).
fn fingerprint(document: &lopdf::Document, set: &SheetSet) -> [u8; 16] {
    let mut hash: u128 = 0x6c62_272e_07bb_0142_62b8_2175_6295_c58d;
    let mut take = |bytes: &[u8]| {
        for byte in bytes {
            hash = (hash ^ u128::from(*byte)).wrapping_mul(0x0000_0000_0100_0000_0000_0000_0000_013B);
        }
    };
    for object in document.objects.values() {
        if let Object::Stream(stream) = object {
            take(&stream.content);
        }
    }
    take(set.title.program.as_bytes());
    hash.to_be_bytes()
}

fn page(page: &Page, correction: Option<&Correction>) -> PdfPage {
    let mut ops = vec![
        Op::SetLineCapStyle { cap: LineCapStyle::Butt },
        Op::SetLineJoinStyle { join: LineJoinStyle::Round },
        Op::SetOutlineColor { col: black() },
        Op::SetFillColor { col: black() },
    ];
    if let Some(correction) = correction {
        let [a, b, c, d, x, y] = page.drawn_through(correction).as_coeffs();
        let matrix = [rounded(a), rounded(b), rounded(c), rounded(d), points(x), points(y)];
        ops.insert(0, Op::SetTransformationMatrix { matrix: CurTransMat::Raw(matrix) });
    }
    let slugs = slugs(page.parts.iter().map(|part| part.name.as_str()));
    for (part, slug) in page.parts.iter().zip(slugs) {
        ops.push(Op::BeginMarkedContent { tag: slug });
        piece(part, &mut ops);
        ops.push(Op::EndMarkedContent);
    }
    let mut made = PdfPage::new(printpdf::Mm(0.0), printpdf::Mm(0.0), ops);
    let whole = printpdf::Rect::from_xywh(Pt(0.0), Pt(0.0), Pt(points(page.width)), Pt(points(page.height)));
    (made.media_box, made.crop_box, made.trim_box) = (whole.clone(), whole.clone(), whole);
    made
}

fn black() -> Color {
    Color::Greyscale(Greyscale::new(0.0, None))
}

fn piece(part: &Template, ops: &mut Vec<Op>) {
    for look in &LOOKS {
        let items: Vec<&Item> = part.items.iter().filter(|item| item.role == look.role).collect();
        if items.is_empty() {
            continue;
        }
        ops.push(Op::BeginMarkedContent { tag: look.name.to_owned() });
        ops.push(Op::SetOutlineThickness { pt: Pt(points(look.width)) });
        let dashes: Vec<f32> = look.dashes.iter().map(|mm| points(*mm)).collect();
        ops.push(Op::SetLineDashPattern { dash: LineDashPattern::new(0.0, &dashes) });
        for item in items {
            figure(&item.figure, ops);
        }
        ops.push(Op::EndMarkedContent);
    }
}

fn figure(figure: &Figure, ops: &mut Vec<Op>) {
    match figure {
        // Each ring by itself: a figure of several rings would have only its last one closed.
        Figure::Line(path) => {
            ops.extend(
                rings(path).into_iter().map(|(points, is_closed)| Op::DrawLine { line: Line { points, is_closed } }),
            );
        }
        Figure::Fill(path) => ops.push(Op::DrawPolygon {
            polygon: Polygon {
                rings: rings(path).into_iter().map(|(points, _)| PolygonRing { points }).collect(),
                mode: PaintMode::Fill,
                winding_order: WindingOrder::NonZero,
            },
        }),
        Figure::Text { text, at, size, anchor, turn, bold } => {
            let width = font::text_width(text, *size, *bold);
            let back = match anchor {
                Anchor::Start => 0.0,
                Anchor::Middle => width / 2.0,
                Anchor::End => width,
            };
            let (sin, cos) = turn.to_radians().sin_cos();
            let start = (points(at.x - back * cos), points(at.y - back * sin));
            let (sin, cos) = (rounded(sin), rounded(cos));
            ops.extend([
                Op::StartTextSection,
                Op::SetFont { font: PdfFontHandle::External(font_id(*bold)), size: Pt(points(*size)) },
                Op::SetTextMatrix {
                    matrix: TextMatrix::Raw([cos, sin, rounded(-f64::from(sin)), cos, start.0, start.1]),
                },
                Op::ShowText { items: vec![TextItem::Text(text.clone())] },
                Op::EndTextSection,
            ]);
        }
    }
}

/// A factor near one or less, such as a sine or cosine, without negative zero.
fn rounded(value: f64) -> f32 {
    ((value * 1e7).round() / 1e7 + 0.0) as f32
}

/// The rings of a path and whether each is closed, with curves as cubics.
fn rings(path: &BezPath) -> Vec<(Vec<LinePoint>, bool)> {
    let point =
        |p: kurbo::Point, bezier: bool| LinePoint { p: Point { x: Pt(points(p.x)), y: Pt(points(p.y)) }, bezier };
    let mut rings: Vec<(Vec<LinePoint>, bool)> = Vec::new();
    let (mut start, mut last) = (kurbo::Point::ORIGIN, kurbo::Point::ORIGIN);
    let mut open = false;
    for element in path.path_elements(1e-4) {
        if let PathEl::MoveTo(p) = element {
            rings.push((vec![point(p, false)], false));
            (start, last, open) = (p, p, true);
            continue;
        }
        if !open {
            // After closing, a path goes on from the ring's start.
            rings.push((vec![point(start, false)], false));
            open = true;
        }
        let Some((points, closed)) = rings.last_mut() else { continue };
        match element {
            PathEl::LineTo(p) => {
                points.push(point(p, false));
                last = p;
            }
            PathEl::QuadTo(a, p) => {
                let (first, second) = (last + (a - last) * (2.0 / 3.0), p + (a - p) * (2.0 / 3.0));
                points.extend([point(first, true), point(second, true), point(p, false)]);
                last = p;
            }
            PathEl::CurveTo(a, b, p) => {
                points.extend([point(a, true), point(b, true), point(p, false)]);
                last = p;
            }
            PathEl::ClosePath => {
                *closed = true;
                (last, open) = (start, false);
            }
            PathEl::MoveTo(_) => {}
        }
    }
    rings
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_ring_is_a_line_of_its_own() {
        let mut path = BezPath::new();
        for at in [0.0, 10.0] {
            path.move_to((at, 0.0));
            path.quad_to((at + 5.0, 5.0), (at + 8.0, 0.0));
            path.close_path();
        }
        let rings = rings(&path);
        assert_eq!(rings.len(), 2);
        assert!(rings.iter().all(|(points, closed)| *closed && points.len() == 4));
    }

    #[test]
    fn text_outside_of_pages_is_marked_when_it_is_not_ascii() {
        assert_eq!(text_string("ash (1)"), Object::string_literal("ash (1)"));
        let Object::String(bytes, _) = text_string("Böw\n") else { panic!() };
        assert_eq!(bytes, [0xFE, 0xFF, 0, b'B', 0, 0xF6, 0, b'w', 0, b' ']);
    }
}
