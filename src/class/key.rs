//! The teacher's key: what should come out for each row, with room to tick.

use kurbo::{Point, Rect, Shape};

use crate::design::{Bracing, Side};
use crate::font::{shorten, text_width};
use crate::handout::Handout;
use crate::sheets::{Letters, Piece};
use crate::template::caption::caption;
use crate::template::table::{Column, table};
use crate::template::{Anchor, Role, Template, size};
use crate::units::{angle_text, force_text, plain_length_text};

/// Rows of one table: as many as fit a page below the first page's explanation.
const ROWS: usize = 40;

/// Width of the key, mm.
const WIDE: f64 = 178.0;
/// Width of the names in the table, mm: as much as the figures leave. The digest tells apart two that begin alike.
const NAME_WIDE: std::ops::RangeInclusive<f64> = 12.0..=60.0;
/// What is ticked or filled in, in the table. (Spaces between brackets would be drawn together.)
const TO_FILL: &str = "_____";
/// A square to tick in large print, mm.
const TICK: f64 = 7.0;

/// What should come out for one row, each as it is printed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeyRow {
    label: String,
    digest: String,
    brace: String,
    draw: String,
    pull: String,
    upper: String,
    lower: String,
    checks: String,
}

/// The key: tables, or in large letters a paragraph for each row.
pub fn pieces(rows: &[KeyRow], followed: bool, letters: Letters) -> Vec<Piece> {
    let words = format!(
        "The digest stands on the student's sheets, too. String angles from brace to full draw, between string and limb. Checks: {}.",
        if followed {
            "all, the loop followed through the draw included"
        } else {
            "all but those of the loop followed through the draw; `class --follow-loop` runs these, too"
        }
    );
    let head = "What should come out";
    if letters == Letters::Large {
        let mut t = Template::new("key");
        caption(&mut t, Point::ORIGIN, WIDE, head, &words);
        return std::iter::once(t).chain(rows.iter().enumerate().map(paragraph)).map(Piece::new).collect();
    }
    rows.chunks(ROWS)
        .enumerate()
        .map(|(part, chunk)| {
            let mut t = Template::new(format!("key {}", part + 1));
            let high = caption(&mut t, Point::ORIGIN, WIDE, head, &words);
            let columns = [
                Column::words("who"),
                Column::words("digest"),
                Column::figures("brace"),
                Column::figures("draw"),
                Column::figures("pull"),
                Column::figures("upper angle"),
                Column::figures("lower angle"),
                Column::words("checks"),
                Column::words("measured"),
                Column::words("made"),
            ];
            let bare: Vec<Vec<String>> = chunk.iter().map(|row| cells(row, 0.0)).collect();
            let (figures, _) = table(&mut Template::new(""), Point::ORIGIN, &columns, &bare);
            let room =
                (WIDE - figures + text_width("who", size::SMALL, true)).clamp(*NAME_WIDE.start(), *NAME_WIDE.end());
            let cells: Vec<Vec<String>> = chunk.iter().map(|row| cells(row, room)).collect();
            table(&mut t, Point::new(0.0, -high - 3.0), &columns, &cells);
            Piece::new(t)
        })
        .collect()
}

fn cells(row: &KeyRow, name_wide: f64) -> Vec<String> {
    let KeyRow { label, digest, brace, draw, pull, upper, lower, checks } = row.clone();
    let label = shorten(&label, size::SMALL, false, name_wide);
    vec![label, digest, brace, draw, pull, upper, lower, checks, TO_FILL.into(), TO_FILL.into()]
}

/// One row in words, with squares to tick and a rule below. The rule's length is the width of the words.
fn paragraph((number, row): (usize, &KeyRow)) -> Template {
    let mut t = Template::new(format!("key, row {}", number + 1));
    let KeyRow { label, digest, brace, draw, pull, upper, lower, checks } = row;
    let words = format!(
        "Digest {digest}. Brace {brace}, draw {draw}, pull {pull}. String angles: upper limb {upper}, lower limb {lower}. \
         Checks: {checks}."
    );
    let high = caption(&mut t, Point::ORIGIN, WIDE, label, &words);
    let top = -high - 3.0;
    for (left, word) in [(0.0, "measured"), (WIDE / 2.0, "made")] {
        t.line(Role::Note, Rect::new(left, top - TICK, left + TICK, top).to_path(0.1));
        t.text((left + TICK + 3.0, top - 0.7 * TICK), size::SMALL, Anchor::Start, word);
    }
    t.segment(Role::Note, (0.0, top - TICK - 3.0), (WIDE, top - TICK - 3.0));
    t
}

/// What should come out for one row.
pub fn row(label: &str, handout: &Handout) -> KeyRow {
    let design = &handout.worked.design;
    let brace = match design.bow.bracing {
        Bracing::Height(height) => plain_length_text(height, design.units),
        Bracing::StringLength(_) => "by string".into(),
    };
    let angles = |side: Side| {
        let swing = handout.worked.statics.swings.get(side);
        format!("{} – {}", angle_text(swing.brace), angle_text(swing.full_draw))
    };
    let pull = force_text(handout.worked.statics.cycle.at_full_draw().force, design.units);
    let pull = pull.split(" (").next().unwrap_or_default().to_owned();
    KeyRow {
        label: label.to_owned(),
        digest: handout.set.title.digest.clone(),
        brace,
        draw: plain_length_text(design.bow.draw, design.units),
        pull,
        upper: angles(Side::Upper),
        lower: angles(Side::Lower),
        checks: if handout.fails() { "FAILS" } else { "hold" }.into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheets::paper::{A4, LETTER};
    use crate::sheets::{Attachment, SheetTitle, frame, lay_out_in};
    use crate::template::Figure;
    use crate::template::legible::crossed_texts;

    fn rows(count: usize) -> Vec<KeyRow> {
        let row = |number: usize| KeyRow {
            label: format!("{number} Maximiliane with a long family name, bench {number}"),
            digest: format!("ABCD-{number:04}"),
            brace: "15 13/64 in".into(),
            draw: "28 31/32 in".into(),
            pull: format!("{number}.5 lb"),
            upper: "28.7° – 74.2°".into(),
            lower: "28.8° – 74.6°".into(),
            checks: "FAILS".into(),
        };
        (1..=count).map(row).collect()
    }

    #[test]
    fn every_figure_of_every_row_is_on_the_key_in_letters_as_large_as_asked() {
        for (letters, smallest) in [(Letters::Usual, size::SMALL), (Letters::Large, 12.0 * 25.4 / 72.0)] {
            for paper in [A4, LETTER] {
                let rows = rows(90);
                let title = SheetTitle { bow: "Class".into(), ..SheetTitle::default() };
                let set = lay_out_in(letters, title, paper, pieces(&rows, false, letters), Attachment::default());
                let set = set.unwrap_or_else(|faults| panic!("{faults:?}"));
                let mut said = String::new();
                let mut squares = 0;
                for page in &set.pages {
                    let mut whole = Template::new("page");
                    for part in &page.parts {
                        whole.add(part.clone());
                        if !part.name.starts_with("key") {
                            continue;
                        }
                        for item in &part.items {
                            match &item.figure {
                                Figure::Text { text, size, .. } => {
                                    assert!(*size >= smallest - 1e-9, "{text}: {size}");
                                    said = said + text + " ";
                                }
                                Figure::Line(path) => squares += usize::from(path.elements().len() > 3),
                                Figure::Fill(_) => {}
                            }
                        }
                    }
                    assert_eq!(crossed_texts(&whole), Vec::<String>::new(), "{letters:?}");
                    assert!(page.parts.iter().any(|p| p.name == frame::LARGE_HEAD) == (letters == Letters::Large));
                }
                for row in &rows {
                    let who = if letters == Letters::Large { row.label.as_str() } else { &row.label[..12] };
                    for wanted in [who, &row.digest, &row.pull, &row.brace, &row.draw, &row.upper, &row.lower] {
                        assert!(said.contains(wanted), "{letters:?}: {wanted}");
                    }
                }
                let ticks = if letters == Letters::Large { squares } else { said.matches(TO_FILL).count() };
                assert_eq!(ticks, 2 * rows.len(), "{letters:?}");
            }
        }
    }
}
