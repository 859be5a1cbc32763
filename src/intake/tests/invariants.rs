//! What must hold for any bytes: no panic, every cell counted, no influence of order.

use super::*;
use rand::{RngExt, SeedableRng, seq::SliceRandom};
use rand_chacha::ChaCha8Rng;

/// Cells that logs hold, good and bad.
const CELLS: [&str; 40] = [
    "",
    " ",
    "2026-01-05",
    "05.01.2026",
    "03/04/2026",
    "07:30",
    "Plover",
    "dunlin",
    "35.1",
    "35,1",
    "1,234",
    "1.234,5",
    "6.8*",
    "<1",
    "n/a",
    "-",
    "NaN",
    "inf",
    "1e308",
    "OK",
    "\"",
    "\"a\nb\"",
    "'=1+1",
    "<script>",
    "\u{1b}[31m",
    "°C",
    "kPa",
    "Date",
    "pH",
    "Tower temp. °C",
    "Cabinet temp. °C",
    "Cabinet",
    "Total",
    "Mittelwert",
    "Cabinet: Avocet",
    "46000",
    "9999999999",
    "\u{0}",
    "95 °F",
    "35 36",
];

fn dirty_log(rng: &mut ChaCha8Rng) -> String {
    let delimiter = [",", ";", "\t", "|"][rng.random_range(0..4)];
    let mut text = String::new();
    if rng.random_bool(0.7) {
        text.push_str(&["Date", "Cabinet", "Cabinet temp. °C", "pH", "Note"].join(delimiter));
        text.push('\n');
    }
    for _ in 0..rng.random_range(0..30) {
        let mut cells: Vec<&str> = Vec::new();
        if rng.random_bool(0.6) {
            cells.extend(["2026-01-05", "Plover", "35.1"]);
        }
        for _ in 0..rng.random_range(0..5) {
            cells.push(CELLS[rng.random_range(0..CELLS.len())]);
        }
        text.push_str(&cells.join(delimiter));
        text.push_str(["\n", "\r\n", "\n\n"][rng.random_range(0..3)]);
    }
    text
}

/// Cells below the first heading: those counted must be all there are.
fn assert_all_cells_counted(intake: &Intake, texts: &[(String, String)]) {
    for (file, (name, text)) in intake.files.iter().zip(texts) {
        for sheet in &file.sheets {
            let issues: u64 = intake
                .issues
                .iter()
                .filter(|i| i.place.path == file.path && i.effect == Effect::CellRejected)
                .map(|i| i.count)
                .sum();
            assert!(sheet.cells.rejected >= issues, "{name}: {}", told(intake));
            if let [table] = sheet.tables.as_slice() {
                let line = table.heading_line.unwrap_or(0);
                let expected = expected_cells(&file.dialect, text, line, table.columns.len());
                assert_eq!(
                    sheet.cells.total(),
                    expected,
                    "{name}\n{text}\n{}",
                    told(intake)
                );
            }
        }
    }
}

/// Cells below a line, counted by the csv crate alone.
fn expected_cells(dialect: &str, text: &str, line: u64, width: usize) -> u64 {
    let delimiter = match dialect {
        d if d.contains("semicolons") => b';',
        d if d.contains("tabs") => b'\t',
        d if d.contains('|') => b'|',
        _ => b',',
    };
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(delimiter)
        .from_reader(text.as_bytes());
    let mut cells = 0;
    for record in reader.records() {
        let record = record.unwrap();
        // The record's own line, past the blank ones in front of it.
        let byte = record.position().unwrap().byte() as usize;
        let blank = text[byte..]
            .bytes()
            .take_while(|b| matches!(b, b'\n' | b'\r'))
            .count();
        let own = 1 + text[..byte + blank].matches('\n').count() as u64;
        if own > line {
            cells += record.len().max(width) as u64;
        }
    }
    cells
}

#[test]
fn every_cell_of_a_dirty_log_is_counted_once() {
    let mut rng = ChaCha8Rng::seed_from_u64(20_260_701);
    let mut with_checks = 0;
    for _ in 0..150 {
        // Quotation marks are another test's: here the csv crate is the reference.
        let text = dirty_log(&mut rng).replace('"', "");
        let intake = read(&[("a.csv", text.as_bytes())]);
        with_checks += usize::from(!intake.checks.is_empty());
        assert_all_cells_counted(&intake, &[("a.csv".into(), text)]);
    }
    // The generator must not produce only logs that are refused.
    assert!(with_checks > 60, "{with_checks}");
}

#[test]
fn any_bytes_are_read_without_a_panic() {
    let mut rng = ChaCha8Rng::seed_from_u64(7);
    for round in 0..120 {
        let mut bytes = if round % 3 == 0 {
            (0..rng.random_range(0..600))
                .map(|_| rng.random())
                .collect()
        } else {
            dirty_log(&mut rng).into_bytes()
        };
        for _ in 0..rng.random_range(0..6) {
            if !bytes.is_empty() {
                let at = rng.random_range(0..bytes.len());
                bytes[at] = rng.random();
            }
        }
        for name in ["a.csv", "a.xlsx", "a.xls", "a.ods", "a.parquet"] {
            if round % 10 == 0 || name == "a.csv" {
                let intake = read(&[(name, &bytes)]);
                assert_eq!(intake.files.len(), 1);
                for i in &intake.issues {
                    assert!(!i.problem.is_empty());
                    assert!(!i.problem.contains('\u{1b}'), "{}", i.problem);
                }
            }
        }
    }
}

#[test]
fn the_order_in_which_files_are_found_changes_nothing() {
    let mut rng = ChaCha8Rng::seed_from_u64(11);
    let texts: Vec<String> = (0..6).map(|_| dirty_log(&mut rng)).collect();
    let names = ["a.csv", "b.csv", "c.csv", "d.csv", "e.csv", "f.csv"];
    let mut logs: Vec<(&str, &[u8])> = names
        .into_iter()
        .zip(texts.iter().map(String::as_bytes))
        .collect();
    let first = read(&logs);
    for _ in 0..5 {
        logs.shuffle(&mut rng);
        let again = read(&logs);
        assert_eq!(format!("{:?}", again.checks), format!("{:?}", first.checks));
        assert_eq!(again.issues, first.issues);
    }
}
