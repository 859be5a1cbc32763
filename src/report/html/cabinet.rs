//! A cabinet's section: its charts with their data, and the tables behind them.

use super::overview::class_of;
use super::tables::{self, CapabilityRow, LimitsRow, SignalRow};
use super::{HtmlError, Places};
use crate::report::format::{
    capital, count, date, decimals_of, moment, number, significant, wall, window, words,
};
use crate::report::plot::{Size, chart_svg};
use crate::report::wire::{Cabinet, Review, Series};
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
    together: Vec<Vec<String>>,
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
                .flat_map(|s| s.signals.iter().map(move |g| tables::signal(s, g)))
                .collect(),
            together: cabinet.together.iter().map(tables::together).collect(),
            breaches: shown().flat_map(tables::breaches).collect(),
            capability: shown().map(tables::capability).collect(),
            limits: shown().map(tables::limits).collect(),
            stages: shown()
                .filter(|s| s.stages.len() > 1)
                .flat_map(tables::stages)
                .collect(),
            excluded: shown().flat_map(tables::excluded).collect(),
            events: review
                .events
                .iter()
                .filter(|e| e.cabinet.as_ref().is_none_or(|c| *c == cabinet.id))
                .map(tables::event)
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
