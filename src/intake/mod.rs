//! From log files to checks and issues.

pub mod checks;
pub mod date;
pub mod heading;
pub mod number;
pub mod plausible;
pub mod role;
pub mod unit;
pub mod words;
