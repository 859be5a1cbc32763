//! Readings of a cabinet that do not go together as usual, on the wire.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A combination of readings that earlier checks do not lead to expect; it belongs to a
/// cabinet, not to one series.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Together {
    /// Identifier, unique in the review and the same on every run.
    pub id: String,
    /// Rule that fired: `unusual-together`.
    pub rule: String,
    /// The check told: the first that no signal of a single series accounts for.
    pub known_at: String,
    /// First unusual check.
    pub starts_at: String,
    /// Last unusual check.
    pub last_at: String,
    /// Whether the last check of the period is unusual too.
    pub ongoing: bool,
    /// Unusual checks from the first to the last.
    pub checks: u64,
    /// Hotelling's T² of the check told.
    pub statistic: f64,
    /// What it is held against.
    pub limit: f64,
    /// Chance of as unusual a check in a steady cabinet.
    pub chance: f64,
    /// The characteristics judged at that check, the largest share first.
    pub contributions: Vec<Contribution>,
    /// It in a sentence.
    pub says: String,
    /// The event that explains it, the signals of single series that tell of it already, or
    /// the copied entries it rests on; such a combination is no finding.
    pub explained_by: Option<String>,
}

/// A characteristic's part in an unusual combination.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Contribution {
    /// The characteristic.
    pub characteristic: String,
    /// Its name in a sentence.
    pub spoken: String,
    /// Share of the statistic that goes when it is left out; shares need not sum to 1.
    pub share: f64,
    /// `up` or `down`: where its reading lies from what is expected.
    pub direction: String,
    /// Its reading.
    pub value: f64,
    /// What the other readings of the check and its own reading before lead to expect.
    pub expected: f64,
    /// Unit of both.
    pub unit: String,
}
