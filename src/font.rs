//! The face that sheets are set in: its letters, their widths, and the files that go into what is written.
//!
//! Two cuts, regular and bold, made small from an open-licensed face by `fonts/make_fonts.py` (licence: `fonts/OFL.txt`).
//! Text is set by advance widths alone, without kerning, so that every writer and every reader agrees on where a word ends.

use std::sync::LazyLock;

use ttf_parser::{Face, GlyphId};

/// Family name inside the files.
pub const FAMILY: &str = "Nockwright Sans";
/// TrueType files, for documents that embed them as they are: regular, bold.
pub const TRUE_TYPE: [&[u8]; 2] =
    [include_bytes!("../fonts/NockwrightSans-Regular.ttf"), include_bytes!("../fonts/NockwrightSans-Bold.ttf")];
/// The same packed as WOFF2, for pages shown by browsers: regular, bold.
pub const WOFF2: [&[u8]; 2] =
    [include_bytes!("../fonts/NockwrightSans-Regular.woff2"), include_bytes!("../fonts/NockwrightSans-Bold.woff2")];
/// Names of the two cuts as files know them: regular, bold.
pub const POSTSCRIPT_NAMES: [&str; 2] = ["NockwrightSans-Regular", "NockwrightSans-Bold"];

/// Height of a capital over the baseline, as a share of the text's size.
pub const CAP_HEIGHT: f64 = 0.727;
/// Greatest reach below the baseline of the letters g, p, q, y, as a share of the text's size.
pub const DESCENT: f64 = 0.21;

/// What stands for a character that the face has not.
pub const REPLACEMENT: char = '□';

// The files are compiled in and a test opens both; a face that could not be read would measure as half an em a letter.
static FACES: LazyLock<[Option<Face<'static>>; 2]> = LazyLock::new(|| TRUE_TYPE.map(|file| Face::parse(file, 0).ok()));

fn face(bold: bool) -> Option<&'static Face<'static>> {
    FACES[usize::from(bold)].as_ref()
}

/// Number of the glyph that draws `c`; none when the face has not got it.
pub fn glyph(c: char, bold: bool) -> Option<u16> {
    face(bold).and_then(|f| f.glyph_index(c)).map(|GlyphId(id)| id)
}

/// Width of one line of text of `size` mm (the height of the em), mm.
pub fn text_width(text: &str, size: f64, bold: bool) -> f64 {
    let Some(face) = face(bold) else { return 0.5 * size * text.chars().count() as f64 };
    let units: u32 = text
        .chars()
        .map(|c| face.glyph_index(c).unwrap_or(GlyphId(0)))
        .map(|id| u32::from(face.glyph_hor_advance(id).unwrap_or(0)))
        .sum();
    f64::from(units) * size / f64::from(face.units_per_em())
}

/// A line of text that can be printed as it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Printable {
    /// The text: white space and control characters are single plain spaces, characters that the face has not are
    /// [`REPLACEMENT`].
    pub text: String,
    /// Which characters were replaced, in order, each once.
    pub replaced: Vec<char>,
}

/// Makes a line of text printable.
pub fn printable(text: &str) -> Printable {
    let mut made = String::with_capacity(text.len());
    let mut replaced = Vec::new();
    for c in text.chars() {
        if c.is_whitespace() || c.is_control() {
            // Programs that show SVG differ over several spaces in a row.
            if !made.ends_with(' ') {
                made.push(' ');
            }
        } else if glyph(c, false).is_some() && glyph(c, true).is_some() {
            made.push(c);
        } else {
            if !replaced.contains(&c) {
                replaced.push(c);
            }
            made.push(REPLACEMENT);
        }
    }
    Printable { text: made, replaced }
}

/// Breaks text into lines no wider than `width` mm, at spaces; a word that is wider by itself is broken between letters.
///
/// Line feeds in the text begin a new line.
pub fn wrap(text: &str, size: f64, bold: bool, width: f64) -> Vec<String> {
    let mut lines = Vec::new();
    for paragraph in text.lines() {
        let mut line = String::new();
        for word in paragraph.split_whitespace() {
            let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
            if text_width(&longer, size, bold) <= width {
                line = longer;
                continue;
            }
            if !line.is_empty() {
                lines.push(std::mem::take(&mut line));
            }
            for c in word.chars() {
                line.push(c);
                if text_width(&line, size, bold) > width && line.chars().count() > 1 {
                    line.pop();
                    lines.push(std::mem::replace(&mut line, c.to_string()));
                }
            }
        }
        lines.push(line);
    }
    lines
}

/// Shortens a line with an ellipsis until it is no wider than `width` mm.
pub fn shorten(text: &str, size: f64, bold: bool, width: f64) -> String {
    if text_width(text, size, bold) <= width {
        return text.to_owned();
    }
    let mut kept: Vec<char> = text.chars().collect();
    while kept.pop().is_some() {
        let tried = format!("{}…", kept.iter().collect::<String>().trim_end());
        if text_width(&tried, size, bold) <= width {
            return tried;
        }
    }
    String::new()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_cuts_open_and_are_a_thousand_units_high() {
        for bold in [false, true] {
            let face = face(bold).unwrap();
            assert_eq!(face.units_per_em(), 1000);
            assert_eq!(f64::from(face.capital_height().unwrap()) / 1000.0, CAP_HEIGHT);
        }
    }

    #[test]
    fn has_every_character_that_sheets_are_likely_to_hold() {
        let needed = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789 .,:;!?()[]<>/\\|'\"#%&*+-=_@~^{}$`\
                      °×±·½¼¾⅛⅜⅝⅞αβγδθμµπΔΩ–—−′″‘’“”…→←↑↓≤≥≈²³□ÄÖÜäöüßÅåÆæØøÉéÈèÊêËëÑñÇçČčŠšŽžŁłŃńŐőŰűȘșȚțĞğİıŞşÐðÞþŒœ";
        for c in needed.chars() {
            assert!(glyph(c, false).is_some() && glyph(c, true).is_some(), "no glyph for {c}");
        }
    }

    #[test]
    fn figures_have_one_width() {
        for bold in [false, true] {
            let one = text_width("1", 10.0, bold);
            assert!("0234567890".chars().all(|c| text_width(&c.to_string(), 10.0, bold) == one));
        }
    }

    #[test]
    fn what_the_face_has_not_is_shown_as_a_box_and_named() {
        let made = printable("弓 bow \n弓\u{7}é");
        assert_eq!(made.text, "□ bow □ é");
        assert_eq!(made.replaced, vec!['弓']);
    }

    #[test]
    fn wrapped_lines_keep_within_the_width_and_lose_nothing() {
        let text = "Never let go of the string without an arrow, Donaudampfschifffahrtselektrizitätenhauptbetriebswerk";
        let lines = wrap(text, 3.0, false, 30.0);
        assert!(lines.iter().all(|l| text_width(l, 3.0, false) <= 30.0));
        assert_eq!(lines.concat().replace(' ', ""), text.replace(' ', ""));
        assert_eq!(wrap("a\n\nb", 3.0, false, 30.0), ["a", "", "b"]);
    }

    #[test]
    fn a_line_too_long_is_shortened_with_an_ellipsis() {
        let short = shorten("A very long name for a bow indeed", 3.0, true, 20.0);
        assert!(short.ends_with('…') && text_width(&short, 3.0, true) <= 20.0);
        assert_eq!(shorten("bow", 3.0, true, 20.0), "bow");
    }
}
