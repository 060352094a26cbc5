//! What stands round the pieces on every page: frame, title block, cautions, scale bars.

use kurbo::{Affine, Rect, Shape};

use super::large_print::{LETTERS, NAME};
use super::paper::{FOOT_STRIP, FRAME, Paper, SIDE_STRIP};
use super::{Head, SheetTitle};
use crate::font::{CAP_HEIGHT, DESCENT, shorten, text_width, wrap};
use crate::template::scale_bar::{HEIGHT as BAR_HEIGHT, INCHES, MILLIMETRES};
use crate::template::{Anchor, Role, Template, line_key, paragraph, size};

/// Name of the part that shows every kind of line: nothing in it is a line to work by.
pub const EXPLANATION: &str = "how to read these sheets";

/// Printed beside the bars.
pub const PRINT_NOTE: &str = "Print at 100 %, do not fit to page. Measure all bars before you cut.";

/// Printed on every page.
pub const CAUTIONS: &str = "Guard your eyes; keep horn and wood dust out of your lungs. Never let go of the string \
    without an arrow on it. Look over bow, nocks and string before each use. Draw a new or altered bow first on a \
    tiller, from a distance. Local rules and experienced bowyers' practice come first.";

/// Printed in large letters where the cautions themselves have no room in them. The first sheet always has.
pub const CAUTIONS_ELSEWHERE: &str = "Cautions: sheet 1.";

/// Between the lines of the two bars that stand together, mm.
const BARS_APART: f64 = 0.6;
/// From the frame to text and bars, mm.
const INSET: f64 = 3.0;
/// Where the title block begins at the foot, mm from the frame's left.
const TITLE_LEFT: f64 = 118.0;
/// From one line of the cautions to the next, mm.
const CAUTION_LEADING: f64 = 3.2;
/// How much wider the cautions may come out where a program that shows SVG has not got our face and does not heed the
/// lengths given: the widest common sans-serif (DejaVu Sans) sets them 1.07 times as wide.
const OTHER_FACE: f64 = 1.1;

/// The parts of the frame of one page, with the frame's lower left corner as origin.
pub fn frame(title: &SheetTitle, paper: &Paper, page: usize, pages: usize) -> Vec<Template> {
    let size = paper.frame();
    let mut parts = vec![lines(title, size), title_block(title, size, page, pages), cautions(size)];
    parts.extend(bars("across", Affine::translate((INSET, 0.7 + BAR_HEIGHT + BARS_APART))));
    // Turned a quarter: what was above the bars is at their left.
    let middle = size.0 - SIDE_STRIP / 2.0 + BARS_APART / 2.0;
    parts.extend(bars("up", Affine::translate((middle, FOOT_STRIP + INSET)) * Affine::rotate(90f64.to_radians())));
    parts
}

/// Both bars in one direction, the millimetres' line on the origin's level.
fn bars(direction: &str, place: Affine) -> [Template; 2] {
    [(MILLIMETRES, 0.0), (INCHES, -BARS_APART)].map(|(bar, lift)| {
        let mut t = bar.template().moved(place * Affine::translate((0.0, lift)));
        t.name = format!("{} {direction}", bar.name);
        t
    })
}

fn lines(title: &SheetTitle, (width, height): (f64, f64)) -> Template {
    let mut t = Template::new("frame");
    // The outermost line lies inside the margin with all its width.
    let half = Role::Scale.look().width / 2.0;
    t.line(Role::Scale, Rect::new(half, half, width - half, height - half).to_path(0.1));
    t.segment(Role::Scale, (0.0, FOOT_STRIP), (width, FOOT_STRIP));
    t.segment(Role::Scale, (width - SIDE_STRIP, FOOT_STRIP), (width - SIDE_STRIP, height));
    t.segment(Role::Scale, (TITLE_LEFT, 0.0), (TITLE_LEFT, FOOT_STRIP));
    let note = match &title.correction {
        None => PRINT_NOTE.to_owned(),
        Some(correction) => {
            let room = TITLE_LEFT - 2.0 * INSET;
            // The name gives way, never the date.
            let (before, after) =
                ("For one printer at 100 %: ", format!("{}. Measure all bars.", correction.date_words()));
            let taken = text_width(before, size::SMALL, true) + text_width(&after, size::SMALL, true);
            format!("{before}{}{after}", shorten(&correction.printer, size::SMALL, true, room - taken))
        }
    };
    t.words((INSET, 10.45), size::SMALL, Anchor::Start, 0.0, true, note);
    t
}

fn title_block(title: &SheetTitle, (width, _): (f64, f64), page: usize, pages: usize) -> Template {
    let mut t = Template::new("title block");
    let (left, right) = (TITLE_LEFT + 2.0, width - 2.0);
    let row = FOOT_STRIP / 3.0;
    let baseline = |from_foot: f64, size: f64| (from_foot + 0.5) * row - CAP_HEIGHT * size / 2.0;
    for line in [1.0, 2.0] {
        t.segment(Role::Note, (TITLE_LEFT, line * row), (width, line * row));
    }
    let mut pair = |from_foot: f64, at_left: &str, left_size: f64, at_right: &str, bold: bool| {
        let taken = text_width(at_right, size::SMALL, false);
        let room = right - left - taken - if at_right.is_empty() { 0.0 } else { 3.0 };
        let text = shorten(at_left, left_size, bold, room);
        t.words((left, baseline(from_foot, left_size)), left_size, Anchor::Start, 0.0, bold, text);
        t.text((right, baseline(from_foot, size::SMALL)), size::SMALL, Anchor::End, at_right);
    };
    let sheet = format!("sheet {} of {pages}", page + 1);
    let origin = format!("design {} · {}", title.digest, title.program);
    pair(2.0, &title.bow, size::BODY, title.date.as_deref().unwrap_or(""), true);
    pair(1.0, &title.sheets, size::SMALL, &sheet, false);
    pair(0.0, &title.units, size::SMALL, &origin, false);
    t
}

fn cautions((width, height): (f64, f64)) -> Template {
    let mut t = Template::new("cautions");
    // Set along x, then turned a quarter to stand above the upright bars.
    let start = FOOT_STRIP + INSET + INCHES.length() + 12.0;
    // On larger paper the words keep to the length they have on the smaller.
    let end = height.min(FRAME.1) - INSET;
    let head = text_width("Caution", size::SMALL, true) + 3.0;
    let lines = wrap(CAUTIONS, size::SMALL, false, (end - start - head) / OTHER_FACE);
    let block = CAP_HEIGHT * size::SMALL + (lines.len().saturating_sub(1)) as f64 * CAUTION_LEADING;
    // As far from the line above the capitals as from the one below the last letters' tails.
    let top = (block + DESCENT * size::SMALL) / 2.0 - CAP_HEIGHT * size::SMALL;
    t.words((0.0, top), size::SMALL, Anchor::Start, 0.0, true, "Caution");
    for (row, line) in lines.iter().enumerate() {
        t.text((head, top - row as f64 * CAUTION_LEADING), size::SMALL, Anchor::Start, line.clone());
    }
    let name = t.name.clone();
    let middle = width - SIDE_STRIP / 2.0;
    t = t.moved(Affine::translate((middle, start)) * Affine::rotate(90f64.to_radians()));
    t.name = name;
    t
}

/// Name of the head in large letters.
pub const LARGE_HEAD: &str = "head in large letters";

/// What the strips say, in large letters, from the origin down within `width` mm; and how high it is, mm.
pub fn large_head(title: &SheetTitle, width: f64, page: usize, pages: usize, head: Head) -> (Template, f64) {
    let mut t = Template::new(LARGE_HEAD);
    let bow = shorten(&title.bow, NAME, true, width);
    t.words((0.0, -CAP_HEIGHT * NAME), NAME, Anchor::Start, 0.0, true, bow);
    let mut down = 1.25 * NAME;
    let note = match &title.correction {
        None => PRINT_NOTE.to_owned(),
        Some(correction) => format!("For one printer at 100 %: {}. Measure all bars.", correction.words()),
    };
    let note = if head == Head::Short { format!("{note} {CAUTIONS_ELSEWHERE}") } else { note };
    let date = title.date.as_ref().map_or(String::new(), |date| format!(" · {date}"));
    let what = format!("{} · sheet {} of {pages} · design {}{date}", title.sheets, page + 1, title.digest);
    let cautions = (head == Head::Whole).then(|| format!("Caution. {CAUTIONS}"));
    for text in [what, note].into_iter().chain(cautions) {
        down += paragraph::paragraph_of(&mut t, kurbo::Point::new(0.0, -down), width, LETTERS, &text) + 1.0;
    }
    t.segment(Role::Scale, (0.0, -down), (width, -down));
    (t, down)
}

/// What the first page explains: how the print is proved true, and what the lines mean.
pub fn explanation<'a>(field: (f64, f64), pieces: impl Iterator<Item = &'a Template> + Clone) -> Template {
    let mut t = Template::new(EXPLANATION);
    let width = 86.0;
    let diagonal = field.0.hypot(field.1);
    let text = format!(
        "The frame round the pieces is {} × {} mm between the middles of its lines, both diagonals {diagonal:.1} mm. \
         If the bars or the diagonals do not measure true, do not cut: print again at 100 %.",
        field.0.round(),
        field.1.round(),
    );
    t.words((0.0, -CAP_HEIGHT * size::BODY), size::BODY, Anchor::Start, 0.0, true, "Is the print true?");
    let below = 1.3 * size::BODY;
    let used = below + paragraph::paragraph(&mut t, kurbo::Point::new(0.0, -below), width, &text);
    if let Some(key) = line_key::line_key(pieces) {
        t.add(key.moved(Affine::translate((0.0, -used - 3.0 - CAP_HEIGHT * size::BODY))));
    }
    t
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheets::paper::A4;
    use crate::template::Figure;
    use crate::template::legible::crossed_texts;

    fn long_title() -> SheetTitle {
        SheetTitle {
            bow: "A bow with a name that is longer than any title block has room for, by a good deal".into(),
            sheets: "Nock sheets for the upper and the lower limb, with every piece that is needed".into(),
            digest: "0123456789abcdef".into(),
            program: "Nockwright 0.1.0".into(),
            date: Some("25 November 2026".into()),
            units: "mm, in".into(),
            correction: None,
        }
    }

    #[test]
    fn everything_keeps_within_its_strip_and_clear_of_every_line() {
        let parts = frame(&long_title(), &A4, 11, 120);
        let mut all = Template::new("all");
        for part in &parts {
            let b = part.bounds().unwrap();
            assert!(b.x0 >= -1e-9 && b.y0 >= -1e-9, "{}: {b:?}", part.name);
            assert!(b.x1 <= FRAME.0 + 1e-9 && b.y1 <= FRAME.1 + 1e-9, "{}: {b:?}", part.name);
            if part.name != "frame" {
                assert!(
                    b.y1 <= FOOT_STRIP + 1e-9 || b.x0 >= FRAME.0 - SIDE_STRIP,
                    "{} lies in the field: {b:?}",
                    part.name
                );
            }
            all.add(part.clone());
        }
        assert!(crossed_texts(&all).is_empty(), "{:?}", crossed_texts(&all));
    }

    /// Words stand at the left of their place, so another face's greater width is all at the right.
    #[test]
    fn cautions_keep_within_their_strip_in_a_wider_face() {
        let parts = frame(&long_title(), &A4, 0, 1);
        let cautions = parts.iter().find(|part| part.name == "cautions").unwrap();
        let mut rows = 0;
        for item in &cautions.items {
            let Figure::Text { text, at, size, bold, .. } = &item.figure else { continue };
            rows += 1;
            assert!(at.y + OTHER_FACE * text_width(text, *size, *bold) <= FRAME.1, "{text}");
        }
        // Cautions and their head; set to the full width they would be one row less.
        assert_eq!(rows, 5);
        let bounds = cautions.bounds().unwrap();
        assert!(bounds.x0 > FRAME.0 - SIDE_STRIP + 0.5 && bounds.x1 < FRAME.0 - 0.5, "{bounds:?}");
    }

    #[test]
    fn bars_stand_in_both_directions_at_full_length() {
        let parts = frame(&long_title(), &A4, 0, 1);
        for (name, length, across) in [
            ("bar 100 mm across", 100.0, true),
            ("bar 4 in across", 101.6, true),
            ("bar 100 mm up", 100.0, false),
            ("bar 4 in up", 101.6, false),
        ] {
            let bar = parts.iter().find(|p| p.name == name).unwrap();
            let b = bar.items[0].bounds();
            let (along, off) = if across { (b.width(), b.height()) } else { (b.height(), b.width()) };
            assert!((along - length).abs() < 1e-9 && off < 1e-9, "{name}");
        }
    }

    #[test]
    fn cautions_say_what_they_must() {
        for word in
            ["eyes", "dust", "without an arrow", "before each use", "tiller", "distance", "Local rules", "experienced"]
        {
            assert!(CAUTIONS.contains(word), "{word}");
        }
    }
}
