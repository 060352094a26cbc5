//! Text as editors and other programs save it: UTF-8 with line ends that are read, or what it is instead and how to mend it.

use crate::fault::Fault;

/// Bytes at the start that tell UTF-16 without a mark.
const LOOKED_AT: usize = 64;

/// The bytes as text. `what` is what they are, for the message: `a design file`.
///
/// # Errors
/// They are no UTF-8. A byte that is not has its place in the text that [`String::from_utf8_lossy`] makes of them.
pub fn utf8<'a>(bytes: &'a [u8], what: &str) -> Result<&'a str, Fault> {
    if let Some((name, sign)) = wide(bytes) {
        return Err(Fault::at(
            "",
            format!("this file is saved as {name}: {sign}"),
            format!("{what} is plain text in UTF-8, where a letter of the Latin alphabet is one byte and no byte is zero"),
        )
        .cure("save it as UTF-8: in the editor, look for \"Encoding\" in the window for saving; some lists call UTF-16 \"Unicode\""));
    }
    let text = std::str::from_utf8(bytes).map_err(|error| {
        // Up to the first bad byte the lossy text is the file's own; there stands the replacement letter.
        let at = error.valid_up_to();
        let bad = bytes.get(at).copied().unwrap_or_default();
        Fault::at(
            "",
            format!("the file is not UTF-8 text: byte {at} is {bad:#04X}"),
            format!("{what} is plain text in UTF-8"),
        )
        .cure("save the file as UTF-8 in the editor; a degree sign or fraction typed under an older encoding is the usual cause")
        .span(at..at + '\u{FFFD}'.len_utf8())
    })?;
    Ok(text)
}

/// A line of text from a file, safe to show on a terminal: characters that steer it, or turn the direction of letters,
/// are written as `\u{1b}`.
pub fn visible(text: &str) -> String {
    let steers = |c: char| {
        c.is_control() || matches!(c, '\u{200E}' | '\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2066}'..='\u{2069}')
    };
    let mut shown = String::with_capacity(text.len());
    for c in text.chars() {
        if steers(c) {
            shown.extend(c.escape_unicode());
        } else {
            shown.push(c);
        }
    }
    shown
}

/// The fault of a text with bare carriage returns.
pub fn bare_returns(text: &str) -> Option<Fault> {
    let bytes = text.as_bytes();
    let bare = |at: &usize| bytes[*at] == b'\r' && bytes.get(at + 1) != Some(&b'\n');
    let count = (0..bytes.len()).filter(bare).count();
    if count == 0 {
        return None;
    }
    let what = if bytes.contains(&b'\n') {
        let line = 1 + bytes.iter().take((0..bytes.len()).find(bare)?).filter(|b| **b == b'\n').count();
        format!("in line {line} stands a carriage return (CR) with no line feed after it")
    } else {
        "the lines of this file end with a bare carriage return (CR), as some old programs write them".to_owned()
    };
    let allowed = "in TOML a line ends with a line feed (LF, Unix) or with both (CRLF, Windows)";
    Some(
        Fault::at("", what, allowed)
            .cure("save it with Unix or Windows line ends; editors have it beside the encoding"),
    )
}

/// The name of an encoding of two or four bytes a letter, and what shows it.
fn wide(bytes: &[u8]) -> Option<(&'static str, &'static str)> {
    let marked = "it begins with that one's byte order mark";
    let zero = |places: usize| {
        let start = &bytes[..bytes.len().min(LOOKED_AT)];
        let (mut count, mut zeros) = (0, 0);
        for byte in start.iter().skip(places).step_by(2) {
            (count, zeros) = (count + 1, zeros + usize::from(*byte == 0));
        }
        count > 1 && zeros * 4 > count * 3
    };
    let every_other = "every other byte is zero";
    Some(match bytes {
        [0xFF, 0xFE, 0, 0, ..] => ("UTF-32, little end first", marked),
        [0, 0, 0xFE, 0xFF, ..] => ("UTF-32, big end first", marked),
        [0xFF, 0xFE, ..] => ("UTF-16, little end first", marked),
        [0xFE, 0xFF, ..] => ("UTF-16, big end first", marked),
        _ => match (zero(0), zero(1)) {
            (false, true) => ("UTF-16, little end first", every_other),
            (true, false) => ("UTF-16, big end first", every_other),
            _ => return None,
        },
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn encoded(text: &str, big: bool, mark: bool) -> Vec<u8> {
        let units = mark.then_some(0xFEFF).into_iter().chain(text.encode_utf16());
        units.flat_map(|u: u16| if big { u.to_be_bytes() } else { u.to_le_bytes() }).collect()
    }

    #[test]
    fn what_steers_a_terminal_is_spelt_out() {
        assert_eq!(visible("Größe ½\t\u{1b}[31m\u{9b}\u{202E}"), "Größe ½\\u{9}\\u{1b}[31m\\u{9b}\\u{202e}");
    }

    #[test]
    fn wide_encodings_are_named_with_and_without_their_mark() {
        for (big, name) in [(false, "UTF-16, little end first"), (true, "UTF-16, big end first")] {
            for mark in [true, false] {
                let fault = utf8(&encoded("name = \"Größe ½\"\n", big, mark), "a design file").unwrap_err();
                assert!(fault.what.contains(name) && fault.cure.contains("save it as UTF-8"), "{fault:?}");
            }
        }
        let fault = utf8(b"\xFF\xFE\0\0a\0\0\0", "a roster").unwrap_err();
        assert!(fault.what.contains("UTF-32") && fault.why.contains("a roster"), "{fault:?}");
    }

    #[test]
    fn text_in_utf8_is_taken_as_it_is() {
        for text in ["", "a", "\u{FEFF}name = 1", "name = \"木弓\"", "a\0b"] {
            assert_eq!(utf8(text.as_bytes(), "a design file").unwrap(), text);
        }
        assert_eq!(utf8(b"ab\xB0", "a design file").unwrap_err().span, Some(2..5));
    }

    #[test]
    fn bare_returns_are_told_from_line_ends() {
        assert!(bare_returns("a\r\nb\n").is_none());
        assert!(bare_returns("a\rb\r").unwrap().what.contains("the lines of this file"));
        assert!(bare_returns("a\nb\r\nc\rd\n").unwrap().what.contains("in line 3"));
        assert!(bare_returns("a\n\r").is_some());
    }
}
