//! Does the string press into what it lies on?

use crate::design::{Side, Sourced};
use crate::findings::{Bound, Check, Quantity, Verdict};
use crate::strength::grain::hankinson;
use crate::string::path::Figures;
use crate::units::{angle_text, plain_length_text};
use crate::wood::nock_strength;
use crate::worked::Worked;
use crate::worked::soundness::{how_sure, shot_pull};

/// Bearing of the string in the draw and in the shot, load over length and diameter, where the material is nearest to giving way.
pub fn check(worked: &Worked) -> Vec<Check> {
    let mut checks = Vec::new();
    for shot in [false, true] {
        for side in Side::BOTH {
            let hanging = worked.loops().get(side);
            let stands = Stands::of(worked, side);
            let own = hanging.draw.steps.iter().zip(&hanging.draw.figures);
            let own = own.skip(hanging.first_own).take(hanging.last_own + 1 - hanging.first_own);
            let worst = if shot {
                own.take(1)
                    .filter_map(|(step, f)| Some((stands.worst(worked, side, f, shot_pull(worked) / step.pull)?, step)))
                    .next()
            } else {
                own.filter_map(|(step, f)| Some((stands.worst(worked, side, f, 1.0)?, step)))
                    .max_by(|a, b| a.0.ratio().total_cmp(&b.0.ratio()))
            };
            let Some((pressed, step)) = worst else { continue };
            let draw = plain_length_text(step.draw, worked.design.units);
            let grain = pressed.to_grain.map(|angle| format!(", at {} to the grain", angle_text(angle)));
            let place = format!("{}{}", pressed.place.words(), grain.unwrap_or_default());
            let place = if shot { place } else { format!("at a draw of {draw}, {place}") };
            let (measured, allowed) = (pressed.pressure, pressed.allowed);
            checks.push(Check {
                id: if shot { "string_bearing_shot" } else { "string_bearing" },
                side: Some(side),
                title: if shot {
                    "bearing of the string on the tip in the shot".into()
                } else {
                    "bearing of the string on the tip in the draw".into()
                },
                place,
                measured,
                allowed,
                quantity: Quantity::Stress,
                bound: Bound::AtMost,
                verdict: match Check::judge(measured, allowed, Bound::AtMost, 0.1) {
                    // A dent that grows from shot to shot is wear, which the maker sees coming; it breaks nothing at once.
                    Verdict::Fails if shot => Verdict::Wears,
                    judged => judged,
                },
                why: if shot {
                    format!(
                        "with {:.1} times the draw weight (shock_factor) at brace; past the limit the string beds itself deeper, shot by \
                         shot, and cuts its own edge: wear, which breaks nothing at once, so it never fails; look at the place after \
                         the first shots",
                        worked.design.strength.shock_factor
                    )
                } else {
                    "past the limit the string beds itself deeper with each draw, and the groove is no longer the one that was filed"
                        .into()
                },
                source: format!("simulated load over string diameter; {}", pressed.source),
                cure: cure_at(pressed.place, pressed.on_wood),
            });
        }
    }
    checks
}

/// Where round the tip the string lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Round {
    Back,
    Side,
    BellyEdge,
}

impl Round {
    /// By the angle from the middle of the back, rad.
    pub fn at(theta: f64) -> Self {
        match theta.abs().to_degrees() {
            t if t < 60.0 => Round::Back,
            t if t < 115.0 => Round::Side,
            _ => Round::BellyEdge,
        }
    }

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Round::Back => "on the back",
            Round::Side => "on the side",
            Round::BellyEdge => "on the belly's edge",
        }
    }
}

/// What lessens the load there.
fn cure_at(place: Round, on_wood: bool) -> String {
    match (place, on_wood) {
        (Round::BellyEdge, _) => BELLY_CURE.into(),
        (_, true) => {
            "an overlay or cap of horn, a larger wall_radius and rounder back edges, or a thicker string".into()
        }
        (_, false) => "a larger wall_radius and rounder back edges, or a thicker string".into(),
    }
}

/// What helps where the string is bent or presses on the belly's edge.
pub(super) const BELLY_CURE: &str = "the belly's edges rounded off where the string goes over them: section = \"rounded rectangle\" with a larger \
corner; or a thicker string";

/// What one material stands, Pa.
struct Material {
    /// Pressed across its grain, or any way where it has none.
    across: Sourced,
    /// Pressed along its grain.
    along: Option<Sourced>,
}

impl Material {
    /// What it stands pressed at `angle` (rad) to the limb, whose way the grain runs.
    fn at(&self, angle: f64) -> f64 {
        self.along.as_ref().map_or(self.across.value, |along| hankinson(along.value, self.across.value, angle))
    }

    fn source(&self) -> String {
        match &self.along {
            None => how_sure(&self.across),
            Some(along) => format!(
                "across the grain (stress at the proportional limit) {}, along it (crushing) {}; between them Hankinson's formula \
                 (from memory of the Wood Handbook, ch. 5); measured under plates, for want of figures for strings",
                how_sure(&self.across),
                how_sure(along)
            ),
        }
    }
}

/// What the parts of one nock stand: overlay or cap, a strip on the belly, and the limb's wood.
struct Stands {
    put_on: Option<Material>,
    strip: Option<Material>,
    wood: Option<Material>,
}

/// A place where the string presses.
struct Pressed {
    pressure: f64,
    allowed: f64,
    to_grain: Option<f64>,
    place: Round,
    on_wood: bool,
    source: String,
}

impl Pressed {
    fn ratio(&self) -> f64 {
        self.pressure / self.allowed
    }
}

impl Stands {
    fn of(worked: &Worked, side: Side) -> Self {
        let of = |strip: bool| {
            let mut parts = worked.nocks.get(side).parts.iter().filter(|p| (p.name == "strip") == strip);
            let strength = parts.find_map(|p| nock_strength(&p.material))?;
            Some(Material { across: strength.bearing, along: strength.crushing })
        };
        let wood = &worked.design.limbs.get(side).wood;
        Stands {
            put_on: of(false),
            strip: of(true),
            wood: wood.bearing.clone().map(|across| Material { across, along: wood.crushing.clone() }),
        }
    }

    /// The place where the loop, pulled `more` times as hard, is nearest to pressing itself in; none where nothing is known of what it
    /// lies on.
    fn worst(&self, worked: &Worked, side: Side, figures: &Figures, more: f64) -> Option<Pressed> {
        let solid = &worked.nocks.get(side).solid;
        let mut worst: Option<(f64, &Material, f64, f64, f64)> = None;
        for (contact, angle) in pressing(figures) {
            let [a, theta] = [contact.at[0], contact.theta];
            let surface: f64 = solid.radius(a, theta);
            // A strip lies on the belly, overlay and cap's seat on the back.
            let on_strip = theta.abs() > std::f64::consts::FRAC_PI_2 && solid.strip.is_some_and(|s| s.height(-a) > 0.0);
            let material = match (solid.wood(a, theta) > surface - 1e-6, on_strip) {
                (true, _) => &self.wood,
                (false, true) => &self.strip,
                (false, false) => &self.put_on,
            };
            let Some(material) = material else { continue };
            let pressure = more * contact.load / worked.design.string.diameter;
            let ratio = pressure / material.at(angle);
            if worst.as_ref().is_none_or(|w| ratio > w.0) {
                worst = Some((ratio, material, pressure, angle, theta));
            }
        }
        worst.map(|(_, material, pressure, angle, theta)| Pressed {
            place: Round::at(theta),
            on_wood: self.wood.as_ref().is_some_and(|wood| std::ptr::eq(wood, material)),
            pressure,
            allowed: material.at(angle),
            to_grain: material.along.is_some().then_some(angle),
            source: material.source(),
        })
    }
}

/// Contacts that carry more than a thousandth of a leg's pull, with the angle of their load to the limb, rad.
fn pressing(figures: &Figures) -> impl Iterator<Item = (&crate::string::path::Contact, f64)> {
    let mut contacts = figures.contacts.iter().peekable();
    figures.line.windows(3).filter_map(move |w| {
        let contact = *contacts.peek().filter(|c| c.at == w[1])?;
        contacts.next();
        let way = |p: [f64; 3], q: [f64; 3]| {
            let d: [f64; 3] = std::array::from_fn(|i| q[i] - p[i]);
            let l = d.iter().map(|v| v * v).sum::<f64>().sqrt().max(1e-12);
            d.map(|v| v / l)
        };
        let (to, on) = (way(w[0], w[1]), way(w[1], w[2]));
        let bend: [f64; 3] = std::array::from_fn(|i| to[i] - on[i]);
        let across = bend[1].hypot(bend[2]);
        (contact.curvature * contact.length > 1e-3).then(|| (contact, across.atan2(bend[0].abs())))
    })
}
