//! Designs out of a PDF's attachments.

use lopdf::{Dictionary, Document, LoadOptions, Object, ObjectId};

use super::{Carried, MOST_TEXT, altered, too_long};
use crate::fault::Fault;
use crate::seal;

/// Largest bundle of objects that is unpacked while reading, bytes.
const MOST_BUNDLE: usize = 4 << 20;
/// Most bundles in one file. Programs put a hundred objects or more into one, and a sheet has some ten.
const MOST_BUNDLES: usize = 500;
/// Most designs taken out of one file: a large class.
const MOST_DESIGNS: usize = 2000;

/// Reads a PDF with bounds on all that is unpacked on the way.
///
/// # Errors
/// It is no whole PDF, is encrypted, or is built to be blown up.
pub fn open(bytes: &[u8]) -> Result<Document, Fault> {
    let bundles = bytes.windows(6).filter(|w| *w == b"ObjStm").count();
    if bundles > MOST_BUNDLES {
        return Err(Fault::at(
            "",
            format!("the PDF has {bundles} bundles of objects"),
            format!("no more than {MOST_BUNDLES} are unpacked"),
        ));
    }
    let document = Document::load_mem_with_options(bytes, LoadOptions::with_max_decompressed_size(MOST_BUNDLE))
        .map_err(|error| {
            Fault::at("", format!("the PDF is not whole: {error}"), "it was cut short or damaged")
                .cure("use the file as it was written")
        })?;
    if document.is_encrypted() {
        return Err(Fault::at("", "the PDF is locked with a password", "nothing in it can be read")
            .cure("use the file as it was written, or save it without a password"));
    }
    Ok(document)
}

/// Deepest tree of pages that is climbed.
const DEEPEST_TREE: usize = 64;

/// What a page says under a key, or the nearest node above it in the tree of pages (ISO 32000-1, 7.7.3.4).
pub(crate) fn inherited<'a>(document: &'a Document, page: ObjectId, key: &[u8]) -> Option<&'a Object> {
    let mut node = document.get_dictionary(page).ok()?;
    for _ in 0..DEEPEST_TREE {
        match node.get_deref(key, document) {
            Ok(found) => return Some(found),
            Err(_) => node = node.get_deref(b"Parent", document).ok()?.as_dict().ok()?,
        }
    }
    None
}

/// All designs attached to a PDF, in the order of their file names; at least one.
///
/// # Errors
/// The PDF carries none, is damaged, or a design was changed since.
pub fn from_pdf(bytes: &[u8]) -> Result<Vec<Carried>, Fault> {
    let document = open(bytes)?;
    let mut found: Vec<Carried> = Vec::new();
    for object in document.objects.values() {
        let Ok(specification) = object.as_dict() else { continue };
        found.extend(design(&document, specification)?.filter(|design| !found.contains(design)));
        if found.len() > MOST_DESIGNS {
            return Err(Fault::at(
                "",
                "the PDF has more attachments than any class",
                format!("no more than {MOST_DESIGNS} are read"),
            ));
        }
    }
    found.sort_by(|a, b| a.file_name.cmp(&b.file_name));
    if found.is_empty() {
        return Err(Fault::at("", "this PDF carries no design", "Nockwright attaches it; it did not make this file, or a program that saved it again has dropped the attachment")
            .cure("use the file as it was written, or the code on its first page: nockwright recover --image PHOTO"));
    }
    Ok(found)
}

/// The design of one file specification (ISO 32000-1, 7.11.3); none where it holds something else.
fn design(document: &Document, specification: &Dictionary) -> Result<Option<Carried>, Fault> {
    let reached = |object: &Object| document.dereference(object).ok().map(|(_, o)| o.clone());
    let Some(files) = specification.get(b"EF").ok().and_then(reached) else { return Ok(None) };
    let Ok(files) = files.as_dict() else { return Ok(None) };
    let Some(file) = files.get(b"UF").or_else(|_| files.get(b"F")).ok().and_then(reached) else { return Ok(None) };
    let Ok(stream) = file.as_stream() else { return Ok(None) };
    let name = specification.get(b"UF").or_else(|_| specification.get(b"F")).ok().and_then(reached);
    let file_name = name.as_ref().and_then(|n| n.as_str().ok()).map(text_string).unwrap_or_default();
    let kept = specification.get(b"NockwrightSeal").ok().and_then(reached);
    let kept = kept.as_ref().and_then(|s| s.as_str().ok());
    // A foreign attachment is no design; ours has its seal, or at least its ending where a program has dropped the seal.
    if kept.is_none() && !file_name.to_lowercase().ends_with(".toml") {
        return Ok(None);
    }
    let text = match stream.get_plain_content_with_limit(MOST_TEXT) {
        Ok(text) => text,
        Err(lopdf::Error::Decompress(lopdf::DecompressError::MemoryLimitExceeded { .. })) => return Err(too_long()),
        Err(_) => return Err(altered()),
    };
    if kept.is_some_and(|kept| kept != seal::of(&text).as_bytes()) {
        return Err(altered());
    }
    Ok(Some(Carried { file_name, text, whole: true }))
}

/// A text string: UTF-16 with its mark, else byte for letter (ISO 32000-1, 7.9.2.2), without control characters.
pub(crate) fn text_string(bytes: &[u8]) -> String {
    let text = match bytes {
        [0xFE, 0xFF, rest @ ..] => {
            let units: Vec<u16> = rest.chunks_exact(2).map(|b| u16::from_be_bytes([b[0], b[1]])).collect();
            String::from_utf16_lossy(&units)
        }
        _ => bytes.iter().map(|b| char::from(*b)).collect(),
    };
    text.chars().filter(|c| !c.is_control()).collect()
}
