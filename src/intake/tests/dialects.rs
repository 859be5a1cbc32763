//! Logs as three kinds of labs keep them.

use super::*;
use rust_xlsxwriter::{ExcelDateTime, Format, Workbook};

#[test]
fn semicolons_decimal_commas_and_german_headings() {
    let log = "Prüfkammer: Plover\n\
               \n\
               Datum;Uhrzeit;Kammertemp. (°C);Turmtemp. (°C);Druck (bar);Auffang nah (mL/h);pH;Bem.\n\
               13.01.2026;07:30;35,1;47,9;1,02;1,52;6,8;\n\
               14.01.2026;07:31;35,0;48,0;1,01;1,49;6,9;Düse gereinigt\n\
               ;;;;;;;\n\
               Mittelwert;;35,05;47,95;1,015;1,505;6,85;\n";
    let latin: Vec<u8> = log.chars().map(|c| c as u8).collect();
    let intake = read(&[("kammer.csv", &latin)]);
    assert_eq!(intake.checks.len(), 2, "{}", told(&intake));
    assert_eq!(&*intake.checks.cabinets()[0], "plover");
    assert_eq!(intake.cabinet_names["plover"], "Plover");
    assert_eq!(
        column(&intake, &Measure::CabinetTemperature),
        [35.1, 35.0],
        "{}",
        told(&intake)
    );
    assert_eq!(column(&intake, &Measure::AirPressure), [102.0, 101.0]);
    assert_eq!(column(&intake, &Measure::Ph), [6.8, 6.9]);
    let near = Measure::CaughtRate(Collector::Near(1));
    assert_eq!(column(&intake, &near), [1.52, 1.49]);
    assert_eq!(intake.checks.of(0).unwrap().at()[0], Instant(1_768_289_400));
    assert_eq!(intake.checks.of(0).unwrap().source(0).unwrap().line, 4);
    assert!(rejected(&intake).is_empty(), "{}", told(&intake));
    let file = &intake.files[0];
    assert!(file.dialect.contains("windows-1252") && file.dialect.contains("semicolons"));
    assert_eq!((file.rows(), file.checks()), (2, 2));
    assert!(told(&intake).contains("sum up others"));
}

#[test]
fn a_workbook_in_fahrenheit_and_psi_with_a_sheet_a_month() {
    let mut book = Workbook::new();
    let date = Format::new().set_num_format("m/d/yyyy");
    for (month, name) in [(1_u8, "Jan"), (2, "Feb")] {
        let sheet = book.add_worksheet().set_name(name).unwrap();
        sheet.write(0, 0, "Salt fog cabinet log").unwrap();
        sheet.write(1, 0, "Cabinet: Dunlin").unwrap();
        for (column, heading) in [
            "Date",
            "Cabinet temp. (°F)",
            "Tower temp. (°F)",
            "Air (psi)",
            "pH",
        ]
        .into_iter()
        .enumerate()
        {
            sheet.write(3, column as u16, heading).unwrap();
        }
        for day in 1..=3_u8 {
            let row = 3 + u32::from(day);
            let at = ExcelDateTime::from_ymd(2026, month, day).unwrap();
            sheet.write_with_format(row, 0, &at, &date).unwrap();
            sheet.write(row, 1, 95.0).unwrap();
            sheet.write(row, 2, 118.4).unwrap();
            sheet.write(row, 3, 15.0).unwrap();
            sheet.write(row, 4, 6.8).unwrap();
        }
    }
    book.add_worksheet()
        .set_name("Notes")
        .unwrap()
        .write(0, 0, "nothing")
        .unwrap();
    let bytes = book.save_to_buffer().unwrap();
    let intake = read(&[("2026.xlsx", &bytes)]);
    assert_eq!(intake.checks.len(), 6, "{}", told(&intake));
    assert_eq!(&*intake.checks.cabinets()[0], "dunlin");
    let cabinet = column(&intake, &Measure::CabinetTemperature);
    assert!(cabinet.iter().all(|t| *t == 35.0), "{cabinet:?}");
    let pressure = column(&intake, &Measure::AirPressure);
    assert!(pressure.iter().all(|p| (p - 103.421_359).abs() < 1e-6));
    assert_eq!(intake.files[0].sheets.len(), 3);
    assert_eq!(intake.files[0].sheets[0].tables[0].heading_line, Some(4));
    assert!(rejected(&intake).is_empty(), "{}", told(&intake));
}

#[test]
fn a_two_row_heading_with_the_cabinet_in_a_column() {
    let log = "Date,Cabinet,Temperature,,Collection,,pH\n\
               ,,cabinet °C,tower °C,near mL/h,far mL/h,\n\
               2026-03-02,Avocet,35.2,48.1,1.5,1.4,6.9\n\
               2026-03-02,Sanderling,35.0,48.0,1.6,1.5,7.0\n\
               2026-03-03,AVOCET,35.1,48.2,1.5,1.4,6.8\n";
    let intake = read(&[("fog.csv", log.as_bytes())]);
    assert_eq!(intake.checks.len(), 3, "{}", told(&intake));
    let cabinets: Vec<_> = intake.checks.cabinets().iter().map(|c| &**c).collect();
    assert_eq!(cabinets, ["avocet", "sanderling"]);
    assert_eq!(intake.cabinet_names["avocet"], "Avocet");
    assert_eq!(
        column(&intake, &Measure::TowerTemperature),
        [48.1, 48.2, 48.0]
    );
    let far = Measure::CaughtRate(Collector::Far(1));
    assert_eq!(column(&intake, &far), [1.4, 1.4, 1.5]);
    assert!(
        told(&intake).contains("written in 2 ways"),
        "{}",
        told(&intake)
    );
}

#[test]
fn several_tables_in_one_sheet_keep_their_cabinets() {
    let log = "Cabinet: Plover\n\
               Date;Cabinet temp. °C;pH\n\
               2026-01-05;35.1;6.8\n\
               2026-01-06;35.2;6.9\n\
               \n\
               Cabinet: Dunlin\n\
               Date;pH;Cabinet temp. °C;Tower temp. °C\n\
               2026-01-05;7.0;34.9;47.5\n";
    let intake = read(&[("both.csv", log.as_bytes())]);
    let cabinets: Vec<_> = intake.checks.cabinets().iter().map(|c| &**c).collect();
    assert_eq!(cabinets, ["dunlin", "plover"], "{}", told(&intake));
    assert_eq!(
        column(&intake, &Measure::CabinetTemperature),
        [34.9, 35.1, 35.2]
    );
    assert_eq!(column(&intake, &Measure::Ph), [7.0, 6.8, 6.9]);
    assert_eq!(
        intake
            .checks
            .of(1)
            .unwrap()
            .column(&Measure::TowerTemperature),
        None
    );
    assert_eq!(intake.files[0].sheets[0].tables.len(), 2);
}

#[test]
fn a_logger_gives_daily_means_only_where_no_log_has_the_column() {
    let folder = tempfile::tempdir().unwrap();
    let log = "Date,Cabinet,Cabinet temp. °C,pH\n2026-01-05,Plover,35.1,6.8\n";
    write(folder.path(), &[("a.csv", log.as_bytes())]);
    let mut samples = String::from("Timestamp,Cabinet,Cabinet temp. °C,Tower temp. °C\n");
    for minute in 0..48 * 60 {
        let (day, hour) = (5 + minute / 1440, minute / 60 % 24);
        let tower = 47.0 + f64::from(minute % 2);
        samples.push_str(&format!(
            "2026-01-{day:02} {hour:02}:{:02},PLOVER,34.0,{tower}\n",
            minute % 60
        ));
    }
    std::fs::create_dir(folder.path().join("logger")).unwrap();
    std::fs::write(folder.path().join("logger/plc.csv"), samples).unwrap();
    let intake = read_logs(&Lab::bare(folder.path()), NOW, &Silent);
    let tower: Vec<f64> = column(&intake, &Measure::TowerTemperature)
        .into_iter()
        .filter(|t| !t.is_nan())
        .collect();
    assert_eq!(tower, [47.5, 47.5], "{}", told(&intake));
    let cabinet: Vec<f64> = column(&intake, &Measure::CabinetTemperature)
        .into_iter()
        .filter(|t| !t.is_nan())
        .collect();
    assert_eq!(cabinet, [35.1]);
    let day = intake.daily["plover"][&Measure::TowerTemperature][0];
    assert_eq!((day.n, day.min, day.max), (1440, 47.0, 48.0));
    assert_eq!((day.first, day.last), (47.0, 48.0));
    assert!(told(&intake).contains("daily means"), "{}", told(&intake));
    assert_eq!(intake.files[1].rows(), 2880);
}
