//! The design that rides along on its sheets, and how it is got back.
//!
//! It is carried three times: as text in an SVG's metadata, as a file attached to a PDF, and packed into a code on the
//! first page that a camera reads. Everything here takes and gives bytes; what comes out of a file is bounded in size
//! before it is unpacked, and no name found inside a file is used for anything but to show it.

pub mod code;
mod drawing;
mod finders;
mod grey;
mod lattice;
mod packed;
mod paper;
mod pdf;

pub(crate) use drawing::element as design_element;
pub use drawing::from_svg;
pub(crate) use drawing::parse as parse_svg;
pub use packed::{MARK, pack, unpack};
pub use paper::from_picture;
pub use pdf::from_pdf;
pub(crate) use pdf::{inherited, open as open_pdf, text_string};

use crate::fault::Fault;

/// Largest design that is carried or given back, bytes: as large as one that is read.
pub const MOST_TEXT: usize = 1 << 20;
/// Largest file that is searched for a design, bytes. A class of 200 needs some 20 MB.
pub const MOST_BYTES: usize = 128 << 20;

/// A design got back from a sheet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Carried {
    /// The file's name as the sheet has it: to be shown, never to be opened or written.
    pub file_name: String,
    /// The design file, byte for byte; without comments where it is not whole.
    pub text: Vec<u8>,
    /// Whether it is the whole file. A code too small for the whole file has its keys and values, and no comments.
    pub whole: bool,
}

/// All designs carried by a file of any kind that carries some: SVG, PDF, picture, or the text of a code. At least one.
///
/// # Errors
/// Why there is none, or why it cannot be trusted.
pub fn recover(bytes: &[u8]) -> Result<Vec<Carried>, Fault> {
    if bytes.len() > MOST_BYTES {
        return Err(Fault::at(
            "",
            format!("the file is {} MB long", bytes.len() >> 20),
            format!("sheets are smaller; more than {} MB is not read", MOST_BYTES >> 20),
        ));
    }
    let start = String::from_utf8_lossy(&bytes[..bytes.len().min(1024)]).into_owned();
    let start = start.trim_start_matches('\u{FEFF}').trim_start();
    if bytes.is_empty() {
        Err(Fault::at("", "the file is empty", "a sheet as SVG or PDF, or a picture of one, is wanted"))
    } else if start.starts_with("%PDF-") {
        from_pdf(bytes)
    } else if start.starts_with(MARK) {
        let text = String::from_utf8_lossy(bytes);
        unpack(text.trim()).map(|design| vec![design])
    } else if start.starts_with('<') {
        from_svg(bytes).map(|design| vec![design])
    } else if paper::is_picture(bytes) {
        from_picture(bytes).map(|design| vec![design])
    } else {
        Err(Fault::at(
            "",
            "the file is neither SVG nor PDF nor a picture (PNG or JPEG)",
            format!("a design is carried by the sheets that Nockwright writes, and by the code on their first page, whose text begins with {MARK}"),
        )
        .cure("give the sheet as it was written, or a photograph of its first page with --image"))
    }
}

/// The seal kept beside a carried text does not fit it.
pub(crate) fn altered() -> Fault {
    Fault::at(
        "",
        "the design in this file was changed after the sheet was made, or damaged on the way",
        "it does not fit the seal that was put beside it, so it would not be the design of this sheet",
    )
    .cure("use the sheet as it was written, or the code on the printed page")
}

fn too_long() -> Fault {
    Fault::at(
        "",
        "the design in this file is too long to be one",
        format!("a design is a page of text; more than {} kB is not unpacked", MOST_TEXT >> 10),
    )
}
