//! The log of Knot and Avocet: UTF-8 CSV with a byte-order mark, a heading of two rows,
//! French wording, date and time in columns of their own, a column for the cabinet.

use super::DemoError;
use super::calendar::{Day, date};
use super::daily::Check;
use super::noise::Noise;
use super::page::{Dirt, DirtKind, Page, density, to_step, written};
use super::scenario::{Cabinet, checks};
use chrono::{Datelike, NaiveDate};

const PATH: &str = "logs/releves-knot-avocet.csv";

/// First row of the heading: the group stands over its first column only.
const GROUPS: &str = "Date,Heure,Enceinte,Températures,,Air comprimé,Recueil,,Solution recueillie,,Opérateur,Remarques";
/// Second row of the heading.
const UNITS: &str = ",,,Enceinte (°C),Saturateur (°C),Pression (kPa),Proche (mL/h/80 cm²),Éloigné (mL/h/80 cm²),pH,Densité à 25 °C (g/cm³),,";
/// The column names by which dirt is told.
const COLUMNS: [&str; 12] = [
    "Date",
    "Heure",
    "Enceinte",
    "Enceinte (°C)",
    "Saturateur (°C)",
    "Pression (kPa)",
    "Proche (mL/h/80 cm²)",
    "Éloigné (mL/h/80 cm²)",
    "pH",
    "Densité à 25 °C (g/cm³)",
    "Opérateur",
    "Remarques",
];

/// Cells that somebody wrote otherwise: cabinet, day, column, text, kind.
const DIRTY_CELLS: [(Cabinet, Day, usize, &str, DirtKind); 5] = [
    (Cabinet::Knot, (2025, 12, 3), 6, "<1", DirtKind::BelowRange),
    (
        Cabinet::Avocet,
        (2026, 1, 20),
        8,
        "n/a",
        DirtKind::NotAvailable,
    ),
    (Cabinet::Avocet, (2026, 2, 11), 8, "68", DirtKind::Typo),
    (Cabinet::Knot, (2026, 4, 9), 8, "6.84*", DirtKind::Marked),
    (
        Cabinet::Knot,
        (2026, 5, 6),
        5,
        "98 kPa",
        DirtKind::UnitBeside,
    ),
];

const BLANK_AFTER: Day = (2026, 2, 27);
const HEADING_AGAIN_BEFORE: Day = (2026, 1, 5);
const TOTALS_AFTER: Day = (2025, 12, 23);

/// The file.
///
/// # Errors
/// [`DemoError::Brine`] when the scenario leaves the range of the brine model.
pub(super) fn page() -> Result<Page, DemoError> {
    let mut minutes = Noise::new(900, 0.0);
    let mut lines = vec![GROUPS.to_owned(), UNITS.to_owned()];
    let mut dirt = Vec::new();
    for (knot, avocet) in checks(Cabinet::Knot).iter().zip(&checks(Cabinet::Avocet)) {
        if knot.on == date(HEADING_AGAIN_BEFORE) {
            dirt.push(soil(&lines, None, "Date", DirtKind::RepeatedHeading));
            lines.extend([GROUPS.to_owned(), UNITS.to_owned()]);
        }
        for (which, check) in [(Cabinet::Knot, knot), (Cabinet::Avocet, avocet)] {
            let mut cells = row(which, check, minutes.step())?;
            for (cabinet, day, column, text, kind) in DIRTY_CELLS {
                if cabinet == which
                    && date(day) == check.on
                    && let Some(cell) = cells.get_mut(column)
                {
                    *cell = text.to_owned();
                    dirt.push(soil(&lines, COLUMNS.get(column).copied(), text, kind));
                }
            }
            lines.push(cells.join(","));
        }
        if knot.on == date(BLANK_AFTER) {
            dirt.push(soil(&lines, None, "", DirtKind::BlankRow));
            lines.push(String::new());
        }
        if knot.on == date(TOTALS_AFTER) {
            dirt.push(soil(&lines, None, "Moyenne", DirtKind::TotalsRow));
            lines.push("Moyenne,,,35.0,48.0,98,1.56,1.50,6.78,1.0325,,".to_owned());
        }
    }
    let text = format!("\u{feff}{}\n", lines.join("\n"));
    Ok(Page {
        path: PATH.to_owned(),
        bytes: text.into_bytes(),
        dirt,
    })
}

/// Dirt in the line that is about to be written.
fn soil(lines: &[String], column: Option<&str>, found: &str, kind: DirtKind) -> Dirt {
    Dirt {
        path: PATH.to_owned(),
        sheet: None,
        line: lines.len() as u64 + 1,
        column: column.map(str::to_owned),
        found: found.to_owned(),
        kind,
    }
}

/// The cells of a check, rounded as it is read: 0.1 °C, 1 kPa, 0.5 mL in 24 h, 0.01 pH,
/// 0.0005 g/cm³.
fn row(which: Cabinet, check: &Check, late: f64) -> Result<Vec<String>, DemoError> {
    let rate = |rate: f64| written(to_step(rate * 24.0, 0.5) / 24.0, 0.01, 2);
    let start = if which == Cabinet::Knot { 455.0 } else { 470.0 };
    let minute = (start + 4.0 * late).round() as i64;
    Ok(vec![
        check.on.format("%d/%m/%Y").to_string(),
        format!("{:02}:{:02}", minute / 60, minute % 60),
        which.name().to_owned(),
        written(check.cabinet, 0.1, 1),
        written(check.tower, 0.1, 1),
        written(check.pressure, 1.0, 0),
        rate(check.near),
        rate(check.far),
        written(check.ph, 0.01, 2),
        written(density(check, 25.0)? / 1000.0, 0.0005, 4),
        initials(check.on).to_owned(),
        remark(which, check.on).to_owned(),
    ])
}

/// Who was on duty.
fn initials(on: NaiveDate) -> &'static str {
    if on.day().is_multiple_of(2) {
        "AV"
    } else {
        "PB"
    }
}

fn remark(which: Cabinet, on: NaiveDate) -> &'static str {
    match which {
        Cabinet::Avocet if on == date((2026, 3, 16)) => "nouveau lot de sel",
        Cabinet::Knot if on == date((2026, 4, 8)) => "pH-mètre étalonné (4 et 7)",
        _ => "",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn headings_and_rows_have_as_many_cells() {
        let page = page().unwrap();
        let text = String::from_utf8(page.bytes).unwrap();
        assert!(text.starts_with('\u{feff}'));
        for (index, line) in text.lines().enumerate() {
            let cells = line.split(',').count();
            assert!(cells == 12 || line.is_empty(), "line {}: {line}", index + 1);
        }
    }

    #[test]
    fn dirt_stands_where_it_is_told() {
        let page = page().unwrap();
        let text = String::from_utf8(page.bytes).unwrap();
        let lines: Vec<&str> = text.lines().collect();
        for dirt in &page.dirt {
            let line = lines[dirt.line as usize - 1];
            match &dirt.column {
                Some(name) => {
                    let column = COLUMNS.iter().position(|c| c == name).unwrap();
                    assert_eq!(line.split(',').nth(column), Some(dirt.found.as_str()));
                }
                None => assert!(
                    line.starts_with(&dirt.found) && (!dirt.found.is_empty() || line.is_empty())
                ),
            }
        }
        // Five cells, a blank row, a repeated heading and a totals row.
        assert_eq!(page.dirt.len(), 8);
    }

    #[test]
    fn copied_entries_are_written_alike() {
        let text = String::from_utf8(page().unwrap().bytes).unwrap();
        let copied: Vec<String> = text
            .lines()
            .filter(|line| line.contains("Avocet"))
            .filter(|line| {
                let day = &line[..10];
                ("08/06/2026".."20/06/2026").contains(&day) && day.ends_with("06/2026")
            })
            .map(|line| {
                line.split(',')
                    .skip(3)
                    .take(7)
                    .collect::<Vec<_>>()
                    .join(",")
            })
            .collect();
        assert_eq!(copied.len(), 10);
        assert!(copied.iter().all(|cells| cells == &copied[0]));
    }
}
