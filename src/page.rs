//! The bench page: the design as a form, the bow drawn through its draw, both tips close up, in a browser on this machine.
//!
//! The page asks this program for every number and every line; in the browser nothing is worked out, only chosen and shown.
//! Nothing is fetched from anywhere else, and no file is named by the browser.

mod answer;
mod drawing;
mod edit;
mod fields;
mod guard;
mod lists;
mod loop_drawing;
mod memory;
mod numbers;
mod offline;
mod reach;
mod server;
mod slider;
mod socket;
mod work;

pub use offline::report;

use std::net::{Ipv4Addr, TcpListener};

const PAGE: &str = include_str!("page/page.html");
const STYLE: &str = include_str!("page/page.css");
const FIGURE: &str = include_str!("page/figure.js");
const SCRIPT: &str = include_str!("page/page.js");

/// A text to be put in the place of the design file the page was started on.
#[derive(Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ToSave {
    /// The design's text.
    pub text: String,
    /// What stood in the file when the page read or saved it last.
    pub before: String,
    /// Whether it is to be put there whatever stands there now.
    #[serde(default)]
    pub over: bool,
}

/// Puts a text in the place of the design file the page was started on; what was done, or why not, in words.
pub type Save = Box<dyn Fn(&ToSave) -> Result<String, String> + Send + Sync>;

/// The first part of the answer to a text, as JSON: what a browser is sent for a change.
pub fn first_answer(text: &str) -> String {
    let change = answer::Change { text: text.to_owned(), ..answer::Change::default() };
    serde_json::to_string(&answer::changed(&memory::Memory::default(), change)).unwrap_or_default()
}

/// What lies on the bench.
pub struct Bench {
    /// The design's text.
    pub text: String,
    /// The file's name without folders.
    pub file_name: String,
    /// Saves the design; none where no file was given.
    pub save: Option<Save>,
}

/// A page ready to be served.
pub struct Served {
    listener: TcpListener,
    guard: guard::Guard,
}

/// The port that is tried first, so that a browser finds again what it kept for the page.
pub const PORT: u16 = 4768;

impl Served {
    /// Takes a port of 127.0.0.1: the one that is named, else [`PORT`], else any that is free.
    ///
    /// # Errors
    /// When no port can be had, or no random key.
    pub fn on(port: Option<u16>) -> std::io::Result<Self> {
        let take = |port: u16| TcpListener::bind((Ipv4Addr::LOCALHOST, port));
        let listener = match port {
            Some(port) => take(port)?,
            None => take(PORT).or_else(|_| take(0))?,
        };
        let guard = guard::Guard::new(listener.local_addr()?.port(), guard::new_key()?);
        Ok(Served { listener, guard })
    }

    /// The address to open, with the run's key.
    pub fn address(&self) -> String {
        self.guard.address()
    }

    /// Serves the bench until the program is ended.
    ///
    /// # Errors
    /// When the port cannot be used.
    pub fn serve(self, bench: Bench) -> std::io::Result<()> {
        server::serve(self.listener, self.guard, bench)
    }
}
