//! From log files to checks and issues.
//!
//! [`read_logs`] is the way in. Readers (`text_log`, `workbook`, `parquet_log`) give rows
//! of cells; `layout` finds the headings, `plan` decides each column with the help of the
//! recognisers (`heading`, `unit`, `number`, `date`), `rows` reads the checks, `assemble`
//! and `overlap` put them together. Nothing is derived here and nothing is judged.

mod assemble;
mod cabinet;
mod cells;
pub mod checks;
mod daily;
pub mod date;
pub mod draft;
mod encoding;
mod grid;
mod group;
mod guarded;
pub mod heading;
mod join;
mod layout;
mod load;
mod measure;
mod missing;
mod names;
pub mod number;
pub mod outcome;
mod overlap;
mod parquet_log;
mod pieces;
mod plain;
mod plan;
pub mod plausible;
mod read;
mod reference;
pub mod role;
mod rows;
mod rules;
mod sheet;
mod tally;
mod text_log;
pub mod unit;
pub mod words;
mod workbook;

#[cfg(test)]
mod tests;

pub use daily::{DailySubgroups, Subgroup};
pub(crate) use guarded::is_guarded;
pub use read::{Intake, read_logs};
