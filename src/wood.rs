//! Woods for limbs and materials for nocks: what is published about them, with how sure each figure is.

use crate::design::{Certainty, Sourced, Wood};
use crate::units::PSI;

/// One line of the wood table: strength along the grain at 12 % moisture, small clear specimens.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WoodRow {
    /// Its name in `wood = "..."`.
    pub name: &'static str,
    /// Weight against water at 12 % moisture, oven-dry weight over green or 12 % volume as the table has it.
    pub specific_gravity: Figure,
    /// Modulus of rupture, psi.
    pub rupture_psi: Figure,
    /// Modulus of elasticity in bending, millions of psi.
    pub modulus_mpsi: Figure,
    /// Compression across the grain at the proportional limit, psi.
    pub bearing_psi: Option<Figure>,
    /// Compression along the grain, greatest before it crushes, psi.
    pub crushing_psi: Option<Figure>,
    /// Shear along the grain, psi.
    pub shear_psi: Option<Figure>,
    /// Where the figures are from.
    pub source: &'static str,
    /// Anything more that a maker should know of them.
    pub note: &'static str,
}

/// One published figure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figure {
    /// As published, in the table's own unit.
    pub value: f64,
    /// Whether it was read in the table or is from memory.
    pub certainty: Certainty,
}

const fn read(value: f64) -> Figure {
    Figure { value, certainty: Certainty::Read }
}

const fn memory(value: f64) -> Figure {
    Figure { value, certainty: Certainty::Memory }
}

const HANDBOOK: &str = "USDA Forest Products Laboratory, Wood Handbook, FPL-GTR-282 (2021), ch. 5, table 5-3";
const CHUDNOFF: &str = "Chudnoff, Tropical Timbers of the World, USDA Agriculture Handbook 607 (1984)";

/// What holds for every modulus in the table.
pub const MODULUS_NOTE: &str = "Moduli are from bending a beam on two supports at span/depth 14, so they hold a little shear: \
the modulus free of shear is about 10 % higher (Wood Handbook, ch. 5).";

/// One line of [`WOODS`]: specific gravity, rupture, modulus, bearing, crushing, shear, each in the table's unit.
const fn row(
    name: &'static str,
    [specific_gravity, rupture_psi, modulus_mpsi]: [Figure; 3],
    [bearing_psi, crushing_psi, shear_psi]: [Option<Figure>; 3],
    source: &'static str,
    note: &'static str,
) -> WoodRow {
    WoodRow { name, specific_gravity, rupture_psi, modulus_mpsi, bearing_psi, crushing_psi, shear_psi, source, note }
}

#[rustfmt::skip]
// 3.14 million psi is ipe's published modulus, not a careless pi.
#[allow(clippy::approx_constant)]
const WOODS: &[WoodRow] = &[
    row("Pacific yew",         [read(0.67), read(15200.0), read(1.35)], [Some(read(2100.0)), Some(memory(8100.0)), Some(read(2230.0))], "USDA Forest Products Laboratory technical sheet", "figures of the sheet: 9.31 GPa, 105 MPa, 14.5 MPa, 15.4 MPa"),
    row("pignut hickory",      [read(0.75), memory(20100.0), read(2.26)], [Some(read(1980.0)), Some(read(9190.0)), Some(read(2150.0))], HANDBOOK, ""),
    row("shagbark hickory",    [read(0.72), read(20200.0), read(2.16)], [Some(read(1760.0)), Some(read(9210.0)), Some(read(2430.0))], HANDBOOK, ""),
    row("mockernut hickory",   [read(0.72), read(19200.0), read(2.22)], [Some(read(1730.0)), Some(read(8940.0)), Some(read(1740.0))], HANDBOOK, ""),
    row("shellbark hickory",   [read(0.69), read(18100.0), read(1.89)], [Some(read(1800.0)), Some(read(8000.0)), Some(read(2110.0))], HANDBOOK, ""),
    row("white ash",           [read(0.60), read(15000.0), read(1.74)], [Some(read(1160.0)), Some(read(7410.0)), Some(read(1910.0))], HANDBOOK, ""),
    row("black locust",        [read(0.69), read(19400.0), read(2.05)], [Some(read(1830.0)), Some(read(10180.0)), Some(read(2480.0))], HANDBOOK, ""),
    row("sugar maple",         [read(0.63), read(15800.0), read(1.83)], [Some(read(1470.0)), Some(read(7830.0)), Some(read(2330.0))], HANDBOOK, ""),
    row("white oak",           [read(0.68), read(15200.0), memory(1.78)], [Some(memory(1070.0)), Some(read(7440.0)), Some(memory(2000.0))], HANDBOOK, ""),
    row("American elm",        [read(0.50), memory(11800.0), read(1.34)], [Some(read(690.0)), Some(read(5520.0)), Some(read(1510.0))], HANDBOOK, ""),
    row("black walnut",        [memory(0.55), memory(14600.0), memory(1.68)], [Some(memory(1010.0)), Some(memory(7580.0)), Some(memory(1370.0))], HANDBOOK, ""),
    row("black cherry",        [read(0.50), memory(12300.0), read(1.49)], [Some(read(690.0)), Some(read(7110.0)), Some(read(1700.0))], HANDBOOK, ""),
    row("eastern redcedar",    [memory(0.47), memory(8800.0), memory(0.88)], [Some(memory(920.0)), Some(memory(6020.0)), None], HANDBOOK, "shear not listed here"),
    row("degame (lemonwood)",  [read(0.67), read(22300.0), read(2.27)], [None, Some(memory(9670.0)), Some(memory(2120.0))], CHUDNOFF, "basic density"),
    row("ipe",                 [read(0.92), read(25360.0), read(3.14)], [None, Some(memory(13010.0)), Some(memory(2060.0))], CHUDNOFF, "basic density 0.85 to 0.97"),
    row("purpleheart",         [read(0.67), read(19220.0), read(2.27)], [None, Some(memory(10320.0)), Some(read(2220.0))], CHUDNOFF, "basic density"),
];

/// All woods that can be named in a design file.
pub fn woods() -> &'static [WoodRow] {
    WOODS
}

/// The wood of that name; capitals do not matter, and `lemonwood` finds `degame (lemonwood)`.
pub fn find(name: &str) -> Option<&'static WoodRow> {
    let wanted = name.trim().to_lowercase();
    WOODS.iter().find(|row| spellings(row.name).any(|spelling| spelling == wanted))
}

/// Ways a wood's name may be written, in small letters.
pub(crate) fn spellings(name: &str) -> impl Iterator<Item = String> {
    let lower = name.to_lowercase();
    let parts: Vec<String> = match lower.split_once(" (") {
        Some((first, second)) => vec![first.to_owned(), second.trim_end_matches(')').to_owned()],
        None => Vec::new(),
    };
    std::iter::once(lower).chain(parts)
}

impl WoodRow {
    /// The row in SI units.
    pub fn wood(&self) -> Wood {
        let sourced = |figure: Figure, size: f64| Sourced {
            value: figure.value * size,
            source: self.source.to_owned(),
            certainty: figure.certainty,
        };
        Wood {
            name: self.name.to_owned(),
            modulus: sourced(self.modulus_mpsi, 1e6 * PSI),
            rupture: Some(sourced(self.rupture_psi, PSI)),
            shear: self.shear_psi.map(|f| sourced(f, PSI)),
            bearing: self.bearing_psi.map(|f| sourced(f, PSI)),
            crushing: self.crushing_psi.map(|f| sourced(f, PSI)),
            // 1000 kg/m3: water. The tables divide dry weight by volume; the few per cent of moisture are left out.
            density: Some(sourced(self.specific_gravity, 1000.0)),
        }
    }
}

/// One published figure of a nock material; ranges are real (moisture, direction) and stay ranges.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span {
    /// Lowest, GPa or MPa.
    pub low: f64,
    /// Highest; equal to `low` where one figure is published.
    pub high: f64,
    /// How it was loaded.
    pub how: &'static str,
}

const fn one(value: f64, how: &'static str) -> Span {
    Span { low: value, high: value, how }
}

/// A material a nock may be made of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NockMaterial {
    /// Its name.
    pub name: &'static str,
    /// Density, g/cm3; of horn and antler from memory.
    pub density: Option<Figure>,
    /// Moduli, GPa.
    pub modulus: &'static [Span],
    /// Strengths, MPa.
    pub strength: &'static [Span],
    /// Where the figures are from.
    pub source: &'static str,
}

const LI_2010: &str = "Li et al. 2010, J. Exp. Biol. 213:479";
const TRIM_2011: &str = "Trim et al. 2011";

#[rustfmt::skip]
const NOCK_MATERIALS: &[NockMaterial] = &[
    NockMaterial { name: "cattle horn, dry", density: Some(memory(1.3)), modulus: &[Span { low: 4.98, high: 6.26, how: "bending" }, one(2.3, "tension")], strength: &[Span { low: 116.0, high: 152.0, how: "bending yield" }, one(154.0, "tension")], source: LI_2010 },
    NockMaterial { name: "cattle horn, 19 % water", density: Some(memory(1.3)), modulus: &[one(0.85, "tension")], strength: &[one(40.0, "tension")], source: LI_2010 },
    NockMaterial { name: "water buffalo horn", density: Some(memory(1.3)), modulus: &[one(6.1, "")], strength: &[one(92.6, "")], source: "Surakamhang 2015" },
    NockMaterial { name: "bighorn ram horn, 10 % water", density: Some(memory(1.3)), modulus: &[one(4.0, "")], strength: &[one(62.0, "")], source: TRIM_2011 },
    NockMaterial { name: "bighorn ram horn, 35 % water", density: Some(memory(1.3)), modulus: &[one(0.6, "")], strength: &[one(10.0, "")], source: TRIM_2011 },
    NockMaterial { name: "antler, wet", density: Some(memory(1.9)), modulus: &[one(7.5, "")], strength: &[one(108.0, "tension")], source: "Rajaram & Ramanathan 1982, Calcif. Tissue Int. 34:301" },
    NockMaterial { name: "phenolic laminate, canvas", density: Some(read(1.35)), modulus: &[one(6.55, "")], strength: &[one(117.0, "bending"), one(79.0, "shear")], source: "manufacturer's data sheet: 0.95e6 psi, 17000 psi, 11500 psi" },
    NockMaterial { name: "phenolic laminate, linen", density: Some(read(1.34)), modulus: &[one(7.24, "")], strength: &[one(103.0, "bending"), one(81.0, "shear")], source: "manufacturer's data sheet: 1.05e6 psi, 15000 psi, 11750 psi" },
    NockMaterial { name: "moso bamboo, along the fibre", density: None, modulus: &[Span { low: 8.49, high: 32.49, how: "" }], strength: &[Span { low: 116.0, high: 328.0, how: "" }], source: "J. Tropical Forest Science 2008" },
    NockMaterial { name: "moso bamboo, across the fibre", density: None, modulus: &[one(0.224, "")], strength: &[Span { low: 3.24, high: 3.67, how: "splitting" }], source: "Shu et al. 2022, J. Renew. Mater." },
];

/// All nock materials with published figures.
pub fn nock_materials() -> &'static [NockMaterial] {
    NOCK_MATERIALS
}

/// What a nock's own material stands, for the words that a design file uses for it.
#[derive(Debug, Clone, PartialEq)]
pub struct NockStrength {
    /// Bending or tension, Pa.
    pub bending: Sourced,
    /// Pressed on by the string, Pa; of wood across its grain.
    pub bearing: Sourced,
    /// Of wood, pressed along its grain, Pa.
    pub crushing: Option<Sourced>,
    /// Bending or tension, Pa; the highest of those published, for the stiffer a piece, the more it takes on.
    pub modulus: Sourced,
    /// Density, kg/m3.
    pub density: Sourced,
}

/// Strength and density of `horn`, `antler`, `phenolic` or `hardwood`. Horn stands for the weaker of the dry horns in the table,
/// hardwood for sugar maple. No compression figure is published for horn and antler: their bending or tension stands in.
pub fn nock_strength(material: &str) -> Option<NockStrength> {
    let of = |value: f64, source: String, certainty: Certainty| Sourced { value, source, certainty };
    if material == "hardwood" {
        let row = find("sugar maple")?;
        let maple = row.wood();
        let named =
            |figure: Option<Sourced>| figure.map(|f| Sourced { source: format!("sugar maple, {}", f.source), ..f });
        return Some(NockStrength {
            bending: named(maple.rupture)?,
            bearing: named(maple.bearing)?,
            crushing: named(maple.crushing),
            modulus: named(Some(maple.modulus))?,
            density: named(maple.density)?,
        });
    }
    let name = match material {
        "horn" => "water buffalo horn",
        "antler" => "antler, wet",
        "phenolic" => "phenolic laminate, canvas",
        _ => return None,
    };
    let row = NOCK_MATERIALS.iter().find(|row| row.name == name)?;
    let span = row.strength.first()?;
    let source = format!("{name}, {}", row.source);
    let density = row.density?;
    let stiffest = row.modulus.iter().map(|span| span.high).fold(0.0, f64::max);
    Some(NockStrength {
        bending: of(span.low * 1e6, source.clone(), Certainty::Read),
        bearing: of(
            span.low * 1e6,
            format!("{source}; its bending or tension, for want of a compression figure"),
            Certainty::Read,
        ),
        crushing: None,
        modulus: of(stiffest * 1e9, source, Certainty::Read),
        density: of(density.value * 1e3, name.to_owned(), density.certainty),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn yew_in_si_is_what_its_sheet_prints_in_si() {
        // The technical sheet gives both psi and SI: 9.31 GPa, 105 MPa, 14.5 MPa, 15.4 MPa.
        let yew = find("pacific YEW").unwrap().wood();
        assert!((yew.modulus.value / 1e9 - 9.31).abs() < 0.005);
        assert!((yew.rupture.unwrap().value / 1e6 - 105.0).abs() < 0.5);
        assert!((yew.bearing.unwrap().value / 1e6 - 14.5).abs() < 0.05);
        assert!((yew.shear.unwrap().value / 1e6 - 15.4).abs() < 0.05);
    }

    #[test]
    fn every_nock_material_a_style_offers_has_its_strength() {
        use crate::nock::{KeyKind, NOCK_STYLES};
        for key in NOCK_STYLES.iter().flat_map(|s| s.keys()).filter(|k| k.name.ends_with("_material")) {
            let KeyKind::Choice(words) = key.kind else { panic!("{} is no choice", key.name) };
            for word in words {
                let strength = nock_strength(word).unwrap_or_else(|| panic!("{word} has no strength"));
                assert!(strength.bending.value > 3e7 && strength.density.value > 500.0);
                assert!((5e9..20e9).contains(&strength.modulus.value), "{word}: {:?}", strength.modulus);
            }
        }
    }

    #[test]
    fn every_name_is_found_once() {
        for row in woods() {
            assert_eq!(find(row.name).map(|r| r.name), Some(row.name));
        }
        assert_eq!(find("lemonwood").map(|r| r.name), Some("degame (lemonwood)"));
        assert!(find("ash").is_none());
    }
}
