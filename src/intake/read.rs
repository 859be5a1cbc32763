//! All logs of a lab folder: read side by side, put together in the order of their paths.

use super::assemble::{SheetRows, assemble};
use super::cabinet::Directory;
use super::checks::{Checks, Measure, SheetName};
use super::daily::{self, DailySubgroups};
use super::encoding::{self, NotText};
use super::grid::{Body, Sheet};
use super::load::{self, Format, Found, LONGEST_LINE, Listing};
use super::missing::missing_days;
use super::names;
use super::outcome::FileOutcome;
use super::parquet_log::ColumnTable;
use super::reference::{self, CabinetConstants};
use super::rules::Rules;
use super::sheet::{self, Setting, SheetRead, delimiter_name, unreadable};
use super::tally::{Says, Tally};
use super::text_log::TextTable;
use super::workbook;
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
        if !self.checks.is_empty() && self.checks.measures().next().is_some() {
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
            (true, 0) => "The logs hold headings but no checks with readings.".into(),
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
        let read = |found| {
            let read = read_file(setting, found);
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
        let cabinets: Vec<CabinetConstants> = read
            .rows
            .cabinets
            .iter()
            .map(|id| {
                let how = lab.how_written(id, &name.path, name.sheet.as_deref());
                CabinetConstants {
                    collection_hours: how.collection_hours,
                    gravity: how.gravity,
                }
            })
            .collect();
        reference::apply(&mut read.rows, &read.constants, &cabinets);
    });
    let of_loggers = logger_rows(&mut sheets, log_sheets, &mut intake.daily);
    let mut outcomes = Vec::with_capacity(sheets.len());
    let mut rows: Vec<(SheetName, SheetRows)> = Vec::with_capacity(sheets.len());
    for (name, read) in sheets {
        outcomes.push(read.outcome);
        rows.push((name, read.rows));
    }
    let (checks, overlaps) = assemble(rows, lab.zone);
    for source in checks.sources() {
        if let Some(outcome) = outcomes.get_mut(source.sheet as usize) {
            outcome.checks += 1;
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
        for (measure, values) in &read.rows.columns {
            let with_value = read.rows.cabinet.iter().zip(values);
            let cabinets: BTreeSet<u32> = with_value
                .filter(|(_, value)| !value.is_nan())
                .map(|(cabinet, _)| *cabinet)
                .collect();
            for cabinet in cabinets {
                if let Some(id) = read.rows.cabinets.get(cabinet as usize) {
                    in_logs.insert((Arc::clone(id), measure.clone()));
                }
            }
        }
    }
    for (name, read) in loggers {
        let Some(daily) = read.daily.take() else {
            continue;
        };
        let (rows, used) = daily::rows_of(&daily, &read.rows.cabinets, &in_logs, all);
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
                    super::overlap::measure_name(&measure)
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

fn read_file(setting: Setting<'_>, found: &Found) -> FileRead {
    let path: Arc<str> = found.path.as_str().into();
    let mut tally = Tally::new(Arc::clone(&path), None);
    let mut outcome = FileOutcome {
        path: found.path.clone(),
        ..FileOutcome::default()
    };
    let rules = Rules::of(setting.lab, &found.path, None);
    let sheets = match load::load(found) {
        Ok(loaded) => {
            outcome.sha256 = loaded.sha256;
            match (loaded.bytes, loaded.long_line) {
                (Some(bytes), _) => sheets_of(found, bytes, &rules, &mut tally, &mut outcome),
                (None, line) => {
                    let text = format!(
                        "Line {} is longer than {} MiB, which no line of a check log is; the file was not read.",
                        line.unwrap_or(0),
                        LONGEST_LINE >> 20
                    );
                    tally.whole(
                        None,
                        1,
                        unreadable(
                            &text,
                            "Check what wrote this file, and export the log again.",
                        ),
                    );
                    Vec::new()
                }
            }
        }
        Err(error) => {
            let text = format!("The file could not be read: {error}.");
            tally.whole(
                None,
                1,
                unreadable(
                    &text,
                    "Check that you may read the file and that it is still there.",
                ),
            );
            Vec::new()
        }
    };
    let mut read: Vec<(SheetName, SheetRead)> = sheets
        .iter()
        .map(|sheet| {
            let of_sheet = match &sheet.name {
                Some(name) => &Rules::of(setting.lab, &found.path, Some(name)),
                None => &rules,
            };
            let read = sheet::read(setting, &found.path, sheet, of_sheet);
            (sheet::sheet_name(&path, sheet), read)
        })
        .collect();
    drop(sheets);
    // A workbook usually has sheets that are no log: they matter only when none is one.
    let any_table = read.iter().any(|(_, sheet)| sheet.has_table);
    if any_table {
        for (name, sheet) in &mut read {
            if sheet.has_table || name.sheet.is_none() {
                continue;
            }
            for issue in &mut sheet.issues {
                if issue.effect == Effect::FileUnreadable {
                    issue.effect = Effect::Kept;
                    issue.problem =
                        "The sheet has no headings of a check log and was passed over.".into();
                }
            }
        }
    }
    FileRead {
        outcome,
        issues: tally.finish(),
        sheets: read,
    }
}

/// The sheets of a file; what keeps it from being read goes into the tally.
fn sheets_of(
    found: &Found,
    bytes: Vec<u8>,
    rules: &Rules,
    tally: &mut Tally,
    outcome: &mut FileOutcome,
) -> Vec<Sheet> {
    match found.format {
        Format::Text => text_sheets(bytes, rules, tally, outcome),
        Format::Parquet => {
            outcome.dialect = "Parquet".into();
            match ColumnTable::read(bytes) {
                Ok(table) => {
                    for name in &table.unsupported {
                        tally.whole(
                            Some(name),
                            1,
                            Says {
                                problem: "The column is of a type that no reading has (a list, a structure or bytes); it was not used.".into(),
                                hint: None,
                                effect: Effect::ColumnLeftOut,
                            },
                        );
                    }
                    vec![Sheet {
                        name: None,
                        hidden: false,
                        since_1904: false,
                        body: Body::Columns(table),
                    }]
                }
                Err(problem) => {
                    tally.whole(None, 1, unreadable(&problem, "Export the log again."));
                    Vec::new()
                }
            }
        }
        format => {
            outcome.dialect = match format {
                Format::Ods => "OpenDocument spreadsheet".into(),
                Format::Xls => "binary workbook".into(),
                _ => "workbook".into(),
            };
            if bytes.is_empty() {
                tally.whole(
                    None,
                    1,
                    unreadable("The file is empty.", "Export the log again."),
                );
                return Vec::new();
            }
            match workbook::read(&bytes, format) {
                Ok(sheets) => sheets,
                Err(error) => {
                    tally.whole(
                        None,
                        1,
                        unreadable(&shown_long(&error.problem), &error.hint),
                    );
                    Vec::new()
                }
            }
        }
    }
}

/// Text of another library inside a sentence: shown safely, piece by piece.
fn shown_long(text: &str) -> String {
    text.split(' ').map(shown).collect::<Vec<_>>().join(" ")
}

fn text_sheets(
    bytes: Vec<u8>,
    rules: &Rules,
    tally: &mut Tally,
    outcome: &mut FileOutcome,
) -> Vec<Sheet> {
    let decoded = match encoding::decode(bytes, rules.encoding.as_deref()) {
        Ok(decoded) => decoded,
        Err(error) => {
            let (problem, hint) = match error {
                NotText::Empty => ("The file is empty.".to_owned(), "Export the log again.".to_owned()),
                NotText::Other(what) => (
                    format!("The file is named like a text log but is {what}."),
                    "Rename it after what it is, or export the log as CSV.".to_owned(),
                ),
                NotText::Binary => (
                    "The file is named like a text log but holds bytes that are no text.".to_owned(),
                    "Export the log as CSV or XLSX.".to_owned(),
                ),
                NotText::UnknownEncoding(label) => (
                    format!("lab.toml names the encoding \"{}\", which does not exist.", shown(&label)),
                    "Use utf-8, utf-16le, windows-1252 or another label of the Encoding Standard, or remove the line.".to_owned(),
                ),
            };
            tally.whole(None, 1, unreadable(&problem, &hint));
            return Vec::new();
        }
    };
    if let Some(note) = decoded.note {
        tally.whole(
            None,
            1,
            Says {
                problem: note,
                hint: Some("Name the right encoding with encoding = \"…\" in the log's [[log]] table of lab.toml.".into()),
                effect: Effect::Kept,
            },
        );
    }
    let table = TextTable::new(decoded.text, rules.delimiter);
    outcome.dialect = format!(
        "text, {}, {} between cells",
        decoded.encoding,
        delimiter_name(table.delimiter())
    );
    if !table.quoting() {
        tally.whole(
            None,
            1,
            Says {
                problem: "A quotation mark opens a cell and is never closed; quotation marks were read as ordinary characters.".into(),
                hint: Some("Close or remove the quotation mark.".into()),
                effect: Effect::Kept,
            },
        );
    }
    vec![Sheet {
        name: None,
        hidden: false,
        since_1904: false,
        body: Body::Text(table),
    }]
}
