//! One file: loaded, told apart by its format, and its sheets read.

use super::FileRead;
use crate::intake::checks::SheetName;
use crate::intake::encoding::{self, NotText};
use crate::intake::grid::{Body, Sheet};
use crate::intake::load::{self, Buffers, Format, Found, LONGEST_LINE};
use crate::intake::outcome::FileOutcome;
use crate::intake::parquet_log::ColumnTable;
use crate::intake::pieces::{PIECE, Pieces};
use crate::intake::rules::Rules;
use crate::intake::sheet::{self, Setting, SheetRead, delimiter_name, unreadable};
use crate::intake::tally::{Says, Tally};
use crate::intake::text_log::TextTable;
use crate::intake::workbook;
use crate::issue::{Effect, shown};
use std::sync::Arc;

pub(super) fn read_file(setting: Setting<'_>, found: &Found, buffers: &Buffers) -> FileRead {
    let path: Arc<str> = found.path.as_str().into();
    let mut tally = Tally::new(Arc::clone(&path), None);
    let mut outcome = FileOutcome {
        path: found.path.clone(),
        ..FileOutcome::default()
    };
    let rules = Rules::of(setting.lab, &found.path, None);
    if let Some(read) = in_pieces(setting, found, &rules, SIZES) {
        return read;
    }
    let sheets = match load::load(found, buffers) {
        Ok(loaded) => {
            outcome.sha256 = loaded.sha256;
            match (loaded.bytes, loaded.long_line) {
                (Some(bytes), _) => sheets_of(found, bytes, &rules, &mut tally, &mut outcome),
                (None, line) => {
                    let text = format!(
                        "Line {} is longer than {} MiB, which no line of a check log is; the file was not read.",
                        line.unwrap_or(0),
                        LONGEST_LINE >> 20
                    );
                    tally.whole(
                        None,
                        1,
                        unreadable(
                            &text,
                            "Check what wrote this file, and export the log again.",
                        ),
                    );
                    Vec::new()
                }
            }
        }
        Err(error) => {
            let text = format!("The file could not be read: {error}.");
            tally.whole(
                None,
                1,
                unreadable(
                    &text,
                    "Check that you may read the file and that it is still there.",
                ),
            );
            Vec::new()
        }
    };
    let mut read: Vec<(SheetName, SheetRead)> = sheets
        .iter()
        .map(|sheet| {
            let of_sheet = match &sheet.name {
                Some(name) => &Rules::of(setting.lab, &found.path, Some(name)),
                None => &rules,
            };
            let read = sheet::read(setting, &found.path, sheet, of_sheet);
            (sheet::sheet_name(&path, sheet), read)
        })
        .collect();
    for sheet in sheets {
        if let Body::Text(table) = sheet.body {
            buffers.give(table.into_bytes());
        }
    }
    // A workbook usually has sheets that are no log: they matter only when none is one.
    let any_table = read.iter().any(|(_, sheet)| sheet.has_table);
    if any_table {
        for (name, sheet) in &mut read {
            if sheet.has_table || name.sheet.is_none() {
                continue;
            }
            for issue in &mut sheet.issues {
                if issue.effect == Effect::FileUnreadable {
                    issue.effect = Effect::Kept;
                    issue.problem =
                        "The sheet has no headings of a check log and was passed over.".into();
                }
            }
        }
    }
    FileRead {
        outcome,
        issues: tally.finish(),
        sheets: read,
    }
}

/// How a large text log is taken apart, in bytes.
#[derive(Debug, Clone, Copy)]
pub(in crate::intake) struct Sizes {
    /// The beginning, from which headings and ways of writing are judged.
    pub(in crate::intake) beginning: usize,
    /// What is read at a time after it.
    pub(in crate::intake) piece: usize,
}

const SIZES: Sizes = Sizes {
    beginning: 1 << 20,
    piece: PIECE,
};

/// Reads a text log larger than its beginning piece by piece; `None` where it is none, and
/// where it has to be looked at whole.
pub(in crate::intake) fn in_pieces(
    setting: Setting<'_>,
    found: &Found,
    rules: &Rules,
    sizes: Sizes,
) -> Option<FileRead> {
    if found.format != Format::Text || found.size <= sizes.beginning as u64 {
        return None;
    }
    let file = std::fs::File::open(&found.full).ok()?;
    let mut pieces = Pieces::new(Box::new(file), sizes.piece);
    let beginning = pieces.next(sizes.beginning).ok()?.to_vec();
    let decoded = encoding::decode(beginning, rules.encoding.as_deref()).ok()?;
    if decoded.encoding != "UTF-8" || decoded.note.is_some() {
        return None;
    }
    let table = TextTable::in_pieces(decoded.text, rules.delimiter, pieces, found.size)?;
    let dialect = dialect(decoded.encoding, &table);
    let sheet = text_sheet(table);
    let read = sheet::read(setting, &found.path, &sheet, rules);
    let name = sheet::sheet_name(&found.path.as_str().into(), &sheet);
    let Body::Text(table) = sheet.body else {
        return None;
    };
    let outcome = FileOutcome {
        path: found.path.clone(),
        sha256: table.digest_of_pieces()?,
        dialect,
        ..FileOutcome::default()
    };
    Some(FileRead {
        outcome,
        issues: Vec::new(),
        sheets: vec![(name, read)],
    })
}

fn dialect(encoding: &str, table: &TextTable) -> String {
    format!(
        "text, {encoding}, {} between cells",
        delimiter_name(table.delimiter())
    )
}

fn text_sheet(table: TextTable) -> Sheet {
    Sheet {
        name: None,
        hidden: false,
        since_1904: false,
        beyond: 0,
        body: Body::Text(table),
    }
}

/// The sheets of a file; what keeps it from being read goes into the tally.
fn sheets_of(
    found: &Found,
    bytes: Vec<u8>,
    rules: &Rules,
    tally: &mut Tally,
    outcome: &mut FileOutcome,
) -> Vec<Sheet> {
    match found.format {
        Format::Text => text_sheets(bytes, rules, tally, outcome),
        Format::Parquet => {
            outcome.dialect = "Parquet".into();
            match ColumnTable::read(bytes) {
                Ok(table) => {
                    for name in &table.unsupported {
                        tally.whole(
                            Some(name),
                            1,
                            Says {
                                problem: "The column is of a type that no reading has (a list, a structure or bytes); it was not used.".into(),
                                hint: None,
                                effect: Effect::ColumnLeftOut,
                            },
                        );
                    }
                    vec![Sheet {
                        name: None,
                        hidden: false,
                        since_1904: false,
                        beyond: 0,
                        body: Body::Columns(table),
                    }]
                }
                Err(problem) => {
                    tally.whole(None, 1, unreadable(&problem, "Export the log again."));
                    Vec::new()
                }
            }
        }
        format => {
            outcome.dialect = match format {
                Format::Ods => "OpenDocument spreadsheet".into(),
                Format::Xls => "binary workbook".into(),
                _ => "workbook".into(),
            };
            if bytes.is_empty() {
                tally.whole(
                    None,
                    1,
                    unreadable("The file is empty.", "Export the log again."),
                );
                return Vec::new();
            }
            match workbook::read(&bytes, format) {
                Ok(sheets) => sheets,
                Err(error) => {
                    tally.whole(
                        None,
                        1,
                        unreadable(&shown_long(&error.problem), &error.hint),
                    );
                    Vec::new()
                }
            }
        }
    }
}

/// Text of another library inside a sentence: shown safely, piece by piece.
fn shown_long(text: &str) -> String {
    text.split(' ').map(shown).collect::<Vec<_>>().join(" ")
}

fn text_sheets(
    bytes: Vec<u8>,
    rules: &Rules,
    tally: &mut Tally,
    outcome: &mut FileOutcome,
) -> Vec<Sheet> {
    let decoded = match encoding::decode(bytes, rules.encoding.as_deref()) {
        Ok(decoded) => decoded,
        Err(error) => {
            let (problem, hint) = match error {
                NotText::Empty => ("The file is empty.".to_owned(), "Export the log again.".to_owned()),
                NotText::Other(what) => (
                    format!("The file is named like a text log but is {what}."),
                    "Rename it after what it is, or export the log as CSV.".to_owned(),
                ),
                NotText::Binary => (
                    "The file is named like a text log but holds bytes that are no text.".to_owned(),
                    "Export the log as CSV or XLSX.".to_owned(),
                ),
                NotText::UnknownEncoding(label) => (
                    format!("lab.toml names the encoding \"{}\", which does not exist.", shown(&label)),
                    "Use utf-8, utf-16le, windows-1252 or another label of the Encoding Standard, or remove the line.".to_owned(),
                ),
            };
            tally.whole(None, 1, unreadable(&problem, &hint));
            return Vec::new();
        }
    };
    if let Some(note) = decoded.note {
        tally.whole(
            None,
            1,
            Says {
                problem: note,
                hint: Some("Name the right encoding with encoding = \"…\" in the log's [[log]] table of lab.toml.".into()),
                effect: Effect::Kept,
            },
        );
    }
    let table = TextTable::new(decoded.text, rules.delimiter);
    outcome.dialect = dialect(decoded.encoding, &table);
    if !table.quoting() {
        tally.whole(
            None,
            1,
            Says {
                problem: "A quotation mark opens a cell and is never closed; quotation marks were read as ordinary characters.".into(),
                hint: Some("Close or remove the quotation mark.".into()),
                effect: Effect::Kept,
            },
        );
    }
    vec![text_sheet(table)]
}
