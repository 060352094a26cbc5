//! The checks: one file and one line each. Every check can fail, and says why its limit is there.

mod glue_line;
mod groove;
mod guide;
mod horn_over_bore;
mod horn_wall;
mod lift_off;
mod limb_strength;
mod limb_stress;
pub mod loop_on_tip;
mod modulus_credible;
mod net_section;
mod sideways;
mod string_bearing;

use crate::findings::Check;
use crate::worked::Worked;

/// One check: from what was worked out to its results, upper limb first.
pub type CheckFn = fn(&Worked) -> Vec<Check>;

/// The checks that need no loop followed through the draw, in the order of the report.
pub static CHECKS: &[CheckFn] = &[
    modulus_credible::check,
    limb_stress::check,
    limb_strength::at_brace,
    limb_strength::shear,
    limb_strength::in_the_shot,
    sideways::check,
    lift_off::check,
    groove::fan_covers_sweep,
    groove::wall_radius,
    groove::seat_depth,
    groove::left_under_groove,
    groove::loop_passes_over_tip,
    guide::reaches,
    guide::starts,
    guide::radius,
    guide::left_under,
    guide::left_in_strip,
    net_section::check,
    glue_line::check,
    glue_line::under_strip,
    horn_over_bore::check,
    horn_wall::check,
];

/// The checks of the loop followed through the draw, after the others in the report.
pub static LOOP_CHECKS: &[CheckFn] = &[
    loop_on_tip::stays_on,
    loop_on_tip::clicks,
    loop_on_tip::way_is_free,
    loop_on_tip::sharpest_bend,
    string_bearing::check,
];

/// Runs them all.
pub fn all(worked: &Worked) -> Vec<Check> {
    CHECKS.iter().chain(LOOP_CHECKS).flat_map(|check| check(worked)).collect()
}

/// Runs those that need no loop followed, which would take longer than all else.
pub fn without_loop(worked: &Worked) -> Vec<Check> {
    CHECKS.iter().flat_map(|check| check(worked)).collect()
}
