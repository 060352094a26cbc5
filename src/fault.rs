//! What is wrong with a design, said so that a maker can mend it.

use std::ops::Range;

/// One thing that keeps a design from being used.
///
/// Faults are gathered and shown together, never the first alone.
/// A fault found while reading the file knows its `span`; one found later (by the statics, a nock, a sheet)
/// names the `key` it blames, and the reader's table of places turns that into a span.
#[derive(Debug, Clone, PartialEq)]
pub struct Fault {
    /// Dotted key in the design file that the fault is about, for instance `bow.brace_height`
    /// or `upper.nock.wall_radius`. Empty when the file as a whole is meant.
    pub key: String,
    /// Bytes of the file that the fault points at, when known.
    pub span: Option<Range<usize>>,
    /// What is wrong, in one sentence, with what was read.
    pub what: String,
    /// What is allowed, and why.
    pub why: String,
    /// What would help. Empty when there is nothing to suggest.
    pub cure: String,
}

impl Fault {
    /// A fault about `key`: what is wrong; what is allowed and why.
    pub fn at(key: impl Into<String>, what: impl Into<String>, why: impl Into<String>) -> Self {
        Fault { key: key.into(), span: None, what: what.into(), why: why.into(), cure: String::new() }
    }

    /// Adds what would help.
    pub fn cure(mut self, cure: impl Into<String>) -> Self {
        self.cure = cure.into();
        self
    }

    /// Adds the place in the file.
    pub fn span(mut self, span: Range<usize>) -> Self {
        self.span = Some(span);
        self
    }
}

/// All that was found wrong, at least one fault.
pub type Faults = Vec<Fault>;
