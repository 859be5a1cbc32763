//! The monthly review: puts intake, charts, signals, conformance and capability of every
//! cabinet together. What a finding says is `finding`'s, how it looks is `report`'s.

mod assemble;
mod budget;
mod period;
mod run;
mod says;
mod to_wire;
mod together;

pub use period::Period;
pub use run::{ReviewOptions, review};
pub use to_wire::{Points, keep_points};

pub(crate) use assemble::{cautions, inputs, issue_on_wire, profiles_in_use};
pub(crate) use run::chart_options;
pub(crate) use to_wire::limits_on_wire;

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

impl State {
    /// All states, most urgent first.
    pub const ALL: [State; 6] = [
        State::Breached,
        State::Drifting,
        State::Shifted,
        State::Unsteady,
        State::TooFew,
        State::Steady,
    ];

    /// The word of the wire format, as `too-few`.
    pub fn id(self) -> &'static str {
        match self {
            State::Breached => "breached",
            State::Drifting => "drifting",
            State::Shifted => "shifted",
            State::Unsteady => "unsteady",
            State::TooFew => "too-few",
            State::Steady => "steady",
        }
    }
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
    /// Confidence set for the start of the slow change.
    pub began: Option<crate::drift::Span>,
    /// What is not claimed of a change and why, in words; empty when there is nothing to add.
    pub not_claimed: String,
    /// Step change with evidence.
    pub shift: Option<crate::drift::Shift>,
    /// The saw-tooth that was recognised.
    pub saw_tooth: Option<crate::signal::SawTooth>,
    /// Capability or why it is refused.
    pub capability: Result<crate::capability::Capability, crate::capability::Refusal>,
    /// The verdict.
    pub state: State,
    /// Why, in a sentence.
    pub state_says: String,
}
