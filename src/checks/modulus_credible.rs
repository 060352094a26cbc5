//! Does the weight that the scale said fit the wood and the measures?

use crate::design::Side;
use crate::findings::{Bound, Check, Quantity};
use crate::worked::Worked;
use crate::worked::soundness::how_sure;

/// Two coefficients of variation of a wood's modulus; smaller would call sound staves odd, larger would let a wrong
/// measure pass.
const SCATTER: f64 = 0.44;

/// The modulus that the measured weight implies, over the wood's own.
pub fn check(worked: &Worked) -> Vec<Check> {
    if worked.design.bow.weight.is_none() {
        return Vec::new();
    }
    let factor = worked.statics.cycle.stiffness_factor;
    // The modulus of the limb that is judged, or of both where they are of one wood.
    let table = |side: Option<Side>| how_sure(&worked.design.limbs.get(side.unwrap_or(Side::Upper)).wood.modulus);
    let judge = |side: Option<Side>, measured: f64, allowed: f64, bound: Bound| Check {
        id: if bound == Bound::AtMost { "modulus_not_too_high" } else { "modulus_not_too_low" },
        side,
        title: match bound {
            Bound::AtMost => "implied modulus, not far above the wood's".into(),
            Bound::AtLeast => "implied modulus, not far below the wood's".into(),
        },
        place: String::new(),
        measured,
        allowed,
        quantity: Quantity::Modulus,
        bound,
        verdict: Check::judge(measured, allowed, bound, 0.05),
        why: format!(
            "the scale's weight makes these limbs {factor:.2} times as stiff as the wood's table value would; far from 1, \
             a measure, the weight or the wood is probably not what the file says (thickness counts three times over)"
        ),
        source: format!(
            "modulus: {}; scatter of modulus within a wood 22 % (coefficient of variation, Wood Handbook, from memory), taken twice",
            table(side)
        ),
        cure:
            "measure the thicknesses again, without bark, backing or handle risers, and the weight at the stated draw"
                .into(),
    };
    let [upper, lower] = Side::BOTH.map(|side| worked.design.limbs.get(side).wood.modulus.value);
    // Limbs of one wood have one answer.
    let moduli =
        if upper == lower { vec![(None, upper)] } else { vec![(Some(Side::Upper), upper), (Some(Side::Lower), lower)] };
    let one = |allowed: f64, bound: Bound| {
        moduli.iter().map(move |&(side, table)| judge(side, factor * table, table * allowed, bound)).collect::<Vec<_>>()
    };
    [one(1.0 - SCATTER, Bound::AtLeast), one(1.0 + SCATTER, Bound::AtMost)].concat()
}
