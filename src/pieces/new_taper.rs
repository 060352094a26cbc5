//! The new taper: what comes off a limb, place by place, as a table to hang over the bench.

use kurbo::Point;

use crate::design::{Design, Side, Units};
use crate::sheets::Piece;
use crate::template::Template;
use crate::template::caption::caption;
use crate::template::table::{Column, table};
use crate::units::{INCH, force_text, number_text, plain_length_text};
use crate::weight::columns::shown;
use crate::weight::plan::{Plan, TakeOff};

/// Draws one limb's table; nothing for a lower limb that is like the upper one.
pub fn draw(design: &Design, side: Side, plan: &Plan, off: &TakeOff) -> Option<Piece> {
    let alike = off.shavings.upper == off.shavings.lower;
    if alike && side == Side::Lower {
        return None;
    }
    let whose = match (alike, side) {
        (true, _) => "Both limbs",
        (_, Side::Upper) => "Upper limb",
        (_, Side::Lower) => "Lower limb",
    };
    let (unit, fine_unit) = match design.units {
        Units::Inch => ("in", "1/1000 in"),
        Units::Millimetre => ("mm", "1/100 mm"),
    };
    let size = |m: f64| match design.units {
        Units::Inch => number_text(m / INCH, 3),
        Units::Millimetre => number_text(m * 1e3, 2),
    };
    let fine = |m: f64| match design.units {
        Units::Inch => number_text(m / INCH * 1e3, 0),
        Units::Millimetre => number_text(m * 1e5, 0),
    };
    let mut t = Template::new(format!("{} new taper", whose.to_lowercase()));
    let words = format!(
        "{} · from {} to {} at {}. Off the thickness, or off the width (both sides together), or corners rounded to the radius. {} \
         Places are measured from the middle of the bow. Stop short and weigh again.",
        design.name,
        force_text(plan.foretold, design.units),
        force_text(off.factor * plan.foretold, design.units),
        plain_length_text(plan.draw, design.units),
        off.which()
    );
    let high = caption(&mut t, Point::ORIGIN, 150.0, &format!("{whose}: new taper"), &words);
    let columns = [
        Column::figures(format!("at {unit}")),
        Column::figures(format!("thick {unit}")),
        Column::figures(format!("off {fine_unit}")),
        Column::figures(format!("to {unit}")),
        Column::figures(format!("wide {unit}")),
        Column::figures(format!("off {fine_unit}")),
        Column::figures(format!("to {unit}")),
        Column::figures("or corner"),
        Column::words("done"),
    ];
    let rows: Vec<Vec<String>> = off
        .shavings
        .get(side)
        .iter()
        .map(|row| {
            vec![
                size(row.now.at),
                size(row.now.thickness),
                shown(off.by_thickness.does(), fine(row.off_thickness)),
                shown(off.by_thickness.does(), size(row.thinner().thickness)),
                size(row.now.width),
                shown(off.by_width.does(), fine(row.off_width)),
                shown(off.by_width.does(), size(row.narrower().width)),
                row.corner.map_or_else(|| "-".to_owned(), size),
                "[    ]".into(),
            ]
        })
        .collect();
    table(&mut t, Point::new(0.0, -high - 3.0), &columns, &rows);
    Some(Piece::new(t))
}
