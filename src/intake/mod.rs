//! From log files to checks and issues.

mod assemble;
pub mod checks;
mod encoding;
mod grid;
mod load;
mod missing;
mod overlap;
mod parquet_log;
mod tally;
mod text_log;
mod workbook;
