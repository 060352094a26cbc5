//! The teacher's key: what should come out for each row, with room to tick.

use kurbo::Point;

use crate::design::{Bracing, Side};
use crate::font::shorten;
use crate::handout::Handout;
use crate::sheets::Piece;
use crate::template::caption::caption;
use crate::template::table::{Column, table};
use crate::template::{Template, size};
use crate::units::{angle_text, force_text, plain_length_text};

/// Rows of one table: as many as fit a page below the first page's explanation.
const ROWS: usize = 40;

/// The key's tables, of such rows as [`row`] gives.
pub fn pieces(rows: &[Vec<String>], followed: bool) -> Vec<Piece> {
    let words = format!(
        "The digest stands on the student's sheets, too. String angles from brace to full draw, between string and limb. Checks: {}.",
        if followed {
            "all, the loop followed through the draw included"
        } else {
            "all but those of the loop followed through the draw; `class --follow-loop` runs these, too"
        }
    );
    rows.chunks(ROWS)
        .enumerate()
        .map(|(part, chunk)| {
            let mut t = Template::new(format!("key {}", part + 1));
            let high = caption(&mut t, Point::ORIGIN, 178.0, "What should come out", &words);
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
            table(&mut t, Point::new(0.0, -high - 3.0), &columns, chunk);
            Piece::new(t)
        })
        .collect()
}

/// What should come out for one row.
pub fn row(label: &str, handout: &Handout) -> Vec<String> {
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
    vec![
        shorten(label, size::SMALL, false, 30.0),
        handout.set.title.digest.clone(),
        brace,
        plain_length_text(design.bow.draw, design.units),
        pull,
        angles(Side::Upper),
        angles(Side::Lower),
        if handout.fails() { "FAILS".into() } else { "hold".into() },
        "[    ]".into(),
        "[    ]".into(),
    ]
}
