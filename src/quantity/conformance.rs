//! How the readings of a period stand against the standard's window.

/// The period against the conformance limits.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// Profile the limits come from.
    pub profile: std::sync::Arc<str>,
    /// Lower limit in the charted unit.
    pub lower: Option<f64>,
    /// Upper limit.
    pub upper: Option<f64>,
    /// Source of the limits.
    pub source: String,
    /// Readings judged.
    pub checked: usize,
    /// Readings outside, in time order.
    pub breaches: Vec<Breach>,
    /// How it was judged where a fixed window does not say it.
    pub says: Option<String>,
}

/// A reading outside.
#[derive(Debug, Clone, PartialEq)]
pub struct Breach {
    /// Index in the series.
    pub index: usize,
    /// The limit passed.
    pub limit: f64,
    /// Whether it lies above the upper limit (else below the lower).
    pub high: bool,
    /// Event (in the lab's words) that explains it.
    pub explained_by: Option<String>,
}
