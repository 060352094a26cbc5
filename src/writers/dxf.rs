//! DXF R2000: one file per sheet, in millimetres, for laser, router and drawing programs.
//!
//! One file per sheet rather than per piece: the pieces lie as on paper, with room for the cutter between them, a sheet fits the
//! smallest beds, and the 100 mm bars lie beside what they prove. Layers are the roles of [`LOOKS`]: `cut` is to cut, `mark` and
//! `fold` are to score; `scale` holds the bars and is never cut, nor are the samples of lines in the explanation, which lie on `note`. Curves are arcs within [`TOLERANCE`] (no splines), text is text,
//! fills are outlines. Nothing in the file comes from a clock or a dice: creation times and identities, which the format allows to leave out, are.

use super::arcs::{ArcChain, chains};
use super::number::number;
use super::{Written, document_title};
use crate::fault::Fault;
use crate::font::{CAP_HEIGHT, text_width};
use crate::sheets::frame::EXPLANATION;
use crate::sheets::{Page, SheetSet};
use crate::template::look::{LOOKS, Look};
use crate::template::{Anchor, Figure, Role};
use std::fmt::{Display, Write};

/// How far arcs may stray from the curves they stand for, mm.
pub const TOLERANCE: f64 = 0.01;

/// How every file begins; the sign that this program made it.
const SIGN: &str = "999\nNockwright sheet\n";

/// Whether these bytes are a sheet made by this program.
pub fn made(bytes: &[u8]) -> bool {
    bytes.starts_with(SIGN.as_bytes())
}

/// Writes one file per sheet: `-1.dxf`, `-2.dxf`, with as many figures as the last one has.
pub fn write(set: &SheetSet) -> Result<Written, Fault> {
    let digits = set.pages.len().to_string().len();
    let pages = set.pages.iter().enumerate();
    Ok(pages.map(|(i, page)| (format!("-{:0digits$}.dxf", i + 1), file(set, page).into_bytes())).collect())
}

/// Handles of the parts that others point to; those of the entities follow.
mod handle {
    pub const MODEL: u32 = 0x20;
    pub const PAPER: u32 = 0x21;
    pub const PLOT_STYLE: u32 = 0x22;
    pub const ROOT: u32 = 0x23;
    pub const GROUPS: u32 = 0x24;
    pub const PLOT_STYLES: u32 = 0x25;
    /// Tables take one each from here on, and their entries from the next.
    pub const TABLES: u32 = 0x30;
    pub const ENTRIES: u32 = 0x40;
    pub const ENTITIES: u32 = 0x100;
}

/// Colours of the index that laser programs tell layers apart by: red to cut, blue to score, black to look at.
fn colour(role: Role) -> u32 {
    match role {
        Role::Cut => 1,
        Role::Mark | Role::Fold => 5,
        _ => 7,
    }
}

/// Name of the line pattern of a role.
fn pattern(look: &Look) -> &'static str {
    if look.dashes.is_empty() { "Continuous" } else { look.name }
}

/// A file in the making: pairs of group code and value.
struct Dxf {
    text: String,
    next: u32,
    /// What comes is a sample of its kind, which nobody is to cut.
    sample: bool,
}

impl Dxf {
    fn put(&mut self, code: u32, value: impl Display) {
        let _ = writeln!(self.text, "{code}\n{value}");
    }

    fn length(&mut self, code: u32, mm: f64) {
        self.put(code, number(mm));
    }

    fn handle(&mut self, code: u32, handle: u32) {
        self.put(code, format!("{handle:X}"));
    }

    fn section(&mut self, name: &str, content: impl FnOnce(&mut Self)) {
        self.put(0, "SECTION");
        self.put(2, name);
        content(self);
        self.put(0, "ENDSEC");
    }

    /// The head of an entity in model space.
    fn entity(&mut self, kind: &str, look: &Look, class: &str) {
        self.put(0, kind);
        let handle = self.next;
        self.next += 1;
        self.handle(5, handle);
        self.handle(330, handle::MODEL);
        self.put(100, "AcDbEntity");
        if self.sample {
            self.put(8, Role::Note.look().name);
            self.put(6, pattern(look));
            self.put(370, number(look.width * 100.0));
        } else {
            self.put(8, look.name);
        }
        self.put(100, class);
    }

    /// The head of an entry in the table `table`.
    fn entry(&mut self, kind: &str, handle: u32, table: u32, class: &str, name: &str) {
        self.put(0, kind);
        self.handle(if kind == "DIMSTYLE" { 105 } else { 5 }, handle);
        self.handle(330, table);
        self.put(100, "AcDbSymbolTableRecord");
        self.put(100, class);
        self.put(2, name);
    }
}

fn file(set: &SheetSet, page: &Page) -> String {
    let mut dxf = Dxf { text: SIGN.to_owned(), next: handle::ENTITIES, sample: false };
    for line in [
        format!("{}, {}", document_title(set), page.name),
        format!("{}, design {}; 1:1, 1 unit is 1 mm; arcs within {TOLERANCE} mm", set.title.program, set.title.digest),
    ] {
        dxf.put(999, plain(&line));
    }
    for attachment in &set.attachments {
        dxf.put(999, plain(&format!("the design file {}, line by line:", attachment.file_name)));
        for line in attachment.text.lines() {
            dxf.put(999, format!("| {}", plain(line)));
        }
    }
    let mut body = Dxf { text: String::new(), next: handle::ENTITIES, sample: false };
    for part in &page.parts {
        for item in &part.items {
            body.sample = part.name == EXPLANATION;
            figure(&mut body, item.role.look(), &item.figure);
        }
    }
    dxf.section("HEADER", |d| header(d, page, body.next));
    dxf.section("CLASSES", |_| {});
    dxf.section("TABLES", |d| tables(d, page));
    dxf.section("BLOCKS", blocks);
    dxf.section("ENTITIES", |d| d.text.push_str(&body.text));
    dxf.section("OBJECTS", objects);
    dxf.put(0, "EOF");
    dxf.text
}

fn header(d: &mut Dxf, page: &Page, next: u32) {
    let mut point = |name: &str, x: f64, y: f64| {
        d.put(9, name);
        d.length(10, x);
        d.length(20, y);
    };
    point("$LIMMIN", 0.0, 0.0);
    point("$LIMMAX", page.width, page.height);
    point("$EXTMIN", 0.0, 0.0);
    d.put(30, 0);
    d.put(9, "$EXTMAX");
    d.length(10, page.width);
    d.length(20, page.height);
    d.put(30, 0);
    for (name, code, value) in [
        ("$ACADVER", 1, "AC1015"),
        ("$DWGCODEPAGE", 3, "ANSI_1252"),
        // Millimetres, metric line patterns, decimal figures.
        ("$INSUNITS", 70, "4"),
        ("$MEASUREMENT", 70, "1"),
        ("$LUNITS", 70, "2"),
        ("$LTSCALE", 40, "1"),
    ] {
        d.put(9, name);
        d.put(code, value);
    }
    d.put(9, "$HANDSEED");
    d.handle(5, next);
}

fn tables(d: &mut Dxf, page: &Page) {
    let mut entries = handle::ENTRIES;
    let mut fresh = || {
        entries += 1;
        entries
    };
    let mut number_of_table = handle::TABLES;
    let mut table = |d: &mut Dxf, name: &str, count: usize| {
        number_of_table += 1;
        d.put(0, "TABLE");
        d.put(2, name);
        d.handle(5, number_of_table);
        d.put(330, 0);
        d.put(100, "AcDbSymbolTable");
        d.put(70, count);
        number_of_table
    };

    let at = table(d, "VPORT", 1);
    d.entry("VPORT", fresh(), at, "AcDbViewportTableRecord", "*Active");
    d.put(70, 0);
    for (code, value) in [
        (10, 0.0),
        (20, 0.0),
        (11, 1.0),
        (21, 1.0),
        (12, page.width / 2.0),
        (22, page.height / 2.0),
        (40, page.height),
        (41, 1.0),
    ] {
        d.length(code, value);
    }
    d.put(0, "ENDTAB");

    let dashed: Vec<&Look> = LOOKS.iter().filter(|look| !look.dashes.is_empty()).collect();
    let at = table(d, "LTYPE", dashed.len() + 3);
    for (name, says, dashes) in [("ByBlock", "", &[][..]), ("ByLayer", "", &[]), ("Continuous", "solid line", &[])]
        .into_iter()
        .chain(dashed.iter().map(|look| (look.name, look.says, look.dashes)))
    {
        d.entry("LTYPE", fresh(), at, "AcDbLinetypeTableRecord", name);
        d.put(70, 0);
        d.put(3, says);
        d.put(72, 65);
        d.put(73, dashes.len());
        d.length(40, dashes.iter().sum());
        for (i, dash) in dashes.iter().enumerate() {
            d.length(49, if i % 2 == 0 { *dash } else { -dash });
            d.put(74, 0);
        }
    }
    d.put(0, "ENDTAB");

    let at = table(d, "LAYER", LOOKS.len() + 1);
    let plain_layer = ("0", 7, "Continuous", 25.0);
    let layers = LOOKS.iter().map(|look| (look.name, colour(look.role), pattern(look), look.width * 100.0));
    for (name, colour, pattern, weight) in std::iter::once(plain_layer).chain(layers) {
        d.entry("LAYER", fresh(), at, "AcDbLayerTableRecord", name);
        d.put(70, 0);
        d.put(62, colour);
        d.put(6, pattern);
        d.put(370, number(weight));
        d.handle(390, handle::PLOT_STYLE);
    }
    d.put(0, "ENDTAB");

    let at = table(d, "STYLE", 1);
    d.entry("STYLE", fresh(), at, "AcDbTextStyleTableRecord", "Standard");
    for (code, value) in [(70, "0"), (40, "0"), (41, "1"), (50, "0"), (71, "0"), (42, "2.5"), (3, "arial.ttf"), (4, "")]
    {
        d.put(code, value);
    }
    d.put(0, "ENDTAB");
    for empty in ["VIEW", "UCS"] {
        table(d, empty, 0);
        d.put(0, "ENDTAB");
    }
    let at = table(d, "APPID", 1);
    d.entry("APPID", fresh(), at, "AcDbRegAppTableRecord", "ACAD");
    d.put(70, 0);
    d.put(0, "ENDTAB");
    let at = table(d, "DIMSTYLE", 1);
    d.put(100, "AcDbDimStyleTable");
    d.entry("DIMSTYLE", fresh(), at, "AcDbDimStyleTableRecord", "Standard");
    d.put(70, 0);
    d.put(0, "ENDTAB");
    let at = table(d, "BLOCK_RECORD", 2);
    for (handle, name) in SPACES {
        d.entry("BLOCK_RECORD", handle, at, "AcDbBlockTableRecord", name);
        d.put(340, 0);
    }
    d.put(0, "ENDTAB");
}

const SPACES: [(u32, &str); 2] = [(handle::MODEL, "*Model_Space"), (handle::PAPER, "*Paper_Space")];

fn blocks(d: &mut Dxf) {
    for (i, (owner, name)) in SPACES.into_iter().enumerate() {
        let first = handle::TABLES - 4 + 2 * i as u32;
        for (kind, handle, class) in [("BLOCK", first, "AcDbBlockBegin"), ("ENDBLK", first + 1, "AcDbBlockEnd")] {
            d.put(0, kind);
            d.handle(5, handle);
            d.handle(330, owner);
            d.put(100, "AcDbEntity");
            if owner == handle::PAPER {
                d.put(67, 1);
            }
            d.put(8, 0);
            d.put(100, class);
            if kind == "BLOCK" {
                for (code, value) in [(2, name), (70, "0"), (10, "0"), (20, "0"), (30, "0"), (3, name), (1, "")] {
                    d.put(code, value);
                }
            }
        }
    }
}

fn objects(d: &mut Dxf) {
    let mut dictionary = |kind: &str, own: u32, owner: u32, entries: &[(&str, u32)]| {
        d.put(0, kind);
        d.handle(5, own);
        d.handle(330, owner);
        d.put(100, "AcDbDictionary");
        d.put(281, 1);
        for (name, entry) in entries {
            d.put(3, name);
            d.handle(350, *entry);
        }
    };
    use handle::{GROUPS, PLOT_STYLE, PLOT_STYLES, ROOT};
    dictionary("DICTIONARY", ROOT, 0, &[("ACAD_GROUP", GROUPS), ("ACAD_PLOTSTYLENAME", PLOT_STYLES)]);
    dictionary("DICTIONARY", GROUPS, ROOT, &[]);
    dictionary("ACDBDICTIONARYWDFLT", PLOT_STYLES, ROOT, &[("Normal", PLOT_STYLE)]);
    d.put(100, "AcDbDictionaryWithDefault");
    d.handle(340, PLOT_STYLE);
    d.put(0, "ACDBPLACEHOLDER");
    d.handle(5, PLOT_STYLE);
    d.handle(330, PLOT_STYLES);
}

fn figure(d: &mut Dxf, look: &Look, figure: &Figure) {
    match figure {
        Figure::Line(path) => {
            for chain in chains(path, TOLERANCE) {
                polyline(d, look, &chain);
            }
        }
        Figure::Fill(path) => {
            for mut chain in chains(path, TOLERANCE) {
                chain.closed |= chain.corners.len() > 2;
                polyline(d, look, &chain);
            }
        }
        Figure::Text { text, at, size, anchor, turn, bold } => {
            let width = text_width(text, *size, *bold);
            if width <= 0.0 {
                return;
            }
            let start = match anchor {
                Anchor::Start => 0.0,
                Anchor::Middle => -0.5 * width,
                Anchor::End => -width,
            };
            let along = kurbo::Vec2::from_angle(turn.to_radians());
            let (from, to) = (*at + start * along, *at + (start + width) * along);
            d.entity("TEXT", look, "AcDbText");
            // Fitted between two points, so that any face keeps it to its place; height is that of a capital.
            for (code, value) in [(10, from.x), (20, from.y), (30, 0.0), (40, size * CAP_HEIGHT)] {
                d.length(code, value);
            }
            d.put(1, words(text));
            d.length(50, *turn);
            d.put(72, 5);
            for (code, value) in [(11, to.x), (21, to.y), (31, 0.0)] {
                d.length(code, value);
            }
            d.put(100, "AcDbText");
        }
    }
}

fn polyline(d: &mut Dxf, look: &Look, chain: &ArcChain) {
    d.entity("LWPOLYLINE", look, "AcDbPolyline");
    d.put(90, chain.corners.len());
    d.put(70, u8::from(chain.closed));
    d.put(43, 0);
    for corner in &chain.corners {
        d.length(10, corner.at.x);
        d.length(20, corner.at.y);
        if corner.bulge != 0.0 {
            d.put(42, format!("{:.8}", corner.bulge));
        }
    }
}

/// One line of plain ASCII, other letters by their numbers.
fn plain(text: &str) -> String {
    let mut made = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            ' '..='~' if c != '\\' => made.push(c),
            '\t' => made.push(' '),
            c if c.is_control() => {}
            c => {
                let mut units = [0; 2];
                for unit in c.encode_utf16(&mut units) {
                    let _ = write!(made, "\\U+{unit:04X}");
                }
            }
        }
    }
    made
}

/// The value of a text: [`plain`], with the two signs that have a meaning of their own written so that they stand for themselves.
fn words(text: &str) -> String {
    let text = plain(text).replace('^', "^ ");
    if text.contains("%%") { text.replace('%', "%%%") } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_stand_for_themselves() {
        assert_eq!(words("at 100 %, 23° ½ ^"), "at 100 %, 23\\U+00B0 \\U+00BD ^ ");
        assert_eq!(words("%%d"), "%%%%%%d");
        assert_eq!(words("a\\U+0041\n𝄞"), "a\\U+005CU+0041\\U+D834\\U+DD1E");
    }

    #[test]
    fn line_weights_are_those_the_format_knows() {
        // DXF reference, group 370: 0.00, 0.05, 0.09, 0.13, 0.15, 0.18, 0.20, 0.25, 0.30, 0.35, 0.40, 0.50 mm and wider ones.
        for look in &LOOKS {
            assert!([0.13, 0.15, 0.18, 0.2, 0.25, 0.3, 0.35, 0.4, 0.5].contains(&look.width), "{}", look.name);
        }
    }
}
