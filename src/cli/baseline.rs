//! `steadyfog baseline LAB --cabinet ID`: computes control limits, shows them beside the
//! ones in force, and freezes them once a named person approves.

use super::args::{BaselineArgs, Format};
use super::{CommandError, Status};
use crate::characteristic::Characteristic;
use crate::chart::{self, Limits, NoLimits};
use crate::intake;
use crate::lab::baseline_file::{self, BaselineFile};
use crate::lab::{FrozenLimits, Lab};
use crate::output::{self, OutputFile};
use crate::progress::Silent;
use crate::quantity::derive;
use crate::report::format;
use crate::review::Period;
use crate::series::{Exclusion, Series};
use crate::time::Instant;
use chrono::NaiveDate;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::ops::Range;
use std::sync::Arc;

/// Limits computed for one characteristic, beside the ones in force.
struct Proposal {
    characteristic: Characteristic,
    unit: String,
    decimals: u32,
    new: Result<Limits, NoLimits>,
    old: Option<Limits>,
    excluded: Vec<(Instant, f64, String)>,
    digest: String,
}

/// Runs the command.
pub(super) fn run(args: &BaselineArgs) -> Result<Status, CommandError> {
    let console = super::console(&args.common);
    let now = super::now(&args.common);
    let lab = Lab::open(&args.lab)?;
    let intake = intake::read_logs(&lab, now, &Silent);
    if let Some(reason) = intake.nothing_usable() {
        return Err(CommandError::Other(super::intake_run::why_nothing(
            &intake, &reason,
        )));
    }
    let cabinet = cabinet_index(args, &lab, &intake)?;
    let id = Arc::clone(&intake.checks.cabinets()[cabinet]);
    let derived = derive::derive(&intake.checks, cabinet, &lab);
    let mut proposals = Vec::new();
    for series in chosen(args, derived.series)? {
        proposals.push(propose(args, &lab, series)?);
    }
    let path = format!("baselines/{id}.toml");
    let text = match args.common.format {
        Format::Text => describe(&id, &proposals, &lab),
        Format::Json => as_json(&id, &proposals, &lab)?,
    };
    if args.common.format == Format::Json {
        console.print_always(&text)?;
    } else {
        console.print(&text)?;
    }
    let Some(approved_by) = args
        .approved_by
        .as_deref()
        .map(str::trim)
        .filter(|n| !n.is_empty())
    else {
        console.note("\nNothing was written. To freeze these limits, add --approved-by NAME.");
        return Ok(Status::Done);
    };
    let file = frozen(&lab, &id, proposals, approved_by, now);
    if file.limits.is_empty() {
        return Err(CommandError::Other(
            "no characteristic has enough readings for limits; nothing was written".to_owned(),
        ));
    }
    let files = [OutputFile {
        path: path.clone(),
        bytes: baseline_file::render(&file).into_bytes(),
    }];
    let written = output::write_all(&lab.root, &files, args.replace)?;
    for path in written {
        console.note(&format!("\nWritten: {}", path.display()));
    }
    Ok(Status::Done)
}

fn cabinet_index(
    args: &BaselineArgs,
    lab: &Lab,
    intake: &intake::Intake,
) -> Result<usize, CommandError> {
    let wanted = lab
        .cabinet_id(&args.cabinet)
        .unwrap_or_else(|| Arc::from(crate::lab::fold_name(&args.cabinet)));
    let known = intake.checks.cabinets();
    known.iter().position(|id| *id == wanted).ok_or_else(|| {
        let names: Vec<&str> = known.iter().map(|id| &**id).collect();
        CommandError::Other(format!(
            "no check is of a cabinet \"{}\"; the logs hold {}",
            crate::issue::shown(&args.cabinet),
            names.join(", ")
        ))
    })
}

/// The series that `--characteristic` names; all of them when it is not given.
fn chosen(args: &BaselineArgs, series: Vec<Series>) -> Result<Vec<Series>, CommandError> {
    let there: Vec<String> = series
        .iter()
        .map(|s| s.characteristic().id().to_owned())
        .collect();
    if let Some(missing) = args
        .characteristic
        .iter()
        .find(|name| !there.contains(name))
    {
        return Err(CommandError::Other(format!(
            "the cabinet has no readings of \"{}\"; it has {}",
            crate::issue::shown(missing),
            there.join(", ")
        )));
    }
    Ok(series
        .into_iter()
        .filter(|s| {
            args.characteristic.is_empty()
                || args
                    .characteristic
                    .iter()
                    .any(|name| name == s.characteristic().id())
        })
        .collect())
}

fn propose(args: &BaselineArgs, lab: &Lab, series: Series) -> Result<Proposal, CommandError> {
    let options = crate::review::chart_options(lab);
    let frozen = lab
        .baselines
        .get(series.cabinet())
        .and_then(|of_cabinet| of_cabinet.get(series.characteristic()))
        .map(|frozen| &frozen.limits);
    let old = chart::chart(&series, frozen, &options)
        .stages
        .pop()
        .and_then(|stage| stage.limits.ok());
    let series = with_exclusions(series, &args.exclude, lab)?;
    let range = stretch(args, lab, &series, options.baseline_readings)?;
    let used: Vec<usize> = range.clone().filter(|&i| !series.is_excluded(i)).collect();
    let at: Vec<Instant> = used.iter().map(|&i| series.at()[i]).collect();
    let values: Vec<f64> = used.iter().map(|&i| series.values()[i]).collect();
    let excluded = series
        .exclusions()
        .iter()
        .filter(|e| range.contains(&e.index))
        .map(|e| {
            let reason = e.reason.as_ref().to_owned();
            (series.at()[e.index], series.values()[e.index], reason)
        })
        .collect();
    let new = chart::limits_of(&series, range, &options);
    Ok(Proposal {
        characteristic: series.characteristic().clone(),
        unit: series.unit().to_owned(),
        decimals: chart::decimals(&series, old.as_ref()),
        new,
        old,
        excluded,
        digest: baseline_file::digest(&at, &values),
    })
}

/// The series with the days of `--exclude` left out as well as those of `events.csv`.
fn with_exclusions(
    series: Series,
    days: &[(NaiveDate, String)],
    lab: &Lab,
) -> Result<Series, CommandError> {
    let mut exclusions: BTreeMap<usize, Arc<str>> = series
        .exclusions()
        .iter()
        .map(|e| (e.index, Arc::clone(&e.reason)))
        .collect();
    for (day, reason) in days {
        for (index, &at) in series.at().iter().enumerate() {
            if lab.zone.date(at) == *day {
                exclusions.insert(index, Arc::from(reason.as_str()));
            }
        }
    }
    let stages = series.stages()[1..].to_vec();
    let exclusions = exclusions
        .into_iter()
        .map(|(index, reason)| Exclusion { index, reason })
        .collect();
    series
        .with_marks(exclusions, stages)
        .map_err(|error| CommandError::Other(error.to_string()))
}

/// The readings of the baseline: those of the days asked for, else the first ones of the
/// current stage. Never across the start of a stage.
fn stretch(
    args: &BaselineArgs,
    lab: &Lab,
    series: &Series,
    wanted: usize,
) -> Result<Range<usize>, CommandError> {
    let last_stage = series.stages().last().map_or(0, |stage| stage.index);
    let (Some(&first), Some(&last)) = (series.at().first(), series.at().last()) else {
        return Ok(0..0);
    };
    if args.from.is_none() && args.to.is_none() {
        let mut valid = 0;
        let mut end = last_stage;
        while end < series.len() && valid < wanted {
            valid += usize::from(!series.is_excluded(end));
            end += 1;
        }
        return Ok(last_stage..end);
    }
    let from = args.from.unwrap_or_else(|| match args.to {
        // Without a first day: the start of the stage that the last day lies in.
        Some(to) => series
            .stages()
            .iter()
            .rev()
            .map(|stage| lab.zone.date(series.at()[stage.index]))
            .find(|&start| start <= to)
            .unwrap_or_else(|| lab.zone.date(first)),
        None => lab.zone.date(first),
    });
    let to = args.to.unwrap_or_else(|| lab.zone.date(last));
    let Some(period) = Period::new(from, to) else {
        return Err(CommandError::Other(format!(
            "the baseline ends ({to}) before it begins ({from})"
        )));
    };
    let range = period.readings(series, lab.zone);
    let crossed = series
        .stages()
        .iter()
        .find(|stage| stage.index > range.start && stage.index < range.end);
    if let Some(stage) = crossed {
        return Err(CommandError::Other(format!(
            "the baseline from {from} to {to} reaches across a new stage ({}, {}); limits may \
             rightly differ before and after it: choose days on one side",
            stage.what,
            lab.zone.date(series.at()[stage.index])
        )));
    }
    Ok(range)
}

fn frozen(
    lab: &Lab,
    cabinet: &Arc<str>,
    proposals: Vec<Proposal>,
    approved_by: &str,
    now: Instant,
) -> BaselineFile {
    // Limits of characteristics that were not chosen stay as they are.
    let mut limits = lab.baselines.get(cabinet).cloned().unwrap_or_default();
    for proposal in proposals {
        if let Ok(new) = proposal.new {
            limits.insert(
                proposal.characteristic,
                FrozenLimits {
                    limits: new,
                    approved_by: approved_by.to_owned(),
                    frozen_at: now,
                    excluded: proposal.excluded,
                    digest: proposal.digest,
                },
            );
        }
    }
    BaselineFile {
        cabinet: Arc::clone(cabinet),
        program: format!("steadyfog {}", env!("CARGO_PKG_VERSION")),
        limits,
    }
}

fn describe(cabinet: &str, proposals: &[Proposal], lab: &Lab) -> String {
    let mut out = format!("Control limits of cabinet {cabinet}: in force, and as computed now\n");
    for proposal in proposals {
        let unit = if proposal.unit.is_empty() {
            String::new()
        } else {
            format!(" ({})", proposal.unit)
        };
        let _ = writeln!(out, "\n{}{unit}", proposal.characteristic.spoken());
        match &proposal.old {
            Some(old) => line(&mut out, "in force", old, proposal.decimals, lab),
            None => out.push_str("  in force  none\n"),
        }
        match &proposal.new {
            Ok(new) => line(&mut out, "new", new, proposal.decimals, lab),
            Err(why) => {
                let why = chart::no_limits_say(why, &proposal.unit);
                let _ = writeln!(out, "  new       none. {why}");
            }
        }
        for (at, value, reason) in &proposal.excluded {
            let _ = writeln!(
                out,
                "  left out  {} on {}: {}",
                format::number(*value, proposal.decimals),
                lab.zone.date(*at),
                crate::issue::shown(reason)
            );
        }
        if let Ok(new) = &proposal.new {
            for (at, value) in &new.screened {
                let _ = writeln!(
                    out,
                    "  unusual   {} on {}: outside its own baseline's limits, and used",
                    format::number(*value, proposal.decimals),
                    lab.zone.date(*at)
                );
            }
        }
    }
    out
}

fn line(out: &mut String, name: &str, limits: &Limits, decimals: u32, lab: &Lab) {
    // One decimal more than the readings have: limits are means of many.
    let number = |value: f64| format::number(value, decimals + 1);
    let _ = writeln!(
        out,
        "  {name:<9} {} … {} … {}   sigma {}   n {}, {} to {}, {}",
        number(limits.lower),
        number(limits.centre),
        number(limits.upper),
        format::number(limits.sigma, decimals + 2),
        limits.n,
        lab.zone.date(limits.from),
        lab.zone.date(limits.to),
        limits.origin.id(),
    );
}

fn as_json(cabinet: &str, proposals: &[Proposal], lab: &Lab) -> Result<String, CommandError> {
    let limits = |limits: &Limits| {
        serde_json::to_value(crate::review::limits_on_wire(limits, None, lab.zone))
    };
    let mut rows = Vec::new();
    for proposal in proposals {
        let new = proposal.new.as_ref().ok().map(limits).transpose();
        let old = proposal.old.as_ref().map(limits).transpose();
        rows.push(serde_json::json!({
            "characteristic": proposal.characteristic.id(),
            "unit": proposal.unit,
            "in_force": old.map_err(other)?,
            "new": new.map_err(other)?,
            "why_none": proposal.new.as_ref().err().map(|why| chart::no_limits_say(why, &proposal.unit)),
            "excluded": proposal.excluded.iter().map(|(at, value, reason)| serde_json::json!({
                "at": lab.zone.rfc3339(*at), "value": value, "reason": reason,
            })).collect::<Vec<_>>(),
            "digest": proposal.digest,
        }));
    }
    let whole = serde_json::json!({
        "schema": "steadyfog.baseline/1", "cabinet": cabinet, "baselines": rows,
    });
    let mut text = serde_json::to_string_pretty(&whole).map_err(other)?;
    text.push('\n');
    Ok(text)
}

fn other(error: serde_json::Error) -> CommandError {
    CommandError::Other(error.to_string())
}
