//! The commands: what a person types, which files are read and written, what is shown, and how the program ends.
//!
//! Files are touched here and nowhere further in.
//! Exit code 0: done, and every check holds; 1: done, and a check fails; 2: refused and nothing written, or what was to be shown is lost.

mod check;
mod class;
mod compare;
mod disk;
mod input;
mod lists;
mod loop_on_tip;
mod mesh;
mod new;
mod page;
mod printer;
mod recover;
mod report;
mod sheet;
mod string;
mod sweep;
mod templates;
mod tiller;
mod verify;
mod weight;

use clap::{Args, Parser, Subcommand};
use std::io::{ErrorKind, Write};
use std::path::PathBuf;
use std::process::ExitCode;
use std::sync::atomic::{AtomicBool, Ordering};

/// String grooves for wooden bows: how far the string swings at each tip, a groove it rolls along without a click,
/// and 1:1 sheets to cut, wrap and file to.
///
/// A bow's measures stand in a design file; `nockwright new` writes one to fill in. Every command that takes a FILE
/// uses a built-in sample bow when none is given.
#[derive(Debug, Parser)]
#[command(name = "nockwright", version, arg_required_else_help = true, max_term_width = 100)]
struct CommandLine {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Write a starter design file with every key explained, to fill in
    New(new::New),
    /// Report on a design: string angles and pulls, the groove, and every check with its reason
    Check(check::CheckCommand),
    /// Write the 1:1 sheets to print, cut, wrap and file to
    Templates(templates::Templates),
    /// Write the sheets of a whole class from one design and a roster
    Class(class::Class),
    /// Write both finished nocks as STL files, to print in plastic and try a string on
    Mesh(mesh::MeshCommand),
    /// Show force, string pull and string angle at each tip, draw by draw
    Sweep(sweep::Sweep),
    /// Follow the loop through the draw, beside a straight groove: clicks, losses, a figure
    Loop(loop_on_tip::LoopOnTip),
    /// Tell the weight at another draw, and what to scrape off to come down to a wanted one
    Weight(weight::Weight),
    /// Show how far the string should stand off each limb, and what measured distances say of weak and stiff stretches
    Tiller(tiller::TillerCommand),
    /// Tell how to make the string: length, strands, loops
    String(string::StringCommand),
    /// Set two designs side by side in every figure
    Compare(compare::Compare),
    /// Open the bench: a page in the browser, offline, that answers as measures are turned
    Page(page::PageCommand),
    /// Write the report as one HTML file, with a slider over the draw
    Report(report::ReportCommand),
    /// Measure a printer once, so that every later sheet comes out true on it
    Printer(printer::Printer),
    /// Get the design file back from a sheet, or from a picture of one
    Recover(recover::Recover),
    /// Tell whether a sheet is still true, what made it, and whether it was edited since
    Verify(verify::Verify),
    /// List the nock styles with their keys and defaults
    Styles(lists::Styles),
    /// List the woods and nock materials with their figures and sources
    Woods(lists::Woods),
}

/// The design to work on, and what is different for this run.
#[derive(Debug, Args)]
struct DesignArgs {
    /// Design file (TOML); `-` reads it from standard input. Without one: the built-in sample, an ash flatbow
    file: Option<PathBuf>,
    /// Brace height for this run, instead of the file's, with its unit: "6 1/2 in" or "165 mm"
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    brace_height: Option<String>,
    /// Full draw for this run, instead of the file's, measured as the file says
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    draw: Option<String>,
}

/// How a command ended.
enum Ending {
    /// Done, and nothing fails.
    Good,
    /// Done, and a check fails.
    CheckFails,
    /// Refused; the words say why and nothing was written.
    Refused(String),
}

/// Runs the program on the words it was started with.
pub fn run() -> ExitCode {
    let ending = match CommandLine::parse().command {
        Command::New(command) => command.run(),
        Command::Check(command) => command.run(),
        Command::Templates(command) => command.run(),
        Command::Class(command) => command.run(),
        Command::Mesh(command) => command.run(),
        Command::Sweep(command) => command.run(),
        Command::Loop(command) => command.run(),
        Command::Weight(command) => command.run(),
        Command::Tiller(command) => command.run(),
        Command::String(command) => command.run(),
        Command::Compare(command) => command.run(),
        Command::Page(command) => command.run(),
        Command::Report(command) => command.run(),
        Command::Printer(command) => command.run(),
        Command::Recover(command) => command.run(),
        Command::Verify(command) => command.run(),
        Command::Styles(command) => command.run(),
        Command::Woods(command) => command.run(),
    };
    match ending {
        Ending::Good | Ending::CheckFails if LOST.load(Ordering::Relaxed) => ExitCode::from(2),
        Ending::Good => ExitCode::SUCCESS,
        Ending::CheckFails => ExitCode::from(1),
        Ending::Refused(words) => {
            say(&words);
            ExitCode::from(2)
        }
    }
}

/// Whether something that was to be shown is lost.
static LOST: AtomicBool = AtomicBool::new(false);

/// Shows text on standard output; a reader who has gone away (a closed pipe) is no fault, a full disk is.
fn show(text: &str) {
    let mut out = anstream::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => {
            LOST.store(true, Ordering::Relaxed);
            say(&format!("what was to be shown is lost: {error}"));
        }
        _ => {}
    }
}

/// Shows text on standard error.
fn say(text: &str) {
    let mut out = anstream::stderr().lock();
    let _ = writeln!(out, "{}", text.trim_end());
}

/// Shows text on standard error where there is any.
fn say_if(text: &str) {
    if !text.is_empty() {
        say(text);
    }
}
