//! What goes wrong between a file and its paper, and what a bar measures then. Worked out from the papers' sizes.

use std::fmt::Write as _;

use crate::fault::Fault;

/// One usual mistake.
#[derive(Debug, Clone, PartialEq)]
pub struct Misprint {
    /// What was done.
    pub name: String,
    /// Printed over true length, across and up.
    pub scale: (f64, f64),
    /// What to change.
    pub cure: String,
}

/// Sizes of paper, mm: ISO 216 and ANSI/ASME Y14.1 (with Legal, which is customary).
const SIZES: [(&str, f64, f64); 5] = [
    ("A4", 210.0, 297.0),
    ("Letter", 215.9, 279.4),
    ("A3", 297.0, 420.0),
    ("Legal", 215.9, 355.6),
    ("Tabloid", 279.4, 431.8),
];

/// Margin that many drivers keep white, mm: a sixth of an inch. Common practice, no source.
const DRIVER_MARGIN: f64 = 25.4 / 6.0;

/// How near a reading must come to a mistake's scale to be likened to it.
/// Larger names more mistakes for one reading; smaller misses those whose margin is not as supposed.
const NEAR: f64 = 0.006;

/// All usual mistakes.
pub fn misprints() -> Vec<Misprint> {
    let mut all = Vec::new();
    for (made, width, height) in SIZES {
        for (loaded, paper_width, paper_height) in SIZES {
            let fit = (paper_width / width).min(paper_height / height);
            if made != loaded && (fit - 1.0).abs() > 1e-6 {
                all.push(Misprint {
                    name: format!("{made} page made to fit {loaded} paper"),
                    scale: (fit, fit),
                    cure: format!("set the paper size to what lies in the tray, and the scale to 100 %: `--paper {loaded}` lays the sheets out for it"),
                });
            }
            let inner =
                ((paper_width - 2.0 * DRIVER_MARGIN) / width).min((paper_height - 2.0 * DRIVER_MARGIN) / height);
            all.push(Misprint {
                name: format!("{made} page made to fit within the margins of {loaded} paper"),
                scale: (inner, inner),
                cure: "switch off \"fit to page\", \"shrink to printable area\" and the like, and print at 100 %"
                    .into(),
            });
        }
    }
    for (written, read) in [(72.0, 96.0), (96.0, 72.0), (90.0, 96.0), (96.0, 90.0)] {
        let scale = written / read;
        all.push(Misprint {
            name: format!("drawing of {written:.0} points to the inch taken for one of {read:.0}"),
            scale: (scale, scale),
            cure: "open the SVG in a program that keeps millimetres, or print the PDF".into(),
        });
    }
    for (name, scale) in [
        ("half a length, such as two sheets side by side", 0.5),
        ("lengths read in cm for mm", 0.1),
        ("lengths read in inches for mm", 1.0 / 25.4),
        ("lengths read in mm for inches", 25.4),
    ] {
        all.push(Misprint {
            name: name.into(),
            scale: (scale, scale),
            cure: "write each length with the unit of your rule, and print one page to a sheet".into(),
        });
    }
    all
}

/// The mistakes that give such scales, the nearest first; each scale once.
pub fn like(across: f64, up: f64) -> Vec<Misprint> {
    let off = |m: &Misprint| (across / m.scale.0 - 1.0).abs().max((up / m.scale.1 - 1.0).abs());
    let mut near: Vec<Misprint> = misprints().into_iter().filter(|m| off(m) <= NEAR).collect();
    near.sort_by(|a, b| off(a).total_cmp(&off(b)));
    near
}

/// The fault of scales that no printer in order has, likened to the usual mistakes.
pub fn fault(key: &str, across: f64, up: f64) -> Fault {
    let percent = |scale: f64| format!("{:.1} %", scale * 100.0);
    let what = if (across - up).abs() < 0.005 {
        format!("the page came out at {}", percent((across + up) / 2.0))
    } else {
        format!("the page came out at {} across and {} up", percent(across), percent(up))
    };
    let limit = "a printer in order is off by up to 1 %, and more than 2 % is a wrong setting";
    let like = like(across, up);
    let names: Vec<&str> = like.iter().map(|m| m.name.as_str()).collect();
    match like.first() {
        Some(first) => Fault::at(key, what, format!("{limit}; this looks like: {}", names.join("; "))).cure(first.cure.clone()),
        None => Fault::at(key, what, limit)
            .cure("print at 100 % on the paper the page was laid out for, and measure again; `nockwright printer --table` lists what usual mistakes give"),
    }
}

/// The table of what each wrong reading means, the smallest scale first, as text.
pub fn table() -> String {
    let mut all = misprints();
    all.retain(|m| (0.4..2.5).contains(&m.scale.0));
    all.sort_by(|a, b| a.scale.0.total_cmp(&b.scale.0).then(a.name.cmp(&b.name)));
    let mut text = String::from("  scale    100 mm reads   what was done\n");
    for m in all {
        let _ = writeln!(text, "  {:5.1} %     {:5.1} mm     {}", m.scale.0 * 100.0, m.scale.0 * 100.0, m.name);
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_give_the_scales_they_must() {
        let scale = |name: &str| misprints().into_iter().find(|m| m.name == name).unwrap().scale.0;
        // 279.4/297 and 210/215.9; A3 to A4 is the root of a half but for the rounding to whole millimetres.
        assert!((scale("A4 page made to fit Letter paper") - 0.940_74).abs() < 1e-5);
        assert!((scale("Letter page made to fit A4 paper") - 0.972_67).abs() < 1e-5);
        assert!((scale("A3 page made to fit A4 paper") - 0.5f64.sqrt()).abs() < 1e-3);
        assert!((scale("drawing of 72 points to the inch taken for one of 96") - 0.75).abs() < 1e-12);
        assert!((scale("drawing of 96 points to the inch taken for one of 72") - 4.0 / 3.0).abs() < 1e-12);
    }

    #[test]
    fn a_reading_is_likened_to_what_gives_it_and_a_true_one_to_nothing() {
        assert!(like(0.94, 0.94)[0].name.contains("A4 page made to fit Letter"));
        assert!(like(0.973, 0.972)[0].name.contains("Letter page made to fit A4"));
        assert!(like(1.0, 1.0).is_empty() && like(0.94, 1.0).is_empty());
        assert!(table().contains("94.1 %"));
    }
}
