//! Finds codes in a picture by the three marks in their corners.
//!
//! A finder is dark, light, dark, light, dark in the widths 1:1:3:1:1 along any line through its middle
//! (ISO/IEC 18004, 6.3.3). Dark is what is clearly darker than its neighbourhood, so that shadows do no harm.

use super::grey::Grey;
use super::lattice::{Corners, Place};

/// The neighbourhood that a dot is compared with reaches so many times in the picture's smaller side.
const AROUND: usize = 32;
/// It reaches at least so far, dots.
const LEAST_AROUND: usize = 16;
/// A dot is dark below this share of its neighbourhood's mean.
const DARK: f64 = 0.88;
/// How far a run may be from its width, squares.
const OFF: f64 = 0.65;
/// Most finders that are put together: a page of words and hatching has a few that are none.
const MOST: usize = 24;
/// Most codes given back.
const MOST_CODES: usize = 12;
/// How far two sides of a code may differ, as a share, and how far its corner may be from square (cosine).
const UNEQUAL: f64 = 0.2;
const ASKEW: f64 = 0.3;

/// The middle of a finder, the size of its squares in dots, and how many rows showed it.
#[derive(Debug, Clone, Copy)]
struct Finder {
    at: Place,
    square: f64,
    rows: usize,
}

/// Corners and squares to a side of what may be codes, the likeliest first.
pub(super) fn codes(picture: &Grey) -> Vec<(Corners, usize)> {
    let dark = Dark::of(picture);
    let found = finders(&dark);
    let mut codes: Vec<(f64, Corners, usize)> = Vec::new();
    for a in &found {
        for b in &found {
            for c in &found {
                codes.extend(code(a, b, c));
            }
        }
    }
    codes.sort_by(|a, b| a.0.total_cmp(&b.0));
    codes.into_iter().take(MOST_CODES).map(|(_, corners, side)| (corners, side)).collect()
}

/// Which dots are dark.
struct Dark {
    width: usize,
    height: usize,
    dots: Vec<bool>,
}

impl Dark {
    fn of(picture: &Grey) -> Dark {
        let (width, height) = (picture.width, picture.height);
        // Sums of all dots above and to the left.
        let mut sums = vec![0u64; (width + 1) * (height + 1)];
        for y in 0..height {
            let mut row = 0;
            for x in 0..width {
                row += u64::from(picture.dots.get(y * width + x).copied().unwrap_or(255));
                sums[(y + 1) * (width + 1) + x + 1] = sums[y * (width + 1) + x + 1] + row;
            }
        }
        let around = (width.min(height) / AROUND).max(LEAST_AROUND);
        let mut dots = Vec::with_capacity(width * height);
        for y in 0..height {
            let (top, bottom) = (y.saturating_sub(around), (y + around + 1).min(height));
            for x in 0..width {
                let (left, right) = (x.saturating_sub(around), (x + around + 1).min(width));
                let sum = |y: usize, x: usize| sums[y * (width + 1) + x];
                let total = sum(bottom, right) + sum(top, left) - sum(top, right) - sum(bottom, left);
                let mean = total as f64 / ((bottom - top) * (right - left)) as f64;
                let shade = picture.dots.get(y * width + x).copied().unwrap_or(255);
                dots.push(f64::from(shade) < DARK * mean);
            }
        }
        Dark { width, height, dots }
    }

    fn at(&self, x: usize, y: usize) -> bool {
        self.dots[y * self.width + x]
    }

    /// The middle of the 1:1:3:1:1 about a dot along its row (or column), and the size of its squares.
    fn through(&self, x: usize, y: usize, along_row: bool) -> Option<(f64, f64)> {
        let (start, length) = if along_row { (x, self.width) } else { (y, self.height) };
        let dark = |k: usize| if along_row { self.at(k, y) } else { self.at(x, k) };
        if !dark(start) {
            return None;
        }
        // From the core outward: the rest of the core, light, dark.
        let mut ends = [[start; 3]; 2];
        for (way, ends) in ends.iter_mut().enumerate() {
            let mut at = start;
            for (run, end) in ends.iter_mut().enumerate() {
                let wanted = run % 2 == 0;
                while dark(at) == wanted {
                    *end = at;
                    let next = if way == 0 { at.checked_sub(1) } else { Some(at + 1).filter(|k| *k < length) };
                    match next {
                        Some(next) => at = next,
                        None if run == 2 => break,
                        None => return None,
                    }
                }
            }
        }
        let [low, high] = ends;
        let runs = [low[1] - low[2], low[0] - low[1], high[0] + 1 - low[0], high[1] - high[0], high[2] - high[1]];
        fits(&runs).map(|square| ((low[0] + high[0]) as f64 / 2.0, square))
    }
}

/// The size of a square where five runs are 1:1:3:1:1 wide.
fn fits(runs: &[usize; 5]) -> Option<f64> {
    let square = runs.iter().sum::<usize>() as f64 / 7.0;
    let wanted = [1.0, 1.0, 3.0, 1.0, 1.0];
    let near = runs.iter().zip(wanted).all(|(run, wanted)| (*run as f64 / square - wanted).abs() < OFF);
    (near && square >= 1.5).then_some(square)
}

fn finders(dark: &Dark) -> Vec<Finder> {
    let mut found: Vec<Finder> = Vec::new();
    for y in 0..dark.height {
        // Where the shade changes along this row.
        let changes: Vec<usize> =
            (0..=dark.width).filter(|x| *x == 0 || *x == dark.width || dark.at(*x, y) != dark.at(*x - 1, y)).collect();
        for five in changes.windows(6).filter(|w| dark.at(w[0], y)) {
            let runs = [0, 1, 2, 3, 4].map(|k| five[k + 1] - five[k]);
            if fits(&runs).is_none() {
                continue;
            }
            let x = (five[2] + five[3]) / 2;
            let Some((middle_y, _)) = dark.through(x, y, false) else { continue };
            let Some((middle_x, square)) = dark.through(x, middle_y as usize, true) else { continue };
            let at = (middle_x + 0.5, middle_y + 0.5);
            match found.iter_mut().find(|f| (f.at.0 - at.0).hypot(f.at.1 - at.1) < 2.0 * f.square) {
                Some(known) => {
                    let share = 1.0 / (known.rows + 1) as f64;
                    known.at = (known.at.0 + (at.0 - known.at.0) * share, known.at.1 + (at.1 - known.at.1) * share);
                    known.square += (square - known.square) * share;
                    known.rows += 1;
                }
                None => found.push(Finder { at, square, rows: 1 }),
            }
        }
    }
    found.retain(|f| f.rows >= 2);
    found.sort_by_key(|f| std::cmp::Reverse(f.rows));
    found.truncate(MOST);
    found
}

/// The code with these finders at the upper left, upper right and lower left, and how far it is from a square one.
fn code(a: &Finder, b: &Finder, c: &Finder) -> Option<(f64, Corners, usize)> {
    let (u, v) = ((b.at.0 - a.at.0, b.at.1 - a.at.1), (c.at.0 - a.at.0, c.at.1 - a.at.1));
    let (wide, high) = (u.0.hypot(u.1), v.0.hypot(v.1));
    let square = (a.square + b.square + c.square) / 3.0;
    let alike = [a, b, c].iter().all(|f| (f.square / square - 1.0).abs() < 0.3);
    if !alike || wide < 10.0 * square || high < 10.0 * square {
        return None;
    }
    let unequal = (wide / high - 1.0).abs();
    let askew = ((u.0 * v.0 + u.1 * v.1) / (wide * high)).abs();
    // A mirrored code is none.
    if unequal > UNEQUAL || askew > ASKEW || u.0 * v.1 - u.1 * v.0 <= 0.0 {
        return None;
    }
    // Lying turned, a finder's width along the row is larger by the cosine of the turn.
    let turned = (u.0.abs().max(u.1.abs()) / wide).max(0.5);
    let between = (wide + high) / (2.0 * square * turned);
    let side = (((between + 7.0 - 17.0) / 4.0).round() * 4.0 + 17.0).clamp(21.0, 177.0);
    let (u, v) = ((u.0 / (side - 7.0), u.1 / (side - 7.0)), (v.0 / (side - 7.0), v.1 / (side - 7.0)));
    let corner = |x: f64, y: f64| {
        let (x, y) = (x - 3.5, y - 3.5);
        (a.at.0 + u.0 * x + v.0 * y, a.at.1 + u.1 * x + v.1 * y)
    };
    let corners = [corner(0.0, 0.0), corner(side, 0.0), corner(side, side), corner(0.0, side)];
    Some((unequal + askew, corners, side as usize))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn runs_of_a_finder_are_told_from_others() {
        assert_eq!(fits(&[4, 4, 12, 4, 4]), Some(4.0));
        assert!(fits(&[4, 5, 12, 3, 4]).is_some());
        assert!(fits(&[4, 4, 4, 4, 4]).is_none() && fits(&[1, 1, 3, 1, 1]).is_none());
    }

    #[test]
    fn a_code_is_found_where_it_stands() {
        let code = qrcode::QrCode::new("NOCK1:").unwrap_or_else(|e| panic!("{e}"));
        let (side, colours) = (code.width(), code.to_colors());
        let (dot, rim) = (5, 40);
        let width = side * dot + 2 * rim;
        let dots = (0..width * width).map(|k| {
            let place = |k: usize| k.checked_sub(rim).map(|k| k / dot).filter(|k| *k < side);
            match (place(k % width), place(k / width)) {
                (Some(x), Some(y)) if colours[y * side + x] == qrcode::Color::Dark => 30,
                _ => 230,
            }
        });
        let picture = Grey { width, height: width, dots: dots.collect() };
        let (corners, found) = codes(&picture)[0];
        assert_eq!(found, side);
        let far = (rim + side * dot) as f64;
        for (corner, wanted) in corners.into_iter().zip([(40.0, 40.0), (far, 40.0), (far, far), (40.0, far)]) {
            assert!((corner.0 - wanted.0).abs() < 2.0 && (corner.1 - wanted.1).abs() < 2.0, "{corner:?} {wanted:?}");
        }
    }
}
