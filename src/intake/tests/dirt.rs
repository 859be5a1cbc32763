//! Bad input: each becomes an issue with its place, and the rest is kept.

use super::*;
use crate::lab::LogRule;

const HEADING: &str = "Date,Cabinet,Cabinet temp. °C,pH\n";

fn log(rows: &str) -> String {
    format!("{HEADING}{rows}")
}

#[test]
fn rejected_cells_are_told_with_place_and_reason() {
    let text = log("2026-01-05,Plover,35.1,<6.5\n\
         2026-01-06,Plover,n/a,6.8\n\
         2026-01-07,Plover,351,<b>ok</b>\n\
         31.02.2026,Plover,35.0,6.9\n");
    let intake = read(&[("a.csv", text.as_bytes())]);
    assert_eq!(intake.checks.len(), 3, "{}", told(&intake));
    let issues = rejected(&intake);
    let places: Vec<_> = issues
        .iter()
        .map(|i| (i.place.line, i.place.column.as_deref(), i.effect))
        .collect();
    assert_eq!(
        places,
        [
            (Some(2), Some("pH"), Effect::CellRejected),
            (Some(4), Some("Cabinet temp. °C"), Effect::CellRejected),
            (Some(4), Some("pH"), Effect::CellRejected),
            (Some(5), Some("Date"), Effect::RowRejected),
        ],
        "{}",
        told(&intake)
    );
    assert_eq!(issues[0].found.as_deref(), Some("<6.5"));
    assert!(issues.iter().all(|i| i.hint.is_some()));
    // Three cells, and the four of the rejected row.
    assert_eq!(intake.files[0].rejected_cells(), 7);
}

#[test]
fn dates_of_the_future_and_of_empty_cells_are_rejected() {
    let text = log(
        "1900-01-01,Plover,35.1,6.8\n2099-01-01,Plover,35.1,6.8\n2026-01-05,Plover,35.1,6.8\n2099-01-02,Plover,,\n",
    );
    let intake = read(&[("a.csv", text.as_bytes())]);
    assert_eq!(intake.checks.len(), 1);
    // The prepared row without readings is no mistake.
    assert_eq!(rejected(&intake).len(), 2, "{}", told(&intake));
}

#[test]
fn day_and_month_that_nothing_tells_apart_leave_the_column_out() {
    let text = log("03/04/2026,Plover,35.1,6.8\n05/04/2026,Plover,35.1,6.8\n");
    let intake = read(&[("a.csv", text.as_bytes())]);
    assert!(intake.checks.is_empty());
    let issue = rejected(&intake)[0];
    assert_eq!(issue.effect, Effect::ColumnLeftOut, "{}", told(&intake));
    assert!(issue.hint.as_ref().unwrap().contains("dates = \""));
    assert!(intake.nothing_usable().is_some());
    let settled = read_with(&[("a.csv", text.as_bytes())], |lab| {
        lab.logs = vec![LogRule {
            files: "logs/a.csv".into(),
            dates: Some(crate::lab::DateOrder::DayFirst),
            ..LogRule::default()
        }];
    });
    assert_eq!(settled.checks.len(), 2, "{}", told(&settled));
}

#[test]
fn a_row_without_any_cabinet_is_rejected_with_the_line_to_add() {
    let text = "Date,Cabinet temp. °C,pH\n2026-01-05,35.1,6.8\n";
    let intake = read(&[("2026-01.csv", text.as_bytes())]);
    assert!(intake.checks.is_empty());
    let hint = rejected(&intake)[0].hint.as_deref().unwrap_or_default();
    assert!(hint.contains("cabinet = ") && hint.contains("logs/2026-01.csv"));
    let named = read_with(&[("2026-01.csv", text.as_bytes())], |lab| {
        lab.logs = vec![LogRule {
            files: "logs/*.csv".into(),
            cabinet: Some("plover".into()),
            ..LogRule::default()
        }];
    });
    assert_eq!(named.checks.len(), 1, "{}", told(&named));
    let by_file = read(&[("plover-2026-01.csv", text.as_bytes())]);
    assert_eq!(&*by_file.checks.cabinets()[0], "plover");
    assert!(told(&by_file).contains("the name of the file"));
}

#[test]
fn decimal_commas_between_commas_are_not_read_shifted() {
    let text = "Date,Cabinet,Cabinet temp. °C,pH\n2026-01-05,Plover,35,1,6,8\n";
    let intake = read(&[("a.csv", text.as_bytes())]);
    assert!(intake.checks.is_empty(), "{}", told(&intake));
    assert!(told(&intake).contains("would shift its cells"));
}

#[test]
fn a_wrong_delimiter_in_lab_toml_is_told_with_the_right_one() {
    let text = log("2026-01-05,Plover,35.1,6.8\n");
    let intake = read_with(&[("a.csv", text.as_bytes())], |lab| {
        lab.logs = vec![LogRule {
            files: "logs/a.csv".into(),
            delimiter: Some(';'),
            ..LogRule::default()
        }];
    });
    assert!(
        told(&intake).contains("delimiter = \\\",\\\""),
        "{}",
        told(&intake)
    );
}

#[test]
fn files_that_are_no_logs_say_so_and_the_others_are_used() {
    let good = log("2026-01-05,Plover,35.1,6.8\n");
    let mut long = b"Date;pH\n2026-01-05;".to_vec();
    long.resize(3 << 20, b'1');
    let cases: [(&str, &[u8], &str); 7] = [
        ("b-empty.csv", b"", "is empty"),
        (
            "c-binary.csv",
            &[0, 1, 2, 3, 4, 0, 200, 201, 1, 2, 3, 4, 5, 6],
            "no text",
        ),
        ("d-named.csv", b"PK\x03\x04rest", "is a ZIP file"),
        ("e-cut.xlsx", b"PK\x03\x04rest", "damaged"),
        ("f-cut.parquet", b"PAR1rest", "damaged"),
        ("g-long.csv", &long, "longer than 1 MiB"),
        ("h-words.csv", b"nothing,here\nis,a log\n", "No row"),
    ];
    let mut logs: Vec<(&str, &[u8])> = vec![("a.csv", good.as_bytes())];
    logs.extend(cases.iter().map(|(name, bytes, _)| (*name, *bytes)));
    let intake = read(&logs);
    assert_eq!(intake.checks.len(), 1);
    assert_eq!(intake.nothing_usable(), None);
    for (name, _, expected) in cases {
        let found = intake.issues.iter().any(|i| {
            i.place.path.ends_with(name)
                && i.problem.contains(expected)
                && i.effect == Effect::FileUnreadable
        });
        assert!(found, "{name}: {}", told(&intake));
    }
    assert!(intake.files.iter().all(|f| f.sha256.len() == 64));
}

#[test]
fn nothing_usable_says_why() {
    assert!(read(&[]).nothing_usable().unwrap().contains("no check log"));
    let headings = read(&[("a.csv", HEADING.as_bytes())]);
    assert!(
        headings
            .nothing_usable()
            .unwrap()
            .contains("headings but no checks")
    );
    let words = read(&[("a.csv", b"x,y\n1,2\n")]);
    assert!(words.nothing_usable().unwrap().contains("None of the 1"));
}

#[test]
fn overlapping_exports_count_each_check_once() {
    let a = log("2026-01-05,Plover,35.1,6.8\n2026-01-06,Plover,35.2,6.9\n");
    let b = log("2026-01-06,Plover,35.2,6.9\n2026-01-07,Plover,35.3,7.0\n");
    let intake = read(&[("a.csv", a.as_bytes()), ("b.csv", b.as_bytes())]);
    assert_eq!(intake.checks.len(), 3);
    assert_eq!(intake.files[1].duplicates(), 1);
    assert_eq!(intake.files[1].checks(), 1);
}
