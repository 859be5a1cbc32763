//! Rows that hold what most rows of a large log hold: a date, the cabinet, short plain
//! numbers, nothing else.
//!
//! One pass from cell to cell: a number is read out of the same eight bytes in which its end
//! was looked for. A row with anything else (a blank, a word, a value that cannot be, one cell
//! too many) is left whole to [`Collector::row`], which makes the same of these rows, too.
//! It takes a third of the time of reading a fleet's logs; rules of reading are not made here.

use super::{Collector, Table};
use crate::intake::cells;
use crate::intake::grid::Field;
use crate::intake::number;
use crate::intake::plain::{WORD, equal_bytes};
use crate::intake::plan::{Kind, Plan};
use crate::time::Instant;

/// What a column of the table is to a quick row.
#[derive(Debug, Clone, Copy)]
enum Column {
    Date,
    Cabinet,
    /// Index into the plan's columns of readings.
    Reading(usize),
    /// Passed over.
    Aside,
}

/// The columns of a table whose rows can be read quickly.
#[derive(Debug)]
pub(crate) struct QuickRows {
    columns: Vec<Column>,
    delimiter: u8,
    /// Rows taken.
    taken: u64,
}

impl QuickRows {
    /// For a table of a text log in which no quotation mark has a meaning; `None` where a
    /// row needs more than a look at its cells one by one.
    pub(crate) fn of(plan: &Plan, delimiter: u8) -> Option<QuickRows> {
        let columns_of = |wanted: fn(&Kind) -> bool| {
            let columns = plan.kinds.iter().enumerate();
            columns
                .filter(move |(_, kind)| wanted(kind))
                .map(|(place, _)| place)
        };
        let dates = columns_of(|kind| matches!(kind, Kind::Date));
        let cabinets = columns_of(|kind| matches!(kind, Kind::Cabinet));
        let readings = columns_of(|kind| matches!(kind, Kind::Measured(_)));
        if plan.date.is_none()
            || !dates.eq(plan.date)
            || !cabinets.eq(plan.cabinet)
            || readings.count() != plan.measured.len()
        {
            return None;
        }
        let columns = plan.kinds.iter().map(|kind| match kind {
            Kind::Measured(place) => Some(Column::Reading(*place)),
            Kind::Date => Some(Column::Date),
            Kind::Cabinet => Some(Column::Cabinet),
            Kind::Aside => Some(Column::Aside),
            Kind::Time | Kind::LeftOut => None,
        });
        Some(QuickRows {
            columns: columns.collect::<Option<Vec<Column>>>()?,
            delimiter,
            taken: 0,
        })
    }

    /// The cell from `start` on that ends before `end`, and its length up to there: one
    /// more than its text where the line ends with `\r\n`. `None` where it ends otherwise.
    fn cell<'a>(&self, rest: &'a str, start: usize, end: u8) -> Option<(&'a str, usize)> {
        let here = rest.as_bytes().get(start..)?;
        let stop = memchr::memchr3(self.delimiter, b'\n', b'\r', here)?;
        let length = match here.get(stop..)? {
            [byte, ..] if *byte == end => stop,
            [b'\r', b'\n', ..] if end == b'\n' => stop + 1,
            _ => return None,
        };
        Some((rest.get(start..start + stop)?, length))
    }
}

/// What was found in the cells read so far.
struct Found {
    /// Where the next cell begins.
    start: usize,
    at: Option<Instant>,
    cabinet: Option<u32>,
}

/// What identifies a check.
struct Key {
    at: Instant,
    cabinet: u32,
}

impl Collector<'_> {
    /// Takes the row at the start of `rest` and gives its length without the line end;
    /// `None`, with nothing taken, for a row that has to be looked at closely.
    #[inline]
    pub(crate) fn quick_row(
        &mut self,
        quick: &mut QuickRows,
        table: &mut Table<'_>,
        line: u64,
        rest: &str,
    ) -> Option<usize> {
        let (key, length) = self.read_quickly(quick, table, rest)?;
        quick.taken += 1;
        for (column, value) in table.values.iter_mut().zip(&table.scratch) {
            column.push(*value);
        }
        self.rows.at.push(key.at);
        self.rows.cabinet.push(key.cabinet);
        self.rows.line.push(u32::try_from(line).unwrap_or(u32::MAX));
        Some(length)
    }

    /// Reads the cells into the scratch row.
    #[inline]
    fn read_quickly(
        &mut self,
        quick: &QuickRows,
        table: &mut Table<'_>,
        rest: &str,
    ) -> Option<(Key, usize)> {
        let mut found = Found {
            start: 0,
            at: None,
            cabinet: self.fallback,
        };
        let (last, before) = quick.columns.split_last()?;
        for column in before {
            self.read_cell(quick, table, rest, *column, quick.delimiter, &mut found)?;
        }
        self.read_cell(quick, table, rest, *last, b'\n', &mut found)?;
        let key = Key {
            at: found.at?,
            cabinet: found.cabinet?,
        };
        if table.plan.cabinet.is_some() {
            self.follow(key.cabinet);
        }
        Some((key, found.start - 1))
    }

    /// Reads the next cell, which ends before `end`.
    #[inline(always)]
    fn read_cell(
        &mut self,
        quick: &QuickRows,
        table: &mut Table<'_>,
        rest: &str,
        column: Column,
        end: u8,
        found: &mut Found,
    ) -> Option<()> {
        let here = rest.as_bytes().get(found.start..)?;
        let length = match column {
            Column::Reading(place) => {
                let measured = table.plan.measured.get(place)?;
                let word = u64::from_le_bytes(*here.first_chunk::<WORD>()?);
                let length = first(equal_bytes(word, end))?;
                let written = match length.checked_sub(1) {
                    Some(shorter) if end == b'\n' && here.get(shorter) == Some(&b'\r') => shorter,
                    _ => length,
                };
                let value = number::read_short(word, written, measured.style)?;
                *table.scratch.get_mut(place)? = cells::possible(value, measured)?;
                length
            }
            Column::Date => {
                let known = table.last_date.text.as_bytes();
                let length = if starts_with_cell(here, known, end) {
                    known.len()
                } else {
                    let (text, length) = quick.cell(rest, found.start, end)?;
                    self.date_of(table, Field::of_text(text));
                    length
                };
                found.at = Some(table.last_date.at?);
                length
            }
            Column::Cabinet => {
                let index = self.next_cabinet();
                let name = self.rows.cabinets.get(index as usize)?.as_bytes();
                if starts_with_cell(here, name, end) {
                    found.cabinet = Some(index);
                    name.len()
                } else {
                    let (text, length) = quick.cell(rest, found.start, end)?;
                    found.cabinet = Some(*self.by_name.get(text)?);
                    length
                }
            }
            Column::Aside => quick.cell(rest, found.start, end)?.1,
        };
        found.start += length + 1;
        Some(())
    }

    /// Adds what the rows taken quickly hold to the counts of the cells.
    pub(crate) fn count_quick_rows(&mut self, quick: &QuickRows, table: &mut Table<'_>) {
        let rows = quick.taken;
        self.taken += rows;
        for (place, column) in quick.columns.iter().enumerate() {
            match column {
                Column::Aside => self.counts.aside += rows,
                Column::Date | Column::Cabinet => self.counts.used += rows,
                Column::Reading(_) => {
                    self.counts.used += rows;
                    if let Some(used) = table.used.get_mut(place) {
                        *used += rows;
                    }
                }
            }
        }
    }
}

/// Whether `here` begins with that cell and `end` behind it.
#[inline]
fn starts_with_cell(here: &[u8], cell: &[u8], end: u8) -> bool {
    here.starts_with(cell) && here.get(cell.len()) == Some(&end)
}

/// Place of the first byte marked, where one is.
#[inline]
fn first(marks: u64) -> Option<usize> {
    (marks != 0).then(|| marks.trailing_zeros() as usize / 8)
}
