//! Signals: a registry of rules, one rule a file, run over the stages of a chart.
//!
//! A rule sees standardised readings of one stage and says where it fires; [`run`]
//! turns firings into signals, each told once and causal: what was known at a reading
//! never rests on a later one. What a signal means for the cabinet is `finding`'s.
//!
//! The pattern tests are those of the Western Electric Statistical Quality Control
//! Handbook (1956) and of Nelson, J Qual Technol 16 (1984) 237, under names of our own.
//! Choices that the texts leave open: a reading exactly on a limit is not beyond it; a
//! reading on the centre line ends a run; a tie ends a climb and an alternation; a zone
//! includes everything further out; a zone test fires only at a reading that is itself
//! in the zone; no pattern reaches across a gap.

pub mod accumulated_beyond_limit;
pub mod allowance;
pub mod avoiding_centre;
pub mod beyond_limit;
mod carry_over;
mod counting;
#[cfg(test)]
mod false_alarms;
#[cfg(test)]
pub(crate) mod fixture;
pub mod hugging_centre;
pub mod off_centre_cluster;
pub mod one_sided_run;
pub mod outer_pair;
pub mod range_beyond_limit;
pub mod registry;
pub mod repeat;
pub mod run;
#[cfg(test)]
mod run_lengths;
pub mod saw_tooth;
pub mod see_saw;
pub mod sets;
pub mod smoothed_beyond_limit;
pub mod steady_climb;
pub mod told;
#[cfg(test)]
mod vectors;
pub mod wording;

pub use allowance::Allowance;
pub use run::{explanation, in_period, is_news, signal_id, signals, signals_of_period};
pub use saw_tooth::{SawTooth, saw_tooth};
pub use sets::{NAMES, RuleSet};
pub use told::Told;

/// What a rule sees of one stage: parallel slices, excluded readings left out.
#[derive(Debug, Clone, Copy)]
pub struct RuleInput<'a> {
    /// (reading − centre) / sigma.
    pub z: &'a [f64],
    /// The readings in their own unit (rises, falls and ties are judged on these).
    pub value: &'a [f64],
    /// Moving range over its upper limit; NaN where none is taken.
    pub range_ratio: &'a [f64],
    /// Whether a gap longer than the lab's `gap_days` lies before the reading: a
    /// pattern that rests on neighbours does not reach across it.
    pub after_gap: &'a [bool],
    /// Time since the reading before in usual spacings of the baseline, at least
    /// [`run::LEAST_SPACING`]; 1 for an even log and for the first reading.
    pub spacing: &'a [f64],
    /// Resolution in units of sigma, when the readings are rounded.
    pub resolution: Option<f64>,
    /// What to allow for; [`Allowance::NONE`] in a published set.
    pub allowance: Allowance,
}

/// Direction of a firing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Direction {
    /// Upwards.
    Up,
    /// Downwards.
    Down,
    /// Neither.
    Neither,
}

impl Direction {
    /// `up`, `down` or `none`, as the wire format writes it.
    pub fn id(self) -> &'static str {
        match self {
            Direction::Up => "up",
            Direction::Down => "down",
            Direction::Neither => "none",
        }
    }
}

/// A rule fires at one reading, using it and earlier ones only.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Firing {
    /// Reading at which it fires.
    pub at: usize,
    /// First reading of the pattern.
    pub start: usize,
    /// Direction.
    pub direction: Direction,
}

/// A stretch of firings of one rule in one direction, told once.
#[derive(Debug, Clone, PartialEq)]
pub struct Signal {
    /// Name of the rule.
    pub rule: &'static str,
    /// Direction.
    pub direction: Direction,
    /// Index in the series of the reading at which it first fired.
    pub known: usize,
    /// Index of the estimated start of the change.
    pub start: usize,
    /// Index of the last reading that still fires.
    pub last: usize,
    /// Whether it still fires at the last valid reading.
    pub ongoing: bool,
    /// The event (in the lab's words) that explains it.
    pub explained_by: Option<String>,
    /// The finding of the rule in a sentence.
    pub says: String,
}

/// A rule: judges one stage.
pub trait Rule: Send + Sync {
    /// Its name, in words, as `one-sided-run`.
    fn name(&self) -> &'static str;
    /// What it asks, with its parameters, in a sentence.
    fn asks(&self) -> String;
    /// Appends every firing, in order of `at`. Whether it fires at a reading rests on at
    /// most [`run::LONGEST_PATTERN`] readings; only where its run starts may lie further back.
    fn judge(&self, input: &RuleInput<'_>, firings: &mut Vec<Firing>);
    /// What it saw when it first fired, as a sentence without its full stop.
    fn says(&self, told: &Told<'_>) -> String {
        format!("{} fired {}", self.name(), told.span())
    }
}
