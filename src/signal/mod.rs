//! Signals: a registry of rules, one rule a file, run over the stages of a chart.
//!
//! A rule sees standardised readings of one stage and says where it fires; the
//! registry turns firings into signals, each told once, causal in `known_at`.

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
    /// Resolution in units of sigma, when the readings are rounded.
    pub resolution: Option<f64>,
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
    /// Appends every firing, in order of `at`.
    fn judge(&self, input: &RuleInput<'_>, firings: &mut Vec<Firing>);
}
