//! Input that cannot be used: each case ends with a clear message, the right exit status,
//! and nothing half-written.

use crate::support::{Workplace, plain_log};

fn heading_only() -> Vec<u8> {
    b"Date;Cabinet;Cabinet temp (\xc2\xb0C);pH\n".to_vec()
}

/// Nothing of use was written: no file at all below `out`.
#[track_caller]
fn nothing_written(place: &Workplace) {
    assert_eq!(place.files("out"), Vec::<String>::new());
}

#[test]
fn a_folder_that_does_not_exist() {
    let place = Workplace::new();
    place.review(&[]).expect(2).complains("lab");
    nothing_written(&place);
}

#[test]
fn an_empty_folder() {
    let place = Workplace::with(&[]);
    place.review(&[]).expect(2).complains("logs");
    nothing_written(&place);
}

#[test]
fn a_log_with_headings_only() {
    let place = Workplace::with(&[("logs/a.csv", &heading_only())]);
    place.review(&[]).expect(2).complains("logs/a.csv");
    nothing_written(&place);
}

#[test]
fn alike_problems_are_told_once_with_their_number() {
    let rows: String = (5..30)
        .map(|d| format!("2026-01-{d:02};35,1;6,8\n"))
        .collect();
    let text = format!("Date;Cabinet temp (\u{b0}C);pH\n{rows}");
    let place = Workplace::with(&[("logs/a.csv", text.as_bytes())]);
    let run = place.review(&[]).expect(2);
    assert_eq!(run.stderr.matches("[[log]]").count(), 1, "{}", run.stderr);
    run.complains("25 places like it");
}

#[test]
fn no_readable_log() {
    let place = Workplace::with(&[("logs/a.xlsx", b"not a workbook"), ("logs/b.csv", b"")]);
    place
        .review(&[])
        .expect(2)
        .complains("logs/a.xlsx")
        .complains("logs/b.csv");
    nothing_written(&place);
}

#[test]
fn a_truncated_workbook_is_told_and_the_good_log_is_used() {
    let mut workbook = rust_xlsxwriter::Workbook::new();
    let sheet = workbook.add_worksheet();
    for row in 0..500 {
        sheet.write(row, 0, f64::from(row) * 1.37).unwrap();
    }
    let whole = workbook.save_to_buffer().unwrap();
    let place = Workplace::with(&[
        ("logs/a.xlsx", &whole[..whole.len() / 2]),
        ("logs/b.csv", &plain_log("Plover", 40)),
    ]);
    place.review(&["--quiet"]).expect(0);
    let review = place.json("out/review.json");
    let issue = issue_of(&review, "logs/a.xlsx");
    assert_eq!(issue["effect"], "file-unreadable");
}

#[test]
fn a_zip_bomb_in_a_workbook_is_refused_before_it_grows() {
    use std::io::Write;
    let mut bomb = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    let options = zip::write::SimpleFileOptions::default();
    bomb.start_file("xl/worksheets/sheet1.xml", options)
        .unwrap();
    let zeros = vec![b' '; 1 << 20];
    for _ in 0..1024 {
        bomb.write_all(&zeros).unwrap();
    }
    let bytes = bomb.finish().unwrap().into_inner();
    assert!(bytes.len() < 4 << 20, "the bomb itself is small");
    let place = Workplace::with(&[
        ("logs/bomb.xlsx", &bytes),
        ("logs/b.csv", &plain_log("Plover", 40)),
    ]);
    place.review(&["--quiet"]).expect(0);
    let issue = issue_of(&place.json("out/review.json"), "logs/bomb.xlsx");
    assert_eq!(issue["effect"], "file-unreadable");
}

#[test]
fn a_wrong_delimiter_forced_by_lab_toml_is_told() {
    let place = Workplace::with(&[
        ("logs/a.csv", &plain_log("Plover", 40)),
        (
            "lab.toml",
            b"[[log]]\nfiles = \"logs/*.csv\"\ndelimiter = \"|\"\n",
        ),
    ]);
    place.review(&[]).expect(2).complains("logs/a.csv");
    nothing_written(&place);
}

#[test]
fn a_line_far_too_long_is_refused_without_reading_it_all() {
    let mut long = b"Date;Cabinet;pH\n2026-01-05;Plover;".to_vec();
    long.resize(64 << 20, b'7');
    let place = Workplace::with(&[
        ("logs/long.csv", &long),
        ("logs/b.csv", &plain_log("Plover", 40)),
    ]);
    place.review(&["--quiet"]).expect(0);
    let issue = issue_of(&place.json("out/review.json"), "logs/long.csv");
    assert!(issue["problem"].as_str().unwrap().len() < 500);
}

#[test]
fn numbers_that_are_none_are_rejected_cells() {
    let mut log = plain_log("Plover", 40);
    for bad in ["NaN", "inf", "-inf", "1e308", "1e309"] {
        log.extend_from_slice(format!("2026-03-02;Plover;{bad};47.8;98.0;6.85\n").as_bytes());
    }
    let place = Workplace::with(&[("logs/a.csv", &log)]);
    place.review(&["--quiet"]).expect(0);
    let review = place.json("out/review.json");
    assert_eq!(review["summary"]["rejected_cells"], 5);
    let text = place.read("out/review.json");
    assert!(!text.contains("NaN,") && !text.contains(": inf"));
}

#[test]
fn dates_far_away_are_rejected_and_told() {
    let mut log = plain_log("Plover", 40);
    log.extend_from_slice(b"1900-01-01;Plover;35.0;47.8;98.0;6.85\n");
    log.extend_from_slice(b"2099-01-01;Plover;35.0;47.8;98.0;6.85\n");
    let place = Workplace::with(&[("logs/a.csv", &log)]);
    place.review(&["--quiet"]).expect(0);
    let review = place.json("out/review.json");
    let told = issues(&review)
        .iter()
        .filter(|issue| {
            let found = issue["found"].as_str().unwrap_or("");
            found.starts_with("1900") || found.starts_with("2099")
        })
        .count();
    assert_eq!(told, 2);
    assert_eq!(review["cabinets"][0]["checks"], review["summary"]["checks"]);
}

#[test]
fn a_cabinet_with_one_reading_has_too_few() {
    let place = Workplace::with(&[("logs/a.csv", &plain_log("Plover", 1))]);
    place.review(&["--quiet"]).expect(0);
    let review = place.json("out/review.json");
    assert_eq!(review["series"][0]["state"], "too-few");
    assert!(review["series"][0]["limits"].is_null());
}

#[test]
fn equal_readings_have_no_limits_and_no_nan() {
    let mut log = "Date;Cabinet;pH\n".to_owned();
    for day in 1..=28 {
        log.push_str(&format!("2026-02-{day:02};Plover;6.8\n"));
        log.push_str(&format!("2026-03-{day:02};Plover;6.8\n"));
    }
    let place = Workplace::with(&[("logs/a.csv", log.as_bytes())]);
    place.review(&["--quiet"]).expect(0);
    let review = place.json("out/review.json");
    let series = &review["series"][0];
    assert!(series["limits"].is_null(), "{series}");
    assert!(
        series["limits_say"]
            .as_str()
            .unwrap()
            .contains("all 30 readings")
    );
    assert!(series["capability"].is_null());
}

#[test]
fn names_that_differ_by_case_or_space_are_one_cabinet() {
    let log = String::from_utf8(plain_log("Plover", 40)).unwrap();
    let mixed: String = log
        .lines()
        .enumerate()
        .map(|(i, line)| {
            let name = ["Plover", "PLOVER", "plover "][i % 3];
            line.replace("Plover", name) + "\n"
        })
        .collect();
    let place = Workplace::with(&[("logs/a.csv", mixed.as_bytes())]);
    place.review(&["--quiet"]).expect(0);
    let review = place.json("out/review.json");
    assert_eq!(review["cabinets"].as_array().unwrap().len(), 1);
}

#[test]
fn an_output_folder_that_already_holds_a_report_is_left_alone() {
    let place = Workplace::with(&[("logs/a.csv", &plain_log("Plover", 40))]);
    place.write("out/review.json", b"mine");
    place.review(&[]).expect(2).complains("--replace");
    assert_eq!(place.read("out/review.json"), "mine");
    assert_eq!(place.files("out"), ["review.json"]);
    place.review(&["--replace", "--quiet"]).expect(0);
    assert_ne!(place.read("out/review.json"), "mine");
}

#[test]
fn an_output_place_that_cannot_be_written() {
    let place = Workplace::with(&[("logs/a.csv", &plain_log("Plover", 40))]);
    place.write("taken", b"a file");
    place
        .run(&["review", "lab", "--out", "taken"])
        .expect(2)
        .complains("taken");
    place
        .run(&["review", "lab", "--out", "taken/below"])
        .expect(2)
        .complains("taken");
    assert_eq!(place.read("taken"), "a file");
}

#[test]
fn a_broken_lab_toml_tells_line_column_and_the_nearest_key() {
    let log = plain_log("Plover", 40);
    let cases: [(&str, &[&str]); 4] = [
        (
            "[lab]\nname = \"A\"\n\n[[cabinet]]\nid = \"plover\"\nfunel_diameter_mm = 100\n",
            &["lab.toml:6:1", "funnel_diameter_mm"],
        ),
        ("[lab]\nname = 3\n", &["lab.toml:2:8"]),
        ("[lab\nname = \"A\"\n", &["lab.toml:1:"]),
        (
            "[lab]\nprofile = \"iso-9227-ns\"\n",
            &["lab.toml:2:", "iso-9227-nss"],
        ),
    ];
    for (text, told) in cases {
        let place = Workplace::with(&[("logs/a.csv", &log), ("lab.toml", text.as_bytes())]);
        let mut ran = place.review(&[]).expect(2);
        for &part in told {
            ran = ran.complains(part);
        }
        nothing_written(&place);
    }
}

#[test]
fn a_month_without_checks_says_which_there_are() {
    let place = Workplace::with(&[("logs/a.csv", &plain_log("Plover", 40))]);
    place
        .review(&["--month", "2025-01"])
        .expect(2)
        .complains("2026-01-01");
    nothing_written(&place);
}

#[test]
fn strict_turns_rejected_cells_into_status_three() {
    let mut log = plain_log("Plover", 40);
    log.extend_from_slice(b"2026-03-02;Plover;thirty-five;47.8;98.0;6.85\n");
    let place = Workplace::with(&[("logs/a.csv", &log)]);
    place.review(&["--quiet", "--strict"]).expect(3);
    assert!(place.files("out").contains(&"review.json".to_owned()));
}

fn issues(review: &serde_json::Value) -> &Vec<serde_json::Value> {
    review["issues"].as_array().unwrap()
}

#[track_caller]
fn issue_of(review: &serde_json::Value, path: &str) -> serde_json::Value {
    issues(review)
        .iter()
        .find(|issue| issue["path"] == path)
        .unwrap_or_else(|| panic!("no issue of {path} in {}", review["issues"]))
        .clone()
}
