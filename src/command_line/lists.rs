//! `nockwright styles` and `nockwright woods`

use super::{Ending, show};
use crate::reports::lists;

/// List the nock styles: what each is for, its keys, their defaults and why.
#[derive(Debug, clap::Args)]
pub(super) struct Styles {}

impl Styles {
    pub(super) fn run(self) -> Ending {
        show(&lists::styles());
        Ending::Good
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
