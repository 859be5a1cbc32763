//! Seeded property tests: whatever stands in the lab's files, reading ends in a result.

use super::listing::Listing;
use super::reader::Text;
use super::*;
use crate::chart::{Limits, Origin, SigmaMethod};
use proptest::prelude::*;
use proptest::test_runner::{Config, TestRunner};

pub(super) fn runner(cases: u32) -> TestRunner {
    let config = Config {
        cases,
        failure_persistence: None,
        ..Config::default()
    };
    let seed = proptest::test_runner::TestRng::deterministic_rng(config.rng_algorithm);
    TestRunner::new_with_rng(config, seed)
}

/// The template with a piece cut out and something put in its place: near-misses reach
/// deeper than noise.
#[test]
fn broken_settings_are_errors_not_panics() {
    let template: String = include_str!("../../data/templates/lab.toml")
        .lines()
        .filter_map(|l| l.strip_prefix("#: "))
        .map(|l| format!("{l}\n"))
        .collect();
    let length = template.chars().count();
    let strategy = (
        0..length,
        0..12_usize,
        "[a-z\\[\\]{}=\"',.#0-9\n\u{1b}é°-]{0,8}",
    );
    runner(600)
        .run(&strategy, |(at, cut, put)| {
            let mut text: String = template.chars().take(at).collect();
            text.push_str(&put);
            text.extend(template.chars().skip(at + cut));
            let mut lab = Lab::bare("lab");
            if let Err(e) = super::config::read(&Text::new("lab.toml", &text), &mut lab) {
                let told = e.to_string();
                prop_assert!(told.contains("lab.toml:"), "no place: {told}");
                prop_assert!(!told.chars().any(|c| c.is_control()), "unsafe: {told:?}");
            }
            Ok(())
        })
        .unwrap();
}

#[test]
fn any_bytes_are_a_listing_or_issues() {
    let row = "[0-9a-z/.;,\"\t -]{0,40}";
    let strategy = (
        prop::collection::vec(row, 0..6),
        prop::collection::vec(any::<u8>(), 0..60),
    );
    runner(600)
        .run(&strategy, |(rows, noise)| {
            let mut bytes = b"date,what,until,effect\n".to_vec();
            bytes.extend(rows.join("\n").into_bytes());
            bytes.extend(noise);
            let mut issues = Vec::new();
            let listing = Listing::parse(
                &bytes,
                "events.csv",
                &["date", "what"],
                &["until", "effect"],
                &mut issues,
            );
            for row in listing.iter().flat_map(Listing::rows) {
                if let Err(issue) = row.moment("date", &Zone::AS_WRITTEN) {
                    prop_assert!(issue.place.line.is_some());
                }
            }
            Ok(())
        })
        .unwrap();
}

#[test]
fn any_finite_limits_survive_the_baseline_file() {
    let finite = any::<f64>().prop_filter("finite", |v| v.is_finite() && v.abs() < 1e300);
    let strategy = (
        finite.clone(),
        1e-300_f64..1e300,
        finite,
        "\\PC{0,20}",
        0_i64..4_000_000_000,
    );
    runner(300)
        .run(&strategy, |(centre, sigma, value, text, at)| {
            let at = Instant(at);
            let spread = sigma.max(centre.abs() * 1e-10);
            let limits = Limits {
                origin: Origin::Frozen,
                n: 30,
                from: at,
                to: at,
                centre,
                sigma,
                sigma_method: SigmaMethod::MovingRange,
                lower: centre - spread,
                upper: centre + spread,
                moving_range_mean: value,
                moving_range_upper: value,
                lag1: Some(value),
                resolution: None,
                plain_sigma: value,
                plain_centre: value,
                moving_ranges: 29,
                moving_ranges_skipped: 0,
                screened: vec![(at, value)],
            };
            let reason = format!("x{text}");
            let frozen = FrozenLimits {
                limits,
                approved_by: reason.clone(),
                frozen_at: at,
                excluded: vec![(at, value, reason)],
                digest: baseline_file::digest(&[at], &[value]),
            };
            let file = baseline_file::BaselineFile {
                cabinet: "plover".into(),
                program: "steadyfog 0.1.0".into(),
                limits: [(Characteristic::Ph, frozen)].into(),
            };
            let back = baseline_file::parse("baselines/plover.toml", &baseline_file::render(&file));
            prop_assert_eq!(back.unwrap(), file);
            Ok(())
        })
        .unwrap();
}
