//! A design out of an SVG's metadata.

use roxmltree::{Document, Error, ParsingOptions};

use super::{Carried, MOST_TEXT, altered, too_long};
use crate::fault::Fault;
use crate::seal;

/// Most elements and texts that are read of one drawing.
const MOST_NODES: u32 = 2_000_000;

/// Reads a drawing as XML, with no document type, so that nothing in it can be blown up.
///
/// # Errors
/// It is no whole XML, or has a document type.
pub fn parse(text: &str) -> Result<Document<'_>, Fault> {
    let options = ParsingOptions { allow_dtd: false, nodes_limit: MOST_NODES, ..ParsingOptions::default() };
    Document::parse_with_options(text, options).map_err(|error| match error {
        Error::DtdDetected => Fault::at(
            "",
            "the SVG has a document type (DOCTYPE)",
            "Nockwright writes none, and one can make a small file huge; such files are not read",
        )
        .cure("save it as plain SVG, or use the sheet as it was written"),
        Error::NodesLimitReached => {
            Fault::at("", "the SVG has more parts than any sheet", format!("no more than {MOST_NODES} are read"))
        }
        other => Fault::at("", format!("the SVG is not whole: {other}"), "it was cut short or damaged")
            .cure("use the sheet as it was written"),
    })
}

/// The element with the design.
pub(crate) fn element<'a>(document: &'a Document<'_>) -> Option<roxmltree::Node<'a, 'a>> {
    document.descendants().find(|n| n.has_tag_name((crate::writers::svg::NAMESPACE, "design")))
}

/// The design in the metadata of an SVG sheet.
///
/// # Errors
/// The SVG carries none, is damaged, or the design was changed since.
pub fn from_svg(bytes: &[u8]) -> Result<Carried, Fault> {
    let text = std::str::from_utf8(bytes).map_err(|_| {
        Fault::at("", "the SVG is not UTF-8 text", "Nockwright writes UTF-8").cure("use the sheet as it was written")
    })?;
    let document = parse(text)?;
    // The page that printers are measured with is of no design.
    let design = element(&document).filter(|d| d.attribute("file").is_some_and(|file| !file.is_empty())).ok_or_else(|| {
        Fault::at("", "this SVG carries no design", "Nockwright puts it into the metadata; it did not make this file, or a program that saved it again has dropped them")
            .cure("use the sheet as it was written, or the code on its first page: nockwright recover --image PHOTO")
    })?;
    let carried: String = design.children().filter_map(|n| n.text()).collect();
    let text = match design.attribute("encoding") {
        Some("base64") => from_base64(&carried)?,
        _ => carried.into_bytes(),
    };
    if text.len() > MOST_TEXT {
        return Err(too_long());
    }
    if design.attribute("seal").is_some_and(|kept| kept != seal::of(&text)) {
        return Err(altered());
    }
    Ok(Carried { file_name: design.attribute("file").unwrap_or_default().to_owned(), text, whole: true })
}

/// Bytes from base64 (RFC 4648, section 4); white space is passed over.
fn from_base64(text: &str) -> Result<Vec<u8>, Fault> {
    if text.len() / 4 * 3 > MOST_TEXT + 1024 {
        return Err(too_long());
    }
    let mut bytes = Vec::with_capacity(text.len() / 4 * 3);
    let (mut bits, mut count) = (0u32, 0);
    for letter in text.bytes().filter(|b| !b.is_ascii_whitespace() && *b != b'=') {
        let six = match letter {
            b'A'..=b'Z' => letter - b'A',
            b'a'..=b'z' => letter - b'a' + 26,
            b'0'..=b'9' => letter - b'0' + 52,
            b'+' => 62,
            b'/' => 63,
            _ => return Err(altered()),
        };
        bits = bits << 6 | u32::from(six);
        count += 6;
        if count >= 8 {
            count -= 8;
            bytes.push((bits >> count) as u8);
        }
    }
    Ok(bytes)
}
