//! Faults as a maker sees them: the line of the file, a caret, what, why, and what would help.

use std::fmt;
use std::ops::Range;

use annotate_snippets::{AnnotationKind, Group, Level, Origin, Renderer, Snippet};

use crate::fault::Fault;

use super::MOST_FAULTS;

/// Most faults that are shown in full; a file that has more is better mended in turns.
const MOST_SHOWN: usize = 40;

/// Longest line that is shown, bytes. Of a longer one only the place is told.
const LONGEST_LINE: usize = 1000;

/// A fault with what stands beside its caret.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Shown {
    pub fault: Fault,
    /// Text beside the caret.
    pub label: String,
    /// The option and value typed for this run, where that is to blame and not the file.
    pub typed: Option<String>,
}

/// A design that was not accepted: all its faults, with their places.
#[derive(Debug, Clone, PartialEq)]
pub struct Refusal {
    name: String,
    text: String,
    shown: Vec<Shown>,
}

impl Refusal {
    /// Faults in order of place; those without a place come first. Equal faults are shown once.
    pub(super) fn new(name: &str, text: &str, mut shown: Vec<Shown>) -> Self {
        shown.sort_by_key(|s| s.fault.span.as_ref().map(|span| (span.start, span.end)));
        let mut kept: Vec<Shown> = Vec::with_capacity(shown.len());
        for s in shown {
            let again = |k: &&Shown| k.fault.span == s.fault.span && k.fault.what == s.fault.what;
            // Equal places stand side by side after sorting, so looking back over them is enough.
            if !kept.iter().rev().take_while(|k| k.fault.span == s.fault.span).any(|k| again(&k)) {
                kept.push(s);
            }
        }
        Refusal { name: name.to_owned(), text: text.to_owned(), shown: kept }
    }

    /// A refusal of the file as a whole.
    pub fn whole(name: &str, fault: Fault) -> Self {
        Refusal::new(name, "", vec![Shown { fault, label: String::new(), typed: None }])
    }

    /// A refusal of options of the command line; each fault's key is the option.
    pub fn of_options(faults: Vec<Fault>) -> Self {
        let shown = |fault: Fault| Shown { typed: Some(fault.key.clone()), label: String::new(), fault };
        Refusal::new("", "", faults.into_iter().map(shown).collect())
    }

    /// The faults, each with its span where it has a place in the file.
    pub fn faults(&self) -> impl Iterator<Item = &Fault> {
        self.shown.iter().map(|s| &s.fault)
    }

    /// The faults as text for people, plain or with colours (ANSI).
    pub fn render(&self, colour: bool) -> String {
        self.render_as(colour, "error")
    }

    pub(super) fn render_remarks(&self, colour: bool) -> String {
        self.render_as(colour, "remark")
    }

    fn render_as(&self, colour: bool, kind: &str) -> String {
        let renderer = if colour { Renderer::styled() } else { Renderer::plain() };
        let mut out = String::new();
        for shown in self.shown.iter().take(MOST_SHOWN) {
            out.push_str(renderer.render(&[self.group(shown, kind)]).trim_end());
            out.push_str("\n\n");
        }
        if let Some(more) = self.shown.len().checked_sub(MOST_SHOWN).filter(|more| *more > 0) {
            let more = if self.shown.len() >= MOST_FAULTS { "many".to_owned() } else { more.to_string() };
            out.push_str(&format!("and {more} more; mend these first\n\n"));
        }
        out.pop();
        out
    }

    fn group<'a>(&'a self, shown: &'a Shown, kind: &'a str) -> Group<'a> {
        let fault = &shown.fault;
        let level = if kind == "error" { Level::ERROR } else { Level::WARNING.with_name(Some(kind)) };
        let group = level.primary_title(fault.what.as_str());
        let mut group = match (&shown.typed, &fault.span) {
            (Some(typed), _) => group.element(Origin::path(typed.as_str())),
            (None, Some(span)) => {
                let line = Line::of(&self.text, span);
                if line.text.len() > LONGEST_LINE {
                    let column = line.text[..line.span.start].chars().count() + 1;
                    group.element(Origin::path(self.name.as_str()).line(line.number).char_column(column))
                } else {
                    let annotation = AnnotationKind::Primary.span(line.span).label(shown.label.as_str());
                    let snippet = Snippet::source(line.text).line_start(line.number).path(self.name.as_str());
                    group.element(snippet.annotation(annotation))
                }
            }
            (None, None) => group.element(Origin::path(self.name.as_str())),
        };
        if !fault.why.is_empty() {
            group = group.element(Level::NOTE.with_name(Some("allowed")).message(fault.why.as_str()));
        }
        if !fault.cure.is_empty() {
            group = group.element(Level::HELP.message(fault.cure.as_str()));
        }
        group
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.render(false))
    }
}

impl std::error::Error for Refusal {}

/// One line of the file and the part of it that is meant.
struct Line<'a> {
    text: &'a str,
    /// From 1.
    number: usize,
    /// Bytes of the line; a span that runs over the line's end is cut there.
    span: Range<usize>,
}

impl<'a> Line<'a> {
    fn of(text: &'a str, span: &Range<usize>) -> Self {
        let mut start = floor_boundary(text, span.start);
        // A fault at the very end of the file belongs to the last line that has something on it.
        if start == text.len() {
            start = text.trim_end().len();
        }
        let line_start = text[..start].rfind('\n').map_or(0, |at| at + 1);
        let line_end = text[start..].find('\n').map_or(text.len(), |at| start + at);
        let line = text[line_start..line_end].trim_end_matches('\r');
        let from = (start - line_start).min(line.len());
        let to = ceil_boundary(text, span.end).saturating_sub(line_start).clamp(from, line.len());
        Line { text: line, number: text[..line_start].matches('\n').count() + 1, span: from..to }
    }
}

fn floor_boundary(text: &str, at: usize) -> usize {
    (0..=at.min(text.len())).rev().find(|i| text.is_char_boundary(*i)).unwrap_or(0)
}

fn ceil_boundary(text: &str, at: usize) -> usize {
    (at.min(text.len())..=text.len()).find(|i| text.is_char_boundary(*i)).unwrap_or(text.len())
}
