//! Workbooks as an office suite writes them: each format gives the same checks.

use crate::support::Workplace;
use std::path::Path;

fn file(name: &str) -> Vec<u8> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/workbooks");
    std::fs::read(folder.join(name)).unwrap()
}

/// Time and value of every reading, by characteristic.
fn readings(name: &str) -> Vec<(String, String, f64)> {
    let place = Workplace::with(&[(&format!("logs/{name}"), &file(name))]);
    place.review(&["--quiet", "--only", "json"]).expect(0);
    let review = place.json("out/review.json");
    let mut all = Vec::new();
    for series in review["series"].as_array().unwrap() {
        for point in series["points"].as_array().unwrap() {
            all.push((
                series["characteristic"].as_str().unwrap().to_owned(),
                point["at"].as_str().unwrap().to_owned(),
                point["value"].as_f64().unwrap(),
            ));
        }
    }
    all
}

#[test]
fn csv_xlsx_ods_and_xls_give_the_same_readings() {
    let expected = readings("checks.csv");
    // Five checks of temperature and pressure; one pH is missing.
    assert_eq!(expected.len(), 14);
    let (_, at, value) = &expected[0];
    assert_eq!(at, "2026-03-02T00:00:00Z");
    assert!((value - (95.1 - 32.0) / 1.8).abs() < 1e-12, "{value}");
    for name in ["checks.xlsx", "checks.ods", "checks.xls"] {
        assert_eq!(readings(name), expected, "{name}");
    }
}

#[test]
fn a_locked_workbook_is_told_and_the_others_are_used() {
    let place = Workplace::with(&[
        ("logs/locked.xlsx", &file("locked.xlsx")),
        ("logs/checks.ods", &file("checks.ods")),
    ]);
    place.review(&["--quiet"]).expect(0);
    let review = place.json("out/review.json");
    let issue = review["issues"]
        .as_array()
        .unwrap()
        .iter()
        .find(|issue| issue["path"] == "logs/locked.xlsx")
        .unwrap();
    assert_eq!(issue["effect"], "file-unreadable");
    assert!(issue["problem"].as_str().unwrap().contains("password"));
}
