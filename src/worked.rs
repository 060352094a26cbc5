//! Everything worked out about one design, step by step along the flow.

pub mod belly;
pub mod figures;
pub mod least_taper;
mod nock_findings;
pub mod soundness;

use crate::bow::bracing::LIMB_STEPS;
use crate::bow::draw_curve::{Cycle, DRAW_STEPS, cycle};
use crate::bow::limb::Profile;
use crate::design::{Both, Design, Limb, NockChoice, Side};
use crate::fault::{Fault, Faults};
use crate::findings::Finding;
use crate::nock::{self, Nock, NockStyle};
use crate::string::hanging::{Hanging, hang};
use crate::string::path::Settings;
use crate::string::sweep::{Swing, swings};
use crate::tip::LimbEnd;
use least_taper::LeastTaper;
use soundness::{Sideways, Variant};
use std::sync::OnceLock;

/// What the statics say of a design: needs no nock that can be made, only where the string would sit.
#[derive(Debug, Clone)]
pub struct Statics {
    /// The limbs' ends that nocks are built on.
    pub ends: Both<LimbEnd>,
    /// From each limb's centreline to the string's centreline at its seat, plus toward the back, m.
    pub seat_offsets: Both<f64>,
    /// From brace to full draw.
    pub cycle: Cycle,
    /// The string's swing at each tip over all that the nocks must serve.
    pub swings: Both<Swing>,
}

impl Statics {
    /// Braces and draws the design's bow in `steps` steps.
    ///
    /// # Errors
    /// The fault that keeps the bow from being braced or drawn.
    pub fn of(design: &Design, steps: usize) -> Result<Self, Fault> {
        let ends = design.limbs.map(limb_end);
        let seat_offsets = seats(design, &ends)?;
        let cycle = cycle(design, seat_offsets, LIMB_STEPS, steps)?;
        let swings = swings(design, &cycle, seat_offsets, LIMB_STEPS)?;
        Ok(Statics { ends, seat_offsets, cycle, swings })
    }
}

/// From each limb's centreline to the string's centreline at its seat, plus toward the back, m.
///
/// # Errors
/// A fault about `nock.style` where no style has that name.
pub fn seat_offsets(design: &Design) -> Result<Both<f64>, Fault> {
    seats(design, &design.limbs.map(limb_end))
}

fn seats(design: &Design, ends: &Both<LimbEnd>) -> Result<Both<f64>, Fault> {
    Both::try_build(|side| {
        let choice = design.nocks.get(side);
        Ok(style_of(choice)?.seat_offset(ends.get(side), choice, &design.string))
    })
}

/// A limb's end in the tip frame.
fn limb_end(limb: &Limb) -> LimbEnd {
    let profile = Profile::of(limb);
    LimbEnd::new(limb.section, |a| profile.width(limb.length + a), |a| profile.thickness(limb.length + a))
}

/// The style that a nock was chosen by.
fn style_of(choice: &NockChoice) -> Result<&'static dyn NockStyle, Fault> {
    nock::style(choice.style).ok_or_else(|| {
        Fault::at(
            "nock.style",
            format!("no nock style is called {}", choice.style),
            "styles are those of `nockwright styles`",
        )
    })
}

/// Makes both nocks.
///
/// # Errors
/// All that keeps them from being made.
pub fn nocks(design: &Design, statics: &Statics) -> Result<Both<Nock>, Faults> {
    let made = Both::build_together(|side| {
        let choice = design.nocks.get(side);
        let at_limb = |fault: Fault| Fault { key: format!("{}.{}", side.name(), fault.key), ..fault };
        style_of(choice)
            .map_err(|fault| vec![fault])
            .and_then(|s| s.nock(statics.ends.get(side), choice, &design.string, statics.swings.get(side)))
            .map_err(|faults| faults.into_iter().map(at_limb).collect::<Faults>())
    });
    match made {
        Both { upper: Ok(upper), lower: Ok(lower) } => Ok(Both { upper, lower }),
        Both { upper, lower } => {
            // Limbs that are alike have the same faults; once is enough.
            let mut faults = upper.err().unwrap_or_default();
            for fault in lower.err().unwrap_or_default() {
                if !faults.iter().any(|f| f.what == fault.what) {
                    faults.push(fault);
                }
            }
            Err(faults)
        }
    }
}

/// Follows the loop on both nocks through the draw and back; a limb to which the string is tied has none.
pub fn loops(design: &Design, statics: &Statics, nocks: &Both<Nock>) -> Both<Hanging> {
    Both::build_together(|side| {
        if design.is_tied(side) {
            return Hanging::tied();
        }
        let swing = statics.swings.get(side);
        let nock = nocks.get(side);
        hang(nock, &design.string, &statics.cycle.states, side, swing, Settings::of(&nock.solid))
    })
}

/// A design worked through to its nocks. What takes longer is worked out when it is first asked for, and once.
#[derive(Debug, Clone)]
pub struct Worked {
    /// The design.
    pub design: Design,
    /// Its statics.
    pub statics: Statics,
    /// Its nocks.
    pub nocks: Both<Nock>,
    loops: OnceLock<Both<Hanging>>,
    sideways: OnceLock<Both<Sideways>>,
    least_taper: OnceLock<Both<LeastTaper>>,
    tip_variants: OnceLock<Result<Vec<Variant>, Fault>>,
}

impl Worked {
    /// Works a design through, as finely as reports need.
    ///
    /// # Errors
    /// Why the bow cannot be braced or drawn, or all that keeps its nocks from being made.
    pub fn of(design: &Design) -> Result<Self, Faults> {
        let statics = Statics::of(design, DRAW_STEPS).map_err(|fault| vec![fault])?;
        let nocks = nocks(design, &statics)?;
        Ok(Worked::with(design.clone(), statics, nocks))
    }

    /// A design whose statics and nocks are known.
    pub fn with(design: Design, statics: Statics, nocks: Both<Nock>) -> Self {
        Worked {
            design,
            statics,
            nocks,
            loops: OnceLock::new(),
            sideways: OnceLock::new(),
            least_taper: OnceLock::new(),
            tip_variants: OnceLock::new(),
        }
    }

    /// The loop on each nock, through the draw and back.
    pub fn loops(&self) -> &Both<Hanging> {
        self.loops.get_or_init(|| loops(&self.design, &self.statics, &self.nocks))
    }

    /// Sideways stability of both limbs.
    pub fn sideways(&self) -> &Both<Sideways> {
        self.sideways
            .get_or_init(|| Both::build_together(|side| soundness::sideways(&self.design, &self.statics, side)))
    }

    /// The least taper of both outer limbs.
    pub fn least_taper(&self) -> &Both<LeastTaper> {
        self.least_taper.get_or_init(|| {
            let floors = Both::build(|side| least_taper::floor(&self.design, self.nocks.get(side)));
            least_taper::least_tapers(&self.design, &self.statics, &floors)
        })
    }

    /// What narrower, wider, thinner and thicker tips would have, or why that is not to be told.
    pub fn tip_variants(&self) -> &Result<Vec<Variant>, Fault> {
        self.tip_variants.get_or_init(|| soundness::variants(&self.design, &self.statics))
    }

    /// What is known of one nock, for reports.
    pub fn findings(&self, side: Side) -> Vec<Finding> {
        nock_findings::of(self, side)
    }
}
