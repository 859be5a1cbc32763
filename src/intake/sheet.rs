//! One sheet from top to bottom: its tables one after the other, and what became of it.

mod tell;
use tell::outcome;

use super::cabinet::Directory;
use super::checks::Measure;
use super::daily::Daily;
use super::grid::{Body, Row, RowVisitor, Sheet};
use super::group::CabinetRows;
use super::heading::Outcome;
use super::layout::{self, HEAD_ROWS, HeadRow, Heading, Known};
use super::outcome::{SheetOutcome, TableOutcome};
use super::plan::{Given, Plan};
use super::reference::SheetConstants;
use super::rows::{Collector, Next, QuickRows, Table};
use super::rules::Rules;
use super::tally::{Says, Tally};
use crate::issue::{Effect, Issue, shown};
use crate::lab::Lab;
use crate::time::Instant;
use std::collections::BTreeSet;
use std::ops::ControlFlow;
use std::sync::Arc;

/// Rows below a heading from which the way of writing is judged.
const SAMPLE_ROWS: usize = 200;
/// Tables read of one sheet.
const MOST_TABLES: usize = 500;
/// Rows for which room is set aside before they are read.
const MOST_ROWS_AHEAD: usize = 1 << 20;
/// Different cells of a column that are looked at for the way of writing.
const MOST_DIFFERENT: usize = 50_000;

/// A sheet as read.
#[derive(Debug)]
pub(crate) struct SheetRead {
    /// The rows of each cabinet; empty for one that is only named.
    pub(crate) rows: Vec<CabinetRows>,
    /// Subgroups, of a logger's export.
    pub(crate) daily: Option<Daily>,
    pub(crate) constants: SheetConstants,
    pub(crate) outcome: SheetOutcome,
    pub(crate) issues: Vec<Issue>,
    /// Whether a heading was found.
    pub(crate) has_table: bool,
}

/// What all sheets are read with.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Setting<'a> {
    pub(crate) lab: &'a Lab,
    pub(crate) directory: &'a Directory,
    pub(crate) now: Instant,
    /// Whether the rows are samples of a logger, to be reduced to days.
    pub(crate) is_logger: bool,
}

/// Reads a sheet of the file at `path`.
pub(crate) fn read(setting: Setting<'_>, path: &str, sheet: &Sheet, rules: &Rules) -> SheetRead {
    let lab = setting.lab;
    let known = Known {
        rules: &rules.columns,
        own: &lab.own,
    };
    let tally = Tally::new(path.into(), sheet.name.clone());
    let today = lab.zone.date(setting.now);
    let mut collector = Collector::new(tally, path, setting.directory, known, today, lab.zone);
    collector.daily = setting.is_logger.then(Daily::default);
    collector.is_text_log = matches!(sheet.body, Body::Text(_));
    let mut read = Reader {
        setting,
        path,
        sheet,
        rules,
        known,
        tables: Vec::new(),
        hours: BTreeSet::new(),
        areas: BTreeSet::new(),
        constants: SheetConstants {
            collection_hours: rules.collection_hours,
            funnel_area_cm2: rules.funnel_area_cm2,
            gravity: rules.gravity,
        },
        cabinet_from: None,
    };
    read.tables(&mut collector);
    read.finish(collector)
}

struct Reader<'a> {
    setting: Setting<'a>,
    path: &'a str,
    sheet: &'a Sheet,
    rules: &'a Rules,
    known: Known<'a>,
    tables: Vec<TableOutcome>,
    /// Periods and areas that headings state, as bits (they have no order of their own).
    hours: BTreeSet<u64>,
    areas: BTreeSet<u64>,
    constants: SheetConstants,
    cabinet_from: Option<String>,
}

impl<'a> Reader<'a> {
    fn tables(&mut self, collector: &mut Collector<'a>) {
        let mut start = 0;
        while self.tables.len() < MOST_TABLES {
            let head = self.head(start);
            let (heading, first_row) = if let Body::Columns(table) = &self.sheet.body {
                let heading = Heading {
                    texts: table.names().to_vec(),
                    first: 0,
                    below: 0,
                    line: 0,
                };
                (heading, 0)
            } else {
                let rows: Vec<HeadRow> = head.iter().map(|(_, row)| row.clone()).collect();
                match layout::find(&rows, self.known) {
                    Some(heading) => {
                        let below = head.get(heading.below).map(|(index, _)| *index);
                        let last = head.get(heading.below.saturating_sub(1));
                        let after = last.map_or(start, |(index, _)| index + 1);
                        (heading, below.unwrap_or(after))
                    }
                    None => {
                        if self.tables.is_empty() {
                            self.no_heading(collector, &rows);
                        }
                        return;
                    }
                }
            };
            let titles = head.get(..heading.first).unwrap_or_default();
            self.settle_cabinet(collector, titles);
            match self.table(collector, heading, first_row) {
                Some(next) => start = next,
                None => return,
            }
        }
    }

    /// The first rows that hold something, from a row on, with their index.
    fn head(&self, start: usize) -> Vec<(usize, HeadRow)> {
        let mut head = Vec::new();
        let mut index = 0;
        self.sheet.body.visit(&mut |line, row| {
            if index >= start && !row.is_blank() {
                head.push((
                    index,
                    HeadRow {
                        line,
                        texts: row.texts(),
                    },
                ));
            }
            index += 1;
            if head.len() >= HEAD_ROWS || index >= start + 50 * HEAD_ROWS {
                ControlFlow::Break(())
            } else {
                ControlFlow::Continue(())
            }
        });
        head
    }

    /// Reads a table; gives the row where the next one begins.
    fn table(
        &mut self,
        collector: &mut Collector<'a>,
        heading: Heading,
        first_row: usize,
    ) -> Option<usize> {
        let samples = self.samples(first_row);
        let plan = Plan::of(Given {
            path: self.path,
            headings: heading.texts.clone(),
            samples: &samples,
            rules: self.rules,
            own: &self.setting.lab.own,
            since_1904: self.sheet.since_1904,
            all: &|column| self.different(first_row, column),
        });
        for reading in &plan.readings {
            let measure = match &reading.outcome {
                Outcome::Measured { measure, .. } => measure,
                _ => continue,
            };
            if matches!(measure, Measure::CaughtVolume(_)) {
                self.hours
                    .extend(reading.reading.collection_hours.map(f64::to_bits));
            }
            if matches!(measure, Measure::CaughtVolume(_) | Measure::CaughtRate(_)) {
                self.areas
                    .extend(reading.reading.funnel_area_cm2.map(f64::to_bits));
            }
            if *measure == Measure::SpecificGravity && self.rules.gravity.is_none() {
                self.constants.gravity = reading.gravity().or(self.constants.gravity);
            }
        }
        let more = match self.tables.is_empty() {
            true => self.sheet.body.about_rows().min(MOST_ROWS_AHEAD),
            false => 0,
        };
        let plain = match &self.sheet.body {
            Body::Text(text) => text.plain_delimiter(),
            Body::Cells(_) | Body::Columns(_) => None,
        };
        let plain = plain.filter(|_| !self.setting.is_logger);
        let mut table = collector.open(&plan, more);
        let mut rows = TableRows {
            collector,
            table: &mut table,
            quick: plain.and_then(|delimiter| QuickRows::of(&plan, delimiter)),
            first_row,
            index: 0,
            next: None,
        };
        self.sheet.body.walk(&mut rows);
        let TableRows { quick, next, .. } = rows;
        if let Some(quick) = quick {
            collector.count_quick_rows(&quick, &mut table);
        }
        collector.close(&mut table);
        self.tell_columns(collector, &table);
        let line = (heading.line > 0).then_some(heading.line);
        self.tables.push(outcome(&table, line));
        next
    }

    fn samples(&self, first_row: usize) -> Vec<Vec<String>> {
        let mut samples = Vec::new();
        let mut index = 0;
        self.sheet.body.visit(&mut |_, row| {
            if index >= first_row && !row.is_blank() {
                samples.push(row.texts());
            }
            index += 1;
            if samples.len() >= SAMPLE_ROWS {
                ControlFlow::Break(())
            } else {
                ControlFlow::Continue(())
            }
        });
        samples
    }

    /// The different cells of a column, in the order of the rows.
    fn different(&self, first_row: usize, column: usize) -> Vec<String> {
        let mut seen = BTreeSet::new();
        let mut all = Vec::new();
        let mut index = 0;
        self.sheet.body.visit(&mut |_, row| {
            if index >= first_row {
                let text = row.field(column).text();
                if !text.is_empty() && !seen.contains(&*text) {
                    seen.insert(text.clone().into_owned());
                    all.push(text.into_owned());
                }
            }
            index += 1;
            if all.len() >= MOST_DIFFERENT {
                ControlFlow::Break(())
            } else {
                ControlFlow::Continue(())
            }
        });
        all
    }

    /// Which cabinet rows are about that name none.
    fn settle_cabinet(&mut self, collector: &mut Collector<'a>, titles: &[(usize, HeadRow)]) {
        let directory = self.setting.directory;
        let title = titles
            .iter()
            .rev()
            .find_map(|(_, row)| directory.in_title(&row.texts));
        if let Some(name) = title {
            self.take_cabinet(collector, &name, "a title row");
            return;
        }
        if collector.fallback.is_some() {
            return;
        }
        let sheet = self.sheet.name.as_deref();
        let stem = self.path.rsplit('/').next().unwrap_or_default();
        let stem = stem.rsplit_once('.').map_or(stem, |(stem, _)| stem);
        let found = self
            .rules
            .cabinet
            .as_deref()
            .map(|name| (name.to_owned(), "lab.toml"))
            .or_else(|| Some((directory.in_file_name(sheet?)?, "the name of the sheet")))
            .or_else(|| Some((directory.in_file_name(stem)?, "the name of the file")))
            .or_else(|| {
                let only = directory.only()?.to_owned();
                Some((only, "lab.toml, which names one cabinet only"))
            });
        if let Some((name, from)) = found {
            self.take_cabinet(collector, &name, from);
        }
    }

    fn take_cabinet(&mut self, collector: &mut Collector<'a>, name: &str, from: &str) {
        if let Some(index) = collector.intern(name) {
            collector.fall_back_on(index);
            self.cabinet_from.get_or_insert_with(|| from.to_owned());
        }
    }
}

/// Hands the rows of a table to the collector, until another table begins.
struct TableRows<'r, 'p, 'a> {
    collector: &'r mut Collector<'a>,
    table: &'r mut Table<'p>,
    /// How most rows are read, where that is possible.
    quick: Option<QuickRows>,
    /// Row of the sheet below the heading.
    first_row: usize,
    /// Rows passed.
    index: usize,
    /// Row of the sheet where the next table begins.
    next: Option<usize>,
}

impl RowVisitor for TableRows<'_, '_, '_> {
    const WANTS_ALL: bool = true;

    #[inline]
    fn quick(&mut self, line: u64, rest: &str) -> Option<usize> {
        let quick = self.quick.as_mut()?;
        if self.index < self.first_row {
            return None;
        }
        let length = (self.collector).quick_row(quick, self.table, line, rest)?;
        self.index += 1;
        Some(length)
    }

    fn row(&mut self, line: u64, row: Row<'_>) -> ControlFlow<()> {
        let here = self.index;
        self.index += 1;
        if here < self.first_row {
            return ControlFlow::Continue(());
        }
        // The row on which this table began may look like a heading again.
        let may_be_heading = here > self.first_row;
        match self.collector.row(self.table, line, row, may_be_heading) {
            Next::Row => ControlFlow::Continue(()),
            Next::Table => {
                self.next = Some(here);
                ControlFlow::Break(())
            }
        }
    }
}

fn kept(problem: String, hint: Option<&str>) -> Says {
    Says {
        problem,
        hint: hint.map(str::to_owned),
        effect: Effect::Kept,
    }
}

pub(crate) fn unreadable(problem: &str, hint: &str) -> Says {
    Says {
        problem: problem.to_owned(),
        hint: Some(hint.to_owned()),
        effect: Effect::FileUnreadable,
    }
}

pub(crate) fn delimiter_name(delimiter: char) -> String {
    match delimiter {
        '\t' => "tabs".into(),
        ';' => "semicolons".into(),
        ',' => "commas".into(),
        other => format!("'{}'", shown(&other.to_string())),
    }
}

/// The name of a sheet as its place.
pub(crate) fn sheet_name(path: &Arc<str>, sheet: &Sheet) -> super::checks::SheetName {
    super::checks::SheetName {
        path: Arc::clone(path),
        sheet: sheet.name.clone(),
    }
}
