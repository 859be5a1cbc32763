//! The JSON of `steadyfog intake`.

use super::{CabinetJson, cabinets};
use crate::intake::Intake;
use crate::intake::outcome::{ColumnOutcome, ColumnUse, FileOutcome, SheetOutcome};
use crate::lab::Lab;
use crate::review::issue_on_wire;
use serde::Serialize;

/// Name and version of the JSON that [`json`] gives.
pub(crate) const INTAKE_SCHEMA: &str = "steadyfog.intake/1";

#[derive(Serialize)]
struct IntakeJson<'a> {
    schema: &'static str,
    lab: &'a str,
    files: Vec<FileJson<'a>>,
    cabinets: Vec<CabinetJson>,
    issues: Vec<crate::report::wire::Issue>,
    nothing_usable: Option<String>,
}

#[derive(Serialize)]
struct FileJson<'a> {
    path: &'a str,
    sha256: &'a str,
    dialect: &'a str,
    rows: u64,
    checks: u64,
    duplicates: u64,
    rejected_cells: u64,
    sheets: Vec<SheetJson<'a>>,
}

#[derive(Serialize)]
struct SheetJson<'a> {
    name: Option<&'a str>,
    hidden: bool,
    cabinet_from: Option<&'a str>,
    rows: u64,
    checks: u64,
    duplicates: u64,
    rejected_rows: u64,
    cells: CellsJson,
    tables: Vec<TableJson<'a>>,
}

#[derive(Serialize)]
struct CellsJson {
    used: u64,
    blank: u64,
    rejected: u64,
    left_out: u64,
    aside: u64,
}

#[derive(Serialize)]
struct TableJson<'a> {
    heading_line: Option<u64>,
    columns: Vec<ColumnJson<'a>>,
}

#[derive(Serialize)]
struct ColumnJson<'a> {
    heading: &'a str,
    role: Option<&'a str>,
    unit: Option<&'a str>,
    read_as: Option<&'a str>,
    used_for: &'static str,
    why: &'a str,
    used: u64,
    rejected: u64,
    problem: Option<&'a str>,
    hint: Option<&'a str>,
}

/// What was understood, as JSON of the schema [`INTAKE_SCHEMA`].
///
/// # Errors
/// Those of serialising, which plain texts and counts do not cause.
pub(crate) fn json(lab: &Lab, intake: &Intake) -> serde_json::Result<String> {
    let document = IntakeJson {
        schema: INTAKE_SCHEMA,
        lab: &lab.name,
        files: intake.files.iter().map(file_json).collect(),
        cabinets: cabinets(lab, intake),
        issues: intake.issues.iter().cloned().map(issue_on_wire).collect(),
        nothing_usable: intake.nothing_usable(),
    };
    serde_json::to_string_pretty(&document)
}

fn file_json(file: &FileOutcome) -> FileJson<'_> {
    FileJson {
        path: &file.path,
        sha256: &file.sha256,
        dialect: &file.dialect,
        rows: file.rows(),
        checks: file.checks(),
        duplicates: file.duplicates(),
        rejected_cells: file.rejected_cells(),
        sheets: file.sheets.iter().map(sheet_json).collect(),
    }
}

fn sheet_json(sheet: &SheetOutcome) -> SheetJson<'_> {
    let cells = sheet.cells;
    SheetJson {
        name: sheet.name.as_deref(),
        hidden: sheet.hidden,
        cabinet_from: sheet.cabinet_from.as_deref(),
        rows: sheet.rows,
        checks: sheet.checks,
        duplicates: sheet.duplicates,
        rejected_rows: sheet.rejected_rows,
        cells: CellsJson {
            used: cells.used,
            blank: cells.blank,
            rejected: cells.rejected,
            left_out: cells.left_out,
            aside: cells.aside,
        },
        tables: sheet
            .tables
            .iter()
            .map(|table| TableJson {
                heading_line: table.heading_line,
                columns: table.columns.iter().map(column_json).collect(),
            })
            .collect(),
    }
}

fn column_json(column: &ColumnOutcome) -> ColumnJson<'_> {
    let (used_for, read_as, problem, hint) = match &column.outcome {
        ColumnUse::Readings(unit) => ("readings", Some(*unit), None, None),
        ColumnUse::Context => ("context", None, None, None),
        ColumnUse::Aside => ("nothing", None, None, None),
        ColumnUse::LeftOut { problem, hint } => (
            "left-out",
            None,
            Some(problem.as_str()),
            Some(hint.as_str()),
        ),
    };
    ColumnJson {
        heading: &column.heading,
        role: column.role.as_deref(),
        unit: column.unit.as_deref(),
        read_as,
        used_for,
        why: &column.why,
        used: column.used,
        rejected: column.rejected,
        problem,
        hint,
    }
}
