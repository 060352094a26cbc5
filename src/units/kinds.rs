//! Kinds of measures, and the units makers write them in.

use super::{GRAVITY, INCH, POUND, PSI};

/// What kind of measure is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// m.
    Length,
    /// rad.
    Angle,
    /// N.
    Force,
    /// Pa.
    Stress,
    /// kg/m3.
    Density,
    /// A plain number; `15 %` is 0.15.
    Number,
}

impl Kind {
    /// `a length`, `an angle` ...
    pub fn name(self) -> &'static str {
        match self {
            Kind::Length => "a length",
            Kind::Angle => "an angle",
            Kind::Force => "a pull",
            Kind::Stress => "a stress or modulus",
            Kind::Density => "a density",
            Kind::Number => "a plain number",
        }
    }

    /// Ways to write one, for a maker who asks.
    pub fn examples(self) -> &'static str {
        match self {
            Kind::Length => "`6 1/4 in`, `6.25 in` or `158.8 mm`",
            Kind::Angle => "`22 deg` or `22°`",
            Kind::Force => "`40 lb`, `178 N` or `18 kg`",
            Kind::Stress => "`11 GPa`, `1.6 Mpsi` or `12000 psi`",
            Kind::Density => "`600 kg/m3` or `0.6 g/cm3`",
            Kind::Number => "`0.15` or `15 %`",
        }
    }
}

/// One unit.
pub(super) struct Unit {
    /// What it measures.
    pub kind: Kind,
    /// Spellings; the first is the one that is shown.
    pub names: &'static [&'static str],
    /// SI value of one.
    pub size: f64,
}

const fn unit(kind: Kind, size: f64, names: &'static [&'static str]) -> Unit {
    Unit { kind, names, size }
}

/// All units that are read.
pub(super) const UNITS: &[Unit] = &[
    unit(Kind::Length, INCH, &["in", "inch", "inches", "in.", "\"", "″", "”", "''", "′′", "’’"]),
    unit(Kind::Length, 12.0 * INCH, &["ft", "foot", "feet", "ft.", "'", "′", "’"]),
    unit(Kind::Length, 1e-3, &["mm", "millimetre", "millimetres", "millimeter", "millimeters"]),
    unit(Kind::Length, 1e-2, &["cm", "centimetre", "centimetres", "centimeter", "centimeters"]),
    unit(Kind::Length, 1.0, &["m", "metre", "metres", "meter", "meters"]),
    unit(Kind::Angle, std::f64::consts::PI / 180.0, &["deg", "°", "º", "degree", "degrees"]),
    unit(Kind::Angle, 1.0, &["rad", "radian", "radians"]),
    unit(Kind::Force, POUND, &["lb", "lbs", "lb.", "lbs.", "lbf", "#", "pound", "pounds"]),
    unit(Kind::Force, 1.0, &["N", "newton", "newtons"]),
    unit(Kind::Force, 1000.0, &["kN"]),
    unit(Kind::Force, GRAVITY, &["kg", "kgf", "kilo", "kilos", "kilogram", "kilograms"]),
    unit(Kind::Stress, 1e9, &["GPa"]),
    unit(Kind::Stress, 1e6, &["MPa", "N/mm2", "N/mm²"]),
    unit(Kind::Stress, 1e3, &["kPa"]),
    unit(Kind::Stress, 1.0, &["Pa"]),
    unit(Kind::Stress, PSI, &["psi"]),
    unit(Kind::Stress, 1e3 * PSI, &["ksi"]),
    unit(Kind::Stress, 1e6 * PSI, &["Mpsi"]),
    unit(Kind::Density, 1.0, &["kg/m3", "kg/m³"]),
    unit(Kind::Density, 1000.0, &["g/cm3", "g/cm³", "g/cc"]),
    unit(Kind::Density, 0.453_592_37 / (0.3048 * 0.3048 * 0.3048), &["lb/ft3", "lb/ft³"]),
    unit(Kind::Number, 0.01, &["%", "percent"]),
];

/// The unit of that spelling.
pub(super) fn find_unit(written: &str) -> Option<&'static Unit> {
    let exact = UNITS.iter().find(|u| u.names.contains(&written));
    // Capitals are forgiven, except where they change the size (MPa, mPa).
    exact.or_else(|| {
        let lower = written.to_lowercase();
        UNITS
            .iter()
            .filter(|u| u.kind != Kind::Stress)
            .find(|u| u.names.iter().any(|name| name.to_lowercase() == lower))
    })
}
