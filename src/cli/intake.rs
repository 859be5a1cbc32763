//! What `steadyfog intake` says: what was understood of the logs and what was not.
//!
//! It puts an [`Intake`] into text of a given width or into JSON; it reads no file,
//! prints nothing and decides nothing.

mod json;
pub(crate) use json::json;

use crate::intake::Intake;
use crate::intake::outcome::{ColumnOutcome, ColumnUse, FileOutcome, SheetOutcome, TableOutcome};
use crate::issue::{Effect, Issue, shown};
use crate::lab::Lab;
use serde::Serialize;
use std::fmt::Write as _;

/// Missing days named one by one in the text; the JSON has all.
const DAYS_NAMED: usize = 10;

/// What was understood, as text of at most `width` columns (where no word is longer).
pub(crate) fn text(lab: &Lab, intake: &Intake, width: usize) -> String {
    let mut page = Page {
        out: String::new(),
        width,
    };
    page.line(0, &format!("Logs of {}", shown(&lab.name)));
    for file in &intake.files {
        file_text(&mut page, file);
    }
    cabinets_text(&mut page, lab, intake);
    issues_text(&mut page, &intake.issues);
    if let Some(why) = intake.nothing_usable() {
        page.blank();
        page.line(0, &format!("Nothing can be reviewed. {why}"));
    }
    page.out
}

/// Text under construction.
struct Page {
    out: String,
    width: usize,
}

impl Page {
    fn blank(&mut self) {
        self.out.push('\n');
    }

    /// A paragraph, wrapped between words, every line indented.
    fn line(&mut self, indent: usize, text: &str) {
        let room = self.width.saturating_sub(indent).max(20);
        let mut used = 0;
        self.out.push_str(&" ".repeat(indent));
        for (index, word) in text.split_whitespace().enumerate() {
            let length = word.chars().count();
            if used > 0 && used + 1 + length > room {
                self.out.push('\n');
                self.out.push_str(&" ".repeat(indent));
                used = 0;
            } else if index > 0 {
                self.out.push(' ');
                used += 1;
            }
            self.out.push_str(word);
            used += length;
        }
        self.out.push('\n');
    }
}

fn file_text(page: &mut Page, file: &FileOutcome) {
    page.blank();
    page.line(0, &shown(&file.path));
    if !file.dialect.is_empty() {
        page.line(2, &shown(&file.dialect));
    }
    if !file.sha256.is_empty() {
        page.line(2, &format!("SHA-256 {}", file.sha256));
    }
    let mut before: Option<(&str, &[TableOutcome])> = None;
    for sheet in &file.sheets {
        sheet_text(page, sheet, before);
        if !sheet.tables.is_empty() {
            before = Some((sheet.name.as_deref().unwrap_or_default(), &sheet.tables));
        }
    }
}

fn sheet_text(page: &mut Page, sheet: &SheetOutcome, before: Option<(&str, &[TableOutcome])>) {
    if let Some(name) = &sheet.name {
        let hidden = if sheet.hidden { " (hidden)" } else { "" };
        page.line(2, &format!("Sheet {}{hidden}", shown(name)));
    }
    let mut counts = format!("{} rows, {} checks", sheet.rows, sheet.checks);
    let mut count = |n: u64, what: &str| {
        if n > 0 {
            let _ = write!(counts, ", {n} {what}");
        }
    };
    count(sheet.duplicates, "duplicates");
    count(sheet.rejected_rows, "rows rejected");
    count(sheet.cells.rejected, "cells rejected");
    count(sheet.cells.left_out, "cells in columns left out");
    page.line(2, &counts);
    if let Some(from) = &sheet.cabinet_from {
        page.line(2, &format!("Cabinet: {from}"));
    }
    if let Some((name, tables)) = before
        && is_alike(tables, &sheet.tables)
    {
        page.line(2, &format!("Columns as on sheet {}", shown(name)));
        return;
    }
    for table in &sheet.tables {
        if let Some(line) = table.heading_line {
            page.line(2, &format!("Headings on line {line}"));
        }
        for column in &table.columns {
            column_text(page, column);
        }
    }
}

/// Whether two sheets were understood alike, apart from counts.
fn is_alike(a: &[TableOutcome], b: &[TableOutcome]) -> bool {
    let alike = |x: &ColumnOutcome, y: &ColumnOutcome| {
        x.heading == y.heading && x.role == y.role && x.unit == y.unit && x.outcome == y.outcome
    };
    a.len() == b.len()
        && a.iter().zip(b).all(|(x, y)| {
            x.columns.len() == y.columns.len()
                && x.columns.iter().zip(&y.columns).all(|(p, q)| alike(p, q))
        })
}

fn column_text(page: &mut Page, column: &ColumnOutcome) {
    let role = column.role.as_deref().unwrap_or("unknown");
    let what = match &column.outcome {
        ColumnUse::Readings(unit) => {
            let written = column.unit.as_deref().unwrap_or_default();
            let units = match (written.is_empty(), unit.is_empty()) {
                (_, true) => String::new(),
                (false, false) if written != *unit => format!(", {written}, read as {unit}"),
                _ => format!(", {unit}"),
            };
            format!("{role}{units}")
        }
        ColumnUse::Context => role.to_owned(),
        ColumnUse::Aside => "not used".to_owned(),
        ColumnUse::LeftOut { .. } => "LEFT OUT, see below".to_owned(),
    };
    page.line(4, &format!("{} = {what}", column.heading));
    if !column.why.is_empty() {
        page.line(8, &format!("because {}", shown_sentence(&column.why)));
    }
    if column.rejected > 0 {
        page.line(8, &format!("{} cells rejected", column.rejected));
    }
}

/// A sentence that may quote the log: unsafe characters replaced, not shortened.
fn shown_sentence(text: &str) -> String {
    text.split(' ').map(shown).collect::<Vec<_>>().join(" ")
}

fn cabinets_text(page: &mut Page, lab: &Lab, intake: &Intake) {
    page.blank();
    page.line(0, "Cabinets");
    for cabinet in cabinets(lab, intake) {
        let span = match (&cabinet.first_check, &cabinet.last_check) {
            (Some(first), Some(last)) => format!(", {first} to {last}"),
            _ => String::new(),
        };
        let name = if cabinet.name == cabinet.id {
            String::new()
        } else {
            format!(" ({})", shown(&cabinet.name))
        };
        let line = format!("{}{name}: {} checks{span}", cabinet.id, cabinet.checks);
        page.line(2, &line);
        let missing = &cabinet.missing_days;
        if !missing.is_empty() {
            let named: Vec<&str> = missing
                .iter()
                .take(DAYS_NAMED)
                .map(String::as_str)
                .collect();
            let more = missing.len().saturating_sub(DAYS_NAMED);
            let more = if more > 0 {
                format!(" and {more} more")
            } else {
                String::new()
            };
            page.line(
                4,
                &format!(
                    "{} working days without a check: {}{more}",
                    missing.len(),
                    named.join(", ")
                ),
            );
        }
    }
}

fn issues_text(page: &mut Page, issues: &[Issue]) {
    page.blank();
    if issues.is_empty() {
        page.line(0, "Nothing to tell: every cell was understood.");
        return;
    }
    page.line(0, "What to know and what to do");
    for issue in issues {
        page.blank();
        let mut place = issue.place.path.clone();
        let mut add = |what: &str, value: Option<String>| {
            if let Some(value) = value {
                let _ = write!(place, ", {what} {value}");
            }
        };
        add("sheet", issue.place.sheet.clone());
        add("line", issue.place.line.map(|line| line.to_string()));
        add("column", issue.place.column.clone());
        let effect = match issue.effect {
            Effect::CellRejected => "cell not used",
            Effect::RowRejected => "row not used",
            Effect::ColumnLeftOut => "column left out",
            Effect::FileUnreadable => "not read",
            Effect::Kept => "used",
        };
        page.line(2, &format!("{place}: {effect}"));
        if let Some(found) = &issue.found {
            page.line(4, &format!("found: {found}"));
        }
        page.line(4, &issue.problem);
        for hint in issue.hint.iter().flat_map(|hint| hint.lines()) {
            // Lines of `lab.toml` are to be copied as they are, so they are not wrapped.
            if hint.contains(" = ") || hint.starts_with('[') {
                let _ = writeln!(page.out, "      {hint}");
            } else {
                page.line(6, hint);
            }
        }
    }
}

/// A cabinet as the intake found it.
#[derive(Debug, Serialize)]
struct CabinetJson {
    id: String,
    name: String,
    checks: usize,
    first_check: Option<String>,
    last_check: Option<String>,
    missing_days: Vec<String>,
}

fn cabinets(lab: &Lab, intake: &Intake) -> Vec<CabinetJson> {
    let checks = &intake.checks;
    let all = checks.cabinets().iter().enumerate();
    all.map(|(index, id)| {
        let at = checks.of(index).map_or(&[][..], |of| of.at());
        let date = |at: &crate::time::Instant| lab.zone.date(*at).to_string();
        CabinetJson {
            id: id.to_string(),
            name: intake
                .cabinet_names
                .get(id)
                .cloned()
                .unwrap_or_else(|| id.to_string()),
            checks: at.len(),
            first_check: at.first().map(date),
            last_check: at.last().map(date),
            missing_days: intake
                .missing_days
                .get(id)
                .map(|days| days.iter().map(ToString::to_string).collect())
                .unwrap_or_default(),
        }
    })
    .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::intake::read_logs;
    use crate::progress::Silent;
    use crate::time::Instant;

    fn intake() -> (Lab, Intake, tempfile::TempDir) {
        let folder = tempfile::tempdir().unwrap();
        std::fs::create_dir(folder.path().join("logs")).unwrap();
        let log = "Date,Cabinet,Cabinet temp. °C,pH,Temp.\n\
                   2026-01-05,Plover,35.1,6.8\u{1b}[31m,40\n\
                   2026-01-07,Plover,35.1,6.8,41\n";
        std::fs::write(folder.path().join("logs/a.csv"), log).unwrap();
        let lab = Lab::bare(folder.path());
        let intake = read_logs(&lab, Instant(1_782_907_200), &Silent);
        (lab, intake, folder)
    }

    #[test]
    fn the_text_names_columns_rejected_cells_and_missing_days_within_its_width() {
        let (lab, intake, _folder) = intake();
        let text = text(&lab, &intake, 80);
        for expected in [
            "logs/a.csv",
            "cabinet-temperature, °C",
            "line 2, column pH: cell not used",
            "1 working days without a check: 2026-01-06",
        ] {
            assert!(text.contains(expected), "{expected} not in\n{text}");
        }
        assert!(!text.contains('\u{1b}'));
        let longest = text.lines().map(|l| l.chars().count()).max();
        assert!(longest.is_some_and(|n| n <= 80), "{text}");
    }

    #[test]
    fn the_json_has_the_same_and_reads_back() {
        let (lab, intake, _folder) = intake();
        let json: serde_json::Value = serde_json::from_str(&json(&lab, &intake).unwrap()).unwrap();
        assert_eq!(json["schema"], json::INTAKE_SCHEMA);
        assert_eq!(json["files"][0]["checks"], 2);
        assert_eq!(json["cabinets"][0]["missing_days"][0], "2026-01-06");
        assert_eq!(
            json["issues"].as_array().unwrap().len(),
            intake.issues.len()
        );
    }

    #[test]
    fn the_draft_of_lab_toml_reads_back_and_asks_what_is_open() {
        let (lab, intake, folder) = intake();
        let draft = crate::intake::draft::lab_toml(&lab, &intake);
        assert!(draft.contains("id = \"plover\""), "{draft}");
        std::fs::write(folder.path().join("lab.toml"), &draft).unwrap();
        let read = Lab::open(folder.path()).unwrap();
        assert_eq!(read.cabinets.len(), 1);
        assert_eq!(read.cabinets[0].name, "Plover");
    }
}
