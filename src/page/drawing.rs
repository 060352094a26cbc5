//! The figure's lines, draw step by draw step: the bow, both tips close up, and the tip's side laid flat.
//!
//! Every line is drawn here: what stays through the draw once, the rest for each step; the page only chooses which step it shows.
//! Places are whole numbers with `y` downward, as SVG counts: 1/10 mm for the bow, 1/100 mm for the tips.

use std::f64::consts::FRAC_PI_2;
use std::fmt::Write;

use serde::Serialize;

use crate::bow::draw_curve::BowAtDraw;
use crate::bow::limb::Profile;
use crate::design::{Both, Design, Side};
use crate::groove::Groove;
use crate::nock::Nock;
use crate::tip::Shell;
use crate::units::{angle_text, force_text};
use crate::worked::Statics;

/// Units of the close-ups in a metre.
pub(super) const CLOSE: f64 = 1e5;
/// Units of the bow in a metre.
const WHOLE: f64 = 1e4;

/// What stays of the bow from the side.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct BowView {
    /// Left, top, width, height.
    view: [i64; 4],
    /// The unstrung bow.
    unstrung: String,
    /// The pivot.
    pivot: [i64; 2],
}

/// The bow at one step.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct BowAt {
    wood: String,
    string: String,
    /// The nocking point.
    nocking: [i64; 2],
}

/// What stays of one tip from the side, its back up, and of its side laid flat.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct TipView {
    view: [i64; 4],
    /// The tip cut down its middle.
    outline: String,
    /// Glue line, mouth or bore.
    shell: String,
    centre: String,
    /// The wall as the string's middle follows it.
    wall: String,
    /// The floor between wall and fan's edge, closed.
    fan: String,
    /// Width of the string.
    string_width: i64,
    seat: [i64; 2],
    flat: Option<FlatView>,
}

/// One tip at one step.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct TipAt {
    /// The string, laid out along the wall.
    string: String,
    /// Where it leaves the wall.
    leaves: [i64; 2],
    /// The arc of the string angle, and where its figure stands.
    arc: String,
    arc_at: [i64; 2],
    angle: String,
    /// The pull, an arrow along the string.
    arrow: String,
    pull: String,
    /// The string's middle on the side laid flat.
    flat: Option<String>,
}

/// The tip's side laid flat: along the girth from the middle of the back, the tip's end up.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct FlatView {
    view: [i64; 4],
    frame: String,
    wall: String,
    fan: String,
    run_out: String,
    string_width: i64,
    /// Where the middle of the side lies.
    side: i64,
}

/// A path through points in units.
pub(super) fn path(points: impl IntoIterator<Item = [f64; 2]>, scale: f64) -> String {
    let mut d = String::with_capacity(256);
    let mut last = None;
    for [x, y] in points {
        let p = [(x * scale).round() as i64, (-y * scale).round() as i64];
        if last == Some(p) {
            continue;
        }
        // Writing into a String cannot fail.
        let _ = write!(d, "{}{} {}", if last.is_none() { 'M' } else { 'L' }, p[0], p[1]);
        last = Some(p);
    }
    d
}

fn at([x, y]: [f64; 2], scale: f64) -> [i64; 2] {
    [(x * scale).round() as i64, (-y * scale).round() as i64]
}

/// Draws one bow with its nocks, step by step.
pub(super) struct Pen<'a> {
    design: &'a Design,
    statics: &'a Statics,
    /// Half the wood's thickness along each limb.
    half: Both<Vec<f64>>,
    tips: Both<TipPen<'a>>,
}

/// Draws one tip.
struct TipPen<'a> {
    nock: &'a Nock,
    laid: Option<Laid<'a>>,
    /// How far the close-up goes toward the handle, m along `a`.
    left: f64,
}

impl<'a> Pen<'a> {
    /// A pen for a bow and its nocks.
    pub fn of(design: &'a Design, statics: &'a Statics, nocks: &'a Both<Nock>) -> Self {
        let half = Both::build(|side| {
            let limb = design.limbs.get(side);
            let profile = Profile::of(limb);
            let bent = &statics.cycle.states[0].limbs.get(side).bent;
            let root = limb.length - bent.s.last().copied().unwrap_or_default();
            bent.s.iter().map(|s| 0.5 * profile.thickness(root + s)).collect::<Vec<f64>>()
        });
        let tips = Both::build(|side| {
            let nock = nocks.get(side);
            let laid = nock.groove.as_ref().map(|groove| Laid::of(nock, groove, design.string.diameter));
            TipPen { nock, laid, left: shown_from(nock) }
        });
        Pen { design, statics, half, tips }
    }

    /// The bow at a step.
    pub fn bow_at(&self, state: &BowAtDraw) -> BowAt {
        // From the seat along the belly where the string lies on it.
        let to_free = |side: Side| {
            let limb = state.limbs.get(side);
            std::iter::once(limb.seat).chain(limb.lying.iter().flat_map(|l| l.path.iter().copied())).collect::<Vec<_>>()
        };
        let lower = to_free(Side::Lower);
        let string = to_free(Side::Upper).into_iter().chain([state.nocking_point]).chain(lower.into_iter().rev());
        BowAt { wood: wood(state, &self.half), string: path(string, WHOLE), nocking: at(state.nocking_point, WHOLE) }
    }

    /// What stays of the bow.
    pub fn bow(&self) -> BowView {
        let (design, states) = (self.design, &self.statics.cycle.states);
        let unstrung = Side::BOTH.map(|side| {
            let limb = design.limbs.get(side);
            let sign = if side == Side::Upper { 1.0 } else { -1.0 };
            let root = states[0].limbs.get(side).bent.x[0];
            let start = 0.5 * design.bow.stiff_handle;
            let mut line = vec![[root, sign * start]];
            if limb.unstrung.is_empty() {
                line.push([root, sign * limb.length]);
            }
            // Plus stands off toward the back, away from the archer.
            line.extend(limb.unstrung.iter().map(|o| [root - o.set, sign * o.at]));
            path(line, WHOLE)
        });
        let reach = states.iter().flat_map(|s| [s.nocking_point[0], s.limbs.upper.seat[0], s.limbs.lower.seat[0]]);
        let right = reach.fold(0.1, f64::max) + 0.06;
        let set = |side: Side| design.limbs.get(side).unstrung.iter().map(|o| o.set).fold(0.0, f64::max);
        let left = -0.06 - design.bow.handle_depth - set(Side::Upper).max(set(Side::Lower));
        let top = design.limbs.upper.length + 0.02;
        let bottom = design.limbs.lower.length + 0.02;
        let view = [left * WHOLE, -top * WHOLE, (right - left) * WHOLE, (top + bottom) * WHOLE];
        BowView {
            view: view.map(|v| v.round() as i64),
            unstrung: unstrung.concat(),
            pivot: at([0.0, design.bow.pivot], WHOLE),
        }
    }

    /// What stays of a tip's close-up.
    pub fn tip(&self, side: Side) -> TipView {
        tip(self.design, self.tips.get(side))
    }

    /// A tip at a step, from the nock alone.
    pub fn tip_at(&self, side: Side, state: &BowAtDraw) -> TipAt {
        self.tips.get(side).at(self.design, side, state)
    }
}

/// Both limbs and the handle as one closed outline, true in thickness.
fn wood(state: &BowAtDraw, half: &Both<Vec<f64>>) -> String {
    let face = |side: Side, belly: f64| {
        let (bent, half) = (&state.limbs.get(side).bent, half.get(side));
        let sign = if side == Side::Upper { 1.0 } else { -1.0 };
        let last = bent.x.len() - 1;
        let mut line = Vec::with_capacity(18);
        for k in (0..=last).filter(|k| k % 3 == 0 || *k == last) {
            let (sin, cos) = bent.angle[k].sin_cos();
            let off = belly * half[k];
            line.push([bent.x[k] + off * cos, sign * (bent.y[k] - off * sin)]);
        }
        line
    };
    let up_belly = face(Side::Upper, 1.0);
    let up_back = face(Side::Upper, -1.0);
    let low_belly = face(Side::Lower, 1.0);
    let low_back = face(Side::Lower, -1.0);
    // The handle's belly comes out to the pivot's depth.
    let grip = 0.5 * (up_belly[0][1] - low_belly[0][1]);
    let handle = [[0.0, 0.4 * grip], [0.0, -0.4 * grip]];
    let belly = up_belly.into_iter().rev().chain(handle).chain(low_belly);
    let mut d = path(belly.chain(low_back.into_iter().rev()).chain(up_back), WHOLE);
    d.push('Z');
    d
}

/// What stays of a tip's close-up.
fn tip(design: &Design, pen: &TipPen) -> TipView {
    let TipPen { nock, laid, left } = pen;
    let (solid, left) = (&nock.solid, *left);
    let end = solid.end;
    let places: Vec<f64> = {
        let straight = end - solid.rounding;
        let n = ((straight - left) / 0.5e-3).ceil().max(2.0) as usize;
        let even = (0..n).map(|i| left + (straight - left) * i as f64 / n as f64);
        even.chain((0..=12).map(|i| straight + solid.rounding * (FRAC_PI_2 * f64::from(i) / 12.0).sin())).collect()
    };
    let height = |a: f64, theta: f64| -> f64 {
        let r: f64 = solid.radius(a, theta);
        r * theta.cos()
    };
    let back: Vec<[f64; 2]> = places.iter().map(|&a| [a, height(a, 0.0)]).collect();
    let belly: Vec<[f64; 2]> = places.iter().map(|&a| [a, height(a, std::f64::consts::PI)]).collect();
    let top = back.iter().map(|p| p[1]).fold(nock.seat_offset, f64::max) + 4e-3;
    let low = belly.iter().map(|p| p[1]).fold(0.0, f64::min) - 21e-3;
    let right = end + 5e-3;
    let outline = path(back.iter().copied().chain(belly.iter().rev().copied()), CLOSE);
    TipView {
        view: [left * CLOSE, -top * CLOSE, (right - left) * CLOSE, (top - low) * CLOSE].map(|v| v.round() as i64),
        outline,
        shell: shell(nock),
        centre: path([[left, 0.0], [right - 1e-3, 0.0]], CLOSE),
        wall: laid.as_ref().map_or(String::new(), |l| path(l.wall.iter().map(|w| w.seen), CLOSE)),
        fan: laid.as_ref().map_or(String::new(), |l| l.fan(nock)),
        string_width: (design.string.diameter * CLOSE).round() as i64,
        seat: at([0.0, nock.seat_offset * nock.crest().cos()], CLOSE),
        flat: laid.as_ref().map(|laid| flat(design, nock, laid)),
    }
}

impl TipPen<'_> {
    fn at(&self, design: &Design, side: Side, state: &BowAtDraw) -> TipAt {
        let limb = state.limbs.get(side);
        let angle = limb.string_angle;
        let (line, leaves) = match &self.laid {
            Some(laid) => laid.string(self.nock, angle),
            None => (vec![[0.0, self.nock.seat_offset]], [0.0, self.nock.seat_offset]),
        };
        let from = line.last().copied().unwrap_or(leaves);
        let along = [-angle.cos(), -angle.sin()];
        let on = |d: f64| [from[0] + d * along[0], from[1] + d * along[1]];
        // A string that lies on the belly is drawn as it lies.
        let lain =
            limb.laid_straight(state.nocking_point, 0.2).filter(|_| limb.lies_from_nock().is_some_and(|[t, l]| l > t));
        let rest: Vec<[f64; 2]> = match lain {
            Some(lain) => lain.into_iter().filter(|p| p[0] < from[0] - 12e-3 && p[0] > self.left - 20e-3).collect(),
            None => vec![on(0.3)],
        };
        let string = path(line.iter().copied().chain(rest), CLOSE);
        // The arc stands where the string leaves the tip's side, from the limb's line round to the string.
        let radius = 11e-3;
        let start = [from[0] - radius, from[1]];
        let stop = on(radius);
        let (p, q) = (at(start, CLOSE), at(stop, CLOSE));
        let r = (radius * CLOSE).round() as i64;
        let level = at(from, CLOSE);
        let arc = format!("M{} {}L{} {}A{r} {r} 0 0 0 {} {}", level[0], level[1], p[0], p[1], q[0], q[1]);
        let half = 0.5 * angle;
        let arc_at = at([from[0] - 1.55 * radius * half.cos(), from[1] - 1.55 * radius * half.sin()], CLOSE);
        // As long as the pull is hard: 1 mm for 12 N.
        let tail = on(15e-3);
        let long = (limb.nock_pull() / 12.0 * 1e-3).clamp(2e-3, 40e-3);
        let head = on(15e-3 + long);
        let side_of = |back: f64, aside: f64| {
            [head[0] - back * along[0] - aside * along[1], head[1] - back * along[1] + aside * along[0]]
        };
        let mut arrow = path([tail, head], CLOSE);
        arrow += &path([side_of(1.6e-3, 0.9e-3), head, side_of(1.6e-3, -0.9e-3)], CLOSE);
        TipAt {
            string,
            leaves: at(leaves, CLOSE),
            arc,
            arc_at,
            angle: angle_text(angle),
            arrow,
            pull: force_text(limb.nock_pull(), design.units),
            flat: self.laid.as_ref().map(|laid| laid.flat(self.nock, angle)),
        }
    }
}

/// How far a close-up goes toward the handle, m along `a`.
fn shown_from(nock: &Nock) -> f64 {
    let run_out = nock.groove.as_ref().map_or(-20e-3, |g| g.wall.at(g.run[1]));
    (run_out - 12e-3).min(nock.from - 6e-3).clamp(-90e-3, -32e-3)
}

/// Glue lines of an overlay and a strip; mouth and bore of a cap.
fn shell(nock: &Nock) -> String {
    let solid = &nock.solid;
    let strip = path(solid.strip_glue(shown_from(nock)), CLOSE);
    strip
        + &match solid.shell {
            Shell::Bare | Shell::Eased { .. } => String::new(),
            Shell::Overlay { from, .. } => {
                let n = 24;
                let places = (0..=n).map(|i| from + (solid.end - from) * f64::from(i) / f64::from(n));
                let back = |a: f64| solid.limb.section(a).back_distance();
                let inside = places.map(|a| [a, back(a)]).filter(|p| {
                    let r: f64 = solid.uncut(p[0], 0.0);
                    r >= p[1]
                });
                path(inside, CLOSE)
            }
            Shell::Cap { mouth, bore, bore_depth, bore_slope, .. } => {
                let face = |theta: f64| {
                    let r: f64 = solid.radius(mouth, theta);
                    r * theta.cos()
                };
                let deep = bore_depth.min(bore / bore_slope);
                let small = bore - bore_slope * deep;
                let mut d = path([[mouth, face(0.0)], [mouth, face(std::f64::consts::PI)]], CLOSE);
                d += &path([[mouth, bore], [mouth + deep, small], [mouth + deep, -small], [mouth, -bore]], CLOSE);
                d
            }
        }
}

/// One place of the wall: along the girth, along the limb, and seen from the side.
struct OnWall {
    girth: f64,
    seen: [f64; 2],
}

/// The string's middle as the groove lays it.
struct Laid<'a> {
    groove: &'a Groove,
    half_string: f64,
    wall: Vec<OnWall>,
}

impl<'a> Laid<'a> {
    fn of(nock: &Nock, groove: &'a Groove, diameter: f64) -> Self {
        let mut laid = Laid { groove, half_string: 0.5 * diameter, wall: Vec::new() };
        let end = groove.run[1].min(groove.girth.side);
        let n = 36;
        laid.wall = (0..=n)
            .map(|i| end * f64::from(i) / f64::from(n))
            .map(|girth| OnWall { girth, seen: laid.seen(nock, girth, groove.wall.at(girth)) })
            .collect();
        laid
    }

    /// The string's middle over the place (`girth`, `a`), seen from the side.
    fn seen(&self, nock: &Nock, girth: f64, a: f64) -> [f64; 2] {
        let theta = self.groove.theta(girth, self.groove.way());
        let uncut: f64 = nock.solid.uncut(a.min(nock.solid.end), theta);
        let depth: f64 = self.groove.depth(girth);
        [
            a,
            (uncut + (self.half_string - depth) * self.groove.girth.slant::<f64>(self.groove.girth.angle(girth)))
                * theta.cos(),
        ]
    }

    /// The line at a string angle, as far as the middle of the side, and where it leaves the wall.
    fn string(&self, nock: &Nock, angle: f64) -> (Vec<[f64; 2]>, [f64; 2]) {
        let (side, left) = (self.groove.girth.side, self.leaves(angle));
        let mut line: Vec<[f64; 2]> = self.wall.iter().take_while(|w| w.girth < left).map(|w| w.seen).collect();
        let start = self.groove.wall.at(left);
        let leaves = self.seen(nock, left, start);
        line.push(leaves);
        let n = 6;
        for i in 1..=n {
            let girth = left + (side - left) * f64::from(i) / f64::from(n);
            line.push(self.seen(nock, girth, start - (girth - left) / angle.tan()));
        }
        (line, leaves)
    }

    /// The string's middle at a string angle, on the side laid flat.
    fn flat(&self, nock: &Nock, angle: f64) -> String {
        let (across, low, _) = flat_bounds(nock, self.groove);
        let left = self.leaves(angle);
        let start = self.groove.wall.at(left);
        let on_wall = upto(left).map(|g| [g, self.groove.wall.at(g)]);
        let far =
            (across - left).min(if angle < FRAC_PI_2 { (start - low).max(0.0) * angle.tan() } else { f64::INFINITY });
        path(on_wall.chain([[left + far, start - far / angle.tan()]]), CLOSE)
    }

    fn leaves(&self, angle: f64) -> f64 {
        self.groove.wall.where_angle(angle).clamp(0.0, self.groove.girth.side)
    }

    /// The floor between wall and fan's edge, seen from the side.
    fn fan(&self, nock: &Nock) -> String {
        let side = self.groove.girth.side;
        let n = 24;
        let edge = (0..=n).rev().map(|i| {
            let girth = side * f64::from(i) / f64::from(n);
            self.seen(nock, girth, self.groove.fan_edge(girth).min(nock.solid.end))
        });
        path(self.wall.iter().map(|w| w.seen).chain(edge), CLOSE) + "Z"
    }
}

/// Bounds of the side laid flat: across from the middle of the back to past the middle of the side, low and high along `a`.
fn flat_bounds(nock: &Nock, groove: &Groove) -> (f64, f64, f64) {
    let low = (groove.wall.at(groove.run[1]) - 6e-3).max(shown_from(nock));
    (groove.girth.side * 1.25, low, nock.solid.end)
}

/// Even places along the girth from the middle of the back up to `end`.
fn upto(end: f64) -> impl DoubleEndedIterator<Item = f64> {
    let n = 30;
    (0..=n).map(move |i| end * f64::from(i) / f64::from(n))
}

/// What stays of the side laid flat.
fn flat(design: &Design, nock: &Nock, laid: &Laid) -> FlatView {
    let groove = laid.groove;
    let (across, low, high) = flat_bounds(nock, groove);
    let line = |f: &dyn Fn(f64) -> f64, end: f64| {
        path(upto(end).map(|g| [g, f(g)]).filter(|p| p[1] >= low && p[1] <= high), CLOSE)
    };
    let end = groove.run[1].min(across);
    let wall = line(&|g| groove.wall.at(g), end);
    let back = upto(end).map(|g| [g, groove.fan_edge(g).clamp(low, high)]).rev();
    let fan = wall.clone() + &path(back, CLOSE).replacen('M', "L", 1) + "Z";
    FlatView {
        view: [-1.5e-3 * CLOSE, -(high + 3e-3) * CLOSE, (across + 3e-3) * CLOSE, (high - low + 4.5e-3) * CLOSE]
            .map(|v| v.round() as i64),
        frame: path([[0.0, low], [0.0, high], [across, high], [across, low], [0.0, low]], CLOSE),
        wall,
        fan,
        run_out: path([[groove.run[0], low], [groove.run[0], high]], CLOSE) + &path([[end, low], [end, high]], CLOSE),
        string_width: (design.string.diameter * CLOSE).round() as i64,
        side: (groove.girth.side * CLOSE).round() as i64,
    }
}
