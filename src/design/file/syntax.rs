//! TOML itself: tables with places, and syntax faults with cures for the usual slips.

use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, Error};

use crate::fault::{Fault, Faults};
use crate::units::quoted;

use super::MOST_FAULTS;

/// Parses as much as can be parsed, with one fault for each line that is not TOML.
pub(super) fn parse(text: &str) -> (Spanned<DeTable<'_>>, Faults) {
    let (document, errors) = DeTable::parse_recoverable(text);
    let mut faults: Faults = Vec::new();
    let mut blamed = 0..0;
    for error in &errors {
        let at = error.span().unwrap_or(0..0);
        // One slip often upsets the rest of its line; the first word about it is enough.
        if faults.len() >= MOST_FAULTS || (!faults.is_empty() && blamed.start <= at.start && at.start <= blamed.end) {
            continue;
        }
        blamed = line_of(text, at.start);
        faults.push(fault(text, error, at, blamed.clone()));
    }
    (document, faults)
}

/// Bytes of the line round `at`, without its end.
pub(super) fn line_of(text: &str, at: usize) -> Range<usize> {
    let bytes = text.as_bytes();
    let at = at.min(bytes.len());
    let start = bytes[..at].iter().rposition(|b| *b == b'\n').map_or(0, |i| i + 1);
    let end = bytes[at..].iter().position(|b| *b == b'\n').map_or(bytes.len(), |i| at + i);
    start..end
}

fn fault(text: &str, error: &Error, at: Range<usize>, line: Range<usize>) -> Fault {
    let message = error.message();
    if message.contains("duplicate key") {
        return Fault::at(
            "",
            "this key is written twice",
            "in one table each key stands once, or nobody knows which value is meant",
        )
        .cure("strike out one of the two")
        .span(at);
    }
    let written = text.get(line.clone()).unwrap_or_default();
    let (key, value) = match written.split_once('=') {
        Some((key, value)) => (key.trim(), value.split('#').next().unwrap_or_default().trim()),
        None => ("", written.trim()),
    };
    let fault = Fault::at(
        "",
        format!("this is not TOML: {message}"),
        "a design file is TOML: `key = \"value\"`, one to a line, under `[table]` heads",
    )
    .span(at.clone());
    if value.contains(['“', '”', '‘', '’', '„']) {
        return fault.cure("use straight quotes, as in \"6 1/4 in\"");
    }
    let quote_count = value.matches('"').count();
    if value.starts_with('"') && quote_count > 2 && value.ends_with("\"\"") {
        return fault.cure(format!(
            "an inch sign ends the text too soon: write {key} = '{}' or use `in`",
            value[1..].trim_end_matches('"').to_owned() + "\""
        ));
    }
    if value.starts_with(['"', '\'']) && quote_count % 2 == 1 {
        return fault.cure("close the text with the quote it was opened with");
    }
    if key.is_empty() {
        return fault.cure("put a # before the line to keep it as a comment");
    }
    if value.is_empty() {
        return fault.cure(format!("write a value after {}, or strike the line out", quoted(key)));
    }
    if !value.starts_with(['"', '\'', '[', '{']) {
        return fault.cure(format!("put the value in quotes: {key} = \"{}\"", value.replace('"', " in").trim_end()));
    }
    fault
}
