//! `steadyfog review LAB`: the monthly quality review of every cabinet.

use super::args::{FailOn, Format, Output, PointsChoice, ReviewArgs};
use super::console::Console;
use super::outputs::{self, fault, first_files, wanted};
use super::{CommandError, Status};
use crate::intake::{self, Intake};
use crate::lab::Lab;
use crate::output::{self, OutputFile, Staged};
use crate::report::{self, wire};
use crate::review::{self, Period, Points, ReviewOptions};
use crate::signal;
use crate::time::Instant;
use std::io::Write;
use std::path::{Path, PathBuf};

/// Runs the command.
pub(super) fn run(args: &ReviewArgs) -> Result<Status, CommandError> {
    let console = super::console(&args.common);
    let now = super::now(&args.common);
    let lab = Lab::open(&args.lab)?;
    let rules = rule_set(
        args.rules.as_deref().unwrap_or(&lab.settings.rule_set),
        lab.settings.gap_days,
    )?;
    if let (Some(out), false) = (&args.out, args.replace) {
        // Told before the work is done, not after.
        output::check(out, &first_files("review", &wanted(&args.only)), false)?;
    }
    let bar = super::progress(&console);
    let intake = intake::read_logs(&lab, now, bar.as_ref());
    if let Some(reason) = intake.nothing_usable() {
        return Err(CommandError::Other(super::intake_run::why_nothing(
            &intake, &reason,
        )));
    }
    let period = period(args, &lab, &intake, now)?;
    let result = review::review(
        &lab,
        &intake,
        &ReviewOptions {
            period,
            now,
            rules: &rules,
            points: points(args),
        },
        bar.as_ref(),
    );
    if result.summary.checks == 0 {
        return Err(CommandError::Other(no_checks_in(&lab, &intake, period)));
    }
    let folder = args
        .out
        .clone()
        .unwrap_or_else(|| PathBuf::from(format!("review-{}", period.label())));
    // A fleet's readings are most of the memory in use, and nothing below looks at them.
    let (written, ()) = rayon::join(|| write(args, &folder, &result), || drop(intake));
    let written = written?;
    tell(args, &console, &result, &written)?;
    let status = status(args, &result);
    // The program ends here: giving a fleet's sentences back one by one would take as long
    // as writing them, and the system takes them all at once.
    std::mem::forget(result);
    Ok(status)
}

/// The files written: their names in the output folder, and their paths.
struct Written {
    names: Vec<String>,
    paths: Vec<PathBuf>,
}

/// Writes the outputs asked for.
fn write(args: &ReviewArgs, folder: &Path, result: &wire::Review) -> Result<Written, CommandError> {
    let wanted = wanted(&args.only);
    let mut files = Vec::new();
    for output in &wanted {
        match output {
            Output::Json => {}
            Output::Html => files.push(OutputFile {
                path: output.file("review"),
                bytes: report::html::render(result).map_err(fault)?.into_bytes(),
            }),
            Output::Charts => files.extend(report::plot::files(result).map_err(fault)?),
        }
    }
    // The JSON is the first output, and of a fleet the largest: it goes straight to its file.
    let json = wanted
        .contains(&Output::Json)
        .then(|| Output::Json.file("review"));
    let mut names: Vec<String> = json.iter().cloned().collect();
    names.extend(outputs::names(&files));
    let mut staged = Staged::begin(folder, &names, args.replace)?;
    if let Some(json) = json {
        let listed = listed(args, result);
        staged.add(&json, |to| report::json::write(&listed, to))?;
    }
    for file in &files {
        staged.add(&file.path, |to| to.write_all(&file.bytes))?;
    }
    let paths = staged.finish()?;
    Ok(Written { names, paths })
}

/// The rule set of that name, with the lab's gap.
fn rule_set(name: &str, gap_days: f64) -> Result<signal::RuleSet, CommandError> {
    let mut set = signal::RuleSet::named(name).ok_or_else(|| {
        CommandError::Other(format!(
            "there is no rule set \"{name}\"; expected one of {}",
            signal::NAMES.join(", ")
        ))
    })?;
    set.gap_days = gap_days;
    Ok(set)
}

/// The readings the review must carry: those of the pictures too, when there are any.
fn points(args: &ReviewArgs) -> Points {
    let draws = wanted(&args.only)
        .iter()
        .any(|output| *output != Output::Json);
    match args.points {
        _ if draws => Points::All,
        PointsChoice::None => Points::None,
        PointsChoice::Signals => Points::Signals,
        PointsChoice::All => Points::All,
    }
}

fn period(
    args: &ReviewArgs,
    lab: &Lab,
    intake: &Intake,
    now: Instant,
) -> Result<Period, CommandError> {
    if let Some(month) = args.month {
        return Ok(Period::month_of(month));
    }
    if let (Some(from), Some(to)) = (args.from, args.to) {
        return outputs::period(from, to);
    }
    let last = intake.checks.all().iter().filter_map(|of| {
        let at = of.at();
        at.get(..at.partition_point(|&at| at <= now))?
            .last()
            .copied()
    });
    last.max()
        .map(|at| Period::month_of(lab.zone.date(at)))
        .ok_or_else(|| {
            CommandError::Other(
                "every check lies after the clock; look at the dates of the logs, or at --now"
                    .to_owned(),
            )
        })
}

fn no_checks_in(lab: &Lab, intake: &Intake, period: Period) -> String {
    let all = intake.checks.all().iter();
    let first = all.clone().filter_map(|of| of.at().first().copied());
    let last = all.filter_map(|of| of.at().last().copied());
    match (first.min(), last.max()) {
        (Some(first), Some(last)) => format!(
            "no check falls in {} to {}; the logs hold checks from {} to {}",
            period.from(),
            period.to(),
            lab.zone.date(first),
            lab.zone.date(last)
        ),
        _ => "no check was found".to_owned(),
    }
}

/// The review with the readings that `--points` asks for.
fn listed<'a>(args: &ReviewArgs, result: &'a wire::Review) -> std::borrow::Cow<'a, wire::Review> {
    let which = match args.points {
        PointsChoice::All => return std::borrow::Cow::Borrowed(result),
        PointsChoice::None => Points::None,
        PointsChoice::Signals => Points::Signals,
    };
    if which == points(args) {
        return std::borrow::Cow::Borrowed(result);
    }
    let mut fewer = result.clone();
    for series in &mut fewer.series {
        review::keep_points(series, which);
    }
    std::borrow::Cow::Owned(fewer)
}

fn tell(
    args: &ReviewArgs,
    console: &Console,
    result: &wire::Review,
    written: &Written,
) -> Result<(), CommandError> {
    match args.common.format {
        Format::Json => {
            let bytes = report::json::to_bytes(&listed(args, result))?;
            console.print_always(&String::from_utf8_lossy(&bytes))?;
        }
        Format::Text => {
            let render = |style| report::terminal::render(result, style);
            outputs::print_summary(console, render, &written.names, &written.paths)?;
        }
    }
    Ok(())
}

fn status(args: &ReviewArgs, result: &wire::Review) -> Status {
    let breach = result
        .series
        .iter()
        .filter_map(|series| series.conformance.as_ref())
        .flat_map(|conformance| &conformance.breaches)
        .any(|breach| breach.explained_by.is_none());
    let signal = result.summary.signals > 0;
    let matched = match args.fail_on {
        FailOn::Never => false,
        FailOn::Breach => breach,
        FailOn::Signal => signal || breach,
    };
    if matched {
        Status::Matched
    } else if args.common.strict && result.summary.rejected_cells > 0 {
        Status::Rejected
    } else {
        Status::Done
    }
}
