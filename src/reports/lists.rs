//! What can be chosen: nock styles and their keys, woods and nock materials.

use crate::design::Certainty;
use crate::fault::Faults;
use crate::nock::{KeyDefault, KeyKind, NOCK_STYLES};
use crate::pieces::small_figure::on_the_sample;
use crate::reports::letters::in_letters;
use crate::units::number_text;
use crate::wood::{Figure, MODULUS_NOTE, Span, nock_materials};
use kurbo::Rect;
use std::fmt::Write;

/// The part of a style's small figure that is shown in letters: the side view, mm.
const SHOWN: Rect = Rect::new(-48.0, -13.0, 24.0, 14.0);

/// Breaks words into lines of at most `width` characters, each after `indent` spaces.
pub fn wrapped(text: &str, indent: usize, width: usize) -> String {
    let mut out = String::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        if !line.is_empty() && indent + line.chars().count() + 1 + word.chars().count() > width {
            let _ = writeln!(out, "{:indent$}{line}", "");
            line.clear();
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(word);
    }
    if !line.is_empty() {
        let _ = writeln!(out, "{:indent$}{line}", "");
    }
    out
}

/// What a key takes, in words.
fn takes(kind: &KeyKind) -> String {
    match kind {
        KeyKind::Length(low, high) => {
            format!("a length, {} to {} mm", number_text(low * 1e3, 1), number_text(high * 1e3, 0))
        }
        KeyKind::Angle(low, high) => {
            format!("an angle, {} to {}°", number_text(low.to_degrees(), 0), number_text(high.to_degrees(), 0))
        }
        KeyKind::Number(low, high) => format!("a number, {} to {}", number_text(*low, 2), number_text(*high, 2)),
        KeyKind::Choice(words) => format!("one of: {}", words.join(", ")),
    }
}

/// All styles with their keys, each with its figure in letters.
///
/// # Errors
/// Why the built-in sample cannot carry a style.
pub fn styles() -> Result<String, Faults> {
    let mut text =
        String::from("Nock styles. Choose one with `style = \"...\"` in [nock], [upper.nock] or [lower.nock].\n");
    for style in NOCK_STYLES {
        let _ = write!(text, "\n{}\n{}\n", style.name(), wrapped(style.summary(), 2, 100));
        text.push_str(&in_letters(&on_the_sample(*style)?, SHOWN, 2));
        for key in style.keys() {
            let default = match key.default {
                KeyDefault::Written(written) => written.to_owned(),
                KeyDefault::Worked(rule, _) => rule.to_owned(),
            };
            let _ = writeln!(text, "\n    {}  ({}; default: {default})", key.name, takes(&key.kind));
            text.push_str(&wrapped(key.meaning, 6, 100));
            text.push_str(&wrapped(key.reason, 6, 100));
        }
    }
    Ok(text)
}

/// The same as a page, with the figure of all styles beside it.
pub fn styles_page() -> String {
    let mut text = String::from(
        "# Nock styles\n\n\
         Written by `nockwright styles --page`; the figure by `nockwright styles --figure`.\n\n\
         All styles on one and the same limb, from the side (back up, string at brace and at full draw) and from the back:\n\n\
         ![Every nock style from the side and from the back](styles.svg)\n\n\
         A style is offered only when a loop is seen to stay on it, drawing and letting down, on the four bows of the tests; the straight \
         groove is the one exception, there to compare with and for a bowyer's knot. `nockwright check` and `nockwright loop` say what it does on yours.\n",
    );
    for style in NOCK_STYLES {
        let _ = write!(
            text,
            "\n## {}\n\n{}\n\n| key | takes | when left out | what it is, and why |\n|---|---|---|---|\n",
            style.name(),
            style.summary()
        );
        for key in style.keys() {
            let default = match key.default {
                KeyDefault::Written(written) => written.to_owned(),
                KeyDefault::Worked(rule, _) => rule.to_owned(),
            };
            let _ = writeln!(
                text,
                "| `{}` | {} | {default} | {} {} |",
                key.name,
                takes(&key.kind),
                key.meaning,
                key.reason
            );
        }
    }
    text
}

/// Woods and nock materials with sources.
pub fn woods() -> String {
    let mut text = String::from(
        "Woods at 12 % moisture, small clear specimens; across and along grain are compression. Choose one with `wood = \"...\"` in [limb].\n\
         Figures marked * are from memory, not read again in the published table.\n\n",
    );
    let figure = |f: &Figure, decimals: usize| {
        let mark = if f.certainty == Certainty::Memory { "*" } else { "" };
        format!("{}{mark}", number_text(f.value, decimals))
    };
    let some = |f: &Option<Figure>, decimals: usize| f.as_ref().map_or("-".to_owned(), |f| figure(f, decimals));
    let _ = writeln!(
        text,
        "{:<22} {:>8} {:>10} {:>9} {:>14} {:>12} {:>9}",
        "wood", "density", "modulus", "rupture", "across grain", "along grain", "shear"
    );
    let _ = writeln!(
        text,
        "{:<22} {:>8} {:>10} {:>9} {:>14} {:>12} {:>9}",
        "", "g/cm3", "Mpsi", "psi", "psi", "psi", "psi"
    );
    for wood in crate::wood::woods() {
        let _ = writeln!(
            text,
            "{:<22} {:>8} {:>10} {:>9} {:>14} {:>12} {:>9}",
            wood.name,
            figure(&wood.specific_gravity, 2),
            figure(&wood.modulus_mpsi, 2),
            figure(&wood.rupture_psi, 0),
            some(&wood.bearing_psi, 0),
            some(&wood.crushing_psi, 0),
            some(&wood.shear_psi, 0)
        );
    }
    text.push('\n');
    text.push_str(&wrapped(MODULUS_NOTE, 0, 100));
    let mut sources: Vec<&str> = Vec::new();
    for wood in crate::wood::woods() {
        if !sources.contains(&wood.source) {
            sources.push(wood.source);
        }
    }
    text.push_str("\nSources:\n");
    for source in sources {
        text.push_str(&wrapped(source, 2, 100));
    }
    text.push_str("\nNock materials. Ranges are real: moisture and direction move them.\n");
    let spans = |spans: &[Span], unit: &str| {
        let one = |s: &Span| {
            let range = if s.low == s.high {
                number_text(s.low, 2)
            } else {
                format!("{} to {}", number_text(s.low, 2), number_text(s.high, 2))
            };
            format!("{range} {unit} {}", s.how).trim_end().to_owned()
        };
        spans.iter().map(one).collect::<Vec<_>>().join("; ")
    };
    for material in nock_materials() {
        let _ = writeln!(text, "\n  {}", material.name);
        if let Some(density) = &material.density {
            let _ = writeln!(text, "    density  {} g/cm3", figure(density, 2));
        }
        for (name, list, unit) in [("modulus", material.modulus, "GPa"), ("strength", material.strength, "MPa")] {
            if !list.is_empty() {
                let _ = writeln!(text, "    {name:<8} {}", spans(list, unit));
            }
        }
        let _ = writeln!(text, "    source   {}", material.source);
    }
    text
}
