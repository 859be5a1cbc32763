//! How the comparison was made, what could not be used, the files read, the windows and
//! their sources.

use super::table::{Table, figure, name, text};
use super::{MOST_SECTIONS, Page};
use crate::report::compare::naming::heading;
use crate::report::html::{HtmlError, issue_table, profile_value};
use crate::report::wire::{ComparedLab, ProfileUse};
use serde::Serialize;

/// Issues listed at most.
const MOST_ISSUES: usize = 300;
/// Files listed at most.
const MOST_FILES: usize = 200;
/// Labs whose windows are listed at most.
const MOST_LABS: usize = 20;

/// What `compare-records.html` places.
#[derive(Serialize)]
pub(super) struct Records {
    method: Vec<String>,
    left_out: String,
    issues: Vec<LabIssues>,
    issues_note: String,
    files: String,
    files_note: String,
    profiles: Vec<Profile>,
    profiles_note: String,
}

#[derive(Serialize)]
struct LabIssues {
    lab: String,
    table: String,
}

#[derive(Serialize)]
struct Profile {
    title: String,
    table: String,
}

impl Records {
    pub(super) fn new(page: &Page<'_>) -> Result<Records, HtmlError> {
        let comparison = page.comparison;
        let sections: Vec<String> = comparison
            .characteristics
            .iter()
            .skip(MOST_SECTIONS)
            .map(heading)
            .collect();
        let (files, files_note) = files(page)?;
        let labs = comparison.labs.len();
        Ok(Records {
            method: comparison.method.clone(),
            left_out: if sections.is_empty() {
                String::new()
            } else {
                format!(
                    "{} have no section on this page; compare.json holds all of them.",
                    sections.join("; ")
                )
            },
            issues: issues(page)?,
            issues_note: note(comparison.issues.len(), MOST_ISSUES, "entries"),
            files,
            files_note,
            profiles: profiles(page)?,
            profiles_note: note(labs, MOST_LABS, "labs"),
        })
    }
}

fn note(all: usize, most: usize, what: &str) -> String {
    if all > most {
        format!("The first {most} of {all} {what}; compare.json holds all.")
    } else {
        String::new()
    }
}

/// The issues by lab, in the order of the labs.
fn issues(page: &Page<'_>) -> Result<Vec<LabIssues>, HtmlError> {
    let shown: Vec<_> = page.comparison.issues.iter().take(MOST_ISSUES).collect();
    let mut by_lab: Vec<LabIssues> = Vec::new();
    let mut order: Vec<&str> = page.comparison.labs.iter().map(|l| l.id.as_str()).collect();
    for one in &shown {
        if !order.contains(&one.lab.as_str()) {
            order.push(&one.lab);
        }
    }
    for lab in order {
        let of_lab = shown.iter().filter(|i| i.lab == lab).map(|i| &i.issue);
        let table = issue_table(&page.templates, of_lab)?;
        if !table.is_empty() {
            by_lab.push(LabIssues {
                lab: page.names.lab(lab).to_owned(),
                table,
            });
        }
    }
    Ok(by_lab)
}

fn files(page: &Page<'_>) -> Result<(String, String), HtmlError> {
    let mut table = Table::new(
        "Files read",
        &[
            "Lab",
            "File",
            "#Rows",
            "#Checks",
            "#Rejected cells",
            "SHA-256",
        ],
    )
    .class("files");
    let of_lab = |lab: &ComparedLab| lab.inputs.len();
    let all = page.comparison.labs.iter().map(of_lab).sum();
    let inputs = page
        .comparison
        .labs
        .iter()
        .flat_map(|l| l.inputs.iter().map(move |i| (l, i)));
    for (lab, input) in inputs.take(MOST_FILES) {
        table.row(vec![
            name(lab.name.clone()),
            text(input.path.clone()),
            figure(input.rows.to_string()),
            figure(input.checks.to_string()),
            figure(input.rejected_cells.to_string()),
            text(input.sha256.clone()),
        ]);
    }
    Ok((table.markup(page)?, note(all, MOST_FILES, "files")))
}

/// The windows in use, once for labs that use the same.
fn profiles(page: &Page<'_>) -> Result<Vec<Profile>, HtmlError> {
    let mut seen: Vec<(&ProfileUse, Vec<&str>)> = Vec::new();
    for lab in page.comparison.labs.iter().take(MOST_LABS) {
        for profile in &lab.profiles {
            match seen.iter_mut().find(|(known, _)| *known == profile) {
                Some((_, labs)) => labs.push(&lab.name),
                None => seen.push((profile, vec![&lab.name])),
            }
        }
    }
    let mut profiles = Vec::new();
    for (profile, labs) in seen {
        let title = format!(
            "{} ({}), used by {}",
            profile.title,
            profile.id,
            labs.join(", ")
        );
        let mut table = Table::new(
            format!("Values of {}", profile.title),
            &["Characteristic", "Conformance limits", "Source"],
        );
        for one in &profile.values {
            let [characteristic, window, source] = profile_value(one);
            table.row(vec![name(characteristic), text(window), text(source)]);
        }
        profiles.push(Profile {
            title,
            table: table.markup(page)?,
        });
    }
    Ok(profiles)
}
