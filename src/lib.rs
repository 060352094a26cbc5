//! Nockwright: from a wooden bow's measures to grooves the string rolls along, and 1:1 sheets to shape them by.
//!
//! The program is one flow of plain functions, and the folders follow it:
//!
//! ```text
//! design file -> Design (SI) -> braced bow, draw curve -> string sweep -> string on the tip -> nock
//!             -> template (mm) -> sheets -> SVG, PDF
//!                every step also leaves its numbers in -> findings and checks -> text, JSON
//! ```
//!
//! No layer knows one further down the line: the statics know no paper, the writers know no nock.
//! Everything physical is in SI units (m, N, rad, Pa) until it becomes a [`template::Template`], which is in millimetres.
//!
//! Frames. The bow lies in a plane: `x` from the grip toward the archer, `y` along the bow with the upper limb up,
//! and the pivot (where the hand presses the grip's belly side) as origin.
//! At each limb's end stands the tip frame: `a` along the limb, pointing off the tip; `b` from belly to back;
//! `w` across the width. Its origin is on the limb's centreline at the nock seat.

pub mod bow;
pub mod carried;
pub mod checks;
pub mod class;
pub mod command_line;
pub mod design;
pub mod digest;
pub mod fault;
pub mod figures;
pub mod findings;
pub mod font;
pub mod groove;
pub mod guide;
pub mod handout;
pub mod nock;
pub mod numerics;
pub mod page;
pub mod pieces;
pub mod printer;
pub mod proof;
pub mod reports;
pub mod samples;
mod saved_as;
pub mod seal;
pub mod section;
pub mod sheets;
pub mod strength;
pub mod string;
pub mod strip;
pub mod template;
pub mod tiller;
pub mod tip;
pub mod units;
pub mod weight;
pub mod wood;
pub mod worked;
pub mod writers;
