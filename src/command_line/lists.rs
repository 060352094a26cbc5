//! `nockwright styles` and `nockwright woods`

use super::{Ending, show};
use crate::design::file::Refusal;
use crate::figures::styles;
use crate::reports::lists;
use crate::samples::SAMPLE_NAME;

/// List the nock styles: what each is for, a small figure in letters, its keys, their defaults and why.
#[derive(Debug, clap::Args)]
pub(super) struct Styles {
    /// Write the list as a page (Markdown) instead
    #[arg(long, conflicts_with = "figure")]
    page: bool,
    /// Write a figure (SVG) of all styles side by side, on one and the same limb, instead
    #[arg(long)]
    figure: bool,
}

impl Styles {
    pub(super) fn run(self) -> Ending {
        let text = match self {
            Styles { figure: true, .. } => styles::side_by_side().map(|svg| String::from_utf8_lossy(&svg).into_owned()),
            Styles { page: true, .. } => Ok(lists::styles_page()),
            Styles { .. } => lists::styles(),
        };
        match text {
            Ok(text) => {
                show(&text);
                Ending::Good
            }
            Err(faults) => Ending::Refused(
                faults.into_iter().map(|fault| Refusal::whole(SAMPLE_NAME, fault).render(true)).collect(),
            ),
        }
    }
}

/// List the woods and nock materials: figures, sources, and how sure each is.
#[derive(Debug, clap::Args)]
pub(super) struct Woods {}

impl Woods {
    pub(super) fn run(self) -> Ending {
        show(&lists::woods());
        Ending::Good
    }
}
