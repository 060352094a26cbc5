//! The page that explains the nock styles is the one that the program writes now, and its figure shows them all.

// A test that cannot go on should stop.
#![allow(clippy::unwrap_used)]

use nockwright::figures::styles::side_by_side;
use nockwright::nock::NOCK_STYLES;
use nockwright::reports::lists::styles_page;

#[test]
fn the_page_and_its_figure_are_fresh() {
    let fresh =
        "write it anew: cargo run -- styles --page > docs/styles.md; cargo run -- styles --figure > docs/styles.svg";
    assert!(std::fs::read_to_string("docs/styles.md").unwrap() == styles_page(), "docs/styles.md: {fresh}");
    let figure = String::from_utf8(side_by_side().unwrap()).unwrap();
    assert!(std::fs::read_to_string("docs/styles.svg").unwrap() == figure, "docs/styles.svg: {fresh}");
    for style in NOCK_STYLES {
        assert!(figure.contains(&format!(">{}<", style.name())), "{}", style.name());
    }
}
