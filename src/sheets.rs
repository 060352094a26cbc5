//! Sheets: pieces laid out on paper, each page with its frame.
//!
//! What is true of every [`SheetSet`]: coordinates are millimetres from a page's **lower** left corner, `y` up (a writer whose
//! format counts downward turns them over, nobody else does); every text can be set in the face of [`crate::font`];
//! every number is finite; part names on one page differ; no piece lies on another or on the frame.
//!
//! ```
//! use nockwright::sheets::{Attachment, Piece, SheetTitle, lay_out, paper};
//! use nockwright::template::{Role, Template};
//! use nockwright::writers::WRITERS;
//!
//! let mut gauge = Template::new("groove radius gauge");
//! gauge.line(Role::Cut, kurbo::Shape::to_path(&kurbo::Circle::new((0.0, 0.0), 12.0), 1e-3));
//! let sheets = lay_out(SheetTitle::default(), paper::A4, vec![Piece::new(gauge)], Attachment::default()).unwrap();
//! let pdf = WRITERS.iter().find(|writer| writer.name == "pdf").unwrap();
//! let files = (pdf.write)(&sheets).unwrap();
//! assert!(files[0].1.starts_with(b"%PDF-1.7"));
//! ```
//!
//! A piece larger than a page is cut into tiles before [`packing::pack`], which sees tiles as it sees pieces.

pub mod frame;
pub mod large_print;
pub mod packing;
pub mod paper;
mod spread;
pub mod test_page;
mod tiling;

use kurbo::{Affine, Rect};

use crate::fault::Faults;
use crate::font::{REPLACEMENT, printable};
use crate::printer::Correction;
use crate::template::{Figure, Template};
use paper::Paper;
use spread::{Group, fits, fitted, spread};

/// Room for the scissors between two pieces, mm.
pub const SCISSORS: f64 = 6.0;

/// How far pieces keep off the frame where there is room to spare, mm.
const OFF_FRAME: f64 = 3.0;

/// How far pieces keep off the frame anyway, mm: a word beside a line seems to belong to it.
const LEAST_OFF_FRAME: f64 = 1.7;

/// The field that pieces are laid out in, mm from the page's lower left corner.
fn clear_field(paper: &Paper) -> Rect {
    paper.field().inset(-LEAST_OFF_FRAME)
}

/// One template, to be kept whole on one page.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// What is drawn.
    pub template: Template,
    /// It may lie turned by a quarter, to save paper.
    pub may_turn: bool,
    /// It should lie on the same page as the piece after it.
    pub with_next: bool,
}

impl Piece {
    /// A piece that lies as drawn, on whatever page has room.
    pub fn new(template: Template) -> Self {
        Piece { template, may_turn: false, with_next: false }
    }

    /// Lets it be turned by a quarter.
    pub fn may_turn(mut self) -> Self {
        self.may_turn = true;
        self
    }

    /// Keeps it with the piece that comes after it.
    pub fn with_next(mut self) -> Self {
        self.with_next = true;
        self
    }
}

/// What the title block says.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SheetTitle {
    /// The bow's name.
    pub bow: String,
    /// What the sheets are, for instance `Nocks, upper and lower`.
    pub sheets: String,
    /// Digest of the design, so that paper and file can be told to belong together.
    pub digest: String,
    /// The program and its version.
    pub program: String,
    /// The date the maker gave; nothing is printed otherwise.
    pub date: Option<String>,
    /// The units of the figures.
    pub units: String,
    /// The printer that the sheets are corrected for; the writers draw every page through the correction.
    pub correction: Option<Correction>,
}

/// The design the sheets were made from; it travels inside the written files.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Attachment {
    /// File name without folder.
    pub file_name: String,
    /// The whole text.
    pub text: String,
}

/// How large the letters are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Letters {
    /// As small as is read at the bench.
    #[default]
    Usual,
    /// Words and figures of the pieces at 12 points and more where they have room, and a head with title and cautions, or where those
    /// stand, on every page; the drawings, the bars and the frame are the same.
    Large,
}

/// One page.
#[derive(Debug, Clone, PartialEq)]
pub struct Page {
    /// `sheet 1 of 3`.
    pub name: String,
    /// Width, mm.
    pub width: f64,
    /// Height, mm.
    pub height: f64,
    /// The pieces, then the parts of the frame.
    pub parts: Vec<Template>,
}

impl Page {
    /// What the page is drawn through for a printer, about the page's middle, so that nothing moves nearer to the edge than
    /// the correction asks: millimetres from the lower left corner, `y` up.
    pub fn drawn_through(&self, correction: &Correction) -> Affine {
        let middle = Affine::translate((self.width / 2.0, self.height / 2.0));
        middle * correction.map.correction() * middle.inverse()
    }
}

/// Pages ready to be written.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetSet {
    /// What the title block says.
    pub title: SheetTitle,
    /// The paper.
    pub paper: Paper,
    /// The pages, at least one.
    pub pages: Vec<Page>,
    /// The design; the designs, one after the other, where the sheets are those of a class.
    pub attachments: Vec<Attachment>,
    /// What the maker should be told, though the sheets are good.
    pub remarks: Vec<String>,
}

/// Lays out pieces on paper, in letters of the usual size.
///
/// The first page also explains how the print is proved and what the lines mean.
/// A piece larger than the field is laid out in tiles; one that would need too many is a fault that names it.
pub fn lay_out(
    title: SheetTitle,
    paper: Paper,
    pieces: Vec<Piece>,
    attachment: Attachment,
) -> Result<SheetSet, Faults> {
    lay_out_in(Letters::Usual, title, paper, pieces, attachment)
}

/// Room between two sheets' counts, for the head's height must be known before the sheets are counted.
const MOST_DIGITS: usize = 999;

/// The same in usual or large letters.
///
/// # Errors
/// As [`lay_out`].
pub fn lay_out_in(
    letters: Letters,
    title: SheetTitle,
    paper: Paper,
    pieces: Vec<Piece>,
    attachment: Attachment,
) -> Result<SheetSet, Faults> {
    let mut replaced = Vec::new();
    let mut pieces: Vec<Piece> = pieces
        .into_iter()
        .map(|piece| Piece { template: made_printable(piece.template, &mut replaced), ..piece })
        .collect();
    let title = printable_title(title, &mut replaced);
    let explanation = frame::explanation(paper.field_size(), pieces.iter().map(|p| &p.template));
    pieces.insert(0, Piece::new(explanation));

    let groups = match letters {
        Letters::Usual => {
            let field = clear_field(&paper);
            vec![Group { pieces: fitted(pieces, field, letters), field, head: None }]
        }
        Letters::Large => large_groups(pieces, &title, &paper),
    };
    let (mut pages, mut heads, mut faults) = (Vec::new(), Vec::new(), Faults::new());
    for group in &groups {
        match spread(group, &paper) {
            Ok(parts) => {
                heads.extend(parts.iter().map(|_| group.head));
                pages.extend(parts);
            }
            Err(more) => faults.extend(more),
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }

    let count = pages.len();
    let corner = Affine::translate(paper.frame_corner().to_vec2());
    let finished = |(number, (mut parts, head)): (usize, (Vec<Template>, Option<Head>))| {
        if let Some(head) = head {
            let field = paper.field();
            let (head, _) = frame::large_head(&title, field.width() - 2.0 * OFF_FRAME, number, count, head);
            parts.push(head.moved(Affine::translate((field.x0 + OFF_FRAME, field.y1 - OFF_FRAME))));
        }
        parts.extend(frame::frame(&title, &paper, number, count).iter().map(|part| part.moved(corner)));
        name_apart(&mut parts);
        let name = format!("sheet {} of {count}", number + 1);
        Page { name, width: paper.width, height: paper.height, parts }
    };
    let pages = pages.into_iter().zip(heads).enumerate().map(finished).collect();
    let remarks = if replaced.is_empty() {
        Vec::new()
    } else {
        let named: Vec<String> = replaced.iter().map(|c| format!("{c} (U+{:04X})", *c as u32)).collect();
        vec![format!("printed as {REPLACEMENT}, for the sheets' face has not got it: {}", named.join(", "))]
    };
    Ok(SheetSet { title, paper, pages, attachments: vec![attachment], remarks })
}

/// How much the head in large letters says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Head {
    /// Title, how to print, cautions.
    Whole,
    /// Without the cautions, above a piece that would not have room: they stand in the strip, and large on the sheet named.
    Short,
}

/// Pieces in large letters: those below the whole head, then those that are too large for that.
fn large_groups(pieces: Vec<Piece>, title: &SheetTitle, paper: &Paper) -> Vec<Group> {
    let below = |head: Head| {
        let field = paper.field();
        let (_, high) = frame::large_head(title, field.width() - 2.0 * OFF_FRAME, MOST_DIGITS, MOST_DIGITS, head);
        Rect { y1: field.y1 - high - OFF_FRAME, ..clear_field(paper) }
    };
    let (field, larger) = (below(Head::Whole), below(Head::Short));
    let size = |field: Rect| (field.width(), field.height());
    let fields = [size(field), size(larger)];
    let pieces: Vec<Piece> = pieces.into_iter().flat_map(|piece| large_print::enlarged(piece, &fields)).collect();
    // A piece that is too tall takes its title and its lists along.
    let base = |piece: &Piece| piece.template.name.split(", ").next().unwrap_or_default().to_owned();
    let too_tall: Vec<String> =
        pieces.iter().filter(|p| !fits(p, size(field)) && fits(p, size(larger))).map(base).collect();
    let (tall, pieces): (Vec<Piece>, Vec<Piece>) = pieces.into_iter().partition(|p| too_tall.contains(&base(p)));
    let mut groups = vec![Group { pieces: fitted(pieces, field, Letters::Large), field, head: Some(Head::Whole) }];
    if !tall.is_empty() {
        groups.push(Group { pieces: tall, field: larger, head: Some(Head::Short) });
    }
    groups
}

fn made_printable(mut template: Template, replaced: &mut Vec<char>) -> Template {
    template.name = printable_text(&template.name, replaced);
    for item in &mut template.items {
        if let Figure::Text { text, .. } = &mut item.figure {
            *text = printable_text(text, replaced);
        }
    }
    template
}

fn printable_title(title: SheetTitle, replaced: &mut Vec<char>) -> SheetTitle {
    let mut made = |text: String| printable_text(&text, replaced);
    SheetTitle {
        bow: made(title.bow),
        sheets: made(title.sheets),
        digest: made(title.digest),
        program: made(title.program),
        date: title.date.map(&mut made),
        units: made(title.units),
        correction: title.correction.map(|c| Correction {
            printer: made(c.printer),
            measured: c.measured.map(&mut made),
            ..c
        }),
    }
}

fn printable_text(text: &str, replaced: &mut Vec<char>) -> String {
    let made = printable(text);
    for c in made.replaced {
        if !replaced.contains(&c) {
            replaced.push(c);
        }
    }
    made.text
}

/// Numbers those parts that bear a name already given on the page.
fn name_apart(parts: &mut [Template]) {
    for i in 0..parts.len() {
        let given = parts[i].name.clone();
        let mut number = 1;
        while parts[..i].iter().any(|p| p.name == parts[i].name) {
            number += 1;
            parts[i].name = format!("{given} {number}");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::template::Role;
    use kurbo::Shape;

    fn block(name: &str, width: f64, height: f64) -> Piece {
        let mut t = Template::new(name);
        t.line(Role::Cut, Rect::new(0.0, 0.0, width, height).to_path(0.1));
        Piece::new(t)
    }

    fn laid(pieces: Vec<Piece>) -> Result<SheetSet, Faults> {
        lay_out(SheetTitle { bow: "弓".into(), ..Default::default() }, paper::A4, pieces, Attachment::default())
    }

    #[test]
    fn pieces_keep_their_size_turned_or_not() {
        let set = laid(vec![block("a", 60.0, 30.0), block("b", 220.0, 20.0).may_turn()]).unwrap();
        let size = |name: &str| {
            let part = set.pages.iter().flat_map(|p| &p.parts).find(|t| t.name == name).unwrap();
            let b = part.bounds().unwrap();
            (b.width(), b.height())
        };
        assert!((size("a").0 - 60.0).abs() < 1e-9 && (size("a").1 - 30.0).abs() < 1e-9);
        assert!((size("b").0 - 20.0).abs() < 1e-9 && (size("b").1 - 220.0).abs() < 1e-9);
        let field = set.paper.field();
        for part in set.pages.iter().flat_map(|p| &p.parts).filter(|t| ["a", "b"].contains(&t.name.as_str())) {
            assert!(field.contains_rect(part.bounds().unwrap()), "{}", part.name);
        }
    }

    #[test]
    fn every_piece_too_large_even_for_tiles_is_named_with_its_size() {
        let faults = laid(vec![block("long wrap", 9000.0, 30.0), block("a", 9.0, 9.0), block("tall", 9.0, 40000.0)])
            .unwrap_err();
        assert_eq!(faults.len(), 2);
        assert!(faults[0].what.contains("long wrap") && faults[0].what.contains("9000.5 × 30.5"));
    }

    #[test]
    fn a_piece_larger_than_the_field_is_tiled_and_a_larger_paper_takes_it_whole() {
        let names = |paper| -> Vec<String> {
            let set = lay_out(SheetTitle::default(), paper, vec![block("long", 240.0, 200.0)], Attachment::default());
            set.unwrap()
                .pages
                .into_iter()
                .flat_map(|p| p.parts)
                .map(|t| t.name)
                .filter(|n| n.starts_with("long"))
                .collect()
        };
        assert_eq!(names(paper::A4), ["long map", "long A1", "long B1"]);
        assert_eq!(names(paper::A3), ["long"]);
    }

    #[test]
    fn a_piece_that_goes_in_only_turned_is_turned_and_not_tiled() {
        let set = laid(vec![block("long", 240.0, 40.0)]).unwrap();
        assert!(set.pages.iter().flat_map(|p| &p.parts).any(|t| t.name == "long"));
    }

    #[test]
    fn a_point_that_is_no_number_is_a_fault_and_no_panic() {
        for bad in [f64::NAN, f64::INFINITY, 1e300] {
            assert_eq!(laid(vec![block("odd", bad, 30.0)]).unwrap_err().len(), 1);
        }
    }

    #[test]
    fn names_on_a_page_differ_and_lost_letters_are_remarked() {
        let set = laid(vec![block("a", 9.0, 9.0), block("a", 9.0, 9.0)]).unwrap();
        let names: Vec<&str> = set.pages[0].parts.iter().map(|t| t.name.as_str()).collect();
        assert!(names.contains(&"a") && names.contains(&"a 2"));
        assert_eq!(set.title.bow, "□");
        assert!(set.remarks[0].contains("U+5F13"));
    }
}
