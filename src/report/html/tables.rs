//! The rows of a cabinet's tables: signals, breaches, capability, limits, stages,
//! exclusions and events, rounded and worded.

use crate::report::format::{
    capital, count, date, dates, decimals_of, moment, number, percent, significant, spoken, words,
};
use crate::report::wire::{Capability, Event, Limits, Series, Signal, Together};
use serde::Serialize;

#[derive(Serialize)]
pub(super) struct SignalRow {
    spoken: String,
    rule: String,
    known: String,
    stretch: String,
    standing: String,
    says: String,
}

#[derive(Serialize)]
pub(super) struct CapabilityRow {
    spoken: String,
    figures: Vec<String>,
    says: String,
}

#[derive(Serialize)]
pub(super) struct LimitsRow {
    spoken: String,
    figures: Vec<String>,
    says: String,
    notes: Vec<String>,
}

pub(super) fn signal(series: &Series, signal: &Signal) -> SignalRow {
    let direction = match signal.direction.as_str() {
        "up" => ", upwards",
        "down" => ", downwards",
        _ => "",
    };
    let standing = match (&signal.explained_by, signal.ongoing) {
        (Some(why), _) => format!("explained by: {why}"),
        (None, true) => "ongoing".to_owned(),
        (None, false) => "ended".to_owned(),
    };
    SignalRow {
        spoken: capital(&series.spoken),
        rule: format!("{}{direction}", signal.rule),
        known: moment(&signal.known_at),
        stretch: dates(&signal.starts_at, &signal.last_at),
        standing,
        says: signal.says.clone(),
    }
}

/// What a combination says, and what explains it.
pub(super) fn together(together: &Together) -> Vec<String> {
    vec![
        together.says.clone(),
        together.explained_by.clone().unwrap_or_default(),
    ]
}

pub(super) fn breaches(series: &Series) -> Vec<Vec<String>> {
    let breaches = series.conformance.iter().flat_map(|c| &c.breaches);
    breaches
        .map(|b| {
            let limit = decimals_of(b.limit, series.decimals);
            vec![
                capital(&series.spoken),
                moment(&b.at),
                number(b.value, series.decimals),
                format!(
                    "{} {}",
                    if b.side == "low" { "below" } else { "above" },
                    number(b.limit, limit)
                ),
                b.explained_by
                    .clone()
                    .unwrap_or_else(|| "not explained".to_owned()),
            ]
        })
        .collect()
}

pub(super) fn capability(series: &Series) -> CapabilityRow {
    let figures = series.capability.as_ref().map_or_else(Vec::new, |c| {
        let plain = |v: Option<f64>| v.map_or_else(|| "–".to_owned(), |v| number(v, 2));
        vec![
            cp(c),
            format!(
                "{} ({} to {})",
                number(c.cpk, 2),
                number(c.cpk_low, 2),
                number(c.cpk_high, 2)
            ),
            plain(c.pp),
            number(c.ppk, 2),
            percent(c.expected_outside),
            c.n.to_string(),
        ]
    });
    let level = series.capability.as_ref().map_or_else(String::new, |c| {
        format!(" Intervals: {}.", percent(c.level))
    });
    CapabilityRow {
        spoken: capital(&series.spoken),
        figures,
        says: format!("{}{level}", series.capability_says),
    }
}

fn cp(capability: &Capability) -> String {
    match (capability.cp, capability.cp_low, capability.cp_high) {
        (Some(cp), Some(low), Some(high)) => {
            format!(
                "{} ({} to {})",
                number(cp, 2),
                number(low, 2),
                number(high, 2)
            )
        }
        (Some(cp), _, _) => number(cp, 2),
        (None, _, _) => "– (one-sided)".to_owned(),
    }
}

pub(super) fn limits(series: &Series) -> LimitsRow {
    LimitsRow {
        spoken: capital(&series.spoken),
        figures: series
            .limits
            .as_ref()
            .map_or_else(Vec::new, |l| figures(series, l)),
        says: series.limits_say.clone(),
        notes: series
            .limits
            .as_ref()
            .map_or_else(Vec::new, |l| notes(series, l)),
    }
}

fn figures(series: &Series, limits: &Limits) -> Vec<String> {
    let decimals = series.decimals + 1;
    vec![
        number(limits.centre, decimals),
        format!(
            "{} to {}",
            number(limits.lower, decimals),
            number(limits.upper, decimals)
        ),
        significant(limits.sigma, 3),
        number(limits.moving_range_upper, decimals),
        match limits.origin.as_str() {
            "frozen" => "frozen baseline".to_owned(),
            "own-baseline" => "own baseline, not frozen".to_owned(),
            "trial" => "trial, few readings".to_owned(),
            other => words(other),
        },
        format!("{} readings, {}", limits.n, dates(&limits.from, &limits.to)),
    ]
}

fn notes(series: &Series, limits: &Limits) -> Vec<String> {
    let decimals = series.decimals + 1;
    let method = match limits.sigma_method.as_str() {
        "moving-range" => "mean moving range",
        "median-moving-range" => "median moving range",
        "moving-range-autocorrelated" => {
            "mean moving range, allowing for carry-over from reading to reading"
        }
        "interval-censored" => "maximum likelihood for rounded readings",
        other => other,
    };
    let mut notes = vec![format!(
        "Sigma from the {method}; {} used, {} not taken across gaps, stages and exclusions.",
        count(limits.moving_ranges, "moving range", "moving ranges"),
        limits.moving_ranges_skipped
    )];
    if let Some(phi) = limits.lag1_autocorrelation {
        notes.push(format!(
            "Lag-1 autocorrelation of the baseline {}.",
            number(phi, 2)
        ));
    }
    if let Some(resolution) = limits.resolution {
        notes.push(format!(
            "Readings are rounded to {}.",
            significant(resolution, 1)
        ));
    }
    if limits.plain_lower != limits.lower || limits.plain_upper != limits.upper {
        notes.push(format!(
            "Without these allowances the limits would be {} to {}.",
            number(limits.plain_lower, decimals),
            number(limits.plain_upper, decimals)
        ));
    }
    for reading in &limits.screened {
        notes.push(format!(
            "Baseline reading outside its own screening limits, kept: {} on {}.",
            number(reading.value, series.decimals),
            date(&reading.at)
        ));
    }
    notes.extend(
        limits
            .approved_by
            .iter()
            .map(|who| format!("Approved by {who}.")),
    );
    notes
}

pub(super) fn stages(series: &Series) -> Vec<Vec<String>> {
    let decimals = series.decimals + 1;
    let stages = series.stages.iter();
    stages
        .map(|stage| {
            vec![
                capital(&series.spoken),
                dates(&stage.from, &stage.to),
                stage.n.to_string(),
                stage
                    .opened_by
                    .clone()
                    .unwrap_or_else(|| "first stage".to_owned()),
                stage.limits.as_ref().map_or_else(
                    || "no limits".to_owned(),
                    |l| {
                        format!(
                            "{} ({} to {})",
                            number(l.centre, decimals),
                            number(l.lower, decimals),
                            number(l.upper, decimals)
                        )
                    },
                ),
            ]
        })
        .collect()
}

pub(super) fn excluded(series: &Series) -> Vec<Vec<String>> {
    let points = series.points.iter();
    points
        .filter_map(|p| {
            let why = p.excluded.as_ref()?;
            Some(vec![
                capital(&series.spoken),
                moment(&p.at),
                number(p.value, series.decimals),
                why.clone(),
            ])
        })
        .collect()
}

pub(super) fn event(event: &Event) -> Vec<String> {
    vec![
        moment(&event.at),
        event.kind.clone(),
        event.what.clone(),
        match event.effect.as_str() {
            "new-stage" => "opens a new stage".to_owned(),
            "exclude" => "excludes readings".to_owned(),
            other => words(other),
        },
        event
            .characteristic
            .as_deref()
            .map_or_else(|| "all".to_owned(), spoken),
    ]
}
