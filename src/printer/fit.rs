//! Four lengths to a printer's map, by least squares, with the uncertainty that the reading leaves.

use kurbo::Affine;

use super::misprint::{self, Misprint};
use super::{ACROSS, DIAGONAL, READING_ERROR, UP};

/// Farthest from true that a printer in order prints, as a share. Printers are off by up to about 1 %
/// (common practice, no source); the nearest usual wrong setting, Letter made to fit A4, is off by 2.7 %.
/// Larger lets a wrong setting pass for a printer's own error.
const FARTHEST: f64 = 0.02;
/// Most that a page leans when it is fed askew, rad: 1 degree. Larger lets a diagonal misread by 5 mm pass.
const MOST_LEAN: f64 = std::f64::consts::PI / 180.0;

/// How far a reading with any rule may be off, mm. Below a hundredth no rule reads; above a millimetre the readings tell nothing that is
/// worth correcting (common practice, no source).
pub(super) const READING_ERRORS: std::ops::RangeInclusive<f64> = 0.01..=1.0;

/// The four lengths of a printed test page, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Readings {
    /// The bar across.
    pub across: f64,
    /// The bar up.
    pub up: f64,
    /// From the lower left to the upper right.
    pub rising: f64,
    /// From the upper left to the lower right.
    pub falling: f64,
    /// Each of them may be off by as much, either way.
    pub error: f64,
}

/// A figure with its uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured {
    /// The figure.
    pub value: f64,
    /// Two standard deviations: of a hundred careful readings some 95 come out nearer to the truth than this.
    pub plus_minus: f64,
}

/// What a printer does to a page.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PrinterMap {
    /// Printed over true length, across.
    pub across: Measured,
    /// Printed over true length, up.
    pub up: Measured,
    /// How far what should stand upright leans to the right, rad.
    pub lean: Measured,
}

/// Why readings give no map.
#[derive(Debug, Clone, PartialEq)]
pub enum Unbelievable {
    /// A length is not a positive number.
    NoLength,
    /// The reading error is none that a rule has, mm.
    WrongError(f64),
    /// Bar across and bar up were exchanged.
    Exchanged,
    /// A scale is farther off than a printer in order: scales across and up, and the usual mistakes that give them.
    WrongScale {
        /// Printed over true, across.
        across: f64,
        /// Printed over true, up.
        up: f64,
        /// The usual mistakes that fit, the nearest first.
        like: Vec<Misprint>,
    },
    /// The diagonals differ by more than any paper feed leans, rad.
    WrongLean(f64),
    /// No one page has these four lengths: how far off, at least, one of them is, and what the diagonals should be, mm.
    Contradicting {
        /// Least error that one reading must have, mm.
        off: f64,
        /// The diagonal that the bars ask for if nothing leans, mm.
        diagonal: f64,
    },
}

impl Readings {
    /// Readings of the test page with the usual error of a rule.
    pub fn new(across: f64, up: f64, rising: f64, falling: f64) -> Self {
        Readings { across, up, rising, falling, error: READING_ERROR }
    }

    /// What a printer with that map would give.
    pub fn of(map: &PrinterMap) -> Self {
        let [across, up, rising, falling] = lengths([map.across.value, map.up.value, map.lean.value]);
        Readings::new(across, up, rising, falling)
    }

    /// The map that fits the readings best.
    ///
    /// Four lengths stand against three unknowns, so they can contradict each other. With an error of at most `e`,
    /// evenly spread (standard deviation `e / sqrt 3`: JCGM 100:2008, GUM, 4.3.7), the unknowns have the covariance
    /// `e^2 / 3 * (J^T J)^-1`, `J` being how the lengths change with them; twice its square roots are stated.
    ///
    /// # Errors
    /// [`Unbelievable`] readings.
    pub fn fit(&self) -> Result<PrinterMap, Unbelievable> {
        let read = [self.across, self.up, self.rising, self.falling];
        if !read.iter().all(|l| l.is_finite() && *l > 0.0) {
            return Err(Unbelievable::NoLength);
        }
        if !READING_ERRORS.contains(&self.error) {
            return Err(Unbelievable::WrongError(self.error));
        }
        let (across, up) = (self.across / ACROSS, self.up / UP);
        if !(believable(across) && believable(up)) {
            if believable(self.across / UP) && believable(self.up / ACROSS) {
                return Err(Unbelievable::Exchanged);
            }
            return Err(Unbelievable::WrongScale { across, up, like: misprint::like(across, up) });
        }
        let sine = (self.rising.powi(2) - self.falling.powi(2)) / (4.0 * self.across * self.up);
        if sine.abs() > MOST_LEAN.sin() {
            return Err(Unbelievable::WrongLean(sine.clamp(-1.0, 1.0).asin()));
        }
        let mut unknowns = [across, up, sine.asin()];
        // The start is within the reading error of the answer and the lengths are nearly linear: three steps reach the last digit.
        let mut covariance = [[0.0; 3]; 3];
        for _ in 0..6 {
            let gradient = gradients(unknowns);
            let residual = std::array::from_fn::<f64, 4, _>(|i| read[i] - lengths(unknowns)[i]);
            covariance = inverse(normal(&gradient)).ok_or(Unbelievable::NoLength)?;
            let pull: [f64; 3] = std::array::from_fn(|j| (0..4).map(|i| gradient[i][j] * residual[i]).sum());
            for j in 0..3 {
                unknowns[j] += (0..3).map(|k| covariance[j][k] * pull[k]).sum::<f64>();
            }
        }
        // What is left over lies along the one direction n in which no map can move the lengths. Errors of at most e
        // move them at most e * sum |n_i| along it.
        let left: [f64; 4] = std::array::from_fn(|i| read[i] - lengths(unknowns)[i]);
        let norm = left.iter().map(|r| r * r).sum::<f64>().sqrt();
        let reach = left.iter().map(|r| r.abs()).sum::<f64>() / norm.max(f64::MIN_POSITIVE);
        if norm > self.error * reach + 1e-9 {
            let largest = left.iter().map(|r| r.abs()).fold(0.0, f64::max) / norm;
            return Err(Unbelievable::Contradicting { off: norm / largest, diagonal: self.across.hypot(self.up) });
        }
        // A coarse rule may spread what it misread over all three.
        let [across, up, lean] = unknowns;
        if !(believable(across) && believable(up)) {
            return Err(Unbelievable::WrongScale { across, up, like: misprint::like(across, up) });
        }
        if lean.is_nan() || lean.abs() > MOST_LEAN {
            return Err(Unbelievable::WrongLean(lean));
        }
        let measured = |j: usize| Measured {
            value: unknowns[j],
            plus_minus: 2.0 * self.error / 3f64.sqrt() * covariance[j][j].max(0.0).sqrt(),
        };
        Ok(PrinterMap { across: measured(0), up: measured(1), lean: measured(2) })
    }
}

impl PrinterMap {
    /// The map of a printer that prints true.
    pub const TRUE: PrinterMap = PrinterMap { across: exact(1.0), up: exact(1.0), lean: exact(0.0) };

    /// The map as it is kept in written sheets: scale across, scale up, lean in radians.
    pub fn numbers(&self) -> String {
        let fine = |value: f64| format!("{}", (value * 1e7).round() / 1e7 + 0.0);
        [self.across, self.up, self.lean].map(|m| fine(m.value)).join(" ")
    }

    /// The map from such numbers; none where they are not three, or no printer's.
    pub fn from_numbers(text: &str) -> Option<Self> {
        let numbers: Vec<f64> = text.split_whitespace().map_while(|n| n.parse().ok()).collect();
        let [across, up, lean] = numbers.as_slice() else { return None };
        (believable(*across) && believable(*up) && lean.abs() <= MOST_LEAN).then(|| PrinterMap {
            across: exact(*across),
            up: exact(*up),
            lean: exact(*lean),
        })
    }

    /// What the printer does to a page, as a map of millimetres with `y` up.
    pub fn affine(&self) -> Affine {
        let (sin, cos) = self.lean.value.sin_cos();
        Affine::new([self.across.value, 0.0, self.up.value * sin, self.up.value * cos, 0.0, 0.0])
    }

    /// What a page is drawn through so that it comes out true.
    pub fn correction(&self) -> Affine {
        self.affine().inverse()
    }
}

/// Whether a printer in order may print so.
pub(super) fn believable(scale: f64) -> bool {
    (scale - 1.0).abs() <= FARTHEST
}

const fn exact(value: f64) -> Measured {
    Measured { value, plus_minus: 0.0 }
}

/// Bar across, bar up, rising and falling diagonal, mm, from scale across, scale up and lean.
fn lengths([across, up, lean]: [f64; 3]) -> [f64; 4] {
    let (a, b) = (ACROSS * across, UP * up);
    let shear = 2.0 * a * b * lean.sin();
    [a, b, (a * a + b * b + shear).sqrt(), (a * a + b * b - shear).sqrt()]
}

/// How each length changes with scale across, scale up and lean.
fn gradients(unknowns: [f64; 3]) -> [[f64; 3]; 4] {
    let [across, up, lean] = unknowns;
    let (a, b) = (ACROSS * across, UP * up);
    let [_, _, rising, falling] = lengths(unknowns);
    let row = |length: f64, sign: f64| {
        [
            ACROSS * (a + sign * b * lean.sin()) / length,
            UP * (b + sign * a * lean.sin()) / length,
            sign * a * b * lean.cos() / length,
        ]
    };
    [[ACROSS, 0.0, 0.0], [0.0, UP, 0.0], row(rising, 1.0), row(falling, -1.0)]
}

fn normal(gradient: &[[f64; 3]; 4]) -> [[f64; 3]; 3] {
    std::array::from_fn(|j| std::array::from_fn(|k| gradient.iter().map(|row| row[j] * row[k]).sum()))
}

/// Inverse of a symmetric 3 x 3 matrix by its cofactors.
fn inverse(m: [[f64; 3]; 3]) -> Option<[[f64; 3]; 3]> {
    let cofactor = |i: usize, j: usize| {
        let (i1, i2, j1, j2) = ((i + 1) % 3, (i + 2) % 3, (j + 1) % 3, (j + 2) % 3);
        m[i1][j1] * m[i2][j2] - m[i1][j2] * m[i2][j1]
    };
    let determinant: f64 = (0..3).map(|j| m[0][j] * cofactor(0, j)).sum();
    (determinant.is_finite() && determinant != 0.0)
        .then(|| std::array::from_fn(|i| std::array::from_fn(|j| cofactor(j, i) / determinant)))
}

const _: () = assert!(ACROSS * ACROSS + UP * UP == DIAGONAL * DIAGONAL);

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::Point;

    fn map(across: f64, up: f64, degrees: f64) -> PrinterMap {
        PrinterMap { across: exact(across), up: exact(up), lean: exact(degrees.to_radians()) }
    }

    #[test]
    fn exact_readings_give_the_map_back() {
        for (across, up, lean) in [(1.0, 1.0, 0.0), (0.985, 1.004, 0.3), (1.012, 0.991, -0.45), (0.981, 0.981, 0.0)] {
            let fitted = Readings::of(&map(across, up, lean)).fit().unwrap();
            assert!((fitted.across.value - across).abs() < 1e-12);
            assert!((fitted.up.value - up).abs() < 1e-12);
            assert!((fitted.lean.value.to_degrees() - lean).abs() < 1e-10);
        }
    }

    #[test]
    fn lengths_are_those_of_the_mapped_page() {
        let map = map(0.985, 1.004, 0.3);
        let affine = map.affine();
        let place = |x: f64, y: f64| affine * Point::new(x, y);
        let measured = [
            place(0.0, 0.0).distance(place(ACROSS, 0.0)),
            place(0.0, 0.0).distance(place(0.0, UP)),
            place(0.0, 0.0).distance(place(ACROSS, UP)),
            place(0.0, UP).distance(place(ACROSS, 0.0)),
        ];
        let said = Readings::of(&map);
        for (m, s) in measured.iter().zip([said.across, said.up, said.rising, said.falling]) {
            assert!((m - s).abs() < 1e-10);
        }
        let through = affine * (map.correction() * Point::new(100.0, 37.0));
        assert!(through.distance(Point::new(100.0, 37.0)) < 1e-10);
    }

    /// Errors evenly spread over plus and minus a quarter of a millimetre, from a fixed congruential sequence
    /// (Knuth's multiplier for MMIX), many times over: spread and share within the bounds are as stated.
    #[test]
    fn readings_with_errors_scatter_as_stated() {
        let truth = map(0.985, 1.004, 0.3);
        let exact = Readings::of(&truth);
        let mut state: u64 = 1;
        let mut error = || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            ((state >> 11) as f64 / (1u64 << 53) as f64 - 0.5) * 2.0 * READING_ERROR
        };
        let rounds = 20_000;
        let (mut squares, mut within) = ([0.0; 3], [0; 3]);
        let mut stated = [0.0; 3];
        for _ in 0..rounds {
            let fitted = Readings::new(
                exact.across + error(),
                exact.up + error(),
                exact.rising + error(),
                exact.falling + error(),
            )
            .fit()
            .unwrap();
            let pairs = [(fitted.across, truth.across), (fitted.up, truth.up), (fitted.lean, truth.lean)];
            for (j, (found, true_value)) in pairs.into_iter().enumerate() {
                let off = found.value - true_value.value;
                squares[j] += off * off;
                within[j] += usize::from(off.abs() <= found.plus_minus);
                stated[j] = found.plus_minus;
            }
        }
        for j in 0..3 {
            let spread = 2.0 * (squares[j] / f64::from(rounds)).sqrt();
            assert!((spread / stated[j] - 1.0).abs() < 0.03, "{j}: {spread} against {}", stated[j]);
            let share = within[j] as f64 / f64::from(rounds);
            assert!((0.94..0.99).contains(&share), "{j}: {share}");
        }
    }

    #[test]
    fn readings_within_their_error_never_contradict_each_other() {
        let exact = Readings::of(&map(0.99, 1.003, -0.2));
        for corner in 0..16u32 {
            let sign = |i: u32| if corner >> i & 1 == 1 { 0.2499 } else { -0.2499 };
            let readings = Readings::new(
                exact.across + sign(0),
                exact.up + sign(1),
                exact.rising + sign(2),
                exact.falling + sign(3),
            );
            assert!(readings.fit().is_ok(), "{corner}");
        }
    }

    #[test]
    fn each_impossible_reading_is_told_apart() {
        let good = Readings::new(ACROSS, UP, DIAGONAL, DIAGONAL);
        assert!(matches!(Readings { across: f64::NAN, ..good }.fit(), Err(Unbelievable::NoLength)));
        for error in [0.0, f64::NAN, 1e-300, 1.01] {
            assert!(matches!(Readings { error, ..good }.fit(), Err(Unbelievable::WrongError(_))), "{error}");
        }
        // What a coarse rule lets pass must still be a printer's: here the best fit stretches by more than two in a hundred.
        let coarse = Readings { error: 1.0, across: ACROSS * 1.0195, up: UP * 1.0195, ..good };
        let too_long = Readings { rising: DIAGONAL * 1.0235, falling: DIAGONAL * 1.0235, ..coarse };
        assert!(matches!(too_long.fit(), Err(Unbelievable::WrongScale { .. })), "{:?}", too_long.fit());
        assert_eq!(Readings { across: UP, up: ACROSS, ..good }.fit(), Err(Unbelievable::Exchanged));
        let Err(Unbelievable::WrongScale { like, .. }) =
            Readings::new(ACROSS * 0.9407, UP * 0.9407, DIAGONAL * 0.9407, DIAGONAL * 0.9407).fit()
        else {
            panic!()
        };
        assert!(like[0].name.contains("A4") && like[0].name.contains("Letter"), "{}", like[0].name);
        assert!(matches!(Readings { rising: 300.0, ..good }.fit(), Err(Unbelievable::WrongLean(lean)) if lean > 0.0));
        let Err(Unbelievable::Contradicting { off, diagonal }) =
            Readings { rising: DIAGONAL + 2.0, falling: DIAGONAL + 2.0, ..good }.fit()
        else {
            panic!()
        };
        assert!(off > 1.0 && (diagonal - DIAGONAL).abs() < 1e-9);
    }
}
