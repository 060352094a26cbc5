//! A lengthwise groove in the belly that a lying string rests in: its measures.

/// A guide, measured from the nock along the limb; all m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Guide {
    /// Where it starts: nearer to the nock the loop's legs pass the limb's sides.
    pub start: f64,
    /// Where it ends.
    pub end: f64,
    /// How deep it is in its middle.
    pub depth: f64,
    /// Radius of its bottom, across the string.
    pub radius: f64,
}

/// Over this many depths either end rises to the belly. Common practice, no source.
const RUN: f64 = 8.0;

impl Guide {
    /// Length over which either end rises to the belly, m.
    pub fn run(&self) -> f64 {
        (RUN * self.depth).min(0.4 * (self.end - self.start))
    }

    /// Where it has its full depth, from and to, m from the nock.
    pub fn whole(&self) -> [f64; 2] {
        [self.start + self.run(), self.end - self.run()]
    }

    /// Width between its edges where it is `depth` deep, m: a chord of its bottom's circle.
    pub fn width(&self, depth: f64) -> f64 {
        let d = depth.clamp(0.0, self.radius);
        2.0 * (d * (2.0 * self.radius - d)).sqrt()
    }
}
