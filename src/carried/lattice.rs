//! A code whose corners are roughly known: its lattice of squares laid on the picture as well as it fits, and read.
//!
//! Every code of a size has the same marks in the same places (ISO/IEC 18004, 6.3: finders, timing, alignment, version).
//! The four corners are moved until those squares are as dark and as light as they must be; then every square is read
//! at its middle, against the mean of its neighbourhood, so that shadows across the page do no harm.

use qrcode::canvas::{Canvas, Module};
use qrcode::{Color, EcLevel, Version};
use rqrr::SimpleGrid;

use super::grey::Grey;

/// A place in a picture, dots from its upper left corner.
pub(super) type Place = (f64, f64);

/// Corners of a code in a picture: upper left, upper right, lower right, lower left as the code stands.
pub(super) type Corners = [Place; 4];

/// How far the lower right corner, where no finder stands, is looked for, squares.
const FAR: i32 = 4;
/// The corners are moved by steps from this to this, squares.
const STEPS: (f64, f64) = (0.8, 0.02);
/// Most rounds of moving.
const ROUNDS: usize = 120;
/// How far the neighbourhood of a square reaches, squares.
const AROUND: usize = 7;
/// How much of what a blur took from a square's neighbours is given back, and how far from the middle between dark and
/// light the limit may lie (a share of their difference): tried one after the other.
const READINGS: [(f64, f64); 6] = [(0.0, 0.0), (0.12, 0.0), (0.0, 0.1), (0.0, -0.1), (0.12, 0.1), (0.12, -0.1)];

/// The text of a code with about these corners and about this many squares to a side.
pub(super) fn read(picture: &Grey, corners: &Corners, side: usize) -> Option<String> {
    [0, 4, -4, 8, -8].into_iter().find_map(|off| {
        let side = side.checked_add_signed(off).filter(|s| (21..=177).contains(s) && s % 4 == 1)?;
        let corners = fitted(picture, *corners, side);
        let shades = shades(picture, &corners, side);
        READINGS.into_iter().find_map(|(sharper, limit)| {
            let grid = judged(&shades, side, sharper, limit);
            rqrr::Grid::new(grid).decode().ok().map(|(_, text)| text)
        })
    })
}

/// The squares that all codes with so many to a side have alike: where their middles are, as shares of the side; dark or light.
fn known(side: usize) -> Vec<(f64, f64, bool)> {
    let version = ((side - 17) / 4) as i16;
    let mut canvas = Canvas::new(Version::Normal(version), EcLevel::M);
    canvas.draw_all_functional_patterns();
    let middle = |k: i16| (f64::from(k) + 0.5) / side as f64;
    let side = side as i16;
    let places = (0..side).flat_map(|y| (0..side).map(move |x| (x, y)));
    places
        // Along these two lines stands what differs from code to code: level and mask.
        .filter(|(x, y)| *x != 8 && *y != 8)
        .filter_map(|(x, y)| match canvas.get(x, y) {
            Module::Masked(colour) => Some((middle(x), middle(y), colour == Color::Dark)),
            _ => None,
        })
        .collect()
}

/// Maps shares of a square to the picture, as a photograph does (a projection through four points).
fn projection(corners: &Corners) -> impl Fn(f64, f64) -> Place {
    let [(x0, y0), (x1, y1), (x2, y2), (x3, y3)] = *corners;
    let (ax, ay, bx, by) = (x1 - x2, y1 - y2, x3 - x2, y3 - y2);
    let (sx, sy) = (x0 - x1 + x2 - x3, y0 - y1 + y2 - y3);
    let whole = ax * by - bx * ay;
    let (g, h) =
        if whole.abs() > 1e-9 { ((sx * by - bx * sy) / whole, (ax * sy - sx * ay) / whole) } else { (0.0, 0.0) };
    move |u, v| {
        let depth = g * u + h * v + 1.0;
        let x = (x1 - x0 + g * x1) * u + (x3 - x0 + h * x3) * v + x0;
        let y = (y1 - y0 + g * y1) * u + (y3 - y0 + h * y3) * v + y0;
        (x / depth, y / depth)
    }
}

/// The corners moved to where the known squares fit best.
fn fitted(picture: &Grey, corners: Corners, side: usize) -> Corners {
    let known = known(side);
    let fit = |corners: &Corners| -> f64 {
        let at = projection(corners);
        let shade = |u: f64, v: f64| {
            let (x, y) = at(u, v);
            f64::from(picture.between(x, y))
        };
        known.iter().map(|(u, v, dark)| if *dark { -shade(*u, *v) } else { shade(*u, *v) }).sum()
    };
    let square = (corners[1].0 - corners[0].0).hypot(corners[1].1 - corners[0].1) / side as f64;
    let moved = |corners: &Corners, which: usize, by: (f64, f64)| {
        let mut corners = *corners;
        corners[which].0 += by.0 * square;
        corners[which].1 += by.1 * square;
        corners
    };
    let mut best = (fit(&corners), corners);
    let start = corners;
    for (i, j) in (-2 * FAR..=2 * FAR).flat_map(|i| (-2 * FAR..=2 * FAR).map(move |j| (i, j))) {
        let tried = moved(&start, 2, (f64::from(i) / 2.0, f64::from(j) / 2.0));
        let fits = fit(&tried);
        if fits > best.0 {
            best = (fits, tried);
        }
    }
    let mut step = STEPS.0;
    for _ in 0..ROUNDS {
        let before = best.0;
        for which in 0..4 {
            for way in [(step, 0.0), (-step, 0.0), (0.0, step), (0.0, -step)] {
                let tried = moved(&best.1, which, way);
                let fits = fit(&tried);
                if fits > best.0 {
                    best = (fits, tried);
                }
            }
        }
        if best.0 <= before {
            step /= 2.0;
            if step < STEPS.1 {
                break;
            }
        }
    }
    best.1
}

/// The shade of every square about its middle, row by row.
fn shades(picture: &Grey, corners: &Corners, side: usize) -> Vec<f64> {
    let at = projection(corners);
    let share = |k: usize, off: f64| (k as f64 + 0.5 + off) / side as f64;
    let offs = [-0.2, 0.0, 0.2];
    let places = (0..side).flat_map(|row| (0..side).map(move |column| (column, row)));
    places
        .map(|(column, row)| {
            let sum: f64 = offs
                .iter()
                .flat_map(|across| offs.iter().map(move |down| (across, down)))
                .map(|(across, down)| {
                    let (x, y) = at(share(column, *across), share(row, *down));
                    f64::from(picture.between(x, y))
                })
                .sum();
            sum / 9.0
        })
        .collect()
}

/// Dark or light, square by square.
fn judged(shades: &[f64], side: usize, sharper: f64, limit: f64) -> SimpleGrid {
    let within = |k: usize| k.saturating_sub(AROUND)..(k + AROUND + 1).min(side);
    let shade = |x: usize, y: usize| shades[y * side + x];
    SimpleGrid::from_func(side, |x, y| {
        let around = || within(y).flat_map(|j| within(x).map(move |i| (i, j)));
        let mean = around().map(|(i, j)| shade(i, j)).sum::<f64>() / around().count() as f64;
        let spread = around().map(|(i, j)| (shade(i, j) - mean).abs()).sum::<f64>() / around().count() as f64;
        let beside = [
            (x.saturating_sub(1), y),
            ((x + 1).min(side - 1), y),
            (x, y.saturating_sub(1)),
            (x, (y + 1).min(side - 1)),
        ];
        let taken: f64 = beside.iter().map(|(i, j)| shade(x, y) - shade(*i, *j)).sum();
        shade(x, y) + sharper * taken < mean + 2.0 * limit * spread
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_projection_goes_through_its_corners_and_keeps_lines_straight() {
        let corners = [(10.0, 20.0), (110.0, 24.0), (120.0, 140.0), (6.0, 118.0)];
        let at = projection(&corners);
        for ((u, v), (x, y)) in [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)].into_iter().zip(corners) {
            let (a, b) = at(u, v);
            assert!((a - x).abs() < 1e-9 && (b - y).abs() < 1e-9);
        }
        let (p, q, r) = (at(0.0, 0.3), at(0.4, 0.3), at(1.0, 0.3));
        assert!(((q.0 - p.0) * (r.1 - p.1) - (q.1 - p.1) * (r.0 - p.0)).abs() < 1e-6);
    }

    /// Version 2 of ISO/IEC 18004: three finders of 49 squares, their white rims, timing, one alignment mark about (18, 18).
    #[test]
    fn the_known_squares_are_those_of_the_standard() {
        let known = known(25);
        let dark = |x: usize, y: usize| {
            let middle = |k: usize| (k as f64 + 0.5) / 25.0;
            known.iter().find(|(u, v, _)| (*u, *v) == (middle(x), middle(y))).map(|(_, _, dark)| *dark)
        };
        for (x, y, wanted) in [
            (0, 0, true),
            (1, 1, false),
            (3, 3, true),
            (24, 0, true),
            (0, 24, true),
            (18, 18, true),
            (17, 18, false),
            (16, 18, true),
            (10, 6, true),
            (11, 6, false),
        ] {
            assert_eq!(dark(x, y), Some(wanted), "{x} {y}");
        }
        assert_eq!((dark(12, 12), dark(8, 3)), (None, None));
    }
}
