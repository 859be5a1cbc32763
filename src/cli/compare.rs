//! `steadyfog compare LAB [LAB …]`: cabinets and labs against each other.

use super::args::{CompareArgs, CompareFailOn, Format, Output};
use super::console::Console;
use super::outputs::{self, fault, first_files, wanted};
use super::{CommandError, Status};
use crate::compare::{CompareOptions, Entrant, compare};
use crate::intake::{self, Intake};
use crate::lab::Lab;
use crate::output::{self, OutputFile};
use crate::report::{self, wire};
use std::collections::BTreeMap;
use std::path::PathBuf;

/// Runs the command.
pub(super) fn run(args: &CompareArgs) -> Result<Status, CommandError> {
    let console = super::console(&args.common);
    let now = super::now(&args.common);
    let period = (args.from.zip(args.to))
        .map(|(from, to)| outputs::period(from, to))
        .transpose()?;
    let labs = open(args)?;
    if let (Some(out), false) = (&args.out, args.replace) {
        // Told before the work is done, not after.
        output::check(out, &first_files("compare", &wanted(&args.only)), false)?;
    }
    let bar = super::progress(&console);
    let mut intakes: Vec<Intake> = Vec::with_capacity(labs.len());
    for lab in &labs {
        let intake = intake::read_logs(lab, now, bar.as_ref());
        match intake.nothing_usable() {
            // A lab may take part with its coupons alone.
            Some(reason) if lab.coupons.is_empty() => {
                return Err(CommandError::Other(format!(
                    "{}: {}",
                    lab.root.display(),
                    super::intake_run::why_nothing(&intake, &reason)
                )));
            }
            _ => intakes.push(intake),
        }
    }
    let entrants: Vec<Entrant<'_>> = labs
        .iter()
        .zip(&intakes)
        .map(|(lab, intake)| Entrant { lab, intake })
        .collect();
    let options = CompareOptions {
        period,
        rounds: args.round.clone(),
        now,
    };
    let result = compare(&entrants, &options, bar.as_ref())
        .map_err(|why| CommandError::Other(why.to_string()))?;
    let folder = args.out.clone().unwrap_or_else(|| default_folder(&result));
    let files = render(args, &result)?;
    let written = output::write_all(&folder, &files, args.replace)?;
    tell(args, &console, &result, &files, &written)?;
    Ok(status(args, &result))
}

/// The lab folders, each named once.
fn open(args: &CompareArgs) -> Result<Vec<Lab>, CommandError> {
    let mut seen: BTreeMap<PathBuf, &PathBuf> = BTreeMap::new();
    let mut labs = Vec::with_capacity(args.labs.len());
    for path in &args.labs {
        let lab = Lab::open(path)?;
        let place = std::fs::canonicalize(path).unwrap_or_else(|_| path.clone());
        if seen.insert(place, path).is_some() {
            return Err(CommandError::Other(format!(
                "the folder {} is named twice; a lab compared with itself agrees",
                path.display()
            )));
        }
        labs.push(lab);
    }
    Ok(labs)
}

fn default_folder(result: &wire::Comparison) -> PathBuf {
    PathBuf::from(format!(
        "compare-{}-to-{}",
        result.period.from, result.period.to
    ))
}

fn render(args: &CompareArgs, result: &wire::Comparison) -> Result<Vec<OutputFile>, CommandError> {
    let mut files = Vec::new();
    for output in wanted(&args.only) {
        match output {
            Output::Json => files.push(OutputFile {
                path: output.file("compare"),
                bytes: report::compare::json::to_bytes(result)?,
            }),
            Output::Html => files.push(OutputFile {
                path: output.file("compare"),
                bytes: report::compare::html::render(result)
                    .map_err(fault)?
                    .into_bytes(),
            }),
            Output::Charts => files.extend(report::compare::files(result).map_err(fault)?),
        }
    }
    Ok(files)
}

fn tell(
    args: &CompareArgs,
    console: &Console,
    result: &wire::Comparison,
    files: &[OutputFile],
    written: &[PathBuf],
) -> Result<(), CommandError> {
    match args.common.format {
        Format::Json => {
            let bytes = report::compare::json::to_bytes(result)?;
            console.print_always(&String::from_utf8_lossy(&bytes))?;
        }
        Format::Text => {
            let render = |style| report::compare::terminal::render(result, style);
            outputs::print_summary(console, render, &outputs::names(files), written)?;
        }
    }
    Ok(())
}

fn status(args: &CompareArgs, result: &wire::Comparison) -> Status {
    let differ = result
        .characteristics
        .iter()
        .any(|c| c.pair_count.differ > 0 || c.lab_pairs.iter().any(|p| p.verdict == "differ"));
    let rejected = result.issues.iter().any(|i| i.issue.effect != "kept");
    if args.fail_on == CompareFailOn::Differ && differ {
        Status::Matched
    } else if args.common.strict && rejected {
        Status::Rejected
    } else {
        Status::Done
    }
}
