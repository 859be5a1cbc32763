//! `alarms_per_year` in `lab.toml`: the review keeps to it and tells it.

use crate::support::{NOW, Workplace};
use rand::{RngExt, SeedableRng};
use serde_json::Value;

/// Steady cabinets, checked on working days from 2026-01-01 to mid-June; seeded.
fn steady_fleet(cabinets: usize) -> Vec<u8> {
    let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(77);
    // Nearly normal: the sum of twelve uniforms less six.
    let mut noise = || (0..12).map(|_| rng.random::<f64>()).sum::<f64>() - 6.0;
    let mut text =
        String::from("Date;Cabinet;Cabinet temp (°C);Tower temp (°C);Air pressure (kPa);pH\n");
    for cabinet in 1..=cabinets {
        let mut date = chrono::NaiveDate::from_ymd_opt(2026, 1, 1).unwrap();
        for _ in 0..125 {
            while matches!(
                chrono::Datelike::weekday(&date),
                chrono::Weekday::Sat | chrono::Weekday::Sun
            ) {
                date = date.succ_opt().unwrap();
            }
            text.push_str(&format!(
                "{date};Plover {cabinet};{:.1};{:.1};{:.1};{:.2}\n",
                35.0 + 0.3 * noise(),
                47.8 + 0.3 * noise(),
                98.0 + 0.6 * noise(),
                6.85 + 0.03 * noise(),
            ));
            date = date.succ_opt().unwrap();
        }
    }
    text.into_bytes()
}

fn review(log: &[u8], lab_toml: &str, more: &[&str]) -> Value {
    let place = Workplace::with(&[("logs/a.csv", log)]);
    place.write("lab/lab.toml", lab_toml.as_bytes());
    let mut args = vec!["review", "lab", "--month", "2026-06", "--only", "json"];
    args.extend(["--out", "out", "--now", NOW, "--quiet"]);
    args.extend(more);
    place.run(&args).expect(0);
    place.json("out/review.json")
}

fn signals(review: &Value) -> u64 {
    review["summary"]["signals"].as_u64().unwrap()
}

fn expected(review: &Value) -> f64 {
    review["summary"]["expected_false_alarms"].as_f64().unwrap()
}

#[test]
fn a_smaller_rate_brings_fewer_signals_and_the_review_says_what_it_expects() {
    let log = steady_fleet(24);
    let plain = review(&log, "", &[]);
    let lax = review(&log, "[lab]\nalarms_per_year = 300\n", &[]);
    let strict = review(&log, "[lab]\nalarms_per_year = 2\n", &[]);
    // June is a twelfth of a year, and the log ends a few days before it does.
    for (review, rate) in [(&lax, 300.0), (&strict, 2.0)] {
        let of_month = expected(review) * 12.0 / rate;
        assert!((0.75..=1.1).contains(&of_month), "{rate}: {of_month}");
        let source = review["rules"]["source"].as_str().unwrap();
        assert!(
            source.contains(&format!("at most {rate} a year")),
            "{source}"
        );
    }
    assert!(expected(&plain) > expected(&strict) && expected(&plain) < expected(&lax));
    assert!(signals(&strict) <= signals(&plain) && signals(&plain) < signals(&lax));
    // About 20 expected, with a good deal of chance; 0.14 expected.
    assert!((8..=40).contains(&signals(&lax)), "{}", signals(&lax));
    assert!(signals(&strict) <= 2, "{}", signals(&strict));
    let source = plain["rules"]["source"].as_str().unwrap();
    assert!(source.contains("in 370 checks"), "{source}");
    let says = strict["summary"]["signals_say"].as_str().unwrap();
    assert!(
        says.ends_with("chance alone would bring about 0.1."),
        "{says}"
    );
}

#[test]
fn another_rule_set_asked_for_on_the_command_line_is_judged_as_published() {
    let log = steady_fleet(2);
    let with = |lab_toml| review(&log, lab_toml, &["--rules", "nelson-1984"]);
    let (plain, asked) = (with(""), with("[lab]\nalarms_per_year = 2\n"));
    assert_eq!(plain["summary"], asked["summary"]);
    assert_eq!(plain["rules"], asked["rules"]);
}
