//! The rows below a heading: checks, and rows that are none.
//!
//! A row with a date that can be read is a check. Any other is a repeated heading, a
//! total, the heading of a next table, a title, a note, or a row rejected with its
//! reason. Every cell ends in one count of [`CellCounts`].

mod dated;
mod other;
mod quick;
mod timed;
use dated::LastDate;
use other::has_readings;
pub(crate) use quick::QuickRows;

use super::cabinet::Directory;
use super::cells::{self, Clockwork, Value, sentence};
use super::daily::Daily;
use super::date::{self, DateReading};
use super::grid::Row;
use super::group::{BLOCK, Block, CabinetRows, Grouping, Key};
use super::layout::Known;
use super::outcome::CellCounts;
use super::plan::{Kind, Plan};
use super::tally::{Says, Spot, Tally};
use crate::issue::Effect;
use crate::lab::fold_name;
use crate::time::{Instant, Zone};
use chrono::NaiveDate;
use std::collections::HashMap;
use std::sync::Arc;

/// Rows that are no checks, counted with the line of the first.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Passed {
    pub(crate) count: u64,
    pub(crate) first: u64,
}

impl Passed {
    fn one(&mut self, line: u64) {
        if self.count == 0 {
            self.first = line;
        }
        self.count += 1;
    }
}

/// What happens after a row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Next {
    /// The next row belongs to the same table.
    Row,
    /// This row is the heading of another table.
    Table,
}

/// Collects the rows of one sheet.
pub(crate) struct Collector<'a> {
    /// Names of the cabinets as written, by their index.
    pub(crate) cabinets: Vec<Arc<str>>,
    /// Rows of the table being read that are not yet among `grouping`.
    block: Block,
    grouping: Grouping,
    /// About how many rows the sheet has.
    rows_expected: usize,
    pub(crate) counts: CellCounts,
    pub(crate) tally: Tally,
    pub(crate) rejected_rows: u64,
    pub(crate) totals: Passed,
    pub(crate) notes: Passed,
    pub(crate) repeated: Passed,
    pub(crate) surplus: Passed,
    pub(crate) undated: Passed,
    /// Cabinet of rows that name none.
    pub(crate) fallback: Option<u32>,
    /// All cabinets that were, in the order of the rows.
    pub(crate) fallbacks: Vec<u32>,
    pub(crate) is_text_log: bool,
    /// Where samples of a logger go, in place of `rows`.
    pub(crate) daily: Option<Daily>,
    /// Rows with readings.
    pub(crate) taken: u64,
    pub(crate) files: &'a str,
    pub(crate) directory: &'a Directory,
    pub(crate) known: Known<'a>,
    today: NaiveDate,
    zone: Zone,
    clockwork: Clockwork,
    by_name: HashMap<String, u32>,
    /// The cabinet that followed each cabinet last time: logs repeat their order.
    successor: Vec<u32>,
    last: u32,
}

/// The columns of a table while its rows are read.
pub(crate) struct Table<'p> {
    pub(crate) plan: &'p Plan,
    /// The place of each of `plan.measured` among the measures of the sheet.
    places: Vec<usize>,
    /// The row being read.
    scratch: Vec<f64>,
    /// Cells used and rejected, by column.
    pub(crate) used: Vec<u64>,
    pub(crate) rejected: Vec<u64>,
    left_out: Vec<usize>,
    last_date: LastDate,
}

impl<'a> Collector<'a> {
    pub(crate) fn new(
        tally: Tally,
        files: &'a str,
        directory: &'a Directory,
        known: Known<'a>,
        today: NaiveDate,
        zone: Zone,
    ) -> Collector<'a> {
        Collector {
            cabinets: Vec::new(),
            block: Block::default(),
            grouping: Grouping::default(),
            rows_expected: 0,
            counts: CellCounts::default(),
            tally,
            rejected_rows: 0,
            totals: Passed::default(),
            notes: Passed::default(),
            repeated: Passed::default(),
            surplus: Passed::default(),
            undated: Passed::default(),
            fallback: None,
            fallbacks: Vec::new(),
            is_text_log: false,
            daily: None,
            taken: 0,
            files,
            directory,
            known,
            today,
            zone,
            clockwork: Clockwork::new(zone),
            by_name: HashMap::new(),
            successor: Vec::new(),
            last: 0,
        }
    }

    /// Begins a table; `more` is about how many rows follow.
    pub(crate) fn open<'p>(&mut self, plan: &'p Plan, more: usize) -> Table<'p> {
        self.rows_expected = more;
        let measured = plan.measured.iter();
        let places = measured.map(|m| self.grouping.place_of(&m.measure));
        let places = places.collect();
        let width = plan.labels.len();
        Table {
            plan,
            places,
            scratch: vec![f64::NAN; plan.measured.len()],
            last_date: LastDate::default(),
            used: vec![0; width],
            rejected: vec![0; width],
            left_out: (0..width)
                .filter(|c| plan.kinds.get(*c) == Some(&Kind::LeftOut))
                .collect(),
        }
    }

    /// Ends a table.
    pub(crate) fn close(&mut self, table: &mut Table<'_>) {
        self.share_out(table);
    }

    /// The rows of each cabinet.
    pub(crate) fn take_rows(&mut self) -> Vec<CabinetRows> {
        let names = std::mem::take(&mut self.cabinets);
        std::mem::take(&mut self.grouping).finish(names)
    }

    /// Reads one row.
    #[inline]
    pub(crate) fn row(
        &mut self,
        table: &mut Table<'_>,
        line: u64,
        row: Row<'_>,
        may_be_heading: bool,
    ) -> Next {
        let Some(column) = table.plan.date else {
            return self.other_row(table, line, row, None, may_be_heading);
        };
        let dated = self.date_of(table, row.field(column));
        match dated.reading {
            DateReading::Read(stamp) => {
                self.check(table, line, row, stamp, dated.doubt);
                Next::Row
            }
            DateReading::Missing => self.other_row(table, line, row, None, may_be_heading),
            DateReading::Refused(refusal) => {
                self.other_row(table, line, row, Some(refusal), may_be_heading)
            }
        }
    }

    /// A row with a date.
    fn check(
        &mut self,
        table: &mut Table<'_>,
        line: u64,
        row: Row<'_>,
        stamp: date::Stamp,
        doubt: Option<date::DateDoubt>,
    ) {
        let plan = table.plan;
        let width = row.len().max(plan.labels.len());
        if row.len() > plan.labels.len() && self.is_shifted(plan, line, row) {
            return self.reject(table, line, row, "surplus", None, || Says {
                problem: format!(
                    "The row has {} cells but the heading has {}: a delimiter inside a number would shift its cells.",
                    row.len(),
                    plan.labels.len()
                ),
                hint: Some("Put text with delimiters in quotation marks; export decimal commas with semicolons between cells.".into()),
                effect: Effect::RowRejected,
            });
        }
        if let Some(doubt) = doubt {
            if !has_readings(plan, row) {
                self.set_aside(table, row);
                return;
            }
            let found = plan.date.map(|c| row.field(c).text().into_owned());
            let column = plan.date.and_then(|c| plan.labels.get(c)).cloned();
            return self.reject(
                table,
                line,
                row,
                "doubtful-date",
                found.as_deref().zip(column.as_deref()),
                || Says {
                    problem: sentence(doubt.problem()),
                    hint: Some("Correct the date.".into()),
                    effect: Effect::RowRejected,
                },
            );
        }
        let Some(cabinet) = self.cabinet_of(plan, row) else {
            if !has_readings(plan, row) {
                self.set_aside(table, row);
                return;
            }
            let files = self.files;
            return self.reject(table, line, row, "no-cabinet", None, || Says {
                problem: "Nothing tells which cabinet this row is about: no column, title, sheet name or file name.".into(),
                hint: Some(format!(
                    "[[log]]\nfiles = {}\ncabinet = \"name of the cabinet\"",
                    super::plan::toml_text(files)
                )),
                effect: Effect::RowRejected,
            });
        };
        let counts = self.read_values(table, line, row);
        if counts.used == 0 && counts.rejected == 0 {
            self.set_aside(table, row);
            return;
        }
        let mut context = CellCounts {
            used: 1,
            ..CellCounts::default()
        };
        let mut stamp = stamp;
        if let Some(column) = plan.time {
            stamp = self.with_time(table, line, row, column, stamp, &mut context);
        }
        if let Some(column) = plan.cabinet {
            if row.field(column).is_blank() {
                context.blank += 1;
            } else {
                context.used += 1;
            }
        }
        for column in &table.left_out {
            if row.field(*column).is_blank() {
                context.blank += 1;
            } else {
                context.left_out += 1;
            }
        }
        context.add(&counts);
        context.aside = (width as u64).saturating_sub(context.total());
        self.counts.add(&context);
        let (at, told) = self.clockwork.instant(stamp);
        if let Some(told) = told {
            let column = plan.date.and_then(|c| plan.labels.get(c));
            let spot = Spot {
                line,
                column: column.map(String::as_str),
                found: None,
            };
            self.tally.at("clock-change", spot, || Says {
                problem: told.into(),
                hint: Some("Write times with their offset from UTC where it matters.".into()),
                effect: Effect::Kept,
            });
        }
        for measured in plan.measured.iter().zip(&table.scratch) {
            if !measured.1.is_nan()
                && let Some(n) = table.used.get_mut(measured.0.column)
            {
                *n += 1;
            }
        }
        self.taken += 1;
        if let Some(daily) = &mut self.daily {
            let day = self.zone.day_number(at);
            daily.add(plan, cabinet, day, at, &table.scratch);
            return;
        }
        self.push(table, cabinet, at, line);
    }

    /// Adds the row in the scratch row.
    #[inline(always)]
    fn push(&mut self, table: &Table<'_>, cabinet: u32, at: Instant, line: u64) {
        let line = u32::try_from(line).unwrap_or(u32::MAX);
        self.block.push(Key { at, cabinet, line }, &table.scratch);
        if self.block.len() >= BLOCK {
            self.share_out(table);
        }
    }

    /// Shares the rows of the block out to their cabinets.
    fn share_out(&mut self, table: &Table<'_>) {
        let rows = self.rows_expected;
        self.grouping.take(&mut self.block, &table.places, rows);
    }

    /// Whether any row is of that cabinet.
    pub(crate) fn has_rows_of(&self, cabinet: u32) -> bool {
        self.grouping.has(cabinet)
    }

    /// Reads the measured cells into the scratch row.
    #[inline]
    fn read_values(&mut self, table: &mut Table<'_>, line: u64, row: Row<'_>) -> CellCounts {
        let mut counts = CellCounts::default();
        for (measured, slot) in table.plan.measured.iter().zip(&mut table.scratch) {
            let field = row.field(measured.column);
            if let Some(value) = cells::plain_value(field, measured) {
                counts.used += 1;
                *slot = value;
                continue;
            }
            *slot = match cells::value(field, measured) {
                Value::Read(value) => {
                    counts.used += 1;
                    value
                }
                Value::Missing => {
                    counts.blank += 1;
                    f64::NAN
                }
                Value::Noted(value, note) => {
                    counts.used += 1;
                    let text = field.text();
                    let spot = Spot {
                        line,
                        column: table.plan.labels.get(measured.column).map(String::as_str),
                        found: Some(&text),
                    };
                    self.tally.at("noted", spot, || Says {
                        problem: note,
                        hint: None,
                        effect: Effect::Kept,
                    });
                    value
                }
                Value::Rejected(kind, problem, hint) => {
                    counts.rejected += 1;
                    if let Some(n) = table.rejected.get_mut(measured.column) {
                        *n += 1;
                    }
                    let text = field.text();
                    let spot = Spot {
                        line,
                        column: table.plan.labels.get(measured.column).map(String::as_str),
                        found: Some(&text),
                    };
                    self.tally.at(kind, spot, || Says {
                        problem,
                        hint: Some(hint),
                        effect: Effect::CellRejected,
                    });
                    f64::NAN
                }
            };
        }
        counts
    }

    /// Index of the row's cabinet among those of the sheet.
    #[inline]
    fn cabinet_of(&mut self, plan: &Plan, row: Row<'_>) -> Option<u32> {
        let Some(column) = plan.cabinet else {
            return self.fallback;
        };
        let field = row.field(column);
        if field.is_blank() {
            return self.fallback;
        }
        let text = field.text();
        let guess = self.next_cabinet();
        let name = self.cabinets.get(guess as usize);
        let index = if name.is_some_and(|name| **name == *text) {
            guess
        } else {
            self.intern(&text)?
        };
        self.follow(index);
        Some(index)
    }

    /// The cabinet that followed the last row's when it last came up.
    #[inline]
    fn next_cabinet(&self) -> u32 {
        self.successor.get(self.last as usize).copied().unwrap_or(0)
    }

    /// Notes that a row of this cabinet follows the last one.
    #[inline]
    fn follow(&mut self, index: u32) {
        if let Some(slot) = self.successor.get_mut(self.last as usize) {
            *slot = index;
        }
        self.last = index;
    }

    /// Index of a name as written; `None` when it has neither letter nor digit.
    pub(crate) fn intern(&mut self, name: &str) -> Option<u32> {
        if let Some(index) = self.by_name.get(name) {
            return Some(*index);
        }
        if fold_name(name).is_empty() {
            return None;
        }
        let index = u32::try_from(self.cabinets.len()).ok()?;
        self.cabinets.push(Arc::from(name));
        self.by_name.insert(name.to_owned(), index);
        self.successor.push(index);
        Some(index)
    }

    /// From here on rows that name no cabinet are of this one.
    pub(crate) fn fall_back_on(&mut self, index: u32) {
        self.fallback = Some(index);
        if !self.fallbacks.contains(&index) {
            self.fallbacks.push(index);
        }
    }
}
