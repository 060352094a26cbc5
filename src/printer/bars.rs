//! A correction from the bars of a printed sheet alone: two lengths, no lean.

use super::{Correction, Measured, PrinterMap, READING_ERROR, fit, misprint};
use crate::fault::Fault;
use crate::units::{self, INCH, Kind};

/// Two bars of a sheet as read with a rule.
#[derive(Debug, Clone, PartialEq)]
pub struct MeasuredBars {
    /// Printed over true, across and up.
    pub map: PrinterMap,
    text: String,
}

impl MeasuredBars {
    /// Reads `99.2 mm x 99.6 mm`: the bar across, then the bar up. A bar read in inches is the one of 4 in, else that of 100 mm.
    ///
    /// # Errors
    /// The text holds no two lengths, or a printer in order does not print so.
    pub fn read(text: &str) -> Result<Self, Fault> {
        let option = "--measured-bars";
        let parts: Vec<&str> = text.split(['x', 'X', '×']).collect();
        let [across, up] = parts.as_slice() else {
            return Err(Fault::at(
                option,
                format!("{} is not two lengths", units::quoted(text)),
                "the bar across and the bar up are wanted",
            )
            .cure("write them as in \"99.2 mm x 99.6 mm\", or \"4 1/32 in x 3 63/64 in\""));
        };
        let scale = |part: &str| {
            let length =
                units::read(part.trim(), Kind::Length).map_err(|m| Fault::at(option, m.what, m.why).cure(m.cure))?;
            let bar = if part.contains("in") || part.contains(['"', '″', '”']) { 4.0 * INCH } else { 0.1 };
            Ok::<_, Fault>(Measured {
                value: length / bar,
                plus_minus: 2.0 * READING_ERROR / 3f64.sqrt() / (bar * 1e3),
            })
        };
        let map = PrinterMap { across: scale(across)?, up: scale(up)?, lean: Measured { value: 0.0, plus_minus: 0.0 } };
        if let Some(fault) = other_bar(option, [&map.across, &map.up]) {
            return Err(fault);
        }
        if !(fit::believable(map.across.value) && fit::believable(map.up.value)) {
            return Err(misprint::fault(option, map.across.value, map.up.value));
        }
        Ok(MeasuredBars { map, text: text.trim().to_owned() })
    }

    /// The correction, as the sheets name it.
    pub fn correction(self) -> Correction {
        Correction { printer: format!("its bars read {}", self.text), measured: None, map: self.map }
    }
}

/// A reading this near to what the other bar would give true is taken for it, as a share. A rule is read to a quarter of a millimetre.
const NEAR_THE_OTHER: f64 = 0.003;

/// The fault of both bars being the other ones: those of 4 in read in millimetres (1.016), or those of 100 mm in inches (0.984).
fn other_bar(option: &str, scales: [&Measured; 2]) -> Option<Fault> {
    let four_inches = 4.0 * INCH / 0.1;
    let both = |scale: f64| scales.iter().all(|m| (m.value / scale - 1.0).abs() < NEAR_THE_OTHER);
    let (read, meant) = match () {
        () if both(four_inches) => {
            ("the bar of 4 in with a rule in mm", "a length in mm is taken for the bar of 100 mm")
        }
        () if both(1.0 / four_inches) => {
            ("the bar of 100 mm with a rule in inches", "a length in inches is taken for the bar of 4 in")
        }
        () => return None,
    };
    Some(Fault::at(option, format!("it seems you have read {read}"), meant).cure(
        "read the bar in its own unit; if your printer is really so far off, measure it with the page that `nockwright printer` writes",
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bars_are_read_in_either_unit() {
        let map = MeasuredBars::read("99.2 mm x 99.6 mm").unwrap().map;
        assert!((map.across.value - 0.992).abs() < 1e-12 && (map.up.value - 0.996).abs() < 1e-12);
        let map = MeasuredBars::read("4 1/32 in × 3 63/64\"").unwrap().map;
        assert!((map.across.value - 4.03125 / 4.0).abs() < 1e-12 && (map.up.value - 3.984_375 / 4.0).abs() < 1e-12);
    }

    #[test]
    fn what_no_printer_prints_is_refused_with_its_likely_cause() {
        for text in ["101.6 mm x 101.5 mm", "3 15/16 in x 3 15/16 in"] {
            assert!(MeasuredBars::read(text).unwrap_err().what.contains("you have read the bar of"), "{text}");
        }
        assert!(MeasuredBars::read("101.6 mm x 100.4 mm").is_ok());
        assert!(MeasuredBars::read("94.1 mm x 94 mm").unwrap_err().why.contains("A4 page made to fit Letter"));
        for text in ["99 mm", "99 mm x", "99 x 99", "", "1 mm x 2 mm x 3 mm", "-99 mm x 99 mm", "1e9 mm x 99 mm"] {
            assert!(MeasuredBars::read(text).is_err(), "{text}");
        }
    }
}
