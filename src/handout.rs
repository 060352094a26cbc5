//! One design's sheets, from the design that was read to the pages: the whole flow in one call.

use crate::carried::code::{Code, Holds};
use crate::design::Design;
use crate::fault::Faults;
use crate::findings::{Check, Verdict};
use crate::printer::Correction;
use crate::sheets::paper::Paper;
use crate::sheets::{Attachment, Letters, SheetSet, SheetTitle, lay_out_in};
use crate::worked::Worked;

/// The program and its version, as sheets name it.
pub const PROGRAM: &str = concat!("Nockwright ", env!("CARGO_PKG_VERSION"));

/// What sheets are called whose loop was not followed through the draw.
pub const UNFOLLOWED: &str = "nock sheets, loop not followed";

/// What sheets are made with, besides the design.
#[derive(Debug, Clone)]
pub struct Wish {
    /// The design file's text, which rides along.
    pub text: String,
    /// Its name without folders.
    pub file_name: String,
    /// What was changed for this run, for the digest; empty when nothing was.
    pub changes: String,
    /// The paper.
    pub paper: Paper,
    /// The printer the sheets are corrected for.
    pub correction: Option<Correction>,
    /// How large the letters are.
    pub letters: Letters,
    /// Whether the loop is followed through the draw for the checks; the sheets' title says where it was not.
    pub follow_loop: bool,
}

/// Sheets, and what they were made from.
#[derive(Debug, Clone)]
pub struct Handout {
    /// The design worked through.
    pub worked: Worked,
    /// Its checks.
    pub checks: Vec<Check>,
    /// What the code on the first page holds; none where the design is too long for one.
    pub holds: Option<Holds>,
    /// The sheets.
    pub set: SheetSet,
}

impl Handout {
    /// Works a design through and lays its sheets out.
    ///
    /// # Errors
    /// What keeps the bow or its nocks from being made, or a piece from being printed.
    pub fn of(design: &Design, wish: Wish) -> Result<Handout, Faults> {
        let worked = Worked::of(design)?;
        let (checks, sheets) = if wish.follow_loop {
            (crate::checks::all(&worked), "nock sheets")
        } else {
            (crate::checks::without_loop(&worked), UNFOLLOWED)
        };
        let title = SheetTitle {
            bow: design.name.clone(),
            sheets: sheets.into(),
            digest: crate::digest::of(&wish.text, &wish.changes),
            program: PROGRAM.into(),
            date: design.sheets.date.clone(),
            units: crate::reports::units_words(design.units).into(),
            correction: wish.correction,
        };
        let code = Code::of(&wish.text);
        let mut pieces = crate::pieces::all(&worked, &checks);
        // First, so that it comes to lie on the first page.
        pieces.splice(..0, code.as_ref().map(Code::piece));
        let attachment = Attachment { file_name: wish.file_name, text: wish.text };
        let set = lay_out_in(wish.letters, title, wish.paper, pieces, attachment)?;
        Ok(Handout { worked, checks, holds: code.map(|c| c.holds), set })
    }

    /// Whether a check fails.
    pub fn fails(&self) -> bool {
        self.checks.iter().any(|c| c.verdict == Verdict::Fails)
    }
}
