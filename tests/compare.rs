//! `steadyfog compare` on small made-up labs: who can be compared, and what is said where
//! nobody can.

use crate::support::{NOW, Ran, Workplace};
use std::fmt::Write as _;

/// A log of some cabinets with a catch of their own each, on working days from a date on.
fn log(cabinets: &[(&str, f64)], from: &str, days: usize) -> Vec<u8> {
    let mut text = String::from("Date;Cabinet;Cabinet temp (°C);Collection (mL/h per 80 cm²);pH\n");
    let mut date: chrono::NaiveDate = from.parse().unwrap();
    let mut state = 11_u64;
    let mut noise = || {
        // Knuth's MMIX constants; uniform in -0.5..0.5.
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as f64 / f64::from(1_u32 << 31) - 0.5
    };
    for _ in 0..days {
        while chrono::Datelike::weekday(&date).num_days_from_monday() > 4 {
            date = date.succ_opt().unwrap();
        }
        for (cabinet, catch) in cabinets {
            writeln!(
                text,
                "{date};{cabinet};{:.1};{:.3};{:.2}",
                35.0 + noise(),
                catch + 0.15 * noise(),
                6.85 + 0.1 * noise()
            )
            .unwrap();
        }
        date = date.succ_opt().unwrap();
    }
    text.into_bytes()
}

const LAB: &str = "[lab]\nname = \"Tide House\"\nprofile = \"iso-9227-nss\"\n";
const OTHER: &str = "[lab]\nname = \"Quay Works\"\nprofile = \"iso-9227-nss\"\n";

fn two_labs() -> Workplace {
    let place = Workplace::new();
    place.write("lab/lab.toml", LAB.as_bytes());
    place.write(
        "lab/logs/a.csv",
        &log(&[("Egret", 1.5), ("Teal", 1.5)], "2026-01-05", 80),
    );
    place.write("other/lab.toml", OTHER.as_bytes());
    place.write(
        "other/logs/b.csv",
        &log(&[("Egret", 1.1), ("Snipe", 1.1)], "2026-02-02", 80),
    );
    place
}

fn compare(place: &Workplace, labs: &[&str], more: &[&str]) -> Ran {
    let mut args = vec!["compare"];
    args.extend_from_slice(labs);
    args.extend_from_slice(&["--out", "out", "--now", NOW]);
    args.extend_from_slice(more);
    place.run(&args)
}

fn characteristic(comparison: &serde_json::Value, id: &str) -> serde_json::Value {
    comparison["characteristics"]
        .as_array()
        .unwrap()
        .iter()
        .find(|c| c["characteristic"] == id)
        .unwrap_or_else(|| panic!("{id} was not compared"))
        .clone()
}

/// No file that was written, and nothing printed, holds a number that is none.
#[track_caller]
fn no_nan(place: &Workplace, ran: &Ran) {
    let is_word = |c: char| c.is_alphanumeric();
    let clean = |text: &str, what: &str| {
        for word in text.split(|c: char| !is_word(c)) {
            assert!(
                !matches!(word, "NaN" | "inf" | "Infinity"),
                "{what} holds {word}"
            );
        }
    };
    clean(&ran.stdout, "the terminal");
    for file in place.files("out") {
        clean(&place.read(&format!("out/{file}")), &file);
    }
}

#[test]
fn two_labs_are_compared_over_the_days_they_share() {
    let place = two_labs();
    let ran = compare(&place, &["lab", "other"], &[]).expect(0);
    no_nan(&place, &ran);
    let comparison = place.json("out/compare.json");
    assert_eq!(comparison["schema"], "steadyfog.compare/1");
    assert_eq!(comparison["period"]["from"], "2026-02-02");
    assert_eq!(comparison["period"]["to"], "2026-04-24");
    let catch = characteristic(&comparison, "collection-rate");
    let pair = &catch["lab_pairs"][0];
    assert_eq!(
        (&pair["a"], &pair["b"]),
        (&"tide-house".into(), &"quay-works".into())
    );
    assert_eq!(pair["verdict"], "differ");
    assert!((pair["difference"].as_f64().unwrap() - 0.4).abs() < 0.05);
    assert_eq!(catch["pair_count"]["all"], 6);
    assert_eq!(catch["pair_count"]["differ"], 4);
    let ph = characteristic(&comparison, "ph");
    assert_eq!(ph["pair_count"]["differ"], 0);
    assert!(place.files("out").iter().any(|f| f == "compare.html"));
    assert!(place.files("out").iter().any(|f| f.starts_with("charts/")));
}

#[test]
fn cabinets_of_one_name_in_two_labs_stay_two() {
    let place = two_labs();
    compare(&place, &["lab", "other"], &["--only", "json"]).expect(0);
    let comparison = place.json("out/compare.json");
    let catch = characteristic(&comparison, "collection-rate");
    let ids: Vec<&str> = (catch["participants"].as_array().unwrap().iter())
        .map(|p| p["id"].as_str().unwrap())
        .collect();
    assert_eq!(
        ids,
        [
            "tide-house/egret",
            "tide-house/teal",
            "quay-works/egret",
            "quay-works/snipe"
        ]
    );
    let names = comparison["labs"][1]["cabinets"][0]["name"]
        .as_str()
        .unwrap();
    assert!(names.contains("Quay Works"), "{names}");
}

#[test]
fn one_lab_compares_its_own_cabinets() {
    let place = two_labs();
    compare(&place, &["lab"], &["--only", "json"]).expect(0);
    let comparison = place.json("out/compare.json");
    let catch = characteristic(&comparison, "collection-rate");
    assert_eq!(catch["pairs"][0]["a"], "egret");
    assert_eq!(catch["pair_count"]["differ"], 0);
    assert!(catch["labs"].as_array().unwrap().is_empty());
}

#[test]
fn one_cabinet_has_nobody_to_be_compared_with() {
    let place = Workplace::with(&[("logs/a.csv", &log(&[("Egret", 1.5)], "2026-01-05", 30))]);
    compare(&place, &["lab"], &[])
        .expect(2)
        .complains("only one cabinet")
        .complains("second lab");
    assert!(place.files("out").is_empty());
}

#[test]
fn logs_without_a_common_day_say_who_has_which() {
    let place = two_labs();
    place.write(
        "other/logs/b.csv",
        &log(&[("Snipe", 1.1)], "2025-06-02", 30),
    );
    compare(&place, &["lab", "other"], &[])
        .expect(2)
        .complains("do not overlap")
        .complains("Tide House")
        .complains("July 2025");
    assert!(place.files("out").is_empty());
}

#[test]
fn a_period_without_checks_and_one_that_ends_before_it_begins() {
    let place = two_labs();
    let none = ["--from", "2027-01-01", "--to", "2027-02-01"];
    compare(&place, &["lab", "other"], &none)
        .expect(2)
        .complains("2027-01-01")
        .complains("Quay Works");
    let crossed = ["--from", "2026-03-01", "--to", "2026-02-01"];
    compare(&place, &["lab", "other"], &crossed)
        .expect(2)
        .complains("before it begins");
}

#[test]
fn a_folder_named_twice_and_one_that_is_not_there() {
    let place = two_labs();
    compare(&place, &["lab", "./lab"], &[])
        .expect(2)
        .complains("twice");
    compare(&place, &["lab", "elsewhere"], &[])
        .expect(2)
        .complains("elsewhere");
}

#[test]
fn equal_readings_give_no_number_that_is_none() {
    let mut text = String::from("Date;Cabinet;pH\n");
    for day in 1..29 {
        writeln!(
            text,
            "2026-02-{day:02};Egret;6.80\n2026-02-{day:02};Teal;6.80"
        )
        .unwrap();
    }
    let place = Workplace::with(&[
        ("lab.toml", LAB.as_bytes()),
        ("logs/a.csv", text.as_bytes()),
    ]);
    let ran = compare(&place, &["lab"], &[]).expect(0);
    no_nan(&place, &ran);
    let ph = characteristic(&place.json("out/compare.json"), "ph");
    assert_eq!(ph["participants"][0]["sd"], 0.0);
    assert_ne!(ph["pairs"][0]["verdict"], "differ");
}

#[test]
fn different_profiles_are_compared_and_told() {
    let place = two_labs();
    place.write(
        "other/lab.toml",
        OTHER.replace("iso-9227-nss", "astm-b117-nss").as_bytes(),
    );
    compare(&place, &["lab", "other"], &["--only", "json"]).expect(0);
    let comparison = place.json("out/compare.json");
    let told = comparison["method"].as_array().unwrap().iter();
    assert!(
        told.map(|m| m.as_str().unwrap())
            .any(|m| m.contains("different profiles")),
        "{:?}",
        comparison["method"]
    );
}

#[test]
fn units_that_differ_are_converted_before_anything_is_compared() {
    let place = two_labs();
    // The other lab writes the same temperatures in °F.
    let celsius = String::from_utf8(log(&[("Snipe", 1.5)], "2026-01-05", 80)).unwrap();
    let fahrenheit: String = celsius
        .lines()
        .enumerate()
        .map(|(i, line)| {
            let mut cells: Vec<String> = line.split(';').map(str::to_owned).collect();
            cells[2] = match i {
                0 => "Cabinet temp (°F)".to_owned(),
                _ => format!("{:.1}", cells[2].parse::<f64>().unwrap() * 1.8 + 32.0),
            };
            cells.join(";") + "\n"
        })
        .collect();
    place.write("other/logs/b.csv", fahrenheit.as_bytes());
    compare(&place, &["lab", "other"], &["--only", "json"]).expect(0);
    let temperature = characteristic(&place.json("out/compare.json"), "cabinet-temperature");
    let difference = temperature["lab_pairs"][0]["difference"].as_f64().unwrap();
    assert!(difference.abs() < 0.15, "{difference}");
    assert_eq!(temperature["pair_count"]["differ"], 0);
}

const HEAD: &str =
    "round,lab,cabinet,coupon,place,start,hours,mass_before_g,mass_after_g,area_cm2\n";

/// A coupon of 100 cm² that lost so many g/m².
fn coupon(round: &str, lab: &str, cabinet: &str, mark: &str, loss: f64) -> String {
    let after = 80.0 - loss / 100.0;
    format!("{round},{lab},{cabinet},{mark},left,2026-03-03,48,80.0000,{after:.4},100\n")
}

#[test]
fn a_round_of_one_lab_and_of_one_coupon_each_says_what_it_cannot_give() {
    let place = two_labs();
    let rows = coupon("R1", "", "Egret", "1", 70.0) + &coupon("R1", "", "Teal", "2", 74.0);
    place.write("lab/coupons.csv", (HEAD.to_owned() + &rows).as_bytes());
    let ran = compare(&place, &["lab"], &[]).expect(0);
    no_nan(&place, &ran);
    let comparison = place.json("out/compare.json");
    let losses = characteristic(&comparison, "coupon-mass-loss");
    assert!(losses["precision"].is_null());
    let says = losses["precision_says"].as_str().unwrap();
    assert!(says.contains("no participant has two results"), "{says}");
    let told = comparison["rounds"][0]["says"].to_string();
    assert!(told.contains("One lab took part"), "{told}");
}

#[test]
fn coupons_of_another_lab_take_part_without_its_logs() {
    let place = two_labs();
    let mut rows = HEAD.to_owned();
    for (i, loss) in [70.0, 71.0, 69.0].iter().enumerate() {
        rows += &coupon("R1", "", "Egret", &format!("a{i}"), *loss);
        rows += &coupon("R1", "Quay Works", "Snipe", &format!("b{i}"), loss - 20.0);
    }
    place.write("lab/coupons.csv", rows.as_bytes());
    let ran = compare(&place, &["lab"], &[]).expect(0);
    no_nan(&place, &ran);
    let comparison = place.json("out/compare.json");
    let told = comparison["issues"].to_string();
    assert!(told.contains("none of the folders compared"), "{told}");
    let losses = characteristic(&comparison, "coupon-mass-loss");
    assert_eq!(losses["pairs"][0]["verdict"], "differ");
    assert_eq!(losses["labs"].as_array().unwrap().len(), 2);
}

#[test]
fn equal_coupons_have_no_spread_and_no_nan() {
    let place = two_labs();
    let mut rows = HEAD.to_owned();
    for i in 0..3 {
        for cabinet in ["Egret", "Teal"] {
            rows += &coupon("R1", "", cabinet, &format!("{cabinet}{i}"), 70.0);
        }
    }
    place.write("lab/coupons.csv", rows.as_bytes());
    let ran = compare(&place, &["lab"], &[]).expect(0);
    no_nan(&place, &ran);
}

#[test]
fn a_missing_area_is_told_and_the_others_are_used() {
    let place = two_labs();
    let mut rows = HEAD.to_owned();
    for i in 0..3 {
        rows += &coupon("R1", "", "Egret", &format!("a{i}"), 70.0 + f64::from(i));
        rows += &coupon("R1", "", "Teal", &format!("b{i}"), 71.0 + f64::from(i));
    }
    rows = rows.replacen(",100\n", ",\n", 1);
    place.write("lab/coupons.csv", rows.as_bytes());
    compare(&place, &["lab"], &["--strict"]).expect(3);
    let comparison = place.json("out/compare.json");
    let issue = comparison["issues"]
        .as_array()
        .unwrap()
        .iter()
        .find(|i| i["path"] == "coupons.csv")
        .unwrap();
    assert_eq!(issue["line"], 2);
    assert_eq!(issue["lab"], "tide-house");
    assert_eq!(comparison["rounds"][0]["coupons"], 5);
}

#[test]
fn a_round_that_is_not_there_is_told_with_those_that_are() {
    let place = two_labs();
    let rows = coupon("R1", "", "Egret", "1", 70.0) + &coupon("R1", "", "Teal", "2", 74.0);
    place.write("lab/coupons.csv", (HEAD.to_owned() + &rows).as_bytes());
    compare(&place, &["lab"], &["--round", "R9"])
        .expect(2)
        .complains("\"R9\"")
        .complains("r1");
    compare(&place, &["lab"], &["--round", "r1", "--only", "json"]).expect(0);
}

#[test]
fn a_difference_can_fail_a_scheduled_job() {
    let place = two_labs();
    let fail = ["--only", "json", "--quiet", "--fail-on", "differ"];
    let ran = compare(&place, &["lab", "other"], &fail).expect(1);
    assert!(ran.stdout.is_empty());
    // An earlier report is not overwritten unasked.
    compare(&place, &["lab", "other"], &["--only", "json"])
        .expect(2)
        .complains("--replace");
    let again = ["--only", "json", "--replace", "--format", "json"];
    let ran = compare(&place, &["lab", "other"], &again).expect(0);
    let printed: serde_json::Value = serde_json::from_str(&ran.stdout).unwrap();
    assert_eq!(printed, place.json("out/compare.json"));
}

#[test]
fn the_same_labs_and_clock_give_the_same_bytes() {
    let place = two_labs();
    compare(&place, &["lab", "other"], &[]).expect(0);
    let first: Vec<String> = place
        .files("out")
        .iter()
        .map(|f| place.read(&format!("out/{f}")))
        .collect();
    compare(&place, &["lab", "other"], &["--replace"]).expect(0);
    let second: Vec<String> = place
        .files("out")
        .iter()
        .map(|f| place.read(&format!("out/{f}")))
        .collect();
    assert!(first == second);
}
