//! Measures in: from what a maker writes to SI.

use std::ops::Range;

use super::INCH;
use super::kinds::{Kind, UNITS, Unit, find_unit};

/// Why a text is no measure of the kind that was wanted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Misread {
    /// What is wrong, with what was read.
    pub what: String,
    /// What is allowed, and why.
    pub why: String,
    /// What would help.
    pub cure: String,
    /// The bytes of the text that are to blame.
    pub at: Range<usize>,
}

/// Longest text that is still taken for a measure, bytes.
const LONGEST: usize = 80;

/// Reads one measure of the wanted kind, as an SI value. The value is finite; whether its size makes sense is the caller's to say.
///
/// # Errors
/// [`Misread`] when the text has no number, no unit, another kind's unit, or more than one reading.
pub fn read(text: &str, kind: Kind) -> Result<f64, Misread> {
    let mut cursor = Cursor { text, at: 0 };
    if text.len() > LONGEST {
        return Err(cursor.misread(
            0..text.len(),
            format!("a text of {} letters is no measure", text.chars().count()),
            kind,
        ));
    }
    cursor.skip_spaces();
    let sign = cursor.sign();
    let start = cursor.at;
    let number = cursor.number(kind)?;
    cursor.skip_spaces();
    let unit = cursor.unit(kind, number, start)?;
    let mut value = number * unit.map_or(1.0, |u| u.size);
    cursor.skip_spaces();
    // Feet may be followed by inches: 5 ft 8 1/2 in.
    if unit.is_some_and(|u| u.names[0] == "ft") && cursor.at < text.len() {
        let inches_start = cursor.at;
        let inches = cursor.number(kind)?;
        cursor.skip_spaces();
        let second = cursor.unit(kind, inches, inches_start)?;
        if second.is_none_or(|u| u.names[0] != "in") {
            return Err(Misread {
                what: format!("{} follows feet", quoted(&text[inches_start..])),
                why: "after feet only inches can follow, as in `5 ft 8 in`".into(),
                cure: "write the whole length in one unit".into(),
                at: inches_start..text.len(),
            });
        }
        value += inches * INCH;
        cursor.skip_spaces();
    }
    if cursor.at < text.len() {
        let rest = cursor.at..text.len();
        let what = format!("{} follows the measure", quoted(&text[rest.clone()]));
        return Err(cursor.misread(rest, what, kind));
    }
    value *= sign;
    if value.is_finite() {
        Ok(value)
    } else {
        Err(cursor.misread(0..text.len(), format!("{} is too large to be a number", quoted(text)), kind))
    }
}

/// Reads two measures joined by `at`, such as `40 lb at 28 in`, as SI values.
///
/// # Errors
/// As for [`read`]; also when there is no `at`.
pub fn read_pair(text: &str, first: Kind, second: Kind, example: &str) -> Result<(f64, f64), Misread> {
    let Some(gap) = text.find(" at ") else {
        return Err(Misread {
            what: format!("{} lacks the word `at`", quoted(text)),
            why: format!("{} at {} is wanted", first.name(), second.name()),
            cure: format!("write it as in `{example}`"),
            at: 0..text.len(),
        });
    };
    let tail = gap + " at ".len();
    let a = read(text[..gap].trim_end(), first)?;
    let b = read(&text[tail..], second).map_err(|m| Misread { at: m.at.start + tail..m.at.end + tail, ..m })?;
    Ok((a, b))
}

/// What was read, between backquotes, kept short and free of control characters.
pub(crate) fn quoted(text: &str) -> String {
    let mut short: String = text.chars().take(40).map(|c| if c.is_control() { '�' } else { c }).collect();
    if text.chars().nth(40).is_some() {
        short.push('…');
    }
    format!("`{short}`")
}

struct Cursor<'a> {
    text: &'a str,
    at: usize,
}

impl Cursor<'_> {
    fn rest(&self) -> &str {
        &self.text[self.at..]
    }

    fn peek(&self) -> Option<char> {
        self.rest().chars().next()
    }

    fn eat(&mut self, want: impl Fn(char) -> bool) -> Option<char> {
        let c = self.peek().filter(|c| want(*c))?;
        self.at += c.len_utf8();
        Some(c)
    }

    fn skip_spaces(&mut self) {
        while self.eat(char::is_whitespace).is_some() {}
    }

    fn digits(&mut self) -> &str {
        let start = self.at;
        while self.eat(|c| c.is_ascii_digit()).is_some() {}
        &self.text[start..self.at]
    }

    /// Eats a leading sign: 1 or -1.
    fn sign(&mut self) -> f64 {
        let sign = match self.eat(|c| c == '+' || is_dash(c)) {
            Some('+') | None => 1.0,
            Some(_) => -1.0,
        };
        self.skip_spaces();
        sign
    }

    fn misread(&self, at: Range<usize>, what: String, kind: Kind) -> Misread {
        Misread {
            what,
            why: match kind {
                Kind::Number => "a plain number is wanted here".to_owned(),
                _ => format!("{} is wanted here: a number and its unit", kind.name()),
            },
            cure: format!("write it as in {}", kind.examples()),
            at,
        }
    }

    /// Eats a number: whole, decimal, fraction, or whole with fraction.
    fn number(&mut self, kind: Kind) -> Result<f64, Misread> {
        let start = self.at;
        if let Some(part) = self.eat_vulgar() {
            return Ok(part);
        }
        let whole_len = self.digits().len();
        let whole_end = self.at;
        if whole_len > 0 {
            if let Some(part) = self.eat_vulgar() {
                return Ok(digits_value(&self.text[start..whole_end]) + part);
            }
            if self.eat(is_slash).is_some() {
                return self.fraction(start, start..whole_end);
            }
        }
        if let Some(mark) = self.eat(|c| c == '.' || c == ',') {
            return self.decimals(start, whole_end, mark, kind);
        }
        if whole_len == 0 {
            return Err(self.no_number(start, kind));
        }
        let whole = digits_value(&self.text[start..whole_end]);
        if let Some(power) = self.power() {
            return Ok(whole * power);
        }
        // A fraction may follow after a gap or a dash: 6 1/4, 6-1/4, 6 - 1/4.
        let before = self.at;
        self.skip_spaces();
        self.eat(is_dash);
        self.skip_spaces();
        let fraction_start = self.at;
        if let Some(part) = self.eat_vulgar() {
            return Ok(whole + part);
        }
        if !self.digits().is_empty() {
            let top = fraction_start..self.at;
            if self.eat(is_slash).is_some() {
                let part = self.fraction(fraction_start, top)?;
                if part >= 1.0 {
                    return Err(Misread {
                        what: format!("{} stands beside a whole number", quoted(&self.text[fraction_start..self.at])),
                        why: "a fraction after a whole number must be less than 1, or it is a slip of the pen".into(),
                        cure: format!("write {} if that is meant", quoted(&(whole + part).to_string())),
                        at: fraction_start..self.at,
                    });
                }
                return Ok(whole + part);
            }
            if before < fraction_start {
                return Err(Misread {
                    what: format!("two numbers stand side by side in {}", quoted(&self.text[start..self.at])),
                    why: "after a whole number only a fraction can follow, as in `6 1/4 in`".into(),
                    cure: "write thousands without a gap, and decimals with a point".into(),
                    at: start..self.at,
                });
            }
        }
        self.at = before;
        Ok(whole)
    }

    fn no_number(&self, start: usize, kind: Kind) -> Misread {
        let rest = self.text[start..].trim_end();
        let lower = rest.to_lowercase();
        let what = if rest.is_empty() {
            "there is nothing here".to_owned()
        } else if lower.starts_with("nan") || lower.starts_with("inf") || lower.starts_with('∞') {
            format!("{} is not a number that can be measured", quoted(rest))
        } else {
            format!("{} does not start with a number", quoted(rest))
        };
        let at = if rest.is_empty() { 0..self.text.len() } else { start..start + rest.len() };
        self.misread(at, what, kind)
    }

    /// The part after a decimal mark that has just been eaten.
    fn decimals(&mut self, start: usize, whole_end: usize, mark: char, kind: Kind) -> Result<f64, Misread> {
        let tail_start = self.at;
        let tail_len = self.digits().len();
        let tail_end = self.at;
        let (whole, tail) = (&self.text[start..whole_end], &self.text[tail_start..tail_end]);
        if tail_len == 0 {
            let what = format!("no digit follows the {}", if mark == ',' { "comma" } else { "point" });
            return Err(self.misread(start..tail_end, what, kind));
        }
        if matches!(self.peek(), Some('.' | ',')) {
            let end = self.text.len();
            let what = format!("{} has more than one point or comma", quoted(&self.text[start..end]));
            let mut misread = self.misread(start..end, what, kind);
            misread.cure = "write thousands without a mark, and one point before the decimals".into();
            return Err(misread);
        }
        // 1,234 mm: a decimal comma, or a comma that parts the thousands? Nobody but the maker knows.
        if mark == ',' && tail_len == 3 && !whole.is_empty() && whole != "0" && whole.len() <= 3 {
            return Err(Misread {
                what: format!("{} can be read in two ways", quoted(&self.text[start..tail_end])),
                why: "a comma before three digits may stand for a decimal point or may part the thousands".into(),
                cure: format!("write `{whole}.{tail}` or `{whole}{tail}`"),
                at: start..tail_end,
            });
        }
        let value = format!("0{whole}.{tail}").parse().unwrap_or(f64::INFINITY);
        Ok(value * self.power().unwrap_or(1.0))
    }

    /// Eats a power of ten, as in 1.2e9, when one follows.
    fn power(&mut self) -> Option<f64> {
        let before = self.at;
        self.eat(|c| c == 'e' || c == 'E')?;
        let sign = self.eat(|c| c == '+' || c == '-');
        let digits = self.digits();
        if digits.is_empty() {
            self.at = before;
            return None;
        }
        let power: i32 = digits.parse().unwrap_or(9999);
        Some(10f64.powi(if sign == Some('-') { -power } else { power }))
    }

    /// The lower half of a fraction whose slash has just been eaten.
    fn fraction(&mut self, start: usize, top: Range<usize>) -> Result<f64, Misread> {
        self.skip_spaces();
        let bottom = digits_value(self.digits());
        let value = digits_value(&self.text[top]) / bottom;
        if bottom > 0.0 && value.is_finite() {
            return Ok(value);
        }
        Err(Misread {
            what: format!("{} is no fraction", quoted(&self.text[start..self.at])),
            why: "a fraction has a whole number above zero under its line".into(),
            cure: "write it as in `13/32 in`".into(),
            at: start..self.at,
        })
    }

    /// Eats one of the fractions that are a single letter.
    fn eat_vulgar(&mut self) -> Option<f64> {
        let value = match self.peek()? {
            '½' => 1.0 / 2.0,
            '⅓' => 1.0 / 3.0,
            '⅔' => 2.0 / 3.0,
            '¼' => 1.0 / 4.0,
            '¾' => 3.0 / 4.0,
            '⅛' => 1.0 / 8.0,
            '⅜' => 3.0 / 8.0,
            '⅝' => 5.0 / 8.0,
            '⅞' => 7.0 / 8.0,
            _ => return None,
        };
        self.eat(|_| true);
        Some(value)
    }

    /// Eats the unit. A plain number needs none.
    fn unit(&mut self, kind: Kind, number: f64, start: usize) -> Result<Option<&'static Unit>, Misread> {
        let unit_start = self.at;
        let number_text = self.text[start..unit_start].trim_end().to_owned();
        let first = self.peek();
        // A sign such as " or # is a unit by itself; a word runs to the next gap, digit or sign.
        if let Some(c) = first.filter(|c| !c.is_alphabetic()) {
            while self.eat(|next| next == c && matches!(c, '\'' | '′' | '’')).is_some() {}
            if self.at == unit_start && !c.is_ascii_digit() {
                self.eat(|_| true);
            }
        } else {
            while self.eat(|c| !c.is_whitespace() && !matches!(c, '"' | '″' | '(' | ';')).is_some() {}
        }
        let written = self.text[unit_start..self.at].to_owned();
        if written.is_empty() {
            return match kind {
                Kind::Number if first.is_none() => Ok(None),
                _ => Err(bare(&number_text, start..self.text.len().max(start), kind)),
            };
        }
        match find_unit(&written) {
            Some(found) if found.kind == kind => Ok(Some(found)),
            Some(found) => {
                let what = format!("{} is {}", quoted(&self.text[start..self.at]), found.kind.name());
                Err(self.misread(unit_start..self.at, what, kind))
            }
            None => {
                let what = format!("{} is not a unit known here", quoted(&written));
                let mut misread = self.misread(unit_start..self.at, what, kind);
                let near = UNITS
                    .iter()
                    .filter(|u| u.kind == kind)
                    .flat_map(|u| u.names)
                    .map(|name| (strsim::damerau_levenshtein(&name.to_lowercase(), &written.to_lowercase()), *name))
                    .min_by_key(|(distance, _)| *distance);
                if let Some((distance, name)) = near
                    && number.is_finite()
                    && distance <= 1
                    && name.len() > 1
                {
                    misread.cure = format!("did you mean `{number_text} {name}`?");
                }
                Err(misread)
            }
        }
    }
}

/// The refusal of a number without a unit: the commonest slip, with the cure.
fn bare(number: &str, at: Range<usize>, kind: Kind) -> Misread {
    let number = if number.is_empty() { "0" } else { number };
    let (first, second) = match kind {
        Kind::Length => ("in", "mm"),
        Kind::Angle => ("deg", "rad"),
        Kind::Force => ("lb", "N"),
        Kind::Stress => ("GPa", "psi"),
        Kind::Density => ("kg/m3", "g/cm3"),
        Kind::Number => ("%", "%"),
    };
    Misread {
        what: format!("{} has no unit", quoted(number)),
        why: format!("{} needs its unit: a guess could be wrong 25-fold", kind.name()),
        cure: format!("which unit? `{number} {first}` or `{number} {second}`"),
        at,
    }
}

fn digits_value(digits: &str) -> f64 {
    digits.parse().unwrap_or(f64::NAN)
}

fn is_dash(c: char) -> bool {
    matches!(c, '-' | '\u{2212}' | '\u{2013}' | '\u{2010}' | '\u{2011}')
}

fn is_slash(c: char) -> bool {
    matches!(c, '/' | '\u{2044}' | '\u{2215}')
}

#[cfg(test)]
mod tests {
    use super::*;

    fn length(text: &str) -> f64 {
        read(text, Kind::Length).unwrap_or_else(|m| panic!("{text}: {m:?}"))
    }

    #[test]
    fn lengths_as_makers_write_them() {
        let in_mm = |mm: f64, texts: &[&str]| {
            for text in texts {
                assert!((length(text) * 1000.0 - mm).abs() < 1e-9, "{text} is {} mm, not {mm}", length(text) * 1000.0);
            }
        };
        in_mm(
            158.75,
            &["6 1/4 in", "6-1/4 in", "6.25in", "6 1/4\"", "6¼ in", "6 ¼″", "6,25 in", " 6 1⁄4 Inches ", "6 - 1/4 in."],
        );
        in_mm(10.31875, &["13/32 in", "13/32\"", "0.40625 in", ".40625 in", "0,40625 in"]);
        in_mm(28.5, &["28,5 mm", "28.5mm", "2.85 cm", "0.0285 m", "+28.5 mm", "285e-1 mm", "28.5 MM"]);
        in_mm(-12.7, &["-1/2 in", "\u{2212}½ in", "- 0.5 in", "–12.7 mm"]);
        in_mm(1828.8, &["6′", "6 ft", "6'", "5 ft 12 in", "5' 12\"", "6 feet"]);
        in_mm(1739.9, &["5 ft 8 1/2 in", "5'8½\"", "5’ 8 1/2’’"]);
        in_mm(1234.5, &["1234,5 mm", "1234.5 mm"]);
        in_mm(0.125, &["0,125 mm"]);
    }

    #[test]
    fn other_kinds() {
        let close = |text: &str, kind: Kind, want: f64| {
            let got = read(text, kind).unwrap_or_else(|m| panic!("{text}: {m:?}"));
            assert!((got - want).abs() <= 1e-9 * want.abs(), "{text}: {got}, not {want}");
        };
        // NIST SP 811 (2008), appendix B: pound-force 4.448222 N, kilogram-force 9.80665 N, psi 6894.757 Pa.
        for text in ["40 lb", "40 #", "40#", "40 lbs", "40 pounds"] {
            close(text, Kind::Force, 177.928_864_610_21);
        }
        close("18 kg", Kind::Force, 176.5197);
        close("178 N", Kind::Force, 178.0);
        close("22 deg", Kind::Angle, 0.383_972_435_438_752_5);
        close("22°", Kind::Angle, 0.383_972_435_438_752_5);
        close("11 GPa", Kind::Stress, 11e9);
        close("1 Mpsi", Kind::Stress, 6_894_757_293.168_36);
        close("15000 psi", Kind::Stress, 103_421_359.397_525_4);
        close("0.6 g/cm3", Kind::Density, 600.0);
        assert!((read("1 lb/ft3", Kind::Density).unwrap() - 16.018_46).abs() < 5e-6);
        close("0.15", Kind::Number, 0.15);
        close("15 %", Kind::Number, 0.15);
    }

    #[test]
    fn what_is_refused_and_with_which_cure() {
        let refused = |text: &str, kind: Kind, cure: &str| {
            let misread = read(text, kind).expect_err(text);
            let all = format!("{} | {} | {}", misread.what, misread.why, misread.cure);
            assert!(all.contains(cure), "{text}: {all}");
            assert!(text.get(misread.at.clone()).is_some(), "{text}: {:?}", misread.at);
        };
        refused("6.25", Kind::Length, "which unit? `6.25 in` or `6.25 mm`");
        refused("6 1/4", Kind::Length, "which unit? `6 1/4 in` or `6 1/4 mm`");
        refused("", Kind::Length, "nothing here");
        refused("in", Kind::Length, "does not start with a number");
        refused("NaN", Kind::Number, "not a number that can be measured");
        refused("inf mm", Kind::Length, "not a number that can be measured");
        refused("-infinity", Kind::Length, "not a number that can be measured");
        refused("1e999 mm", Kind::Length, "too large");
        refused("1,234 mm", Kind::Length, "`1.234` or `1234`");
        refused("1.234,5 mm", Kind::Length, "more than one point or comma");
        refused("1 000 mm", Kind::Length, "two numbers stand side by side");
        refused("6 5/4 in", Kind::Length, "`7.25`");
        refused("6 1/0 in", Kind::Length, "no fraction");
        refused("1/ in", Kind::Length, "no fraction");
        refused("40 lb", Kind::Length, "is a pull");
        refused("6 nm", Kind::Length, "did you mean `6 mm`?");
        refused("6 furlongs", Kind::Length, "not a unit known here");
        refused("6 in 3 mm", Kind::Length, "follows the measure");
        refused("6 ft 3 mm", Kind::Length, "after feet only inches");
        refused("11 mPa", Kind::Stress, "did you mean `11 MPa`?");
        refused("6. in", Kind::Length, "no digit follows the point");
        refused("0.15 in", Kind::Number, "is a length");
    }
}
