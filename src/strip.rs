//! A strip glued along the belly of a limb's end: its measures.

/// A strip, measured from the nock along the limb; all m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strip {
    /// Where it starts.
    pub start: f64,
    /// Where its scarf toward the handle has run out to nothing.
    pub end: f64,
    /// How thick it is where it is whole.
    pub thickness: f64,
}

/// Over this many thicknesses it rises at the end toward the nock. Common practice, no source.
const RISE: f64 = 3.0;
/// Over this many thicknesses it runs out toward the handle. Common practice, no source.
const SCARF: f64 = 12.0;

impl Strip {
    /// Where it is whole, from and to, m from the nock.
    pub fn whole(&self) -> [f64; 2] {
        [self.start + RISE * self.thickness, self.end - SCARF * self.thickness]
    }

    /// Its height over the belly at `d` (m from the nock), m, with its first and second derivatives by `d`.
    ///
    /// Either end rises as `6 u^5 - 15 u^4 + 10 u^3`.
    pub fn rise(&self, d: f64) -> [f64; 3] {
        let [from, to] = self.whole();
        let (u, by) = if d < from {
            ((d - self.start) / (from - self.start), 1.0 / (from - self.start))
        } else if d > to {
            ((self.end - d) / (self.end - to), -1.0 / (self.end - to))
        } else {
            (1.0, 0.0)
        };
        if u <= 0.0 {
            return [0.0; 3];
        }
        let t = self.thickness;
        [
            t * u.powi(3) * (10.0 - 15.0 * u + 6.0 * u * u),
            t * by * 30.0 * (u * (1.0 - u)).powi(2),
            t * by * by * 60.0 * u * (1.0 - u) * (1.0 - 2.0 * u),
        ]
    }

    /// Its height over the belly at `d` (m from the nock), m.
    pub fn height(&self, d: f64) -> f64 {
        self.rise(d)[0]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slopes_are_those_of_the_height() {
        let strip = Strip { start: 25e-3, end: 140e-3, thickness: 2.4e-3 };
        let [from, to] = strip.whole();
        assert!(strip.height(24.9e-3) == 0.0 && strip.height(140.1e-3) == 0.0);
        assert!(strip.height(from) == 2.4e-3 && strip.height(to) == 2.4e-3);
        let e = 1e-6;
        for d in [26e-3, 28e-3, 31e-3, 60e-3, 115e-3, 125e-3, 139e-3] {
            let [_, slope, bend] = strip.rise(d);
            let [before, after] = [strip.rise(d - e), strip.rise(d + e)];
            assert!((slope - (after[0] - before[0]) / (2.0 * e)).abs() < 1e-6, "{d}");
            assert!((bend - (after[1] - before[1]) / (2.0 * e)).abs() < 1e-3, "{d}");
        }
    }
}
