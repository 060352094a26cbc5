//! A design packed into few letters, for a code that a camera reads.
//!
//! ```text
//! NOCK1: + base45( form, 4 bytes of seal, deflate(text) )
//! ```
//!
//! The compression begins with a text that packer and unpacker both know, so that the words of every design cost next to
//! nothing (the preset dictionary of RFC 1950, though no zlib header is kept). Base45 (RFC 9285) has just the letters of a
//! code's dense alphanumeric mode, and a telephone shows it as text that can be sent on.

use miniz_oxide::deflate::core::{CompressorOxide, TDEFLFlush, compress, create_comp_flags_from_zip_params};
use miniz_oxide::inflate::TINFLStatus;
use miniz_oxide::inflate::core::inflate_flags::TINFL_FLAG_USING_NON_WRAPPING_OUTPUT_BUF;
use miniz_oxide::inflate::core::{DecompressorOxide, decompress};

use super::{Carried, MOST_TEXT, altered, too_long};
use crate::fault::Fault;
use crate::seal::Seal;

/// What the text of every code begins with; the figure is the version of packing and dictionary.
pub const MARK: &str = "NOCK1:";

/// Known to both sides. Never changed: a code on paper is unpacked with the dictionary it was packed with.
const DICTIONARY: &[u8] = include_bytes!("dictionary_1.txt");

const WHOLE: u8 = 1;
const FIELDS: u8 = 2;

/// Letters of base45, RFC 9285 table 1.
const LETTERS: &[u8; 45] = b"0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:";

/// The text of a code that holds the whole of `text`.
pub fn pack(text: &str) -> String {
    pack_as(WHOLE, text)
}

/// The text of a code that holds the keys and values of a design file without comments and blank lines;
/// none where they cannot be taken out for certain.
pub(super) fn pack_fields(text: &str) -> Option<String> {
    let bare = without_comments(text);
    let table = |text: &str| text.parse::<toml::Table>().ok();
    (table(text).is_some() && table(text) == table(&bare)).then(|| pack_as(FIELDS, &bare))
}

fn pack_as(form: u8, text: &str) -> String {
    let mut bytes = vec![form];
    let mut seal = Seal::default();
    seal.add(text.as_bytes());
    bytes.extend(seal.short());
    bytes.extend(squeeze(text.as_bytes()));
    format!("{MARK}{}", base45(&bytes))
}

/// The design in the text of a code.
///
/// # Errors
/// The text is none of a code's, was misread, or is too long.
pub fn unpack(text: &str) -> Result<Carried, Fault> {
    let misread = |what: &str| {
        Fault::at(
            "",
            format!("the code's text {what}"),
            "it has a seal of its own, so that nothing misread passes for a design",
        )
        .cure("read the code again, in better light and flat")
    };
    let rest = text.strip_prefix(MARK).ok_or_else(|| {
        Fault::at("", "this is not the code of a Nockwright sheet", format!("its text would begin with {MARK}"))
    })?;
    // Packed text is never longer than the largest code; 4296 letters is the most that any code holds (ISO/IEC 18004).
    if rest.len() > 4296 {
        return Err(misread("is longer than any code"));
    }
    let bytes =
        from_base45(rest.trim_end_matches(['\r', '\n'])).ok_or_else(|| misread("has letters that no code has"))?;
    let [form @ (WHOLE | FIELDS), s0, s1, s2, s3, packed @ ..] = bytes.as_slice() else {
        return Err(misread("is cut short, or was written by a later version"));
    };
    let unpacked = unsqueeze(packed)?;
    let mut seal = Seal::default();
    seal.add(&unpacked);
    if seal.short() != [*s0, *s1, *s2, *s3] {
        return Err(altered());
    }
    Ok(Carried { file_name: String::new(), text: unpacked, whole: *form == WHOLE })
}

/// Deflate that has seen the dictionary.
fn squeeze(text: &[u8]) -> Vec<u8> {
    // Greatest effort, no zlib header (window bits below zero), default strategy.
    let mut state = CompressorOxide::new(create_comp_flags_from_zip_params(10, -15, 0));
    // Twice as long as what goes in: deflate never makes text much longer than it is, so each call takes all of it.
    let mut out = vec![0; (DICTIONARY.len() + text.len()) * 2 + 1024];
    let (_, _, seen) = compress(&mut state, DICTIONARY, &mut out, TDEFLFlush::Sync);
    let (_, _, written) = compress(&mut state, text, &mut out[seen..], TDEFLFlush::Finish);
    out[seen..seen + written].to_vec()
}

fn unsqueeze(packed: &[u8]) -> Result<Vec<u8>, Fault> {
    let start = DICTIONARY.len();
    let mut size = 64 << 10;
    loop {
        let mut out = DICTIONARY.to_vec();
        out.resize(start + size, 0);
        let flags = TINFL_FLAG_USING_NON_WRAPPING_OUTPUT_BUF;
        let (status, _, made) = decompress(&mut DecompressorOxide::new(), packed, &mut out, start, flags);
        match status {
            TINFLStatus::Done => return Ok(out[start..start + made].to_vec()),
            TINFLStatus::HasMoreOutput if size < MOST_TEXT => size = MOST_TEXT,
            TINFLStatus::HasMoreOutput => return Err(too_long()),
            _ => return Err(altered()),
        }
    }
}

fn base45(bytes: &[u8]) -> String {
    let mut text = String::with_capacity(bytes.len() * 3 / 2 + 2);
    for pair in bytes.chunks(2) {
        let mut value = pair.iter().fold(0usize, |v, b| v << 8 | usize::from(*b));
        for _ in 0..=pair.len() {
            text.push(char::from(LETTERS[value % 45]));
            value /= 45;
        }
    }
    text
}

fn from_base45(text: &str) -> Option<Vec<u8>> {
    let mut bytes = Vec::with_capacity(text.len() * 2 / 3 + 1);
    for group in text.as_bytes().chunks(3) {
        let mut value = 0;
        for letter in group.iter().rev() {
            value = value * 45 + LETTERS.iter().position(|l| l == letter)?;
        }
        match (group.len(), value) {
            (3, 0..=0xFFFF) => bytes.extend([(value >> 8) as u8, value as u8]),
            (2, 0..=0xFF) => bytes.push(value as u8),
            _ => return None,
        }
    }
    Some(bytes)
}

/// TOML without comments, trailing spaces and blank lines; text within quotes is left as it is.
fn without_comments(text: &str) -> String {
    let mut kept = String::with_capacity(text.len());
    let mut quote: Option<&str> = None;
    let mut rest = text;
    while let Some(c) = rest.chars().next() {
        let mut taken = c.len_utf8();
        match quote {
            None if c == '#' => {
                rest = rest.find('\n').map_or("", |end| &rest[end..]);
                continue;
            }
            None => {
                quote = ["\"\"\"", "'''", "\"", "'"].into_iter().find(|q| rest.starts_with(q));
                taken = quote.map_or(taken, str::len);
            }
            Some(q) if rest.starts_with(q) => {
                taken = q.len();
                quote = None;
            }
            // A backslash keeps the next letter from closing a text in double quotes.
            Some(q) if c == '\\' && q.starts_with('"') => {
                taken += rest[1..].chars().next().map_or(0, char::len_utf8);
            }
            Some(_) => {}
        }
        kept.push_str(&rest[..taken]);
        rest = &rest[taken..];
    }
    let lines: Vec<&str> = kept.lines().map(str::trim_end).filter(|l| !l.is_empty()).collect();
    lines.join("\n") + "\n"
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// RFC 9285, sections 4.3 and 4.4.
    #[test]
    fn base45_agrees_with_the_examples_of_its_standard() {
        for (plain, coded) in
            [("AB", "BB8"), ("Hello!!", "%69 VD92EX0"), ("base-45", "UJCLQE7W581"), ("ietf!", "QED8WEX0")]
        {
            assert_eq!(base45(plain.as_bytes()), coded);
            assert_eq!(from_base45(coded).unwrap(), plain.as_bytes());
        }
        assert_eq!(from_base45("GGW"), None);
        assert_eq!(from_base45("a"), None);
    }

    #[test]
    fn the_words_of_every_design_cost_next_to_nothing() {
        let known = std::str::from_utf8(DICTIONARY).unwrap();
        assert!(pack(known).len() < 300, "{}", pack(known).len());
    }

    #[test]
    fn comments_go_and_values_stay() {
        let text = "a = 'x # y' # gone\n\n# gone\nb = \"\\\"#\"  \nc = '''\n# stays'''\n";
        assert_eq!(without_comments(text), "a = 'x # y'\nb = \"\\\"#\"\nc = '''\n# stays'''\n");
        let design = unpack(&pack_fields(text).unwrap()).unwrap();
        assert!(!design.whole);
        assert_eq!(design.text, without_comments(text).as_bytes());
        // Blank lines within a text of several lines would be lost, so there is no short form.
        assert!(pack_fields("a = '''x\n\n\ny'''").is_none());
    }

    #[test]
    fn what_was_misread_is_refused() {
        let good = pack("layout = 1\nunits = \"mm\"\n");
        assert!(unpack(&good).unwrap().whole);
        for at in MARK.len()..good.len() {
            let mut bad = good.clone().into_bytes();
            bad[at] = if bad[at] == b'7' { b'8' } else { b'7' };
            assert!(unpack(&String::from_utf8(bad).unwrap()).is_err(), "{at}");
        }
        assert!(unpack(&good[..good.len() - 3]).is_err() && unpack("NOCK1:").is_err() && unpack("WIFI:x").is_err());
    }

    #[test]
    fn a_bomb_is_not_unpacked() {
        let bomb = pack(&"a".repeat(MOST_TEXT + 1));
        assert!(bomb.len() < 4000);
        assert!(unpack(&bomb).unwrap_err().what.contains("too long"));
        assert_eq!(unpack(&pack(&"a".repeat(MOST_TEXT))).unwrap().text.len(), MOST_TEXT);
    }

    proptest! {
        #[test]
        fn every_text_comes_back(text in "[ -~éü#\"'\n]{0,400}") {
            let back = unpack(&pack(&text)).unwrap();
            prop_assert_eq!(back.text, text.as_bytes());
        }

        #[test]
        fn no_text_whatever_breaks_the_unpacking(text in "[0-9A-Z $%*+./:-]{0,300}") {
            let _ = unpack(&format!("{MARK}{text}"));
        }
    }
}
