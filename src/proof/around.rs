//! What stands round a drawing and changes what is printed of it, though no line or word of the drawing was touched.

use kurbo::Rect;
use lopdf::{Document, Object, ObjectId};
use roxmltree::Node;

use crate::carried::inherited;
use crate::seal::drawing::{HIDES, SVG};

/// Smaller differences of boxes are roundings, mm.
const NEAR: f64 = 0.05;
/// Most kinds of notes that are named.
const MOST_KINDS: usize = 6;
/// The namespace of web pages, whose scripts and style sheets a browser heeds wherever they stand.
const XHTML: &str = "http://www.w3.org/1999/xhtml";
/// Elements of SVG that change others, wherever they stand.
const ACTIVE: [&str; 7] = ["script", "animate", "animateTransform", "animateMotion", "set", "discard", "foreignObject"];

/// One thing about a page that none of our own sheets has.
#[derive(Debug, Clone, PartialEq)]
pub enum Around {
    /// Shows and prints less than the page: width and height that are left, and those of the page, mm.
    Cropped([f64; 2], [f64; 2]),
    /// Turned clockwise, degrees.
    Turned(i64),
    /// Units of so many 1/72 in; many programs print it as if it were 1.
    Unit(f64),
    /// Notes, stamps, fields or links that lie over the drawing: how many, and their kinds.
    Notes(usize, Vec<String>),
    /// Parts of an SVG that are hidden, cut off, masked, blurred or see-through: how many.
    Hidden(usize),
    /// An SVG's style sheet rules, which may change any line or letter.
    Styled,
    /// Scripts, movements and parts of web pages in an SVG, which may change anything: how many.
    Active(usize),
}

/// What a PDF's page has.
pub fn of_page(document: &Document, page: ObjectId) -> Vec<Around> {
    let mut found = Vec::new();
    let mm = 25.4 / 72.0 * user_unit(document, page);
    let (whole, crop) = (rect(document, page, b"MediaBox"), rect(document, page, b"CropBox"));
    if let Some((whole, crop)) = whole.zip(crop) {
        let left = whole.intersect(crop);
        let cut = [left.x0 - whole.x0, left.y0 - whole.y0, whole.x1 - left.x1, whole.y1 - left.y1];
        if cut.iter().any(|side| side * mm > NEAR) {
            let size = |r: Rect| [r.width().max(0.0) * mm, r.height().max(0.0) * mm];
            found.push(Around::Cropped(size(left), size(whole)));
        }
    }
    let turned = turned(document, page);
    if turned != 0 {
        found.push(Around::Turned(turned));
    }
    let unit = user_unit(document, page);
    if unit != 1.0 {
        found.push(Around::Unit(unit));
    }
    let notes = document.get_dictionary(page).and_then(|d| d.get_deref(b"Annots", document)).and_then(Object::as_array);
    if let Some(notes) = notes.ok().filter(|notes| !notes.is_empty()) {
        let mut kinds: Vec<String> = Vec::new();
        for note in notes {
            let note = document.dereference(note).ok().and_then(|(_, note)| note.as_dict().ok());
            let kind = note.and_then(|n| n.get_deref(b"Subtype", document).ok()).and_then(|o| o.as_name().ok());
            let kind = String::from_utf8_lossy(kind.unwrap_or(b"of no kind"));
            let kind: String = kind.chars().filter(|c| c.is_ascii_alphanumeric() || *c == ' ').take(20).collect();
            if kinds.len() < MOST_KINDS && !kinds.contains(&kind) {
                kinds.push(kind);
            }
        }
        found.push(Around::Notes(notes.len(), kinds));
    }
    found
}

/// Units of a page in 1/72 in (ISO 32000-1, table 30).
pub fn user_unit(document: &Document, page: ObjectId) -> f64 {
    let unit = document.get_dictionary(page).and_then(|d| d.get_deref(b"UserUnit", document)).ok().and_then(number);
    unit.filter(|u| u.is_finite() && *u > 0.0).unwrap_or(1.0)
}

/// How far a page is turned clockwise when shown and printed, degrees from 0 to 359 (ISO 32000-1, table 30).
pub fn turned(document: &Document, page: ObjectId) -> i64 {
    inherited(document, page, b"Rotate").and_then(number).map_or(0, |degrees| (degrees as i64).rem_euclid(360))
}

fn rect(document: &Document, page: ObjectId, key: &[u8]) -> Option<Rect> {
    let sides = inherited(document, page, key)?.as_array().ok()?;
    let sides: Vec<f64> =
        sides.iter().filter_map(|o| document.dereference(o).ok().and_then(|(_, o)| number(o))).collect();
    let [x0, y0, x1, y1] = sides.try_into().ok()?;
    Some(Rect::new(x0, y0, x1, y1).abs())
}

/// A number as PDF has it.
pub fn number(object: &Object) -> Option<f64> {
    match object {
        Object::Integer(i) => Some(*i as f64),
        Object::Real(r) => Some(f64::from(*r)),
        _ => None,
    }
}

/// Whether a PDF asks not to be scaled in printing (ISO 32000-1, table 150).
pub fn asks_unscaled(document: &Document) -> bool {
    let wishes = document.catalog().and_then(|c| c.get_deref(b"ViewerPreferences", document)).and_then(Object::as_dict);
    let scaling = wishes.and_then(|w| w.get_deref(b"PrintScaling", document)).and_then(Object::as_name);
    scaling.is_ok_and(|name| name == b"None")
}

/// What an SVG has.
pub fn of_svg(document: &roxmltree::Document) -> Vec<Around> {
    let (mut hidden, mut styled, mut active) = (0, false, 0);
    // Before the drawing: a style sheet from elsewhere.
    styled |= document.root().children().any(|node| node.is_pi());
    // Nothing in the title, the metadata and the definitions is drawn, but styles and scripts are heeded there, too.
    let mut open = vec![(document.root_element(), true)];
    while let Some((node, drawn)) = open.pop() {
        let (space, name) = (node.tag_name().namespace(), node.tag_name().name());
        if space == Some(XHTML) {
            active += 1;
            continue;
        }
        let drawn = drawn && !matches!(name, "metadata" | "title" | "desc" | "defs");
        if space == Some(SVG) {
            if name == "style" {
                styled |= has_rules(&node.text().unwrap_or_default().replace("<![CDATA[", "").replace("]]>", ""));
                styled |= node.children().any(|child| child.is_element());
                continue;
            }
            let heeded = |a: &roxmltree::Attribute| a.namespace().is_none() && a.name().starts_with("on");
            active += usize::from(ACTIVE.contains(&name) || node.attributes().any(|a| heeded(&a)));
            let own = node.attribute("style").unwrap_or_default();
            let declared = |name: &str| {
                let values = own.split(';').filter_map(|d| d.split_once(':')).filter(|(n, _)| n.trim() == name);
                values.map(|(_, value)| value.trim()).next_back().or_else(|| node.attribute(name).map(str::trim))
            };
            let hides = HIDES.iter().any(|(name, idle)| declared(name).is_some_and(|v| !idle.contains(&v)));
            hidden += usize::from(drawn && hides);
        }
        open.extend(node.children().filter(Node::is_element).map(|child| (child, drawn)));
    }
    let hidden = (hidden > 0).then_some(Around::Hidden(hidden));
    let active = (active > 0).then_some(Around::Active(active));
    hidden.into_iter().chain(styled.then_some(Around::Styled)).chain(active).collect()
}

/// Whether a style sheet has more than faces of letters in it.
fn has_rules(sheet: &str) -> bool {
    let mut rest = sheet.trim();
    while let Some(rule) = rest.strip_prefix("@font-face") {
        let Some(end) = rule.find('}') else { return true };
        rest = rule[end + 1..].trim_start();
    }
    !rest.is_empty()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sheet_of_faces_has_no_rules() {
        assert!(!has_rules("") && !has_rules(" @font-face{a:b} \n@font-face {c:d}"));
        assert!(has_rules("@font-face{a:b} path{display:none}") && has_rules("@font-face{a:b"));
        assert!(has_rules("@import url(x)"));
    }

    #[test]
    fn what_hides_is_found_as_attribute_and_as_style() {
        for (inside, wanted) in [
            ("<g display='inline' opacity='1'/>", vec![]),
            ("<g display='none'/>", vec![Around::Hidden(1)]),
            ("<g style='fill:red; visibility : hidden'/>", vec![Around::Hidden(1)]),
            ("<g style='display:none;display:inline'/>", vec![]),
            ("<g clip-path='url(#a)'><g mask='url(#b)'/></g>", vec![Around::Hidden(2)]),
            ("<style>text{font-size:9px}</style>", vec![Around::Styled]),
            ("<metadata><style>svg{zoom:.98}</style></metadata>", vec![Around::Styled]),
            ("<defs><style>@font-face{a:b}</style><g display='none'/></defs>", vec![]),
            ("<defs><set href='#a' attributeName='d'/></defs><g onload='x()'/>", vec![Around::Active(2)]),
            ("<script xmlns='http://www.w3.org/1999/xhtml'/>", vec![Around::Active(1)]),
            ("<other xmlns='urn:other' onload='x()'/>", vec![]),
        ] {
            let text = format!("<svg xmlns='http://www.w3.org/2000/svg'>{inside}</svg>");
            let document = crate::carried::parse_svg(&text).unwrap();
            assert_eq!(of_svg(&document), wanted, "{inside}");
        }
        let text = "<?xml-stylesheet href='a.css'?><svg xmlns='http://www.w3.org/2000/svg'/>";
        assert_eq!(of_svg(&crate::carried::parse_svg(text).unwrap()), [Around::Styled]);
    }
}
