//! The test page that a printer is measured with: two long bars, both diagonals between their ends, a vernier at each bar's end.
//!
//! A vernier reads tenths with a rule that has none: its strokes stand 1.1 mm apart (9/128 in on the other side of the line),
//! so exactly one of them meets a stroke of the rule, and its number is the tenths (the 128ths).

use kurbo::{Affine, Point};

use super::frame;
use super::paper::Paper;
use super::{Page, SheetSet, SheetTitle};
use crate::printer::{ACROSS, DIAGONAL, UP};
use crate::template::paragraph::paragraph;
use crate::template::{Anchor, Role, Template, size};

/// Lower left end of both bars, mm from the field's lower left corner.
const CORNER: (f64, f64) = (5.0, 7.0);
/// Length of the strokes at the bars' ends, mm, to either side.
const END: f64 = 4.0;

/// The test page on that paper. `program` is the program's name and version.
pub fn test_page(paper: Paper, program: &str) -> SheetSet {
    let title = SheetTitle {
        bow: "Printer test page".into(),
        sheets: "measure it, then tell Nockwright".into(),
        digest: "none".into(),
        program: program.into(),
        date: None,
        units: "no design".into(),
        correction: None,
    };
    let place = Affine::translate(paper.field().origin().to_vec2()) * Affine::translate(CORNER);
    let corner = Affine::translate(paper.frame_corner().to_vec2());
    let mut parts: Vec<Template> =
        [bar_across(), bar_up(), diagonals(), words()].into_iter().map(|part| part.moved(place)).collect();
    parts.extend(frame::frame(&title, &paper, 0, 1).iter().map(|part| part.moved(corner)));
    let page = Page { name: "sheet 1 of 1".into(), width: paper.width, height: paper.height, parts };
    SheetSet { title, paper, pages: vec![page], attachments: Vec::new(), remarks: Vec::new() }
}

/// A bar along x from the origin; the first item is the line whose ends are the measure.
fn bar(name: &str, length: f64) -> Template {
    let mut t = Template::new(name);
    t.segment(Role::Scale, (0.0, 0.0), (length, 0.0));
    for x in [0.0, length] {
        t.segment(Role::Scale, (x, -END), (x, END));
    }
    let strokes = [(1.1, 10, 5, 1.0), (25.4 / 16.0 * 9.0 / 8.0, 8, 4, -1.0)];
    for (apart, count, longer, way) in strokes {
        for k in 1..=count {
            let x = length - apart * f64::from(k);
            let reach = if k % longer == 0 { 2.2 } else { 1.4 };
            t.segment(Role::Scale, (x, 0.0), (x, way * reach));
        }
    }
    t
}

fn bar_across() -> Template {
    bar("bar across", ACROSS)
}

fn bar_up() -> Template {
    bar("bar up", UP).moved(Affine::rotate(90f64.to_radians()))
}

fn diagonals() -> Template {
    let mut t = Template::new("diagonals");
    t.segment(Role::Scale, (0.0, 0.0), (ACROSS, UP));
    t.segment(Role::Scale, (0.0, UP), (ACROSS, 0.0));
    // Every corner is a cross; the bars and their end strokes make the most of it.
    for (x, y) in [(ACROSS, 0.0), (ACROSS, UP)] {
        t.segment(Role::Scale, (x - END, y), (x + END, y));
    }
    for (x, y) in [(0.0, UP), (ACROSS, UP)] {
        t.segment(Role::Scale, (x, y - END), (x, y + END));
    }
    t
}

fn words() -> Template {
    let mut t = Template::new("words");
    let middle = ACROSS / 2.0;
    t.words((middle, UP - 13.0), size::HEAD, Anchor::Middle, 0.0, true, "Is this printer true?");
    let text = "1. Print this page at 100 %, not fitted to the page, on the paper you print templates on.\n\
                2. Let it lie flat until it is dry. Measure four lengths, from line middle to line middle: the bar across, \
                the bar up, and both diagonals. Use a steel rule; write down what you read, with the unit.\n\
                3. Type them: nockwright printer \"name\" --across … --up … --rising … --falling …\n\
                4. Print sheets for it: nockwright templates --printer \"name\" …";
    let width = 112.0;
    paragraph(&mut t, Point::new(middle - width / 2.0, UP - 19.0), width, text);
    let text = "Vernier. Lay the rule's zero on the far stroke of a bar and its edge along the line. Of the short strokes at the \
                near end one meets a stroke of the rule best: its number, counted from the end, is the tenths of a \
                millimetre over the last whole one. Across, millimetres stand above the line; below it they are for a rule in \
                sixteenths, and give 128ths.";
    paragraph(&mut t, Point::new(middle - width / 2.0, 29.5), width, text);
    let fields = [("across", ACROSS), ("up", UP), ("rising /", DIAGONAL), ("falling \\", DIAGONAL)];
    for (i, (name, length)) in fields.into_iter().enumerate() {
        let y = 60.0 - 7.5 * i as f64;
        t.text((middle - 24.0, y), size::BODY, Anchor::Start, name);
        t.segment(Role::Note, (middle - 8.0, y - 0.8), (middle + 10.0, y - 0.8));
        t.text((middle + 12.0, y), size::SMALL, Anchor::Start, format!("({length} mm)"));
    }
    t
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheets::paper::PAPERS;
    use crate::template::legible::crossed_texts;

    #[test]
    fn everything_lies_within_the_field_and_no_line_crosses_a_word() {
        for paper in PAPERS {
            let set = test_page(paper, "Nockwright");
            let mut all = Template::new("all");
            for part in &set.pages[0].parts[..4] {
                assert!(paper.field().contains_rect(part.bounds().unwrap()), "{} {:?}", part.name, part.bounds());
            }
            set.pages[0].parts.iter().for_each(|part| all.add(part.clone()));
            assert_eq!(crossed_texts(&all), Vec::<String>::new());
        }
    }

    #[test]
    fn a_vernier_stroke_meets_the_rule_at_its_own_number() {
        // A bar that ends t tenths past a whole millimetre: stroke t lies on a whole one, no other does.
        let strokes: Vec<f64> = (1..=10).map(|k| 1.1 * f64::from(k)).collect();
        for tenths in 1..10 {
            let end = 173.0 + f64::from(tenths) / 10.0;
            let met: Vec<usize> = (1..=10)
                .filter(|k| {
                    let at = end - strokes[k - 1];
                    (at - at.round()).abs() < 1e-9
                })
                .collect();
            assert_eq!(met, [tenths as usize]);
        }
    }
}
