//! Whole heading rows: neighbours, samples, rules, and the hints they lead to.

use crate::intake::checks::{Collector, Measure};
use crate::intake::heading::{ColumnReading, Outcome, RowContext, Samples, recognise_row};
use crate::intake::number::Style;
use crate::intake::role::Role;
use crate::lab::{ColumnRule, OwnCharacteristic};

fn row(headings: &[&str], context: &RowContext) -> Vec<ColumnReading> {
    let headings: Vec<String> = headings.iter().map(|h| (*h).to_owned()).collect();
    recognise_row(&headings, context)
}

fn values(values: &[f64]) -> Samples {
    Samples {
        values: values.to_vec(),
        unit: None,
    }
}

fn measure(column: &ColumnReading) -> Option<&Measure> {
    match &column.outcome {
        Outcome::Measured { measure, .. } => Some(measure),
        _ => None,
    }
}

fn left_out(column: &ColumnReading) -> (&str, &str) {
    match &column.outcome {
        Outcome::LeftOut { problem, hint } => (problem, hint),
        other => panic!("{}: {other:?}", column.heading),
    }
}

fn rule(heading: &str, is: &str, unit: Option<&str>) -> ColumnRule {
    ColumnRule {
        heading: heading.into(),
        is: is.into(),
        unit: unit.map(str::to_owned),
    }
}

#[test]
fn a_whole_row_of_a_plain_log_is_measured() {
    let columns = row(
        &[
            "Datum",
            "Uhrzeit",
            "Kammer",
            "Kammertemperatur [°C]",
            "Turm °C",
            "Druck/bar",
            "Auffangmenge nah [ml]",
            "Auffangmenge fern [ml]",
            "pH-Wert",
            "Dichte 25/25",
            "Prüfer",
            "Bem.",
        ],
        &RowContext::default(),
    );
    let measured: Vec<&Measure> = columns.iter().filter_map(measure).collect();
    assert_eq!(
        measured,
        [
            &Measure::CabinetTemperature,
            &Measure::TowerTemperature,
            &Measure::AirPressure,
            &Measure::CaughtVolume(Collector::Near(1)),
            &Measure::CaughtVolume(Collector::Far(1)),
            &Measure::Ph,
            &Measure::SpecificGravity,
        ]
    );
    let context: Vec<Option<&Role>> = [0, 1, 2, 10, 11]
        .iter()
        .map(|i| columns[*i].role())
        .collect();
    let expected = [
        Role::Date,
        Role::Time,
        Role::Cabinet,
        Role::Operator,
        Role::Remarks,
    ];
    assert_eq!(context, expected.iter().map(Some).collect::<Vec<_>>());
    // A pressure that does not say gauge is used, and told.
    assert!(
        columns[5].reading.why.contains("gauge"),
        "{}",
        columns[5].reading.why
    );
}

#[test]
fn a_bare_temperature_needs_a_tower_beside_it() {
    let context = RowContext {
        files: "logs/a.csv",
        ..RowContext::default()
    };
    let columns = row(&["Date", "Temp. (°C)", "Tower (°C)"], &context);
    assert_eq!(measure(&columns[1]), Some(&Measure::CabinetTemperature));
    let columns = row(&["Date", "Temp. (°C)"], &context);
    let (problem, hint) = left_out(&columns[1]);
    assert!(
        problem.contains("cabinet-temperature or tower-temperature"),
        "{problem}"
    );
    assert_eq!(
        hint,
        "[[log]]\nfiles = \"logs/a.csv\"\n[log.columns]\n\
         \"Temp. (°C)\" = { is = \"cabinet-temperature\", unit = \"°C\" }"
    );
    // A temperature of something else is not the cabinet's for want of another.
    let columns = row(&["Jacket temp. (°C)", "Tower (°C)"], &context);
    left_out(&columns[0]);
    // Two bare ones beside a tower stay open.
    let columns = row(&["Temp. 1 (°C)", "Temp. 2 (°C)", "Tower °C"], &context);
    left_out(&columns[0]);
    left_out(&columns[1]);
}

#[test]
fn a_missing_unit_is_suggested_and_never_assumed() {
    let samples = [
        values(&[92.0, 97.0]),
        values(&[46.0, 48.0]),
        values(&[14.0, 18.0]),
        values(&[0.9, 1.1]),
        values(&[24.0, 30.0]),
        values(&[1028.0, 1033.0]),
        Samples::default(),
    ];
    let context = RowContext {
        files: "logs/b.csv",
        samples: &samples,
        ..RowContext::default()
    };
    let columns = row(
        &[
            "Chamber temp",
            "Tower temp",
            "Air pressure",
            "Druck 2",
            "Near",
            "Density",
            "Far",
        ],
        &context,
    );
    let last_line = |i: usize| left_out(&columns[i]).1.lines().last().unwrap().to_owned();
    assert_eq!(
        last_line(0),
        "\"Chamber temp\" = { is = \"cabinet-temperature\", unit = \"°F\" }"
    );
    assert!(left_out(&columns[0]).0.contains("92 to 97, would fit °F"));
    assert_eq!(
        last_line(1),
        "\"Tower temp\" = { is = \"tower-temperature\", unit = \"°C\" }"
    );
    // Two columns claim the air pressure: both out.
    assert!(left_out(&columns[2]).0.contains("nothing tells them apart"));
    assert_eq!(
        last_line(3),
        "\"Druck 2\" = { is = \"air-pressure\", unit = \"bar\" }"
    );
    assert_eq!(
        last_line(4),
        "\"Near\" = { is = \"collection-near\", unit = \"mL\" }"
    );
    assert_eq!(
        last_line(5),
        "\"Density\" = { is = \"specific-gravity\", unit = \"kg/m³\" }"
    );
    assert!(
        left_out(&columns[6])
            .0
            .contains("neither the heading nor any cell")
    );
}

#[test]
fn units_in_the_cells_count() {
    let samples = [
        Samples::read(["35,1 °C", "34,9 °C", "n/a"], Style::COMMA),
        Samples::read(["35,1 °C", "34,9"], Style::COMMA),
    ];
    assert_eq!(samples[0].values, [35.1, 34.9]);
    let context = RowContext {
        samples: &samples,
        ..RowContext::default()
    };
    let columns = row(&["Kammer", "Turmtemp."], &context);
    assert_eq!(measure(&columns[0]), Some(&Measure::CabinetTemperature));
    left_out(&columns[1]);
}

#[test]
fn rules_of_lab_toml_win() {
    let rules = [
        rule("temp.", "tower-temperature", None),
        rule("Temp.", "cabinet-temperature", Some("°F")),
        rule("X1", "air-presure", Some("bar")),
        rule("X2", "air-pressure", Some("furlong")),
        rule("SG", "specific-gravity", Some("g/cm³")),
        rule("Bem.", "ignore", None),
        rule("P2", "air-pressure", Some("bar")),
    ];
    let context = RowContext {
        files: "logs/a.csv",
        rules: &rules,
        ..RowContext::default()
    };
    let columns = row(
        &["TEMP. ", "X1", "X2", "SG", "Bem.", "Pressure (kPa)", "P2"],
        &context,
    );
    // The last rule wins; case and blanks are folded.
    let Outcome::Measured {
        measure: m,
        conversion,
    } = &columns[0].outcome
    else {
        panic!("{:?}", columns[0]);
    };
    assert_eq!(
        (m, conversion.apply(95.0)),
        (&Measure::CabinetTemperature, 35.0)
    );
    assert!(
        left_out(&columns[1]).0.contains("air-pressure"),
        "{:?}",
        columns[1]
    );
    assert!(left_out(&columns[2]).0.contains("furlong"));
    assert_eq!(
        columns[3].gravity().map(|g| g.relative_to),
        Some(crate::lab::GravityKind::Density)
    );
    assert_eq!(columns[4].outcome, Outcome::Ignored);
    // The recognised pressure steps back for the one that lab.toml names.
    assert_eq!(columns[5].outcome, Outcome::Ignored);
    assert!(columns[5].reading.why.contains("P2"));
    assert_eq!(measure(&columns[6]), Some(&Measure::AirPressure));
}

#[test]
fn own_characteristics_are_found_by_their_headings() {
    let own = [OwnCharacteristic {
        id: "copper".into(),
        unit: "mg/L".into(),
        headings: vec!["Cu".into(), "Kupfer".into()],
        lower: None,
        upper: None,
    }];
    let context = RowContext {
        own: &own,
        ..RowContext::default()
    };
    for heading in ["Cu", "KUPFER", "Cu (mg/L)", "copper"] {
        let columns = row(&[heading], &context);
        assert_eq!(
            measure(&columns[0]),
            Some(&Measure::Own("copper".into())),
            "{heading}"
        );
    }
}

#[test]
fn two_that_claim_the_same_are_both_left_out() {
    let columns = row(
        &["pH", "pH-Wert", "Near (mL)", "Near (mL)"],
        &RowContext::default(),
    );
    for column in &columns {
        assert!(left_out(column).0.contains("nothing tells them apart"));
    }
    // The same quantity in a second unit is set aside.
    let columns = row(
        &["Chamber °C", "Chamber °F", "Near (mL)", "Near (mL/h)"],
        &RowContext::default(),
    );
    assert_eq!(measure(&columns[0]), Some(&Measure::CabinetTemperature));
    assert_eq!(columns[1].outcome, Outcome::Ignored);
    assert_eq!(columns[2].outcome, Outcome::Ignored);
    assert_eq!(
        measure(&columns[3]),
        Some(&Measure::CaughtRate(Collector::Near(1)))
    );
    // Operators and remarks may repeat.
    let columns = row(
        &["Remarks", "Comments", "Operator", "Initials"],
        &RowContext::default(),
    );
    assert!(columns.iter().all(|c| c.outcome == Outcome::Context));
}

#[test]
fn absolute_pressure_and_foreign_units_are_refused() {
    let columns = row(
        &["Pressure (psia)", "Near (kPa)", "Fallout far (°C)"],
        &RowContext::default(),
    );
    assert!(left_out(&columns[0]).0.contains("absolute"));
    assert!(
        columns
            .iter()
            .all(|c| measure(c).is_none() || c.heading.contains("°C"))
    );
    let columns = row(&["Near mL/80cm²"], &RowContext::default());
    assert!(left_out(&columns[0]).0.contains("period"));
}

#[test]
fn what_is_not_known_is_told_with_the_line_to_ignore_it() {
    let context = RowContext {
        files: "logs/c \"x\".csv",
        samples: &[Samples::default(), values(&[1.0])],
        ..RowContext::default()
    };
    let columns = row(&["Foo", "", "Day", "Date"], &context);
    assert_eq!(
        left_out(&columns[0]).1,
        "[[log]]\nfiles = \"logs/c \\\"x\\\".csv\"\n[log.columns]\n\"Foo\" = \"ignore\""
    );
    assert!(left_out(&columns[1]).0.contains("without a heading"));
    assert_eq!(columns[2].reading.role, Some(Role::Weekday));
    assert_eq!(columns[2].outcome, Outcome::Ignored);
}

#[test]
fn one_quantity_in_two_units_must_hold_the_same_values() {
    let headings = [
        "Date".into(),
        "Luftdruck [hPa]".into(),
        "air pressure (MPa)".into(),
    ];
    let samples = |barometer: f64| {
        [
            Samples::default(),
            Samples {
                values: vec![barometer; 5],
                unit: None,
            },
            Samples {
                values: vec![0.098; 5],
                unit: None,
            },
        ]
    };
    let outcomes = |samples: &[Samples]| -> Vec<Outcome> {
        let context = RowContext {
            samples,
            ..RowContext::default()
        };
        let row = recognise_row(&headings, &context);
        row.into_iter().skip(1).map(|c| c.outcome).collect()
    };
    let same = outcomes(&samples(980.0));
    assert!(matches!(same[0], Outcome::Measured { .. }), "{same:?}");
    assert!(matches!(same[1], Outcome::Ignored), "{same:?}");
    let other = outcomes(&samples(1013.0));
    assert!(
        other.iter().all(|o| matches!(o, Outcome::LeftOut { .. })),
        "{other:?}"
    );
}
