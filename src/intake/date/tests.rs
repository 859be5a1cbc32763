//! Dates and times as logs hold them, orders inferred, serials, and what never panics.

use super::*;
use DateOrder::{DayFirst, MonthFirst, YearFirst};
use proptest::prelude::*;

fn deterministic() -> ProptestConfig {
    ProptestConfig {
        cases: 512,
        failure_persistence: None,
        rng_seed: proptest::test_runner::RngSeed::Fixed(20_260_304),
        ..ProptestConfig::default()
    }
}

fn ordered(order: DateOrder) -> DateStyle {
    DateStyle {
        order: Some(order),
        ..DateStyle::default()
    }
}

fn day(y: i32, m: u32, d: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(y, m, d).unwrap()
}

#[test]
fn reads_dates_that_need_no_order() {
    let second_of_march = [
        "2026-03-02",
        "2026/03/02",
        "2026.03.02",
        "20260302",
        "2026-3-2",
        "2. März 2026",
        "2. Maerz 2026",
        "2 March 2026",
        "2nd March 2026",
        "March 2, 2026",
        "Mar 2 2026",
        "02-Mar-2026",
        "02-MAR-26",
        "2 mars 2026",
        "2 de marzo de 2026",
        "2 marzo 2026",
        "2026-Mar-02",
        "Mo 02.03.2026",
        "Montag, 02.03.2026",
        "Mon 03/02/2026",
        "Lundi 2 mars 2026",
        "lunes, 2 de marzo de 2026",
        "Monday, March 2, 2026",
        "Mo., 2. Mrz. 26",
        "46083",
        "02.03.2026 (Mo)",
        "Monday 2 March 2026",
        "ma 2 maart 2026",
        "Mar 02, 2026",
        "\u{feff}2026-03-02",
        " 2026-03-02 ",
    ];
    for text in second_of_march {
        let expected = DateReading::Read(Stamp::Day(day(2026, 3, 2)));
        assert_eq!(read(text, DateStyle::default()), expected, "{text:?}");
    }
    let table = [
        ("1er mars 2026", day(2026, 3, 1)),
        ("31/12/2026", day(2026, 12, 31)),
        ("12/31/2026", day(2026, 12, 31)),
        ("31.12.26", day(2026, 12, 31)),
        ("04/04/2026", day(2026, 4, 4)),
        ("mar 3 mars 2026", day(2026, 3, 3)),
        ("15 ago 2026", day(2026, 8, 15)),
        ("3 août 2026", day(2026, 8, 3)),
        ("24. Dez. 2025", day(2025, 12, 24)),
        ("7-sept-99", day(1999, 9, 7)),
    ];
    for (text, expected) in table {
        let found = read(text, DateStyle::default());
        assert_eq!(found, DateReading::Read(Stamp::Day(expected)), "{text:?}");
    }
}

#[test]
fn reads_dates_in_the_order_told() {
    for (text, order, expected) in [
        ("03/04/2026", DayFirst, day(2026, 4, 3)),
        ("03/04/2026", MonthFirst, day(2026, 3, 4)),
        ("3.4.26", DayFirst, day(2026, 4, 3)),
        ("02. 03. 2026", DayFirst, day(2026, 3, 2)),
        ("26-03-02", YearFirst, day(2026, 3, 2)),
        ("26/03/02", YearFirst, day(2026, 3, 2)),
        ("2026-03-02", DayFirst, day(2026, 3, 2)),
        ("March 4, 2026", DayFirst, day(2026, 3, 4)),
    ] {
        assert_eq!(
            read(text, ordered(order)),
            DateReading::Read(Stamp::Day(expected)),
            "{text:?}"
        );
    }
}

#[test]
fn reads_dates_with_times() {
    let at = |h, m, s| Stamp::Wall(day(2026, 3, 2).and_hms_opt(h, m, s).unwrap());
    for (text, expected) in [
        ("2026-03-02T07:30", at(7, 30, 0)),
        ("2026-03-02 07:30:15", at(7, 30, 15)),
        ("2026-03-02T07:30:15.250", at(7, 30, 15)),
        ("02.03.2026 07:30 Uhr", at(7, 30, 0)),
        ("02.03.2026, 7.30 Uhr", at(7, 30, 0)),
        ("02.03.2026 um 7:30", at(7, 30, 0)),
        ("02/03/2026 7h30", at(7, 30, 0)),
        ("02/03/2026 à 7 h 30", at(7, 30, 0)),
        ("2 March 2026 7:30 PM", at(19, 30, 0)),
        ("2 March 2026 12:05 a.m.", at(0, 5, 0)),
        ("2 March 2026 12:05 pm", at(12, 5, 0)),
        ("07:30 02.03.2026", at(7, 30, 0)),
        ("Mo 02.03.2026 07:30", at(7, 30, 0)),
        ("46083.3125", at(7, 30, 0)),
        ("20260302 0730", at(7, 30, 0)),
    ] {
        assert_eq!(
            read(text, ordered(DayFirst)),
            DateReading::Read(expected),
            "{text:?}"
        );
    }
    let fixed = Stamp::Fixed(Instant(
        day(2026, 3, 2)
            .and_hms_opt(6, 30, 0)
            .unwrap()
            .and_utc()
            .timestamp(),
    ));
    for text in [
        "2026-03-02T06:30:00Z",
        "2026-03-02T07:30:00+01:00",
        "2026-03-02 07:30+0100",
        "2026-03-02T01:30:00-05:00",
        "2026-03-02 06:30 UTC",
        "2026-03-02T07:30+01",
    ] {
        assert_eq!(
            read(text, DateStyle::default()),
            DateReading::Read(fixed),
            "{text:?}"
        );
    }
    let midnight = Stamp::Wall(day(2026, 3, 3).and_hms_opt(0, 0, 0).unwrap());
    assert_eq!(
        read("2026-03-02T24:00", DateStyle::default()),
        DateReading::Read(midnight)
    );
}

#[test]
fn refuses_what_is_no_date_or_could_be_two() {
    for (text, refusal) in [
        ("03/04/2026", DateRefusal::DayOrMonth),
        ("3.4.2026", DateRefusal::DayOrMonth),
        ("26-03-02", DateRefusal::DayOrMonth),
        ("31.02.2026", DateRefusal::NoSuchDay),
        ("2026-02-30", DateRefusal::NoSuchDay),
        ("2026-13-01", DateRefusal::NoSuchDay),
        ("32/13/2026", DateRefusal::NoSuchDay),
        ("Di 02.03.2026 07:00", DateRefusal::DayOrMonth),
        ("Mi 13.03.2026", DateRefusal::OtherWeekday(Weekday::Fri)),
        ("2 March", DateRefusal::NoYear),
        ("02.03.", DateRefusal::NoYear),
        ("2026-03-02 25:10", DateRefusal::NoSuchTime),
        ("2026-03-02 at dawn", DateRefusal::NotATime),
        ("35.1", DateRefusal::NotADate),
        ("Total", DateRefusal::NotADate),
        ("=TODAY()", DateRefusal::NotADate),
        ("week 12", DateRefusal::NotADate),
        ("1/2/3/4", DateRefusal::NotADate),
    ] {
        let found = read(text, DateStyle::default());
        // `Di 02.03.` fits neither reading when Tuesday is 3 February: it then decides.
        if text.starts_with("Di") {
            let third = day(2026, 2, 3).and_hms_opt(7, 0, 0).unwrap();
            assert_eq!(found, DateReading::Read(Stamp::Wall(third)));
            continue;
        }
        assert_eq!(found, DateReading::Refused(refusal), "{text:?}");
        assert!(!refusal.problem().is_empty() && !refusal.hint().is_empty());
    }
    assert_eq!(read("n/a", DateStyle::default()), DateReading::Missing);
    assert_eq!(read("", DateStyle::default()), DateReading::Missing);
}

#[test]
fn reads_times() {
    let at = |h, m, s| TimeReading::Read(NaiveTime::from_hms_opt(h, m, s).unwrap());
    for (text, expected) in [
        ("07:30", at(7, 30, 0)),
        ("7:30", at(7, 30, 0)),
        ("07:30:15", at(7, 30, 15)),
        ("7.30", at(7, 30, 0)),
        ("7h30", at(7, 30, 0)),
        ("7 h", at(7, 0, 0)),
        ("07:30 Uhr", at(7, 30, 0)),
        ("7 Uhr", at(7, 0, 0)),
        ("7:30 AM", at(7, 30, 0)),
        ("7:30PM", at(19, 30, 0)),
        ("12 pm", at(12, 0, 0)),
        ("12:00 a.m.", at(0, 0, 0)),
        ("0730", at(7, 30, 0)),
        ("07:30:15.5", at(7, 30, 15)),
        ("0.3125", at(7, 30, 0)),
        ("7h30m", at(7, 30, 0)),
        ("19:05 h", at(19, 5, 0)),
        ("a las 7:30", at(7, 30, 0)),
    ] {
        assert_eq!(read_time(text), expected, "{text:?}");
    }
    for text in ["24:00", "7:60", "13:00 PM", "25:00"] {
        assert_eq!(
            read_time(text),
            TimeReading::Refused(DateRefusal::NoSuchTime),
            "{text:?}"
        );
    }
    for text in ["7", "morning", "7:30:15:20", "07:30-08:00", ":", "7:"] {
        assert_eq!(
            read_time(text),
            TimeReading::Refused(DateRefusal::NotATime),
            "{text:?}"
        );
    }
    assert_eq!(read_time("-"), TimeReading::Missing);
}

/// Serial 25569 is 1 January 1970 in the 1900 system; serial 60 is its 29 February 1900;
/// the 1904 system lies 1462 days behind (file-format documentation of spreadsheets, from
/// memory).
#[test]
fn reads_serials_of_both_epochs() {
    let y1900 = |serial| from_serial(serial, Epoch::Y1900);
    assert_eq!(y1900(25_569.0), Ok(Stamp::Day(day(1970, 1, 1))));
    assert_eq!(y1900(1.0), Ok(Stamp::Day(day(1900, 1, 1))));
    assert_eq!(y1900(59.0), Ok(Stamp::Day(day(1900, 2, 28))));
    assert_eq!(y1900(60.0), Err(DateRefusal::Serial));
    assert_eq!(y1900(61.0), Ok(Stamp::Day(day(1900, 3, 1))));
    assert_eq!(
        from_serial(25_569.0 - 1462.0, Epoch::Y1904),
        Ok(Stamp::Day(day(1970, 1, 1)))
    );
    assert_eq!(
        from_serial(0.0, Epoch::Y1904),
        Ok(Stamp::Day(day(1904, 1, 1)))
    );
    let noon = day(2026, 3, 2).and_hms_opt(12, 0, 0).unwrap();
    assert_eq!(y1900(46_083.5), Ok(Stamp::Wall(noon)));
    let next = day(2026, 3, 3).and_hms_opt(0, 0, 0).unwrap();
    assert_eq!(y1900(46_083.999_999_9), Ok(Stamp::Wall(next)));
    for bad in [f64::NAN, f64::INFINITY, -1.0, 0.5, 1e9] {
        assert_eq!(y1900(bad), Err(DateRefusal::Serial), "{bad}");
    }
    let time = NaiveTime::from_hms_opt(7, 30, 0).unwrap();
    assert_eq!(time_from_serial(0.3125), Ok(time));
    assert_eq!(time_from_serial(f64::NAN), Err(DateRefusal::NotATime));
}

#[test]
fn infers_the_order_or_leaves_it_open() {
    use OrderEvidence::{Contradictory, Decided, NotNeeded, Open};
    let first = |e: OrderEvidence| match e {
        Decided(order, _) => Some(order),
        _ => None,
    };
    assert_eq!(
        infer_order(["2026-03-02", "2 March 2026", "x", ""]),
        NotNeeded
    );
    assert_eq!(infer_order(["04/04/2026"]), NotNeeded);
    assert_eq!(
        first(infer_order(["01/02/2026", "13/02/2026"])),
        Some(DayFirst)
    );
    assert_eq!(
        first(infer_order(["01/02/2026", "01/13/2026"])),
        Some(MonthFirst)
    );
    assert_eq!(
        first(infer_order(["26-03-02", "26-03-03", "26-03-04"])),
        Some(YearFirst)
    );
    assert_eq!(first(infer_order(["Mo 02.03.2026"])), Some(DayFirst));
    assert_eq!(first(infer_order(["Mon 03/02/2026"])), Some(MonthFirst));
    assert!(matches!(
        infer_order(["13/02/2026", "02/13/2026"]),
        Contradictory(_, _)
    ));
    let daily = [
        "02.03.2026",
        "03.03.2026",
        "04.03.2026",
        "05.03.2026",
        "06.03.2026",
    ];
    assert_eq!(
        infer_order(daily),
        Open("02.03.2026".into(), Some(DayFirst))
    );
    assert_eq!(
        infer_order(["03/04/2026", "05/06/2026"]),
        Open("03/04/2026".into(), None)
    );
}

#[test]
fn doubts_dates_that_cannot_be_of_a_log() {
    let today = day(2026, 3, 31);
    assert_eq!(doubt(day(1900, 1, 1), today), Some(DateDoubt::TooEarly));
    assert_eq!(doubt(day(2099, 1, 1), today), Some(DateDoubt::InTheFuture));
    assert_eq!(doubt(day(2026, 4, 1), today), None);
    assert_eq!(doubt(day(2026, 4, 2), today), Some(DateDoubt::InTheFuture));
    assert_eq!(doubt(day(2016, 4, 2), today), None);
}

#[test]
fn joins_separate_columns() {
    let time = NaiveTime::from_hms_opt(7, 30, 0).unwrap();
    let wall = day(2026, 3, 2).and_time(time);
    assert_eq!(
        join(Stamp::Day(day(2026, 3, 2)), Some(time)),
        Stamp::Wall(wall)
    );
    assert_eq!(
        join(Stamp::Wall(wall), Some(NaiveTime::MIN)),
        Stamp::Wall(wall)
    );
}

proptest! {
    #![proptest_config(deterministic())]

    #[test]
    fn never_panics(text in any::<String>()) {
        let _ = (read(&text, DateStyle::default()), read_time(&text), infer_order([text.as_str()]));
    }

    #[test]
    fn never_panics_on_date_like_text(text in "[A-Za-zé]{0,4}[0-9./: ,+-]{0,14}[A-Za-z]{0,4}[0-9./:T+-]{0,8}") {
        let _ = (read(&text, ordered(YearFirst)), read_time(&text), infer_order([text.as_str()]));
    }

    #[test]
    fn a_written_date_reads_back(days in 0_u64..40_000, seconds in 0_u32..86_400) {
        let date = day(1980, 1, 1) + chrono::Days::new(days);
        let wall = date.and_time(NaiveTime::from_num_seconds_from_midnight_opt(seconds, 0).unwrap());
        for (format, style) in [
            ("%Y-%m-%d %H:%M:%S", DateStyle::default()),
            ("%Y-%m-%dT%H:%M:%S", DateStyle::default()),
            ("%d.%m.%Y %H:%M:%S", ordered(DayFirst)),
            ("%a %d/%m/%Y %H:%M:%S", ordered(DayFirst)),
            ("%m/%d/%Y %I:%M:%S %p", ordered(MonthFirst)),
            ("%-m-%-d-%Y %H:%M:%S", ordered(MonthFirst)),
            ("%d %B %Y %H:%M:%S", DateStyle::default()),
            ("%A, %B %-d, %Y %I:%M:%S %p", DateStyle::default()),
            ("%Y%m%d %H:%M:%S", DateStyle::default()),
        ] {
            let text = wall.format(format).to_string();
            prop_assert_eq!(read(&text, style), DateReading::Read(Stamp::Wall(wall)), "{}", text);
        }
        let serial = (date - day(1899, 12, 30)).num_days() as f64 + f64::from(seconds) / 86_400.0;
        let expected = if seconds == 0 { Stamp::Day(date) } else { Stamp::Wall(wall) };
        prop_assert_eq!(from_serial(serial, Epoch::Y1900), Ok(expected));
    }
}
