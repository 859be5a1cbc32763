//! From log files to checks and issues.

mod assemble;
mod cabinet;
mod cells;
pub mod checks;
pub mod date;
mod encoding;
mod grid;
pub mod heading;
mod layout;
mod load;
mod missing;
pub mod number;
pub mod outcome;
mod overlap;
mod parquet_log;
mod plan;
pub mod plausible;
mod reference;
pub mod role;
mod rows;
mod rules;
mod tally;
mod text_log;
pub mod unit;
pub mod words;
mod workbook;
