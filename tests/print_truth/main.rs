//! A printer that prints wrong, from the test page to sheets that come out true, measured on pixels.
//!
//! The printer is a map put between the written SVG and a 600 dpi picture that resvg makes of it.
#![allow(clippy::unwrap_used)]

mod picture;

use kurbo::{Affine, Point, Rect, Shape};
use nockwright::printer::{ACROSS, Correction, Measured, PrinterMap, Readings, UP};
use nockwright::sheets::paper::{A4, LEGAL, LETTER, Paper};
use nockwright::sheets::test_page::test_page;
use nockwright::sheets::{Attachment, Page, Piece, SheetSet, SheetTitle, lay_out};
use nockwright::template::{Figure, Role, Template};
use nockwright::writers::svg;
use picture::Picture;

fn exact(value: f64) -> Measured {
    Measured { value, plus_minus: 0.0 }
}

/// 1.5 % too small across, 0.4 % too large up, and fed 0.3 degrees askew.
fn wrong_printer() -> PrinterMap {
    PrinterMap { across: exact(0.985), up: exact(1.004), lean: exact(0.3f64.to_radians()) }
}

/// The four lengths of the test page, read from the picture of it.
fn read_test_page(printer: Affine, paper: Paper) -> Readings {
    let set = test_page(paper, "Nockwright");
    let picture = print(&set, printer);
    let origin = line_of(&set.pages[0], "bar across").0;
    let corner = |x: f64, y: f64| picture.crossing(printer * (origin + kurbo::Vec2::new(x, y)));
    let (lower_left, lower_right) = (corner(0.0, 0.0), corner(ACROSS, 0.0));
    let (upper_left, upper_right) = (corner(0.0, UP), corner(ACROSS, UP));
    Readings::new(
        lower_left.distance(lower_right),
        lower_left.distance(upper_left),
        lower_left.distance(upper_right),
        upper_left.distance(lower_right),
    )
}

fn print(set: &SheetSet, printer: Affine) -> Picture {
    Picture::of(&svg::write(set).unwrap()[0].1, set.pages[0].height, printer)
}

/// Ends of a part's first line, mm from the page's lower left corner.
fn line_of(page: &Page, part: &str) -> (Point, Point) {
    let part = page.parts.iter().find(|p| p.name == part).unwrap();
    let Figure::Line(path) = &part.items[0].figure else { panic!() };
    let points: Vec<Point> = path.elements().iter().filter_map(|e| e.end_point()).collect();
    (points[0], points[1])
}

fn sheets(paper: Paper, correction: Option<PrinterMap>) -> SheetSet {
    let mut square = Template::new("square");
    square.line(Role::Cut, Rect::new(0.0, 0.0, 50.0, 50.0).to_path(0.1));
    let correction =
        correction.map(|map| Correction { printer: "shed".into(), measured: Some("2026-11-25".into()), map });
    let title = SheetTitle { bow: "Ash".into(), correction, ..SheetTitle::default() };
    lay_out(title, paper, vec![Piece::new(square)], Attachment::default()).unwrap()
}

/// Lengths of the four bars on the picture, mm: 100 mm across and up, 4 in across and up.
fn bars(set: &SheetSet, printer: Affine) -> [f64; 4] {
    let page = &set.pages[0];
    let picture = print(set, printer);
    let through = set.title.correction.as_ref().map_or(Affine::IDENTITY, |c| page.drawn_through(c));
    ["bar 100 mm across", "bar 100 mm up", "bar 4 in across", "bar 4 in up"].map(|name| {
        let (a, b) = line_of(page, name);
        // The strokes stand to the left of the millimetres' line and to the right of the inches'.
        let aside = if name.contains("mm") { 0.4 } else { -0.4 };
        let along = (b - a).normalize();
        let off = kurbo::Vec2::new(-along.y, along.x) * aside;
        let end = |p: Point| picture.stroke(printer * (through * (p + off)), along);
        end(a).distance(end(b))
    })
}

#[test]
fn a_wrong_printer_prints_true_after_its_test_page_was_read() {
    let truth = wrong_printer();
    let readings = read_test_page(truth.affine(), A4);
    let map = readings.fit().unwrap();
    assert!((map.across.value - 0.985).abs() < 1e-4, "{map:?}");
    assert!((map.up.value - 1.004).abs() < 1e-4, "{map:?}");
    assert!((map.lean.value.to_degrees() - 0.3).abs() < 0.01, "{map:?}");

    let uncorrected = bars(&sheets(A4, None), truth.affine());
    assert!((uncorrected[0] - 98.5).abs() < 0.05 && (uncorrected[1] - 100.4).abs() < 0.05, "{uncorrected:?}");
    for paper in [A4, LETTER, LEGAL] {
        let corrected = bars(&sheets(paper, Some(map)), truth.affine());
        for (measured, length) in corrected.into_iter().zip([100.0, 100.0, 101.6, 101.6]) {
            assert!((measured - length).abs() < 0.05, "{}: {corrected:?}", paper.name);
        }
    }
}

#[test]
fn a_true_printer_is_found_true() {
    let map = read_test_page(Affine::IDENTITY, A4).fit().unwrap();
    for (found, wanted) in [(map.across.value, 1.0), (map.up.value, 1.0), (map.lean.value, 0.0)] {
        assert!((found - wanted).abs() < 1e-4, "{map:?}");
    }
}

#[test]
fn a_corrected_sheet_names_the_printer_and_keeps_the_page_size() {
    let plain = sheets(A4, None);
    let corrected = sheets(A4, Some(wrong_printer()));
    let text = String::from_utf8(svg::write(&corrected).unwrap().remove(0).1).unwrap();
    assert!(text.contains("shed, measured 2026-11-25"));
    assert!(text.contains("width=\"210mm\"") && text.contains("viewBox=\"0 0 210 297\""));
    assert!(!String::from_utf8(svg::write(&plain).unwrap().remove(0).1).unwrap().contains("measured 2026"));
}

#[test]
fn pages_are_saved_for_other_programs() {
    let folder = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join("printer");
    std::fs::create_dir_all(&folder).unwrap();
    for (name, set) in [("test-page", test_page(A4, "Nockwright")), ("corrected", sheets(A4, Some(wrong_printer())))] {
        for writer in &nockwright::writers::WRITERS {
            for (suffix, bytes) in (writer.write)(&set).unwrap() {
                std::fs::write(folder.join(format!("{name}{suffix}")), bytes).unwrap();
            }
        }
    }
}
