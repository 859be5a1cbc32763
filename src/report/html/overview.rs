//! The first screen: who, when, which standard, what needs the reader, and the matrix.

use super::{Findings, HtmlError, MOST_SPARKS, Mark, Places, Templates};
use crate::characteristic::Characteristic;
use crate::report::format::{capital, count, date, dates, number, words};
use crate::report::plot::spark_svg;
use crate::report::wire::{Finding, Review, Series};
use serde::Serialize;
use std::collections::BTreeMap;

/// What `overview.html` places.
#[derive(Serialize)]
pub(super) struct Overview {
    lab: String,
    period: String,
    standards: Vec<String>,
    made: String,
    zone: String,
    counts: Vec<Count>,
    /// The list as markup.
    findings: String,
    columns: Vec<String>,
    rows: Vec<Row>,
    has_sparks: bool,
    has_points: bool,
    left_out: String,
}

#[derive(Serialize)]
struct Count {
    name: &'static str,
    says: String,
}

#[derive(Serialize)]
struct Row {
    cabinet: String,
    link: Option<String>,
    cells: Vec<Option<Cell>>,
}

#[derive(Serialize)]
struct Cell {
    /// A known state, as a class name; `other` for any other text.
    class: &'static str,
    words: String,
    spark: Option<String>,
    link: Option<String>,
}

/// A state as a class name, so that no text of the input becomes one.
pub(super) fn class_of(state: &str) -> &'static str {
    match state {
        "breached" => "breached",
        "drifting" => "drifting",
        "shifted" => "shifted",
        "unsteady" => "unsteady",
        "too-few" => "too-few",
        "steady" => "steady",
        _ => "other",
    }
}

impl Overview {
    pub(super) fn new(
        review: &Review,
        places: &Places,
        templates: &Templates,
    ) -> Result<Overview, HtmlError> {
        let mut columns: BTreeMap<Characteristic, &str> = BTreeMap::new();
        let mut cells: BTreeMap<(&str, &str), &Series> = BTreeMap::new();
        for series in &review.series {
            columns.insert(characteristic(series), &series.spoken);
            cells.insert((&series.cabinet, &series.characteristic), series);
        }
        let sparks = review.series.len() <= MOST_SPARKS;
        let mut rows = Vec::with_capacity(review.cabinets.len());
        for cabinet in &review.cabinets {
            let mut row = Vec::with_capacity(columns.len());
            for id in columns.keys() {
                let cell = match cells.get(&(cabinet.id.as_str(), id.id())) {
                    Some(series) => Some(Cell {
                        class: class_of(&series.state),
                        words: words(&series.state),
                        spark: if sparks {
                            spark_svg(review, series)?
                        } else {
                            None
                        },
                        link: places.of(series).cloned(),
                    }),
                    None => None,
                };
                row.push(cell);
            }
            rows.push(Row {
                cabinet: cabinet.name.clone(),
                link: places.cabinets.get(&cabinet.id).cloned(),
                cells: row,
            });
        }
        let mut findings = Findings::new("chart", "hints; common practice, no source");
        for finding in &review.findings {
            findings.push(finding, mark(finding), &places.series);
        }
        Ok(Overview {
            lab: review.lab.clone(),
            period: dates(&review.period.from, &review.period.to),
            standards: review.profiles.iter().map(|p| p.title.clone()).collect(),
            made: format!(
                "{} by {} {}",
                date(&review.made_at),
                review.program.name,
                review.program.version
            ),
            zone: match &review.zone {
                Some(zone) => format!("Times by the clock of {zone}."),
                None => "Times as written in the logs.".to_owned(),
            },
            counts: counts(review),
            findings: findings.markup(templates)?,
            columns: columns.values().map(|s| capital(s)).collect(),
            has_sparks: rows
                .iter()
                .flat_map(|r| &r.cells)
                .flatten()
                .any(|c| c.spark.is_some()),
            has_points: review.series.iter().any(|s| !s.points.is_empty()),
            rows,
            left_out: left_out(review, places),
        })
    }

    /// The title of the document.
    pub(super) fn title(&self) -> String {
        format!("{}: review of {}", self.lab, self.period)
    }
}

fn characteristic(series: &Series) -> Characteristic {
    match series.characteristic.parse() {
        Ok(id) => id,
        Err(never) => match never {},
    }
}

/// What a large lab's page leaves to the other outputs.
fn left_out(review: &Review, places: &Places) -> String {
    if places.left_out == 0 {
        return String::new();
    }
    let steady = review.series.iter().filter(|s| s.state == "steady").count();
    let rest = places.left_out.saturating_sub(steady);
    let mut text = format!(
        "Of {} series, {steady} series are steady and stand in the matrix only",
        review.series.len()
    );
    if rest > 0 {
        text.push_str(&format!(
            "; {rest} more that are not steady had no room here"
        ));
    }
    text.push_str(". review.json holds all of them.");
    text
}

fn mark(finding: &Finding) -> Mark {
    Mark {
        urgency: match finding.urgency.as_str() {
            "breach" => "outside the window".to_owned(),
            "heading-for-breach" => "on its way out".to_owned(),
            "changed" => "changed".to_owned(),
            "unusual" => "unusual".to_owned(),
            "records" => "about the records".to_owned(),
            other => words(other),
        },
        class: match finding.urgency.as_str() {
            "breach" => "breached",
            "heading-for-breach" | "changed" => "drifting",
            _ => "unsteady",
        },
        // Each piece of evidence leads to its own chart.
        link: None,
    }
}

fn counts(review: &Review) -> Vec<Count> {
    let summary = &review.summary;
    let missing: u64 = review
        .cabinets
        .iter()
        .map(|c| c.missing_days.len() as u64)
        .sum();
    let states: Vec<String> = summary
        .states
        .iter()
        .filter(|s| s.series > 0)
        .map(|s| format!("{} {}", s.series, words(&s.state)))
        .collect();
    let mut signals = format!(
        "{} without an explanation, {} explained by an event",
        summary.signals, summary.signals_explained
    );
    if let Some(expected) = summary.expected_false_alarms {
        signals.push_str(&format!(
            "; chance alone would bring about {}",
            number(expected, 1)
        ));
    }
    vec![
        Count {
            name: "Checks",
            says: format!(
                "{} of {}",
                summary.checks,
                count(summary.cabinets, "cabinet", "cabinets")
            ),
        },
        Count {
            name: "Series",
            says: states.join(", "),
        },
        Count {
            name: "Signals",
            says: signals,
        },
        Count {
            name: "Breaches",
            says: count(
                summary.breaches,
                "reading outside its window",
                "readings outside their windows",
            ),
        },
        Count {
            name: "Records",
            says: format!(
                "{}, {}",
                count(summary.rejected_cells, "cell rejected", "cells rejected"),
                count(missing, "day without a check", "days without a check")
            ),
        },
    ]
}
