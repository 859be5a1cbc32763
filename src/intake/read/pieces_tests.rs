//! A log read in pieces is what it is read whole.

use super::file::{Sizes, in_pieces};
use super::*;
use crate::intake::load::{Format, Found};
use crate::intake::rules::Rules;
use crate::intake::tests::quick::row;
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;

const SIZES: Sizes = Sizes {
    beginning: 16_000,
    piece: 500,
};

/// What a file gives, read in pieces and whole.
fn both(text: &[u8]) -> (Option<String>, String) {
    let folder = tempfile::tempdir().unwrap();
    let full = folder.path().join("a.csv");
    std::fs::write(&full, text).unwrap();
    let found = Found {
        full,
        path: "a.csv".into(),
        format: Format::Text,
        size: text.len() as u64,
    };
    let lab = Lab::bare(folder.path());
    let (directory, buffers) = (Directory::of(&lab), Buffers::default());
    let setting = Setting {
        lab: &lab,
        directory: &directory,
        // 1 July 2026, noon.
        now: Instant(1_782_907_200),
        is_logger: false,
    };
    let told = |read: &FileRead| format!("{:#?}{:#?}{:#?}", read.outcome, read.issues, read.sheets);
    let rules = Rules::of(&lab, &found.path, None);
    let pieces = in_pieces(setting, &found, &rules, SIZES);
    // Far smaller than the beginning of a log that is read in pieces.
    let whole = read_file(setting, &found, &buffers);
    (pieces.as_ref().map(told), told(&whole))
}

#[test]
fn a_log_in_pieces_is_the_whole_log() {
    let mut runner = TestRunner::deterministic();
    let rows = prop::collection::vec(row(), 300..400);
    let mut in_pieces = 0;
    for _ in 0..12 {
        let rows = rows.new_tree(&mut runner).unwrap().current();
        // Dirt early in a log makes it one that has to be looked at whole.
        let text = "Datum;Kammertemperatur °C;Kammer;Turmtemperatur °C;Bemerkung;pH\n".to_owned()
            + &"2026-03-17;35,1;plover;47,9;;6,8\n".repeat(500)
            + &rows.concat();
        let (pieces, whole) = both(text.trim_end().as_bytes());
        if let Some(pieces) = pieces {
            assert_eq!(pieces, whole);
            in_pieces += 1;
        }
    }
    assert!(in_pieces >= 8, "{in_pieces}");
}

#[test]
fn what_needs_a_second_look_is_read_whole() {
    let head = "date,cabinet,pH,note\n";
    let rows = "2026-03-02,plover,6.8,\n".repeat(1_200);
    let usual = both(format!("{head}{rows}").as_bytes());
    assert_eq!(usual.0, Some(usual.1));
    for late in [
        // A quotation mark with a meaning, bytes of no UTF-8, another table, a line too long.
        "2026-03-03,plover,6.9,\"a, b\"\n".as_bytes(),
        b"2026-03-03,plover,6.9,stra\xdfe\n",
        b"cabinet,date,tower temp. C,pH\nplover,2026-03-03,47.9,6.9\n",
        &[b'7'; 2 << 20],
    ] {
        let text = [head.as_bytes(), rows.as_bytes(), late].concat();
        let (pieces, _) = both(&text);
        assert_eq!(pieces, None, "{}", String::from_utf8_lossy(&late[..8]));
    }
}
