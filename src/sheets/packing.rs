//! Laying out boxes on pages: which page, where, turned or not.
//!
//! Boxes are taken in the order given, each onto the first page with room, there as high and then as far left as it goes
//! (the skyline of what lies above is kept as a row of steps). Nothing is sorted by size and nothing is random:
//! the order of the pieces is kept as far as paper allows, and the same boxes lie the same way every time.

/// A box to lay out, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Parcel {
    /// Width, mm.
    pub width: f64,
    /// Height, mm.
    pub height: f64,
    /// It may be turned by a quarter.
    pub may_turn: bool,
    /// It should lie on the same page as the next one.
    pub with_next: bool,
}

/// Where a box came to lie.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spot {
    /// Page, from 0.
    pub page: usize,
    /// From the left of the field to its left side, mm.
    pub left: f64,
    /// From the top of the field to its upper side, mm.
    pub down: f64,
    /// Turned by a quarter.
    pub turned: bool,
}

impl Spot {
    /// From the left of the field to the box's right side, and from the top to its lower side, mm.
    pub fn far_corner(&self, parcel: &Parcel) -> (f64, f64) {
        let (width, height) = if self.turned { (parcel.height, parcel.width) } else { (parcel.width, parcel.height) };
        (self.left + width, self.down + height)
    }
}

/// One level piece of the skyline: nothing lies lower than `down` between `left` and `right`.
#[derive(Debug, Clone, Copy)]
struct Step {
    left: f64,
    right: f64,
    down: f64,
}

/// Rounding of sums of lengths must not push out a box that just fits, mm.
const SLACK: f64 = 1e-9;

/// One page being filled. `width` and `height` and all boxes count with the gap added once.
#[derive(Debug, Clone)]
struct Shelf {
    width: f64,
    height: f64,
    steps: Vec<Step>,
}

impl Shelf {
    fn new(width: f64, height: f64) -> Self {
        Shelf { width, height, steps: vec![Step { left: 0.0, right: width, down: 0.0 }] }
    }

    /// Highest, then leftmost place for a box; none when there is no room.
    fn room(&self, width: f64, height: f64) -> Option<(f64, f64)> {
        self.steps
            .iter()
            .filter(|start| start.left + width <= self.width + SLACK)
            .map(|start| {
                let under = self.steps.iter().filter(|s| s.left < start.left + width - SLACK && s.right > start.left);
                (start.left, under.map(|s| s.down).fold(0.0, f64::max))
            })
            .filter(|(_, down)| down + height <= self.height + SLACK)
            .min_by(|a, b| a.1.total_cmp(&b.1).then(a.0.total_cmp(&b.0)))
    }

    fn take(&mut self, left: f64, down: f64, width: f64, height: f64) {
        let right = left + width;
        let mut steps = Vec::with_capacity(self.steps.len() + 2);
        for step in &self.steps {
            if step.left < left {
                steps.push(Step { right: step.right.min(left), ..*step });
            }
            if step.right > right {
                steps.push(Step { left: step.left.max(right), ..*step });
            }
        }
        steps.push(Step { left, right, down: down + height });
        steps.retain(|s| s.right - s.left > SLACK);
        steps.sort_by(|a, b| a.left.total_cmp(&b.left));
        self.steps = steps;
    }

    fn lay(&mut self, parcel: &Parcel, gap: f64) -> Option<(f64, f64, bool)> {
        let upright = (parcel.width + gap, parcel.height + gap, false);
        let turned = (parcel.height + gap, parcel.width + gap, true);
        let ways = if parcel.may_turn { vec![upright, turned] } else { vec![upright] };
        ways.into_iter().find_map(|(width, height, turn)| {
            let (left, down) = self.room(width, height)?;
            self.take(left, down, width, height);
            Some((left, down, turn))
        })
    }
}

/// Lays out boxes on pages of `field` mm, at least `gap` mm apart; runs that belong together in their order, unless it saves a page to
/// lay some the other way round. `Err` holds the numbers of the boxes
/// that are larger than a page by themselves.
pub fn pack(parcels: &[Parcel], field: (f64, f64), gap: f64) -> Result<Vec<Spot>, Vec<usize>> {
    let empty = Shelf::new(field.0 + gap, field.1 + gap);
    let too_large: Vec<usize> = (0..parcels.len()).filter(|i| empty.clone().lay(&parcels[*i], gap).is_none()).collect();
    if !too_large.is_empty() {
        return Err(too_large);
    }
    let pages = |spots: &[Spot]| spots.iter().map(|s| s.page).max();
    let in_order = pack_runs(parcels, &empty, gap, false);
    let either_way = pack_runs(parcels, &empty, gap, true);
    Ok(if pages(&either_way) < pages(&in_order) { either_way } else { in_order })
}

/// Lays out boxes of which none is larger than an empty page; runs in their order, or the other way round on a page that has room for
/// them only so.
fn pack_runs(parcels: &[Parcel], empty: &Shelf, gap: f64, either_way: bool) -> Vec<Spot> {
    let mut pages: Vec<Shelf> = Vec::new();
    let mut spots = Vec::with_capacity(parcels.len());
    // Runs of boxes that should stay together go on one page if any page takes them all, else on from page to page.
    for run in parcels.chunk_by(|a, _| a.with_next) {
        let most = if lay_all(&mut empty.clone(), run, gap).is_some() { 0 } else { run.len() };
        let mut first = 0;
        loop {
            let laid = |run: &[Parcel]| {
                let mut tried = pages.clone();
                lay_on(&mut tried, empty, run, (first, most), gap).map(|laid| (tried, laid))
            };
            let backward = || {
                let turned: Vec<Parcel> = run.iter().rev().copied().collect();
                laid(&turned).map(|(tried, spots)| (tried, spots.into_iter().rev().collect()))
            };
            let found = laid(run).or_else(|| if either_way && most == 0 && run.len() > 1 { backward() } else { None });
            if let Some((tried, laid)) = found {
                pages = tried;
                spots.extend(laid);
                break;
            }
            // Empty pages take it: that was seen above, so this ends.
            first += 1;
        }
    }
    spots
}

/// Lays a run on a page and at most so many after it, each box on the page of the one before it or the next.
fn lay_on(
    pages: &mut Vec<Shelf>,
    empty: &Shelf,
    run: &[Parcel],
    (first, most): (usize, usize),
    gap: f64,
) -> Option<Vec<Spot>> {
    let mut page = first;
    let mut lay = |parcel: &Parcel| {
        let last = page + usize::from(page < first + most);
        while page <= last {
            while page >= pages.len() {
                pages.push(empty.clone());
            }
            if let Some((left, down, turned)) = pages[page].lay(parcel, gap) {
                return Some(Spot { page, left, down, turned });
            }
            page += 1;
        }
        None
    };
    run.iter().map(&mut lay).collect()
}

fn lay_all(shelf: &mut Shelf, run: &[Parcel], gap: f64) -> Option<Vec<(f64, f64, bool)>> {
    run.iter().map(|parcel| shelf.lay(parcel, gap)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn parcel(width: f64, height: f64) -> Parcel {
        Parcel { width, height, may_turn: false, with_next: false }
    }

    #[test]
    fn a_box_as_large_as_the_field_just_fits_and_a_larger_one_is_named() {
        assert_eq!(pack(&[parcel(184.0, 254.0)], (184.0, 254.0), 6.0).unwrap()[0].page, 0);
        assert_eq!(pack(&[parcel(10.0, 10.0), parcel(184.1, 20.0)], (184.0, 254.0), 6.0), Err(vec![1]));
        let turnable = Parcel { may_turn: true, ..parcel(200.0, 20.0) };
        assert!(pack(&[turnable], (184.0, 254.0), 6.0).unwrap()[0].turned);
    }

    #[test]
    fn boxes_that_belong_together_share_a_page() {
        let half = parcel(184.0, 130.0);
        let pair = Parcel { with_next: true, ..parcel(184.0, 100.0) };
        let spots = pack(&[half, pair, half], (184.0, 254.0), 6.0).unwrap();
        assert_eq!(spots.iter().map(|s| s.page).collect::<Vec<_>>(), [0, 1, 1]);
    }

    #[test]
    fn a_run_lies_the_other_way_round_where_it_has_no_room_in_its_order() {
        // The low wide box of the run has room under the first box only if the high narrow one stands beside it already.
        let run = [Parcel { with_next: true, ..parcel(110.0, 58.0) }, parcel(80.0, 130.0)];
        let parcels = [vec![parcel(90.0, 100.0)], run.to_vec()].concat();
        let spots = pack(&parcels, (184.0, 254.0), 6.0).unwrap();
        assert_eq!(spots.iter().map(|s| s.page).collect::<Vec<_>>(), [0, 0, 0]);
        assert_eq!((spots[1].down, spots[2].left, spots[2].down), (136.0, 96.0, 0.0));
    }

    #[test]
    fn a_run_too_large_for_a_page_goes_on_from_page_to_page() {
        // A gap on an early page is no place for what comes later in the run.
        let run = [130.0, 150.0, 100.0].map(|height| Parcel { with_next: true, ..parcel(184.0, height) });
        let parcels =
            [vec![parcel(184.0, 150.0), parcel(184.0, 240.0)], run.to_vec(), vec![parcel(184.0, 90.0)]].concat();
        let pages: Vec<usize> = pack(&parcels, (184.0, 254.0), 6.0).unwrap().iter().map(|s| s.page).collect();
        assert_eq!(pages, [0, 1, 2, 3, 4, 4]);
    }

    proptest! {
        #[test]
        fn nothing_overlaps_and_nothing_sticks_out(
            sizes in prop::collection::vec((1.0..184.0f64, 1.0..254.0f64, any::<bool>(), any::<bool>()), 1..40)
        ) {
            let parcels: Vec<Parcel> = sizes
                .iter()
                .map(|&(width, height, may_turn, with_next)| Parcel { width, height, may_turn, with_next })
                .collect();
            let spots = pack(&parcels, (184.0, 254.0), 6.0).unwrap();
            prop_assert_eq!(spots.len(), parcels.len());
            prop_assert_eq!(&spots, &pack(&parcels, (184.0, 254.0), 6.0).unwrap());
            let boxes: Vec<_> = spots
                .iter()
                .zip(&parcels)
                .map(|(s, p)| (s, s.far_corner(p).0 - s.left, s.far_corner(p).1 - s.down))
                .collect();
            for (i, (a, wide, high)) in boxes.iter().enumerate() {
                prop_assert!(a.left >= 0.0 && a.down >= 0.0);
                prop_assert!(a.left + wide <= 184.0 + 1e-6 && a.down + high <= 254.0 + 1e-6);
                prop_assert!(!a.turned || parcels[i].may_turn);
                for (b, other_wide, other_high) in &boxes[..i] {
                    let apart = a.page != b.page
                        || a.left + wide + 6.0 <= b.left + 1e-6
                        || b.left + other_wide + 6.0 <= a.left + 1e-6
                        || a.down + high + 6.0 <= b.down + 1e-6
                        || b.down + other_high + 6.0 <= a.down + 1e-6;
                    prop_assert!(apart, "{a:?} {b:?}");
                }
            }
        }
    }
}
