//! The SVG as usvg reads it.

use std::path::Path;

use nockwright::font;
use nockwright::sheets::paper::PAPERS;
use nockwright::writers::WRITERS;
use resvg::tiny_skia::Pixmap;
use resvg::usvg::{self, Group, Node, Options, Tree, fontdb::Database, roxmltree::Document};

use crate::demo;
use crate::written;

fn tree(bytes: &[u8]) -> Tree {
    let mut faces = Database::new();
    for face in font::TRUE_TYPE {
        faces.load_font_data(face.to_vec());
    }
    let options = Options { fontdb: faces.into(), font_family: "none".into(), ..Options::default() };
    Tree::from_data(bytes, &options).unwrap()
}

fn group<'a>(root: &'a Group, id: &str) -> Option<&'a Group> {
    root.children().iter().find_map(|node| match node {
        Node::Group(g) if g.id() == id => Some(g.as_ref()),
        Node::Group(g) => group(g, id),
        _ => None,
    })
}

/// The longest straight path in a group: width and height in user units.
fn longest(group: &Group) -> (f64, f64) {
    let mut found = (0.0, 0.0);
    for node in group.children() {
        let size = match node {
            Node::Group(g) => longest(g),
            Node::Path(p) => {
                let b = p.abs_bounding_box();
                (f64::from(b.width()), f64::from(b.height()))
            }
            _ => continue,
        };
        if size.0.max(size.1) > f64::max(found.0, found.1) {
            found = size;
        }
    }
    found
}

/// usvg turns millimetres into its own 96 to the inch.
const PER_MM: f64 = 96.0 / 25.4;

#[test]
fn pages_and_bars_measure_true() {
    for paper in PAPERS {
        for (_, bytes) in written("svg", &demo::sheets(paper)) {
            let tree = tree(&bytes);
            assert!((f64::from(tree.size().width()) / PER_MM - paper.width).abs() < 1e-3);
            assert!((f64::from(tree.size().height()) / PER_MM - paper.height).abs() < 1e-3);
            for (id, length) in [("bar-100-mm", 100.0), ("bar-4-in", 101.6)] {
                let across = longest(group(tree.root(), &format!("{id}-across")).unwrap());
                let up = longest(group(tree.root(), &format!("{id}-up")).unwrap());
                assert!((across.0 / PER_MM - length).abs() < 0.01 && across.1 < 1e-3, "{id}: {across:?}");
                assert!((up.1 / PER_MM - length).abs() < 0.01 && up.0 < 1e-3, "{id}: {up:?}");
            }
        }
    }
}

#[test]
fn view_box_and_size_have_the_same_numbers() {
    for paper in PAPERS {
        for (_, bytes) in written("svg", &demo::sheets(paper)) {
            let text = String::from_utf8(bytes).unwrap();
            let document = Document::parse(&text).unwrap();
            let root = document.root_element();
            assert_eq!(root.attribute("width").unwrap(), format!("{}mm", paper.width));
            assert_eq!(root.attribute("height").unwrap(), format!("{}mm", paper.height));
            assert_eq!(root.attribute("viewBox").unwrap(), format!("0 0 {} {}", paper.width, paper.height));
        }
    }
}

fn design_of(text: &str) -> (String, String) {
    let document = Document::parse(text).unwrap();
    let node = document.descendants().find(|n| n.tag_name().name() == "design").unwrap();
    (node.attribute("encoding").unwrap().to_owned(), node.text().unwrap_or("").to_owned())
}

#[test]
fn the_design_travels_whole() {
    let text = String::from_utf8(written("svg", &demo::sheets(PAPERS[0])).remove(0).1).unwrap();
    assert_eq!(design_of(&text), ("text".to_owned(), demo::DESIGN.to_owned()));
    // Carriage returns and characters that XML has not are kept, too: as base64.
    let set = demo::sheets_named("Bow", "a = 1\r\n", PAPERS[0]);
    let text = String::from_utf8(written("svg", &set).remove(0).1).unwrap();
    assert_eq!(design_of(&text), ("base64".to_owned(), "YSA9IDENCg==".to_owned()));
}

#[test]
fn hostile_names_stay_words() {
    let set = demo::sheets_named(demo::HOSTILE, demo::DESIGN, PAPERS[0]);
    for (_, bytes) in written("svg", &set) {
        let text = String::from_utf8(bytes).unwrap();
        let document = Document::parse(&text).unwrap();
        assert!(document.descendants().all(|n| n.tag_name().name() != "script"));
        let title = document.descendants().find(|n| n.has_tag_name("title") || n.tag_name().name() == "title").unwrap();
        assert!(title.text().unwrap().contains("</text><script>alert(\"1\")</script> & 'Öd'"));
    }
}

#[test]
fn text_is_as_wide_as_it_was_laid_out() {
    // Without its measured length, each text drawn by usvg alone comes out as wide as the layout took it to be.
    let text = String::from_utf8(written("svg", &demo::sheets(PAPERS[0])).remove(0).1).unwrap();
    let document = Document::parse(&text).unwrap();
    let mut seen = 0;
    for node in document.descendants().filter(|n| n.tag_name().name() == "text") {
        let words = node.text().unwrap_or("");
        let size: f64 = node.attribute("font-size").unwrap().parse().unwrap();
        let bold = node.attribute("font-weight") == Some("bold");
        let Some(length) = node.attribute("textLength") else { continue };
        assert!((length.parse::<f64>().unwrap() - font::text_width(words, size, bold)).abs() < 1e-3);
        // A full stop at each side gives the box fixed sides: its own ink is taken off again.
        let weight = if bold { "bold" } else { "normal" };
        let escaped = words.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;");
        let draw = |words: &str| {
            let svg = format!(
                "<svg xmlns='http://www.w3.org/2000/svg' width='900' height='20' xml:space='preserve'><text x='5' y='15' \
                 font-family='{}' font-weight='{weight}' font-size='{size}'>{words}</text></svg>",
                font::FAMILY
            );
            f64::from(tree(svg.as_bytes()).root().abs_bounding_box().width())
        };
        let drawn = draw(&format!("H{escaped}H")) - draw("HH");
        assert!((drawn - font::text_width(words, size, bold)).abs() < 0.02, "{words}: {drawn}");
        seen += 1;
    }
    assert!(seen > 30);
}

#[test]
fn the_picture_is_not_empty() {
    let set = demo::sheets(PAPERS[0]);
    for (suffix, bytes) in written("svg", &set) {
        let tree = tree(&bytes);
        let size = tree.size().to_int_size();
        let mut picture = Pixmap::new(size.width(), size.height()).unwrap();
        resvg::render(&tree, usvg::Transform::identity(), &mut picture.as_mut());
        let inked = picture.pixels().iter().filter(|p| p.alpha() > 128).count();
        assert!(inked > 2000, "{suffix}: {inked}");
        if let Some(folder) = std::env::var_os("NOCKWRIGHT_PICTURES") {
            picture.save_png(Path::new(&folder).join(format!("demo{suffix}.png"))).unwrap();
        }
    }
    assert!(WRITERS.iter().any(|w| w.name == "svg"));
}
