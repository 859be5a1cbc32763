//! From log files to checks and issues.

pub mod checks;
