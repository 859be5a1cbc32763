//! The numbers of `coupons.csv`: the decimal sign of each column, and one cell as a number
//! in its heading's unit.
//!
//! Balances print three decimals, so `82,500` alone could be eighty-two thousand; what a
//! coupon can weigh or measure settles it. What the numbers mean together is `row`'s.

use crate::intake::number::{self, Evidence, Reading, Refusal, Style};
use crate::intake::plausible::Range;
use crate::intake::unit::Conversion;
use crate::issue::{Effect, Issue};
use crate::lab::listing::{Listing, Row};
use crate::quantity::mass_loss::{AREA_RANGE, MASS_RANGE};

/// A column of numbers.
#[derive(Debug, Clone, Copy)]
pub(super) struct Column {
    /// Its heading.
    pub(super) heading: &'static str,
    /// Its unit, which a cell may repeat.
    unit: &'static str,
    /// What coupons usually have: settles three digits behind a comma, and nothing else.
    usual: (f64, f64),
    /// What is believed at all.
    possible: (f64, f64),
}

const fn column(
    heading: &'static str,
    unit: &'static str,
    usual: (f64, f64),
    possible: (f64, f64),
) -> Column {
    Column {
        heading,
        unit,
        usual,
        possible,
    }
}

/// Common practice, no source: panels of 1 to 3 mm steel, a hand's width at most.
pub(super) const HOURS: Column = column("hours", "h", (1.0, 5_000.0), (0.5, 20_000.0));
pub(super) const BEFORE: Column = column("mass_before_g", "g", (0.5, 500.0), MASS_RANGE);
pub(super) const AFTER: Column = column("mass_after_g", "g", (0.5, 500.0), MASS_RANGE);
pub(super) const AREA: Column = column("area_cm2", "cm2", (5.0, 900.0), AREA_RANGE);
pub(super) const LENGTH: Column = column("length_mm", "mm", (5.0, 900.0), (5.0, 1_000.0));
pub(super) const WIDTH: Column = column("width_mm", "mm", (5.0, 900.0), (5.0, 1_000.0));
pub(super) const THICKNESS: Column = column("thickness_mm", "mm", (0.05, 20.0), (0.02, 50.0));
pub(super) const BLANK_LOSS: Column = column("blank_loss_g", "g", (0.0, 0.9), (0.0, 10.0));

const ALL: [Column; 8] = [
    HOURS, BEFORE, AFTER, AREA, LENGTH, WIDTH, THICKNESS, BLANK_LOSS,
];

/// How each column of a file writes its numbers.
#[derive(Debug)]
pub(super) struct Styles(Vec<(&'static str, Result<Style, String>)>);

impl Styles {
    /// Settled by each column's own cells, then by what fits a coupon, then by the others.
    pub(super) fn of(listing: &Listing) -> Styles {
        let cells = |heading: &'static str| listing.rows().map(move |row| row.cell(heading));
        let styles = ALL.iter().map(|column| {
            let own: Vec<&str> = cells(column.heading).collect();
            let others = ALL.iter().filter(|c| c.heading != column.heading);
            let rest: Evidence = number::infer(others.flat_map(|c| cells(c.heading)));
            let usual = Range {
                low: column.usual.0,
                high: column.usual.1,
                unit: column.unit,
            };
            let evidence = number::infer(own.iter().copied());
            let fits = Some((usual, Conversion::SAME));
            let settled = number::settle(&evidence, &rest, None, fits, own.iter().copied());
            (column.heading, settled.map(|(style, _)| style))
        });
        Styles(styles.collect())
    }

    /// The cell as a number in the column's unit; `None` where nothing stands.
    ///
    /// A mark beside the number is told in `told` and the number kept. Anything else is
    /// the issue that leaves the row out.
    pub(super) fn number(
        &self,
        row: &Row<'_>,
        column: Column,
        told: &mut Vec<Issue>,
    ) -> Result<Option<f64>, Box<Issue>> {
        let cell = bare(row.cell(column.heading), column.unit);
        if cell.is_empty() {
            return Ok(None);
        }
        let style = self.0.iter().find(|(h, _)| *h == column.heading);
        let style = match style {
            Some((_, Ok(style))) => *style,
            Some((_, Err(problem))) if !cell.bytes().all(|b| b.is_ascii_digit()) => {
                return Err(row.rejected(
                    column.heading,
                    sentence(problem),
                    Some("Write the numbers of the column with a decimal point and no thousands marks.".into()),
                ));
            }
            _ => Style::PER_CELL,
        };
        let value = match number::read(cell, style) {
            Reading::Missing => return Ok(None),
            Reading::Value(value) => value,
            Reading::Marked(marked) if marked.unit.is_some() => {
                return Err(row.rejected(
                    column.heading,
                    format!("Expected a number in {}, as the heading says.", column.unit),
                    Some(format!("Convert it to {} and write no unit.", column.unit)),
                ));
            }
            Reading::Marked(marked) => {
                if let Some(says) = marked.says() {
                    let mut issue = row.rejected(column.heading, sentence(&says), None);
                    issue.effect = Effect::Kept;
                    told.push(*issue);
                }
                marked.value
            }
            Reading::Refused(refusal) => {
                return Err(row.rejected(
                    column.heading,
                    sentence(refusal.problem()),
                    Some(hint(refusal)),
                ));
            }
        };
        let (low, high) = column.possible;
        if (low..=high).contains(&value) {
            return Ok(Some(value));
        }
        Err(row.rejected(
            column.heading,
            format!(
                "Expected {} from {low} to {high} {unit}, not {value} {unit}.",
                column.heading,
                unit = column.unit
            ),
            Some("Correct the cell, or its unit.".into()),
        ))
    }
}

/// The cell without the unit that its heading states already.
fn bare<'a>(cell: &'a str, unit: &str) -> &'a str {
    let spelt = |ending: &str| cell.strip_suffix(ending).map(str::trim_end);
    let without = spelt(unit).or_else(|| if unit == "cm2" { spelt("cm²") } else { None });
    without
        .filter(|rest| rest.ends_with(|c: char| c.is_ascii_digit()))
        .unwrap_or(cell)
}

/// The refusals of check logs point to settings that this file does not have.
fn hint(refusal: Refusal) -> String {
    match refusal {
        Refusal::ThousandsOrDecimal => {
            "Write the numbers of the column with one decimal sign and no thousands marks.".into()
        }
        other => sentence(other.hint()),
    }
}

/// The intake's clauses as sentences.
pub(super) fn sentence(clause: &str) -> String {
    let mut chars = clause.chars();
    let first = chars.next().map(char::to_uppercase);
    first
        .into_iter()
        .flatten()
        .chain(chars)
        .chain(['.'])
        .collect()
}
