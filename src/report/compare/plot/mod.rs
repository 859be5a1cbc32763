//! Charts of a comparison as SVG text, one kind a file.
//!
//! Drawn on the canvas of the review's charts, with their palette. Shape, line style and
//! words carry every meaning; colour only repeats it. A chart takes what has room and
//! says what it left out.

mod calendar;
mod consistency;
mod coupons;
mod curve_labels;
mod differences;
mod distributions;
mod rows;
mod scores;
mod shares;
#[cfg(test)]
mod tests;
mod two_rounds;

pub(super) use shares::{rows_of, shares};
pub(super) use two_rounds::{consecutive_rounds, two_rounds};

use super::naming::Names;
use crate::report::plot::PlotError;
use crate::report::wire::{ComparedCharacteristic, Comparison};

/// Width of a chart in CSS pixels.
const WIDTH: f64 = 800.0;

/// A drawn chart.
pub(super) struct Chart {
    pub(super) kind: Kind,
    pub(super) svg: String,
    /// What had no room; empty when everything is drawn.
    pub(super) left_out: String,
}

/// The kinds of charts, each with its place in a file name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Scores,
    Differences,
    Distributions,
    Coupons,
    Consistency,
    Calendar,
    TwoRounds,
    Mismatch,
}

impl Kind {
    pub(super) fn file_name(self) -> &'static str {
        match self {
            Kind::Scores => "scores",
            Kind::Differences => "differences",
            Kind::Distributions => "distributions",
            Kind::Coupons => "coupons",
            Kind::Consistency => "consistency",
            Kind::Calendar => "calendar",
            Kind::TwoRounds => "two-rounds",
            Kind::Mismatch => "mismatch",
        }
    }
}

/// Every chart of a characteristic or of a round's coupons that has something to draw.
///
/// # Errors
/// [`PlotError`] when the drawing library fails.
pub(super) fn all(
    comparison: &Comparison,
    one: &ComparedCharacteristic,
    names: &Names<'_>,
) -> Result<Vec<Chart>, PlotError> {
    let drawn = [
        scores::scores(one, names)?,
        differences::differences(one, names)?,
        coupons::coupons(one, names)?,
        distributions::distributions(one)?,
        consistency::consistency(one, names)?,
        calendar::calendar(comparison, one, names)?,
    ];
    Ok(drawn.into_iter().flatten().collect())
}

/// "40 of 1000 cabinets are drawn, those with the largest scores; compare.json holds all."
fn left_out(drawn: usize, all: usize, what: &str, which: &str) -> String {
    if drawn >= all {
        String::new()
    } else {
        format!("{drawn} of {all} {what} are drawn: {which}. compare.json holds all it lists.")
    }
}
