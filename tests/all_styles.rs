//! Every nock style on every kind of bow: the string is hung on it and drawn, its mesh is closed and as large as its sections
//! say. The faults a style can have are in `tests/refused/nocks/`.
//!
//! The meshes of one bow are also put into the target folder, where `tests/programs/read_drawings.py` reads them again.

// A test that cannot go on should stop.
#![allow(clippy::unwrap_used)]

use nockwright::checks::loop_on_tip::pinched;
use nockwright::design::Side;
use nockwright::design::file::read;
use nockwright::fault::Faults;
use nockwright::findings::Verdict;
use nockwright::nock::{NOCK_STYLES, Nock};
use nockwright::string::path::Run;
use nockwright::string::path::figures::PINCH;
use nockwright::tip::flattening::Bands;
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

/// Wraps rolled up again: at every height both sides' ways from the back meet on the belly as nearly as the wrap says.
///
/// The girth comes from the solid's own sections, point by point; the paper's middle stands half its thickness off.
#[test]
fn wraps_close_on_the_tip_as_nearly_as_they_say() {
    let paper = 0.1e-3;
    let mut largest = 0.0_f64;
    for bow in BOWS {
        for style in NOCK_STYLES {
            let solid = match nock(bow, style.name(), "") {
                Ok(nock) => nock.solid,
                Err(faults) => panic!("{bow}, {}: {faults:#?}", style.name()),
            };
            let surface = |a: f64, theta: f64| -> f64 { solid.uncut(a, theta) };
            let wanted = [-18e-3, solid.end - solid.rounding];
            let Ok(bands) = Bands::of(&surface, wanted, paper).fitting(10e-3, 0.5e-3, 3) else { continue };
            for band in bands {
                let said = 2.0 * band.mismatch.round;
                for k in 0..=8 {
                    let a = band.span[0] + (band.span[1] - band.span[0]) * f64::from(k) / 8.0;
                    let points: Vec<[f64; 2]> = (0..4000)
                        .map(|i| {
                            let theta = std::f64::consts::TAU * f64::from(i) / 4000.0;
                            let r = surface(a, theta);
                            [r * theta.sin(), r * theta.cos()]
                        })
                        .collect();
                    let around = points.iter().zip(points.iter().cycle().skip(1));
                    let girth: f64 = around.map(|(p, q)| (q[0] - p[0]).hypot(q[1] - p[1])).sum();
                    let gap = band.girth(a) - (girth + std::f64::consts::PI * paper);
                    largest = largest.max(gap.abs());
                    assert!(
                        gap.abs() < said + 0.05e-3,
                        "{bow}, {} at {:.1} mm: {:.3} mm off, said {:.3} mm",
                        style.name(),
                        a * 1e3,
                        gap * 1e3,
                        said * 1e3
                    );
                }
            }
        }
    }
    println!("widest gap {:.3} mm", largest * 1e3);
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
                let (nock, run) = (worked.nocks.get(side), &worked.loops().get(side).draw);
                let words = format!("{bow} {}", words(nock, run));
                println!("{words}");
                let most = run.clicks.iter().map(|c| c.size).fold(0.0, f64::max);
                let back = worked.loops().get(side).let_down.as_ref();
                let back =
                    back.is_some_and(|run| run.leaves.is_none() && run.clicks.iter().all(|c| c.size.abs() <= 1e-6));
                let in_the_way = run.figures.iter().map(|f| pinched(nock, f) / f.leg).fold(0.0, f64::max);
                if run.leaves.is_some() || most > 1e-6 || !back || in_the_way > PINCH {
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
            let from = nock.reach() - HANDHOLD;
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

/// A knot on the lower limb: no loop is followed there, nothing is asked of it, and the report says why.
#[test]
fn a_knot_grips_and_no_loop_is_looked_for() {
    let text = std::fs::read_to_string("tests/bows/short.toml").unwrap();
    let tied = text.replace("[string]\n", "[string]\nlower_end = \"knot\"\n");
    let nocks = "\n[upper.nock]\nstyle = \"back overlay\"\n[lower.nock]\nstyle = \"straight groove\"\n";
    let of = |text: &str| {
        Worked::of(&read(&format!("{text}{nocks}"), "short").unwrap_or_else(|r| panic!("{r}")).design).unwrap()
    };
    let (tied, looped) = (of(&tied), of(&text));
    let asked = |worked: &Worked| {
        let checks = nockwright::checks::all(worked);
        let of_loop = ["loop_stays_on", "click", "way_is_free", "sharpest_bend", "loop_passes_over_tip"];
        [Side::Upper, Side::Lower]
            .map(|side| checks.iter().filter(|c| c.side == Some(side) && of_loop.contains(&c.id)).count())
    };
    assert_eq!(asked(&looped), [5, 5]);
    assert_eq!(asked(&tied), [5, 0]);
    assert!(
        !tied.loops().lower.is_followed() && tied.loops().upper.is_followed() && looped.loops().lower.is_followed()
    );
    // exp(2 pi 0.15) for each turn.
    let hold = tied.findings(Side::Lower).into_iter().find(|f| f.id == "knot_hold").unwrap();
    assert!((hold.value - 2.566_4).abs() < 1e-3, "{hold:?}");
    assert!(hold.note.contains("grip") && hold.note.contains("plain straight groove serves"));
    assert!(looped.findings(Side::Lower).iter().all(|f| f.id != "knot_hold"));
}

/// One good sample of each style: no check fails on either limb.
#[test]
fn each_style_has_a_sample_on_which_every_check_holds() {
    let bare = "groove_radius = \"3.2 mm\"\ngroove_depth = \"2.18 mm\"";
    let samples = [
        ("back overlay", "light", ""),
        ("back overlay with side grooves", "light", ""),
        ("back overlay with belly guide", "light", ""),
        ("back overlay with belly strip", "light", ""),
        ("horn nock", "light", ""),
        ("horn nock with side slot", "light", ""),
        ("side grooves", "stout", bare),
        ("pin nock", "stout", bare),
    ];
    let held = |worked: &Worked, what: &str| {
        let failing: Vec<String> = nockwright::checks::all(worked)
            .into_iter()
            .filter(|c| c.verdict == Verdict::Fails)
            .map(|c| format!("{} {} of {}", c.id, c.measured, c.allowed))
            .collect();
        assert!(failing.is_empty(), "{what}: {failing:?}");
    };
    for style in NOCK_STYLES.iter().filter(|s| s.name() != "straight groove") {
        let (_, bow, more) = samples.iter().find(|s| s.0 == style.name()).expect("a sample of each style");
        held(&worked(bow, style.name(), more).unwrap(), style.name());
    }
    // The straight groove is for a knot, on the lower limb.
    let text = std::fs::read_to_string("tests/bows/light.toml").unwrap();
    let text = text.replace("[string]\n", "[string]\nlower_end = \"knot\"\n");
    let nocks = "\n[upper.nock]\nstyle = \"back overlay\"\n[lower.nock]\nstyle = \"straight groove\"\n";
    let design = read(&format!("{text}{nocks}"), "light").unwrap_or_else(|r| panic!("{r}")).design;
    held(&Worked::of(&design).unwrap(), "straight groove with a knot");
}

/// A bow that recurves, with the style and `more` keys on both limbs.
fn recurved(style: &str, more: &str) -> Worked {
    let text = std::fs::read_to_string("examples/recurved-bow.toml").unwrap();
    let text = text.replace("back overlay with belly guide", style);
    Worked::of(&read(&format!("{text}\n{more}\n"), "recurved").unwrap_or_else(|r| panic!("{r}")).design).unwrap()
}

fn checked<'c>(checks: &'c [nockwright::findings::Check], id: &str) -> &'c nockwright::findings::Check {
    checks.iter().find(|c| c.id == id).unwrap_or_else(|| panic!("no check {id}"))
}

/// The glue under a strip: held by hand against one section, harder loaded by a stiffer strip, and failing under weak glue.
#[test]
fn glue_under_a_belly_strip_is_loaded_by_the_limbs_bending() {
    let of = |material: &str, glue: &str| {
        let text = std::fs::read_to_string("tests/bows/light.toml").unwrap();
        let text = format!(
            "{text}\n[nock]\nstyle = \"back overlay with belly strip\"\nstrip_material = \"{material}\"\n[strength]\nglue = \"{glue}\"\n"
        );
        Worked::of(&read(&text, "light").unwrap_or_else(|r| panic!("{r}")).design).unwrap()
    };
    let horn = of("horn", "10 MPa");
    let checks = nockwright::checks::all(&horn);
    let check = checked(&checks, "strip_glue");
    assert!(check.verdict == Verdict::Holds && (check.allowed - 10e6 / 3.0).abs() < 1.0, "{check:?}");
    let wood = of("hardwood", "10 MPa");
    let stiffer = nockwright::checks::all(&wood);
    assert!(checked(&stiffer, "strip_glue").measured > 1.3 * check.measured, "maple is twice as stiff as horn");
    let weak = nockwright::checks::all(&of("horn", "0.2 MPa"));
    assert_eq!(checked(&weak, "strip_glue").verdict, Verdict::Fails);

    // Where the ends are whole, by hand: N = n A2 M (y2 - c)/I over the end's face.
    let limb = horn.statics.cycle.at_full_draw().limbs.get(Side::Upper);
    let strip = horn.design.nocks.upper.strip().unwrap();
    let end = horn.statics.ends.get(Side::Upper);
    let over = |runs_out: f64, whole: f64| {
        let section = end.section(-whole);
        let n = 6.1e9 / (horn.design.limbs.upper.wood.modulus.value * horn.statics.cycle.stiffness_factor);
        let (area, strip_area) = (section.area(), n * section.width * strip.thickness);
        let y2 = section.belly_distance() + strip.thickness / 2.0;
        let c = strip_area * y2 / (area + strip_area);
        let own = strip.thickness.powi(2) / 12.0;
        let second = section.second_moment() + area * c * c + strip_area * (own + (y2 - c).powi(2));
        let at = limb.bent.s.last().unwrap() - whole;
        let k = limb.bent.s.partition_point(|s| *s <= at);
        let part = (at - limb.bent.s[k - 1]) / (limb.bent.s[k] - limb.bent.s[k - 1]);
        let moment = limb.bent.moment[k - 1] + part * (limb.bent.moment[k] - limb.bent.moment[k - 1]);
        let face = (runs_out - whole).abs() * end.width.at(-0.5 * (whole + runs_out));
        strip_area * moment * (y2 - c) / second / face
    };
    let [from, to] = strip.whole();
    let by_hand = over(strip.start, from).max(over(strip.end, to));
    assert!((check.measured / by_hand - 1.0).abs() < 0.02, "{} by hand {by_hand}", check.measured);
}

/// A strip far in from the tip moves less than the tip does, so it counts less; overlay and limb count as before.
#[test]
fn a_belly_strip_counts_where_it_lies() {
    use nockwright::worked::soundness::tip_mass;
    let with = |more: &str| tip_mass(&recurved("back overlay with belly strip", more), Side::Upper).unwrap();
    let (near, far) = (with(""), with("strip_start = \"44 mm\"\nguide_start = \"52 mm\"\nstrip_end = \"160 mm\""));
    let strip = |m: &nockwright::worked::soundness::TipMass| m.parts.iter().find(|p| p.0 == "strip").unwrap().1;
    // What the rest counts, from a bow that is the same but for its strip's place: as x (rest) + y (strip).
    let at_tip = |m: &nockwright::worked::soundness::TipMass| m.at_string[2] / m.whole;
    assert!(strip(&near) > 2e-3 && strip(&far) > 2e-3);
    assert!(at_tip(&far) < 0.99 * at_tip(&near), "{} {}", at_tip(&far), at_tip(&near));
}

/// What is left out of the statics is said, and how much it is.
#[test]
fn what_strip_and_guide_do_to_the_limb_is_said() {
    let found = |worked: &Worked, id: &str| worked.findings(Side::Upper).into_iter().find(|f| f.id == id);
    let strip = recurved("back overlay with belly strip", "");
    let stiffer = found(&strip, "strip_stiffness").unwrap();
    assert!((1.1..2.0).contains(&stiffer.value) && stiffer.note.contains("left out of draw"), "{stiffer:?}");
    assert!(found(&strip, "guide_stiffness").is_none());
    let thin =
        found(&recurved("back overlay with belly strip", "strip_thickness = \"1.2 mm\""), "strip_stiffness").unwrap();
    assert!(thin.value < stiffer.value);
    // A shallow groove in the belly: I falls by its area times its distance squared, to the first order.
    let guided = recurved("back overlay with belly guide", "");
    let left = found(&guided, "guide_stiffness").unwrap().value;
    let guide = guided.design.nocks.upper.guide().unwrap();
    let end = guided.statics.ends.get(Side::Upper);
    let section = end.section(-guide.whole()[0]);
    let (r, h) = (guide.radius, guide.depth);
    let segment = r * r * ((r - h) / r).acos() - (r - h) * (2.0 * r * h - h * h).sqrt();
    let by_hand = 1.0 - segment * (section.belly_distance() - 0.4 * h).powi(2) / section.second_moment();
    assert!((left - by_hand).abs() < 3e-3 && left < 0.995, "{left} by hand {by_hand}");
}

/// The horn's wall on a heavy bow: the message says what is left, and each cure it names makes the wall bear less.
#[test]
fn cures_for_a_thin_horn_wall_are_cures() {
    // A bore nearly as wide all the way as the limb allows.
    let of = |more: &str| {
        let wide = ["bore_diameter = \"13.5 mm\"", "bore_angle = \"9 deg\"", "horn_length = \"46 mm\""];
        let named = |line: &&str| !more.starts_with(line.split(' ').next().unwrap_or_default());
        let keys: Vec<&str> = wide.into_iter().filter(named).chain([more]).collect();
        let worked = worked("heavy", "horn nock with side slot", &keys.join("\n")).unwrap();
        let check = checked(&nockwright::checks::without_loop(&worked), "horn_wall").clone();
        (check.measured, check)
    };
    let (plain, check) = of("");
    assert!(check.verdict == Verdict::Fails && check.place.ends_with("of wall left"), "{check:?}");
    for (key, more) in [
        ("horn_length", "horn_length = \"62 mm\""),
        ("bore_angle", "bore_angle = \"20 deg\""),
        ("bore_diameter", "bore_diameter = \"11 mm\""),
        ("seat_diameter", "seat_diameter = \"18 mm\""),
    ] {
        assert!(check.cure.contains(key), "{key} is not named");
        let (cured, check) = of(more);
        assert!(cured < 0.7 * plain && check.verdict == Verdict::Holds, "{key}: {cured} of {plain}");
    }
}

/// Square edges on the belly: the message says that it is there, and the cure it names cures.
#[test]
fn a_string_bent_round_the_bellys_edge_is_told_where() {
    let text = std::fs::read_to_string("tests/bows/light.toml").unwrap();
    let text = format!("{text}\n[nock]\nstyle = \"back overlay\"\n");
    let of = |text: &str| nockwright::checks::all(&Worked::of(&read(text, "light").unwrap().design).unwrap());
    let square = text.replace("\"rounded rectangle\"", "\"rectangle\"").replace("corner   = \"3/32 in\"\n", "");
    let (square, round) = (of(&square), of(&text));
    let (bad, good) = (checked(&square, "sharpest_bend"), checked(&round, "sharpest_bend"));
    assert_eq!(bad.verdict, Verdict::Fails);
    assert!(bad.place.contains("on the belly's edge") && bad.cure.contains("corner"), "{bad:?}");
    assert!(good.verdict == Verdict::Holds && good.measured > 1.2 * bad.measured);
}

/// Only a slot on one side has a bare side; the string walks along it from where the loop lies at brace to where it does at full draw.
#[test]
fn the_walk_on_the_bare_side_is_said() {
    let of = |style: &str| {
        let worked = worked("light", style, "").unwrap();
        worked.findings(Side::Upper).into_iter().find(|f| f.id == "bare_side_walk")
    };
    assert!(of("horn nock").is_none());
    let walk = of("horn nock with side slot").unwrap();
    // No farther than the reach of the loop's legs at brace along the cap, and more than the string's own width.
    assert!((2.4e-3..25e-3).contains(&walk.value) && walk.note.contains("polish"), "{walk:?}");
}
