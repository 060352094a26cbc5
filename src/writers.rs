//! Writers: sheets to the bytes of files, one format each, all with the same signature.
//!
//! A writer knows no nock and opens no file; [`files`] puts what writers made on the disk.

pub mod arcs;
pub mod dxf;
pub mod files;
mod number;
pub mod pdf;
pub mod stl;
pub mod svg;

use crate::fault::Fault;
use crate::sheets::SheetSet;

/// Files made by one writer: what comes after the common name (`-1.svg`), and the bytes.
pub type Written = Vec<(String, Vec<u8>)>;

/// One format.
#[derive(Debug, Clone, Copy)]
pub struct Writer {
    /// Name as chosen, which is also the ending of its files.
    pub name: &'static str,
    /// What it is, for people.
    pub summary: &'static str,
    /// Makes the files. Equal sheets give equal bytes.
    pub write: fn(&SheetSet) -> Result<Written, Fault>,
    /// Whether the bytes of a file show that this program made it.
    pub made: fn(&[u8]) -> bool,
}

/// All formats.
pub static WRITERS: [Writer; 3] = [
    Writer {
        name: "svg",
        summary: "one drawing per sheet, to open in a drawing program",
        write: svg::write,
        made: svg::made,
    },
    Writer { name: "pdf", summary: "all sheets in one file, to print", write: pdf::write, made: pdf::made },
    Writer {
        name: "dxf",
        summary: "one drawing per sheet, to cut by laser or router",
        write: dxf::write,
        made: dxf::made,
    },
];

/// Words as a name of groups and marks in files: small letters, figures and hyphens, beginning with a letter.
fn slug(words: &str) -> String {
    let mut slug = String::new();
    for c in words.chars() {
        if c.is_ascii_alphanumeric() {
            slug.push(c.to_ascii_lowercase());
        } else if !slug.ends_with('-') {
            slug.push('-');
        }
    }
    let slug = slug.trim_matches('-');
    if slug.starts_with(|c: char| c.is_ascii_lowercase()) { slug.to_owned() } else { format!("part-{slug}") }
}

/// Slugs of a page's parts, each different from all before it.
fn slugs<'a>(names: impl Iterator<Item = &'a str>) -> Vec<String> {
    let mut made: Vec<String> = Vec::new();
    for name in names {
        let plain = slug(name);
        let mut tried = plain.clone();
        let mut number = 1;
        while made.contains(&tried) {
            number += 1;
            tried = format!("{plain}-{number}");
        }
        made.push(tried);
    }
    made
}

/// The name of the whole document: the bow, and what the sheets are.
fn document_title(set: &SheetSet) -> String {
    format!("{} — {}", set.title.bow, set.title.sheets)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slugs_are_plain_and_differ() {
        let made = slugs(["Upper, side view", "upper side view", "3:1 <b>", "弓", "弓"].into_iter());
        assert_eq!(made, ["upper-side-view", "upper-side-view-2", "part-3-1-b", "part-", "part--2"]);
    }
}
