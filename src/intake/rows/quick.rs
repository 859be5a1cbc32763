//! Rows that hold what most rows of a large log hold: a date, the cabinet, plain numbers and
//! blanks, nothing else.
//!
//! One pass from cell to cell, each number held against the shapes its column has had. A row
//! with anything else (a word, a value that cannot be, one cell too many) is left whole to
//! [`Collector::row`], which would make the same of these rows, too. Rules of reading are not
//! made here. A fleet's logs are read in half the time.

use super::{Collector, Table};
use crate::intake::grid::Field;
use crate::intake::number::{self, Shape};
use crate::intake::plan::{Kind, Plan};
use crate::intake::unit::Conversion;
use crate::time::Instant;

/// Shapes of a column that are remembered.
const MOST_SHAPES: usize = 3;

/// What a column of the table is to a quick row.
#[derive(Debug)]
enum Column {
    /// The last date as written, which the next row mostly repeats where there are many
    /// cabinets, and its instant.
    Date(String, Option<Instant>),
    Cabinet,
    Reading(Numbers),
    /// Passed over.
    Aside,
}

/// A column of readings.
#[derive(Debug)]
struct Numbers {
    /// Index into the plan's columns of readings.
    place: usize,
    /// From written to canonical, where that is another number.
    conversion: Option<Conversion>,
    /// Lowest and highest canonical value that can be.
    low: f64,
    high: f64,
    shapes: Vec<Shape>,
    /// Blank cells of the rows taken.
    blank: u64,
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
            let columns = columns.filter(move |(_, kind)| wanted(kind));
            columns.map(|(place, _)| place)
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
            Kind::Measured(place) => {
                let measured = plan.measured.get(*place)?;
                let conversion = measured.conversion;
                let range = measured.range.map(|range| (range.low, range.high));
                let (low, high) = range.unwrap_or((f64::MIN, f64::MAX));
                Some(Column::Reading(Numbers {
                    place: *place,
                    conversion: (!conversion.is_same()).then_some(conversion),
                    low,
                    high,
                    shapes: Vec::new(),
                    blank: 0,
                }))
            }
            Kind::Date => Some(Column::Date(String::new(), None)),
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
}

/// The row that is being read, from its first byte to the end of the log.
struct Rest<'a> {
    text: &'a str,
    /// Where the next cell begins.
    start: usize,
    delimiter: u8,
}

impl<'a> Rest<'a> {
    /// The bytes from the next cell on.
    #[inline]
    fn bytes(&self) -> Option<&'a [u8]> {
        self.text.as_bytes().get(self.start..)
    }

    /// The next cell, which must end before `end`, and the bytes that end it.
    fn cell(&self, end: u8) -> Option<(&'a str, &'a [u8])> {
        let here = self.bytes()?;
        let length = memchr::memchr3(self.delimiter, b'\n', b'\r', here)?;
        let then = match here.get(length..)? {
            [byte, ..] if *byte == end => 1,
            [b'\r', b'\n', ..] if end == b'\n' => 2,
            _ => return None,
        };
        let text = self.text.get(self.start..self.start + length)?;
        Some((text, here.get(length..length + then)?))
    }

    /// Passes the next cell if it is this text before `end`.
    #[inline]
    fn pass(&mut self, text: &str, end: u8) -> Option<()> {
        let here = self.bytes()?;
        if !begins_with(here, text.as_bytes()) || here.get(text.len()) != Some(&end) {
            return None;
        }
        self.start += text.len() + 1;
        Some(())
    }
}

/// As [`slice::starts_with`], without a call for texts as long as dates and names mostly are.
#[inline]
fn begins_with(here: &[u8], text: &[u8]) -> bool {
    let (Some(first), Some(last)) = (text.first_chunk::<8>(), text.last_chunk::<8>()) else {
        return here.starts_with(text);
    };
    if text.len() > 16 {
        return here.starts_with(text);
    }
    let end_here = here.get(text.len() - 8..).and_then(<[u8]>::first_chunk);
    here.first_chunk() == Some(first) && end_here == Some(last)
}

/// What was found in the cells read so far.
struct Found {
    at: Option<Instant>,
    cabinet: Option<u32>,
    blanks: usize,
}

impl Collector<'_> {
    /// Takes the row at the start of `rest` and gives its length without the line feed;
    /// `None`, with nothing taken, for a row that has to be looked at closely.
    #[inline]
    pub(crate) fn quick_row(
        &mut self,
        quick: &mut QuickRows,
        table: &mut Table<'_>,
        line: u64,
        rest: &str,
    ) -> Option<usize> {
        let mut rest = Rest {
            text: rest,
            start: 0,
            delimiter: quick.delimiter,
        };
        let mut found = Found {
            at: None,
            cabinet: self.fallback,
            blanks: 0,
        };
        let (last, before) = quick.columns.split_last_mut()?;
        for column in before {
            self.quick_cell(table, column, &mut rest, quick.delimiter, &mut found)?;
        }
        self.quick_cell(table, last, &mut rest, b'\n', &mut found)?;
        let (at, cabinet) = (found.at?, found.cabinet?);
        if found.blanks > 0 {
            // A row without any reading is no check.
            if found.blanks == table.scratch.len() {
                return None;
            }
            quick.count_blanks(&table.scratch);
        }
        quick.taken += 1;
        if table.plan.cabinet.is_some() {
            self.follow(cabinet);
        }
        self.push(table, cabinet, at, line);
        Some(rest.start - 1)
    }

    /// Reads the next cell, which ends before `end`.
    #[inline(always)]
    fn quick_cell(
        &mut self,
        table: &mut Table<'_>,
        column: &mut Column,
        rest: &mut Rest<'_>,
        end: u8,
        found: &mut Found,
    ) -> Option<()> {
        match column {
            Column::Reading(numbers) => {
                let value = numbers.read(table.plan, rest, end)?;
                found.blanks += usize::from(value.is_nan());
                *table.scratch.get_mut(numbers.place)? = value;
            }
            Column::Date(last, at) => {
                if rest.pass(last, end).is_none() {
                    let (text, then) = rest.cell(end)?;
                    *at = self.date_of(table, Field::of_text(text)).at;
                    text.clone_into(last);
                    rest.start += text.len() + then.len();
                }
                found.at = Some((*at)?);
            }
            Column::Cabinet => {
                let index = self.next_cabinet();
                let name = self.cabinets.get(index as usize)?;
                found.cabinet = if rest.pass(name, end).is_some() {
                    Some(index)
                } else {
                    let (text, then) = rest.cell(end)?;
                    rest.start += text.len() + then.len();
                    Some(*self.by_name.get(text)?)
                };
            }
            Column::Aside => {
                let (text, then) = rest.cell(end)?;
                rest.start += text.len() + then.len();
            }
        }
        Some(())
    }

    /// Adds what the rows taken quickly hold to the counts of the cells.
    pub(crate) fn count_quick_rows(&mut self, quick: &QuickRows, table: &mut Table<'_>) {
        let rows = quick.taken;
        self.taken += rows;
        for (place, column) in quick.columns.iter().enumerate() {
            match column {
                Column::Aside => self.counts.aside += rows,
                Column::Date(..) | Column::Cabinet => self.counts.used += rows,
                Column::Reading(numbers) => {
                    let read = rows - numbers.blank;
                    self.counts.used += read;
                    self.counts.blank += numbers.blank;
                    if let Some(used) = table.used.get_mut(place) {
                        *used += read;
                    }
                }
            }
        }
    }
}

impl QuickRows {
    fn count_blanks(&mut self, values: &[f64]) {
        for column in &mut self.columns {
            if let Column::Reading(numbers) = column
                && values
                    .get(numbers.place)
                    .is_some_and(|value| value.is_nan())
            {
                numbers.blank += 1;
            }
        }
    }
}

impl Numbers {
    /// The canonical value of the next cell, NaN where it is empty.
    #[inline(always)]
    fn read(&mut self, plan: &Plan, rest: &mut Rest<'_>, end: u8) -> Option<f64> {
        let word = u64::from_le_bytes(*rest.bytes()?.first_chunk()?);
        for shape in &self.shapes {
            if let Some(written) = shape.read(word) {
                rest.start += shape.length();
                return self.possible(written);
            }
        }
        let (text, then) = rest.cell(end)?;
        rest.start += text.len() + then.len();
        if text.is_empty() {
            return Some(f64::NAN);
        }
        let style = plan.measured.get(self.place)?.style;
        if self.shapes.len() < MOST_SHAPES {
            self.shapes.extend(Shape::of(text.as_bytes(), then, style));
        }
        self.possible(number::read_plain(text.as_bytes(), style)?)
    }

    /// The canonical value of a number as written, where such a reading can be.
    #[inline]
    fn possible(&self, written: f64) -> Option<f64> {
        let value = match &self.conversion {
            Some(conversion) => conversion.apply(written),
            None => written,
        };
        (value >= self.low && value <= self.high).then_some(value)
    }
}
