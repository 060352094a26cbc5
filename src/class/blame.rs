//! Which column of a row a fault of its design goes back to.

use super::applied::Put;
use crate::fault::{Fault, Faults};

/// Faults of a row's design under the heads of the columns that set the blamed keys; what one cell brought about at
/// several keys is told once.
pub fn blamed(puts: &[Put], faults: impl IntoIterator<Item = Fault>) -> Faults {
    let mut told = Faults::new();
    for fault in faults {
        let fault = under_head(puts, fault);
        if !told.iter().any(|t| t.key == fault.key && t.what == fault.what) {
            told.push(fault);
        }
    }
    told
}

fn under_head(puts: &[Put], fault: Fault) -> Fault {
    let common = fault.key.split_once('.').filter(|(side, _)| ["upper", "lower"].contains(side)).map(|(_, key)| key);
    if let Some(head) = head_of(puts, &fault.key).or_else(|| head_of(puts, common?)) {
        return Fault { key: head.to_owned(), ..fault };
    }
    // The range is the base design's; the row's own measure lies outside it.
    if let Some(measure) = fault.key.strip_prefix("range.")
        && let Some(head) = head_of(puts, &format!("bow.{measure}"))
    {
        let cure = format!(
            "{}; the range is the base design's, or the row's own in a column `range.{measure}`, with both ends as in `26 in to 29 in`",
            fault.cure
        );
        return Fault { key: head.to_owned(), cure, ..fault };
    }
    fault
}

/// The head of the column that set a key, or the table or list that it lies in.
fn head_of<'p>(puts: &'p [Put], key: &str) -> Option<&'p str> {
    let within =
        |put: &&Put| key.strip_prefix(&put.key).is_some_and(|rest| rest.is_empty() || rest.starts_with(['.', '[']));
    puts.iter().filter(within).max_by_key(|put| put.key.len()).map(|put| put.head.as_str())
}
