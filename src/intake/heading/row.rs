//! A whole heading row together: what one heading leaves open, its neighbours, the
//! samples below it or `lab.toml` may settle.

use super::HeadingReading;
use crate::intake::checks::Measure;
use crate::intake::role::Role;
use crate::intake::unit::{Conversion, Unit};
use crate::lab::{ColumnRule, GravityReference, OwnCharacteristic};

/// The first cells below a heading, as far as they are numbers.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Samples {
    /// Numbers as written, in the unit of the column.
    pub values: Vec<f64>,
    /// The unit that every one of them has beside it.
    pub unit: Option<Unit>,
}

/// What is known around a heading row.
#[derive(Debug, Clone, Copy, Default)]
pub struct RowContext<'a> {
    /// Path of the log relative to the lab folder, for hints.
    pub files: &'a str,
    /// Characteristics of the lab's own.
    pub own: &'a [OwnCharacteristic],
    /// Column rules of `lab.toml` that hold for this log, the last one wins.
    pub rules: &'a [ColumnRule],
    /// Samples by column; may be shorter than the row.
    pub samples: &'a [Samples],
}

/// What becomes of a column.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcome {
    /// Readings of a measure; written numbers go through the conversion.
    Measured {
        /// What it measures, in which canonical unit.
        measure: Measure,
        /// From written to canonical.
        conversion: Conversion,
    },
    /// Which cabinet, when, who, remarks.
    Context,
    /// Known, and of no use to the review.
    Ignored,
    /// Left out until `lab.toml` settles it.
    LeftOut {
        /// What was found against what was expected, as a sentence.
        problem: String,
        /// The lines of `lab.toml` that settle it, or what else to do.
        hint: String,
    },
}

/// What was understood of one column.
#[derive(Debug, Clone, PartialEq)]
pub struct ColumnReading {
    /// The heading as written.
    pub heading: String,
    /// What the heading says, after its neighbours and `lab.toml` were heard.
    pub reading: HeadingReading,
    /// What becomes of the column.
    pub outcome: Outcome,
}

impl ColumnReading {
    /// The role, unless it is left out.
    pub fn role(&self) -> Option<&Role> {
        match self.outcome {
            Outcome::LeftOut { .. } => None,
            _ => self.reading.role.as_ref(),
        }
    }

    /// The reference of its gravity.
    pub fn gravity(&self) -> Option<GravityReference> {
        self.reading.gravity
    }
}

/// Recognises a whole heading row: one reading a column, in order.
pub fn recognise_row(headings: &[String], context: &RowContext) -> Vec<ColumnReading> {
    let _ = context;
    headings
        .iter()
        .map(|heading| ColumnReading {
            heading: heading.clone(),
            reading: super::read(heading),
            outcome: Outcome::Ignored,
        })
        .collect()
}
