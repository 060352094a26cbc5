//! Whatever text stands in the file, reading it ends in a design or in a refusal that can be shown. It never panics.

use nockwright::design::Units;
use nockwright::design::file::{MOST_BYTES, Overrides, read, read_bytes, read_with};
use nockwright::samples::SAMPLE;
use nockwright::units::{self, INCH, Kind};
use proptest::prelude::*;

/// Reads and shows, plain and coloured.
fn read_and_show(bytes: &[u8], overrides: &Overrides) {
    match read_bytes(bytes, "any.toml", overrides) {
        Ok(mut reading) => {
            let _ = reading.places.remarks(&reading.remarks, true);
            // Faults of later steps point into the file too, whatever it looks like.
            let later =
                ["bow.brace_height", "upper.nock.wall_radius", "lower.limb.stations[1]", "range.draw", "no.such"];
            let faults = later.iter().map(|key| nockwright::fault::Fault::at(*key, "what", "why")).collect();
            assert!(reading.places.refusal(faults).render(true).contains("what"));
        }
        Err(refusal) => {
            assert!(refusal.faults().count() > 0);
            assert!(refusal.to_string().contains("error: "));
            let _ = refusal.render(true);
        }
    }
}

/// Bits of text that upset readers.
const SPLINTERS: &[&str] = &[
    "\"",
    "'",
    "\"\"\"",
    "=",
    "[",
    "]",
    "[[",
    "{",
    "}",
    ",",
    "\n",
    "\r\n",
    "\0",
    "\u{FEFF}",
    "#",
    "nan",
    "inf",
    "1e300",
    "-",
    "½",
    "1/0",
    "9999999999999999999999",
    "日本",
    "e\u{301}",
    "\u{202E}",
    "\t",
    "[limb]",
    "[upper.limb]",
    "a.b.c = 1",
    "1979-05-27",
    "0x10",
    "true",
    "[bow]",
    "stations = 1",
    "\\u0000",
    "6 1/4",
    "mm",
    " at ",
];

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_bytes(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        read_and_show(&bytes, &Overrides::default());
    }

    #[test]
    fn any_letters(text in any::<String>(), draw in any::<Option<String>>()) {
        read_and_show(text.as_bytes(), &Overrides { brace_height: Some(text.clone()), draw });
    }

    #[test]
    fn the_sample_with_splinters(cuts in prop::collection::vec((any::<prop::sample::Index>(), 0usize..12, 0..SPLINTERS.len()), 1..6)) {
        let mut text: Vec<char> = SAMPLE.chars().collect();
        for (at, cut, splinter) in cuts {
            let at = at.index(text.len());
            let end = (at + cut).min(text.len());
            text.splice(at..end, SPLINTERS[splinter].chars());
        }
        let text: String = text.into_iter().collect();
        read_and_show(text.as_bytes(), &Overrides::default());
    }

    #[test]
    fn any_measure(text in any::<String>()) {
        for kind in [Kind::Length, Kind::Angle, Kind::Force, Kind::Stress, Kind::Density, Kind::Number] {
            match units::read(&text, kind) {
                Ok(value) => prop_assert!(value.is_finite()),
                Err(misread) => prop_assert!(text.get(misread.at).is_some()),
            }
        }
    }

    #[test]
    fn fractions_read_back_as_they_were_written(count in -100_000i32..100_000, fine in 0u32..8) {
        let parts = 1 << fine;
        let metres = f64::from(count) / f64::from(parts) * INCH;
        let text = units::inch_text(metres, parts);
        let back = units::read(&text, Kind::Length).unwrap_or(f64::NAN);
        prop_assert!((back - metres).abs() <= 1e-12 * metres.abs().max(1.0), "{text} is {back}, not {metres}");
    }

    #[test]
    fn what_is_written_is_within_half_a_step(metres in -3.0f64..3.0) {
        let inches = units::read(&units::plain_length_text(metres, Units::Inch), Kind::Length).unwrap_or(f64::NAN);
        prop_assert!((inches - metres).abs() <= INCH / 64.0 + 1e-12);
        let mm = units::read(&units::plain_length_text(metres, Units::Millimetre), Kind::Length).unwrap_or(f64::NAN);
        prop_assert!((mm - metres).abs() <= 0.05e-3 + 1e-12);
    }

    #[test]
    fn a_decimal_comma_is_a_decimal_point(whole in 0u32..5000, tail in 0u32..100) {
        let comma = units::read(&format!("{whole},{tail:02} mm"), Kind::Length);
        let point = units::read(&format!("{whole}.{tail:02} mm"), Kind::Length);
        prop_assert!(point.is_ok());
        prop_assert_eq!(comma, point);
    }
}

#[test]
fn a_file_too_large_is_refused_unread() {
    let refusal = read_bytes(&vec![b'#'; 10_000_000], "large.toml", &Overrides::default()).expect_err("10 MB");
    let text = refusal.to_string();
    assert!(text.contains("the file is 10 MB long") && text.contains("1024 kB"), "{text}");
}

#[test]
fn the_largest_file_full_of_faults_is_refused_in_good_time() {
    let started = std::time::Instant::now();
    let item = "{ at = \"0\", width = 1, thickness = \"1/0 in\", depth = 3 }, ";
    let one_line = format!("limb.stations = [ {} ]", item.repeat((MOST_BYTES - 40) / item.len()));
    let many_lines = "x = \n".repeat(MOST_BYTES / 5);
    let deep = "[".repeat(MOST_BYTES);
    let keys: String = (0..MOST_BYTES / 12).map(|i| format!("k{i:06} = 1\n")).collect();
    for (name, text) in [("one line", one_line), ("many lines", many_lines), ("deep", deep), ("keys", keys)] {
        let message = read(&text, name).expect_err(name).to_string();
        println!("{name}: {:?}", started.elapsed());
        assert!(message.len() < 100_000, "{name}: {} bytes of message", message.len());
    }
    assert!(started.elapsed().as_secs() < 20, "{:?}", started.elapsed());
}

#[test]
fn values_typed_for_one_run_stand_before_the_file() {
    let typed = |brace_height: Option<&str>, draw: Option<&str>| Overrides {
        brace_height: brace_height.map(str::to_owned),
        draw: draw.map(str::to_owned),
    };
    let reading = read_with(SAMPLE, "ash.toml", &typed(Some("16 cm"), Some("27 in"))).unwrap_or_else(|r| panic!("{r}"));
    assert_eq!(reading.design.bow.bracing, nockwright::design::Bracing::Height(0.16));
    assert!((reading.design.bow.draw - 27.0 * INCH).abs() < 1e-12);

    // Beyond the file's range: the range is widened for the run, and that is said.
    let reading = read_with(SAMPLE, "ash.toml", &typed(None, Some("30 in"))).unwrap_or_else(|r| panic!("{r}"));
    assert_eq!(reading.design.serves.draw[1], 30.0 * INCH);
    let remarks = reading.places.remarks(&reading.remarks, false);
    assert!(remarks.contains("--draw \"30 in\"") && remarks.contains("widened"), "{remarks}");

    // The message names the option, and no place in the file.
    for (overrides, words) in [
        (typed(Some("6.25"), None), ["--brace-height \"6.25\"", "which unit? `6.25 in` or `6.25 mm`"]),
        (typed(None, Some("7 in")), ["--draw \"7 in\"", "does not reach past the brace height"]),
        (typed(Some("30 in"), None), ["--brace-height \"30 in\"", "no sensible brace height"]),
    ] {
        let text = read_with(SAMPLE, "ash.toml", &overrides).expect_err("typed").to_string();
        assert!(words.iter().all(|w| text.contains(w)) && !text.contains("ash.toml"), "{text}");
    }

    // A brace height typed for a file that gives a string length.
    let by_string = SAMPLE.replace("brace_height  = \"6 1/4 in\"", "string_length = \"65 in\"");
    let reading = read_with(&by_string, "ash.toml", &typed(Some("6 1/2 in"), None)).unwrap_or_else(|r| panic!("{r}"));
    assert_eq!(reading.design.bow.bracing, nockwright::design::Bracing::Height(6.5 * INCH));
}

#[test]
fn faults_of_later_steps_point_into_the_file() {
    let later = |key: &str, text: &str| {
        let mut reading = read(text, "ash.toml").unwrap_or_else(|r| panic!("{r}"));
        reading.places.refusal(vec![nockwright::fault::Fault::at(key, "it will not do", "a reason")]).to_string()
    };
    let line = |words: &str| SAMPLE.lines().position(|l| l.contains(words)).map_or(0, |i| i + 1);
    let at =
        |text: &str, number: usize| assert!(text.contains(&format!("ash.toml:{number}:")), "line {number}:\n{text}");
    at(&later("bow.brace_height", SAMPLE), line("brace_height  ="));
    // Both limbs share [limb]: its line is meant.
    at(&later("upper.limb.stations[1].thickness", SAMPLE), line("{ at = \"20 in\""));
    at(&later("lower.limb.wood", SAMPLE), line("wood     ="));
    // A limb's own table comes first.
    let own = format!("{SAMPLE}\n[upper.limb]\nwood = \"ipe\"\n");
    at(&later("upper.limb.wood", &own), own.lines().count());
    at(&later("lower.limb.wood", &own), line("wood     ="));
    // Left out: the table is shown, and what the key stands at.
    let left_out = later("upper.nock.fan_margin", SAMPLE);
    at(&left_out, line("[nock]"));
    assert!(left_out.contains("`fan_margin` is not in the file; it stands at 6 deg"), "{left_out}");
    let left_out = later("string.friction", SAMPLE);
    assert!(left_out.contains("`friction` is not in the file; it stands at 0.15"), "{left_out}");
}
