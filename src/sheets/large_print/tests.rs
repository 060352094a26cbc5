use super::labels::{cut_ring, holds, stands_within};
use super::*;
use crate::samples::{SAMPLE, SAMPLE_NAME};
use crate::sheets::paper::PAPERS;
use crate::sheets::{Attachment, Letters, SheetSet, SheetTitle, lay_out_in};
use crate::template::Role;
use crate::template::legible::crossed_texts;
use crate::worked::Worked;
use kurbo::Shape;
use std::sync::LazyLock;

fn pieces(style: &str) -> Vec<Piece> {
    let text = SAMPLE.replace("back overlay", style);
    let reading = crate::design::file::read(&text, SAMPLE_NAME).unwrap_or_else(|refusal| panic!("{refusal}"));
    let worked = Worked::of(&reading.design).unwrap_or_else(|faults| panic!("{faults:?}"));
    crate::pieces::all(&worked, &crate::checks::all(&worked))
}

fn laid(pieces: Vec<Piece>, paper: crate::sheets::paper::Paper, letters: Letters) -> SheetSet {
    let title = SheetTitle { bow: "Ash flatbow".into(), digest: "ABCD-EFGH".into(), ..SheetTitle::default() };
    lay_out_in(letters, title, paper, pieces, Attachment::default()).unwrap_or_else(|faults| panic!("{faults:?}"))
}

/// Every line and filled figure of a piece, as text, wherever it lies on paper.
fn shapes(piece: &Piece) -> Vec<String> {
    let shape = |item: &Item| match &item.figure {
        Figure::Line(path) | Figure::Fill(path) => Some(format!("{:?} {path:?}", item.role)),
        Figure::Text { .. } => None,
    };
    piece.template.items.iter().filter_map(shape).collect()
}

#[test]
fn no_line_moves_and_no_words_are_lost() {
    for style in crate::nock::NOCK_STYLES {
        for piece in pieces(style.name()) {
            let large = enlarged(piece.clone(), &FIELDS);
            let (tables, _) = taken_out(&piece.template.items);
            let geometry = large
                .iter()
                .find(|p| p.template.name == piece.template.name)
                .unwrap_or_else(|| panic!("{style:?}", style = style.name()));
            let after = shapes(geometry);
            let before = shapes(&piece);
            // Only the rules of tables are drawn anew.
            assert_eq!(before.len() - after.len(), 3 * tables.len(), "{}", piece.template.name);
            assert!(after.iter().all(|shape| before.contains(shape)), "{}", piece.template.name);
            let words = |pieces: &[Piece]| -> String {
                let texts = pieces.iter().flat_map(|p| &p.template.items).filter_map(|item| match &item.figure {
                    Figure::Text { text, .. } => Some(text.clone()),
                    _ => None,
                });
                texts.collect::<Vec<_>>().join(" ").split_whitespace().collect::<Vec<_>>().join(" ")
            };
            let all = words(&large);
            for word in words(std::slice::from_ref(&piece)).split(' ') {
                assert!(all.contains(word), "{}: {word}", piece.template.name);
            }
        }
    }
}

/// A figure on a scale, where a larger one has no room.
fn is_figure(text: &str) -> bool {
    text.chars().all(|c| c.is_ascii_digit())
}

/// Whether a word stands on what is cut out of a part.
fn is_cut_out(part: &Template, item: &Item) -> bool {
    part.items.iter().filter_map(cut_ring).any(|ring| stands_within(ring, item))
}

/// What a piece's parts say in large letters, by the piece's name.
fn said_in_large_letters(set: &SheetSet) -> std::collections::BTreeMap<String, String> {
    let mut said = std::collections::BTreeMap::<String, String>::new();
    for part in set.pages.iter().flat_map(|page| &page.parts) {
        for item in &part.items {
            let Figure::Text { text, size, .. } = &item.figure else { continue };
            if *size >= LETTERS - 1e-9 {
                let base = part.name.split(", ").next().unwrap_or_default().to_owned();
                let all = said.entry(base).or_default();
                all.push(' ');
                all.push_str(&text.to_lowercase());
            }
        }
    }
    said
}

#[test]
fn letters_are_large_legible_and_within_the_page_on_every_paper() {
    for (style, set) in SETS.iter() {
        let paper = set.paper;
        let (mut all, mut small) = (0, Vec::new());
        let said = said_in_large_letters(set);
        for page in &set.pages {
            let mut whole = Template::new("page");
            for part in &page.parts {
                whole.add(part.clone());
                let b = part.bounds().unwrap_or_default();
                assert!(
                    b.x0 >= 6.0 - 1e-6
                        && b.y0 >= 6.0 - 1e-6
                        && b.x1 <= page.width - 6.0 + 1e-6
                        && b.y1 <= page.height - 6.0 + 1e-6,
                    "{} {}: {b:?}",
                    paper.name,
                    part.name
                );
                let b = b.inflate(-1e-6, -1e-6);
                if b.intersect(paper.field().inflate(-1e-6, -1e-6)).area() > 0.0 {
                    for item in &part.items {
                        let Figure::Text { text, size, .. } = &item.figure else { continue };
                        all += 1;
                        let small_one = *size < LETTERS - 1e-9 && part.name != "frame" && !is_figure(text);
                        // What is cut out keeps its words; they stand large in its title, its explanation or its list as well.
                        let as_well = || {
                            is_cut_out(part, item)
                                && said.get(&part.name).is_some_and(|said| said.contains(&text.to_lowercase()))
                        };
                        if small_one && !as_well() {
                            small.push(format!("{}: {text}", part.name));
                        }
                    }
                }
            }
            assert_eq!(crossed_texts(&whole), Vec::<String>::new(), "{style}");
        }
        assert!(all > 50 && small.is_empty(), "{style}: small of {all}: {small:?}");
    }
}

#[test]
fn every_page_has_its_head_in_large_letters_and_true_bars() {
    let set = laid(pieces("back overlay"), crate::sheets::paper::A4, Letters::Large);
    let mut short = 0;
    for page in &set.pages {
        let head = page.parts.iter().find(|p| p.name == crate::sheets::frame::LARGE_HEAD);
        let texts: Vec<String> = head
            .iter()
            .flat_map(|h| &h.items)
            .filter_map(|i| match &i.figure {
                Figure::Text { text, .. } => Some(text.clone()),
                _ => None,
            })
            .collect();
        let text = texts.join(" ");
        // Only a sheet filled by one tall piece has no room for the cautions in large letters.
        let whole = head.is_some_and(|h| h.bounds().unwrap_or_default().height() > 30.0);
        short += usize::from(!whole);
        assert!(whole || page.parts.iter().any(|p| p.name.contains("tip taper")), "{}", page.name);
        let cautions: &[&str] = if whole { &["eyes", "tiller"] } else { &[crate::sheets::frame::CAUTIONS_ELSEWHERE] };
        for wanted in ["Ash flatbow", "ABCD-EFGH", "100 %"].iter().chain(cautions) {
            assert!(text.contains(wanted), "{wanted}: {text}");
        }
        assert_eq!(page.parts.iter().filter(|p| p.name.starts_with("bar ")).count(), 4);
    }
    assert!(short < set.pages.len() / 2 && short > 0);
    // The sheet that is named has them.
    let first = set.pages[0].parts.iter().find(|p| p.name == crate::sheets::frame::LARGE_HEAD).unwrap();
    assert!(first.bounds().unwrap().height() > 30.0);
    // Usual sheets have no such head, and more fits on them.
    let usual = laid(pieces("back overlay"), crate::sheets::paper::A4, Letters::Usual);
    assert!(usual.pages.len() < set.pages.len());
    assert!(usual.pages.iter().all(|p| p.parts.iter().all(|p| p.name != crate::sheets::frame::LARGE_HEAD)));
}

#[test]
fn a_label_without_room_becomes_a_number_and_its_words_are_listed() {
    let mut t = Template::new("slot");
    for x in [0.0, 8.0, 16.0] {
        t.segment(Role::Cut, (x, 0.0), (x, 30.0));
    }
    t.text((4.0, 10.0), size::SMALL, Anchor::Middle, "slot");
    t.text((4.0, 20.0), size::SMALL, Anchor::Middle, "a");
    t.text((12.0, 10.0), size::SMALL, Anchor::Middle, "slot");
    let made = enlarged(Piece::new(t), &FIELDS);
    let texts = |piece: &Piece| -> Vec<String> {
        let texts = piece.template.items.iter().filter_map(|i| match &i.figure {
            Figure::Text { text, .. } => Some(text.clone()),
            _ => None,
        });
        texts.collect()
    };
    assert_eq!(texts(&made[0]), ["(1)", "a", "(1)"]);
    assert!(texts(&made[1]).contains(&"(1) slot".to_owned()), "{:?}", texts(&made[1]));
}

#[test]
fn a_number_stands_where_its_leader_ends() {
    let mut t = Template::new("leader");
    t.segment(Role::Note, (0.0, 0.0), (20.0, 0.0));
    let long = "a word that has no room here at all for its larger letters";
    t.text((21.0, -1.0), size::SMALL, Anchor::Start, long);
    // Walls above and below the label leave room for a number and for nothing wider.
    for x in [28.0, 50.0, 80.0] {
        t.segment(Role::Cut, (x, -12.0), (x, -3.2));
        t.segment(Role::Cut, (x, 3.2), (x, 12.0));
        t.segment(Role::Cut, (x, -2.0), (x, -1.8));
        t.segment(Role::Cut, (x, 1.6), (x, 1.8));
    }
    let made = enlarged(Piece::new(t), &FIELDS);
    let at = made[0].template.items.iter().find_map(|i| match &i.figure {
        Figure::Text { text, at, .. } if text == "(1)" => Some(*at),
        _ => None,
    });
    // Set from its middle.
    assert!((20.0..30.0).contains(&at.unwrap().x), "{at:?}");
}

#[test]
fn pieces_keep_off_the_frame_unless_one_needs_all_the_room() {
    let set = laid(pieces("back overlay"), crate::sheets::paper::A4, Letters::Large);
    let field = crate::sheets::paper::A4.field();
    for page in &set.pages {
        let head = page.parts.iter().find(|p| p.name == crate::sheets::frame::LARGE_HEAD).unwrap();
        if head.bounds().unwrap().height() < 30.0 {
            continue;
        }
        for part in page.parts.iter().take_while(|p| p.name != crate::sheets::frame::LARGE_HEAD) {
            let b = part.bounds().unwrap();
            assert!(b.x0 > field.x0 + 2.5 && b.x1 < field.x1 - 2.5 && b.y0 > field.y0 + 2.5, "{}: {b:?}", part.name);
        }
    }
}

const FIELDS: [(f64, f64); 2] = [(184.0, 210.0), (184.0, 232.0)];

/// What is cut out lies on the bench without the sheet: its name, its limb, go and no-go must stay on it as words.
#[test]
fn what_is_cut_out_keeps_every_word() {
    let mut kept = 0;
    for (style, bow) in BOWS.iter() {
        for piece in bow {
            let large = enlarged(piece.clone(), &FIELDS);
            let Some(after) = large.iter().find(|p| p.template.name == piece.template.name) else { panic!("{style}") };
            for item in &piece.template.items {
                let Figure::Text { text, .. } = &item.figure else { continue };
                for ring in piece.template.items.iter().filter_map(cut_ring).filter(|ring| stands_within(ring, item)) {
                    let still = after.template.items.iter().filter_map(cut_ring).find(|other| *other == ring);
                    let Some(still) = still else { panic!("{style}, {}: no cut line", piece.template.name) };
                    let words = |item: &Item| match &item.figure {
                        Figure::Text { text, .. } if holds(still, item) => text.replace(": ", " "),
                        _ => String::new(),
                    };
                    let all: Vec<String> = after.template.items.iter().map(words).collect();
                    let all = format!(" {} ", all.join(" ").replace(": ", " "));
                    for word in text.replace(": ", " ").split_whitespace() {
                        assert!(all.contains(&format!(" {word} ")), "{style}, {}: {word}", piece.template.name);
                    }
                    kept += 1;
                }
            }
        }
    }
    assert!(kept > 300, "{kept}");
}

/// A name, a paper, and the sheets.
static SETS: LazyLock<Vec<(String, SheetSet)>> = LazyLock::new(|| {
    let on_every_paper = |(style, bow): &(String, Vec<Piece>)| {
        let set = |paper: crate::sheets::paper::Paper| {
            (format!("{style} {}", paper.name), laid(bow.clone(), paper, Letters::Large))
        };
        PAPERS.map(set)
    };
    BOWS.iter().flat_map(on_every_paper).collect()
});

/// Pieces of every style, and of bows with long names and wide tips.
static BOWS: LazyLock<Vec<(String, Vec<Piece>)>> = LazyLock::new(bows);

fn bows() -> Vec<(String, Vec<Piece>)> {
    let mut all: Vec<(String, Vec<Piece>)> =
        crate::nock::NOCK_STYLES.iter().map(|style| (style.name().to_owned(), pieces(style.name()))).collect();
    for file in ["recurved-bow", "unequal-limbs", "yew-longbow"] {
        let path = format!("{}/examples/{file}.toml", env!("CARGO_MANIFEST_DIR"));
        let text = std::fs::read_to_string(&path).unwrap();
        let reading = crate::design::file::read(&text, &path).unwrap_or_else(|refusal| panic!("{refusal}"));
        let worked = Worked::of(&reading.design).unwrap_or_else(|faults| panic!("{faults:?}"));
        all.push((file.to_owned(), crate::pieces::all(&worked, &crate::checks::all(&worked))));
    }
    all
}

/// A drawing on a sheet by itself would be any limb's.
#[test]
fn everything_on_every_sheet_bears_its_title_and_limb_in_large_letters() {
    for (style, set) in SETS.iter() {
        let parts = set.pages.iter().flat_map(|page| &page.parts);
        let limbs = ["upper limb", "lower limb", "both limbs"];
        let of_limb = |part: &&Template| limbs.iter().any(|limb| part.name.starts_with(limb));
        let mut count = 0;
        for part in parts.filter(of_limb) {
            let title: Vec<String> = part
                .items
                .iter()
                .filter_map(|item| match &item.figure {
                    Figure::Text { text, size, bold: true, .. } if *size >= LETTERS - 1e-9 => Some(text.to_lowercase()),
                    _ => None,
                })
                .collect();
            let title = title.join(" ").replace(':', "");
            // Down to the words that tell pieces apart; lists are named after their piece.
            let name = part.name.split([',', ':']).next().unwrap_or_default();
            assert!(title.contains(name), "{style}: {} has but '{title}'", part.name);
            count += 1;
        }
        assert!(count > 12, "{style}: {count}");
    }
}

/// A list is found where its piece lies, or on the sheet after it.
#[test]
fn lists_stand_with_their_piece_or_on_the_next_sheet() {
    let mut lists = 0;
    for (style, set) in SETS.iter() {
        let all: Vec<(usize, &str)> = set
            .pages
            .iter()
            .enumerate()
            .flat_map(|(place, page)| page.parts.iter().map(move |part| (place, part.name.as_str())))
            .collect();
        for (place, name) in &all {
            let Some((base, rest)) = name.split_once(", ") else { continue };
            let kind = rest.split(' ').next().unwrap_or_default();
            let Some((own, _)) = all.iter().find(|(_, name)| *name == base) else { continue };
            if ["words", "table"].contains(&kind) {
                assert!((*own..=own + 1).contains(place), "{style}: {name} {own} {place}");
                lists += 1;
            }
        }
    }
    assert!(lists > 100, "{lists}");
}

#[test]
fn the_line_of_bow_and_style_ends_where_it_ended() {
    for piece in pieces("back overlay") {
        let large = enlarged(piece.clone(), &FIELDS);
        for item in large.iter().flat_map(|p| &p.template.items) {
            let Figure::Text { text, .. } = &item.figure else { continue };
            assert!(!text.contains("1:1 "), "{}: {text}", piece.template.name);
        }
    }
}

#[test]
fn two_texts_on_one_line_do_not_run_together() {
    for (style, bow) in BOWS.iter() {
        for piece in bow {
            let whole = enlarged(piece.clone(), &FIELDS);
            for part in &whole {
                let texts: Vec<&Item> =
                    part.template.items.iter().filter(|i| matches!(i.figure, Figure::Text { .. })).collect();
                for (i, a) in texts.iter().enumerate() {
                    for b in &texts[i + 1..] {
                        let (Figure::Text { turn: 0.0, at, .. }, Figure::Text { turn: 0.0, at: other, .. }) =
                            (&a.figure, &b.figure)
                        else {
                            continue;
                        };
                        let large = |i: &Item| matches!(i.figure, Figure::Text { size, .. } if size >= LETTERS - 1e-9);
                        if (at.y - other.y).abs() > 1.0 || !large(a) || !large(b) {
                            continue;
                        }
                        let (p, q) = (a.bounds(), b.bounds());
                        let gap = (q.x0 - p.x1).max(p.x0 - q.x1);
                        assert!(gap > 0.85, "{style}, {}: {:?} {:?}", part.template.name, a.figure, b.figure);
                    }
                }
            }
        }
    }
}

#[test]
fn a_warning_stays_below_its_explanation_in_bold() {
    let mut t = Template::new("piece");
    t.line(Role::Outline, Rect::new(0.0, -30.0, 60.0, 0.0).to_path(0.1));
    let high =
        crate::template::caption::caption(&mut t, Point::new(0.0, 40.0), 84.0, "Name", "Bow · style · 1:1\nSeen.");
    crate::template::paragraph::bold_paragraph(&mut t, Point::new(0.0, 39.2 - high), 84.0, "Do not cut.");
    let made = enlarged(Piece::new(t), &FIELDS);
    let of = |words: &str| {
        let found = made[0].template.items.iter().find_map(|item| match &item.figure {
            Figure::Text { text, at, size, bold, .. } if text == words => Some((*at, *size, *bold)),
            _ => None,
        });
        found.unwrap_or_else(|| panic!("{words}"))
    };
    let (above, warning) = (of("Seen."), of("Do not cut."));
    assert!(warning.2 && (warning.1 - LETTERS).abs() < 1e-9);
    let down = above.0.y - warning.0.y;
    assert!(above.0.x == warning.0.x && (4.0..9.0).contains(&down), "{down}");
}
