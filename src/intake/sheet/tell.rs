//! What became of a sheet, in words.

use super::{Reader, SheetRead, delimiter_name, kept, unreadable};
use crate::intake::cells::sentence;
use crate::intake::grid::Body;
use crate::intake::layout::{self, HeadRow};
use crate::intake::measure::measure_unit;
use crate::intake::outcome::{ColumnOutcome, ColumnUse, SheetOutcome, TableOutcome};
use crate::intake::plan::{Kind, toml_text};
use crate::intake::role::Role;
use crate::intake::rows::{Collector, Passed, Table};
use crate::intake::tally::Says;
use crate::issue::{Effect, shown};

impl<'a> Reader<'a> {
    pub(super) fn no_heading(&self, collector: &mut Collector<'a>, head: &[HeadRow]) {
        if head.is_empty() {
            if self.sheet.name.is_none() {
                collector.tally.whole(
                    None,
                    1,
                    unreadable("The file holds no rows.", "Export the log again."),
                );
            }
            return;
        }
        let widest = head.iter().map(|row| row.texts.len()).max().unwrap_or(0);
        let first = head.first().map_or(0, |row| row.line);
        let (problem, hint) = if layout::is_transposed(head, self.known) {
            (
                "The checks run from left to right, with their headings down the first column; rows are expected to be checks.".to_owned(),
                "Turn the table (copy, then paste special with Transpose) and save it again.".to_owned(),
            )
        } else if let (Body::Text(table), true) = (&self.sheet.body, widest < 2) {
            let suggested = table.suggested_delimiter();
            (
                format!(
                    "With {} between cells every row has one cell only.",
                    delimiter_name(table.delimiter())
                ),
                if suggested == table.delimiter() {
                    "Export the log with semicolons or tabs between cells.".to_owned()
                } else {
                    format!(
                        "[[log]]\nfiles = {}\ndelimiter = {}",
                        toml_text(self.path),
                        toml_text(&suggested.to_string())
                    )
                },
            )
        } else {
            (
                format!(
                    "No row from line {first} on reads as headings of a check log: expected a date and at least one characteristic, such as Date, Temp. °C, pH."
                ),
                format!(
                    "If this is a log, say what its columns are: \n[[log]]\nfiles = {}\n[log.columns]\n\"heading as written\" = {{ is = \"date\" }}",
                    toml_text(self.path)
                ),
            )
        };
        // A sheet of notes in a workbook is nothing to repair.
        let effect = Effect::FileUnreadable;
        collector.tally.whole(
            None,
            1,
            Says {
                problem,
                hint: Some(hint),
                effect,
            },
        );
    }

    pub(super) fn tell_columns(&self, collector: &mut Collector<'a>, table: &Table<'_>) {
        let plan = table.plan;
        for (column, open) in plan.open.iter().enumerate() {
            let Some(open) = open else { continue };
            collector.tally.whole(
                plan.labels.get(column).map(String::as_str),
                1,
                Says {
                    problem: sentence(&open.problem),
                    hint: Some(open.hint.clone()),
                    effect: Effect::ColumnLeftOut,
                },
            );
        }
        let date_left_out = plan.readings.iter().zip(&plan.kinds).any(|(r, kind)| {
            *kind == Kind::LeftOut && matches!(r.reading.role, Some(Role::Date | Role::DateTime))
        });
        if plan.date.is_none() && !date_left_out && collector.undated.count > 0 {
            let heading = plan.headings.first().cloned().unwrap_or_default();
            collector.tally.whole(
                None,
                collector.undated.count,
                Says {
                    problem: "No column reads as the date of the checks, so no row can be used."
                        .into(),
                    hint: Some(format!(
                        "[[log]]\nfiles = {}\n[log.columns]\n{} = {{ is = \"date\" }}",
                        toml_text(self.path),
                        toml_text(&heading)
                    )),
                    effect: Effect::FileUnreadable,
                },
            );
        }
    }

    pub(super) fn finish(mut self, mut collector: Collector<'a>) -> SheetRead {
        let unsettled = |what: &str| {
            kept(
                format!("Headings state different {what}; none of them was applied."),
                Some("Give each file one, or add a column for it."),
            )
        };
        match (self.hours.len(), self.hours.first()) {
            (0, _) => {}
            (1, Some(bits)) => {
                let hours = &mut self.constants.collection_hours;
                *hours = hours.or(Some(f64::from_bits(*bits)));
            }
            _ => collector
                .tally
                .whole(None, 1, unsettled("collection periods")),
        }
        match (self.areas.len(), self.areas.first()) {
            (0, _) => {}
            (1, Some(bits)) => {
                let area = &mut self.constants.funnel_area_cm2;
                *area = area.or(Some(f64::from_bits(*bits)));
            }
            _ => collector.tally.whole(None, 1, unsettled("funnel areas")),
        }
        let rows = collector.taken;
        let passed: [(Passed, &str); 4] = [
            (
                collector.totals,
                "sum up others (totals or averages) and were not used",
            ),
            (collector.repeated, "repeat the headings"),
            (
                collector.notes,
                "hold words but no readings and were passed over",
            ),
            (
                collector.surplus,
                "have more cells than the heading; the surplus was taken as part of the remark",
            ),
        ];
        for (passed, what) in passed {
            if passed.count > 0 {
                let text = format!(
                    "{} row(s) {what}; the first is on line {}.",
                    passed.count, passed.first
                );
                let mut says = kept(text, None);
                says.effect = Effect::Kept;
                collector.tally.whole(None, passed.count, says);
            }
        }
        if self.sheet.beyond > 0 {
            collector.tally.whole(
                None,
                self.sheet.beyond,
                Says {
                    problem: format!(
                        "{} cell(s) stand too far right or are too many for a check log; they were not read.",
                        self.sheet.beyond
                    ),
                    hint: Some("Delete what stands far right of the log, and save the workbook again.".into()),
                    effect: Effect::CellRejected,
                },
            );
        }
        if self.sheet.hidden && rows > 0 {
            collector.tally.whole(
                None,
                1,
                kept(
                    "The workbook hides this sheet; its checks were used.".into(),
                    Some("If they should not be, delete the sheet or mark its columns as \"ignore\" in lab.toml."),
                ),
            );
        }
        let from = self.cabinet_from.take();
        self.cabinet_from = from.map(|from| {
            let names: Vec<String> = collector
                .fallbacks
                .iter()
                .filter_map(|index| collector.cabinets.get(*index as usize))
                .map(|name| shown(name))
                .collect();
            format!("{} (from {from})", names.join(", "))
        });
        let by_fallback = collector
            .fallbacks
            .iter()
            .any(|index| collector.daily.is_some() || collector.has_rows_of(*index));
        if by_fallback
            && let Some(from) = &self.cabinet_from
            && !from.ends_with("(from lab.toml)")
            // A title that names the cabinet says it as plainly as a column does.
            && !from.ends_with("(from a title row)")
        {
            collector.tally.whole(
                None,
                rows,
                kept(
                    format!("No column says which cabinet the checks are of; taken as {from}."),
                    Some("If this is not the cabinet, name it with cabinet = \"…\" in the log's [[log]] table of lab.toml."),
                ),
            );
        }
        if !self.tables.is_empty() && rows == 0 && collector.rejected_rows == 0 {
            collector.tally.whole(
                None,
                1,
                Says {
                    problem: "There are headings but no checks below them.".into(),
                    hint: Some("Export the log again with its rows, or delete the file.".into()),
                    effect: Effect::Kept,
                },
            );
        }
        SheetRead {
            has_table: !self.tables.is_empty(),
            constants: self.constants,
            outcome: SheetOutcome {
                name: self.sheet.name.clone(),
                hidden: self.sheet.hidden,
                tables: self.tables,
                cabinet_from: if by_fallback { self.cabinet_from } else { None },
                rows,
                checks: 0,
                duplicates: 0,
                rejected_rows: collector.rejected_rows,
                cells: collector.counts,
            },
            rows: collector.take_rows(),
            issues: collector.tally.finish(),
            daily: collector.daily,
        }
    }
}

pub(super) fn outcome(table: &Table<'_>, line: Option<u64>) -> TableOutcome {
    let plan = table.plan;
    let columns = plan.readings.iter().enumerate().map(|(column, reading)| {
        let kind = plan.kinds.get(column).copied().unwrap_or(Kind::Aside);
        let outcome = match kind {
            Kind::Measured(index) => ColumnUse::Readings(
                plan.measured
                    .get(index)
                    .map_or("", |m| measure_unit(&m.measure)),
            ),
            Kind::Date | Kind::Time | Kind::Cabinet => ColumnUse::Context,
            Kind::Aside => ColumnUse::Aside,
            Kind::LeftOut => {
                let open = plan.open.get(column).cloned().flatten();
                ColumnUse::LeftOut {
                    problem: open.as_ref().map(|o| o.problem.clone()).unwrap_or_default(),
                    hint: open.map(|o| o.hint).unwrap_or_default(),
                }
            }
        };
        ColumnOutcome {
            heading: plan.labels.get(column).cloned().unwrap_or_default(),
            role: reading.reading.role.as_ref().map(|role| role.name()),
            unit: reading.reading.unit.map(|unit| unit.to_string()),
            why: plan.whys.get(column).cloned().unwrap_or_default(),
            outcome,
            used: table.used.get(column).copied().unwrap_or(0),
            rejected: table.rejected.get(column).copied().unwrap_or(0),
        }
    });
    TableOutcome {
        heading_line: line,
        columns: columns.collect(),
    }
}
