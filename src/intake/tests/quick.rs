//! Rows taken in one pass are what rows split and looked at cell by cell are.

use super::*;
use proptest::prelude::*;

/// A cell of a column of numbers: mostly plain, in a few shapes, and what else logs hold.
fn number() -> impl Strategy<Value = String> {
    prop_oneof![
        12 => "[36][0-9][,][0-9]",
        3 => "[1-9][,][0-9]{1,3}",
        2 => "[0-9]{1,2}",
        1 => "",
        1 => " ?6,8[* ]?",
        1 => "[0-9]{3}[,][0-9]{5}",
        1 => "[-0-9,.;a< ]{1,6}",
    ]
}

pub(in crate::intake) fn row() -> impl Strategy<Value = String> {
    let date = prop_oneof![
        12 => "2026-0[1-6]-[0-2][0-9]",
        1 => "0[1-9]\\.0[1-6]\\.2026",
        1 => "2029-01-01|1975-01-01| 2026-01-05 |Summe|2026-01-05 07:30",
        1 => "",
    ];
    let cabinet = prop_oneof![9 => "plover|dunlin", 1 => "Plover| plover|AVOCET|"];
    let note = prop_oneof![6 => Just(String::new()), 1 => "lid ?;?wiped"];
    let end = prop_oneof![9 => Just("\n"), 1 => Just("\r\n"), 1 => Just("\n\n"), 1 => Just(";\n")];
    (date, number(), cabinet, number(), note, number(), end)
        .prop_map(|(d, a, c, b, n, p, end)| format!("{d};{a};{c};{b};{n};{p}{end}"))
}

/// What was read, as text: files, issues, and every check with the bits of its values.
fn all_of(intake: &Intake) -> String {
    let mut text = format!("{:#?}\n{:#?}\n", intake.issues, intake.missing_days);
    for file in &intake.files {
        text.push_str(&format!("{} {:#?}\n", file.dialect, file.sheets));
    }
    for (cabinet, of) in intake.checks.cabinets().iter().zip(intake.checks.all()) {
        text.push_str(&format!("{cabinet} {:?}\n", of.at()));
        for row in 0..of.len() {
            text.push_str(&format!("{:?} ", of.source(row)));
            for measure in of.measures() {
                let bits = of.value(measure, row).map(f64::to_bits);
                text.push_str(&format!("{measure:?} {bits:?} "));
            }
        }
    }
    text
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, cases: 200, ..ProptestConfig::default() })]

    #[test]
    fn a_log_reads_the_same_in_one_pass_and_cell_by_cell(
        rows in prop::collection::vec(row(), 1..40),
        last in "(\r?\n)?",
    ) {
        let heading = "Kammertemperatur °C;Kammer;Turmtemperatur °C;Bemerkung;pH\n";
        let body = rows.concat() + "2026-06-30;35,0;plover;48,1;;6,8" + &last;
        let plain = format!("Datum;{heading}{body}");
        // A quotation mark that has a meaning rules the one pass out, and changes nothing else.
        let marked = format!("\"Datum\";{heading}{body}");
        let read = |text: &str| all_of(&read(&[("a.csv", text.as_bytes())]));
        prop_assert_eq!(read(&plain), read(&marked));
    }
}
