//! Renderers of a comparison: page, charts, terminal text and JSON of
//! [`Comparison`](super::wire::Comparison).
//!
//! They round, choose what has room, and lay out. No difference, score, share or verdict
//! is made here: all of them stand in the wire format, and so does every sentence that
//! judges.

mod files;
pub mod html;
pub mod json;
mod naming;
mod plot;
pub mod terminal;

pub use files::files;
pub use naming::mark;
