//! An SVG read by roxmltree, with lengths and transforms by svgtypes.

use kurbo::{Affine, BezPath, PathEl, Point};
use roxmltree::Node;
use std::str::FromStr;
use svgtypes::{Length, LengthUnit, Transform};

use super::{Proof, Stroke, around, bars};
use crate::carried::{self, design_element, parse_svg};
use crate::fault::Fault;
use crate::printer::PrinterMap;
use crate::seal;

pub fn proof(bytes: &[u8]) -> Result<Proof, Fault> {
    let text = String::from_utf8_lossy(bytes);
    let document = parse_svg(text.trim_start_matches('\u{FEFF}'))?;
    let root = document.root_element();
    let design = design_element(&document);
    let said = |name: &str| design.and_then(|d| d.attribute(name)).unwrap_or_default().to_owned();
    let mut strokes = Vec::new();
    collect(root, page(root)?, &mut strokes);
    let printer = PrinterMap::from_numbers(&said("map")).map(|map| (said("printer"), map));
    let kept = said("drawing");
    Ok(Proof {
        program: said("program"),
        digest: said("digest"),
        designs: carried::from_svg(bytes).map(|c| vec![c.file_name]),
        printer,
        untouched: (!kept.is_empty()).then(|| kept == seal::drawing::of_svg_tree(root)),
        pages: vec![bars::find(&strokes)],
        around: around::of_svg(&document).into_iter().map(|found| (0, found)).collect(),
        asks_unscaled: None,
    })
}

/// From user units to millimetres on paper, `y` up.
fn page(root: Node) -> Result<Affine, Fault> {
    let size = |name: &str| root.attribute(name).and_then(|text| Length::from_str(text).ok()).and_then(millimetres);
    let (Some(width), Some(height)) = (size("width"), size("height")) else {
        return Err(Fault::at("", "the SVG has no size", "a sheet's width and height are lengths"));
    };
    let view: Vec<f64> = root
        .attribute("viewBox")
        .map(|text| text.split([' ', ',']).filter(|w| !w.is_empty()).map_while(|w| w.parse().ok()).collect())
        .unwrap_or_default();
    let (x, y, across, down) = match view.as_slice() {
        [x, y, w, h] if *w > 0.0 && *h > 0.0 => (*x, *y, width / w, height / h),
        _ => (0.0, 0.0, 25.4 / 96.0, 25.4 / 96.0),
    };
    Ok(Affine::new([across, 0.0, 0.0, -down, -x * across, height + y * down]))
}

/// Of an inch, 96 units make one (CSS Values and Units, absolute lengths).
fn millimetres(length: Length) -> Option<f64> {
    let inch = 25.4;
    let one = match length.unit {
        LengthUnit::Mm => 1.0,
        LengthUnit::Cm => 10.0,
        LengthUnit::In => inch,
        LengthUnit::Pt => inch / 72.0,
        LengthUnit::Pc => inch / 6.0,
        LengthUnit::Px | LengthUnit::None => inch / 96.0,
        _ => return None,
    };
    Some(length.number * one).filter(|mm| mm.is_finite() && *mm > 0.0)
}

fn collect(root: Node, page: Affine, strokes: &mut Vec<Stroke>) {
    let mut open = vec![(root, page)];
    while let Some((node, outer)) = open.pop().filter(|_| strokes.len() < bars::MOST_STROKES) {
        let own = node.attribute("transform").and_then(|text| Transform::from_str(text).ok());
        let place = own.map_or(outer, |t| outer * Affine::new([t.a, t.b, t.c, t.d, t.e, t.f]));
        let number = |name: &str| node.attribute(name).and_then(|text| text.trim().parse::<f64>().ok()).unwrap_or(0.0);
        match node.tag_name().name() {
            "metadata" | "defs" | "style" | "clipPath" | "symbol" | "pattern" => continue,
            "path" => {
                let data = node.attribute("d").unwrap_or_default();
                straight(&BezPath::from_svg(data).unwrap_or_default(), place, strokes);
            }
            "line" => strokes.push(Stroke {
                from: place * Point::new(number("x1"), number("y1")),
                to: place * Point::new(number("x2"), number("y2")),
            }),
            "polyline" => {
                let numbers: Vec<f64> = node
                    .attribute("points")
                    .unwrap_or_default()
                    .split([' ', ',', '\n'])
                    .filter_map(|w| w.parse().ok())
                    .collect();
                let points: Vec<Point> = numbers.chunks_exact(2).map(|p| place * Point::new(p[0], p[1])).collect();
                strokes.extend(points.windows(2).map(|w| Stroke { from: w[0], to: w[1] }));
            }
            _ => {}
        }
        open.extend(node.children().filter(Node::is_element).map(|child| (child, place)));
    }
}

/// The straight strokes of a path.
fn straight(path: &BezPath, place: Affine, strokes: &mut Vec<Stroke>) {
    let mut last = Point::ZERO;
    for element in path.elements() {
        if let PathEl::LineTo(to) = element {
            strokes.push(Stroke { from: place * last, to: place * *to });
        }
        last = element.end_point().unwrap_or(last);
    }
}
