//! Seals: short sums that show whether something was changed. They guard against accidents, not against forgery.

pub mod drawing;

/// FNV-1a with 64 bits over pieces, each followed by a zero byte so that `ab, c` and `a, bc` differ
/// (Fowler, Noll, Vo; draft-eastlake-fnv).
#[derive(Debug, Clone)]
pub struct Seal(u64);

impl Default for Seal {
    fn default() -> Self {
        Seal(0xcbf2_9ce4_8422_2325)
    }
}

impl Seal {
    /// Adds a piece.
    pub fn add(&mut self, piece: &[u8]) {
        for byte in piece.iter().chain(&[0]) {
            self.0 = (self.0 ^ u64::from(*byte)).wrapping_mul(0x0000_0100_0000_01b3);
        }
    }

    /// The sum as sixteen figures.
    pub fn text(&self) -> String {
        format!("{:016x}", self.0)
    }

    /// The sum in four bytes.
    pub fn short(&self) -> [u8; 4] {
        ((self.0 >> 32) as u32 ^ self.0 as u32).to_be_bytes()
    }
}

/// The seal of one piece, as sixteen figures.
pub fn of(piece: &[u8]) -> String {
    let mut seal = Seal::default();
    seal.add(piece);
    seal.text()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pieces_are_kept_apart() {
        let sum = |pieces: &[&str]| {
            let mut seal = Seal::default();
            pieces.iter().for_each(|p| seal.add(p.as_bytes()));
            seal.text()
        };
        assert_ne!(sum(&["ab", "c"]), sum(&["a", "bc"]));
        assert_ne!(sum(&["ab"]), sum(&["ab", ""]));
        assert_eq!(sum(&["ab"]), of(b"ab"));
    }
}
