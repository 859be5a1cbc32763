//! The partner's logs: a file a cabinet, as a spreadsheet saves it as plain Unicode text:
//! UTF-16 with tabs, Spanish wording, decimal commas, title rows, millilitres caught in
//! 24 h, a density relative to water. The cabinet stands in the title only.

use super::super::DemoError;
use super::super::calendar::{Day, date};
use super::super::daily::Check;
use super::super::noise::Noise;
use super::super::page::{Dirt, DirtKind, Page, density, written};
use super::scenario::{Cabinet, PH_METER_HIGH, checks};
use crate::quantity::brine::water_density;
use chrono::{Datelike, NaiveDate};

/// Diameter of the partner's funnels, mm, as its lab.toml gives it.
const FUNNEL_MM: f64 = 120.0;
/// Length of a collection, h.
const HOURS: f64 = 24.0;

/// The heading.
pub(super) const HEADING: [&str; 11] = [
    "Fecha",
    "Hora",
    "Temp. cámara (°C)",
    "Temp. saturador (°C)",
    "Presión de aire (bar)",
    "Recogida cerca (ml)",
    "Recogida lejos (ml)",
    "pH",
    "Densidad relativa",
    "Firma",
    "Observaciones",
];

/// Months as dates have them.
const MONTHS: [&str; 12] = [
    "ene", "feb", "mar", "abr", "may", "jun", "jul", "ago", "sep", "oct", "nov", "dic",
];

/// Cells that somebody wrote otherwise: cabinet, day, column, text, kind.
const DIRTY_CELLS: [(Cabinet, Day, usize, &str, DirtKind); 3] = [
    (
        Cabinet::Knot,
        (2026, 2, 6),
        8,
        "n/a",
        DirtKind::NotAvailable,
    ),
    // The comma was forgotten.
    (Cabinet::Sanderling, (2026, 3, 11), 7, "691", DirtKind::Typo),
    (
        Cabinet::Turnstone,
        (2026, 4, 8),
        3,
        "48,1 °C",
        DirtKind::UnitBeside,
    ),
];

/// Remarks that were written at the time: cabinet, day, text.
const REMARKS: [(Cabinet, Day, &str); 4] = [
    (Cabinet::Turnstone, (2026, 1, 19), "tapa limpia"),
    (Cabinet::Knot, (2026, 2, 6), "densímetro en limpieza"),
    (
        Cabinet::Sanderling,
        (2026, 3, 11),
        "gotas bajo la tapa; secada",
    ),
    (Cabinet::Knot, (2026, 4, 20), "probetas lavadas"),
];

/// The three files.
///
/// # Errors
/// [`DemoError::Brine`] when the scenario leaves the range of the brine model.
pub(super) fn pages() -> Result<Vec<Page>, DemoError> {
    Cabinet::ALL.into_iter().map(page).collect()
}

fn page(which: Cabinet) -> Result<Page, DemoError> {
    let path = format!("logs/control-{}.txt", which.name().to_lowercase());
    let mut minutes = Noise::new(910 + which as u64, 0.0);
    let mut lines = vec![
        titled("Acabados Orilla Gris: control de niebla salina"),
        titled(&format!("Cámara: {}", which.name())),
        titled(""),
        HEADING.join("\t"),
    ];
    let mut dirt = Vec::new();
    let mut soil = |lines: &[String], column: Option<usize>, found: &str, kind| {
        dirt.push(Dirt {
            path: path.clone(),
            sheet: None,
            line: lines.len() as u64 + 1,
            column: column.and_then(|c| HEADING.get(c)).map(|h| (*h).to_owned()),
            found: found.to_owned(),
            kind,
        });
    };
    let all = checks(which);
    for check in &all {
        let mut cells = row(which, check, minutes.step())?;
        for (cabinet, day, column, text, kind) in DIRTY_CELLS {
            if cabinet == which
                && date(day) == check.on
                && let Some(cell) = cells.get_mut(column)
            {
                *cell = text.to_owned();
                soil(&lines, Some(column), text, kind);
            }
        }
        lines.push(cells.join("\t"));
    }
    soil(&lines, None, "Promedio", DirtKind::TotalsRow);
    lines.push(averages(&all)?.join("\t"));
    Ok(Page {
        bytes: utf16(&(lines.join("\r\n") + "\r\n")),
        path,
        dirt,
    })
}

/// A title row: a spreadsheet writes its empty cells too.
fn titled(text: &str) -> String {
    text.to_owned() + &"\t".repeat(HEADING.len() - 1)
}

/// Little-endian, with its byte-order mark.
fn utf16(text: &str) -> Vec<u8> {
    let marked = format!("\u{feff}{text}");
    marked.encode_utf16().flat_map(u16::to_le_bytes).collect()
}

/// The cells of a check, rounded as it is read: 0.1 °C, 0.01 bar, 0.5 mL, 0.01 pH, 0.0005.
fn row(which: Cabinet, check: &Check, late: f64) -> Result<Vec<String>, DemoError> {
    let minute = (465.0 + 5.0 * late).round() as i64;
    let mut cells = vec![
        format!(
            "{:02}-{}-{}",
            check.on.day(),
            MONTHS.get(check.on.month0() as usize).unwrap_or(&""),
            check.on.year()
        ),
        format!("{:02}:{:02}", minute / 60, minute % 60),
    ];
    cells.extend(readings(check, 0)?);
    cells.push(initials(check.on).to_owned());
    cells.push(remark(which, check.on).to_owned());
    Ok(cells)
}

/// What the instruments show, with `more` decimals than they are read to.
fn readings(check: &Check, more: usize) -> Result<[String; 7], DemoError> {
    // 80 cm² lie in the standard; the funnel's own area in the cylinder.
    let share = FUNNEL_MM * FUNNEL_MM * std::f64::consts::PI / 400.0 / 80.0;
    let volume = |rate: f64| shown(rate * HOURS * share, 0.5, 1, more);
    Ok([
        shown(check.cabinet, 0.1, 1, more),
        shown(check.tower, 0.1, 1, more),
        shown(check.pressure / 100.0, 0.01, 2, more),
        volume(check.near),
        volume(check.far),
        shown(check.ph + PH_METER_HIGH, 0.01, 2, more),
        shown(density(check, 25.0)? / water_density(25.0), 0.0005, 4, more),
    ])
}

/// The value as it is read, with a decimal comma; with `more` decimals it is not rounded
/// to the instrument's step.
fn shown(value: f64, step: f64, decimals: usize, more: usize) -> String {
    let text = match more {
        0 => written(value, step, decimals),
        _ => format!("{value:.*}", decimals + more),
    };
    text.replace('.', ",")
}

/// The row of averages below the checks, as spreadsheets have it.
fn averages(all: &[Check]) -> Result<Vec<String>, DemoError> {
    let mut sum: Option<Check> = None;
    for check in all {
        sum = Some(match sum {
            None => *check,
            Some(sum) => Check {
                cabinet: sum.cabinet + check.cabinet,
                tower: sum.tower + check.tower,
                pressure: sum.pressure + check.pressure,
                near: sum.near + check.near,
                far: sum.far + check.far,
                ph: sum.ph + check.ph,
                salt: sum.salt + check.salt,
                hydrometer_error: sum.hydrometer_error + check.hydrometer_error,
                ..sum
            },
        });
    }
    let mut cells = vec!["Promedio".to_owned(), String::new()];
    if let Some(sum) = sum {
        let n = all.len() as f64;
        let mean = Check {
            cabinet: sum.cabinet / n,
            tower: sum.tower / n,
            pressure: sum.pressure / n,
            near: sum.near / n,
            far: sum.far / n,
            ph: sum.ph / n,
            salt: sum.salt / n,
            hydrometer_error: sum.hydrometer_error / n,
            ..sum
        };
        cells.extend(readings(&mean, 1)?);
    }
    cells.resize(HEADING.len(), String::new());
    Ok(cells)
}

/// Who was on duty.
fn initials(on: NaiveDate) -> &'static str {
    match on.format("%u").to_string().as_str() {
        "1" | "5" => "MR",
        "6" => "JO",
        _ => "CA",
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
    use super::super::scenario::days;
    use super::*;
    use encoding_rs::UTF_16LE;

    fn lines(page: &Page) -> Vec<String> {
        assert_eq!(page.bytes[..2], [0xFF, 0xFE]);
        let (text, _, malformed) = UTF_16LE.decode(&page.bytes);
        assert!(!malformed);
        text.lines().map(str::to_owned).collect()
    }

    #[test]
    fn a_row_reads_as_a_person_writes_it() {
        let pages = pages().unwrap();
        assert_eq!(pages.len(), 3);
        for page in &pages {
            let lines = lines(page);
            // Three title rows, the heading, the checks, the averages.
            assert_eq!(lines.len(), 4 + days().len() + 1);
            assert!(lines.iter().all(|l| l.split('\t').count() == 11));
            assert!(lines[4].starts_with("05-ene-2026\t07:"), "{}", lines[4]);
            assert!(lines[4].contains(','));
        }
    }

    #[test]
    fn the_meter_and_not_the_solution_is_high() {
        let check = checks(Cabinet::Knot)[0];
        let read: f64 = readings(&check, 0).unwrap()[5]
            .replace(',', ".")
            .parse()
            .unwrap();
        assert!((read - check.ph - PH_METER_HIGH).abs() <= 0.005 + 1e-9);
    }

    #[test]
    fn dirt_stands_where_it_is_told() {
        let mut seen = 0;
        for page in pages().unwrap() {
            let lines = lines(&page);
            for dirt in &page.dirt {
                let cells: Vec<&str> = lines[dirt.line as usize - 1].split('\t').collect();
                let column = dirt
                    .column
                    .as_ref()
                    .map_or(0, |name| HEADING.iter().position(|h| h == name).unwrap());
                assert_eq!(cells[column], dirt.found, "{dirt:?}");
                seen += 1;
            }
        }
        // Three cells and three rows of averages.
        assert_eq!(seen, 6);
    }
}
