//! Cells as logs hold them, and the properties of reading.

use super::*;
use crate::intake::plausible::possible;
use crate::intake::{checks::Measure, unit::Conversion};
use proptest::prelude::*;

fn deterministic() -> ProptestConfig {
    ProptestConfig {
        cases: 512,
        failure_persistence: None,
        rng_seed: proptest::test_runner::RngSeed::Fixed(20_260_303),
        ..ProptestConfig::default()
    }
}

#[test]
fn reads_nothing_as_missing() {
    let cells = [
        "",
        "  ",
        "\u{a0}",
        "-",
        "–",
        "—",
        "--",
        "---",
        ".",
        "...",
        "…",
        "n/a",
        "N/A",
        "NA",
        "n.a.",
        "k.A.",
        "k. A.",
        "s/o",
        "S.O.",
        "N.D.",
        "n.d.",
        "nd",
        "#N/A",
        "#NV",
        "#N/D",
        "null",
        "none",
        "?",
        "/",
        "s/d",
        "n.v.",
        "not measured",
        "nicht gemessen",
        "non mesuré",
        "no medido",
        "keine Angabe",
        "\u{feff}",
        "____",
    ];
    for cell in cells {
        assert_eq!(read(cell, Style::POINT), Reading::Missing, "{cell:?}");
    }
}

#[test]
fn reads_plain_numbers_in_every_style() {
    let table: [(&str, Style, f64); 34] = [
        ("35", Style::POINT, 35.0),
        ("35.1", Style::POINT, 35.1),
        ("-0.5", Style::POINT, -0.5),
        ("−0.5", Style::POINT, -0.5),
        ("–3", Style::POINT, -3.0),
        ("+7.0", Style::POINT, 7.0),
        (" 6.8 ", Style::POINT, 6.8),
        ("\u{a0}6.8\u{a0}", Style::POINT, 6.8),
        (".5", Style::POINT, 0.5),
        ("35.", Style::POINT, 35.0),
        ("'35.1", Style::POINT, 35.1),
        ("007", Style::POINT, 7.0),
        ("1,234.5", Style::POINT, 1234.5),
        ("1,234,567", Style::POINT, 1_234_567.0),
        ("1 234.5", Style::POINT, 1234.5),
        ("1'234.5", Style::POINT, 1234.5),
        ("1’234.5", Style::POINT, 1234.5),
        ("1.0312", Style::POINT, 1.0312),
        ("1.031", Style::POINT, 1.031),
        ("1e3", Style::POINT, 1000.0),
        ("1.2E-1", Style::POINT, 0.12),
        ("35,1", Style::COMMA, 35.1),
        ("1,031", Style::COMMA, 1.031),
        ("1.234,5", Style::COMMA, 1234.5),
        ("1.234.567,8", Style::COMMA, 1_234_567.8),
        ("1 234,5", Style::COMMA, 1234.5),
        ("1\u{a0}234,5", Style::COMMA, 1234.5),
        ("1\u{202f}234,5", Style::COMMA, 1234.5),
        ("12 345 678", Style::COMMA, 12_345_678.0),
        ("1,2e3", Style::COMMA, 1200.0),
        ("35,1", Style::PER_CELL, 35.1),
        ("35.1", Style::PER_CELL, 35.1),
        ("0,985", Style::PER_CELL, 0.985),
        ("1 234,567", Style::PER_CELL, 1234.567),
    ];
    for (cell, style, value) in table {
        assert_eq!(
            read(cell, style),
            Reading::Value(value),
            "{cell:?} {style:?}"
        );
    }
}

#[test]
fn refuses_what_it_would_have_to_guess() {
    let table = [
        ("<1", Refusal::Below),
        ("≤ 2,0", Refusal::Below),
        (">7", Refusal::Above),
        (">=7", Refusal::Above),
        ("OK", Refusal::Words),
        ("see remark", Refusal::Words),
        ("=A1+B2", Refusal::Words),
        ("<script>", Refusal::Below),
        ("6.8 approx by eye", Refusal::NumberAndWords),
        ("35 a", Refusal::NumberAndWords),
        ("34-36", Refusal::SeveralNumbers),
        ("34.8/35.2", Refusal::SeveralNumbers),
        ("35 ± 1", Refusal::SeveralNumbers),
        ("02.03.2026", Refusal::Date),
        ("#DIV/0!", Refusal::FormulaError),
        ("#WERT!", Refusal::FormulaError),
        ("#¿NOMBRE?", Refusal::FormulaError),
        ("Err:502", Refusal::FormulaError),
        ("####", Refusal::FormulaError),
        ("NaN", Refusal::NotFinite),
        ("-inf", Refusal::NotFinite),
        ("∞", Refusal::NotFinite),
        ("1e308", Refusal::TooLarge),
        ("1e999", Refusal::TooLarge),
        ("99999999999999999999", Refusal::TooLarge),
        ("1,234", Refusal::ThousandsOrDecimal),
        ("12,34,5", Refusal::Grouping),
        ("12 34.5", Refusal::NumberAndWords),
    ];
    for (cell, refusal) in table {
        let found = read(cell, Style::POINT);
        // Two numbers with a blank between are refused under either reason.
        if cell == "12 34.5" {
            assert!(matches!(found, Reading::Refused(_)), "{cell:?} {found:?}");
        } else {
            assert_eq!(found, Reading::Refused(refusal), "{cell:?}");
        }
        assert!(refusal.problem().len() > 10 && !refusal.hint().is_empty());
    }
    assert_eq!(
        read("1.234", Style::COMMA),
        Reading::Refused(Refusal::ThousandsOrDecimal)
    );
    assert_eq!(
        read("1.234", Style::PER_CELL),
        Reading::Refused(Refusal::ThousandsOrDecimal)
    );
    let declared = Style::declared('.').unwrap();
    assert_eq!(read("1,234", declared), Reading::Value(1234.0));
}

#[test]
fn keeps_flagged_numbers_and_says_so() {
    for (cell, value, flag) in [
        ("6.8*", 6.8, "*"),
        ("6.8 (a)", 6.8, "(a)"),
        ("~6.8", 6.8, "~"),
        ("ca. 6.8", 6.8, "ca."),
        ("6.8 †", 6.8, "†"),
        ("6.8²", 6.8, "²"),
        ("6.8 [1]", 6.8, "[1]"),
        ("35.1 °C*", 35.1, "*"),
        ("6.8?", 6.8, "?"),
        ("6.8 (recalibrated)", 6.8, "(recalibrated)"),
    ] {
        let Reading::Marked(marked) = read(cell, Style::POINT) else {
            panic!("{cell:?} {:?}", read(cell, Style::POINT));
        };
        assert_eq!(
            (marked.value, marked.flag.as_deref()),
            (value, Some(flag)),
            "{cell:?}"
        );
        assert!(marked.says().unwrap().contains("kept"));
    }
    let Reading::Marked(marked) = read("35,1", Style::POINT) else {
        panic!();
    };
    assert!(marked.value == 35.1 && marked.says().unwrap().contains("decimal sign"));
}

#[test]
fn reads_the_unit_beside_the_number() {
    for (cell, value, unit) in [
        ("35,1 °C", 35.1, "°C"),
        ("1,5 mL", 1.5, "mL"),
        ("1,5ml", 1.5, "mL"),
        ("95°F", 95.0, "°F"),
        ("95 F", 95.0, "°F"),
        ("16 h", 16.0, "h"),
        ("24 mL/16h", 24.0, "mL/16 h"),
        ("0,9 bar(g)", 0.9, "bar(g)"),
        ("5 %", 5.0, "%"),
        ("7 pH", 7.0, "1"),
    ] {
        let Reading::Marked(marked) = read(cell, Style::COMMA) else {
            panic!("{cell:?} {:?}", read(cell, Style::COMMA));
        };
        assert_eq!(marked.value, value, "{cell:?}");
        assert_eq!(marked.unit, Unit::parse(unit), "{cell:?}");
        assert_eq!(marked.says(), None);
    }
}

#[test]
fn infers_the_decimal_sign() {
    assert_eq!(infer(["35", "36", "n/a", "OK"]), Evidence::Either);
    assert_eq!(infer(["35", "35.1", "x"]), Evidence::Point);
    assert_eq!(infer(["1,031", "35,1 °C"]), Evidence::Comma);
    assert_eq!(infer(["~35,1*"]), Evidence::Comma);
    assert_eq!(
        infer(["1,234", "1,031"]),
        Evidence::Ambiguous("1,234".into())
    );
    assert_eq!(infer(["1.234,5"]), Evidence::Comma);
    assert_eq!(infer(["1,234,567"]), Evidence::Point);
    assert_eq!(infer(["02.03.2026"]), Evidence::Either);
    assert_eq!(
        infer(["35,1", "35.2"]),
        Evidence::Mixed("35.2".into(), "35,1".into())
    );
}

#[test]
fn settles_an_ambiguous_column_by_what_it_can_be() {
    let cells = ["1.029", "1.031"];
    let own = infer(cells);
    let gravity = possible(&Measure::SpecificGravity).map(|r| (r, Conversion::SAME));
    let (style, why) = settle(&own, &Evidence::Comma, None, gravity, cells).unwrap();
    assert_eq!(read("1.029", style), Reading::Value(1.029), "{why}");
    // Without knowing the measure, the rest of the file decides; without it, nothing does.
    let (style, _) = settle(&own, &Evidence::Comma, None, None, cells).unwrap();
    assert_eq!(read("1.029", style), Reading::Value(1029.0));
    assert!(settle(&own, &Evidence::Either, None, None, cells).is_err());
    let (style, _) = settle(&own, &Evidence::Either, Some('.'), None, cells).unwrap();
    assert_eq!(read("1.029", style), Reading::Value(1.029));
    let (style, _) = settle(&Evidence::Either, &Evidence::Comma, None, None, []).unwrap();
    assert_eq!(style, Style::COMMA);
}

#[test]
fn takes_floats_from_spreadsheets() {
    assert_eq!(from_float(35.1), Reading::Value(35.1));
    assert_eq!(from_float(f64::NAN), Reading::Refused(Refusal::NotFinite));
    assert_eq!(from_float(-1e308), Reading::Refused(Refusal::TooLarge));
}

/// Writes a number with that decimal sign and thousands mark.
fn written(value: i64, decimals: usize, sign: &str, thousands: &str) -> String {
    let scale = 10_i64.pow(decimals as u32);
    let whole = (value.abs() / scale).to_string();
    let mut grouped = String::new();
    for (index, digit) in whole.chars().enumerate() {
        if index > 0 && (whole.len() - index).is_multiple_of(3) {
            grouped.push_str(thousands);
        }
        grouped.push(digit);
    }
    let minus = if value < 0 { "-" } else { "" };
    format!("{minus}{grouped}{sign}{:0decimals$}", value.abs() % scale)
}

proptest! {
    #![proptest_config(deterministic())]

    #[test]
    fn never_panics(text in any::<String>()) {
        for style in [Style::POINT, Style::COMMA, Style::PER_CELL] {
            let _ = read(&text, style);
        }
        let _ = infer([text.as_str()]);
    }

    #[test]
    fn never_panics_on_number_like_text(text in "[-+−0-9., '\u{a0}eE*()°CFml/<>~#%²é]{0,16}") {
        for style in [Style::POINT, Style::COMMA, Style::PER_CELL] {
            if let Some(value) = read(&text, style).value() {
                prop_assert!(value.is_finite());
            }
        }
        let _ = infer([text.as_str()]);
    }

    #[test]
    fn never_panics_on_bytes(bytes in proptest::collection::vec(any::<u8>(), 0..24)) {
        let _ = read_plain(&bytes, Style::POINT);
        let _ = read(&String::from_utf8_lossy(&bytes), Style::COMMA);
    }

    #[test]
    fn a_written_number_reads_back(value in -99_999_999_i64..99_999_999, decimals in 1_usize..=4) {
        let expected = value as f64 / 10_f64.powi(decimals as i32);
        for (style, sign, marks) in [
            (Style::POINT, ".", ["", ",", " ", "'", "\u{202f}"]),
            (Style::COMMA, ",", ["", ".", " ", "’", "\u{a0}"]),
        ] {
            for thousands in marks {
                let text = written(value, decimals, sign, thousands);
                prop_assert_eq!(read(&text, style), Reading::Value(expected), "{}", text);
            }
        }
    }

    #[test]
    fn the_fast_path_reads_as_std_does(value in -1e6..1e6f64, decimals in 0_usize..=6) {
        let text = format!("{value:.decimals$}");
        let expected: f64 = text.parse().unwrap();
        prop_assert_eq!(read_plain(text.as_bytes(), Style::POINT), Some(expected), "{}", text);
    }
}
