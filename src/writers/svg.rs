//! SVG: one file per sheet, in millimetres.
//!
//! Width and height are in mm and the view box has the same numbers, so one user unit is one millimetre.
//! Every piece is a group named for it, with a group for each role inside. Text stays text: its face travels in the file,
//! and every line carries its measured length, so that a program without that face keeps it to its place.
//! The whole design stands in the metadata.

use kurbo::{Affine, BezPath, PathEl, Point};
use svg::node::element::Element;
use svg::node::{Blob, Node, Text};

use super::number::{fine, number};
use super::{Written, document_title, slugs};
use crate::fault::Fault;
use crate::font;
use crate::sheets::{Page, SheetSet};
use crate::template::{Anchor, Figure, Item, Template, look::LOOKS};

/// The namespace of what this program alone puts in; also the sign that it made a file.
pub(crate) const NAMESPACE: &str = "urn:nockwright:sheet";

/// Whether these bytes are a sheet made by this program.
pub fn made(bytes: &[u8]) -> bool {
    let head = &bytes[..bytes.len().min(2000)];
    head.starts_with(b"<svg ") && head.windows(NAMESPACE.len()).any(|w| w == NAMESPACE.as_bytes())
}

/// Writes one file per sheet: `-1.svg`, `-2.svg`, with as many figures as the last one has.
pub fn write(set: &SheetSet) -> Result<Written, Fault> {
    let digits = set.pages.len().to_string().len();
    Ok(set
        .pages
        .iter()
        .enumerate()
        .map(|(i, page)| (format!("-{:0digits$}.svg", i + 1), sealed(document(set, page).to_string()).into_bytes()))
        .collect())
}

/// Stands for the seal of the drawing until the drawing is written.
const UNSEALED: &str = "drawing=\"unsealed\"";

/// Puts the drawing's seal in. Whatever could look like its place before it is escaped, for it holds quotes.
fn sealed(text: String) -> String {
    let seal = crate::seal::drawing::of_svg(&text);
    format!("{}\n", text.replacen(UNSEALED, &format!("drawing=\"{}\"", seal.unwrap_or_default()), 1))
}

fn document(set: &SheetSet, page: &Page) -> Element {
    let (width, height) = (number(page.width), number(page.height));
    let mut root = element(
        "svg",
        &[
            ("xmlns", "http://www.w3.org/2000/svg"),
            ("xmlns:nockwright", NAMESPACE),
            ("version", "1.1"),
            ("width", &format!("{width}mm")),
            ("height", &format!("{height}mm")),
            ("viewBox", &format!("0 0 {width} {height}")),
            ("xml:space", "preserve"),
        ],
    );
    let title = format!("{}, {}", document_title(set), page.name);
    root.append(with_text("title", &title));
    let names: Vec<&str> = page.parts.iter().map(|part| part.name.as_str()).collect();
    root.append(with_text("desc", &format!("1:1, to print at 100 %. On this sheet: {}.", names.join("; "))));
    root.append(metadata(set));
    root.append(style(page));
    let mut field = element("g", &[("stroke-linejoin", "round"), ("font-family", &family())]);
    if let Some(correction) = &set.title.correction {
        // The same map where y counts downward.
        let over = Affine::new([1.0, 0.0, 0.0, -1.0, 0.0, page.height]);
        let numbers = (over * page.drawn_through(correction) * over).as_coeffs().map(fine);
        Node::assign(&mut field, "transform", format!("matrix({})", numbers.join(" ")));
    }
    for (part, slug) in page.parts.iter().zip(slugs(names.iter().copied())) {
        field.append(group(part, &slug, page.height));
    }
    root.append(field);
    root
}

fn family() -> String {
    format!(
        "'{}', Inter, 'Helvetica Neue', Arial, 'Liberation Sans', 'DejaVu Sans Condensed', sans-serif",
        font::FAMILY
    )
}

/// Where the sheet is from: the design, as text where XML can hold it, else as base64; seals; what it is corrected for.
fn metadata(set: &SheetSet) -> Element {
    let mut design = element(
        "nockwright:design",
        &[
            ("program", &attribute_safe(&set.title.program)),
            ("digest", &attribute_safe(&set.title.digest)),
            ("drawing", "unsealed"),
        ],
    );
    let mut put = |name: &str, value: &str| Node::assign(&mut design, name, value);
    if let Some(correction) = &set.title.correction {
        put("printer", &attribute_safe(&correction.words()));
        put("map", &correction.map.numbers());
    }
    if let Some(attachment) = set.attachments.first() {
        put("file", &attribute_safe(&attachment.file_name));
        put("seal", &crate::seal::of(attachment.text.as_bytes()));
        // A reader of XML would turn a carriage return into a line feed.
        let plain = attachment.text.chars().all(|c| allowed_in_xml(c) && c != '\r');
        put("encoding", if plain { "text" } else { "base64" });
        let text = if plain { attachment.text.clone() } else { base64(attachment.text.as_bytes()) };
        design.append(Text::new(text));
    }
    let mut metadata = Element::new("metadata");
    metadata.append(design);
    metadata
}

/// The faces that the page uses.
fn style(page: &Page) -> Element {
    let uses = |wanted: bool| {
        page.parts
            .iter()
            .flat_map(|part| &part.items)
            .any(|item| matches!(item.figure, Figure::Text { bold, .. } if bold == wanted))
    };
    let mut rules = String::new();
    for (bold, weight) in [(false, "normal"), (true, "bold")] {
        if uses(bold) {
            rules += &format!(
                "@font-face{{font-family:'{}';font-weight:{weight};src:url(data:font/woff2;base64,{}) format('woff2')}}",
                font::FAMILY,
                base64(font::WOFF2[usize::from(bold)])
            );
        }
    }
    let mut style = Element::new("style");
    style.append(Blob::new(rules));
    style
}

fn group(part: &Template, slug: &str, page_height: f64) -> Element {
    let mut outer = element("g", &[("id", slug)]);
    outer.append(with_text("title", &part.name));
    for look in &LOOKS {
        let items: Vec<&Item> = part.items.iter().filter(|item| item.role == look.role).collect();
        if items.is_empty() {
            continue;
        }
        let mut inner = element(
            "g",
            &[("class", look.name), ("fill", "none"), ("stroke", "#000"), ("stroke-width", &number(look.width))],
        );
        if !look.dashes.is_empty() {
            let dashes: Vec<String> = look.dashes.iter().map(|d| number(*d)).collect();
            Node::assign(&mut inner, "stroke-dasharray", dashes.join(" "));
        }
        for item in items {
            inner.append(figure(item, page_height));
        }
        outer.append(inner);
    }
    outer
}

fn figure(item: &Item, page_height: f64) -> Element {
    match &item.figure {
        Figure::Line(path) => element("path", &[("d", &path_data(path, page_height))]),
        Figure::Fill(path) => {
            element("path", &[("d", &path_data(path, page_height)), ("fill", "#000"), ("stroke", "none")])
        }
        Figure::Text { text, at, size, anchor, turn, bold } => {
            let (x, y) = (number(at.x), number(page_height - at.y));
            let mut element = element(
                "text",
                &[("x", &x), ("y", &y), ("font-size", &number(*size)), ("fill", "#000"), ("stroke", "none")],
            );
            let mut set = |name: &str, value: &str| Node::assign(&mut element, name, value);
            match anchor {
                Anchor::Start => {}
                Anchor::Middle => set("text-anchor", "middle"),
                Anchor::End => set("text-anchor", "end"),
            }
            if *bold {
                set("font-weight", "bold");
            }
            let length = font::text_width(text, *size, *bold);
            if length > 0.0 {
                set("textLength", &number(length));
                set("lengthAdjust", "spacingAndGlyphs");
            }
            let turned = number(-turn);
            if turned != "0" {
                set("transform", &format!("rotate({turned} {x} {y})"));
            }
            element.append(Text::new(text.clone()));
            element
        }
    }
}

fn path_data(path: &BezPath, page_height: f64) -> String {
    let mut data = String::new();
    let mut put = |letter: char, points: &[Point]| {
        data.push(letter);
        for (i, p) in points.iter().enumerate() {
            if i > 0 {
                data.push(' ');
            }
            data += &format!("{} {}", number(p.x), number(page_height - p.y));
        }
    };
    for element in path.elements() {
        match *element {
            PathEl::MoveTo(p) => put('M', &[p]),
            PathEl::LineTo(p) => put('L', &[p]),
            PathEl::QuadTo(a, p) => put('Q', &[a, p]),
            PathEl::CurveTo(a, b, p) => put('C', &[a, b, p]),
            PathEl::ClosePath => put('Z', &[]),
        }
    }
    data
}

fn element(name: &str, attributes: &[(&str, &str)]) -> Element {
    let mut made = Element::new(name);
    for (name, value) in attributes {
        Node::assign(&mut made, *name, *value);
    }
    made
}

fn with_text(name: &str, text: &str) -> Element {
    let mut made = Element::new(name);
    made.append(Text::new(text));
    made
}

/// An attribute's value without characters that XML cannot hold; the file's own name may have any.
fn attribute_safe(text: &str) -> String {
    text.chars().map(|c| if allowed_in_xml(c) && !c.is_control() { c } else { ' ' }).collect()
}

/// Characters that a document of XML 1.0 may hold (section 2.2 of its recommendation).
fn allowed_in_xml(c: char) -> bool {
    matches!(c, '\t' | '\n' | '\r' | ' '..='\u{D7FF}' | '\u{E000}'..='\u{FFFD}' | '\u{10000}'..='\u{10FFFF}')
}

/// Bytes in base64 (RFC 4648, section 4).
pub(crate) fn base64(bytes: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut text = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for three in bytes.chunks(3) {
        let all = three.iter().fold(0u32, |sum, b| sum << 8 | u32::from(*b)) << (8 * (3 - three.len()));
        for place in 0..4 {
            let six = all >> (18 - 6 * place) & 63;
            text.push(if place > three.len() { '=' } else { char::from(LETTERS[six as usize]) });
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::template::Role;

    /// RFC 4648, section 10.
    #[test]
    fn base64_agrees_with_the_vectors_of_its_standard() {
        for (plain, coded) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(base64(plain.as_bytes()), coded);
        }
    }

    #[test]
    fn y_is_turned_over() {
        let mut path = BezPath::new();
        path.move_to((1.0, 2.0));
        path.line_to((3.0, 297.0));
        path.close_path();
        assert_eq!(path_data(&path, 297.0), "M1 295L3 0Z");
    }

    #[test]
    fn roles_have_their_own_groups() {
        let mut t = Template::new("p");
        t.segment(Role::Cut, (0.0, 0.0), (1.0, 0.0));
        t.segment(Role::Centre, (0.0, 0.0), (1.0, 0.0));
        let text = group(&t, "p", 10.0).to_string();
        assert!(text.contains(r#"class="cut""#) && text.contains(r#"stroke-dasharray="8 1 0.8 1""#));
    }
}
