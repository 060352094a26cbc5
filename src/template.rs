//! Templates: page-less drawings in millimetres, every item with a role.
//!
//! What is true of every [`Template`]: coordinates are millimetres at 1:1, `x` to the right and `y` **up**;
//! it knows no paper and no writer. Line widths, dashes and layers are looked up from the [`Role`] in one table, [`look`].
//!
//! The modules below add what a drawing needs besides its own lines, one kind of annotation each.

pub mod angle;
pub mod caption;
pub mod dimension;
pub mod hatch;
pub mod inside;
pub mod leader;
pub mod legible;
pub mod line_key;
pub mod look;
pub mod paragraph;
pub mod scale_bar;
pub mod table;
pub mod waste;

use crate::font::text_width;
use kurbo::{Affine, BezPath, Point, Rect, Shape};

/// Sizes of type (height of the em, mm): everything printed is in one of these.
pub mod size {
    /// Dimensions, notes, tables: the least that is read at the bench.
    pub const SMALL: f64 = 2.6;
    /// Titles within a piece.
    pub const BODY: f64 = 3.2;
    /// Names of pieces.
    pub const HEAD: f64 = 4.0;
}

/// What an item is for. Its look follows from this alone, so that everything is legible in black and white.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Role {
    /// Cut here: continuous, wide.
    Cut,
    /// An outline that is shown and not cut: continuous, medium.
    Outline,
    /// Fold here: long dashes.
    Fold,
    /// A line to file to or to mark on the work: long dash, two dots, medium.
    Mark,
    /// Centre line: long dash, dot.
    Centre,
    /// Dimension and leader lines: continuous, narrow.
    Dimension,
    /// The string: its edges, continuous, narrow.
    String,
    /// Hatching of cut faces: continuous, narrow.
    Hatch,
    /// Edges behind: short dashes.
    Hidden,
    /// Text, and the lines that belong to it.
    Note,
    /// The scale bars: never cut, never scaled apart from the rest.
    Scale,
}

/// Which end of a text line stands at its anchor.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// Text starts at the anchor.
    Start,
    /// Text is centred on the anchor.
    Middle,
    /// Text ends at the anchor.
    End,
}

/// What an item shows.
#[derive(Debug, Clone, PartialEq)]
pub enum Figure {
    /// A stroked path, mm.
    Line(BezPath),
    /// A filled path, mm (arrow heads, ticks, code modules).
    Fill(BezPath),
    /// One line of text.
    Text {
        /// The words.
        text: String,
        /// Where it stands (on the baseline), mm.
        at: Point,
        /// Height of the letters' em, mm.
        size: f64,
        /// Which end stands at `at`.
        anchor: Anchor,
        /// Turned anticlockwise about `at`, degrees.
        turn: f64,
        /// Bold face.
        bold: bool,
    },
}

/// One thing on a template.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// What it is for.
    pub role: Role,
    /// What it shows.
    pub figure: Figure,
}

/// A page-less drawing in mm, one piece that stays together on paper.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Template {
    /// Short name in words, also used for groups and layers: `upper side view`.
    pub name: String,
    /// What is drawn, in drawing order.
    pub items: Vec<Item>,
    /// A box to be kept free of everything that lies beside the template's own items, mm; part of its bounds.
    pub clear: Option<Rect>,
}

impl Template {
    /// An empty template.
    pub fn new(name: impl Into<String>) -> Self {
        Template { name: name.into(), ..Template::default() }
    }

    /// Adds a stroked path.
    pub fn line(&mut self, role: Role, path: impl Into<BezPath>) {
        self.items.push(Item { role, figure: Figure::Line(path.into()) });
    }

    /// Adds a straight stroke.
    pub fn segment(&mut self, role: Role, from: impl Into<Point>, to: impl Into<Point>) {
        let mut path = BezPath::new();
        path.move_to(from);
        path.line_to(to);
        self.line(role, path);
    }

    /// Adds a filled path.
    pub fn fill(&mut self, role: Role, path: impl Into<BezPath>) {
        self.items.push(Item { role, figure: Figure::Fill(path.into()) });
    }

    /// Adds a line of text with all that can be chosen: `turn` is in degrees anticlockwise.
    pub fn words(
        &mut self,
        at: impl Into<Point>,
        size: f64,
        anchor: Anchor,
        turn: f64,
        bold: bool,
        text: impl Into<String>,
    ) {
        self.items.push(Item {
            role: Role::Note,
            figure: Figure::Text { text: text.into(), at: at.into(), size, anchor, turn, bold },
        });
    }

    /// Adds all of another template's items, and the box it keeps clear.
    pub fn add(&mut self, other: Template) {
        self.items.extend(other.items);
        self.clear = self.clear.into_iter().chain(other.clear).reduce(|a, b| a.union(b));
    }

    /// Adds a line of text in the ordinary face.
    pub fn text(&mut self, at: impl Into<Point>, size: f64, anchor: Anchor, text: impl Into<String>) {
        self.items.push(Item {
            role: Role::Note,
            figure: Figure::Text { text: text.into(), at: at.into(), size, anchor, turn: 0.0, bold: false },
        });
    }

    /// A copy as seen from behind: left and right exchanged, its words still to be read.
    pub fn mirrored(&self) -> Self {
        let over = |p: Point| Point::new(-p.x, p.y);
        let items = self.items.iter().cloned().map(|mut item| {
            match &mut item.figure {
                Figure::Line(path) | Figure::Fill(path) => path.apply_affine(Affine::FLIP_X),
                Figure::Text { at, anchor, turn, .. } => {
                    *at = over(*at);
                    *turn = -*turn;
                    *anchor = match anchor {
                        Anchor::Start => Anchor::End,
                        Anchor::Middle => Anchor::Middle,
                        Anchor::End => Anchor::Start,
                    };
                }
            }
            item
        });
        let clear = self.clear.map(|b| Affine::FLIP_X.transform_rect_bbox(b));
        Template { name: self.name.clone(), items: items.collect(), clear }
    }

    /// A copy moved and turned. Scaling is not meant: a template is 1:1.
    pub fn moved(&self, by: Affine) -> Self {
        let [a, b, ..] = by.as_coeffs();
        let turned = b.atan2(a).to_degrees();
        let items = self
            .items
            .iter()
            .map(|item| Item {
                role: item.role,
                figure: match &item.figure {
                    Figure::Line(p) => Figure::Line(by * p.clone()),
                    Figure::Fill(p) => Figure::Fill(by * p.clone()),
                    Figure::Text { text, at, size, anchor, turn, bold } => Figure::Text {
                        text: text.clone(),
                        at: by * *at,
                        size: *size,
                        anchor: *anchor,
                        turn: turn + turned,
                        bold: *bold,
                    },
                },
            })
            .collect();
        Template { name: self.name.clone(), items, clear: self.clear.map(|b| by.transform_rect_bbox(b)) }
    }

    /// The box round all paths, text and the box kept clear, mm; line widths are not counted. None when there is nothing.
    pub fn bounds(&self) -> Option<Rect> {
        self.items.iter().map(Item::bounds).chain(self.clear).reduce(|a, b| a.union(b))
    }
}

impl Item {
    /// Whether all its places and sizes are finite numbers.
    pub fn is_finite(&self) -> bool {
        match &self.figure {
            Figure::Line(p) | Figure::Fill(p) => p.is_finite(),
            Figure::Text { at, size, turn, .. } => at.is_finite() && size.is_finite() && turn.is_finite(),
        }
    }

    /// The box round it, mm; line widths are not counted.
    pub fn bounds(&self) -> Rect {
        match &self.figure {
            Figure::Line(p) | Figure::Fill(p) => p.bounding_box(),
            Figure::Text { text, at, size, anchor, turn, bold } => {
                let place = Affine::translate(at.to_vec2()) * Affine::rotate(turn.to_radians());
                place.transform_rect_bbox(text_box(text, *size, *anchor, *bold))
            }
        }
    }
}

/// The box of an unturned line of text about its anchor, mm: from the reach of g and y to the top of letters.
pub fn text_box(text: &str, size: f64, anchor: Anchor, bold: bool) -> Rect {
    let width = text_width(text, size, bold);
    let start = match anchor {
        Anchor::Start => 0.0,
        Anchor::Middle => -width / 2.0,
        Anchor::End => -width,
    };
    Rect::new(start, -crate::font::DESCENT * size, start + width, 0.76 * size)
}
