//! The wire format of `review.json`: its own set of types, versioned.
//!
//! Renderers read these types and nothing else, so every number a report shows is in
//! the JSON. Times are RFC 3339 texts, a missing value is `null` (never NaN), numbers
//! carry full precision: rounding is the renderer's. Field names are a contract;
//! fields may be added, none may be renamed.

mod compare;
mod series;
mod together;

pub use compare::{
    Assigned, COMPARE_SCHEMA, ComparedCabinet, ComparedCharacteristic, ComparedLab, Comparison,
    Coupon, Critical, Explanation, LabIssue, Mismatch, OutlierTest, Pair, PairCount, Participant,
    Precision, RobustEstimate, Round, Window,
};
pub use series::{
    Breach, Conformance, Limits, PeriodSummary, Point, ScreenedReading, Series, Signal, Stage,
};
pub use together::{Contribution, Together};

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Value of [`Review::schema`].
pub const REVIEW_SCHEMA: &str = "steadyfog.review/1";

/// A whole monthly review.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Review {
    /// Name and version of this format: `steadyfog.review/1`.
    pub schema: String,
    /// The program that wrote it.
    pub program: Program,
    /// When it was made (the clock passed in).
    pub made_at: String,
    /// Name of the lab.
    pub lab: String,
    /// IANA zone of the lab's wall clock; `null` when times are taken as written.
    pub zone: Option<String>,
    /// The period reviewed, both ends included.
    pub period: Period,
    /// Where the profiles' values come from, one entry per profile in use.
    pub profiles: Vec<ProfileUse>,
    /// The cabinets reviewed, in report order.
    pub cabinets: Vec<Cabinet>,
    /// Every input file, in order of its path.
    pub inputs: Vec<Input>,
    /// What could not be used as written.
    pub issues: Vec<Issue>,
    /// Events of the lab that touch the period or the limits in force.
    pub events: Vec<Event>,
    /// One entry per cabinet and characteristic.
    // Boxed: put together, a fleet's are not copied (1.4 kB each) into fresh memory.
    #[allow(clippy::vec_box)]
    pub series: Vec<Box<Series>>,
    /// What needs the reader, most urgent first.
    pub findings: Vec<Finding>,
    /// Counts for the head of the report.
    pub summary: Summary,
    /// The rule set in force and what each of its rules asks.
    pub rules: RuleSet,
    /// Cautions that belong to this report.
    pub cautions: Vec<String>,
}

/// Name and version of the program.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Program {
    /// `steadyfog`.
    pub name: String,
    /// Its version.
    pub version: String,
}

/// First and last date of the period (dates, both included).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Period {
    /// First date, `YYYY-MM-DD`.
    pub from: String,
    /// Last date, `YYYY-MM-DD`.
    pub to: String,
}

/// A profile in use and the source of its values.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ProfileUse {
    /// Identifier, as `iso-9227-nss`.
    pub id: String,
    /// Title for the reader.
    pub title: String,
    /// Each value used with its source.
    pub values: Vec<ProfileValue>,
}

/// One window of a profile with its source.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ProfileValue {
    /// The characteristic.
    pub characteristic: String,
    /// Lower conformance limit.
    pub lower: Option<f64>,
    /// Upper conformance limit.
    pub upper: Option<f64>,
    /// Unit of both.
    pub unit: String,
    /// Standard, edition and clause; says "from memory" where the text could not be read.
    pub source: String,
    /// Whether `lab.toml` overrides the shipped value.
    pub overridden: bool,
}

/// A cabinet of the review.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Cabinet {
    /// Identifier.
    pub id: String,
    /// Name for the reader.
    pub name: String,
    /// Profile it is judged by.
    pub profile: Option<String>,
    /// Checks in the period.
    pub checks: u64,
    /// First and last check of all that were read.
    pub first_check: Option<String>,
    /// Last check of all that were read.
    pub last_check: Option<String>,
    /// Days of the period on which the lab works but no check was found (`YYYY-MM-DD`).
    pub missing_days: Vec<String>,
    /// Combinations of readings that did not go together as usual, in time order.
    #[serde(default)]
    pub together: Vec<Together>,
}

/// An input file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Input {
    /// Path relative to the lab folder.
    pub path: String,
    /// SHA-256 of its bytes, hexadecimal.
    pub sha256: String,
    /// Data rows found.
    pub rows: u64,
    /// Checks used.
    pub checks: u64,
    /// Cells rejected.
    pub rejected_cells: u64,
}

/// See [`crate::issue::Issue`].
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Issue {
    /// Path relative to the lab folder.
    pub path: String,
    /// Sheet of a workbook.
    pub sheet: Option<String>,
    /// Line or row, from 1.
    pub line: Option<u64>,
    /// Column heading.
    pub column: Option<String>,
    /// What was found.
    pub found: Option<String>,
    /// What is wrong with it.
    pub problem: String,
    /// What to do.
    pub hint: Option<String>,
    /// `cell-rejected`, `row-rejected`, `column-left-out`, `file-unreadable` or `kept`.
    pub effect: String,
    /// How many it stands for.
    pub count: u64,
}

/// An event of `events.csv`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Event {
    /// When.
    pub at: String,
    /// Cabinet; `null` when it holds for all.
    pub cabinet: Option<String>,
    /// Characteristic; `null` when it holds for all.
    pub characteristic: Option<String>,
    /// Kind, in the lab's words.
    pub kind: String,
    /// What happened, in the lab's words.
    pub what: String,
    /// `new-stage`, `exclude` or `note`.
    pub effect: String,
}

/// Slow change with its uncertainty.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Drift {
    /// Change per day.
    pub slope_per_day: f64,
    /// Lower end of its interval.
    pub low: f64,
    /// Upper end of its interval.
    pub high: f64,
    /// Level of that interval, as 0.9.
    pub level: f64,
    /// When it began.
    pub since: String,
    /// Confidence set for when it began; `null` when it could not be set.
    #[serde(default)]
    pub began: Option<Began>,
    /// Present level: the fitted line at the last reading.
    pub now: f64,
    /// When it would leave the conformance window.
    pub breach: Option<ForecastBreach>,
    /// The drift in a sentence.
    pub says: String,
}

/// The dates within which a drift began, with some level of confidence.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Began {
    /// Early end.
    pub earliest: String,
    /// Late end.
    pub latest: String,
    /// Level, as 0.9.
    pub level: f64,
}

/// When a drift would reach a conformance limit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ForecastBreach {
    /// The limit it would reach.
    pub limit: f64,
    /// Early end of the interval.
    pub earliest: String,
    /// Most likely date.
    pub likely: String,
    /// Late end; `null` when the interval is open.
    pub latest: Option<String>,
    /// Level of the interval, as 0.8.
    pub level: f64,
}

/// Step change with its uncertainty.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Shift {
    /// When, estimated.
    pub at: String,
    /// Early end of the confidence set for the date.
    pub earliest: String,
    /// Late end of the confidence set for the date.
    pub latest: String,
    /// Size, in the unit of the series.
    pub size: f64,
    /// Lower end of its interval.
    pub low: f64,
    /// Upper end of its interval.
    pub high: f64,
    /// The event that explains it.
    pub explained_by: Option<String>,
    /// The shift in a sentence.
    pub says: String,
}

/// Capability against the conformance limits.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Capability {
    /// Cp; `null` when one-sided.
    pub cp: Option<f64>,
    /// Cpk.
    pub cpk: f64,
    /// Pp; `null` when one-sided.
    pub pp: Option<f64>,
    /// Ppk.
    pub ppk: f64,
    /// Lower end of the interval for Cpk.
    pub cpk_low: f64,
    /// Upper end of the interval for Cpk.
    pub cpk_high: f64,
    /// Lower end of the interval for Cp; `null` when one-sided.
    pub cp_low: Option<f64>,
    /// Upper end of the interval for Cp.
    pub cp_high: Option<f64>,
    /// Level of the intervals.
    pub level: f64,
    /// Expected fraction of readings outside, under normality.
    pub expected_outside: f64,
    /// Readings it rests on.
    pub n: u64,
}

/// One thing the reader must know.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Finding {
    /// Identifier, the same on every run.
    pub id: String,
    /// 1 is the most urgent.
    pub rank: u64,
    /// Of a review `breach`, `heading-for-breach`, `changed`, `unusual` or `records`; of a
    /// comparison `mismatch`, `differs`, `instruments`, `unusual`, `scored`, `agrees` or `records`.
    pub urgency: String,
    /// Cabinet; `null` when it concerns the lab.
    pub cabinet: Option<String>,
    /// Characteristic; `null` when it concerns several.
    pub characteristic: Option<String>,
    /// The finding in one or two sentences.
    pub sentence: String,
    /// Numbers, dates and charts it rests on.
    pub evidence: Vec<Evidence>,
    /// Where to look first: hints, never verdicts.
    pub look_at: Vec<String>,
}

/// A piece of evidence.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Evidence {
    /// What it says.
    pub says: String,
    /// Signal it refers to.
    pub signal: Option<String>,
    /// Chart it can be seen on, as `plover/collection-rate`.
    pub chart: Option<String>,
}

/// Counts for the head of the report.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Summary {
    /// Cabinets.
    pub cabinets: u64,
    /// Checks in the period.
    pub checks: u64,
    /// Series by state, in the order of the states.
    pub states: Vec<StateCount>,
    /// Signals told that no event explains, those of combinations included.
    pub signals: u64,
    /// Signals that an event explains.
    pub signals_explained: u64,
    /// Readings of the period outside conformance limits.
    pub breaches: u64,
    /// Cells rejected.
    pub rejected_cells: u64,
    /// Signals that chance alone would bring in the period; `null` where not computed.
    pub expected_false_alarms: Option<f64>,
    /// Signals found against those expected by chance, in a sentence.
    pub signals_say: String,
}

/// How many series are in a state.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct StateCount {
    /// The state.
    pub state: String,
    /// Number of series.
    pub series: u64,
}

/// The rule set in force.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct RuleSet {
    /// Name of the set.
    pub name: String,
    /// Source of the set.
    pub source: String,
    /// Its rules in order.
    pub rules: Vec<RuleText>,
}

/// A rule and what it asks.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct RuleText {
    /// Its name.
    pub name: String,
    /// What it asks, in a sentence.
    pub asks: String,
}
