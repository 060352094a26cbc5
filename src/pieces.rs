//! Pieces: the 1:1 drawings that a maker cuts, wraps and files to. One file each, and one line in [`PIECES`].
//!
//! Side views lie with the back up and the tip to the right; unrolled ones with the back in the middle and the tip up.
//! Only what is to be cut with the knife is a cut line, and it is closed.

mod back_view;
mod belly_guide;
mod belly_view;
mod common;
mod file_passes;
mod groove_gauge;
mod horn_blank;
pub mod new_taper;
mod overlay_blank;
mod sections;
mod shape;
mod side_view;
mod slot_string;
pub mod small_figure;
mod station_gauges;
mod string_angle;
mod strip_blank;
pub mod tiller_sheet;
mod tip_taper;
mod two_tapers;
mod wrap;

use crate::design::Side;
use crate::findings::{Check, Verdict};
use crate::sheets::Piece;
use crate::template::{Figure, Item, Template};
use crate::worked::Worked;
use rayon::prelude::*;
use shape::TipShape;

/// What a piece is drawn from.
pub struct Subject<'a> {
    /// The design, worked through.
    pub worked: &'a Worked,
    /// Which limb.
    pub side: Side,
    /// Whose piece it is, as printed: `Upper limb`.
    pub whose: &'static str,
    /// Titles of the checks that its nock fails.
    failing: Vec<&'a str>,
    /// Titles of the checks past a limit of wear.
    wearing: Vec<&'a str>,
    shape: &'a TipShape,
}

/// One kind of piece.
pub struct PieceKind {
    /// What it is called.
    pub name: &'static str,
    /// Draws it; nothing where the nock has no use for it.
    pub draw: fn(&Subject) -> Vec<Piece>,
}

/// All kinds of pieces, in the order they are laid out: what is sawn first, then what it is shaped and filed to.
pub static PIECES: &[PieceKind] = &[
    PieceKind { name: "side view", draw: side_view::draw },
    PieceKind { name: "overlay blank", draw: overlay_blank::draw },
    PieceKind { name: "strip blank", draw: strip_blank::draw },
    PieceKind { name: "horn blank", draw: horn_blank::draw },
    PieceKind { name: "back view", draw: back_view::draw },
    PieceKind { name: "belly view", draw: belly_view::draw },
    PieceKind { name: "sections", draw: sections::draw },
    PieceKind { name: "station gauges", draw: station_gauges::draw },
    PieceKind { name: "wrap", draw: wrap::draw },
    PieceKind { name: "file passes", draw: file_passes::draw },
    PieceKind { name: "string angle card", draw: string_angle::draw },
    PieceKind { name: "groove gauge", draw: groove_gauge::draw },
    PieceKind { name: "belly guide", draw: belly_guide::draw },
    PieceKind { name: "tip taper", draw: tip_taper::draw },
];

/// Drawings that differ by no more than this are alike, mm.
const ALIKE: f64 = 0.01;

/// All pieces of a design in working order: the upper limb's, then the lower limb's. A piece that comes out alike for both is drawn once,
/// in its place among the upper limb's, and says so.
///
/// A nock that fails a check has its pieces marked so.
pub fn all(worked: &Worked, checks: &[Check]) -> Vec<Piece> {
    let shapes = Side::BOTH.map(|side| TipShape::of(worked.nocks.get(side), worked.statics.swings.get(side).brace));
    let draw = |kind: &PieceKind, side: Side| {
        let (shape, whose) = match side {
            Side::Upper => (&shapes[0], UPPER),
            Side::Lower => (&shapes[1], LOWER),
        };
        let titles = |verdict: Verdict| {
            let mut titles: Vec<&str> = Vec::new();
            for check in checks.iter().filter(|c| c.verdict == verdict && c.side.is_none_or(|s| s == side)) {
                if !titles.contains(&check.title.as_str()) {
                    titles.push(&check.title);
                }
            }
            titles
        };
        let (failing, wearing) = (titles(Verdict::Fails), titles(Verdict::Wears));
        (kind.draw)(&Subject { worked, side, whose, failing, wearing, shape })
    };
    let (mut upper, mut lower) = (Vec::new(), Vec::new());
    let drawn: Vec<[Vec<Piece>; 2]> =
        PIECES.par_iter().map(|kind| [draw(kind, Side::Upper), draw(kind, Side::Lower)]).collect();
    for [for_upper, for_lower] in drawn {
        let pairs = || for_upper.iter().zip(&for_lower);
        if for_upper.len() == for_lower.len() && pairs().all(|(a, b)| alike(&a.template, &b.template)) {
            upper.extend(for_upper.into_iter().map(for_both));
        } else {
            upper.extend(for_upper);
            lower.extend(for_lower);
        }
    }
    upper.into_iter().chain(lower).collect()
}

/// Whose a piece is, as printed in front of its name.
const UPPER: &str = "Upper limb";
const LOWER: &str = "Lower limb";
const BOTH: &str = "Both limbs";
const LIMBS: [&str; 3] = [UPPER, LOWER, BOTH];

/// What a piece that has room for no more bears: `U`, `L`, or `UL` for both.
fn limb_letter(whose: &str) -> &'static str {
    match whose {
        UPPER => "U",
        LOWER => "L",
        _ => "UL",
    }
}

/// What a text says of the lower limb that says the same of the upper one; none when it names no limb.
fn of_other(text: &str, from: &'static str, to: &'static str) -> Option<String> {
    let number = |rest: &str| {
        rest.is_empty() || rest.strip_prefix(' ').is_some_and(|n| n.starts_with(|c: char| c.is_ascii_digit()))
    };
    if let Some(rest) = text.strip_prefix(limb_letter(from)).filter(|rest| number(rest)) {
        return Some(format!("{}{rest}", limb_letter(to)));
    }
    if let Some(rest) = text.strip_prefix(from) {
        return Some(format!("{to}{rest}"));
    }
    let rest = text.strip_prefix(short(from))?;
    (number(rest) || rest.starts_with(':')).then(|| format!("{}{rest}", short(to)))
}

/// The first word of whose a piece is.
fn short(whose: &str) -> &str {
    whose.split(' ').next().unwrap_or_default()
}

/// A piece of the upper limb, named for both.
fn for_both(mut piece: Piece) -> Piece {
    piece.template.name = piece.template.name.replacen(&UPPER.to_lowercase(), &BOTH.to_lowercase(), 1);
    for item in &mut piece.template.items {
        if let Figure::Text { text, .. } = &mut item.figure {
            *text = of_other(text, UPPER, BOTH).unwrap_or_else(|| text.replacen(UPPER, BOTH, 1));
        }
    }
    piece
}

/// Whether two drawings show the same, to [`ALIKE`].
fn alike(a: &Template, b: &Template) -> bool {
    a.items.len() == b.items.len() && a.items.iter().zip(&b.items).all(|(a, b)| alike_items(a, b))
}

fn alike_items(a: &Item, b: &Item) -> bool {
    let near = |p: kurbo::Point, q: kurbo::Point| (p - q).hypot() <= ALIKE;
    let boxes = (a.bounds(), b.bounds());
    let placed = near(boxes.0.origin(), boxes.1.origin())
        && (boxes.0.width() - boxes.1.width()).abs() <= ALIKE
        && (boxes.0.height() - boxes.1.height()).abs() <= ALIKE;
    let shown = match (&a.figure, &b.figure) {
        // The name of the limb is all they may differ in.
        (Figure::Text { text: a, .. }, Figure::Text { text: b, .. }) => {
            return a == b && placed || of_other(a, UPPER, LOWER).as_ref() == Some(b);
        }
        (Figure::Line(_), Figure::Line(_)) | (Figure::Fill(_), Figure::Fill(_)) => true,
        _ => false,
    };
    a.role == b.role && placed && shown
}

#[cfg(test)]
mod tests;
