//! The review of the shipped demo lab, held against what was planted in it.

use crate::support::{NOW, Workplace};
use serde_json::Value;
use std::path::Path;
use std::sync::OnceLock;

/// The review of the demo's month, made once.
fn review() -> &'static Value {
    static REVIEW: OnceLock<Value> = OnceLock::new();
    REVIEW.get_or_init(|| {
        let place = Workplace::new();
        let lab = Path::new(env!("CARGO_MANIFEST_DIR")).join("data/demo-lab");
        let ran = place.run(&[
            "review",
            lab.to_str().unwrap(),
            "--month",
            "2026-06",
            "--out",
            "out",
            "--now",
            NOW,
        ]);
        ran.expect(0);
        place.json("out/review.json")
    })
}

fn truth() -> toml::Table {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("data/demo-lab-truth.toml");
    std::fs::read_to_string(path).unwrap().parse().unwrap()
}

fn plants(kind: &str) -> Vec<toml::Table> {
    truth()["plant"]
        .as_array()
        .unwrap()
        .iter()
        .map(|plant| plant.as_table().unwrap().clone())
        .filter(|plant| plant["kind"].as_str() == Some(kind))
        .collect()
}

#[track_caller]
fn series<'a>(cabinet: &str, characteristic: &str) -> &'a Value {
    review()["series"]
        .as_array()
        .unwrap()
        .iter()
        .find(|s| s["cabinet"] == cabinet && s["characteristic"] == characteristic)
        .unwrap_or_else(|| panic!("no series {cabinet}/{characteristic}"))
}

fn id(plant: &toml::Table) -> String {
    plant["cabinet"].as_str().unwrap().to_lowercase()
}

fn characteristics(plant: &toml::Table) -> Vec<String> {
    let names = plant["characteristics"].as_array().unwrap();
    names
        .iter()
        .map(|n| n.as_str().unwrap().to_owned())
        .collect()
}

/// Days from the planted date to a told one.
fn days_off(plant: &toml::Table, told: &Value) -> i64 {
    let planted: chrono::NaiveDate = plant["from"].as_str().unwrap().parse().unwrap();
    let told: chrono::NaiveDate = told.as_str().unwrap()[..10].parse().unwrap();
    (told - planted).num_days()
}

#[test]
fn every_cabinet_and_check_is_there() {
    let truth = truth();
    let review = review();
    assert_eq!(
        review["cabinets"].as_array().unwrap().len(),
        truth["cabinets"].as_array().unwrap().len()
    );
    for cabinet in review["cabinets"].as_array().unwrap() {
        let name = cabinet["id"].as_str().unwrap();
        let n = series(name, "ph")["n"].as_u64().unwrap();
        let planted = truth["checks_per_cabinet"].as_integer().unwrap() as u64;
        assert!(n <= planted && n + 4 >= planted, "{name}: {n} of {planted}");
    }
}

#[test]
fn the_blocking_nozzle_is_told_as_a_drift_with_its_date_and_forecast() {
    for plant in plants("drift") {
        let sizes = plant["size"].as_array().unwrap();
        for (characteristic, size) in characteristics(&plant).iter().zip(sizes) {
            let series = series(&id(&plant), characteristic);
            let drift = &series["drift"];
            let slope = size.as_float().unwrap();
            let (low, high) = (
                drift["low"].as_f64().unwrap(),
                drift["high"].as_f64().unwrap(),
            );
            assert!(
                low < slope && slope < high,
                "{characteristic}: {low} … {high}, not {slope}"
            );
            let off = days_off(&plant, &drift["since"]);
            assert!(off.abs() <= 12, "{characteristic} began {off} days off");
        }
    }
}

#[test]
fn the_tower_step_is_told_with_its_date_and_size() {
    let plant = plants("shift")
        .into_iter()
        .find(|p| characteristics(p) == ["tower-temperature"])
        .unwrap();
    let shift = &series(&id(&plant), "tower-temperature")["shift"];
    let size = plant["size"][0].as_float().unwrap();
    let (low, high) = (
        shift["low"].as_f64().unwrap(),
        shift["high"].as_f64().unwrap(),
    );
    assert!(low < size && size < high, "{low} … {high}, not {size}");
    assert!(days_off(&plant, &shift["at"]).abs() <= 4, "{shift}");
}

#[test]
fn the_breach_is_counted_and_comes_first() {
    let plant = &plants("breach")[0];
    let series = series(&id(plant), &characteristics(plant)[0]);
    assert_eq!(series["state"], "breached");
    assert_eq!(series["conformance"]["outside"], 2);
    let first = &review()["findings"][0];
    assert_eq!(first["urgency"], "breach");
    assert_eq!(first["cabinet"], id(plant).as_str());
}

#[test]
fn copied_entries_are_told() {
    let plant = &plants("copied")[0];
    let told = review()["series"].as_array().unwrap().iter().any(|s| {
        s["cabinet"] == id(plant).as_str()
            && s["signals"]
                .as_array()
                .unwrap()
                .iter()
                .any(|signal| signal["rule"] == "repeat")
    });
    assert!(told);
}

#[test]
fn events_open_stages_and_exclude_readings_with_their_reason() {
    for plant in plants("new-stage") {
        for characteristic in characteristics(&plant) {
            let stages = series(&id(&plant), &characteristic)["stages"]
                .as_array()
                .unwrap();
            assert!(stages.len() >= 2, "{characteristic}");
            let opened = &stages.last().unwrap()["from"];
            assert!((0..=3).contains(&days_off(&plant, opened)), "{opened}");
        }
    }
    for plant in plants("excluded") {
        for characteristic in characteristics(&plant) {
            let from = plant["from"].as_str().unwrap();
            let points = series(&id(&plant), &characteristic)["points"]
                .as_array()
                .unwrap();
            let point = points
                .iter()
                .find(|p| p["at"].as_str().unwrap().starts_with(from))
                .unwrap();
            assert!(point["excluded"].is_string(), "{characteristic} on {from}");
        }
    }
}

#[test]
fn the_steady_cabinet_raises_nothing() {
    let plant = &plants("frozen-baseline")[0];
    for series in review()["series"].as_array().unwrap() {
        if series["cabinet"] == id(plant).as_str() {
            assert_eq!(
                series["state"], "steady",
                "{}: {}",
                series["characteristic"], series["state_says"]
            );
            assert_eq!(series["limits"]["origin"], "frozen");
        }
    }
}

#[test]
fn dirty_cells_are_told_with_their_place() {
    let issues = review()["issues"].as_array().unwrap();
    for dirt in truth()["dirt"].as_array().unwrap() {
        let kind = dirt["kind"].as_str().unwrap();
        if !["typo", "below-range", "marked"].contains(&kind) {
            continue;
        }
        let (path, line) = (
            dirt["path"].as_str().unwrap(),
            dirt["line"].as_integer().unwrap(),
        );
        let told = issues
            .iter()
            .find(|i| i["path"] == path && i["line"].as_i64() == Some(line))
            .unwrap_or_else(|| panic!("{path}:{line} is not told"));
        assert_eq!(told["found"], dirt["found"].as_str().unwrap());
        let rejected = told["effect"] == "cell-rejected";
        assert_eq!(rejected, kind != "marked", "{told}");
        assert!(told["hint"].is_string() || kind == "marked", "{told}");
    }
}

#[test]
fn the_file_is_valid_against_the_shipped_schema() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("data/schema/review.schema.json");
    let schema: Value = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    let errors: Vec<String> = validator
        .iter_errors(review())
        .map(|e| e.to_string())
        .collect();
    assert_eq!(errors, Vec::<String>::new());
    let mut broken = review().clone();
    broken["series"][0]["n"] = Value::from("many");
    assert!(!validator.is_valid(&broken));
}
