//! The comparison of the two shipped labs, held against what was planted in them.

use crate::support::{NOW, Workplace};
use serde_json::Value;
use std::path::Path;
use std::sync::OnceLock;

fn shipped(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("data")
        .join(name);
    path.to_str().unwrap().to_owned()
}

/// The comparison, made once.
fn comparison() -> &'static Value {
    static COMPARISON: OnceLock<Value> = OnceLock::new();
    COMPARISON.get_or_init(|| {
        let place = Workplace::new();
        let labs = [shipped("demo-lab"), shipped("demo-partner-lab")];
        let args = [
            "compare", &labs[0], &labs[1], "--out", "out", "--now", NOW, "--only", "json",
        ];
        place.run(&args).expect(0);
        place.json("out/compare.json")
    })
}

/// What the truth file says was planted.
fn planted(kind: &str) -> f64 {
    let text = std::fs::read_to_string(shipped("demo-partner-lab-truth.toml")).unwrap();
    let truth: toml::Table = text.parse().unwrap();
    let plants = truth["plant"].as_array().unwrap().iter();
    let plant = plants
        .map(|p| p.as_table().unwrap())
        .find(|p| p["kind"].as_str() == Some(kind));
    plant.unwrap()["size"].as_float().unwrap()
}

fn list<'a>(of: &'a Value, name: &str) -> &'a Vec<Value> {
    of[name].as_array().unwrap()
}

fn characteristic(id: &str) -> &'static Value {
    let all = list(comparison(), "characteristics").iter();
    all.clone().find(|c| c["characteristic"] == id).unwrap()
}

fn row(characteristic: &str) -> &'static Value {
    let rows = list(comparison(), "mismatch").iter();
    rows.clone()
        .find(|r| r["characteristic"] == characteristic)
        .unwrap()
}

fn findings(urgency: &str) -> Vec<&'static str> {
    list(comparison(), "findings")
        .iter()
        .filter(|f| f["urgency"] == urgency)
        .map(|f| f["sentence"].as_str().unwrap())
        .collect()
}

#[test]
fn the_file_is_valid_against_the_shipped_schema() {
    let schema = std::fs::read_to_string(shipped("schema/compare.schema.json")).unwrap();
    let schema: Value = serde_json::from_str(&schema).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    let errors: Vec<String> = (validator.iter_errors(comparison()))
        .map(|e| format!("{} at {}", e, e.instance_path()))
        .collect();
    assert!(errors.is_empty(), "{errors:#?}");
}

#[test]
fn the_days_are_those_of_the_shorter_log() {
    assert_eq!(comparison()["period"]["from"], "2026-01-05");
    assert_eq!(comparison()["period"]["to"], "2026-05-15");
}

#[test]
fn the_lower_catch_is_found_with_its_size() {
    // The pair is home less partner, the truth partner less home.
    let pair = &characteristic("collection-rate")["lab_pairs"][0];
    assert_eq!(pair["verdict"], "differ");
    let size = -planted("lower-catch");
    let off = pair["difference"].as_f64().unwrap() - size;
    assert!(off.abs() < 0.02, "{off}");
    assert!(pair["low"].as_f64().unwrap() < size && size < pair["high"].as_f64().unwrap());
}

#[test]
fn the_lower_catch_goes_with_the_coupons_and_comes_first() {
    let first = row("collection-rate");
    assert_eq!(first["rank"], 1);
    assert_eq!(first["instruments_explain"], false);
    let (low, high) = (
        first["share_low"].as_f64().unwrap(),
        first["share_high"].as_f64().unwrap(),
    );
    assert!(low > 0.2 && low < 1.0 && high > 1.0, "{low} to {high}");
    let told = findings("mismatch");
    assert_eq!(told.len(), 1);
    assert!(told[0].starts_with("Coupons lost"), "{}", told[0]);
    assert!(
        told[0].contains("Collection rate is 0.25 mL/h"),
        "{}",
        told[0]
    );
    assert!(told[0].contains("not proof of cause"), "{}", told[0]);
    assert_eq!(comparison()["findings"][0]["urgency"], "mismatch");
}

#[test]
fn the_meters_explain_the_ph() {
    let pair = &characteristic("ph")["lab_pairs"][0];
    assert_ne!(pair["verdict"], "differ");
    let size = -planted("meter-reads-high");
    let off = pair["difference"].as_f64().unwrap() - size;
    assert!(off.abs() < 0.02, "{off}");
    let row = row("ph");
    assert_eq!(row["instruments_explain"], true);
    assert!(row["share_explained"].is_null());
    let told = findings("instruments");
    assert!(
        told.iter().any(|s| s.contains("two pH meters explain")),
        "{told:?}"
    );
}

#[test]
fn the_outlying_coupon_is_marked_and_kept_in_the_first_analysis() {
    let marked: Vec<(&str, &str)> = list(comparison(), "characteristics")
        .iter()
        .flat_map(|c| list(c, "participants"))
        .flat_map(|p| list(p, "coupons").iter().map(move |c| (p, c)))
        .filter(|(_, c)| !c["marked"].is_null())
        .map(|(p, c)| {
            (
                p["cabinet"].as_str().unwrap(),
                c["coupon"].as_str().unwrap(),
            )
        })
        .collect();
    assert_eq!(marked, [("sanderling", "B10")]);
    let round = list(comparison(), "characteristics")
        .iter()
        .find(|c| c["round"] == "2026-B")
        .unwrap();
    let results = |name: &str| round[name]["results"].as_u64().unwrap();
    assert_eq!(results("precision"), 28);
    assert_eq!(results("precision_without_outliers"), 24);
}

#[test]
fn the_coupon_without_an_area_is_told() {
    let told = list(comparison(), "issues")
        .iter()
        .find(|i| i["path"] == "coupons.csv")
        .unwrap();
    assert_eq!(told["lab"], "acabados-orilla-gris");
    assert!(told["problem"].as_str().unwrap().contains("area"));
}

#[test]
fn knot_of_the_one_lab_is_not_knot_of_the_other() {
    let ids: Vec<&str> = list(characteristic("ph"), "participants")
        .iter()
        .map(|p| p["id"].as_str().unwrap())
        .filter(|id| id.ends_with("/knot"))
        .collect();
    assert_eq!(ids, ["saltmarsh-bench/knot", "acabados-orilla-gris/knot"]);
}
