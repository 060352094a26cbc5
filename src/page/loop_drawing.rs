//! The followed loop's lines at the bow's own steps, as [`super::drawing`] counts places.

use serde::Serialize;

use super::drawing::{CLOSE, path};
use crate::groove::Girth;
use crate::nock::Nock;
use crate::string::hanging::Hanging;
use crate::string::path::Figures;

/// What the followed loop adds to one tip's figure, at each of the bow's own steps that it reached.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct LoopView {
    /// The loop's strand on the near side.
    string: Vec<String>,
    /// Where the string bears, laid flat.
    bears: Vec<String>,
}

/// The followed loop at the bow's own steps.
pub(super) fn followed(nock: &Nock, hanging: &Hanging) -> LoopView {
    let girth = match &nock.groove {
        Some(groove) => groove.girth.clone(),
        None => Girth::of(&nock.solid),
    };
    let last = (hanging.last_own + 1).min(hanging.draw.figures.len());
    let own = hanging.draw.figures.get(hanging.first_own..last).unwrap_or_default();
    LoopView {
        string: own.iter().map(|figures| strand(figures, girth.about)).collect(),
        bears: own.iter().map(|figures| bears(figures, &girth)).collect(),
    }
}

/// The near strand, from the throat to the middle of the back; on the side of the groove's crest, at the polar angle `about`.
fn strand(figures: &Figures, about: f64) -> String {
    let half = figures.line.len() / 2;
    let seen = |p: &[f64; 3]| [p[0], p[2]];
    if about < 0.0 {
        path(figures.line.iter().take(half + 1).map(seen), CLOSE)
    } else {
        path(figures.line.iter().rev().take(half + 1).map(seen), CLOSE)
    }
}

/// The string's middle where it bears on the near side, laid flat; a gap where it is off the tip.
fn bears(figures: &Figures, girth: &Girth) -> String {
    let mut d = String::new();
    let mut run: Vec<[f64; 2]> = Vec::new();
    let way = if girth.about < 0.0 { -1.0 } else { 1.0 };
    let from_crest = |theta: f64| way * (theta - girth.about);
    for contact in figures.contacts.iter().filter(|c| from_crest(c.theta) >= 0.0) {
        let g: f64 = girth.along(from_crest(contact.theta));
        let here = [g, contact.at[0]];
        if run.last().is_some_and(|last| (last[0] - here[0]).abs() > 1.5e-3) {
            d += &path(run.drain(..), CLOSE);
        }
        run.push(here);
    }
    d + &path(run, CLOSE)
}
