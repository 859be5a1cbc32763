//! The logs of Plover and Dunlin: semicolon CSV with decimal commas, German wording,
//! Windows-1252, one export a quarter that repeats the end of the quarter before.

use super::DemoError;
use super::calendar::{Day, date, within};
use super::daily::Check;
use super::page::{Dirt, DirtKind, Page, density, written};
use super::scenario::{Cabinet, checks};
use chrono::NaiveDate;
use encoding_rs::WINDOWS_1252;

/// Area of a funnel of 100 mm over 80 cm².
const FUNNEL_SHARE: f64 = 78.539_816_339_744_83 / 80.0;
/// Length of a collection, h.
const HOURS: f64 = 24.0;

const HEADING: [&str; 12] = [
    "Datum",
    "Kammer",
    "Kammertemperatur (°C)",
    "Sättigerturm (°C)",
    "Druckluft (bar)",
    "Auffang nah (ml)",
    "Auffang fern (ml)",
    "Auffangzeit (h)",
    "pH-Wert",
    "Dichte bei 25 °C (g/cm³)",
    "Prüfer",
    "Bemerkung",
];

/// An export: its name, its first and last day.
const EXPORTS: [(&str, Day, Day); 3] = [
    ("logs/pruefbuch-2025-q4.csv", (2025, 10, 1), (2025, 12, 31)),
    ("logs/pruefbuch-2026-q1.csv", (2025, 12, 15), (2026, 3, 31)),
    ("logs/pruefbuch-2026-q2.csv", (2026, 3, 23), (2026, 6, 30)),
];

/// Cells that somebody wrote otherwise: cabinet, day, column, text, kind.
const DIRTY_CELLS: [(Cabinet, Day, usize, &str, DirtKind); 6] = [
    (Cabinet::Plover, (2025, 10, 22), 8, "6,8*", DirtKind::Marked),
    (Cabinet::Dunlin, (2025, 11, 6), 8, "68", DirtKind::Typo),
    (
        Cabinet::Plover,
        (2026, 2, 18),
        4,
        "n/a",
        DirtKind::NotAvailable,
    ),
    (Cabinet::Dunlin, (2026, 3, 5), 6, "<1", DirtKind::BelowRange),
    (
        Cabinet::Dunlin,
        (2026, 4, 23),
        3,
        "48,5 °C",
        DirtKind::UnitBeside,
    ),
    (
        Cabinet::Plover,
        (2026, 6, 10),
        9,
        "-",
        DirtKind::NotAvailable,
    ),
];

const BLANK_AFTER: Day = (2025, 11, 14);
const HEADING_AGAIN_BEFORE: Day = (2026, 2, 2);
/// The second export says otherwise about Dunlin's tower on this day.
const CONTRADICTED: Day = (2025, 12, 17);

/// Remarks that were written at the time: cabinet, day, text.
const REMARKS: [(Cabinet, Day, &str); 6] = [
    (Cabinet::Plover, (2025, 11, 19), "Lufttrockner ausgefallen"),
    (Cabinet::Plover, (2026, 1, 12), "neue Düse"),
    (Cabinet::Dunlin, (2026, 2, 3), "Stromausfall in der Nacht"),
    (Cabinet::Dunlin, (2026, 2, 4), "heizt noch auf"),
    (Cabinet::Plover, (2026, 3, 9), "Vorlage nachgefüllt"),
    (Cabinet::Dunlin, (2026, 5, 20), "Filter gewechselt"),
];

/// The three exports.
///
/// # Errors
/// [`DemoError::Brine`] when the scenario leaves the range of the brine model.
pub(super) fn pages() -> Result<Vec<Page>, DemoError> {
    let plover = checks(Cabinet::Plover);
    let dunlin = checks(Cabinet::Dunlin);
    EXPORTS
        .iter()
        .enumerate()
        .map(|(index, (path, first, last))| {
            let mut export = Export::new(path);
            for (p, d) in plover.iter().zip(&dunlin) {
                if within(p.on, (*first, *last)) {
                    export.day(p, d, index)?;
                }
            }
            if index == 0 {
                export.totals();
            }
            Ok(export.page())
        })
        .collect()
}

/// An export being written.
struct Export {
    path: String,
    lines: Vec<String>,
    dirt: Vec<Dirt>,
}

impl Export {
    fn new(path: &str) -> Export {
        Export {
            path: path.to_owned(),
            lines: vec![HEADING.join(";")],
            dirt: Vec::new(),
        }
    }

    /// Both cabinets' checks of a day.
    fn day(&mut self, plover: &Check, dunlin: &Check, export: usize) -> Result<(), DemoError> {
        if plover.on == date(HEADING_AGAIN_BEFORE) {
            self.soil(None, "Datum", DirtKind::RepeatedHeading);
            self.lines.push(HEADING.join(";"));
        }
        for (which, check) in [(Cabinet::Plover, plover), (Cabinet::Dunlin, dunlin)] {
            let mut cells = row(which, check)?;
            for (cabinet, day, column, text, kind) in DIRTY_CELLS {
                if cabinet == which
                    && date(day) == check.on
                    && let Some(cell) = cells.get_mut(column)
                {
                    *cell = text.to_owned();
                    self.soil(HEADING.get(column).copied(), text, kind);
                }
            }
            if export == 1 && which == Cabinet::Dunlin && check.on == date(CONTRADICTED) {
                let corrected = decimal_comma(&written(check.tower + 1.0, 0.5, 1));
                self.soil(HEADING.get(3).copied(), &corrected, DirtKind::Contradiction);
                if let Some(cell) = cells.get_mut(3) {
                    *cell = corrected;
                }
            }
            self.lines.push(cells.join(";"));
        }
        if plover.on == date(BLANK_AFTER) {
            self.soil(None, "", DirtKind::BlankRow);
            self.lines.push(";".repeat(HEADING.len() - 1));
        }
        Ok(())
    }

    /// A row of averages below the checks, as spreadsheets have it.
    fn totals(&mut self) {
        self.soil(None, "Mittelwert", DirtKind::TotalsRow);
        self.lines
            .push("Mittelwert;;35,0;48,1;0,99;34,9;33,8;24;6,9;1,032;;".to_owned());
    }

    /// Notes dirt in the line that is about to be written.
    fn soil(&mut self, column: Option<&str>, found: &str, kind: DirtKind) {
        self.dirt.push(Dirt {
            path: self.path.clone(),
            sheet: None,
            line: self.lines.len() as u64 + 1,
            column: column.map(str::to_owned),
            found: found.to_owned(),
            kind,
        });
    }

    fn page(self) -> Page {
        let text = self.lines.join("\r\n") + "\r\n";
        let (bytes, _, _) = WINDOWS_1252.encode(&text);
        Page {
            path: self.path,
            bytes: bytes.into_owned(),
            dirt: self.dirt,
        }
    }
}

/// The cells of a check, rounded as it is read: 0.5 °C, 0.05 bar, 0.5 mL, 0.1 pH, 0.001 g/cm³.
fn row(which: Cabinet, check: &Check) -> Result<Vec<String>, DemoError> {
    let volume = |rate: f64| {
        let text = written(rate * HOURS * FUNNEL_SHARE, 0.5, 1);
        text.strip_suffix(".0").map(str::to_owned).unwrap_or(text)
    };
    let cells = [
        check.on.format("%d.%m.%Y").to_string(),
        which.name().to_owned(),
        written(check.cabinet, 0.5, 1),
        written(check.tower, 0.5, 1),
        written(check.pressure / 100.0, 0.05, 2),
        volume(check.near),
        volume(check.far),
        written(HOURS, 1.0, 0),
        written(check.ph, 0.1, 1),
        written(density(check, 25.0)? / 1000.0, 0.001, 3),
        initials(check.on).to_owned(),
        remark(which, check.on).to_owned(),
    ];
    let mut out = cells.to_vec();
    for cell in out.iter_mut().take(10).skip(2) {
        *cell = decimal_comma(cell);
    }
    Ok(out)
}

fn decimal_comma(text: &str) -> String {
    text.replace('.', ",")
}

/// Who was on duty.
fn initials(on: NaiveDate) -> &'static str {
    match on.format("%u").to_string().as_str() {
        "1" | "2" | "4" => "KL",
        "3" => "RM",
        _ => "TB",
    }
}

fn remark(which: Cabinet, on: NaiveDate) -> &'static str {
    REMARKS
        .iter()
        .find(|(cabinet, day, _)| *cabinet == which && date(*day) == on)
        .map_or("", |(_, _, text)| *text)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_row_reads_as_a_person_writes_it() {
        let pages = pages().unwrap();
        let (text, _, malformed) = WINDOWS_1252.decode(&pages[0].bytes);
        assert!(!malformed);
        let second = text.lines().nth(1).unwrap();
        let cells: Vec<&str> = second.split(';').collect();
        assert_eq!(cells.len(), 12);
        assert_eq!(&cells[..2], ["01.10.2025", "Plover"]);
        assert!(
            cells[2].starts_with("3") && cells[2].contains(','),
            "{second}"
        );
    }

    #[test]
    fn dirt_stands_where_it_is_told() {
        let mut seen = 0;
        for page in pages().unwrap() {
            let (text, _, _) = WINDOWS_1252.decode(&page.bytes);
            let lines: Vec<&str> = text.lines().collect();
            for dirt in &page.dirt {
                let line = lines[dirt.line as usize - 1];
                assert!(line.contains(&dirt.found), "{line} has no {}", dirt.found);
                seen += 1;
            }
        }
        // Six cells, a blank row, a repeated heading, a totals row and a contradiction.
        assert_eq!(seen, 10);
    }

    #[test]
    fn exports_overlap_with_equal_rows_but_for_the_contradiction() {
        let pages = pages().unwrap();
        let rows = |page: &Page| -> Vec<String> {
            let (text, _, _) = WINDOWS_1252.decode(&page.bytes);
            text.lines().skip(1).map(str::to_owned).collect()
        };
        let (q4, q1) = (rows(&pages[0]), rows(&pages[1]));
        // 15 to 23 December: seven working days, two cabinets.
        let shared = q1.iter().filter(|row| q4.contains(row)).count();
        assert_eq!(shared, 7 * 2 - 1);
    }
}
