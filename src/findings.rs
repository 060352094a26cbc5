//! Every number the program stands behind, with its unit and where it is from.
//!
//! Findings are plain figures; checks compare one figure with what is allowed.
//! Reports only print them and compute nothing.

use crate::design::Side;

/// What kind of quantity a number is; all are held in SI units.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quantity {
    /// m, shown as mm or inches.
    Length,
    /// rad, shown in degrees.
    Angle,
    /// N, shown in pounds or newtons.
    Force,
    /// Pa, shown in MPa.
    Stress,
    /// Pa, shown in GPa.
    Modulus,
    /// N m.
    Moment,
    /// J.
    Energy,
    /// kg, shown in grams.
    Mass,
    /// N/m, shown in N/mm.
    LineLoad,
    /// A plain ratio or factor.
    Ratio,
    /// A whole number of things.
    Count,
}

/// One figure.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// Stable name for programs, in snake case.
    pub id: &'static str,
    /// The limb it belongs to, if one.
    pub side: Option<Side>,
    /// What it is, in a maker's words.
    pub label: String,
    /// SI value.
    pub value: f64,
    /// Kind of quantity.
    pub quantity: Quantity,
    /// How it was got, and how sure it is. May be empty where the label says it.
    pub note: String,
    /// How it came out, where it is what a check measured.
    pub verdict: Option<Verdict>,
}

/// How a check came out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// Within what is allowed.
    Holds,
    /// Within, but near the limit.
    Close,
    /// Outside a limit past which something wears, use by use, and nothing breaks.
    Wears,
    /// Outside.
    Fails,
}

impl Verdict {
    /// The word in reports and JSON.
    pub fn name(self) -> &'static str {
        match self {
            Verdict::Holds => "holds",
            Verdict::Close => "close",
            Verdict::Wears => "wears",
            Verdict::Fails => "fails",
        }
    }

    /// The word where it stands as a mark of its own.
    pub fn mark(self) -> &'static str {
        if self == Verdict::Fails { "FAILS" } else { self.name() }
    }

    /// How many came out which way, in words.
    pub fn tally(verdicts: &[Verdict]) -> String {
        let count = |verdict: Verdict| verdicts.iter().filter(|v| **v == verdict).count();
        let [holds, close, wears, fails] = [Verdict::Holds, Verdict::Close, Verdict::Wears, Verdict::Fails].map(count);
        let wear = if wears == 0 { String::new() } else { format!(", {wears} past a limit of wear") };
        format!("{holds} checks hold, {close} close{wear}, {fails} fail")
    }
}

/// Which way the limit cuts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Bound {
    /// The measured value must not be below the allowed one.
    AtLeast,
    /// The measured value must not be above the allowed one.
    AtMost,
}

/// One check: measured against allowed, with the reason and its source.
#[derive(Debug, Clone, PartialEq)]
pub struct Check {
    /// Stable name for programs, in snake case.
    pub id: &'static str,
    /// The limb it belongs to, if one.
    pub side: Option<Side>,
    /// What is checked, in a maker's words.
    pub title: String,
    /// Where or when the measured value was found, to follow it in a sentence; may be empty.
    pub place: String,
    /// SI value found.
    pub measured: f64,
    /// SI value allowed.
    pub allowed: f64,
    /// Kind of both.
    pub quantity: Quantity,
    /// Which way the limit cuts.
    pub bound: Bound,
    /// How it came out.
    pub verdict: Verdict,
    /// Why the limit is there.
    pub why: String,
    /// Where the limit is from; `common practice, no source` where that is so.
    pub source: String,
    /// What would help when it fails or is close.
    pub cure: String,
}

impl Check {
    /// How many times over the check holds: allowed over measured, or measured over allowed where more is better; below 1 it fails.
    pub fn margin(&self) -> f64 {
        match self.bound {
            Bound::AtMost => self.allowed / self.measured,
            Bound::AtLeast => self.measured / self.allowed,
        }
    }

    /// Judges `measured` against `allowed`; within `near` (a fraction of the allowed value) of the limit it is close.
    pub fn judge(measured: f64, allowed: f64, bound: Bound, near: f64) -> Verdict {
        let room = match bound {
            Bound::AtLeast => measured - allowed,
            Bound::AtMost => allowed - measured,
        };
        // A figure that is not a number is never within bounds.
        if room >= near * allowed.abs() {
            Verdict::Holds
        } else if room >= 0.0 {
            Verdict::Close
        } else {
            Verdict::Fails
        }
    }
}
