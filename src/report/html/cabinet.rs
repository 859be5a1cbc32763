//! A cabinet's section: its charts with their data, and the tables behind them.

use super::overview::class_of;
use super::{HtmlError, Places};
use crate::report::format::{
    capital, count, date, dates, decimals_of, moment, number, percent, significant, wall, window,
    words,
};
use crate::report::plot::{Size, chart_svg};
use crate::report::wire::{Cabinet, Capability, Event, Limits, Review, Series, Signal};
use serde::Serialize;
use std::collections::BTreeMap;

/// Rows of a data table at most.
const MOST_ROWS: usize = 300;

/// What `cabinet.html` places.
#[derive(Serialize)]
pub(super) struct CabinetView {
    id: String,
    name: String,
    about: Vec<String>,
    series: Vec<SeriesView>,
    signals: Vec<SignalRow>,
    breaches: Vec<Vec<String>>,
    capability: Vec<CapabilityRow>,
    limits: Vec<LimitsRow>,
    stages: Vec<Vec<String>>,
    excluded: Vec<Vec<String>>,
    events: Vec<Vec<String>>,
}

#[derive(Serialize)]
struct SeriesView {
    id: String,
    spoken: String,
    class: &'static str,
    state: String,
    state_says: String,
    says: Vec<String>,
    chart: Option<String>,
    unit: String,
    rows: Vec<Vec<String>>,
    rows_note: String,
}

#[derive(Serialize)]
struct SignalRow {
    spoken: String,
    rule: String,
    known: String,
    stretch: String,
    standing: String,
    says: String,
}

#[derive(Serialize)]
struct CapabilityRow {
    spoken: String,
    figures: Vec<String>,
    says: String,
}

#[derive(Serialize)]
struct LimitsRow {
    spoken: String,
    figures: Vec<String>,
    says: String,
    notes: Vec<String>,
}

impl CabinetView {
    pub(super) fn new(
        review: &Review,
        cabinet: &Cabinet,
        id: &str,
        all: &[&Series],
        places: &Places,
    ) -> Result<CabinetView, HtmlError> {
        let mut series = Vec::new();
        for one in all {
            if let Some(id) = places.of(one) {
                series.push(SeriesView::new(review, one, id)?);
            }
        }
        let shown = || all.iter().copied().filter(|s| places.of(s).is_some());
        Ok(CabinetView {
            id: id.to_owned(),
            name: cabinet.name.clone(),
            about: about(cabinet),
            series,
            signals: shown()
                .flat_map(|s| s.signals.iter().map(move |g| signal(s, g)))
                .collect(),
            breaches: shown().flat_map(breaches).collect(),
            capability: shown().map(capability).collect(),
            limits: shown().map(limits).collect(),
            stages: shown()
                .filter(|s| s.stages.len() > 1)
                .flat_map(stages)
                .collect(),
            excluded: shown().flat_map(excluded).collect(),
            events: review
                .events
                .iter()
                .filter(|e| e.cabinet.as_ref().is_none_or(|c| *c == cabinet.id))
                .map(event)
                .collect(),
        })
    }
}

fn about(cabinet: &Cabinet) -> Vec<String> {
    let mut about = vec![match &cabinet.profile {
        Some(profile) => format!("Judged by the profile {profile}."),
        None => "No profile: its readings are not judged against a standard.".to_owned(),
    }];
    let mut checks = format!("{} in the period", count(cabinet.checks, "check", "checks"));
    if let (Some(first), Some(last)) = (&cabinet.first_check, &cabinet.last_check) {
        checks.push_str(&format!("; read from {} to {}", date(first), date(last)));
    }
    about.push(format!("{checks}."));
    if !cabinet.missing_days.is_empty() {
        let days: Vec<String> = cabinet.missing_days.iter().map(|d| date(d)).collect();
        about.push(format!("No check was found for: {}.", days.join(", ")));
    }
    about
}

impl SeriesView {
    fn new(review: &Review, series: &Series, id: &str) -> Result<SeriesView, HtmlError> {
        let mut says = Vec::new();
        says.extend(series.drift.iter().map(|d| d.says.clone()));
        says.extend(series.shift.iter().map(|s| s.says.clone()));
        if let Some(conformance) = &series.conformance {
            let lower = conformance
                .lower
                .map_or(0, |v| decimals_of(v, series.decimals));
            let upper = conformance
                .upper
                .map_or(0, |v| decimals_of(v, series.decimals));
            says.push(format!(
                "Conformance window {}: {} of {} outside.",
                window(
                    conformance.lower,
                    conformance.upper,
                    lower.max(upper),
                    &series.unit
                ),
                conformance.outside,
                count(conformance.checked, "reading", "readings")
            ));
            says.extend(conformance.says.clone());
        } else {
            says.push("No conformance window.".to_owned());
        }
        if let Some(summary) = &series.period_summary {
            let spread = summary.sd.map_or(String::new(), |sd| {
                format!(", standard deviation {}", significant(sd, 2))
            });
            says.push(format!(
                "In the period: {}, mean {}{spread}, from {} to {}.",
                count(summary.n, "reading", "readings"),
                number(summary.mean, series.decimals + 1),
                number(summary.min, series.decimals),
                number(summary.max, series.decimals)
            ));
        }
        let (rows, rows_note) = data(review, series);
        Ok(SeriesView {
            id: id.to_owned(),
            spoken: capital(&series.spoken),
            class: class_of(&series.state),
            state: words(&series.state),
            state_says: series.state_says.clone(),
            says,
            chart: chart_svg(review, series, Size::default())?,
            unit: series.unit.clone(),
            rows,
            rows_note,
        })
    }
}

/// The readings of the period with what is notable about each.
fn data(review: &Review, series: &Series) -> (Vec<Vec<String>>, String) {
    let mut notes: BTreeMap<&str, Vec<String>> = BTreeMap::new();
    for signal in &series.signals {
        let note = format!("signal known: {}", signal.rule);
        notes.entry(&signal.known_at).or_default().push(note);
    }
    for breach in series.conformance.iter().flat_map(|c| &c.breaches) {
        let note = format!("outside: {}", words(&breach.side));
        notes.entry(&breach.at).or_default().push(note);
    }
    let from = wall(&review.period.from);
    let within: Vec<_> = series
        .points
        .iter()
        .filter(|p| wall(&p.at) >= from)
        .collect();
    let rows: Vec<Vec<String>> = within
        .iter()
        .rev()
        .take(MOST_ROWS)
        .rev()
        .map(|point| {
            let mut note = notes.get(point.at.as_str()).cloned().unwrap_or_default();
            note.extend(point.excluded.iter().map(|why| format!("excluded: {why}")));
            vec![
                moment(&point.at),
                number(point.value, series.decimals),
                point
                    .moving_range
                    .map_or_else(|| "–".to_owned(), |r| number(r, series.decimals)),
                note.join("; "),
            ]
        })
        .collect();
    let which = if rows.len() < within.len() {
        format!(
            "The last {} of {} readings of the period",
            rows.len(),
            within.len()
        )
    } else {
        "The readings of the period".to_owned()
    };
    (
        rows,
        format!("{which}; review.json holds every reading that was kept for it."),
    )
}

fn signal(series: &Series, signal: &Signal) -> SignalRow {
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

fn breaches(series: &Series) -> Vec<Vec<String>> {
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

fn capability(series: &Series) -> CapabilityRow {
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

fn limits(series: &Series) -> LimitsRow {
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

fn stages(series: &Series) -> Vec<Vec<String>> {
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

fn excluded(series: &Series) -> Vec<Vec<String>> {
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

fn event(event: &Event) -> Vec<String> {
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
            .map_or_else(|| "all".to_owned(), words),
    ]
}
