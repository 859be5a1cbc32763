//! The records behind the review: inputs, rejected cells, profile values, rules, cautions.

use super::tables::spoken;
use crate::report::format::{capital, count, decimals_of, window, words};
use crate::report::wire::{Issue, ProfileValue, Review};
use serde::Serialize;

/// Issues listed at most.
const MOST_ISSUES: usize = 400;

/// What `records.html` and `closing.html` place.
#[derive(Serialize)]
pub(super) struct Records {
    inputs: Vec<Vec<String>>,
    issues: Vec<IssueRow>,
    issues_note: String,
    profiles: Vec<ProfileView>,
    rules_name: String,
    rules_source: String,
    rules: Vec<(String, String)>,
    cautions: Vec<String>,
}

#[derive(Serialize)]
struct IssueRow {
    place: String,
    found: Option<String>,
    problem: String,
    hint: Option<String>,
    effect: String,
}

#[derive(Serialize)]
struct ProfileView {
    title: String,
    id: String,
    values: Vec<Vec<String>>,
}

impl Records {
    pub(super) fn new(review: &Review) -> Records {
        let listed = review.issues.len().min(MOST_ISSUES);
        Records {
            inputs: review
                .inputs
                .iter()
                .map(|i| {
                    vec![
                        i.path.clone(),
                        i.rows.to_string(),
                        i.checks.to_string(),
                        i.rejected_cells.to_string(),
                        i.sha256.clone(),
                    ]
                })
                .collect(),
            issues: review.issues.iter().take(listed).map(issue).collect(),
            issues_note: if listed < review.issues.len() {
                format!(
                    "The first {listed} of {} entries; review.json holds all.",
                    review.issues.len()
                )
            } else {
                String::new()
            },
            profiles: review
                .profiles
                .iter()
                .map(|p| ProfileView {
                    title: p.title.clone(),
                    id: p.id.clone(),
                    values: p.values.iter().map(value).collect(),
                })
                .collect(),
            rules_name: review.rules.name.clone(),
            rules_source: review.rules.source.clone(),
            rules: review
                .rules
                .rules
                .iter()
                .map(|r| (r.name.clone(), r.asks.clone()))
                .collect(),
            cautions: review.cautions.clone(),
        }
    }
}

fn issue(issue: &Issue) -> IssueRow {
    let mut place = issue.path.clone();
    let sheet = issue.sheet.iter().map(|s| format!("sheet {s}"));
    let line = issue.line.iter().map(|l| format!("line {l}"));
    let column = issue.column.iter().map(|c| format!("column {c}"));
    for part in sheet.chain(line).chain(column) {
        place.push_str(", ");
        place.push_str(&part);
    }
    let effect = match issue.effect.as_str() {
        "cell-rejected" => count(issue.count, "cell rejected", "cells rejected"),
        "row-rejected" => count(issue.count, "row rejected", "rows rejected"),
        "column-left-out" => count(issue.count, "column left out", "columns left out"),
        "file-unreadable" => "file not readable".to_owned(),
        "kept" => count(issue.count, "reading kept", "readings kept"),
        other => words(other),
    };
    IssueRow {
        place,
        found: issue.found.clone(),
        problem: issue.problem.clone(),
        hint: issue.hint.clone(),
        effect,
    }
}

fn value(value: &ProfileValue) -> Vec<String> {
    let decimals = |v: Option<f64>| v.map_or(0, |v| decimals_of(v, 0));
    let most = decimals(value.lower).max(decimals(value.upper));
    let mut source = value.source.clone();
    if value.overridden {
        source.push_str("; overridden in lab.toml");
    }
    vec![
        capital(&spoken(&value.characteristic)),
        window(value.lower, value.upper, most, &value.unit),
        source,
    ]
}
