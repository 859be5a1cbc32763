//! The `[[log]]` tables of `lab.toml`: how some logs are written.
//!
//! What a role name means is settled by the intake, which knows the roles.

use super::error::LabError;
use super::reader::{Field, Table};
use super::values::{FUNNEL_KEYS, funnel_area, gravity, hours};
use super::{ColumnRule, DateOrder, LogRule};

/// Reads one `[[log]]` table; the cabinet it names is kept as written for `config` to fold.
pub(crate) fn read(table: &Table<'_>) -> Result<LogRule, LabError> {
    let mut known = vec![
        "files",
        "sheet",
        "cabinet",
        "dates",
        "decimal",
        "delimiter",
        "encoding",
        "collection_hours",
        "gravity",
        "columns",
    ];
    known.extend(FUNNEL_KEYS);
    table.only(&known)?;
    Ok(LogRule {
        files: table
            .need("files", "a pattern of file names, as \"logs/hall-b-*.csv\"")
            .and_then(|f| pattern(&f))?,
        sheet: table.opt("sheet", pattern)?,
        cabinet: table.opt("cabinet", super::config::cabinet_name)?,
        dates: table.opt("dates", date_order)?,
        decimal: table.opt("decimal", |f| match f.character()? {
            c @ ('.' | ',') => Ok(c),
            _ => Err(f.bad("\".\" or \",\"")),
        })?,
        delimiter: table.opt("delimiter", |f| match f.character()? {
            c if c.is_ascii() && !c.is_alphanumeric() && !matches!(c, '"' | '\n' | '\r') => Ok(c),
            _ => Err(f.bad("one of \",\", \";\", \"|\", \"\\t\"")),
        })?,
        encoding: table.opt("encoding", encoding)?,
        columns: table.opt("columns", columns)?.unwrap_or_default(),
        collection_hours: table.opt("collection_hours", hours)?,
        funnel_area_cm2: funnel_area(table)?,
        gravity: table.opt("gravity", |f| gravity(f, &[]))?,
    })
}

fn pattern(field: &Field<'_>) -> Result<String, LabError> {
    let written = field.string()?;
    match glob::Pattern::new(written) {
        Ok(_) if written.contains('\\') => {
            Err(field.bad("a pattern with / between folder and file"))
        }
        Ok(_) => Ok(written.to_owned()),
        Err(e) => Err(field.bad(format!("a pattern of *, ? and names ({})", e.msg))),
    }
}

fn date_order(field: &Field<'_>) -> Result<DateOrder, LabError> {
    Ok(
        match field.word(&["day-first", "month-first", "year-first"])? {
            "day-first" => DateOrder::DayFirst,
            "month-first" => DateOrder::MonthFirst,
            _ => DateOrder::YearFirst,
        },
    )
}

fn encoding(field: &Field<'_>) -> Result<String, LabError> {
    let label = field.string()?;
    match encoding_rs::Encoding::for_label(label.as_bytes()) {
        Some(_) => Ok(label.to_owned()),
        None => Err(field.not_one_of(
            label,
            &[
                "utf-8",
                "utf-16le",
                "utf-16be",
                "windows-1252",
                "iso-8859-15",
            ],
        )),
    }
}

/// `"Temp." = { is = "…", unit = "°F" }` or `"Bem." = "ignore"`, in the order of the file.
fn columns(field: &Field<'_>) -> Result<Vec<ColumnRule>, LabError> {
    field
        .table()?
        .fields()
        .map(|column| {
            if column.is_text() {
                return Ok(ColumnRule {
                    heading: column.key.to_owned(),
                    is: column.string()?.to_owned(),
                    unit: None,
                });
            }
            if !column.is_table() {
                return Err(
                    column.bad("\"ignore\", or { is = \"ph\" }, with unit = \"…\" if it has one")
                );
            }
            let table = column.table()?;
            table.only(&["is", "unit"])?;
            Ok(ColumnRule {
                heading: column.key.to_owned(),
                is: table
                    .need("is", "what the column holds, as \"cabinet-temperature\"")?
                    .string()?
                    .to_owned(),
                unit: table.opt("unit", Field::string)?.map(str::to_owned),
            })
        })
        .collect()
}
