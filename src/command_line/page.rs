//! `nockwright page`

use super::{Ending, disk, say};
use crate::design::file::{MOST_BYTES, Refusal};
use crate::fault::Fault;
use crate::page::{Bench, Save, Served};
use crate::samples::SAMPLE;
use crate::saved_as;
use std::path::{Path, PathBuf};
use std::sync::Mutex;

/// Open the bench: one page in the browser, served on this machine alone, that answers as measures are turned.
///
/// It works without a network. Stop the program with Ctrl-C; unsaved work stays in the browser and is offered again.
#[derive(Debug, clap::Args)]
pub(super) struct PageCommand {
    /// Design file (TOML) to work on and save to. Without one: the built-in sample, an ash flatbow
    file: Option<PathBuf>,
    /// Port of 127.0.0.1; without it 4768, or any that is free
    #[arg(long)]
    port: Option<u16>,
    /// Show the address and open no browser
    #[arg(long)]
    no_browser: bool,
}

impl PageCommand {
    pub(super) fn run(self) -> Ending {
        self.served().unwrap_or_else(|ending| ending)
    }

    fn served(self) -> Result<Ending, Ending> {
        let bench = match &self.file {
            None => Bench { text: SAMPLE.to_owned(), file_name: "ash-flatbow.toml".into(), save: None },
            Some(path) => {
                let text = text_of(path)?;
                let file_name =
                    path.file_name().map_or_else(|| "design.toml".into(), |n| n.to_string_lossy().into_owned());
                Bench { save: Some(save_to(path.clone())), text, file_name }
            }
        };
        let failed = |error: std::io::Error| {
            let why = "the page needs a free port of 127.0.0.1, and is served nowhere else";
            let fault = Fault::at("--port", format!("the page cannot be served: {error}"), why);
            Ending::Refused(Refusal::of_options(vec![fault.cure("name another port, or none")]).render(true))
        };
        let served = Served::on(self.port).map_err(failed)?;
        let address = served.address();
        say(&format!(
            "the bench is at {address}\nstop it with Ctrl-C; the address is for this machine and this run alone"
        ));
        if !self.no_browser && open::that_detached(&address).is_err() {
            say("no browser could be opened; open the address yourself");
        }
        served.serve(bench).map_err(failed)?;
        Ok(Ending::Good)
    }
}

/// The design file's text.
fn text_of(path: &Path) -> Result<String, Ending> {
    let bytes = disk::read(path, MOST_BYTES)?;
    let name = path.display().to_string();
    let text = saved_as::utf8(&bytes, "a design file").and_then(|text| match saved_as::bare_returns(text) {
        Some(fault) => Err(fault),
        None => Ok(text.to_owned()),
    });
    text.map_err(|fault| disk::refuse(&name, vec![Fault { span: None, ..fault }]))
}

/// Saves to the file that the page was started on, unless another page or program has changed it since this page read it.
fn save_to(path: PathBuf) -> Save {
    // One page after the other.
    let turn = Mutex::new(());
    Box::new(move |wanted| {
        let _turn = turn.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        let name = path.display();
        let there = std::fs::read(&path);
        if !wanted.over && there.is_ok_and(|bytes| bytes != wanted.before.as_bytes()) {
            return Err(format!(
                "{name} was changed by another page or program and was left as it is; press Save again to put yours in its place, or keep \
                 yours apart with Download design"
            ));
        }
        if wanted.text.len() > MOST_BYTES {
            return Err("this is too long for a design file; nothing was saved".into());
        }
        if let Err(Ending::Refused(words)) = disk::replace(&path, wanted.text.as_bytes()) {
            return Err(anstream::adapter::strip_str(&words).to_string());
        }
        Ok(format!("Saved to {name}."))
    })
}
