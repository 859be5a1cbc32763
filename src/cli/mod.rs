//! The commands: parse, call the library, write, and answer with an exit status.

pub mod intake;
