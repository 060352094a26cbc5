//! How each role is drawn: line width, dashes and name, in one table.
//!
//! After the practice of ISO 128-2 (technical drawings, basic conventions for lines): wide continuous lines for what
//! matters, narrow continuous for dimensions and hatching, dashed for hidden edges, long-dash dotted for centre lines,
//! long-dash double-dotted for the finished shape within the blank;
//! widths from its series 0.18, 0.25, 0.35, 0.5 mm. Dashes are longer than its multiples of the line width,
//! for a home printer closes gaps of half a millimetre.
//!
//! Everything is black: grey and colour are printed as a pattern of dots, which tears narrow lines apart.

use super::Role;

/// How a role is drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Look {
    /// The role.
    pub role: Role,
    /// Name of groups and layers, lower case with hyphens.
    pub name: &'static str,
    /// Line width, mm.
    pub width: f64,
    /// Lengths of dash, gap, dash, gap, mm; empty for a continuous line.
    pub dashes: &'static [f64],
    /// What the line says, for the key to the lines; empty for lines that need no key.
    pub says: &'static str,
}

/// Every role once, in the order of [`Role`].
pub const LOOKS: [Look; 11] = [
    look(Role::Cut, "cut", 0.5, &[], "cut, in the middle of the line; ticks stand on the waste side"),
    look(Role::Outline, "outline", 0.35, &[], "edge of the work"),
    look(Role::Fold, "fold", 0.25, &[6.0, 1.5], "fold"),
    look(Role::Mark, "mark", 0.35, &[12.0, 1.0, 0.8, 1.0, 0.8, 1.0], "mark on the work, file to it"),
    look(Role::Centre, "centre", 0.18, &[8.0, 1.0, 0.8, 1.0], "centre line"),
    look(Role::Dimension, "dimension", 0.18, &[], ""),
    look(Role::String, "string", 0.18, &[], "edge of the string"),
    look(Role::Hatch, "hatch", 0.18, &[], ""),
    look(Role::Hidden, "hidden", 0.18, &[2.0, 1.0], "edge behind, or what the caption says"),
    look(Role::Note, "note", 0.18, &[], ""),
    look(Role::Scale, "scale", 0.25, &[], ""),
];

/// The widest line of all, mm.
pub const WIDEST: f64 = 0.5;

const fn look(role: Role, name: &'static str, width: f64, dashes: &'static [f64], says: &'static str) -> Look {
    Look { role, name, width, dashes, says }
}

impl Role {
    /// How it is drawn.
    pub fn look(self) -> &'static Look {
        // The table is in the order of the roles; a test holds it to that.
        &LOOKS[self as usize]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_is_in_the_order_of_the_roles_and_names_differ() {
        for (place, look) in LOOKS.iter().enumerate() {
            assert_eq!(look.role as usize, place);
            assert_eq!(look.role.look(), look);
            assert!(look.width <= WIDEST);
            assert!(LOOKS.iter().filter(|other| other.name == look.name).count() == 1);
        }
    }

    #[test]
    fn lines_that_need_a_key_differ_in_black_and_white() {
        let keyed: Vec<_> = LOOKS.iter().filter(|l| !l.says.is_empty()).collect();
        for (i, a) in keyed.iter().enumerate() {
            for b in &keyed[..i] {
                assert!(a.width != b.width || a.dashes != b.dashes, "{} looks like {}", a.name, b.name);
            }
        }
    }
}
