//! The rule set `with-memory` on the shipped demo lab, held against what was planted in it.

use crate::support::{NOW, Workplace};
use serde_json::Value;
use std::path::Path;

/// The demo's June, judged by `rules`.
fn review(rules: &str) -> Value {
    let place = Workplace::new();
    let lab = Path::new(env!("CARGO_MANIFEST_DIR")).join("data/demo-lab");
    let lab = lab.to_str().unwrap();
    let mut args = vec!["review", lab, "--month", "2026-06", "--rules", rules];
    args.extend(["--only", "json", "--out", "out", "--now", NOW]);
    place.run(&args).expect(0);
    place.json("out/review.json")
}

/// The rule and direction of each signal of a cabinet's characteristic.
fn told(review: &Value, cabinet: &str, characteristic: Option<&str>) -> Vec<(String, String)> {
    let series = review["series"].as_array().unwrap().iter();
    series
        .filter(|s| s["cabinet"] == cabinet)
        .filter(|s| characteristic.is_none_or(|c| s["characteristic"] == c))
        .flat_map(|s| s["signals"].as_array().unwrap().clone())
        .map(|s| {
            let word = |key: &str| s[key].as_str().unwrap().to_owned();
            (word("rule"), word("direction"))
        })
        .collect()
}

const MEMORY: [&str; 2] = ["smoothed-beyond-limit", "accumulated-beyond-limit"];

#[test]
fn the_charts_with_a_memory_see_the_planted_drift_and_leave_the_steady_cabinet_alone() {
    let review = review("with-memory");
    assert_eq!(review["rules"]["name"], "with-memory");
    let rules: Vec<&str> = review["rules"]["rules"]
        .as_array()
        .unwrap()
        .iter()
        .map(|rule| rule["name"].as_str().unwrap())
        .collect();
    assert_eq!(rules[..2], ["beyond-limit", "range-beyond-limit"]);
    assert_eq!(rules[2..], MEMORY);
    // Plover's collection rate falls from 18 May on: both say so, downwards.
    let drift = told(&review, "plover", Some("collection-rate"));
    for rule in MEMORY {
        let down = (rule.to_owned(), "down".to_owned());
        assert!(drift.contains(&down), "{rule}: {drift:?}");
    }
    assert_eq!(told(&review, "knot", None), []);
    // What chance alone would bring is told by the rate of the set.
    let chance = review["summary"]["expected_false_alarms"].as_f64();
    assert!(chance.is_some_and(|expected| expected > 0.0));
}
