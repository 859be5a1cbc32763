//! Workbooks (XLSX, XLS, ODS) through calamine: every sheet as rows of cells.
//!
//! A file is checked for size before it is unpacked, because a few kilobytes can
//! unpack to more than the machine holds. Formulas give the value that was saved with
//! them; nothing is calculated here.

mod cell;
use cell::{cell_of, cell_of_ref};

use super::grid::{Body, Cell, CellRow, Sheet};
use super::guarded::guarded;
use super::load::Format;
use calamine::{Data, Dimensions, Ods, Reader, SheetType, SheetVisible, Xls, Xlsx};
use std::collections::BTreeMap;
use std::io::{Cursor, Read};

/// Most bytes a workbook may unpack to.
const LARGEST_UNPACKED: u64 = 512 << 20;
/// Largest ratio of unpacked to packed bytes, above [`RATIO_FROM`].
const LARGEST_RATIO: u64 = 200;
/// Below this many unpacked bytes the ratio does not matter.
const RATIO_FROM: u64 = 64 << 20;
/// Columns read of a sheet; cells further right are told and not read.
const MOST_COLUMNS: usize = 1024;
/// Most cells of a sheet, blank ones between others included.
const MOST_CELLS: usize = 40_000_000;

/// Why a workbook could not be read: problem and hint, as sentences.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Unreadable {
    /// What is wrong.
    pub(crate) problem: String,
    /// What to do.
    pub(crate) hint: String,
}

impl Unreadable {
    fn new(problem: impl Into<String>, hint: &str) -> Unreadable {
        Unreadable {
            problem: problem.into(),
            hint: hint.into(),
        }
    }

    fn damaged(error: &dyn std::fmt::Display) -> Unreadable {
        Unreadable::new(
            format!("The workbook is damaged or cut short ({error})."),
            "Open it in the program that wrote it, save it again, and replace this file.",
        )
    }

    fn locked() -> Unreadable {
        Unreadable::new(
            "The workbook is protected with a password, so its cells cannot be read.",
            "Save a copy without a password into the logs folder.",
        )
    }
}

/// The sheets of a workbook, in its order.
///
/// # Errors
/// [`Unreadable`] when it is damaged, protected or unpacks to too much.
pub(crate) fn read(bytes: &[u8], format: Format) -> Result<Vec<Sheet>, Unreadable> {
    let since_1904 = match format {
        Format::Xlsx | Format::Ods => guard(bytes)?,
        _ => false,
    };
    let read = guarded(|| match format {
        Format::Xls => read_xls(bytes),
        Format::Ods => read_ods(bytes),
        _ => read_xlsx(bytes, since_1904),
    });
    read.unwrap_or_else(|| Err(Unreadable::damaged(&"its structure makes no sense")))
}

/// Refuses a container that unpacks to too much; tells whether dates count from 1904.
fn guard(bytes: &[u8]) -> Result<bool, Unreadable> {
    if bytes.starts_with(b"\xd0\xcf\x11\xe0") {
        // A protected workbook is stored in an OLE container: calamine tells that apart.
        return Ok(false);
    }
    if !bytes.starts_with(b"PK") {
        return Err(Unreadable::new(
            "The file is named like a workbook but is none: it does not begin like one.",
            "Rename it after what it is (a text log is .csv or .txt), or save it as a workbook again.",
        ));
    }
    let mut archive =
        zip::ZipArchive::new(Cursor::new(bytes)).map_err(|e| Unreadable::damaged(&e))?;
    let packed = bytes.len() as u64;
    let too_much = |unpacked: u64| {
        unpacked > LARGEST_UNPACKED
            || (unpacked > RATIO_FROM && unpacked / packed.max(1) > LARGEST_RATIO)
    };
    let refuse = || {
        Unreadable::new(
            format!(
                "The workbook has {packed} bytes but unpacks to more than {} MiB, far more than a check log: it was not opened.",
                RATIO_FROM >> 20
            ),
            "Save the sheets with the checks as a new workbook or as CSV, without pictures and formatted empty cells.",
        )
    };
    if archive
        .decompressed_size()
        .is_some_and(|size| too_much(u64::try_from(size).unwrap_or(u64::MAX)))
    {
        return Err(refuse());
    }
    // What the directory declares may be false: count what really comes out.
    let mut unpacked = 0;
    let mut since_1904 = false;
    for index in 0..archive.len() {
        let mut entry = archive
            .by_index(index)
            .map_err(|e| Unreadable::damaged(&e))?;
        let mut head = Vec::new();
        if entry.name().is_ok_and(|name| name == "xl/workbook.xml") {
            unpacked += (&mut entry)
                .take(1 << 20)
                .read_to_end(&mut head)
                .map_err(|e| Unreadable::damaged(&e))? as u64;
            let text = String::from_utf8_lossy(&head);
            since_1904 = text.contains("date1904=\"1\"") || text.contains("date1904=\"true\"");
        }
        unpacked += std::io::copy(
            &mut entry.take(LARGEST_UNPACKED + 1 - unpacked.min(LARGEST_UNPACKED)),
            &mut std::io::sink(),
        )
        .map_err(|e| Unreadable::damaged(&e))?;
        if too_much(unpacked) {
            return Err(refuse());
        }
    }
    Ok(since_1904)
}

fn read_xlsx(bytes: &[u8], since_1904: bool) -> Result<Vec<Sheet>, Unreadable> {
    let mut book = Xlsx::new(Cursor::new(bytes)).map_err(|error| match error {
        calamine::XlsxError::Password => Unreadable::locked(),
        other => Unreadable::damaged(&other),
    })?;
    let mut sheets = Vec::new();
    for meta in worksheets(book.sheets_metadata().to_vec()) {
        // Cells are taken one by one: a sheet with one stray cell in its last corner would
        // otherwise be laid out whole, thousands of millions of cells.
        let mut rows = Rows::default();
        let mut cells = book
            .worksheet_cells_reader(&meta.0)
            .map_err(|e| Unreadable::damaged(&e))?;
        while let Some(cell) = cells.next_cell().map_err(|e| Unreadable::damaged(&e))? {
            rows.put(cell.get_position(), cell_of_ref(cell.get_value()));
        }
        drop(cells);
        let merged = book.merge_cells_by_sheet_name(&meta.0).unwrap_or_default();
        rows.spread(&merged);
        sheets.push(rows.sheet(meta, since_1904));
    }
    Ok(sheets)
}

fn read_xls(bytes: &[u8]) -> Result<Vec<Sheet>, Unreadable> {
    if !bytes.starts_with(b"\xd0\xcf\x11\xe0") {
        return Err(Unreadable::new(
            "The file is named .xls but is no binary workbook (some programs write text or HTML under that name).",
            "Open it in a spreadsheet program and save it as XLSX or CSV.",
        ));
    }
    let mut book = Xls::new(Cursor::new(bytes)).map_err(|error| match error {
        calamine::XlsError::Password => Unreadable::locked(),
        other => Unreadable::damaged(&other),
    })?;
    let mut sheets = Vec::new();
    for meta in worksheets(book.sheets_metadata().to_vec()) {
        let range = book
            .worksheet_range(&meta.0)
            .map_err(|e| Unreadable::damaged(&e))?;
        let mut rows = Rows::of_range(&range);
        let merged = book.merge_cells_by_sheet_name(&meta.0).unwrap_or_default();
        rows.spread(&merged);
        sheets.push(rows.sheet(meta, false));
    }
    Ok(sheets)
}

fn read_ods(bytes: &[u8]) -> Result<Vec<Sheet>, Unreadable> {
    let mut book = Ods::new(Cursor::new(bytes)).map_err(|error| match error {
        calamine::OdsError::Password => Unreadable::locked(),
        other => Unreadable::damaged(&other),
    })?;
    let mut sheets = Vec::new();
    for meta in worksheets(book.sheets_metadata().to_vec()) {
        let range = book
            .worksheet_range(&meta.0)
            .map_err(|e| Unreadable::damaged(&e))?;
        sheets.push(Rows::of_range(&range).sheet(meta, false));
    }
    Ok(sheets)
}

/// Name and visibility of the sheets that hold cells.
fn worksheets(all: Vec<calamine::Sheet>) -> Vec<(String, bool)> {
    all.into_iter()
        .filter(|sheet| sheet.typ == SheetType::WorkSheet)
        .map(|sheet| (sheet.name, sheet.visible != SheetVisible::Visible))
        .collect()
}

/// Rows under construction, by row index from 0.
#[derive(Default)]
struct Rows {
    rows: BTreeMap<u32, Vec<Cell>>,
    cells: usize,
    beyond: u64,
}

impl Rows {
    fn of_range(range: &calamine::Range<Data>) -> Rows {
        let mut rows = Rows::default();
        let (row_0, column_0) = range.start().unwrap_or((0, 0));
        for (row, column, value) in range.used_cells() {
            let at = (
                row_0.saturating_add(u32::try_from(row).unwrap_or(u32::MAX)),
                column_0.saturating_add(u32::try_from(column).unwrap_or(u32::MAX)),
            );
            rows.put(at, cell_of(value));
        }
        rows
    }

    fn put(&mut self, (row, column): (u32, u32), cell: Cell) {
        let column = column as usize;
        if cell == Cell::Blank {
            return;
        }
        let cells = self.rows.entry(row).or_default();
        let more = (column + 1).saturating_sub(cells.len());
        if column >= MOST_COLUMNS || self.cells + more > MOST_CELLS {
            self.beyond += 1;
            return;
        }
        self.cells += more;
        if cells.len() <= column {
            cells.resize(column + 1, Cell::Blank);
        }
        if let Some(place) = cells.get_mut(column) {
            *place = cell;
        }
    }

    /// Writes the text or date of a merged region into each of its cells that exist.
    ///
    /// Numbers are not spread: a reading merged over two columns was read once.
    fn spread(&mut self, merged: &[Dimensions]) {
        for region in merged {
            let (top, left) = region.start;
            let (bottom, right) = region.end;
            let cell = self
                .rows
                .get(&top)
                .and_then(|row| row.get(left as usize))
                .cloned()
                .unwrap_or_default();
            if !matches!(cell, Cell::Text(_) | Cell::Time(_)) {
                continue;
            }
            let rows: Vec<u32> = self.rows.range(top..=bottom).map(|(row, _)| *row).collect();
            let right = right.min(left.saturating_add(64));
            for row in rows {
                for column in left..=right {
                    let taken = self
                        .rows
                        .get(&row)
                        .and_then(|cells| cells.get(column as usize))
                        .is_some_and(|there| *there != Cell::Blank);
                    if !taken {
                        self.put((row, column), cell.clone());
                    }
                }
            }
        }
    }

    fn sheet(self, (name, hidden): (String, bool), since_1904: bool) -> Sheet {
        let rows = self
            .rows
            .into_iter()
            .map(|(row, cells)| CellRow {
                line: u64::from(row) + 1,
                cells,
            })
            .collect();
        Sheet {
            name: Some(name.into()),
            hidden,
            since_1904,
            beyond: self.beyond,
            body: Body::Cells(rows),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::cell::cell_of_duration;
    use super::*;
    use rust_xlsxwriter::{ExcelDateTime, Format as Style, Workbook};

    fn cells(sheet: &Sheet) -> Vec<(u64, Vec<String>)> {
        let mut all = Vec::new();
        sheet.body.visit(&mut |line, row| {
            all.push((line, row.texts()));
            std::ops::ControlFlow::Continue(())
        });
        all
    }

    fn demo() -> Vec<u8> {
        let mut book = Workbook::new();
        let sheet = book.add_worksheet().set_name("Jan").unwrap();
        let date = Style::new().set_num_format("yyyy-mm-dd");
        let time = Style::new().set_num_format("hh:mm");
        sheet.write(0, 0, "Fog log").unwrap();
        let plain = Style::new();
        sheet.merge_range(2, 1, 2, 2, "Collection", &plain).unwrap();
        sheet.write(3, 0, "Date").unwrap();
        sheet.write(3, 1, "near").unwrap();
        sheet.write(3, 2, "far").unwrap();
        let at = ExcelDateTime::from_ymd(2026, 1, 5).unwrap();
        sheet.write_with_format(4, 0, &at, &date).unwrap();
        sheet.write_with_format(4, 3, 0.3125, &time).unwrap();
        sheet.write(4, 1, 24.5).unwrap();
        sheet.write(4, 2, true).unwrap();
        sheet
            .write_formula(
                4,
                4,
                rust_xlsxwriter::Formula::new("=B5*2").set_result("49"),
            )
            .unwrap();
        // One stray cell in the last corner must not be laid out as a full sheet.
        sheet.write(1_048_575, 16_383, "stray").unwrap();
        let notes = book.add_worksheet().set_name("Notes").unwrap();
        notes.write(0, 0, "secret").unwrap();
        notes.set_hidden(true);
        book.save_to_buffer().unwrap()
    }

    #[test]
    fn reads_dates_times_flags_formulas_and_merged_headings() {
        let sheets = read(&demo(), Format::Xlsx).unwrap();
        assert_eq!(sheets.len(), 2);
        assert!(!sheets[0].hidden && sheets[1].hidden);
        let rows = cells(&sheets[0]);
        assert_eq!(rows[0], (1, vec!["Fog log".to_owned()]));
        assert_eq!(rows[1].1, ["", "Collection", "Collection"]);
        assert_eq!(rows[3].0, 5);
        assert_eq!(
            rows[3].1,
            ["2026-01-05 00:00:00", "24.5", "TRUE", "07:30:00", "49"]
        );
    }

    #[test]
    fn a_truncated_or_foreign_file_is_told() {
        let bytes = demo();
        let cut = read(&bytes[..bytes.len() / 2], Format::Xlsx).unwrap_err();
        assert!(cut.problem.contains("damaged or cut short"), "{cut:?}");
        let foreign = read(b"date;pH\n", Format::Xlsx).unwrap_err();
        assert!(foreign.problem.contains("is none"), "{foreign:?}");
        assert!(read(b"<html>", Format::Xls).is_err());
        assert!(read(b"\xd0\xcf\x11\xe0 nonsense", Format::Xls).is_err());
        assert!(read(b"PK nonsense", Format::Ods).is_err());
    }

    /// A ZIP of one entry of zeros, declared with its true size.
    fn zeros(mebibytes: usize) -> Vec<u8> {
        use std::io::Write;
        let mut zip = zip::ZipWriter::new(Cursor::new(Vec::new()));
        let options = zip::write::SimpleFileOptions::default();
        zip.start_file("xl/worksheets/sheet1.xml", options).unwrap();
        let block = vec![0; 1 << 20];
        for _ in 0..mebibytes {
            zip.write_all(&block).unwrap();
        }
        zip.finish().unwrap().into_inner()
    }

    #[test]
    fn a_small_file_that_unpacks_to_very_much_is_not_opened() {
        let mut bomb = zeros(80);
        assert!(bomb.len() < 200_000);
        let declared = read(&bomb, Format::Xlsx).unwrap_err();
        assert!(declared.problem.contains("unpacks to more"), "{declared:?}");
        // The same with a directory that declares one byte: the true size is counted.
        let declared_size = (80_u32 << 20).to_le_bytes();
        let places: Vec<usize> = bomb
            .windows(4)
            .enumerate()
            .filter(|(_, w)| *w == declared_size)
            .map(|(at, _)| at)
            .collect();
        assert!(!places.is_empty());
        for at in places {
            bomb[at..at + 4].copy_from_slice(&1_u32.to_le_bytes());
        }
        let lying = read(&bomb, Format::Xlsx).unwrap_err();
        assert!(!lying.problem.is_empty());
        assert!(read(&zeros(2), Format::Xlsx).is_err());
    }

    #[test]
    fn durations_of_open_document_become_times() {
        assert_eq!(cell_of_duration("PT07H30M00S").field().text(), "07:30:00");
        assert_eq!(cell_of_duration("PT36H00M00S"), Cell::Span(1.5));
        assert_eq!(cell_of_duration("soon"), Cell::Text("soon".into()));
    }
}
