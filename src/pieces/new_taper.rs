//! The new taper: what comes off a limb, place by place, as a table to hang over the bench, and its outer end drawn.

use kurbo::{Affine, Point};

use super::two_tapers::TwoTapers;
use crate::bow::limb::Profile;
use crate::design::{Design, Limb, Side, Units};
use crate::sheets::Piece;
use crate::template::Template;
use crate::template::caption::caption;
use crate::template::table::{Column, table};
use crate::units::{INCH, force_text, number_text, plain_length_text};
use crate::weight::columns::shown;
use crate::weight::plan::{Plan, Shaving, TakeOff, narrower, thinner};
use crate::worked::least_taper::outer_stations;

/// Draws one limb's table and its outer end; nothing for a lower limb that is like the upper one.
pub fn draw(design: &Design, side: Side, plan: &Plan, off: &TakeOff) -> Vec<Piece> {
    let alike = off.shavings.upper == off.shavings.lower && design.limbs.upper.length == design.limbs.lower.length;
    if alike && side == Side::Lower {
        return Vec::new();
    }
    let whose = match (alike, side) {
        (true, _) => "Both limbs",
        (_, Side::Upper) => "Upper limb",
        (_, Side::Lower) => "Lower limb",
    };
    vec![table_of(design, side, plan, off, whose), end_of(design, side, off, whose)]
}

/// A size, mm, finer than a fraction of an inch tells: what comes off is less than that.
fn fine_lines(mm: f64, units: Units) -> Vec<String> {
    let millimetres = format!("{} mm", number_text(mm, 2));
    match units {
        Units::Inch => vec![format!("{} in", number_text(mm * 1e-3 / INCH, 3)), millimetres],
        Units::Millimetre => vec![millimetres],
    }
}

/// The outer end of the limb as it shall be, over the limb as it is.
fn end_of(design: &Design, side: Side, off: &TakeOff, whose: &str) -> Piece {
    let limb = design.limbs.get(side);
    let now = Profile::of(limb);
    let with = |does: bool, shape: fn(&mut Limb, &[Shaving])| {
        let mut limb = limb.clone();
        if does && *off.stiffness.get(side) < 1.0 {
            shape(&mut limb, off.shavings.get(side));
        }
        Profile::of(&limb)
    };
    let (thin, narrow) = (with(off.by_thickness.does(), thinner), with(off.by_width.does(), narrower));
    let drawing = TwoTapers {
        units: design.units,
        stations: &outer_stations(design, side),
        most: f64::INFINITY,
        figures: [fine_lines, fine_lines],
        full: &|at| [narrow.width(at), thin.thickness(at)],
        dashed: &|at| [now.width(at), now.thickness(at)],
        rows: ["thick, new", "as it is", "wide, new", "as it is"],
    }
    .drawing();
    let what = match (off.by_thickness.does(), off.by_width.does()) {
        (true, true) => "Thinner as from the side, or narrower as from the back: one of the two, not both.",
        (true, false) => "Thinner as from the side; the width stays.",
        _ => "Narrower as from the back; the thickness stays.",
    };
    let words = format!(
        "{} · 1:1. The last part of the limb up to the nock seat, from the side (back up, drawn straight) and from the back. In full the \
         new taper, dashed the limb as it is. {what}",
        design.name
    );
    let mut t = Template::new(format!("{} new tip taper", whose.to_lowercase()));
    let Some(bounds) = drawing.bounds() else { return Piece::new(drawing) };
    let mut head = Template::new("");
    let high = caption(&mut head, Point::ORIGIN, bounds.width(), &format!("{whose}: new taper, outer end"), &words);
    t.add(head.moved(Affine::translate((bounds.x0, bounds.y1 + 4.0 + high))));
    t.add(drawing);
    Piece::new(t).may_turn()
}

/// The table.
fn table_of(design: &Design, side: Side, plan: &Plan, off: &TakeOff, whose: &str) -> Piece {
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
        "{} · from {} to {} at {}. Off the thickness, or off the width (both sides together), or corners rounded to the radius. {} {} \
         {} Places are measured from the middle of the bow.",
        design.name,
        force_text(plan.foretold, design.units),
        force_text(off.factor * plan.foretold, design.units),
        plain_length_text(plan.draw, design.units),
        off.which(),
        off.tiller(),
        off.cautions()
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
        Column::figures(format!("or corner {unit}")),
        Column::words("done"),
    ];
    let corners_do = off.by_corners.as_ref().is_some_and(|column| column.does());
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
                shown(corners_do, row.corner.map_or_else(|| "-".to_owned(), size)),
                "[    ]".into(),
            ]
        })
        .collect();
    table(&mut t, Point::new(0.0, -high - 3.0), &columns, &rows);
    Piece::new(t)
}
