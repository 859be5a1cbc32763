//! Parquet files written by another library (`tests/reference/parquet/README.md`).

use super::*;
use std::path::PathBuf;

fn stored(name: &str) -> Vec<u8> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/reference/parquet");
    std::fs::read(folder.join(name)).unwrap()
}

fn cell(table: &ColumnTable, name: &str, row: usize) -> String {
    let column = table.names().iter().position(|n| n == name).unwrap();
    table.field(column, row).text().into_owned()
}

#[test]
fn every_type_of_a_log_reads_as_what_it_is() {
    let table = ColumnTable::read(stored("types.parquet")).unwrap();
    assert_eq!((table.height(), table.width()), (3, 25));
    let first_and_last = |name| (cell(&table, name, 0), cell(&table, name, 2));
    let both = |a: &str, b: &str| (a.to_owned(), b.to_owned());
    let midnights = both("2026-01-05 00:00:00", "2026-01-07 00:00:00");
    assert_eq!(first_and_last("date"), midnights);
    assert_eq!(first_and_last("date64"), midnights);
    let walls = both("2026-01-05 08:30:00", "2026-01-07 09:00:00");
    assert_eq!(first_and_last("wall s"), walls);
    assert_eq!(cell(&table, "wall us", 2), walls.1);
    let utc = table.names().iter().position(|n| n == "utc ns").unwrap();
    assert_eq!(table.field(utc, 0), Field::At(Instant(1_767_601_800)));
    assert_eq!(first_and_last("clock ms"), both("08:30:00", "09:00:00"));
    assert_eq!(first_and_last("clock us"), both("08:30:00", "09:00:00"));
    let span = table.names().iter().position(|n| n == "span").unwrap();
    assert_eq!(table.field(span, 2), Field::Span(1.0));
    assert_eq!(first_and_last("ph"), both("6.8", ""), "NaN is blank");
    assert_eq!(first_and_last("f32"), both("6.5", "7.25"));
    assert_eq!(first_and_last("i8"), both("-5", "7"));
    assert_eq!(first_and_last("u16"), both("5", "65535"));
    assert_eq!(first_and_last("u64"), both("5", "9007199254740992"));
    assert_eq!(first_and_last("i64"), both("16", "24"));
    assert_eq!(first_and_last("decimal"), both("6.8", "-1.25"));
    assert_eq!(first_and_last("small decimal"), both("1.0295", "1.031"));
    assert_eq!(first_and_last("text"), both("Plover", "n/a"));
    assert_eq!(
        cell(&table, "large text", 2),
        "a text that is longer than twelve bytes"
    );
    assert_eq!(first_and_last("dictionary"), both("Plover", "Plover"));
    let flag = table.names().iter().position(|n| n == "flag").unwrap();
    assert_eq!(table.field(flag, 0), Field::Bool(true));
    for column in 0..table.width() {
        assert!(
            table.field(column, 1).is_blank(),
            "{}",
            table.names()[column]
        );
        assert!(table.field(column, 3).is_blank());
    }
    assert!(table.field(99, 0).is_blank());
    assert_eq!(table.unsupported, ["list", "structure", "bytes", "half"]);
}

#[test]
fn types_are_told_without_the_writers_note() {
    let table = ColumnTable::read(stored("types-without-arrow-schema.parquet")).unwrap();
    assert_eq!(cell(&table, "ph", 0), "6.8");
    assert_eq!(cell(&table, "text", 2), "n/a");
}

#[test]
fn every_codec_and_row_group_reads_alike() {
    for codec in ["snappy", "zstd", "gzip", "lz4", "brotli", "int96"] {
        let table = ColumnTable::read(stored(&format!("{codec}.parquet"))).unwrap();
        assert_eq!(table.height(), 40, "{codec}");
        let first = chrono::NaiveDate::from_ymd_opt(2026, 1, 1).unwrap();
        for row in 0..40 {
            let day = first + chrono::Days::new(row as u64);
            assert_eq!(
                cell(&table, "at", row),
                format!("{day} 00:00:00"),
                "{codec}"
            );
            let cabinet = ["Plover", "Dunlin", ""][row % 3];
            assert_eq!(cell(&table, "cabinet", row), cabinet, "{codec}");
            let ph = match row % 7 {
                0 => Field::Blank,
                _ => Field::Number(6.5 + row as f64 / 100.0),
            };
            assert_eq!(table.field(2, row), ph, "{codec}");
        }
    }
}

#[test]
fn a_file_cut_short_or_of_another_kind_is_told() {
    let whole = stored("snappy.parquet");
    for length in [0, 3, 11, whole.len() / 2, whole.len() - 1] {
        let error = ColumnTable::read(whole[..length].to_vec()).unwrap_err();
        assert!(error.contains("damaged"), "{length}: {error}");
    }
    assert!(ColumnTable::read(b"date;pH\n2026-01-05;6,8\n".to_vec()).is_err());
}

#[test]
fn a_damaged_file_costs_no_more_than_itself() {
    // Whatever a damaged byte does to the decoder, the reader comes back with columns of
    // one length or with a sentence.
    let mut refused = 0;
    for name in ["types.parquet", "snappy.parquet", "int96.parquet"] {
        let whole = stored(name);
        for at in (4..whole.len()).step_by(17) {
            let mut bytes = whole.clone();
            bytes[at] ^= 1 << (at % 8);
            match ColumnTable::read(bytes) {
                Ok(table) => assert!(table.field(0, table.height()).is_blank()),
                Err(text) => {
                    assert!(text.starts_with("The Parquet file"), "{text}");
                    refused += 1;
                }
            }
        }
    }
    assert!(refused > 50, "only {refused} damaged files were noticed");
}
