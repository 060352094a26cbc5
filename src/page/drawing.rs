//! The figure's lines, draw step by draw step: the bow, both tips close up, and the tip's side laid flat.
//!
//! Every line is drawn here, for each step; the page only chooses which step it shows.
//! Places are whole numbers with `y` downward, as SVG counts: 1/10 mm for the bow, 1/100 mm for the tips.

use std::f64::consts::FRAC_PI_2;
use std::fmt::Write;

use serde::Serialize;

use crate::bow::draw_curve::BowAtDraw;
use crate::bow::limb::Profile;
use crate::design::{Both, Design, Side};
use crate::groove::{Girth, Groove};
use crate::nock::Nock;
use crate::string::hanging::Hanging;
use crate::string::path::Figures;
use crate::tip::Shell;
use crate::units::{angle_text, force_text};
use crate::worked::Statics;

/// Units of the close-ups in a metre.
const CLOSE: f64 = 1e5;
/// Units of the bow in a metre.
const WHOLE: f64 = 1e4;

/// The bow from the side, drawn step by step.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct BowView {
    /// Left, top, width, height.
    view: [i64; 4],
    /// The wood at each step.
    wood: Vec<String>,
    /// The string at each step.
    string: Vec<String>,
    /// The unstrung bow.
    unstrung: String,
    /// The nocking point at each step.
    nocking: Vec<[i64; 2]>,
    /// The pivot.
    pivot: [i64; 2],
}

/// One tip from the side, its back up, and its side laid flat.
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
    /// The string at each step: laid out along the wall.
    string: Vec<String>,
    /// Where it leaves the wall, at each step.
    leaves: Vec<[i64; 2]>,
    /// The arc of the string angle, and where its figure stands.
    arc: Vec<String>,
    arc_at: Vec<[i64; 2]>,
    angle: Vec<String>,
    /// The pull, an arrow along the string.
    arrow: Vec<String>,
    pull: Vec<String>,
    flat: Option<FlatView>,
}

/// The tip's side laid flat: along the girth from the middle of the back, the tip's end up.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct FlatView {
    view: [i64; 4],
    frame: String,
    wall: String,
    fan: String,
    run_out: String,
    /// The string's middle at each step.
    string: Vec<String>,
    string_width: i64,
    /// Where the middle of the side lies.
    side: i64,
}

/// What the followed loop adds to one tip's figure, at each of the bow's own steps that it reached.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct LoopView {
    /// The loop's strand on the near side.
    string: Vec<String>,
    /// Where the string bears, laid flat.
    bears: Vec<String>,
}

/// A path through points in units.
fn path(points: impl IntoIterator<Item = [f64; 2]>, scale: f64) -> String {
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

/// The bow at every step.
pub(super) fn bow(design: &Design, statics: &Statics) -> BowView {
    let states = &statics.cycle.states;
    let half = Both::build(|side| {
        let limb = design.limbs.get(side);
        let profile = Profile::of(limb);
        let bent = &states[0].limbs.get(side).bent;
        let root = limb.length - bent.s.last().copied().unwrap_or_default();
        bent.s.iter().map(|s| 0.5 * profile.thickness(root + s)).collect::<Vec<f64>>()
    });
    let wood: Vec<String> = states.iter().map(|state| wood(state, &half)).collect();
    let string = states.iter().map(|s| {
        // From the seat along the belly where the string lies on it.
        let to_free = |side: Side| {
            let limb = s.limbs.get(side);
            std::iter::once(limb.seat).chain(limb.lying.iter().flat_map(|l| l.path.iter().copied())).collect::<Vec<_>>()
        };
        let lower = to_free(Side::Lower);
        path(to_free(Side::Upper).into_iter().chain([s.nocking_point]).chain(lower.into_iter().rev()), WHOLE)
    });
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
    BowView {
        view: [left * WHOLE, -top * WHOLE, (right - left) * WHOLE, (top + bottom) * WHOLE].map(|v| v.round() as i64),
        wood,
        string: string.collect(),
        unstrung: unstrung.concat(),
        nocking: states.iter().map(|s| at(s.nocking_point, WHOLE)).collect(),
        pivot: at([0.0, design.bow.pivot], WHOLE),
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

/// A tip's close-up from the nock alone, at every step.
pub(super) fn tip(design: &Design, statics: &Statics, nock: &Nock, side: Side) -> TipView {
    let solid = &nock.solid;
    let states = &statics.cycle.states;
    let left = shown_from(nock);
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
    let laid = nock.groove.as_ref().map(|groove| Laid::of(nock, groove, design.string.diameter));
    let mut view = TipView {
        view: [left * CLOSE, -top * CLOSE, (right - left) * CLOSE, (top - low) * CLOSE].map(|v| v.round() as i64),
        outline,
        shell: shell(nock),
        centre: path([[left, 0.0], [right - 1e-3, 0.0]], CLOSE),
        wall: laid.as_ref().map_or(String::new(), |l| path(l.wall.iter().map(|w| w.seen), CLOSE)),
        fan: laid.as_ref().map_or(String::new(), |l| l.fan(nock)),
        string_width: (design.string.diameter * CLOSE).round() as i64,
        seat: at([0.0, nock.seat_offset * nock.crest().cos()], CLOSE),
        string: Vec::new(),
        leaves: Vec::new(),
        arc: Vec::new(),
        arc_at: Vec::new(),
        angle: Vec::new(),
        arrow: Vec::new(),
        pull: Vec::new(),
        flat: nock
            .groove
            .as_ref()
            .zip(laid.as_ref())
            .map(|(groove, laid)| flat(design, statics, nock, groove, laid, side)),
    };
    for state in states {
        let limb = state.limbs.get(side);
        let angle = limb.string_angle;
        let (line, leaves) = match &laid {
            Some(laid) => laid.string(nock, angle),
            None => (vec![[0.0, nock.seat_offset]], [0.0, nock.seat_offset]),
        };
        let from = line.last().copied().unwrap_or(leaves);
        let along = [-angle.cos(), -angle.sin()];
        let on = |d: f64| [from[0] + d * along[0], from[1] + d * along[1]];
        // A string that lies on the belly is drawn as it lies.
        let lain =
            limb.laid_straight(state.nocking_point, 0.2).filter(|_| limb.lies_from_nock().is_some_and(|[t, l]| l > t));
        let rest: Vec<[f64; 2]> = match lain {
            Some(lain) => lain.into_iter().filter(|p| p[0] < from[0] - 12e-3 && p[0] > left - 20e-3).collect(),
            None => vec![on(0.3)],
        };
        view.string.push(path(line.iter().copied().chain(rest), CLOSE));
        view.leaves.push(at(leaves, CLOSE));
        // The arc stands where the string leaves the tip's side, from the limb's line round to the string.
        let radius = 11e-3;
        let start = [from[0] - radius, from[1]];
        let stop = on(radius);
        let (p, q) = (at(start, CLOSE), at(stop, CLOSE));
        let r = (radius * CLOSE).round() as i64;
        let level = at(from, CLOSE);
        view.arc.push(format!("M{} {}L{} {}A{r} {r} 0 0 0 {} {}", level[0], level[1], p[0], p[1], q[0], q[1]));
        let half = 0.5 * angle;
        view.arc_at.push(at([from[0] - 1.25 * radius * half.cos(), from[1] - 1.25 * radius * half.sin()], CLOSE));
        view.angle.push(angle_text(angle));
        // As long as the pull is hard: 1 mm for 12 N.
        let tail = on(15e-3);
        let long = (limb.pull / 12.0 * 1e-3).clamp(2e-3, 40e-3);
        let head = on(15e-3 + long);
        let side_of = |back: f64, aside: f64| {
            [head[0] - back * along[0] - aside * along[1], head[1] - back * along[1] + aside * along[0]]
        };
        let mut arrow = path([tail, head], CLOSE);
        arrow += &path([side_of(1.6e-3, 0.9e-3), head, side_of(1.6e-3, -0.9e-3)], CLOSE);
        view.arrow.push(arrow);
        view.pull.push(force_text(limb.pull, design.units));
    }
    view
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

/// The side laid flat, from the middle of the back to past the middle of the side.
fn flat(design: &Design, statics: &Statics, nock: &Nock, groove: &Groove, laid: &Laid, side: Side) -> FlatView {
    let across = groove.girth.side * 1.25;
    let (low, high) = ((groove.wall.at(groove.run[1]) - 6e-3).max(shown_from(nock)), nock.solid.end);
    let n = 30;
    let upto = |end: f64| (0..=n).map(move |i| end * f64::from(i) / f64::from(n));
    let line = |f: &dyn Fn(f64) -> f64, end: f64| {
        path(upto(end).map(|g| [g, f(g)]).filter(|p| p[1] >= low && p[1] <= high), CLOSE)
    };
    let end = groove.run[1].min(across);
    let fan_end = groove.run[1].min(across);
    let mut fan = line(&|g| groove.wall.at(g), end);
    let back = upto(fan_end).map(|g| [g, groove.fan_edge(g).clamp(low, high)]).collect::<Vec<_>>();
    fan += &path(back.into_iter().rev(), CLOSE).replacen('M', "L", 1);
    let string = statics.cycle.states.iter().map(|state| {
        let angle = state.limbs.get(side).string_angle;
        let left = laid.leaves(angle);
        let start = groove.wall.at(left);
        let on_wall = upto(left).map(|g| [g, groove.wall.at(g)]);
        let far =
            (across - left).min(if angle < FRAC_PI_2 { (start - low).max(0.0) * angle.tan() } else { f64::INFINITY });
        path(on_wall.chain([[left + far, start - far / angle.tan()]]), CLOSE)
    });
    FlatView {
        view: [-1.5e-3 * CLOSE, -(high + 3e-3) * CLOSE, (across + 3e-3) * CLOSE, (high - low + 4.5e-3) * CLOSE]
            .map(|v| v.round() as i64),
        frame: path([[0.0, low], [0.0, high], [across, high], [across, low], [0.0, low]], CLOSE),
        wall: line(&|g| groove.wall.at(g), end),
        fan: fan + "Z",
        run_out: path([[groove.run[0], low], [groove.run[0], high]], CLOSE)
            + &path([[groove.run[1].min(across), low], [groove.run[1].min(across), high]], CLOSE),
        string: string.collect(),
        string_width: (design.string.diameter * CLOSE).round() as i64,
        side: (groove.girth.side * CLOSE).round() as i64,
    }
}

/// The followed loop at the bow's own steps.
pub(super) fn followed(nock: &Nock, hanging: &Hanging) -> LoopView {
    let girth = match &nock.groove {
        Some(groove) => groove.girth.clone(),
        None => Girth::of(&nock.solid),
    };
    let last = (hanging.last_own + 1).min(hanging.draw.figures.len());
    let own = hanging.draw.figures.get(hanging.first_own..last).unwrap_or_default();
    LoopView {
        string: own.iter().map(|figures| strand(figures, girth.about)).collect(),
        bears: own.iter().map(|figures| bears(figures, &girth)).collect(),
    }
}

/// The near strand, from the throat to the middle of the back; on the side of the groove's crest, at the polar angle `about`.
fn strand(figures: &Figures, about: f64) -> String {
    let half = figures.line.len() / 2;
    let seen = |p: &[f64; 3]| [p[0], p[2]];
    if about < 0.0 {
        path(figures.line.iter().take(half + 1).map(seen), CLOSE)
    } else {
        path(figures.line.iter().rev().take(half + 1).map(seen), CLOSE)
    }
}

/// The string's middle where it bears on the near side, laid flat; a gap where it is off the tip.
fn bears(figures: &Figures, girth: &Girth) -> String {
    let mut d = String::new();
    let mut run: Vec<[f64; 2]> = Vec::new();
    let way = if girth.about < 0.0 { -1.0 } else { 1.0 };
    let from_crest = |theta: f64| way * (theta - girth.about);
    for contact in figures.contacts.iter().filter(|c| from_crest(c.theta) >= 0.0) {
        let g: f64 = girth.along(from_crest(contact.theta));
        let here = [g, contact.at[0]];
        if run.last().is_some_and(|last| (last[0] - here[0]).abs() > 1.5e-3) {
            d += &path(run.drain(..), CLOSE);
        }
        run.push(here);
    }
    d + &path(run, CLOSE)
}
