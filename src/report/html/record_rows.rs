//! Rows of the records that the page of a review and that of a comparison have alike:
//! what could not be used as written, and the values of a profile.

use super::HtmlError;
use super::layout::Templates;
use crate::report::format::{capital, count, decimals_of, spoken, window, words};
use crate::report::wire::{Issue, ProfileValue};
use serde::Serialize;

#[derive(Serialize)]
struct IssueTable {
    rows: Vec<IssueRow>,
}

#[derive(Serialize)]
struct IssueRow {
    place: String,
    found: Option<String>,
    problem: String,
    hint: Option<String>,
    effect: String,
}

/// The table of issues as markup; empty without issues.
pub(in crate::report) fn issue_table<'a>(
    templates: &Templates,
    issues: impl Iterator<Item = &'a Issue>,
) -> Result<String, HtmlError> {
    let rows: Vec<IssueRow> = issues.map(issue_row).collect();
    if rows.is_empty() {
        return Ok(String::new());
    }
    templates.draw("issues.html", &IssueTable { rows })
}

fn issue_row(issue: &Issue) -> IssueRow {
    let mut place = vec![issue.path.clone()];
    place.extend(issue.sheet.iter().map(|s| format!("sheet {s}")));
    place.extend(issue.line.iter().map(|l| format!("line {l}")));
    place.extend(issue.column.iter().map(|c| format!("column {c}")));
    IssueRow {
        place: place.join(", "),
        found: issue.found.clone(),
        problem: issue.problem.clone(),
        hint: issue.hint.clone(),
        effect: match issue.effect.as_str() {
            "cell-rejected" => count(issue.count, "cell rejected", "cells rejected"),
            "row-rejected" => count(issue.count, "row rejected", "rows rejected"),
            "column-left-out" => count(issue.count, "column left out", "columns left out"),
            "file-unreadable" => "file not readable".to_owned(),
            "kept" => count(issue.count, "reading kept", "readings kept"),
            other => words(other),
        },
    }
}

/// A value of a profile: characteristic, window, source.
pub(in crate::report) fn profile_value(value: &ProfileValue) -> [String; 3] {
    let ends = [value.lower, value.upper];
    let decimals = ends.into_iter().flatten().map(|v| decimals_of(v, 0)).max();
    let mut source = value.source.clone();
    if value.overridden {
        source.push_str("; overridden in lab.toml");
    }
    [
        capital(&spoken(&value.characteristic)),
        window(value.lower, value.upper, decimals.unwrap_or(0), &value.unit),
        source,
    ]
}
