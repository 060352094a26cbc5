//! The design file: a page of a workshop notebook in TOML, read into a [`Design`].
//!
//! ```text
//! bytes -> text -> tables with places -> values in SI (every fault kept) -> do they go together? -> Design
//! ```
//!
//! Nothing is refused at the first fault: all that is wrong comes back in one [`Refusal`],
//! each with its place, what was read, what is allowed and why, and what would help.

mod bow;
mod consistency;
pub mod keys;
mod limb;
mod nock;
mod places;
mod reader;
mod refusal;
mod strength;
mod syntax;
mod tables;
mod tiller;
mod words;

use crate::design::{Both, Design, Side};
use crate::fault::Fault;
use crate::nock::{NOCK_STYLES, NockStyle};
use crate::saved_as;

pub use places::{Places, Standing};
pub use refusal::Refusal;

use reader::Reader;
use tables::Layers;

/// The version of the keys that this program reads: `layout = 1`.
pub const LAYOUT: u32 = 1;

/// Largest file that is read, bytes. A design is a page of text; a larger file is something else.
pub const MOST_BYTES: usize = 1 << 20;

/// Most faults that are gathered. A file with more is no design, and telling more of it helps nobody.
const MOST_FAULTS: usize = 200;

/// A design file that was accepted.
#[derive(Debug, Clone)]
pub struct Reading {
    /// The design in SI units.
    pub design: Design,
    /// What is odd but possible, for [`Places::remarks`] to show.
    pub remarks: Vec<Fault>,
    /// Where each value stands in the file; also what stands at its default, and why.
    pub places: Places,
}

/// Values typed for one run, which stand before those of the file.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Overrides {
    /// `--brace-height`, as typed.
    pub brace_height: Option<String>,
    /// `--draw`, as typed.
    pub draw: Option<String>,
}

impl Overrides {
    /// Those that are given: key, option, text.
    fn given(&self) -> impl Iterator<Item = (&'static str, &'static str, &str)> {
        let brace_height = self.brace_height.as_deref().map(|text| ("bow.brace_height", "--brace-height", text));
        let draw = self.draw.as_deref().map(|text| ("bow.draw", "--draw", text));
        brace_height.into_iter().chain(draw)
    }
}

/// Reads a design file's text. `name` is the file's name, for messages.
///
/// # Errors
/// All faults of the file.
pub fn read(text: &str, name: &str) -> Result<Reading, Refusal> {
    read_with(text, name, &Overrides::default())
}

/// Reads a design file's text, with values typed for one run.
///
/// # Errors
/// All faults of the file and of the typed values.
pub fn read_with(text: &str, name: &str, overrides: &Overrides) -> Result<Reading, Refusal> {
    read_for_styles(text, name, overrides, NOCK_STYLES)
}

/// Reads a design file's bytes, with values typed for one run.
///
/// # Errors
/// As for [`read_with`]; also when there are more than [`MOST_BYTES`] or they are not UTF-8 text, or their
/// lines end with a bare carriage return.
pub fn read_bytes(bytes: &[u8], name: &str, overrides: &Overrides) -> Result<Reading, Refusal> {
    if bytes.len() > MOST_BYTES {
        return Err(Refusal::whole(name, too_large(bytes.len() as u64)));
    }
    match saved_as::utf8(bytes, "a design file") {
        Ok(text) => match saved_as::bare_returns(text) {
            Some(fault) => Err(Refusal::whole(name, fault)),
            None => read_with(text, name, overrides),
        },
        Err(fault) if fault.span.is_none() => Err(Refusal::whole(name, fault)),
        Err(fault) => Err(Places::new(name, &String::from_utf8_lossy(bytes)).refusal(vec![fault])),
    }
}

/// The fault of a file of so many bytes; for the caller who sees the size before reading.
pub fn too_large(bytes: u64) -> Fault {
    let size = if bytes < 10_000_000 { format!("{} kB", bytes / 1000) } else { format!("{} MB", bytes / 1_000_000) };
    Fault::at(
        "",
        format!("the file is {size} long"),
        format!("a design file is a page of text; more than {} kB is not read", MOST_BYTES / 1024),
    )
    .cure("check that this is the file you meant")
}

/// Reads against a given list of styles; tests bring their own.
pub(crate) fn read_for_styles(
    text: &str,
    name: &str,
    overrides: &Overrides,
    styles: &'static [&'static dyn NockStyle],
) -> Result<Reading, Refusal> {
    let (document, syntax_faults) = syntax::parse(text);
    let mut reader = Reader::new(Places::new(name, text), syntax_faults, overrides);
    let root = reader.root(&document);
    let design = read_design(&mut reader, &root, styles);
    reader.finish(design)
}

/// All tables in turn. None where something needed was wrong or missing: then there is a fault that says so.
fn read_design(reader: &mut Reader, root: &Layers, styles: &'static [&'static dyn NockStyle]) -> Option<Design> {
    reader.known_keys(root, keys::ROOT);
    reader.layout(root);
    let bow_table = reader.table(root, &keys::BOW_TABLE);
    let units = bow::units(reader, root, &bow_table);
    let parts = bow::bow(reader, &bow_table, units);
    let string = bow::string(reader, root);
    let (serves, range) = bow::serves(reader, root, &parts);
    let sheets = bow::sheets(reader, root);
    let strength = strength::strength(reader, root);

    let common_limb = reader.table(root, &keys::LIMB_TABLE);
    let common_nock = reader.table(root, &keys::NOCK_TABLE);
    let own = Both::build(|side| {
        let own = reader.table(root, if side == Side::Upper { &keys::UPPER_TABLE } else { &keys::LOWER_TABLE });
        reader.known_keys(&own, keys::SIDE);
        own
    });
    let limb_layers = own.map(|own| reader.table(own, &keys::LIMB_TABLE).over(&common_limb));
    let limbs = limb_layers.map(|layers| limb::limb(reader, layers));
    let limbs = limb::lengths(reader, parts.length, limbs);

    consistency::bow(reader, &parts, units);
    consistency::limbs(reader, &parts, &limbs, &string, units);
    consistency::serves(reader, &parts, &range, units);

    let tiller = tiller::tiller(reader, root, &parts, &limbs, units);

    let nock_layers = own.map(|own| reader.table(own, &keys::NOCK_TABLE).over(&common_nock));
    let given = limbs.map(|limb| limb::given_at_nock(limb, &string));
    let nocks = nock::nocks(reader, &nock_layers, &given, styles);

    let upper = limbs.upper.finish(reader, units);
    let lower = limbs.lower.finish(reader, units);
    consistency::working_stress(reader, strength.as_ref(), [upper.as_ref(), lower.as_ref()], units);
    Some(Design {
        name: parts.name.clone()?,
        units,
        bow: parts.finish()?,
        limbs: Both { upper: upper?, lower: lower? },
        string: string.finish()?,
        nocks: nocks?,
        serves: serves?,
        sheets: sheets?,
        making: string.making?,
        strength: strength?,
        tiller: tiller?,
    })
}
