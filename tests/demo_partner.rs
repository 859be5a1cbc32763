//! The shipped partner lab: written by `demo --lab partner`, and its review held against
//! what was planted in it.

use crate::support::{NOW, Workplace};
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

fn data(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("data")
        .join(name)
}

fn truth() -> toml::Table {
    let text = std::fs::read_to_string(data("demo-partner-lab-truth.toml")).unwrap();
    text.parse().unwrap()
}

/// The review of the partner's month, made once.
fn review() -> &'static Value {
    static REVIEW: OnceLock<Value> = OnceLock::new();
    REVIEW.get_or_init(|| {
        let place = Workplace::new();
        let lab = data("demo-partner-lab");
        let month = truth()["review_month"].as_str().unwrap().to_owned();
        place
            .run(&[
                "review",
                lab.to_str().unwrap(),
                "--month",
                &month,
                "--out",
                "out",
                "--now",
                NOW,
            ])
            .expect(0);
        place.json("out/review.json")
    })
}

#[test]
fn the_command_writes_either_lab() {
    let place = Workplace::new();
    for (choice, shipped) in [("home", "demo-lab"), ("partner", "demo-partner-lab")] {
        place.run(&["demo", choice, "--lab", choice]).expect(0);
        for file in place.files(choice) {
            let made = std::fs::read(place.path(choice).join(&file)).unwrap();
            let kept = std::fs::read(data(shipped).join(&file)).unwrap();
            assert!(made == kept, "{shipped}/{file} differs");
        }
    }
    place.run(&["demo", "plain"]).expect(0);
    assert_eq!(place.files("plain"), place.files("home"));
    assert_ne!(place.files("plain"), place.files("partner"));
    place.run(&["demo", "third", "--lab", "third"]).expect(2);
}

#[test]
fn every_cabinet_is_there_and_inside_its_window() {
    let cabinets = review()["cabinets"].as_array().unwrap();
    assert_eq!(
        cabinets.len(),
        truth()["cabinets"].as_array().unwrap().len()
    );
    let all = review()["series"].as_array().unwrap();
    assert_eq!(all.len(), cabinets.len() * 10);
    for series in all {
        let name = &series["characteristic"];
        // Mondays, Wednesdays, Fridays and Saturdays of April 2026.
        let n = series["n_period"].as_u64().unwrap();
        assert!((16..=17).contains(&n), "{name}: {n}");
        assert_eq!(
            series["state"], "steady",
            "{name}: {}",
            series["state_says"]
        );
    }
    assert_eq!(review()["summary"]["breaches"], 0);
}

/// Nothing is planted within the partner: what it differs in shows against another lab.
#[test]
fn the_partners_own_review_needs_nobody_but_for_one_cell() {
    let findings = review()["findings"].as_array().unwrap();
    for finding in findings {
        assert_eq!(finding["cabinet"], Value::Null, "{finding:#}");
    }
    assert_eq!(findings.len(), 1, "{findings:#?}");
}

#[test]
fn the_slip_of_the_pen_is_told_with_its_place() {
    let issues = review()["issues"].as_array().unwrap();
    let truth = truth();
    let dirt = truth["dirt"].as_array().unwrap();
    let slip = dirt
        .iter()
        .find(|d| d["kind"].as_str() == Some("typo"))
        .unwrap();
    let rejected: Vec<&Value> = issues
        .iter()
        .filter(|i| i["effect"] == "cell-rejected")
        .collect();
    assert_eq!(rejected.len(), 1, "{rejected:#?}");
    assert_eq!(rejected[0]["path"], slip["path"].as_str().unwrap());
    assert_eq!(rejected[0]["line"], slip["line"].as_integer().unwrap());
    assert_eq!(rejected[0]["found"], slip["found"].as_str().unwrap());
}
