//! The time of day that stands in a column of its own.

use super::{Collector, Table};
use crate::intake::cells::{self, sentence};
use crate::intake::date::{self, TimeReading};
use crate::intake::grid::Row;
use crate::intake::outcome::CellCounts;
use crate::intake::tally::{Says, Spot};
use crate::issue::Effect;

impl Collector<'_> {
    /// The stamp with the time of day that stands in `column`, where one does.
    pub(super) fn with_time(
        &mut self,
        table: &mut Table<'_>,
        line: u64,
        row: Row<'_>,
        column: usize,
        stamp: date::Stamp,
        counts: &mut CellCounts,
    ) -> date::Stamp {
        let field = row.field(column);
        match cells::clock(field) {
            TimeReading::Missing => {
                counts.blank += 1;
                stamp
            }
            TimeReading::Read(time) => {
                counts.used += 1;
                date::join(stamp, Some(time))
            }
            TimeReading::Refused(refusal) => {
                counts.rejected += 1;
                if let Some(n) = table.rejected.get_mut(column) {
                    *n += 1;
                }
                let text = field.text();
                let spot = Spot {
                    line,
                    column: table.plan.labels.get(column).map(String::as_str),
                    found: Some(&text),
                };
                self.tally.at("time", spot, || Says {
                    problem: format!(
                        "{} The check was used with its date only.",
                        sentence(&refusal.problem())
                    ),
                    hint: Some(sentence(refusal.hint())),
                    effect: Effect::CellRejected,
                });
                stamp
            }
        }
    }
}
