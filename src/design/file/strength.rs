//! `[strength]`.

use crate::design::StrengthWishes;

use super::keys::{self, FileKey};
use super::reader::Reader;
use super::tables::{Held, Layers};

/// `[strength]`.
pub(super) fn strength(reader: &mut Reader, root: &Layers) -> Option<StrengthWishes> {
    let table = reader.table(root, &keys::STRENGTH_TABLE);
    reader.known_keys(&table, keys::STRENGTH);
    let shock_factor = reader.measure(&table, &keys::SHOCK_FACTOR);
    let mut asked = |key: &FileKey| match reader.asked_measure(&table, key) {
        Held::Is(value) => Some(Some(value)),
        Held::Absent => Some(None),
        Held::Bad => None,
    };
    let (working_stress, glue) = (asked(&keys::WORKING_STRESS), asked(&keys::GLUE));
    let off_centre = reader.measure(&table, &keys::OFF_CENTRE);
    Some(StrengthWishes {
        shock_factor: shock_factor?,
        working_stress: working_stress?,
        glue: glue?,
        off_centre: off_centre?,
    })
}
