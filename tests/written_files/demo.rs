//! Sheets of invented pieces with every kind of annotation on them, and with hostile words.

use kurbo::{Arc, BezPath, Circle, Point, Rect, Shape};
use nockwright::sheets::paper::Paper;
use nockwright::sheets::{Attachment, Piece, SheetSet, SheetTitle, lay_out};
use nockwright::template::angle::angle;
use nockwright::template::caption::caption;
use nockwright::template::dimension::{Place, dimension};
use nockwright::template::hatch::hatch;
use nockwright::template::leader::{End, leader};
use nockwright::template::paragraph::paragraph;
use nockwright::template::table::{Column, table};
use nockwright::template::waste::{Waste, waste_ticks};
use nockwright::template::{Anchor, Role, Template, size, text_box};

/// A name such as nobody would give, to be written whole and do no harm.
pub const HOSTILE: &str = "</text><script>alert(\"1\")</script> & 'Öd' \u{7}\nTrauerweide]]> (50 %) \\";

/// A design text with everything that a format could trip over.
pub const DESIGN: &str = "# Größe ≥ 1\nname = \"<ash> & 'co' ]]> -->\"\n\tindented = true\n\n\n";

/// The sheets.
pub fn sheets(paper: Paper) -> SheetSet {
    sheets_named("Invented flatbow", DESIGN, paper)
}

/// The same for another bow's name and design.
pub fn sheets_named(bow: &str, design: &str, paper: Paper) -> SheetSet {
    let title = SheetTitle {
        bow: bow.into(),
        sheets: "Invented pieces, upper and lower".into(),
        digest: "3f9a 07c2 b81e".into(),
        program: "Nockwright 0.1.0".into(),
        date: Some("25 November 2026".into()),
        units: "mm and inches".into(),
        correction: None,
    };
    let pieces = vec![
        Piece::new(side_view()).with_next(),
        Piece::new(section()),
        Piece::new(card()).may_turn(),
        Piece::new(taper_table()),
        Piece::new(wrap()),
        Piece::new(strip(40.0)),
        Piece::new(strip(90.0)),
        Piece::new(long_strip()).may_turn(),
    ];
    let attachment = Attachment { file_name: "invented.toml".into(), text: design.into() };
    lay_out(title, paper, pieces, attachment).unwrap()
}

/// A tip from the side: outline, centre line, string at two angles, dimensions and a leader.
fn side_view() -> Template {
    let mut t = Template::new("upper side view");
    let mut tip = BezPath::new();
    tip.move_to((0.0, -9.0));
    tip.curve_to((40.0, -8.5), (60.0, -6.0), (84.0, -4.0));
    tip.quad_to((90.0, 0.0), (84.0, 4.0));
    tip.curve_to((60.0, 6.0), (40.0, 8.5), (0.0, 9.0));
    t.line(Role::Outline, tip);
    t.segment(Role::Centre, (-4.0, 0.0), (96.0, 0.0));
    for turn in [195f64, 225.0] {
        let (s, c) = turn.to_radians().sin_cos();
        for side in [-1.0, 1.0] {
            let start = Point::new(66.0 - side * s, -5.2 + side * c);
            t.segment(Role::String, start, (start.x + 34.0 * c, start.y + 34.0 * s));
        }
    }
    angle(&mut t, Point::new(66.0, -5.2), 30.0, 195f64.to_radians(), 225f64.to_radians(), false, "30.0°");
    t.line(Role::Hidden, Circle::new((66.0, 0.0), 2.4).to_path(1e-3));
    dimension(&mut t, Point::new(0.0, 9.0), Point::new(66.0, 4.9), Place::Level(15.0), "66.0 mm (2 19/32 in)");
    dimension(&mut t, Point::new(66.0, 4.9), Point::new(87.0, 0.0), Place::Level(15.0), "21.0 mm");
    dimension(&mut t, Point::new(0.0, -9.0), Point::new(0.0, 9.0), Place::Upright(-7.0), "18.0 mm");
    dimension(&mut t, Point::new(63.6, 0.0), Point::new(68.4, 0.0), Place::Level(-18.0), "4.8 mm (3/16 in)");
    leader(&mut t, Point::new(84.0, -4.0), Point::new(92.0, -10.0), End::Arrow, "round over,\nno edge left");
    caption(
        &mut t,
        Point::new(-10.0, 30.0),
        120.0,
        "Upper nock, side view",
        "Invented flatbow, upper limb, from the left. This way to the tip →",
    );
    t
}

/// A section: hatched, with text left free.
fn section() -> Template {
    let mut t = Template::new("upper section");
    let mut shape = Rect::new(-9.0, -8.0, 9.0, 6.0).to_rounded_rect(4.0).to_path(1e-3);
    shape.extend(Circle::new((4.0, 1.0), 2.0).to_path(1e-3));
    t.line(Role::Outline, shape.clone());
    let mut free = text_box("ash", size::SMALL, Anchor::Middle, false) + kurbo::Vec2::new(-3.0, -3.0);
    free = free.inflate(0.8, 0.5);
    t.text((-3.0, -3.0), size::SMALL, Anchor::Middle, "ash");
    hatch(&mut t, &shape, 2.0, 45.0, &[free]);
    dimension(&mut t, Point::new(-9.0, -8.0), Point::new(9.0, -8.0), Place::Level(-15.0), "18.0 mm");
    dimension(&mut t, Point::new(2.0, 1.0), Point::new(6.0, 1.0), Place::Level(10.0), "4.0 mm (5/32 in)");
    caption(&mut t, Point::new(-14.0, 24.0), 60.0, "Section at the seat", "Seen toward the tip, back up.");
    t
}

/// A card to cut out along its ticked line.
fn card() -> Template {
    let mut t = Template::new("string angle card");
    let mut cut = BezPath::new();
    cut.move_to((0.0, 0.0));
    cut.line_to((70.0, 0.0));
    cut.line_to((70.0, 40.0));
    cut.extend(Arc::new((35.0, 40.0), (35.0, 25.0), 0.0, std::f64::consts::PI, 0.0).append_iter(1e-3));
    cut.close_path();
    waste_ticks(&mut t, &cut, Waste::Right);
    t.line(Role::Cut, cut);
    t.segment(Role::Mark, (12.0, 12.0), (58.0, 34.0));
    t.segment(Role::Fold, (5.0, 8.0), (65.0, 8.0));
    angle(&mut t, Point::new(12.0, 12.0), 34.0, 0.0, (22.0f64 / 46.0).atan(), true, "25.6°");
    t.words((35.0, 54.0), size::BODY, Anchor::Middle, 0.0, true, "String angle card");
    t.text((35.0, 49.5), size::SMALL, Anchor::Middle, "brace 66.0°, full draw 91.6°");
    t
}

fn taper_table() -> Template {
    let mut t = Template::new("tip taper");
    let high = caption(&mut t, Point::new(0.0, 0.0), 80.0, "Tip taper", "From the seat inward. Chosen against least.");
    let columns =
        [Column::words("station"), Column::figures("width mm"), Column::figures("thickness mm"), Column::figures("in")];
    let rows: Vec<Vec<String>> = (0..6)
        .map(|i| {
            vec![
                format!("{} mm in", i * 30),
                format!("{:.1}", 12.0 + f64::from(i)),
                format!("{:.2}", 10.5 + 0.25 * f64::from(i)),
                "13/32".into(),
            ]
        })
        .collect();
    let (_, deep) = table(&mut t, Point::new(0.0, -high - 3.0), &columns, &rows);
    paragraph(
        &mut t,
        Point::new(0.0, -high - deep - 6.0),
        80.0,
        "Narrow the tip only as far as the table says, a little at a time, and look along the limb after every pass: \
         a tip that has become too narrow swings sideways before it breaks.",
    );
    t
}

/// A wrap with fold lines and every letter that a name may hold.
fn wrap() -> Template {
    let mut t = Template::new(HOSTILE);
    let cut = Rect::new(0.0, 0.0, 120.0, 50.0).to_path(0.1);
    waste_ticks(&mut t, &cut, Waste::Right);
    t.line(Role::Cut, cut);
    for x in [30.0, 60.0, 90.0] {
        t.segment(Role::Centre, (x, 2.0), (x, 38.0));
    }
    t.segment(Role::Fold, (112.0, 0.0), (112.0, 50.0));
    t.text((4.0, 45.0), size::SMALL, Anchor::Start, HOSTILE);
    t.text(
        (4.0, 41.0),
        size::SMALL,
        Anchor::Start,
        "Größe Ærø señor łódź Győr țară — ½ ¼ ¾ ⅛ ⅜ ⅝ ⅞ ± × ° α γ µ ′ ″ → 弓",
    );
    t.words((116.5, 6.0), size::SMALL, Anchor::Start, 90.0, false, "overlap, glue here");
    t
}

fn strip(length: f64) -> Template {
    let mut t = Template::new("strip");
    let cut = Rect::new(0.0, 0.0, length, 8.0).to_path(0.1);
    waste_ticks(&mut t, &cut, Waste::Right);
    t.line(Role::Cut, cut);
    t.text((length / 2.0, 3.0), size::SMALL, Anchor::Middle, format!("{length} mm"));
    t
}

/// Longer than the sheet is wide, so it can only lie turned.
fn long_strip() -> Template {
    let mut t = strip(230.0);
    t.name = "long strip".into();
    t
}
