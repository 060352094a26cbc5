//! Every nock style on every kind of bow: the string is hung on it and drawn, its mesh is closed and as large as its sections
//! say, and every fault it can have is refused with its reason.
//!
//! The meshes of one bow are also put into the target folder, where `tests/programs/read_drawings.py` reads them again.

// A test that cannot go on should stop.
#![allow(clippy::unwrap_used)]

use nockwright::design::Side;
use nockwright::design::file::read;
use nockwright::fault::Faults;
use nockwright::nock::{NOCK_STYLES, Nock};
use nockwright::string::path::Run;
use nockwright::tip::mesh::Mesh;
use nockwright::worked::{Statics, Worked};
use nockwright::writers::{files, stl};

const BOWS: [&str; 4] = ["light", "heavy", "short", "long"];

/// A bow of the four, with the style and `more` keys on both limbs.
fn worked(bow: &str, style: &str, more: &str) -> Result<Worked, Faults> {
    let text = std::fs::read_to_string(format!("tests/bows/{bow}.toml")).unwrap();
    let text = format!("{text}\n[nock]\nstyle = \"{style}\"\n{more}\n");
    let reading = read(&text, bow).unwrap_or_else(|refusal| panic!("{refusal}"));
    Worked::of(&reading.design)
}

/// Only the nock on the upper limb, without following the string through the draw.
fn nock(bow: &str, style: &str, more: &str) -> Result<Nock, Faults> {
    let text = std::fs::read_to_string(format!("tests/bows/{bow}.toml")).unwrap();
    let text = format!("{text}\n[nock]\nstyle = \"{style}\"\n{more}\n");
    let design = read(&text, bow).unwrap_or_else(|refusal| panic!("{refusal}")).design;
    let statics = Statics::of(&design, 10).unwrap();
    let (end, choice) = (statics.ends.get(Side::Upper), design.nocks.get(Side::Upper));
    nockwright::nock::style(style).unwrap().nock(end, choice, &design.string, statics.swings.get(Side::Upper))
}

fn words(nock: &Nock, run: &Run) -> String {
    let click =
        |c: &nockwright::string::path::Click| format!("{:.3} mm at {:.0} deg", c.size * 1e3, c.at.angle.to_degrees());
    let clicks: Vec<String> = run.clicks.iter().map(click).collect();
    let seat = |rest: Option<&nockwright::string::path::Rest>| rest.map_or(f64::NAN, |r| r.a[r.a.len() / 2] * 1e3);
    format!(
        "{}: {} steps, leaves {:?}, seat {:.2} to {:.2} mm, sharpest {:.2} mm, clicks {clicks:?}",
        nock.style,
        run.steps.len(),
        run.leaves.map(|l| (l.at.angle.to_degrees(), l.how)),
        seat(run.rests.first()),
        seat(run.rests.last()),
        run.figures.iter().map(|f| f.sharpest).fold(f64::INFINITY, f64::min) * 1e3,
    )
}

/// The straight groove, there to compare with, clicks; its many edges take too long to follow here.
#[test]
fn the_string_stays_on_every_style_and_clicks_only_where_it_is_said_to() {
    let mut wrong = Vec::new();
    for bow in BOWS {
        for style in NOCK_STYLES {
            if style.name() == "straight groove" {
                continue;
            }
            let worked = match worked(bow, style.name(), "") {
                Ok(worked) => worked,
                Err(faults) => {
                    wrong.push(format!("{bow}, {}: {faults:#?}", style.name()));
                    continue;
                }
            };
            for side in Side::BOTH {
                let (nock, run) = (worked.nocks.get(side), &worked.loops.get(side).draw);
                let words = format!("{bow} {}", words(nock, run));
                println!("{words}");
                let most = run.clicks.iter().map(|c| c.size).fold(0.0, f64::max);
                if run.leaves.is_some() || most > 1e-6 {
                    wrong.push(words);
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// From this far below the nock meshes are compared and written, m.
const HANDHOLD: f64 = 25e-3;

#[test]
fn meshes_hold_what_the_sections_hold() {
    let folder = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join("meshes");
    let (mut files, mut volumes) = (Vec::new(), String::new());
    let mut worst = 0.0_f64;
    for bow in BOWS {
        for style in NOCK_STYLES {
            let nock = nock(bow, style.name(), "").unwrap();
            let from = nock.from - HANDHOLD;
            let mesh = Mesh::of_tip(&nock.solid, from).unwrap();
            let sections: f64 = nock.solid.volume(from, nock.solid.end).iter().sum();
            let off = mesh.volume() / sections - 1.0;
            worst = worst.max(off.abs());
            assert!(off.abs() < 5e-3, "{bow}, {}: {off}", style.name());
            if bow == "long" {
                let name = format!("-{}.stl", style.name().replace(' ', "-"));
                volumes += &format!("long{name} {:.3}\n", sections * 1e9);
                files.push((name, stl::write(&mesh)));
            }
        }
    }
    println!("meshes against sections: at worst {:.4} %", worst * 100.0);
    assert_eq!(files.len(), NOCK_STYLES.len());
    // Meshes of styles that are no more would be read again.
    let _ = std::fs::remove_dir_all(&folder);
    files::save(&folder, "long", &files).unwrap();
    std::fs::write(folder.join("volumes.txt"), volumes).unwrap();
}
