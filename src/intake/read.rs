//! All logs of a lab folder: read side by side, put together in the order of their paths.

mod file;
#[cfg(test)]
mod pieces_tests;
use file::read_file;

use super::assemble::assemble;
use super::cabinet::Directory;
use super::checks::{CabinetChecks, Checks, Measure, SheetName};
use super::daily::{self, DailySubgroups};
use super::group::CabinetRows;
use super::load::{self, Buffers, Listing};
use super::missing::missing_days;
use super::names;
use super::outcome::FileOutcome;
use super::reference::{self, CabinetConstants};
use super::sheet::{Setting, SheetRead};
use crate::issue::{Effect, Issue, Place, shown};
use crate::lab::Lab;
use crate::progress::Progress;
use crate::time::Instant;
use chrono::NaiveDate;
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// What the logs of a lab folder gave.
#[derive(Debug, Clone, Default)]
pub struct Intake {
    /// The checks of all cabinets.
    pub checks: Checks,
    /// What became of each file, in the order of their paths.
    pub files: Vec<FileOutcome>,
    /// What could not be used as written, in the order of files and lines.
    pub issues: Vec<Issue>,
    /// Name for the reader of each cabinet, by its identifier.
    pub cabinet_names: BTreeMap<Arc<str>, String>,
    /// Samples of loggers reduced to one subgroup a day, by cabinet and measure.
    pub daily: DailySubgroups,
    /// Working days without a check, between each cabinet's first and last.
    pub missing_days: BTreeMap<Arc<str>, Vec<NaiveDate>>,
}

impl Intake {
    /// Why nothing can be reviewed, as a sentence; `None` when there is a check with a reading.
    pub fn nothing_usable(&self) -> Option<String> {
        if self.checks.has_readings() {
            return None;
        }
        if self.files.is_empty() {
            return Some(
                "There is no check log in this folder: expected files in logs/ that end in .csv, .tsv, .txt, .xlsx, .xlsm, .xls, .ods or .parquet.".into(),
            );
        }
        let has_table = self
            .files
            .iter()
            .any(|f| f.sheets.iter().any(|s| !s.tables.is_empty()));
        let rejected: u64 = self
            .files
            .iter()
            .flat_map(|f| &f.sheets)
            .map(|s| s.rejected_rows)
            .sum();
        Some(match (has_table, rejected) {
            (false, _) => format!(
                "None of the {} log file(s) could be read as a check log; the issues say why.",
                self.files.len()
            ),
            (true, 0) => {
                let paths: Vec<&str> = self.files.iter().map(|f| f.path.as_str()).collect();
                format!(
                    "The logs hold headings but no checks with readings: {}.",
                    crate::issue::shown(&paths.join(", "))
                )
            }
            (true, n) => format!(
                "No check could be used: {n} row(s) were rejected; the issues say why and what to add to lab.toml."
            ),
        })
    }

    /// Cells and rows that were not used; `--strict` asks for none.
    pub fn has_rejected(&self) -> bool {
        self.issues.iter().any(|issue| issue.effect != Effect::Kept)
    }
}

/// A file as read.
struct FileRead {
    outcome: FileOutcome,
    issues: Vec<Issue>,
    sheets: Vec<(SheetName, SheetRead)>,
}

/// Reads all check logs of the lab folder.
///
/// `now` is the clock: later dates are rejected. Files are read side by side; the result
/// does not depend on how. Whatever cannot be read is an issue, never a failure.
pub fn read_logs(lab: &Lab, now: Instant, progress: &dyn Progress) -> Intake {
    let listing = load::list_logs(&lab.root);
    let logger = load::list_logger(&lab.root);
    progress.begin(
        "Reading logs",
        (listing.logs.len() + logger.logs.len()) as u64,
    );
    let directory = Directory::of(lab);
    let read_all = |listing: &Listing, is_logger: bool| -> Vec<FileRead> {
        let setting = Setting {
            lab,
            directory: &directory,
            now,
            is_logger,
        };
        let buffers = Buffers::default();
        let read = |found| {
            let read = read_file(setting, found, &buffers);
            progress.advance(1);
            read
        };
        listing.logs.par_iter().map(read).collect()
    };
    let files = read_all(&listing, false);
    let samples = read_all(&logger, true);
    progress.end();
    let mut issues = folder_issues(&listing);
    issues.extend(folder_issues(&logger));
    put_together(lab, &directory, issues, files, samples)
}

/// Puts files of checks, then those of loggers, together.
fn put_together(
    lab: &Lab,
    directory: &Directory,
    issues: Vec<Issue>,
    files: Vec<FileRead>,
    samples: Vec<FileRead>,
) -> Intake {
    let mut intake = Intake {
        issues,
        ..Intake::default()
    };
    let log_files = files.len();
    let mut sheets: Vec<(SheetName, SheetRead)> = Vec::new();
    // Which file and which of its sheets each sheet is.
    let mut owner: Vec<usize> = Vec::new();
    for (index, file) in files.into_iter().chain(samples).enumerate() {
        intake.files.push(file.outcome);
        intake.issues.extend(file.issues);
        for (name, mut read) in file.sheets {
            intake.issues.append(&mut read.issues);
            owner.push(index);
            sheets.push((name, read));
        }
    }
    let log_sheets = owner.iter().filter(|file| **file < log_files).count();
    let names = names::unify(&mut sheets, directory);
    sheets.par_iter_mut().for_each(|(name, read)| {
        for of_cabinet in &mut read.rows {
            let id = &of_cabinet.cabinet;
            let how = lab.how_written(id, &name.path, name.sheet.as_deref());
            let constants = CabinetConstants {
                collection_hours: how.collection_hours,
                gravity: how.gravity,
            };
            reference::apply(of_cabinet, &read.constants, constants);
        }
    });
    let of_loggers = logger_rows(&mut sheets, log_sheets, &mut intake.daily);
    let mut outcomes = Vec::with_capacity(sheets.len());
    let mut rows: Vec<(SheetName, Vec<CabinetRows>)> = Vec::with_capacity(sheets.len());
    for (name, read) in sheets {
        outcomes.push(read.outcome);
        rows.push((name, read.rows));
    }
    let (checks, overlaps) = assemble(rows, lab.zone);
    for (sheet, rows) in checks.all().iter().flat_map(CabinetChecks::stretches) {
        if let Some(outcome) = outcomes.get_mut(sheet as usize) {
            outcome.checks += rows.len() as u64;
        }
    }
    for (sheet, mut outcome) in outcomes.into_iter().enumerate() {
        let key = u32::try_from(sheet).unwrap_or(u32::MAX);
        outcome.duplicates = overlaps.duplicates.get(&key).copied().unwrap_or(0);
        let contradicted = overlaps.contradicted.get(&key).copied().unwrap_or(0);
        outcome.cells.rejected += contradicted;
        outcome.cells.used = outcome.cells.used.saturating_sub(contradicted);
        if let Some(file) = owner.get(sheet).and_then(|f| intake.files.get_mut(*f)) {
            file.sheets.push(outcome);
        }
    }
    intake.issues.extend(names.issues);
    intake.issues.extend(overlaps.issues);
    intake.issues.extend(of_loggers);
    intake.missing_days = missing_days(&checks, log_sheets, &lab.settings.working_days, lab.zone);
    intake.cabinet_names = names.display;
    intake.checks = checks;
    intake
}

/// Daily means of loggers become readings where the logs of a cabinet have no such column:
/// what a person read and wrote down wins.
fn logger_rows(
    sheets: &mut [(SheetName, SheetRead)],
    log_sheets: usize,
    all: &mut DailySubgroups,
) -> Vec<Issue> {
    let mut issues = Vec::new();
    let (logs, loggers) = sheets.split_at_mut(log_sheets.min(sheets.len()));
    if loggers.is_empty() {
        return issues;
    }
    let mut in_logs: BTreeSet<(Arc<str>, Measure)> = BTreeSet::new();
    for (_, read) in logs.iter() {
        for of_cabinet in &read.rows {
            for (measure, values) in &of_cabinet.columns {
                if values.iter().any(|value| !value.is_nan()) {
                    in_logs.insert((Arc::clone(&of_cabinet.cabinet), measure.clone()));
                }
            }
        }
    }
    for (name, read) in loggers {
        let Some(daily) = read.daily.take() else {
            continue;
        };
        let names: Vec<Arc<str>> = read.rows.iter().map(|of| Arc::clone(&of.cabinet)).collect();
        let (rows, used) = daily::rows_of(&daily, &names, &in_logs, all);
        read.rows = rows;
        for (cabinet, measure) in used {
            issues.push(Issue {
                place: Place {
                    path: name.path.to_string(),
                    sheet: name.sheet.as_deref().map(shown),
                    line: None,
                    column: None,
                },
                found: None,
                problem: format!(
                    "No check log has {} for cabinet {cabinet}; the daily means of this logger's samples were used as its readings.",
                    super::measure::measure_name(&measure)
                ),
                hint: None,
                effect: Effect::Kept,
                count: 1,
            });
        }
    }
    // Days of two exports may follow each other in either order.
    for subgroups in all
        .values_mut()
        .flat_map(|by_measure| by_measure.values_mut())
    {
        subgroups.sort_by_key(|group| group.first_at);
    }
    issues
}

fn folder_issues(listing: &Listing) -> Vec<Issue> {
    let issue = |path: &str, problem: String, effect| Issue {
        place: Place {
            path: path.to_owned(),
            ..Place::default()
        },
        found: None,
        problem,
        hint: None,
        effect,
        count: 1,
    };
    let error = listing.error.iter();
    error
        .map(|text| issue("logs", text.clone(), Effect::FileUnreadable))
        .chain(listing.passed_over.iter().map(|(path, why)| {
            issue(
                path,
                format!("The file was passed over: {why}."),
                Effect::Kept,
            )
        }))
        .collect()
}
