//! The monthly review of one cabinet and of the lab: puts intake, charts, signals,
//! conformance and capability together and decides the state of each series.

use crate::chart::Chart;
use crate::signal::Signal;
use std::ops::Range;

/// State of a series, in the order of urgency.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum State {
    /// A reading of the period is outside the conformance limits and no event explains it.
    Breached,
    /// A slow change with evidence.
    Drifting,
    /// A step change with evidence.
    Shifted,
    /// Other signals.
    Unsteady,
    /// Too few readings for limits.
    TooFew,
    /// Nothing to see.
    Steady,
}

/// A series as reviewed: everything that findings and the wire format draw on.
#[derive(Debug)]
pub struct SeriesReview<'a> {
    /// Chart with limits and moving ranges.
    pub chart: Chart<'a>,
    /// Indices of the readings that fall in the period.
    pub period: Range<usize>,
    /// Signals told in this review.
    pub signals: Vec<Signal>,
    /// How the period stands against the standard; `None` without a window.
    pub conformance: Option<crate::quantity::conformance::Outcome>,
    /// Slow change with evidence.
    pub drift: Option<crate::drift::Drift>,
    /// Step change with evidence.
    pub shift: Option<crate::drift::Shift>,
    /// Capability or why it is refused.
    pub capability: Result<crate::capability::Capability, crate::capability::Refusal>,
    /// The verdict.
    pub state: State,
    /// Why, in a sentence.
    pub state_says: String,
}
