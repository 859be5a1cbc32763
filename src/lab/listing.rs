//! The small CSV files of the lab folder (`events.csv`, `exposures.csv`,
//! `coupons.csv`): delimiter, encoding and headings, with the place of every row.
//!
//! It does not read check logs, whose headings nobody controls; that is the intake's.

use super::Lab;
use super::error::{LabError, nearest};
use super::names::fold_name;
use crate::issue::{Effect, Issue, Place, shown};
use std::path::Path;

/// A listing's rows under known headings.
#[derive(Debug)]
pub(crate) struct Listing {
    file: &'static str,
    headings: Vec<Option<&'static str>>,
    written: Vec<String>,
    rows: Vec<csv::StringRecord>,
}

/// One row.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Row<'a> {
    listing: &'a Listing,
    record: &'a csv::StringRecord,
}

impl Listing {
    /// Reads a file of the lab folder; `None` when there is none or it cannot be used,
    /// which `issues` then tells.
    ///
    /// # Errors
    /// [`LabError::Unreadable`] when the file is there but the system does not give it.
    pub(crate) fn read(
        root: &Path,
        file: &'static str,
        needed: &[&'static str],
        optional: &[&'static str],
        issues: &mut Vec<Issue>,
    ) -> Result<Option<Listing>, LabError> {
        Self::read_also(root, file, needed, optional, &[], issues)
    }

    /// The same, with headings of other wordings: each is folded, with the one it means.
    pub(crate) fn read_also(
        root: &Path,
        file: &'static str,
        needed: &[&'static str],
        optional: &[&'static str],
        also: &[(&str, &'static str)],
        issues: &mut Vec<Issue>,
    ) -> Result<Option<Listing>, LabError> {
        let bytes = match std::fs::read(root.join(file)) {
            Ok(bytes) => bytes,
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Ok(None),
            Err(source) => {
                return Err(LabError::Unreadable {
                    file: file.to_owned(),
                    source,
                });
            }
        };
        Ok(Self::parse_also(
            &bytes, file, needed, optional, also, issues,
        ))
    }

    #[cfg(test)]
    pub(crate) fn parse(
        bytes: &[u8],
        file: &'static str,
        needed: &[&'static str],
        optional: &[&'static str],
        issues: &mut Vec<Issue>,
    ) -> Option<Listing> {
        Self::parse_also(bytes, file, needed, optional, &[], issues)
    }

    pub(crate) fn parse_also(
        bytes: &[u8],
        file: &'static str,
        needed: &[&'static str],
        optional: &[&'static str],
        also: &[(&str, &'static str)],
        issues: &mut Vec<Issue>,
    ) -> Option<Listing> {
        let text = decode(bytes, file, issues);
        let mut reader = csv::ReaderBuilder::new()
            .delimiter(delimiter(&text))
            .has_headers(false)
            .flexible(true)
            .comment(Some(b'#'))
            .from_reader(text.as_bytes());
        let mut listing = Listing {
            file,
            headings: Vec::new(),
            written: Vec::new(),
            rows: Vec::new(),
        };
        for record in reader.records() {
            match record {
                Ok(record) if record.iter().all(|cell| cell.trim().is_empty()) => {}
                Ok(record) if listing.written.is_empty() => {
                    listing.written = record.iter().map(|h| h.trim().to_owned()).collect();
                }
                Ok(record) => listing.rows.push(record),
                Err(e) => issues.push(Issue {
                    place: place(file, e.position().map(csv::Position::line), None),
                    found: None,
                    problem: format!("The row cannot be read ({e})."),
                    hint: None,
                    effect: Effect::RowRejected,
                    count: 1,
                }),
            }
        }
        if listing.written.is_empty() {
            return None;
        }
        let known: Vec<&'static str> = needed.iter().chain(optional).copied().collect();
        for written in &listing.written {
            let folded = fold_name(written);
            let meant = known.iter().copied().find(|k| fold_name(k) == folded);
            let heading =
                meant.or_else(|| also.iter().find(|(w, _)| *w == folded).map(|(_, k)| *k));
            if heading.is_some() && listing.headings.contains(&heading) {
                issues.push(repeated_heading(file, written));
                listing.headings.push(None);
                continue;
            }
            if heading.is_none() && !folded.is_empty() {
                issues.push(unknown_heading(file, written, &known));
            }
            listing.headings.push(heading);
        }
        rows_behind_a_remark_sign(&text, file, listing.headings.len(), issues);
        let missing: Vec<&str> = needed
            .iter()
            .copied()
            .filter(|n| !listing.headings.contains(&Some(n)))
            .collect();
        if missing.is_empty() {
            return Some(listing);
        }
        issues.push(Issue {
            place: place(file, Some(1), None),
            found: Some(shown(&listing.written.join(", "))),
            problem: format!("The headings lack: {}.", missing.join(", ")),
            hint: Some(format!("Let the first line be: {}", known.join(","))),
            effect: Effect::FileUnreadable,
            count: 1,
        });
        None
    }

    /// What `read` makes of each row, in the order of the file; rows that it rejects are
    /// told in the lab's issues, behind `issues`.
    pub(crate) fn take<T>(
        listing: Option<Listing>,
        lab: &mut Lab,
        mut issues: Vec<Issue>,
        read: impl Fn(&Row<'_>, &Lab) -> Result<T, Box<Issue>>,
    ) -> Vec<T> {
        let mut taken = Vec::new();
        for row in listing.iter().flat_map(Listing::rows) {
            match read(&row, lab) {
                Ok(one) => taken.push(one),
                Err(issue) => issues.push(*issue),
            }
        }
        lab.issues.append(&mut issues);
        taken
    }

    /// The rows in the order of the file.
    pub(super) fn rows(&self) -> impl Iterator<Item = Row<'_>> {
        self.rows.iter().map(|record| Row {
            listing: self,
            record,
        })
    }
}

impl<'a> Row<'a> {
    /// The line it begins at, from 1.
    pub(crate) fn line(&self) -> u64 {
        self.record.position().map_or(0, csv::Position::line)
    }

    /// Whether cells stand beyond the last heading: one too many delimiters, as unquoted
    /// decimal commas leave in a file that commas delimit.
    pub(crate) fn spills_over(&self) -> bool {
        let beyond = self.record.iter().skip(self.listing.headings.len());
        beyond.into_iter().any(|cell| !cell.trim().is_empty())
    }

    /// The cell under a heading, trimmed; empty where there is none.
    pub(crate) fn cell(&self, heading: &str) -> &'a str {
        self.listing
            .headings
            .iter()
            .position(|h| *h == Some(heading))
            .and_then(|i| self.record.get(i))
            .map_or("", str::trim)
    }

    /// The issue that leaves this row out because of the cell under `heading`.
    pub(crate) fn rejected(
        &self,
        heading: &str,
        problem: String,
        hint: Option<String>,
    ) -> Box<Issue> {
        let written = self
            .listing
            .headings
            .iter()
            .position(|h| *h == Some(heading))
            .and_then(|i| self.listing.written.get(i));
        let line = self.record.position().map(csv::Position::line);
        Box::new(Issue {
            place: place(self.listing.file, line, written.map(|w| shown(w))),
            found: Some(shown(self.cell(heading))),
            problem,
            hint,
            effect: Effect::RowRejected,
            count: 1,
        })
    }

    /// A cell as a moment, or the issue that leaves the row out.
    pub(crate) fn moment(
        &self,
        heading: &str,
        zone: &crate::time::Zone,
    ) -> Result<super::moment::Moment, Box<Issue>> {
        use super::moment::MomentError;
        super::moment::read(self.cell(heading), zone).map_err(|e| {
            let found = shown(self.cell(heading));
            match e {
                MomentError::Ambiguous(a, b) => self.rejected(
                    heading,
                    format!("\"{found}\" can be {a} or {b}."),
                    Some(format!("Write {a} or {b}.")),
                ),
                MomentError::NotADate => self.rejected(
                    heading,
                    format!("Expected a date from 1970 to 2100, as 2026-03-14 or 2026-03-14 07:30, not \"{found}\"."),
                    None,
                ),
            }
        })
    }
}

/// Tells lines that begin with `#` and have as many cells as the headings: a round or job
/// called "#3" must not vanish as a remark.
fn rows_behind_a_remark_sign(text: &str, file: &str, cells: usize, issues: &mut Vec<Issue>) {
    let sign = char::from(delimiter(text));
    for (line, number) in text.lines().zip(1_u64..) {
        if cells > 2 && line.starts_with('#') && line.split(sign).count() == cells {
            issues.push(Issue {
                place: place(file, Some(number), None),
                found: Some(shown(line)),
                problem: "A line that begins with # is a remark; this one looks like a row.".into(),
                hint: Some("Put the first cell in quotation marks if it is one.".into()),
                effect: Effect::RowRejected,
                count: 1,
            });
        }
    }
}

fn repeated_heading(file: &str, written: &str) -> Issue {
    Issue {
        place: place(file, Some(1), Some(shown(written))),
        found: Some(shown(written)),
        problem: "A column to its left means the same; that one was used.".into(),
        hint: Some("Keep one of the two.".into()),
        effect: Effect::ColumnLeftOut,
        count: 1,
    }
}

fn unknown_heading(file: &str, written: &str, known: &[&'static str]) -> Issue {
    Issue {
        place: place(file, Some(1), Some(shown(written))),
        found: Some(shown(written)),
        problem: format!("Expected one of the headings {}.", known.join(", ")),
        hint: nearest(written, known.iter().copied()).map(|n| format!("Did you mean \"{n}\"?")),
        effect: Effect::ColumnLeftOut,
        count: 1,
    }
}

fn place(file: &str, line: Option<u64>, column: Option<String>) -> Place {
    Place {
        path: file.to_owned(),
        sheet: None,
        line,
        column,
    }
}

/// UTF-8 or UTF-16 by their marks, else UTF-8, else Windows-1252, which is told.
fn decode(bytes: &[u8], file: &str, issues: &mut Vec<Issue>) -> String {
    if let Some((encoding, mark)) = encoding_rs::Encoding::for_bom(bytes) {
        let (text, _) = encoding.decode_without_bom_handling(bytes.get(mark..).unwrap_or(&[]));
        return text.into_owned();
    }
    if let Ok(text) = std::str::from_utf8(bytes) {
        return text.to_owned();
    }
    issues.push(Issue {
        place: place(file, None, None),
        found: None,
        problem: "The file is not UTF-8; it was read as Windows-1252.".into(),
        hint: Some("Save it as UTF-8 if accented letters look wrong.".into()),
        effect: Effect::Kept,
        count: 1,
    });
    let (text, _) = encoding_rs::WINDOWS_1252.decode_without_bom_handling(bytes);
    text.into_owned()
}

/// The delimiter that the heading line holds most of.
fn delimiter(text: &str) -> u8 {
    let heading = text
        .lines()
        .find(|l| !l.trim().is_empty() && !l.starts_with('#'))
        .unwrap_or("");
    [b',', b';', b'\t', b'|']
        .into_iter()
        .rev()
        .max_by_key(|d| heading.bytes().filter(|b| b == d).count())
        .unwrap_or(b',')
}
