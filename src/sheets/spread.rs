//! Pieces of one group spread over pages, those that are too large turned or cut into tiles.

use kurbo::{Affine, Rect};

use super::packing::{self, Parcel};
use super::paper::Paper;
use super::{Head, LEAST_OFF_FRAME, Letters, OFF_FRAME, Piece, SCISSORS, tiling};
use crate::fault::{Fault, Faults};
use crate::template::look::WIDEST;
use crate::template::{Item, Template};

/// Pieces on sheets with the same head.
pub(super) struct Group {
    pub pieces: Vec<Piece>,
    pub field: Rect,
    pub head: Option<Head>,
}

/// Lays pieces out in their field; the parts of every page.
pub(super) fn spread(Group { pieces, field, head }: &Group, paper: &Paper) -> Result<Vec<Vec<Template>>, Faults> {
    let mut faults = Faults::new();
    let mut boxes = Vec::new();
    for piece in pieces {
        let Some(bounds) = piece.template.bounds() else { continue };
        let bounds = bounds.inflate(WIDEST / 2.0, WIDEST / 2.0);
        let finite = piece.template.items.iter().all(Item::is_finite);
        if !(finite && bounds.width() < 1e6 && bounds.height() < 1e6) {
            faults.push(Fault::at(
                "",
                format!("the piece '{}' has a point that lies nowhere on paper", piece.template.name),
                "every point of a piece needs a finite place",
            ));
            continue;
        }
        boxes.push((piece, bounds));
    }
    let parcels: Vec<Parcel> = boxes
        .iter()
        .map(|(piece, bounds)| Parcel {
            width: bounds.width(),
            height: bounds.height(),
            may_turn: piece.may_turn,
            with_next: piece.with_next,
        })
        .collect();
    let size = (field.width(), field.height());
    // Large letters keep farther off the frame wherever no piece needs all the room.
    let farther = 2.0 * (OFF_FRAME - LEAST_OFF_FRAME);
    let off_frame = (size.0 - farther, size.1 - farther);
    let roomy = head.and_then(|_| packing::pack(&parcels, off_frame, SCISSORS).ok());
    let spots = match roomy.map_or_else(|| packing::pack(&parcels, size, SCISSORS), Ok) {
        Ok(spots) => spots,
        Err(too_large) => {
            faults.extend(too_large.into_iter().map(|i| {
                let (piece, bounds) = boxes[i];
                too_large_fault(&piece.template.name, bounds.width(), bounds.height(), paper, size)
            }));
            Vec::new()
        }
    };
    if !faults.is_empty() {
        return Err(faults);
    }
    let count = spots.iter().map(|s| s.page + 1).max().unwrap_or(1);
    let mut pages = vec![Vec::new(); count];
    let used = |page: usize| {
        let on_it = spots.iter().zip(&parcels).filter(|(spot, _)| spot.page == page);
        on_it.fold((0.0, 0.0), |used: (f64, f64), (spot, parcel)| {
            let (right, down) = spot.far_corner(parcel);
            (used.0.max(right), used.1.max(down))
        })
    };
    for (spot, (piece, bounds)) in spots.iter().zip(&boxes) {
        // Where there is room to spare, pieces keep off the frame.
        let used = used(spot.page);
        let inset = |room: f64| (room / 2.0).clamp(0.0, OFF_FRAME - LEAST_OFF_FRAME);
        let upper_left = (
            field.x0 + spot.left + inset(field.width() - used.0),
            field.y1 - spot.down - inset(field.height() - used.1),
        );
        let place = Affine::translate(upper_left)
            * if spot.turned {
                // Anticlockwise: the upper right corner comes to lie at the upper left.
                Affine::rotate(90f64.to_radians()) * Affine::translate((-bounds.x1, -bounds.y1))
            } else {
                Affine::translate((-bounds.x0, -bounds.y1))
            };
        pages[spot.page].push(piece.template.moved(place));
    }
    Ok(pages)
}

/// Whether a piece goes into a field, turned if it may.
pub(super) fn fits(piece: &Piece, field: (f64, f64)) -> bool {
    piece.template.bounds().is_none_or(|b| {
        let (width, height) = (b.width() + WIDEST, b.height() + WIDEST);
        let within = |width: f64, height: f64| width <= field.0 && height <= field.1;
        within(width, height) || piece.may_turn && within(height, width)
    })
}

/// The pieces, turned where only so they go into the field, or tiles of those that are larger.
pub(super) fn fitted(pieces: Vec<Piece>, field: Rect, letters: Letters) -> Vec<Piece> {
    let size = (field.width(), field.height());
    let fitted = |piece: Piece| {
        let finite = piece.template.bounds().is_some_and(|b| b.width().is_finite() && b.height().is_finite());
        if !finite || fits(&piece, size) {
            return vec![piece];
        }
        // Rather turned by a quarter than in tiles to paste.
        let piece = piece.may_turn();
        let tiles = if fits(&piece, size) { None } else { tiling::tiles(&piece.template, size, letters) };
        tiles.unwrap_or_else(|| vec![piece])
    };
    pieces.into_iter().flat_map(fitted).collect()
}

fn too_large_fault(name: &str, width: f64, height: f64, paper: &Paper, (wide, high): (f64, f64)) -> Fault {
    Fault::at(
        "",
        format!("the piece '{name}' is {width:.1} × {height:.1} mm, larger than a sheet and too large for tiles"),
        format!(
            "a sheet of {} has {wide:.0} × {high:.0} mm for pieces, and a piece is laid out on at most 36 tiles",
            paper.name
        ),
    )
    .cure("lay the sheets out for larger paper: `--paper A3` or `--paper Tabloid`; or make the piece shorter in the design")
}
