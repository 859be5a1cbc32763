//! Folding, totals rows, repeated headings.

use super::*;

#[test]
fn folds_case_accents_and_blanks() {
    assert_eq!(fold("Nähe  der\u{a0}DÜSE "), "nahe der duse");
    assert_eq!(fold("Größe"), "grosse");
    assert_eq!(fold("\u{feff}Température"), "temperature");
    assert_eq!(fold("cm² ℃"), "cm2 °c");
    assert_eq!(heading_key("  Temp.   (°C) "), "temp. (°c)");
    // One character or letter and accent: the same heading.
    assert_eq!(heading_key("Na\u{308}he"), heading_key("NÄHE"));
    assert_ne!(heading_key("Nähe"), heading_key("Nahe"));
}

#[test]
fn tells_totals_rows() {
    for cell in [
        "Total",
        "TOTAL:",
        "Summe",
        "Mittelwert",
        "Mittelwert:",
        "Ø",
        "Moyenne",
        "Promedio",
        "Average",
        "Min",
        "Max.",
        "Mean",
        "Std Dev",
        "Écart type",
        "Desviación",
        "Average March",
        "Summe 03/2026",
        "Monatsmittel",
        "Anzahl",
    ] {
        assert!(is_totals_label(cell), "{cell:?}");
    }
    for cell in [
        "",
        "2026-03-02",
        "Max Muster",
        "Plover",
        "Min Ji",
        "Kammer 1",
        "Meanwood",
        "Mo",
        "Media Luna",
    ] {
        assert!(!is_totals_label(cell), "{cell:?}");
    }
}

#[test]
fn tells_repeated_headings() {
    let headings: Vec<String> = ["Date", "Collection | near (mL)", "pH", ""]
        .map(String::from)
        .into();
    let repeats = |cells: &[&str]| is_repeated_heading(cells.iter().copied(), &headings);
    assert!(repeats(&["Date", "Collection", "pH"]));
    assert!(repeats(&["", "near (mL)", "PH"]));
    assert!(repeats(&["DATE", "Collection | near (mL)", "pH", ""]));
    assert!(!repeats(&["2026-03-02", "24", "6.8"]));
    assert!(!repeats(&["2026-03-02", "24", "pH"]));
    assert!(!repeats(&["", "", ""]));
    assert!(!repeats(&["pH", "Date", "Collection"]));
}
