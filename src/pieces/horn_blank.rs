//! The horn: blank, bore with the grind of its bit, and the cut-out gauge for the wooden cone.

use kurbo::{Affine, BezPath, Point, Rect, Shape as _};

use super::Subject;
use super::common::{Beside, captioned, height, measure, name_inside, path, ring, to_tip};
use super::overlay_blank::capital;
use super::shape::{MM, TipShape};
use crate::design::Units;
use crate::nock::horn::toward;
use crate::sheets::Piece;
use crate::template::dimension::{Place, dimension};
use crate::template::hatch::hatch;
use crate::template::waste::{Waste, waste_ticks};
use crate::template::{Anchor, Role, Template, size};
use crate::tip::Shell;
use crate::tip::solid::SHALLOW;
use crate::units::{INCH, angle_text, number_text};

/// Left on round the blank, to be turned or filed off, mm. Common practice, no source.
const SPARE: f64 = 1.5;

/// The bore: half its diameter at the mouth, at its bottom, and how deep it is, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Bore {
    pub mouth: f64,
    pub bottom: f64,
    pub deep: f64,
}

impl Bore {
    /// The cone that leaves a gap (mm, square to its faces) all round in the bore.
    fn less(&self, gap: f64) -> Bore {
        // A face at the angle v to the middle moves in by gap / cos v; the end by the gap itself, which shortens the cone.
        let slope = (self.mouth - self.bottom) / self.deep;
        let mouth = self.mouth - gap * slope.hypot(1.0);
        let deep = self.deep - gap;
        Bore { mouth, bottom: (mouth - slope * deep).max(0.0), deep }
    }
}

/// Draws the blank, the bit and the gauge.
pub(super) fn draw(subject: &Subject) -> Vec<Piece> {
    let nock = subject.worked.nocks.get(subject.side);
    let Shell::Cap { bore, bore_depth, bore_slope, .. } = nock.solid.shell else { return Vec::new() };
    let deep = bore_depth.min(bore / bore_slope);
    let bore = Bore { mouth: bore * MM, bottom: (bore - bore_slope * deep) * MM, deep: deep * MM };
    let cone = bore.less(subject.worked.design.nocks.get(subject.side).number("glue_gap") * MM);
    vec![
        blank(subject, &bore),
        Piece::new(bit(subject, &bore)).with_next(),
        Piece::new(cone_gauge(subject, &bore, &cone)),
    ]
}

/// The blank cut along its middle, with the finished cap and the bore in it.
fn blank(subject: &Subject, bore: &Bore) -> Piece {
    let nock = subject.worked.nocks.get(subject.side);
    let units = subject.worked.design.units;
    let (left, right) = (nock.from * MM, nock.solid.end * MM);
    let inside = |p: &&Point| p.x >= left - 1e-9;
    let back: Vec<Point> = subject.shape.back.iter().filter(inside).copied().collect();
    let belly: Vec<Point> = subject.shape.belly.iter().filter(inside).copied().collect();
    // As far as anything of the cap stands off its middle, corners of the limb at the mouth with it, before grooves are cut.
    let places = (0..=60).flat_map(|i| (0..120).map(move |k| (f64::from(i) / 60.0, f64::from(k) / 120.0)));
    let reach = places.map(|(along, round)| {
        let a = nock.from + (nock.solid.end - nock.from) * along;
        nock.solid.uncut::<f64>(a, std::f64::consts::TAU * round) * MM
    });
    let radius = reach.fold(0.0, f64::max) + SPARE;
    let mut t = Template::new("");
    let outline = Rect::new(left, -radius, right + SPARE, radius).to_path(0.1);
    waste_ticks(&mut t, &outline, Waste::Outside);
    t.line(Role::Cut, outline);
    let mut finished = vec![Point::new(left, TipShape::at(&subject.shape.back, left))];
    finished.extend(&back);
    finished.extend(belly.iter().rev());
    finished.push(Point::new(left, TipShape::at(&subject.shape.belly, left)));
    let hole = [
        Point::new(left, bore.mouth),
        Point::new(left + bore.deep, bore.bottom),
        Point::new(left + bore.deep, -bore.bottom),
        Point::new(left, -bore.mouth),
    ];
    // The horn in between: outside, then back along the bore.
    let mut horn = finished.clone();
    horn.extend(hole.iter().rev());
    hatch(&mut t, &ring(&horn), 1.4, 135.0, &[]);
    t.line(Role::Mark, path(&finished));
    t.line(Role::Outline, path(&hole));
    // The bore's own length of it stays free for a name: nothing else in the blank does.
    t.segment(Role::Centre, (left - 3.0, 0.0), (left + 0.8, 0.0));
    t.segment(Role::Centre, (left + bore.deep - 0.8, 0.0), (right + SPARE + 3.0, 0.0));
    name_inside(subject, &mut t, &ring(&hole), Point::new(left + 0.4 * bore.deep, 0.0), "horn");
    let end = right + SPARE;
    dimension(
        &mut t,
        Point::new(left, radius),
        Point::new(end, radius),
        Place::Level(radius + 7.0),
        &measure(end - left, units),
    );
    dimension(
        &mut t,
        Point::new(left, -radius),
        Point::new(left + bore.deep, -radius),
        Place::Level(-radius - 7.0),
        &measure(bore.deep, units),
    );
    height(
        &mut t,
        Point::new(end, -radius),
        Point::new(end, radius),
        end + 7.0,
        Beside::Right,
        &measure(2.0 * radius, units),
    );
    let mouth = measure(2.0 * bore.mouth, units);
    height(&mut t, Point::new(left, -bore.mouth), Point::new(left, bore.mouth), left - 7.0, Beside::Left, &mouth);
    to_tip(&mut t, Point::new(end - 9.0, -radius - 13.0), false);
    t.words((left + 1.6, radius + 1.6), size::SMALL, Anchor::Start, 0.0, true, "back");
    t.words((end - 1.6, -radius - 4.0), size::SMALL, Anchor::End, 0.0, true, "belly");
    // Where the string sits.
    t.segment(Role::Mark, (0.0, radius), (0.0, radius + 1.6));
    t.words((0.0, radius + 2.4), size::SMALL, Anchor::Middle, 0.0, true, "seat");
    let material = nock.parts.iter().find(|p| p.name == "cap").map_or("", |p| p.material.as_str());
    let words = format!(
        "{}, cut along its middle. The rectangle is the least blank, {} round; the bore is {} at the mouth. Bore first, shape after. {}Lay a \
         horn's own curve in the bow's plane, its point toward the back, and see that the whole rectangle lies in its solid end (common \
         practice, no source).",
        capital(material),
        measure(2.0 * radius, units),
        measure(2.0 * bore.mouth, units),
        wall_words(subject),
    );
    Piece::new(captioned(subject, t, "horn blank", &words))
}

/// How much horn the groove leaves over the bore, where it leaves least.
fn wall_words(subject: &Subject) -> String {
    let nock = subject.worked.nocks.get(subject.side);
    nock.solid.thinnest_over_bore(SHALLOW).map_or(String::new(), |[wall, at, theta]| {
        let units = subject.worked.design.units;
        format!(
            "Under the groove {} of horn stay over the bore, least {} from the mouth, toward the {}. ",
            measure(wall * MM, units),
            measure((at - nock.from) * MM, units),
            toward(theta)
        )
    })
}

/// The profile of the cone, mouth at `x = 0`, closed.
pub(super) fn profile(bore: &Bore) -> [Point; 4] {
    [
        Point::new(0.0, -bore.mouth),
        Point::new(bore.deep, -bore.bottom),
        Point::new(bore.deep, bore.bottom),
        Point::new(0.0, bore.mouth),
    ]
}

/// A flat bit ground to bore the cone in one go.
fn bit(subject: &Subject, bore: &Bore) -> Template {
    let units = subject.worked.design.units;
    let mut t = Template::new("");
    let outline = ring(&profile(bore));
    waste_ticks(&mut t, &outline, Waste::Outside);
    t.line(Role::Cut, outline.clone());
    t.segment(Role::Centre, (-3.0, 0.0), (bore.deep + 3.0, 0.0));
    let full = 2.0 * ((bore.mouth - bore.bottom) / bore.deep).atan();
    let (mouth, bottom) = (measure(2.0 * bore.mouth, units), measure(2.0 * bore.bottom, units));
    let deep = bore.deep;
    height(&mut t, Point::new(0.0, -bore.mouth), Point::new(0.0, bore.mouth), -8.0, Beside::Left, &mouth);
    height(&mut t, Point::new(deep, -bore.bottom), Point::new(deep, bore.bottom), deep + 8.0, Beside::Right, &bottom);
    dimension(
        &mut t,
        Point::new(0.0, bore.mouth),
        Point::new(bore.deep, bore.bottom),
        Place::Level(bore.mouth + 7.0),
        &measure(bore.deep, units),
    );
    let words = format!(
        "Glue it on a flat bit and grind to the line, each side to half the cone's angle of {}; keep the centre line in the middle. Back the cutting edges off.",
        angle_text(full)
    );
    name_inside(subject, &mut t, &outline, Point::new(0.0, 0.5 * bore.mouth), "bit");
    captioned(subject, t, "grind of the flat bit", &words)
}

/// A card with the cone cut out of it: the wooden cone must fill it.
fn cone_gauge(subject: &Subject, bore: &Bore, cone: &Bore) -> Template {
    let mut t = Template::new("");
    let margin = 8.0;
    let (wide, high) = (bore.deep + margin, 2.0 * bore.mouth + 2.0 * margin);
    // The cone enters from the left edge.
    let mut outline = BezPath::new();
    let by = Affine::translate((0.0, high / 2.0));
    let [a, b, c, d] = profile(cone).map(|p| by * p);
    for (place, p) in
        [Point::new(0.0, 0.0), Point::new(wide, 0.0), Point::new(wide, high), Point::new(0.0, high), d, c, b, a]
            .iter()
            .enumerate()
    {
        if place == 0 { outline.move_to(*p) } else { outline.line_to(*p) }
    }
    outline.close_path();
    waste_ticks(&mut t, &outline, Waste::Outside);
    t.line(Role::Cut, outline.clone());
    t.segment(Role::Centre, (-3.0, high / 2.0), (wide + 4.0, high / 2.0));
    t.words((1.6, 2.4), size::SMALL, Anchor::Start, 0.0, false, "← mouth");
    name_inside(subject, &mut t, &outline, Point::new(0.6 * wide, high - 4.0), "cone");
    let gap = subject.worked.design.nocks.get(subject.side).number("glue_gap") * MM;
    let room = if gap > 0.0 {
        format!("It is {} smaller all round than the bore: the glue's room.", fine(gap, subject.worked.design.units))
    } else {
        "It has the bore's own size.".to_owned()
    };
    let words = format!(
        "Cut the hollow out of card or tin; its open edge is the mouth of the cap. The wooden cone must fill it without light on both \
         sides, its shoulder at the card's edge; turn the work and try again. {room}"
    );
    captioned(subject, t, "gauge for the wooden cone", &words)
}

/// A length of tenths of a millimetre, which no fraction of an inch tells.
fn fine(mm: f64, units: Units) -> String {
    match units {
        Units::Inch => format!("{} in ({} mm)", number_text(mm * 1e-3 / INCH, 3), number_text(mm, 2)),
        Units::Millimetre => format!("{} mm", number_text(mm, 2)),
    }
}
