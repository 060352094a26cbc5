//! The side view: the tip and its nock with the back up, and the string at brace, at half draw and at full draw.

use kurbo::{Circle, Point, Rect, Shape, Vec2};

use super::Subject;
use super::common::{TO_TIP_ROOM, beside, break_line, measure, path, to_tip, until, with_caption};
use super::shape::{Crossing, MM, TipShape, groove_middle, string_line};
use crate::bow::draw_curve::BowAtDraw;
use crate::font::{CAP_HEIGHT, DESCENT, text_width};
use crate::sheets::Piece;
use crate::template::dimension::{Place, dimension};
use crate::template::leader::{End, leader};
use crate::template::legible::crossed_texts;
use crate::template::{Anchor, Role, Template, size};
use crate::tip::Shell;
use crate::units::angle_text;

/// Over this way a lying string goes over from the groove to where the statics have it, mm.
const COMES_IN: f64 = 12.0;
/// How far the string is drawn below the belly, mm.
const BELOW: f64 = 27.0;

/// Draws it, once where both sides are alike; else the slotted side and the bare one.
pub(super) fn draw(subject: &Subject) -> Vec<Piece> {
    let nock = subject.worked.nocks.get(subject.side);
    let string = match nock.groove {
        Some(_) => "The string is drawn where it lies at brace, at half draw and at full draw.",
        None => "The string is drawn at its angles at brace, at half draw and at full draw.",
    };
    if subject.shape.even {
        let mut words = format!("Seen from the side, back up; both sides are alike. {string}");
        if subject.worked.design.is_tied(subject.side) {
            words.push_str(" It is tied here with a bowyer's knot, which grips: a plain groove serves.");
        }
        if subject.worked.statics.cycle.at_brace().limbs.get(subject.side).lying.is_some() {
            words.push_str(
                " It lies on the belly, and the angle there is that of the loop's legs; the limb, which curves, is drawn straight.",
            );
        }
        if let Some(strip) = nock.parts.iter().find(|p| p.name == "strip") {
            words.push_str(&format!(" Along the belly a strip, {}.", strip.material));
        }
        return vec![view(subject, 1.0, "side view of the tip", words)];
    }
    let slotted = nock.groove.as_ref().map_or(1.0, |groove| groove.way());
    let from = |seen: f64, whose: &str| {
        let end = if seen < 0.0 { "right" } else { "left" };
        format!("Seen from the {whose} side, back up, tip at the {end}. {string}")
    };
    vec![
        view(subject, slotted, "side view of the tip, slotted side", from(slotted, "slotted")),
        view(subject, -slotted, "side view of the tip, bare side", from(-slotted, "bare")),
    ]
}

/// The view of the side `seen`, 1 for `+w` and -1 for `-w`.
fn view(subject: &Subject, seen: f64, what: &str, mut words: String) -> Piece {
    let mut t = Template::new("");
    outline(&mut t, subject.shape);
    let nock = subject.worked.nocks.get(subject.side);
    let runs = subject.shape.groove_on(seen);
    shell(&mut t, subject);
    groove(&mut t, subject, &runs, seen);
    strings(&mut t, subject, seen);
    station_marks(&mut t, subject.shape, subject.shape.top(), subject.shape.bottom());
    lengths(&mut t, subject);
    notes(&mut t, subject, &runs);
    to_tip(&mut t, Point::new(nock.solid.end * MM + 7.0 + TO_TIP_ROOM - 9.0, subject.shape.top() + 5.5), false);
    if let Some(caution) = crate::nock::style(nock.style).and_then(crate::nock::NockStyle::caution) {
        words.push_str(&format!("\n{caution}"));
    }
    let mut warning: Vec<String> = subject.failing.iter().map(|title| format!("Fails: {title}.")).collect();
    if !warning.is_empty() {
        warning.push("See the report before you cut.".to_owned());
    }
    for title in &subject.wearing {
        words.push_str(&format!("\nWears: {title}. Look at the place after the first shots."));
    }
    // With the back up and the tip at the right, the `-w` side is seen.
    let t = if subject.shape.even || seen < 0.0 { t } else { t.mirrored() };
    Piece::new(with_caption(subject, t, what, &words, &warning.join("\n")))
}

/// The silhouette, open toward the handle.
fn outline(t: &mut Template, shape: &TipShape) {
    let mut line = shape.back.clone();
    line.extend(shape.belly.iter().rev());
    t.line(Role::Outline, path(&line));
    if let (Some(p), Some(q)) = (shape.back.first(), shape.belly.first()) {
        break_line(t, *p, *q);
    }
    let end = shape.back.last().map_or(0.0, |p| p.x);
    t.segment(Role::Centre, (shape.shown_from * MM - 3.0, 0.0), (end + 3.0, 0.0));
}

/// What stands over the wood: the glue lines of an overlay and of a strip, mouth and bore of a cap.
fn shell(t: &mut Template, subject: &Subject) {
    let solid = &subject.worked.nocks.get(subject.side).solid;
    let glue = solid.strip_glue(subject.shape.shown_from);
    if !glue.is_empty() {
        t.line(Role::Outline, path(&glue.iter().map(|[a, b]| Point::new(a * MM, b * MM)).collect::<Vec<_>>()));
    }
    match solid.shell {
        Shell::Bare | Shell::Eased { .. } => {}
        Shell::Overlay { from, .. } => {
            let last = subject.shape.back.iter().rev();
            // The glue line ends where the rounded end cuts it off.
            let back = |a: f64| solid.limb.section(a / MM).back_distance() * MM;
            let end = last.copied().find(|p| p.y >= back(p.x)).map_or(solid.end * MM, |p| p.x);
            let n = 40;
            let line: Vec<Point> = (0..=n)
                .map(|i| from * MM + (end - from * MM) * f64::from(i) / f64::from(n))
                .map(|a| Point::new(a, back(a)))
                .collect();
            t.line(Role::Outline, path(&line));
        }
        Shell::Cap { mouth, bore, bore_depth, bore_slope, .. } => {
            let x = mouth * MM;
            t.segment(
                Role::Outline,
                (x, TipShape::at(&subject.shape.belly, x)),
                (x, TipShape::at(&subject.shape.back, x)),
            );
            let deep = bore_depth.min(bore / bore_slope);
            let small = (bore - bore_slope * deep) * MM;
            let bottom = (mouth + deep) * MM;
            let cone =
                [(x, bore * MM), (bottom, small), (bottom, -small), (x, -bore * MM)].map(|(x, y)| Point::new(x, y));
            t.line(Role::Hidden, path(&cone));
        }
    }
}

/// The groove's edges and the line down its middle.
fn groove(t: &mut Template, subject: &Subject, runs: &[Vec<Crossing>], seen: f64) {
    let solid = &subject.worked.nocks.get(subject.side).solid;
    let place = |a: f64, theta: f64| {
        let r: f64 = solid.uncut(a, theta);
        Point::new(a * MM, r * theta.cos() * MM)
    };
    for run in runs {
        let low: Vec<Point> = run.iter().map(|c| place(c.low, c.theta)).collect();
        let high: Vec<Point> = run.iter().rev().map(|c| place(c.high, c.theta)).collect();
        // From one edge to the other where the run ends, along the surface.
        let end: Vec<Point> = run.last().map_or(Vec::new(), |c| {
            (1..24).map(|i| place(c.low + (c.high - c.low) * f64::from(i) / 24.0, c.theta)).collect()
        });
        t.line(Role::Outline, path(&[low, end, high].concat()));
    }
    for line in groove_middle(subject.worked.nocks.get(subject.side)) {
        let near = line.iter().filter(|[_, theta]| subject.shape.even || theta * seen >= 0.0);
        let line: Vec<Point> = near.map(|[a, theta]| place(*a, *theta)).collect();
        if line.len() > 1 {
            t.line(Role::Centre, path(&line));
        }
    }
}

/// The string as two edges its diameter apart, with its angle along it.
fn strings(t: &mut Template, subject: &Subject, seen: f64) {
    let worked = subject.worked;
    let nock = worked.nocks.get(subject.side);
    let string = &worked.design.string;
    let swing = worked.statics.swings.get(subject.side);
    let half = string.diameter * MM / 2.0;
    if subject.shape.even {
        t.line(Role::String, Circle::new((0.0, nock.seat_offset * MM), half).to_path(1e-3));
    }
    let left = subject.shape.shown_from * MM - 4.0;
    let within =
        Rect::new(left, subject.shape.bottom() - BELOW, subject.shape.back.last().map_or(0.0, |p| p.x) + 40.0, 100.0);
    let half_drawn = worked.statics.cycle.at_half_draw();
    let angles = [
        ("at brace", swing.brace, worked.statics.cycle.at_brace()),
        ("half draw", half_drawn.limbs.get(subject.side).string_angle, half_drawn),
        ("full draw", swing.full_draw, worked.statics.cycle.at_full_draw()),
    ];
    let braced_lies = worked.statics.cycle.at_brace().limbs.get(subject.side).lying.is_some();
    let mut lain = None;
    for (place, (name, angle, state)) in angles.into_iter().enumerate() {
        let (line, leaves) = string_line(nock, string, angle, 300.0, seen);
        // At brace the string lies along the whole wall; drawn, it is shown from where it leaves the wall.
        let start = if place == 0 { 1.min(leaves) } else { leaves };
        let mut line = line[start.min(line.len() - 2)..].to_vec();
        if !subject.shape.even {
            // Over the crest the string runs toward the eye: it is shown from where it has come down by its own half.
            let top = line.first().map_or(0.0, |p| p.y);
            let over = line.iter().take_while(|p| p.y > top - half).count();
            line.drain(..over.min(line.len() - 2));
        }
        let lies = lie_down(subject, state, &mut line);
        let line = until(&line, within);
        for side in [half, -half] {
            t.line(Role::String, path(&beside(&line, side)));
        }
        let Some(end) = line.last() else { continue };
        let up = angle <= std::f64::consts::FRAC_PI_2;
        let of = if lies { ", legs" } else { "" };
        let words = format!("{name}{of} {}", angle_text(angle));
        // A string that leaves a curved limb is drawn a little curved; words stand along its chord.
        let (chord, bulge) =
            if lies { last_stretch(&line, text_width(&words, size::SMALL, false)) } else { (0.0, 0.0) };
        let turn = if lies && place == 0 {
            0.0
        } else if lies {
            chord
        } else if up {
            angle
        } else {
            angle - std::f64::consts::PI
        };
        let reading = Vec2::from_angle(turn);
        // The last one is lettered on its far side, clear of those before it.
        // Where the braced string lies, it passes above the others.
        let above = if place == 2 || braced_lies { !up } else { up };
        let clear = half + 1.1 + bulge;
        let off = if above { clear } else { -clear - CAP_HEIGHT * size::SMALL };
        let at = *end + reading.turn_90() * off + reading * if up { 1.0 } else { -1.0 };
        if lies && place == 0 {
            lain = Some((line, words));
            continue;
        }
        let anchor = if up { Anchor::Start } else { Anchor::End };
        t.words(at, size::SMALL, anchor, turn.to_degrees(), false, words);
    }
    if let Some((line, words)) = lain {
        name_lying(t, subject, &line, half, &words);
    }
}

/// Names a braced string that lies on the belly. Under it the other strings go by; over the belly line there is room, and the
/// string, `half` its thickness about `line`, may lie up to it or over it.
fn name_lying(t: &mut Template, subject: &Subject, line: &[Point], half: f64, words: &str) {
    let limb = &subject.worked.nocks.get(subject.side).solid.limb;
    let end = line.last().map_or(0.0, |p| p.x).max(subject.shape.shown_from * MM);
    let mut first = None;
    for step in 0..24 {
        let target = end + 4.0 + 2.0 * f64::from(step);
        let far = target + 8.0 + text_width(words, size::SMALL, false);
        let over = line.iter().filter(|p| (target..=far).contains(&p.x)).map(|p| p.y + half);
        let belly = -limb.section(target / MM).belly_distance() * MM;
        let base = over.fold(belly, f64::max) + 0.9 + DESCENT * size::SMALL;
        let of = line.iter().min_by(|p, q| (p.x - target).abs().total_cmp(&(q.x - target).abs()));
        let knee = Point::new(target + 1.5, base + CAP_HEIGHT * size::SMALL / 2.0);
        // A little to either side as well: a line right beside a word reads like a letter of it.
        let stands_clear = [-1.2, 0.0, 1.2].iter().all(|aside| {
            let mut tried = t.clone();
            tried.words((target + 5.3 + aside, base), size::SMALL, Anchor::Start, 0.0, false, words);
            !crossed_texts(&tried).iter().any(|text| text == words)
        });
        let mut tried = t.clone();
        leader(&mut tried, of.copied().unwrap_or(knee), knee, End::Arrow, words);
        if stands_clear && !crossed_texts(&tried).iter().any(|text| text == words) {
            *t = tried;
            return;
        }
        first.get_or_insert(tried);
    }
    *t = first.unwrap_or_default();
}

/// The last `long` mm of a line, from its end back: the way of its chord, rad, and how far the line goes off it, mm.
fn last_stretch(line: &[Point], long: f64) -> (f64, f64) {
    let Some(end) = line.last() else { return (0.0, 0.0) };
    let back: Vec<Point> = line.iter().rev().copied().take_while(|p| (*p - *end).hypot() < long).collect();
    let Some(from) = line.iter().rev().nth(back.len()).or(back.last()) else { return (0.0, 0.0) };
    let chord = *from - *end;
    let off = |p: &Point| (chord.cross(*p - *end) / chord.hypot().max(1e-9)).abs();
    (chord.atan2(), back.iter().map(off).fold(0.0, f64::max))
}

/// Lets a string whose last stretch is straight lie down on the belly where it does so at this draw; whether it does.
fn lie_down(subject: &Subject, state: &BowAtDraw, line: &mut Vec<Point>) -> bool {
    let limb = state.limbs.get(subject.side);
    let Some([_, lift_off]) = limb.lies_from_nock() else { return false };
    let beyond = (-subject.shape.shown_from - lift_off).max(0.0) + 10e-3;
    let Some(lain) = limb.laid_straight(state.nocking_point, beyond) else { return false };
    line.pop();
    // From the groove it comes in over a little way: the statics' string starts at the seat's middle, not on the tip's sides.
    let from = line.last().map_or(0.0, |p| p.x) - COMES_IN;
    line.extend(lain.iter().map(|[a, b]| Point::new(a * MM, b * MM)).filter(|p| p.x < from));
    true
}

/// Letters and ticks where the sections are taken.
pub(super) fn station_marks(t: &mut Template, shape: &TipShape, top: f64, bottom: f64) {
    for (letter, a) in &shape.stations {
        let x = a * MM;
        t.segment(Role::Note, (x, top + 1.5), (x, top + 4.5));
        t.segment(Role::Note, (x, bottom - 1.5), (x, bottom - 4.0));
        t.words((x, top + 5.3), size::SMALL, Anchor::Middle, 0.0, true, letter.to_string());
    }
}

/// Lengths along the tip, above it.
fn lengths(t: &mut Template, subject: &Subject) {
    let nock = subject.worked.nocks.get(subject.side);
    let units = subject.worked.design.units;
    let top = subject.shape.top() + 18.8;
    let end = Point::new(nock.solid.end * MM, 0.0);
    let at = |x: f64| Point::new(x, subject.shape.top() + 14.8);
    dimension(t, at(0.0), at(end.x), Place::Level(top), &format!("{}, seat to tip", measure(end.x, units)));
    if !matches!(nock.solid.shell, Shell::Bare | Shell::Eased { .. }) {
        let from = nock.from * MM;
        let name = if matches!(nock.solid.shell, Shell::Cap { .. }) { "cap" } else { "overlay" };
        let words = format!("{}, {name}", measure(end.x - from, units));
        dimension(t, at(from), at(end.x), Place::Level(top + 6.5), &words);
    }
}

/// Words beside the tip.
fn notes(t: &mut Template, subject: &Subject, runs: &[Vec<Crossing>]) {
    let nock = subject.worked.nocks.get(subject.side);
    let solid = &nock.solid;
    let shape = subject.shape;
    let seen = |a: f64, theta: f64| {
        let r: f64 = solid.uncut(a, theta);
        Point::new(a * MM, r * theta.cos() * MM)
    };
    let mut notes: Vec<(Point, End, String)> = Vec::new();
    let end = solid.end * MM;
    let material =
        |name: &str| nock.parts.iter().find(|p| p.name == name).map_or("", |p| p.material.as_str()).to_owned();
    match solid.shell {
        Shell::Overlay { .. } => {
            let a = end - solid.rounding * MM * 0.7;
            let base = solid.limb.section(a / MM).back_distance() * MM;
            let middle = 0.4 * TipShape::at(&shape.back, a) + 0.6 * base;
            notes.push((Point::new(a, middle), End::Dot, format!("overlay, {}", material("overlay"))));
            notes.push((Point::new(a, base), End::Arrow, "glue line".into()));
        }
        Shell::Cap { mouth, bore, bore_depth, bore_slope, .. } => {
            let a = end - 0.6 * solid.rounding * MM;
            notes.push((
                Point::new(a, 0.5 * TipShape::at(&shape.back, a)),
                End::Dot,
                format!("cap, {}", material("cap")),
            ));
            let at = mouth + 0.85 * bore_depth.min(bore / bore_slope);
            let low = -(bore - bore_slope * (at - mouth)) * MM;
            notes.push((Point::new(at * MM, low), End::Arrow, "wooden cone in the bore".into()));
        }
        Shell::Bare | Shell::Eased { .. } => {}
    }
    // The bare side shows no more of a slot than its mouth.
    let mouth_only = !shape.even && runs.iter().flatten().all(|c| c.theta * nock.crest() <= 0.0);
    if let (Some(run), true) = (runs.first(), mouth_only) {
        let c = run[run.len() / 2];
        notes.push((
            seen(0.5 * (c.low + c.high), c.theta),
            End::Arrow,
            "the slot's mouth: it runs out over the back".into(),
        ));
    } else if let Some(run) = runs.first() {
        let open = nock.groove.as_ref().is_some_and(|groove| groove.wish.open);
        let c = run[run.len() * 45 / 100];
        let (at, name) = match (&nock.groove, open) {
            (Some(_), true) => (0.5 * (c.low + c.high), "the pin: lower than the limb on back and sides"),
            (Some(_), false) => (c.high, "the floor opens to here (fan)"),
            (None, _) => (c.high, "side groove"),
        };
        notes.push((seen(at, c.theta), End::Arrow, name.into()));
        let c = run[run.len() - 1];
        let name = if open { "the shoulder runs out" } else { "the groove runs out" };
        notes.push((seen(if open { c.low } else { c.high }, c.theta), End::Arrow, name.into()));
    }
    notes.sort_by(|p, q| q.0.y.total_cmp(&p.0.y));
    // The lettering of the string at full draw stands below the belly; notes keep above it.
    let lowest = shape.bottom() - 1.0;
    let rows = notes.len().saturating_sub(1) as f64;
    let first = (shape.top() - 1.5).max(lowest + rows * 5.2);
    for (row, (target, kind, words)) in notes.into_iter().enumerate() {
        leader(t, target, Point::new(end + 7.0, first - row as f64 * 5.2), kind, &words);
    }
    let wall = runs.first().and_then(|run| run.get(run.len() * 4 / 10).copied());
    if let (Some(c), true) = (wall, nock.groove.is_some() && !mouth_only) {
        let target = seen(c.low, c.theta);
        // Up between two of the stations' letters, into the free strip above them.
        let free = (0..40)
            .map(|k| target.x - 12.0 + 0.5 * f64::from(k))
            .max_by(|p, q| clearance(shape, *p, target).total_cmp(&clearance(shape, *q, target)));
        let knee = Point::new(free.unwrap_or(target.x), shape.top() + KNEE);
        leader(t, target, knee, End::Arrow, "wall: the string rolls along it");
    }
}

/// How high over the back's highest place the leader to the wall has its knee, and letters their middle, mm.
const KNEE: f64 = 11.6;
const LETTER: f64 = 6.2;

/// How well a leader from `target` to a knee at `x` mm keeps off the stations' letters, and off slanting far.
fn clearance(shape: &TipShape, x: f64, target: Point) -> f64 {
    let up = |y: f64| shape.top() + y - target.y;
    let passes = target.x + (x - target.x) * up(LETTER) / up(KNEE);
    let nearest = shape.stations.iter().map(|(_, a)| (a * MM - passes).abs()).fold(f64::INFINITY, f64::min);
    nearest.min(4.0) - 0.05 * (x - target.x).abs()
}
