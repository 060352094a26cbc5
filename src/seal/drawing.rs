//! The seal of what is drawn on a sheet: every line, place, size and word, and nothing else in the file.
//!
//! A program that opens a sheet and saves it again may write it otherwise; as long as it leaves the drawing's own numbers
//! and words alone, the seal fits.

use lopdf::Document;
use roxmltree::{Attribute, Node};

use super::Seal;

/// The attributes that change nothing of what is seen: names, and what programs note down for themselves. All others are sealed.
const UNSEEN_ATTRIBUTES: [&str; 5] = ["id", "class", "version", "role", "tabindex"];
/// Their beginnings, where more than one name has them.
const UNSEEN_KINDS: [&str; 2] = ["data-", "aria-"];

/// Attributes that hide, cut off or blur a part of a drawing, and the values that do nothing.
pub const HIDES: [(&str, &[&str]); 7] = [
    ("display", &["inline", "block"]),
    ("visibility", &["visible"]),
    ("opacity", &["1"]),
    ("clip-path", &["none"]),
    ("clip", &["auto"]),
    ("mask", &["none"]),
    ("filter", &["none"]),
];

/// Not drawn.
const UNSEEN: [&str; 5] = ["metadata", "title", "desc", "style", "defs"];

/// The namespace of SVG.
pub const SVG: &str = "http://www.w3.org/2000/svg";

/// The seal of a drawing as SVG; none where it is no XML.
pub fn of_svg(text: &str) -> Option<String> {
    let document = crate::carried::parse_svg(text).ok()?;
    Some(of_svg_tree(document.root_element()))
}

/// The seal of a drawing that was parsed.
pub fn of_svg_tree(root: Node) -> String {
    let mut seal = Seal::default();
    let mut open = vec![root];
    while let Some(node) = open.pop() {
        let name = node.tag_name();
        if name.namespace() != Some(SVG) || UNSEEN.contains(&name.name()) {
            continue;
        }
        seal.add(name.name().as_bytes());
        // In whatever order they stand.
        let mut seen: Vec<_> = node.attributes().filter(is_seen).map(|a| (a.name(), plain(a.value()))).collect();
        seen.sort_unstable();
        for (attribute, value) in seen {
            seal.add(attribute.as_bytes());
            seal.add(value.as_bytes());
        }
        if matches!(name.name(), "text" | "tspan") {
            let words: String = node.children().filter(Node::is_text).filter_map(|n| n.text()).collect();
            seal.add(plain(&words).as_bytes());
        }
        let children: Vec<Node> = node.children().filter(Node::is_element).collect();
        open.extend(children.into_iter().rev());
    }
    seal.text()
}

/// Whether an attribute may change what is seen. Of other namespaces only links are, which say what is drawn again.
fn is_seen(attribute: &Attribute) -> bool {
    let name = attribute.name();
    let idle = HIDES.iter().any(|(hides, idle)| *hides == name && idle.contains(&attribute.value().trim()));
    match attribute.namespace() {
        None => !idle && !UNSEEN_ATTRIBUTES.contains(&name) && !UNSEEN_KINDS.iter().any(|kind| name.starts_with(kind)),
        Some(_) => name == "href",
    }
}

fn plain(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The seal of a drawing as PDF: the pages' sizes and what is drawn on them.
pub fn of_pdf(document: &Document) -> String {
    let mut seal = Seal::default();
    for (_, page) in document.get_pages() {
        let media = crate::carried::inherited(document, page, b"MediaBox").and_then(|o| o.as_array().ok());
        for number in media.into_iter().flatten().filter_map(|o| document.dereference(o).ok()).map(|(_, o)| o) {
            seal.add(format!("{:.2}", number.as_float().unwrap_or(0.0)).as_bytes());
        }
        let content = document.get_page_content_with_limit(page, MOST_CONTENT).unwrap_or_default();
        for word in content.split(u8::is_ascii_whitespace).filter(|w| !w.is_empty()) {
            // Letters given as hexadecimal numbers may be written in capitals or not, and no letters in two ways
            // (ISO 32000-1, 7.3.4).
            match word {
                b"()" => seal.add(b"<>"),
                word if word.starts_with(b"<") => seal.add(&word.to_ascii_uppercase()),
                word => seal.add(word),
            }
        }
    }
    seal.text()
}

/// Longest content of one page that is read, bytes. A full sheet has less than one million.
pub const MOST_CONTENT: usize = 32 << 20;
