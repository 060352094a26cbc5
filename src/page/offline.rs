//! The report as one file: findings, checks, the figure with its stored steps, and the design, to be mailed and opened
//! without a network.
//!
//! What is said stands in the page as text, so that it is read where scripts are off; only the figure needs its script.

use std::fmt::Write;

use serde::Serialize;
use sha2::{Digest, Sha256};

use super::answer::{Beside, Figure, Followed, Step, all_steps, beside_straight, figure, of_worked};
use super::numbers::{Judged, Rows};
use super::work::base64;
use crate::design::Design;
use crate::fault::Faults;
use crate::handout::PROGRAM;
use crate::worked::Worked;
use crate::writers::files::file_stem;

const SCRIPT: &str = include_str!("report.js");

/// The report on a design: the file's name and its text. Equal designs give equal bytes.
/// `text` is the design file's own, `changes` what was changed for this run.
///
/// # Errors
/// What keeps the bow or its nocks from being made.
pub fn report(design: &Design, text: &str, file_name: &str, changes: &str) -> Result<(String, String), Faults> {
    let worked = Worked::of(design)?;
    Ok((format!("{}-report.html", file_stem(&design.name)), page(text, file_name, changes, &worked)))
}

#[derive(Serialize)]
struct Stored<'a> {
    figure: &'a Figure,
    steps: &'a [Step],
    #[serde(rename = "loop")]
    followed: &'a Followed,
    beside: &'a Beside,
}

fn page(text: &str, file_name: &str, changes: &str, worked: &Worked) -> String {
    let figure = figure(worked, None);
    let steps = all_steps(worked);
    let (followed, beside) = (of_worked(worked), beside_straight(worked));
    let stored = Stored { figure: &figure, steps: &steps, followed: &followed, beside: &beside };
    let stored = serde_json::to_string(&stored).unwrap_or_default();
    let name = escaped(&worked.design.name);
    let mut main = String::new();
    checks(&mut main, followed.checks());
    for rows in figure.numbers().iter().chain(followed.numbers()) {
        numbers(&mut main, rows);
    }
    let policy = format!(
        "default-src 'none'; script-src {} {}; style-src {}; img-src data:; base-uri 'none'; form-action 'none'",
        hash(super::FIGURE),
        hash(SCRIPT),
        hash(super::STYLE)
    );
    let date = worked.design.sheets.date.as_deref().map_or(String::new(), |date| format!("{}, ", escaped(date)));
    format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta http-equiv=\"Content-Security-Policy\" content=\"{policy}\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <meta name=\"color-scheme\" content=\"light dark\">\n<title>{name}: nock report</title>\n\
         <link rel=\"icon\" href=\"data:,\">\n<style>{style}</style>\n</head>\n<body class=\"report\">\n\
         <header><h1>{name}</h1><p>Nock report. {date}design {digest}{changed}, {program}. Nothing is fetched; everything is in this file.</p></header>\n\
         <main>\n<section id=\"draw\" aria-label=\"The draw\"><h2>The draw</h2><noscript><p>The figure needs scripts; all that is said stands beside it.</p></noscript></section>\n\
         <section id=\"findings\" aria-label=\"What it shows\"><h2>What it shows</h2>\n{main}</section>\n</main>\n\
         <section id=\"file\" aria-label=\"Design file\"><h2>The design file</h2>\n\
         <p><a download=\"{file}\" href=\"data:text/plain;charset=utf-8;base64,{design}\">Keep it as {file}</a></p>\n\
         <pre class=\"design\" tabindex=\"0\">{shown}</pre></section>\n\
         <footer><p>{cautions}</p></footer>\n\
         <p class=\"paper-only\">This page is not for printing: a browser shrinks what it prints, and does not say so. Sheets come from `nockwright templates`.</p>\n\
         <script type=\"application/json\" id=\"stored\">{stored}</script>\n<script>{script}</script>\n<script>{own}</script>\n</body>\n</html>\n",
        style = super::STYLE,
        digest = crate::digest::of(text, changes),
        changed = if changes.is_empty() { String::new() } else { format!(" with {}", escaped(changes)) },
        program = PROGRAM,
        file = escaped(file_name),
        design = base64(text.as_bytes()),
        shown = escaped(text),
        cautions = crate::reports::check::cautions(&worked.design),
        // Within a script only `<` could end it.
        stored = stored.replace('<', "\\u003c"),
        script = super::FIGURE,
        own = SCRIPT,
    )
}

/// Text as it stands in a page, in quotes or out of them.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            // A reader of HTML would turn a carriage return into a line feed, and has no sign for the others.
            '\0'..='\u{8}' | '\u{b}' | '\u{c}' | '\u{e}'..='\u{1f}' | '\u{7f}' => out.push('\u{fffd}'),
            _ => out.push(c),
        }
    }
    out
}

/// A script or style as a content policy names it.
fn hash(content: &str) -> String {
    format!("'sha256-{}'", base64(&Sha256::digest(content.as_bytes())))
}

// Writing into a String cannot fail.

fn checks(main: &mut String, checks: &[Judged]) {
    let _ = writeln!(main, "<div id=\"checks\"><h3>Checks</h3>");
    for check in checks {
        let word = check.mark;
        let _ = write!(
            main,
            "<details class=\"check {}\"{}><summary><strong>{word}</strong> <span>{}</span></summary><ul>",
            check.verdict,
            if check.verdict == "holds" { "" } else { " open" },
            escaped(&check.title)
        );
        for [limb, words] in &check.lines {
            let limb = if limb.is_empty() { String::new() } else { format!("<span class=\"limb\">{limb}</span> ") };
            let _ = write!(main, "<li>{limb}{}</li>", escaped(words));
        }
        let _ = writeln!(
            main,
            "</ul><p>Why: {}</p><p>Source: {}</p><p>What helps: {}</p></details>",
            escaped(&check.why),
            escaped(&check.source),
            escaped(&check.cure)
        );
    }
    main.push_str("</div>\n");
}

fn numbers(main: &mut String, rows: &Rows) {
    let _ = writeln!(main, "<section aria-label=\"{0}\"><h3>{0}</h3>", escaped(&rows.title));
    for row in &rows.rows {
        let _ = writeln!(
            main,
            "<details class=\"number\"><summary><span>{}</span> <b>{}</b></summary><p>{}</p></details>",
            escaped(&row.label),
            escaped(&row.value),
            escaped(&row.why)
        );
    }
    main.push_str("</section>\n");
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::file::read;
    use crate::samples::SAMPLE;

    fn made(text: &str, name: &str) -> (String, String) {
        let design = read(text, name).unwrap_or_else(|r| panic!("{r}")).design;
        report(&design, text, name, "").unwrap_or_else(|f| panic!("{f:?}"))
    }

    #[test]
    fn the_report_is_whole_and_the_same_twice() {
        let (name, page) = made(SAMPLE, "ash.toml");
        assert_eq!(name, "ash-flatbow-report.html");
        assert_eq!(made(SAMPLE, "ash.toml").1, page);
        for address in page.match_indices("http") {
            let rest = &page[address.0..];
            assert!(
                rest.starts_with("http-equiv") || rest.starts_with("http://www.w3.org/2000/svg"),
                "{}",
                &rest[..60]
            );
        }
        assert!(page.contains(&base64(SAMPLE.as_bytes())));
        assert!(page.contains(crate::reports::check::CAUTIONS));
    }

    #[test]
    fn text_of_the_maker_is_never_markup() {
        let evil = "</script><script>alert(1)</script><img src=x onerror=alert(1)>";
        let text = SAMPLE.replace("Ash flatbow\"", &format!("{evil}\""));
        assert_ne!(text, SAMPLE);
        let (_, page) = made(&text, "<b>.toml");
        assert_eq!(page.matches("<script").count(), 3);
        assert!(!page.contains("<img") && !page.contains("<b>.toml"));
    }
}
