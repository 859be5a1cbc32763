//! The monthly review through the library: a lab folder in, findings and JSON out.
//!
//! Run with `cargo run --release --example monthly_review`, or with the path of your own
//! lab folder and a month behind `--`: `… monthly_review -- my-lab 2026-06`.

#![allow(clippy::print_stdout)]

use chrono::{DateTime, NaiveDate};
use std::error::Error;
use std::path::PathBuf;
use steadyfog::intake;
use steadyfog::lab::Lab;
use steadyfog::progress::Silent;
use steadyfog::review::{Period, Points, ReviewOptions, review};
use steadyfog::signal::RuleSet;
use steadyfog::time::Instant;

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args().skip(1);
    let folder = arguments.next().map_or_else(
        || PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/data/demo-lab")),
        PathBuf::from,
    );
    let month = arguments.next().unwrap_or_else(|| "2026-06".to_owned());
    let first = NaiveDate::parse_from_str(&format!("{month}-01"), "%Y-%m-%d")?;
    // The clock is the caller's: the same folder and clock give the same review.
    let now = Instant(DateTime::parse_from_rfc3339("2026-07-01T08:00:00Z")?.timestamp());

    let lab = Lab::open(&folder)?;
    let logs = intake::read_logs(&lab, now, &Silent);
    println!("{}: {} checks", lab.name, logs.checks.len());

    let rules = RuleSet::steadyfog().with_gap_days(lab.settings.gap_days);
    let options = ReviewOptions {
        period: Period::month_of(first),
        now,
        rules: &rules,
        points: Points::Signals,
    };
    let result = review(&lab, &logs, &options, &Silent);

    println!("\nWhat needs somebody in {month}:");
    for finding in &result.findings {
        println!("{:>3}. {}", finding.rank, finding.sentence);
        for place in &finding.look_at {
            println!("     look at: {place}");
        }
    }
    println!("\nSeries that are not steady:");
    for series in result.series.iter().filter(|s| s.state != "steady") {
        println!("  {} {}: {}", series.cabinet, series.spoken, series.state);
    }
    let json = serde_json::to_string(&result)?;
    println!("\nAs JSON: {} bytes, schema {}", json.len(), result.schema);
    Ok(())
}
