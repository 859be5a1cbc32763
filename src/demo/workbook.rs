//! The log of Curlew: an XLSX with a sheet a month, title rows above the heading, °F,
//! psi, millilitres caught in 16 h by 4-inch funnels, and a gravity with its temperature.

use super::DemoError;
use super::calendar::{Day, date};
use super::daily::Check;
use super::page::{Dirt, DirtKind, Page, density, to_step};
use super::scenario::{Cabinet, checks, curlew_is_filled};
use chrono::{Datelike, NaiveDate};
use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, Workbook, Worksheet};

const PATH: &str = "logs/curlew-daily-checks.xlsx";
/// Area of a funnel of 4 inches over 80 cm².
const FUNNEL_SHARE: f64 = 81.073_196_655_599_63 / 80.0;
/// Length of a collection, h.
const HOURS: f64 = 16.0;
/// Kilopascals in a pound per square inch.
const KPA_PER_PSI: f64 = 6.894_757_293_168_361;

const HEADING: [&str; 11] = [
    "Date",
    "Tech",
    "Chamber Temp (°F)",
    "Tower Temp (°F)",
    "Air (psi)",
    "Near funnel (mL / 16 h)",
    "Far funnel (mL / 16 h)",
    "pH",
    "SG",
    "SG temp (°F)",
    "Remarks",
];

/// Cells that somebody wrote otherwise: day, column, text, kind.
const DIRTY_CELLS: [(Day, u16, &str, DirtKind); 5] = [
    ((2025, 11, 12), 3, "118 F", DirtKind::UnitBeside),
    ((2026, 1, 21), 7, "n/a", DirtKind::NotAvailable),
    ((2026, 2, 10), 5, "-", DirtKind::NotAvailable),
    ((2026, 4, 15), 7, "6.74*", DirtKind::Marked),
    ((2026, 5, 13), 6, "<1", DirtKind::BelowRange),
];

const BLANK_AFTER: Day = (2026, 3, 13);
const HEADING_AGAIN_BEFORE: Day = (2025, 12, 15);

/// The workbook.
///
/// # Errors
/// [`DemoError`] when the workbook cannot be put together or the scenario leaves the
/// range of the brine model.
pub(super) fn page() -> Result<Page, DemoError> {
    let mut workbook = Workbook::new();
    // A fixed date: the same bytes on every run.
    let made = ExcelDateTime::from_ymd(2026, 7, 1)?;
    workbook.set_properties(
        &DocProperties::new()
            .set_title("Daily fog checks")
            .set_creation_datetime(&made),
    );
    let mut dirt = Vec::new();
    let all = checks(Cabinet::Curlew);
    for month in all.chunk_by(|a, b| (a.on.year(), a.on.month()) == (b.on.year(), b.on.month())) {
        let mut sheet = Sheet::new(month)?;
        for check in month {
            sheet.check(check)?;
        }
        sheet.averages(month)?;
        dirt.append(&mut sheet.dirt);
        workbook.push_worksheet(sheet.sheet);
    }
    Ok(Page {
        path: PATH.to_owned(),
        bytes: workbook.save_to_buffer()?,
        dirt,
    })
}

/// A month's sheet being written.
struct Sheet {
    sheet: Worksheet,
    name: String,
    row: u32,
    dirt: Vec<Dirt>,
    day: Format,
    bold: Format,
}

impl Sheet {
    fn new(month: &[Check]) -> Result<Sheet, DemoError> {
        let first = month.first().map_or(NaiveDate::MIN, |check| check.on);
        let name = first.format("%b %Y").to_string();
        let mut sheet = Worksheet::new();
        sheet.set_name(&name)?;
        let bold = Format::new().set_bold();
        sheet.merge_range(0, 0, 0, 10, "Saltmarsh Bench: cabinet Curlew", &bold)?;
        sheet.write_string(1, 0, format!("Daily fog checks, {}", first.format("%B %Y")))?;
        sheet.write_string(1, 5, "4 in. funnels, emptied after a 16 h run")?;
        let mut out = Sheet {
            sheet,
            name,
            row: 3,
            dirt: Vec::new(),
            day: Format::new().set_num_format("mm/dd/yyyy"),
            bold,
        };
        out.heading()?;
        Ok(out)
    }

    fn heading(&mut self) -> Result<(), DemoError> {
        for (column, text) in (0u16..).zip(HEADING) {
            self.sheet
                .write_string_with_format(self.row, column, text, &self.bold)?;
        }
        self.row += 1;
        Ok(())
    }

    fn check(&mut self, check: &Check) -> Result<(), DemoError> {
        if check.on == date(HEADING_AGAIN_BEFORE) {
            self.soil(None, "Date", DirtKind::RepeatedHeading);
            self.heading()?;
        }
        self.sheet
            .write_datetime_with_format(self.row, 0, excel_day(check.on)?, &self.day)?;
        self.sheet.write_string(self.row, 1, initials(check.on))?;
        for (column, value) in (2u16..).zip(readings(check)?) {
            self.sheet.write_number(self.row, column, value)?;
        }
        for (day, column, text, kind) in DIRTY_CELLS {
            if date(day) == check.on {
                self.sheet.write_string(self.row, column, text)?;
                self.soil(HEADING.get(usize::from(column)).copied(), text, kind);
            }
        }
        if curlew_is_filled(check.on) {
            self.sheet.write_string(self.row, 10, "reservoir filled")?;
        }
        self.row += 1;
        if check.on == date(BLANK_AFTER) {
            self.soil(None, "", DirtKind::BlankRow);
            self.row += 1;
        }
        Ok(())
    }

    /// The month's averages below the checks, as spreadsheets have it.
    fn averages(&mut self, month: &[Check]) -> Result<(), DemoError> {
        self.soil(None, "Average", DirtKind::TotalsRow);
        self.sheet
            .write_string_with_format(self.row, 0, "Average", &self.bold)?;
        let mut sums = [0.0; 8];
        for check in month {
            for (sum, value) in sums.iter_mut().zip(readings(check)?) {
                *sum += value;
            }
        }
        for (column, sum) in (2u16..).zip(sums) {
            let mean = sum / month.len() as f64;
            self.sheet
                .write_number(self.row, column, decimals(mean, 3))?;
        }
        self.row += 1;
        Ok(())
    }

    /// Notes dirt in the current row.
    fn soil(&mut self, column: Option<&str>, found: &str, kind: DirtKind) {
        self.dirt.push(Dirt {
            path: PATH.to_owned(),
            sheet: Some(self.name.clone()),
            line: u64::from(self.row) + 1,
            column: column.map(str::to_owned),
            found: found.to_owned(),
            kind,
        });
    }
}

/// The readings of a check from the chamber's temperature to the gravity's, rounded as
/// they are read: 1 °F, 1 psi, 0.5 mL, 0.01 pH, 0.001.
fn readings(check: &Check) -> Result<[f64; 8], DemoError> {
    let fahrenheit = |celsius: f64| (celsius * 1.8 + 32.0).round();
    let volume = |rate: f64| to_step(rate * HOURS * FUNNEL_SHARE, 0.5);
    let gravity = density(check, check.solution)? / 1000.0;
    Ok([
        fahrenheit(check.cabinet),
        fahrenheit(check.tower),
        (check.pressure / KPA_PER_PSI).round(),
        volume(check.near),
        volume(check.far),
        decimals(check.ph, 2),
        decimals(gravity, 3),
        fahrenheit(check.solution),
    ])
}

/// The value rounded to that many decimals, as the nearest binary64 of its text.
fn decimals(value: f64, places: i32) -> f64 {
    let scale = 10f64.powi(places);
    (value * scale).round() / scale
}

/// The day as a workbook keeps it.
fn excel_day(on: NaiveDate) -> Result<ExcelDateTime, DemoError> {
    let (month, day) = (on.month() as u8, on.day() as u8);
    Ok(ExcelDateTime::from_ymd(on.year() as u16, month, day)?)
}

/// Who was on duty.
fn initials(on: NaiveDate) -> &'static str {
    if on.day().is_multiple_of(3) {
        "JW"
    } else {
        "DS"
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use calamine::{Data, Reader, Xlsx};
    use std::io::Cursor;

    #[test]
    fn the_workbook_opens_with_a_sheet_a_month_and_dirt_where_it_is_told() {
        let page = page().unwrap();
        let mut book: Xlsx<_> = Xlsx::new(Cursor::new(page.bytes)).unwrap();
        let names = book.sheet_names();
        assert_eq!(names.len(), 9);
        assert_eq!(names[0], "Oct 2025");
        let mut cells = 0;
        for dirt in &page.dirt {
            let sheet = book
                .worksheet_range(dirt.sheet.as_deref().unwrap())
                .unwrap();
            let column = dirt
                .column
                .as_ref()
                .map_or(0, |name| HEADING.iter().position(|h| h == name).unwrap());
            let cell = sheet
                .get_value((dirt.line as u32 - 1, column as u32))
                .unwrap_or(&Data::Empty);
            assert_eq!(cell.to_string(), dirt.found, "{dirt:?}");
            cells += 1;
        }
        // Five cells, nine rows of averages, a blank row and a repeated heading.
        assert_eq!(cells, 16);
    }

    #[test]
    fn readings_have_the_units_of_their_heading() {
        let first = checks(Cabinet::Curlew)[0];
        let read = readings(&first).unwrap();
        assert!((92.0..98.0).contains(&read[0]), "{read:?}");
        assert!((114.0..121.0).contains(&read[1]), "{read:?}");
        assert!((13.0..17.0).contains(&read[2]), "{read:?}");
        assert!((20.0..28.0).contains(&read[3]), "{read:?}");
        assert!((1.028..1.037).contains(&read[6]), "{read:?}");
        assert!((74.0..80.0).contains(&read[7]), "{read:?}");
    }
}
