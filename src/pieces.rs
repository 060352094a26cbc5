//! The 1:1 drawings: one file and one line each.

use crate::findings::Check;
use crate::sheets::Piece;
use crate::worked::Worked;

/// All pieces for both limbs, upper first.
pub fn all(_worked: &Worked, _checks: &[Check]) -> Vec<Piece> {
    Vec::new()
}
