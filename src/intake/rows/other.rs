//! Rows without a date that can be read, and rows of which nothing is used.

use super::{Collector, Next, Table};
use crate::intake::cells::{self, Value, sentence};
use crate::intake::date::DateRefusal;
use crate::intake::grid::Row;
use crate::intake::layout;
use crate::intake::plan::{Kind, Plan, toml_text};
use crate::intake::tally::{Says, Spot};
use crate::intake::words::{is_repeated_heading, is_totals_label};
use crate::issue::Effect;

impl Collector<'_> {
    /// Whether surplus cells mean that cells of the row have moved.
    pub(super) fn is_shifted(&mut self, plan: &Plan, line: u64, row: Row<'_>) -> bool {
        if !self.is_text_log {
            return false;
        }
        let width = plan.labels.len();
        let mut surplus = (width..row.len())
            .map(|c| row.field(c))
            .filter(|f| !f.is_blank())
            .peekable();
        if surplus.peek().is_none() {
            return false;
        }
        // Remarks with delimiters run over the end and are words; numbers there have moved.
        let last_is_remark = plan.kinds.last() == Some(&Kind::Aside);
        let is_words = |text: &str| text.contains(char::is_alphabetic);
        let mut tail = (width.saturating_sub(1)..row.len())
            .map(|c| row.field(c))
            .filter(|f| !f.is_blank());
        if last_is_remark && tail.all(|f| is_words(&f.text())) {
            self.surplus.one(line);
            return false;
        }
        true
    }

    /// A row without a date that can be read.
    pub(super) fn other_row(
        &mut self,
        table: &mut Table<'_>,
        line: u64,
        row: Row<'_>,
        refusal: Option<DateRefusal>,
        may_be_heading: bool,
    ) -> Next {
        let plan = table.plan;
        if row.is_blank() {
            self.counts.blank += row.len().max(plan.labels.len()) as u64;
            return Next::Row;
        }
        let texts = row.texts();
        if is_repeated_heading(texts.iter().map(String::as_str), &plan.headings) {
            self.repeated.one(line);
            self.set_aside(table, row);
            return Next::Row;
        }
        let first = texts.iter().find(|t| !t.is_empty());
        if first.is_some_and(|text| is_totals_label(text)) {
            self.totals.one(line);
            self.set_aside(table, row);
            return Next::Row;
        }
        if may_be_heading && layout::is_heading(&texts, self.known) {
            return Next::Table;
        }
        if !has_readings(plan, row) {
            let title = (row.filled() <= 3)
                .then(|| self.directory.in_title(&texts))
                .flatten();
            match title.and_then(|name| self.intern(&name)) {
                Some(index) => self.fall_back_on(index),
                None => self.notes.one(line),
            }
            self.set_aside(table, row);
            return Next::Row;
        }
        let Some(column) = plan.date else {
            // Told once for the table: no column gives a date.
            self.undated.one(line);
            self.rejected_rows += 1;
            self.account(table, row, false);
            return Next::Row;
        };
        let found = row.field(column).text().into_owned();
        let label = plan.labels.get(column).cloned().unwrap_or_default();
        let spot = Some((found.as_str(), label.as_str()));
        let says = || match refusal {
            Some(DateRefusal::DayOrMonth) => Says {
                problem: sentence(&DateRefusal::DayOrMonth.problem()),
                hint: Some(format!(
                    "[[log]]\nfiles = {}\n{}",
                    toml_text(self.files),
                    DateRefusal::DayOrMonth.hint()
                )),
                effect: Effect::RowRejected,
            },
            Some(refusal) => Says {
                problem: sentence(&refusal.problem()),
                hint: Some(sentence(refusal.hint())),
                effect: Effect::RowRejected,
            },
            None => Says {
                problem: "The row has readings but no date.".into(),
                hint: Some("Write the date into every row.".into()),
                effect: Effect::RowRejected,
            },
        };
        let says = says();
        self.reject(table, line, row, "date", spot, || says);
        Next::Row
    }

    /// Rejects a whole row; `spot` is what was found and its column.
    pub(super) fn reject(
        &mut self,
        table: &mut Table<'_>,
        line: u64,
        row: Row<'_>,
        kind: &'static str,
        spot: Option<(&str, &str)>,
        says: impl FnOnce() -> Says,
    ) {
        self.rejected_rows += 1;
        self.account(table, row, false);
        let spot = Spot {
            line,
            column: spot.map(|s| s.1),
            found: spot.map(|s| s.0).filter(|f| !f.is_empty()),
        };
        self.tally.at(kind, spot, says);
    }

    /// Counts a row that is no check.
    pub(super) fn set_aside(&mut self, table: &Table<'_>, row: Row<'_>) {
        self.account(table, row, true);
    }

    /// Counts the cells of a row of which nothing is used.
    fn account(&mut self, table: &Table<'_>, row: Row<'_>, aside: bool) {
        let width = row.len().max(table.plan.labels.len());
        for column in 0..width {
            let count = if row.field(column).is_blank() {
                &mut self.counts.blank
            } else {
                match table.plan.kinds.get(column) {
                    Some(Kind::LeftOut) => &mut self.counts.left_out,
                    Some(Kind::Aside) | None => &mut self.counts.aside,
                    Some(_) if aside => &mut self.counts.aside,
                    Some(_) => &mut self.counts.rejected,
                }
            };
            *count += 1;
        }
    }
}

/// Whether a measured column, or one left out, holds something in this row.
pub(super) fn has_readings(plan: &Plan, row: Row<'_>) -> bool {
    let measured = plan
        .measured
        .iter()
        .any(|m| !matches!(cells::value(row.field(m.column), m), Value::Missing));
    measured
        || plan
            .kinds
            .iter()
            .enumerate()
            .any(|(column, kind)| *kind == Kind::LeftOut && !row.field(column).is_blank())
}
