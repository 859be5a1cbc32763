//! The date of a row, remembered: a book of many cabinets writes each date many times.

use super::{Collector, Table};
use crate::intake::cells;
use crate::intake::date::{self, DateDoubt, DateReading};
use crate::intake::grid::Field;
use crate::time::Instant;

/// The last date as written, and what was made of it.
#[derive(Default)]
pub(super) struct LastDate {
    text: String,
    dated: Dated,
}

/// What was made of a cell with a date.
#[derive(Clone, Copy)]
pub(super) struct Dated {
    pub(super) reading: DateReading,
    pub(super) doubt: Option<DateDoubt>,
    /// The instant, where nothing has to be told of it.
    pub(super) at: Option<Instant>,
}

impl Default for Dated {
    /// What an empty cell says.
    fn default() -> Dated {
        Dated {
            reading: DateReading::Missing,
            doubt: None,
            at: None,
        }
    }
}

impl Collector<'_> {
    /// What a cell of the date column says.
    pub(super) fn date_of(&mut self, table: &mut Table<'_>, field: Field<'_>) -> Dated {
        let last = &mut table.last_date;
        match field {
            Field::Text(text) if text == last.text => return last.dated,
            _ => {}
        }
        let mut dated = Dated {
            reading: cells::stamp(field, table.plan.date_style),
            ..Dated::default()
        };
        if let DateReading::Read(stamp) = dated.reading {
            dated.doubt = date::doubt(stamp.date(self.zone), self.today);
            if dated.doubt.is_none()
                && let (instant, None) = self.clockwork.instant(stamp)
            {
                dated.at = Some(instant);
            }
        }
        if let Field::Text(text) = field {
            text.clone_into(&mut last.text);
            last.dated = dated;
        }
        dated
    }
}
