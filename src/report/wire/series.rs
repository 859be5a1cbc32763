//! A series of `review.json`: its readings, limits, conformance and signals.
//!
//! What was concluded from them (drift, step, capability, findings) stands in the parent.

use super::{Capability, Drift, Shift};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// One characteristic of one cabinet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Series {
    /// Cabinet identifier.
    pub cabinet: String,
    /// Characteristic identifier.
    pub characteristic: String,
    /// Its name in a sentence.
    pub spoken: String,
    /// Unit of all values; empty where there is none.
    pub unit: String,
    /// Decimals that make sense for a reader, from the resolution of the readings.
    pub decimals: u32,
    /// Readings, excluded ones included, from the first read to the end of the period.
    pub n: u64,
    /// Readings in the period.
    pub n_period: u64,
    /// First reading.
    pub from: Option<String>,
    /// Last reading up to the end of the period.
    pub to: Option<String>,
    /// `steady`, `drifting`, `shifted`, `unsteady`, `breached` or `too-few`.
    pub state: String,
    /// Why that state, in a sentence.
    pub state_says: String,
    /// Mean, standard deviation and extremes of the period's readings that are not excluded.
    pub period_summary: Option<PeriodSummary>,
    /// Limits of the current stage; `null` when there are none.
    pub limits: Option<Limits>,
    /// Why there are no limits, or how they came about, in sentences.
    pub limits_say: String,
    /// All stages, the current one last.
    pub stages: Vec<Stage>,
    /// The window the standard asks for and how the period stands against it.
    pub conformance: Option<Conformance>,
    /// The readings, per `--points`.
    pub points: Vec<Point>,
    /// Signals told in this review.
    pub signals: Vec<Signal>,
    /// Slow change, when there is evidence of it.
    pub drift: Option<Drift>,
    /// What is not claimed of a slow or sudden change, and why (no evidence of a drift, no limit
    /// reached within so many days), in a sentence; `null` when there is nothing to add.
    #[serde(default)]
    pub not_claimed: Option<String>,
    /// Step change, when there is evidence of it.
    pub shift: Option<Shift>,
    /// Capability; `null` with the reason in `capability_says`.
    pub capability: Option<Capability>,
    /// Why capability is not given, or what it rests on.
    pub capability_says: String,
}

/// Plain summary of the period's readings.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PeriodSummary {
    /// Readings summarised.
    pub n: u64,
    /// Mean.
    pub mean: f64,
    /// Standard deviation with n − 1; `null` below two readings.
    pub sd: Option<f64>,
    /// Smallest.
    pub min: f64,
    /// Largest.
    pub max: f64,
}

/// Control limits and how they came about.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Limits {
    /// `frozen`, `own-baseline`, `trial` or `none`.
    pub origin: String,
    /// Readings they were computed from.
    pub n: u64,
    /// First of those readings.
    pub from: String,
    /// Last of those readings.
    pub to: String,
    /// Centre line.
    pub centre: f64,
    /// Standard deviation in force.
    pub sigma: f64,
    /// `moving-range`, `median-moving-range`, `moving-range-autocorrelated` or `interval-censored`.
    pub sigma_method: String,
    /// Lower control limit.
    pub lower: f64,
    /// Upper control limit.
    pub upper: f64,
    /// Mean moving range (or its robust stand-in).
    pub moving_range_mean: f64,
    /// Upper limit of the moving range.
    pub moving_range_upper: f64,
    /// Bias-corrected lag-1 autocorrelation of the baseline.
    pub lag1_autocorrelation: Option<f64>,
    /// Resolution of the readings.
    pub resolution: Option<f64>,
    /// The same limits without allowance for autocorrelation and rounding.
    pub plain_sigma: f64,
    /// Plain lower limit.
    pub plain_lower: f64,
    /// Plain upper limit.
    pub plain_upper: f64,
    /// Moving ranges used.
    pub moving_ranges: u64,
    /// Moving ranges not taken across gaps, exclusions and stages.
    pub moving_ranges_skipped: u64,
    /// Baseline readings outside their own screening limits: named, not dropped.
    pub screened: Vec<ScreenedReading>,
    /// Who approved a frozen baseline.
    pub approved_by: Option<String>,
}

/// A baseline reading that its own screening limits do not hold.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ScreenedReading {
    /// When.
    pub at: String,
    /// Its value.
    pub value: f64,
}

/// A stage of a series.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Stage {
    /// First reading of the stage.
    pub from: String,
    /// Last reading of the stage up to the end of the period.
    pub to: String,
    /// Readings in it.
    pub n: u64,
    /// The event that opened it; `null` for the first.
    pub opened_by: Option<String>,
    /// Its limits.
    pub limits: Option<Limits>,
}

/// Conformance limits and how the period stands against them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Conformance {
    /// Profile the limits come from.
    pub profile: String,
    /// Lower limit.
    pub lower: Option<f64>,
    /// Upper limit.
    pub upper: Option<f64>,
    /// Readings of the period outside.
    pub outside: u64,
    /// Readings of the period judged.
    pub checked: u64,
    /// Source of the limits.
    pub source: String,
    /// How it was judged where a fixed window does not say it (tower against pressure,
    /// gravity as salt), and what could not be judged.
    pub says: Option<String>,
    /// The readings outside, in time order.
    pub breaches: Vec<Breach>,
}

/// A reading outside the conformance limits.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Breach {
    /// When.
    pub at: String,
    /// Value.
    pub value: f64,
    /// Limit it passed.
    pub limit: f64,
    /// `low` or `high`.
    pub side: String,
    /// Event that explains it.
    pub explained_by: Option<String>,
}

/// One reading.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Point {
    /// When.
    pub at: String,
    /// Value.
    pub value: f64,
    /// Moving range to the reading before; `null` across gaps, stages and exclusions.
    pub moving_range: Option<f64>,
    /// Why it is excluded; `null` when it is not.
    pub excluded: Option<String>,
    /// Index into `stages`.
    pub stage: u64,
}

/// One rule fired on one series.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Signal {
    /// Identifier, unique in the review and the same on every run.
    pub id: String,
    /// Rule that fired, as `one-sided-run`.
    pub rule: String,
    /// `up`, `down` or `none`.
    pub direction: String,
    /// The reading at which it first fired, using no later reading.
    pub known_at: String,
    /// Estimated start of the change.
    pub starts_at: String,
    /// The last reading that still fires.
    pub last_at: String,
    /// Index of the reading at `known_at` in the series.
    pub known_index: u64,
    /// Index of the reading at `starts_at`.
    pub starts_index: u64,
    /// Index of the reading at `last_at`.
    pub last_index: u64,
    /// Whether it still fired at the last reading of the period.
    pub ongoing: bool,
    /// The event that explains it.
    pub explained_by: Option<String>,
    /// The rule's finding in a sentence.
    pub says: String,
}
