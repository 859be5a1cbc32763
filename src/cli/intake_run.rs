//! `steadyfog intake LAB`: what was understood of the logs, and what was not.

use super::args::{Format, IntakeArgs};
use super::{CommandError, Status, intake as view};
use crate::intake::{Intake, draft, read_logs};
use crate::issue::{Effect, Issue};
use crate::lab::Lab;
use crate::output::{self, OutputFile};
use std::collections::BTreeMap;
use std::fmt::Write as _;

/// Issues named when nothing could be used; the rest are counted.
const ISSUES_NAMED: usize = 12;

/// Runs the command.
pub(super) fn run(args: &IntakeArgs) -> Result<Status, CommandError> {
    let console = super::console(&args.common);
    let now = super::now(&args.common);
    let lab = Lab::open(&args.lab)?;
    let draft_file = "lab.toml";
    if args.write_lab_toml && lab.root.join(draft_file).exists() {
        return Err(CommandError::Other(format!(
            "{} exists and is never overwritten; move it away to have one drafted",
            lab.root.join(draft_file).display()
        )));
    }
    let bar = super::progress(&console);
    let intake = read_logs(&lab, now, bar.as_ref());
    match args.common.format {
        Format::Json => {
            console.print_always(&(view::json(&lab, &intake).map_err(fault)? + "\n"))?
        }
        Format::Text => console.print(&view::text(&lab, &intake, console.width()))?,
    }
    if intake.files.is_empty() {
        let reason = intake.nothing_usable().unwrap_or_default();
        return Err(CommandError::Other(reason));
    }
    if args.write_lab_toml {
        let file = OutputFile {
            path: draft_file.to_owned(),
            bytes: draft::lab_toml(&lab, &intake).into_bytes(),
        };
        let written = output::write_all(&lab.root, &[file], false)?;
        for path in written {
            console.note(&format!("\nWritten: {}", path.display()));
        }
    }
    if let Some(reason) = intake.nothing_usable() {
        console.complain(&format!("steadyfog: {reason}"));
        return Ok(Status::Failed);
    }
    Ok(if args.common.strict && intake.has_rejected() {
        Status::Rejected
    } else {
        Status::Done
    })
}

/// Why nothing could be used: the reason, and the issues behind it.
pub(super) fn why_nothing(intake: &Intake, reason: &str) -> String {
    let mut text = reason.to_owned();
    // Alike issues are told once, at the first place, with how many there are.
    let mut told: Vec<(&Issue, u64)> = Vec::new();
    let mut known = BTreeMap::new();
    for issue in intake.issues.iter().filter(|i| i.effect != Effect::Kept) {
        let next = told.len();
        let at = *known.entry((&issue.problem, &issue.hint)).or_insert(next);
        match told.get_mut(at) {
            Some((_, count)) => *count += issue.count,
            None => told.push((issue, issue.count)),
        }
    }
    for (issue, count) in told.iter().take(ISSUES_NAMED) {
        let place = &issue.place;
        let _ = write!(text, "\n  {}", place.path);
        if let Some(sheet) = &place.sheet {
            let _ = write!(text, ", sheet {sheet}");
        }
        if let Some(line) = place.line {
            let _ = write!(text, ", line {line}");
        }
        if let Some(column) = &place.column {
            let _ = write!(text, ", column {column}");
        }
        if *count > 1 {
            let _ = write!(text, " ({count} places like it)");
        }
        let _ = write!(text, ": {}", issue.problem);
        if let Some(hint) = &issue.hint {
            let _ = write!(text, "\n    {}", hint.replace('\n', "\n    "));
        }
    }
    if told.len() > ISSUES_NAMED {
        let _ = write!(
            text,
            "\n  and {} more; `steadyfog intake` lists them",
            told.len() - ISSUES_NAMED
        );
    }
    text
}

fn fault(error: serde_json::Error) -> CommandError {
    CommandError::Other(error.to_string())
}
