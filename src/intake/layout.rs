//! Where a table's heading stands: below titles, in one row or two.
//!
//! Candidates are rows of words; the first whose cells are recognised well enough wins,
//! so that several tables in one sheet are met one after the other.

use super::heading;
use super::role::Role;
use super::words::heading_key;
use crate::lab::{ColumnRule, OwnCharacteristic};
use std::collections::BTreeSet;

/// Rows in which a heading is looked for.
pub(crate) const HEAD_ROWS: usize = 60;

/// A row of the head of a sheet.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct HeadRow {
    /// Line of the file or sheet.
    pub(crate) line: u64,
    /// Cells as texts.
    pub(crate) texts: Vec<String>,
}

/// A heading found.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Heading {
    /// Headings; those of two rows are joined by ` | `.
    pub(crate) texts: Vec<String>,
    /// Index of its first row among those looked at.
    pub(crate) first: usize,
    /// Index of the row below it.
    pub(crate) below: usize,
    /// Line of its last row.
    pub(crate) line: u64,
}

/// What is known beforehand: headings that `lab.toml` names.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Known<'a> {
    pub(crate) rules: &'a [ColumnRule],
    pub(crate) own: &'a [OwnCharacteristic],
}

/// How well a row of headings is understood.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
struct Quality {
    points: usize,
    columns: usize,
    has_date: bool,
}

/// The first heading that is understood well enough; `None` when there is none.
pub(crate) fn find(head: &[HeadRow], known: Known<'_>) -> Option<Heading> {
    let single: Vec<Quality> = head
        .iter()
        .map(|row| {
            if is_words(&row.texts) {
                quality(&row.texts, known)
            } else {
                Quality::default()
            }
        })
        .collect();
    let pairs: Vec<Option<(Vec<String>, Quality)>> = (0..head.len())
        .map(|upper| {
            let (a, b) = (head.get(upper)?, head.get(upper + 1)?);
            let adjoining = b.line == a.line + 1;
            (adjoining && is_words(&b.texts) && has_no_data(&a.texts) && !is_title(&a.texts)).then(
                || {
                    let joined = join(&a.texts, &b.texts);
                    let quality = quality(&joined, known);
                    (joined, quality)
                },
            )
        })
        .collect();
    let best = single
        .iter()
        .copied()
        .chain(pairs.iter().flatten().map(|(_, quality)| *quality))
        .max()?;
    let enough = |q: Quality| q.columns >= 2 && (q.has_date || q.points * 2 >= best.points);
    for (index, row) in head.iter().enumerate() {
        let alone = single.get(index).copied().unwrap_or_default();
        let below = single.get(index + 1).copied().unwrap_or_default();
        let pair = pairs.get(index).and_then(Option::as_ref);
        if let Some((joined, quality)) = pair
            && enough(*quality)
            && quality.points > alone.points
            && quality.points > below.points
        {
            return Some(Heading {
                texts: joined.clone(),
                first: index,
                below: index + 2,
                line: row.line + 1,
            });
        }
        if enough(alone) && alone >= below {
            return Some(Heading {
                texts: row.texts.clone(),
                first: index,
                below: index + 1,
                line: row.line,
            });
        }
    }
    None
}

/// Whether a row may be the heading of a next table: two columns known, one of them the
/// date, because a note may well mention the pH and the tower.
pub(crate) fn is_heading(texts: &[String], known: Known<'_>) -> bool {
    let is_date =
        |text: &String| matches!(heading::read(text).role, Some(Role::Date | Role::DateTime));
    is_words(texts) && texts.iter().any(is_date) && quality(texts, known).columns >= 2
}

/// Whether headings run down the first column, so that checks run from left to right.
pub(crate) fn is_transposed(head: &[HeadRow], known: Known<'_>) -> bool {
    let first: Vec<String> = head
        .iter()
        .filter_map(|row| row.texts.first().cloned())
        .collect();
    let with_data = head
        .iter()
        .filter(|row| row.texts.iter().skip(1).filter(|t| is_data(t)).count() >= 2)
        .count();
    with_data >= 2 && quality(&first, known).columns >= 3
}

/// The upper row's heading goes over the blank cells to its right that have one below.
fn join(upper: &[String], lower: &[String]) -> Vec<String> {
    let mut over = "";
    let filled = upper.iter().filter(|t| !t.trim().is_empty()).count();
    (0..upper.len().max(lower.len()))
        .map(|column| {
            let a = upper.get(column).map_or("", |t| t.trim());
            let b = lower.get(column).map_or("", |t| t.trim());
            if !a.is_empty() {
                // A title in the first column spans nothing.
                over = if column > 0 || filled > 1 { a } else { "" };
            } else if b.is_empty() {
                over = "";
            }
            let a = if a.is_empty() && column > 0 { over } else { a };
            match (a.is_empty(), b.is_empty() || a == b) {
                (true, _) => b.to_owned(),
                (false, true) => a.to_owned(),
                (false, false) => format!("{a} | {b}"),
            }
        })
        .collect()
}

fn quality(texts: &[String], known: Known<'_>) -> Quality {
    let mut quality = Quality::default();
    let mut seen = BTreeSet::new();
    for text in texts {
        let key = heading_key(text);
        // A title merged over many columns is one text, not many headings.
        if key.is_empty() || !seen.insert(key.clone()) {
            continue;
        }
        let named = known.rules.iter().any(|r| heading_key(&r.heading) == key)
            || known
                .own
                .iter()
                .any(|o| o.headings.iter().any(|h| heading_key(h) == key));
        let reading = heading::read(text);
        let has_role = named || reading.role.is_some();
        if has_role || !reading.alternatives.is_empty() {
            quality.columns += 1;
            quality.has_date |= matches!(reading.role, Some(Role::Date | Role::DateTime));
            quality.points += if has_role { 2 } else { 1 };
            quality.points += usize::from(reading.unit.is_some());
        }
    }
    quality
}

/// Two cells or more, of which at most a quarter look like data.
fn is_words(texts: &[String]) -> bool {
    let filled = texts.iter().filter(|t| !t.trim().is_empty()).count();
    let data = texts.iter().filter(|t| is_data(t)).count();
    filled >= 2 && data * 4 <= filled
}

/// One text merged over the whole width.
fn is_title(texts: &[String]) -> bool {
    let mut filled = texts.iter().map(|t| t.trim()).filter(|t| !t.is_empty());
    let first = filled.next();
    let others: Vec<&str> = filled.collect();
    others.len() >= 2 && others.iter().all(|text| Some(*text) == first)
}

fn has_no_data(texts: &[String]) -> bool {
    !texts.iter().any(|t| is_data(t)) && texts.iter().any(|t| !t.trim().is_empty())
}

/// Figures and marks without letters: a number, a date, a time.
fn is_data(text: &str) -> bool {
    text.contains(|c: char| c.is_ascii_digit()) && !text.contains(char::is_alphabetic)
}

#[cfg(test)]
mod tests {
    use super::*;

    const NONE: Known<'static> = Known {
        rules: &[],
        own: &[],
    };

    fn head(rows: &[&[&str]]) -> Vec<HeadRow> {
        rows.iter()
            .enumerate()
            .map(|(index, cells)| HeadRow {
                line: index as u64 + 1,
                texts: cells.iter().map(|c| (*c).to_owned()).collect(),
            })
            .collect()
    }

    #[test]
    fn title_rows_are_no_heading() {
        let rows = head(&[
            &["Salt fog log: temperature and pH"],
            &["Cabinet:", "Plover"],
            &["Date", "Cabinet temp. (°C)", "pH"],
            &["2026-01-05", "35.1", "6.8"],
        ]);
        let found = find(&rows, NONE).unwrap();
        assert_eq!((found.first, found.below, found.line), (2, 3, 3));
    }

    #[test]
    fn two_rows_are_joined_and_the_upper_one_spreads() {
        let rows = head(&[
            &["Date", "Temperature", "", "pH"],
            &["", "Cabinet °C", "Tower °C", ""],
            &["2026-01-05", "35.1", "47.9", "6.8"],
        ]);
        let found = find(&rows, NONE).unwrap();
        assert_eq!(
            found.texts,
            [
                "Date",
                "Temperature | Cabinet °C",
                "Temperature | Tower °C",
                "pH"
            ]
        );
        assert_eq!((found.below, found.line), (2, 2));
    }

    #[test]
    fn units_in_a_second_row_belong_to_the_heading() {
        let rows = head(&[
            &["Date", "Cabinet temperature", "Air pressure", "pH"],
            &["", "°F", "psi", ""],
            &["2026-01-05", "95.1", "15", "6.8"],
        ]);
        let found = find(&rows, NONE).unwrap();
        assert_eq!(found.texts[2], "Air pressure | psi");
    }

    #[test]
    fn the_first_of_several_tables_is_found_first() {
        let rows = head(&[
            &["Date", "pH", "Remarks"],
            &["2026-01-05", "6.8", ""],
            &[
                "Date",
                "Cabinet temp °C",
                "Tower temp °C",
                "Pressure kPa",
                "pH",
            ],
        ]);
        let found = find(&rows, NONE);
        assert_eq!(found.map(|f| f.first), Some(0));
    }

    #[test]
    fn a_title_merged_over_all_columns_is_no_heading() {
        let title = "Cabinet temperature and pH by date";
        let rows = head(&[
            &[title, title, title],
            &["Date", "Cabinet temp. (°C)", "pH"],
            &["2026-01-05", "35.1", "6.8"],
        ]);
        let found = find(&rows, NONE).unwrap();
        assert_eq!((found.first, found.texts[0].as_str()), (1, "Date"));
    }

    #[test]
    fn dates_along_the_top_are_told_apart() {
        let rows = head(&[
            &["Date", "2026-01-05", "2026-01-06", "2026-01-07"],
            &["Cabinet temp °C", "35.1", "35.0", "35.2"],
            &["pH", "6.8", "6.9", "6.8"],
        ]);
        assert!(find(&rows, NONE).is_none());
        assert!(is_transposed(&rows, NONE));
    }
}
