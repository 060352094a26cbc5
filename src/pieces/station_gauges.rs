//! Go and no-go gauges for width and thickness at the stations: two combs of slots, to size the tip before the groove is cut.

use kurbo::{BezPath, Point, Shape};
use std::f64::consts::TAU;

use super::Subject;
use super::common::{captioned, measure, measure_lines, name_inside};
use super::shape::MM;
use crate::font::CAP_HEIGHT;
use crate::sheets::Piece;
use crate::template::waste::{Waste, waste_ticks};
use crate::template::{Anchor, Role, Template, size};
use crate::tip::TipSolid;

/// A slot is this much wider (go) or narrower (no-go) than the tip shall be, mm: what a file can hold and a card can show.
/// Common practice, no source.
pub(super) const PLAY: f64 = 0.25;
/// Between two slots, mm: narrower, and card tears.
const BETWEEN: f64 = 6.0;
/// Of card between go and no-go slots, mm: room for a letter and its figures, and under them for a name.
const SPINE: f64 = 24.0;
/// From one row of figures to the next, mm: large letters have room, too.
const ROW: f64 = 4.4;
/// A slot goes this far past the middle of what it is pushed over, mm.
const PAST: f64 = 3.0;

/// What the tip measures at a station before grooves are cut: width and back to belly, mm.
pub(super) fn sizes(solid: &TipSolid, a: f64) -> [f64; 2] {
    let mut reach = [0.0_f64; 3];
    for i in 0..=720 {
        let (s, c) = (TAU * f64::from(i) / 720.0).sin_cos();
        let r: f64 = solid.uncut(a, TAU * f64::from(i) / 720.0);
        reach = [reach[0].max(r * s), reach[1].max(r * c), reach[2].max(-r * c)];
    }
    [2.0 * reach[0] * MM, (reach[1] + reach[2]) * MM]
}

/// Draws them.
pub(super) fn draw(subject: &Subject) -> Vec<Piece> {
    let solid = &subject.worked.nocks.get(subject.side).solid;
    let units = subject.worked.design.units;
    // Over the rounded end there is nothing to measure.
    let stations: Vec<(char, [f64; 2])> = subject
        .shape
        .stations
        .iter()
        .filter(|(_, a)| *a < solid.end - solid.rounding)
        .map(|(letter, a)| (*letter, sizes(solid, *a)))
        .collect();
    let comb = |slots: Vec<(char, f64)>, over: f64, what: &str, words: &str| {
        let deep = 0.5 * over + PAST;
        let mut t = Template::new("");
        let outline = outline(&slots, deep);
        waste_ticks(&mut t, &outline, Waste::Outside);
        t.line(Role::Cut, outline.clone());
        let high = 2.0 * deep + SPINE;
        for (x, (letter, nominal)) in middles(&slots).into_iter().zip(&slots) {
            let mut y = 0.5 * high + 0.5 * SPINE - 4.2;
            t.words((x, y), size::BODY, Anchor::Middle, 0.0, true, letter.to_string());
            for line in measure_lines(*nominal, units) {
                y -= ROW;
                t.text((x, y), size::SMALL, Anchor::Middle, line);
            }
        }
        // On the card beside the first slot, so that they stay on it.
        let low = CAP_HEIGHT * size::SMALL / 2.0;
        for (y, word, anchor) in [(high - 1.0, "go", Anchor::End), (1.0, "no-go", Anchor::Start)] {
            t.words((0.5 * BETWEEN + low, y), size::SMALL, anchor, 90.0, true, word);
        }
        name_inside(subject, &mut t, &outline, Point::new(outline.bounding_box().center().x, deep + 3.6), what);
        let words = format!(
            "Cut from stiff card or tin along the middle of the line. {words}: the upper one goes on, the lower one does not. Go is {} wider than \
             the figure, no-go as much narrower.",
            measure(PLAY, units)
        );
        Piece::new(captioned(subject, t, &format!("{what} gauge"), &words)).may_turn()
    };
    let open = subject.worked.nocks.get(subject.side).groove.as_ref().is_some_and(|g| g.wish.open);
    let before = if open { "Before the shoulder is filed" } else { "Before the groove is filed" };
    let at_stations = |which: usize, what: &str, way: &str| {
        let slots = stations.iter().map(|(letter, size)| (*letter, size[which])).collect();
        let over = stations.iter().map(|(_, size)| size[1 - which]).fold(0.0, f64::max);
        comb(slots, over, what, &format!("{before}, push the slot over {way} at its station"))
    };
    let mut pieces = vec![at_stations(0, "width", "the tip's width"), at_stations(1, "thickness", "back and belly")];
    if let (true, Some((letter, a))) = (open, behind(subject)) {
        let [wide, thick] = finished(solid, a);
        let words =
            format!("When the pin is filed, push W over its width and T over back and belly, at station {letter}");
        pieces.push(comb(vec![('W', wide), ('T', thick)], wide.max(thick), "pin", &words));
    }
    pieces
}

/// The last station before the rounded end.
fn behind(subject: &Subject) -> Option<(char, f64)> {
    let solid = &subject.worked.nocks.get(subject.side).solid;
    subject.shape.stations.iter().rev().find(|(_, a)| *a < solid.end - solid.rounding).copied()
}

/// What the finished tip measures at a station: width and back to belly, mm.
fn finished(solid: &TipSolid, a: f64) -> [f64; 2] {
    let outline = solid.section(a, 720);
    [0, 1].map(|i| {
        let along = || outline.iter().map(|p| p[i] * MM);
        along().fold(f64::NEG_INFINITY, f64::max) - along().fold(f64::INFINITY, f64::min)
    })
}

/// The middle of each slot, mm from the card's left edge.
fn middles(slots: &[(char, f64)]) -> Vec<f64> {
    let mut x = 0.0;
    slots
        .iter()
        .map(|(_, nominal)| {
            let middle = x + BETWEEN + 0.5 * nominal + PLAY;
            x = middle + 0.5 * nominal + PLAY;
            middle
        })
        .collect()
}

/// The card: no-go slots in its lower edge, go slots in its upper one.
fn outline(slots: &[(char, f64)], deep: f64) -> BezPath {
    let middles = middles(slots);
    let wide = middles.last().zip(slots.last()).map_or(0.0, |(x, (_, nominal))| x + 0.5 * nominal + PLAY + BETWEEN);
    let high = 2.0 * deep + SPINE;
    let mut path = BezPath::new();
    path.move_to((0.0, 0.0));
    let slot = |path: &mut BezPath, x: f64, half: f64, edge: f64, floor: f64| {
        for p in [(x - half, edge), (x - half, floor), (x + half, floor), (x + half, edge)] {
            path.line_to(Point::from(p));
        }
    };
    for (x, (_, nominal)) in middles.iter().zip(slots) {
        slot(&mut path, *x, 0.5 * (nominal - PLAY), 0.0, deep);
    }
    path.line_to((wide, 0.0));
    path.line_to((wide, high));
    for (x, (_, nominal)) in middles.iter().zip(slots).rev() {
        slot(&mut path, *x, -0.5 * (nominal + PLAY), high, high - deep);
    }
    path.line_to((0.0, high));
    path.close_path();
    path
}
