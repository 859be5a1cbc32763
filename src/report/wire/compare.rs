//! The wire format of `compare.json`: its own set of types, versioned.
//!
//! The same rules as for `review.json`: field names are a contract, times are RFC 3339
//! texts, a missing value is `null` (never NaN), numbers carry full precision. A
//! participant is one cabinet of one lab; `a` and `b` of a pair name participants by their
//! `id`, and a difference is always `a` less `b`.

use super::{Evidence, Finding, Input, Issue, Period, ProfileUse, Program};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Value of [`Comparison::schema`].
pub const COMPARE_SCHEMA: &str = "steadyfog.compare/1";

/// A whole comparison.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Comparison {
    /// Name and version of this format: `steadyfog.compare/1`.
    pub schema: String,
    /// The program that wrote it.
    pub program: Program,
    /// When it was made (the clock passed in).
    pub made_at: String,
    /// The labs, in the order they were named.
    pub labs: Vec<ComparedLab>,
    /// The days compared, both ends included.
    pub period: Period,
    /// How the period came about, in a sentence.
    pub period_says: String,
    /// How the comparison was made: levels, families, choices, each in a sentence.
    pub method: Vec<String>,
    /// One entry per characteristic of the daily checks, then one per coupon round.
    pub characteristics: Vec<ComparedCharacteristic>,
    /// The coupon rounds compared, oldest first; empty when there are none.
    pub rounds: Vec<Round>,
    /// One row per pair and characteristic, ranked within the pair.
    pub mismatch: Vec<Mismatch>,
    /// One entry per pair whose coupons were compared: how far the rows above go.
    pub explanations: Vec<Explanation>,
    /// What needs the reader, most urgent first.
    pub findings: Vec<Finding>,
    /// What could not be used as written.
    pub issues: Vec<LabIssue>,
    /// Cautions that belong to this report.
    pub cautions: Vec<String>,
}

/// A lab of the comparison.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ComparedLab {
    /// Identifier: the lab's name folded, made unique among the labs.
    pub id: String,
    /// Name for the reader.
    pub name: String,
    /// IANA zone of its wall clock; `null` when times are taken as written.
    pub zone: Option<String>,
    /// First and last day with a check; `null` without checks.
    pub span: Option<Period>,
    /// Checks in the period compared.
    pub checks: u64,
    /// Its cabinets.
    pub cabinets: Vec<ComparedCabinet>,
    /// Where its profiles' values come from.
    pub profiles: Vec<ProfileUse>,
    /// Its input files.
    pub inputs: Vec<Input>,
}

/// A cabinet of the comparison.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ComparedCabinet {
    /// Identifier within the comparison: the cabinet's own, with the lab before it
    /// (`saltmarsh-bench/plover`) when several labs are compared.
    pub id: String,
    /// Name for the reader; names its lab when another lab has a cabinet of that name.
    pub name: String,
    /// Profile it is judged by.
    pub profile: Option<String>,
    /// Checks in the period compared.
    pub checks: u64,
}

/// An issue and the lab it belongs to.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct LabIssue {
    /// [`ComparedLab::id`].
    pub lab: String,
    /// The issue.
    #[serde(flatten)]
    pub issue: Issue,
}

/// One characteristic, or the coupons of one round, compared over all participants.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ComparedCharacteristic {
    /// The characteristic; `coupon-mass-loss` for coupons.
    pub characteristic: String,
    /// The round, for coupons.
    pub round: Option<String>,
    /// Unit of all values.
    pub unit: String,
    /// Conformance window used for sigma, margin and the share outside; `null` when the
    /// participants' profiles have none.
    pub window: Option<Window>,
    /// Robust estimates of centre and spread of the participants' means, by method.
    pub robust: Vec<RobustEstimate>,
    /// Assigned value; `null` with fewer than three participants and no reference value.
    pub assigned: Option<Assigned>,
    /// Standard deviation for proficiency assessment.
    pub sigma_p: Option<f64>,
    /// Where `sigma_p` comes from, in a sentence.
    pub sigma_p_says: String,
    /// One entry per cabinet, in report order.
    pub participants: Vec<Participant>,
    /// One entry per lab with at least one participant; empty when one lab is compared.
    pub labs: Vec<Participant>,
    /// Precision over all results; `null` when it cannot be given (then `precision_says`).
    pub precision: Option<Precision>,
    /// The same without what was marked as outlying; `null` when nothing was.
    pub precision_without_outliers: Option<Precision>,
    /// What the precision rests on, or why it cannot be given, in a sentence.
    pub precision_says: String,
    /// Margin within which two cabinets count as agreeing, in the unit; `null` when none.
    pub margin: Option<f64>,
    /// Where the margin comes from, in a sentence.
    pub margin_says: String,
    /// Pairs of cabinets, the clearest difference first; at most
    /// [`PairCount::listed`] of [`PairCount::all`].
    pub pairs: Vec<Pair>,
    /// Pairs of labs; empty when one lab is compared.
    pub lab_pairs: Vec<Pair>,
    /// How many pairs got which verdict.
    pub pair_count: PairCount,
    /// The result in a sentence.
    pub says: String,
}

/// A conformance window.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Window {
    /// Lower conformance limit.
    pub lower: Option<f64>,
    /// Upper conformance limit.
    pub upper: Option<f64>,
    /// Profile and source.
    pub source: String,
}

/// A robust estimate over the participants' means.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct RobustEstimate {
    /// `algorithm-a`, `median-nmad` or `q-hampel`.
    pub method: String,
    /// Centre.
    pub centre: f64,
    /// Spread, scaled to the standard deviation of a normal distribution.
    pub spread: f64,
}

/// The assigned value.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Assigned {
    /// Value.
    pub value: f64,
    /// Its standard uncertainty.
    pub u: f64,
    /// `algorithm-a`, `median-nmad`, `q-hampel` or `reference`.
    pub method: String,
    /// Whether u ≤ 0.3 sigma_p, so that z holds; else z′ is the score to read.
    pub u_negligible: bool,
    /// The assigned value and that check in a sentence.
    pub says: String,
}

/// A cabinet, or a lab, in one characteristic.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Participant {
    /// Identifier: of the cabinet within the comparison, or of the lab.
    pub id: String,
    /// Lab.
    pub lab: String,
    /// Cabinet; `null` for a lab as a whole.
    pub cabinet: Option<String>,
    /// Name for the reader.
    pub name: String,
    /// Readings, or coupons; cabinets for a lab as a whole.
    pub n: u64,
    /// Independent readings that would tell as much of the mean (carry-over counted).
    pub n_effective: f64,
    /// Mean.
    pub mean: f64,
    /// Standard deviation; `null` with one reading.
    pub sd: Option<f64>,
    /// Low end of its 95 % interval.
    pub sd_low: Option<f64>,
    /// High end of its 95 % interval.
    pub sd_high: Option<f64>,
    /// Robust mean.
    pub robust_mean: Option<f64>,
    /// Standard uncertainty of the mean: chance and instrument together.
    pub u: Option<f64>,
    /// The part that more readings make smaller.
    pub u_chance: Option<f64>,
    /// The part that they do not: the instrument's standard uncertainty.
    pub u_instrument: Option<f64>,
    /// The instrument: its identifier and uncertainty, or that a default was taken.
    pub instrument: Option<String>,
    /// Lag-1 autocorrelation, bias-corrected; `null` where not estimated.
    pub lag1_autocorrelation: Option<f64>,
    /// Slope over the period, per day.
    pub slope_per_day: Option<f64>,
    /// Low end of the slope's interval.
    pub slope_low: Option<f64>,
    /// High end of the slope's interval.
    pub slope_high: Option<f64>,
    /// Readings outside the conformance limits of the participant's own profile.
    pub outside: Option<u64>,
    /// Readings judged against them.
    pub checked: Option<u64>,
    /// z score.
    pub z: Option<f64>,
    /// z′ score.
    pub z_prime: Option<f64>,
    /// ζ score.
    pub zeta: Option<f64>,
    /// E_n score.
    pub en: Option<f64>,
    /// Mandel's h.
    pub h: Option<f64>,
    /// Mandel's k.
    pub k: Option<f64>,
    /// `acceptable`, `warning signal`, `action signal`, or `not scored`.
    pub verdict: String,
    /// Which score the verdict was read from: `z` or `z-prime`; `null` when not scored.
    pub verdict_from: Option<String>,
    /// 21 quantiles of the readings, 0 % to 100 % in steps of 5 %; empty for a lab, below
    /// eight readings, and where more than 60 cabinets are compared.
    pub quantiles: Vec<f64>,
    /// One letter a day of the period: `.` no reading, `i` all readings inside the
    /// window, `o` at least one outside, `?` no window; empty for a lab, for coupons and
    /// where more than 60 cabinets are compared.
    pub calendar: String,
    /// Results, for coupons: one entry per coupon.
    pub coupons: Vec<Coupon>,
}

/// One coupon's result.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Coupon {
    /// Its mark.
    pub coupon: String,
    /// Where in the cabinet it stood.
    pub place: Option<String>,
    /// Mass loss, blank-corrected, g/m².
    pub mass_loss: f64,
    /// What it was marked for: `cochran straggler`, `grubbs outlier` and the like.
    pub marked: Option<String>,
}

/// Precision by ISO 5725-2.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Precision {
    /// Participants.
    pub participants: u64,
    /// Results.
    pub results: u64,
    /// General mean.
    pub mean: f64,
    /// Repeatability standard deviation; for daily checks the spread from check to check.
    pub s_r: f64,
    /// Between-participant standard deviation, 0 when its estimate is negative.
    #[serde(rename = "s_L")]
    pub s_l: f64,
    /// Whether the estimate of s_L² was negative.
    #[serde(rename = "s_L_negative")]
    pub s_l_negative: bool,
    /// Reproducibility standard deviation.
    #[serde(rename = "s_R")]
    pub s_reproducibility: f64,
    /// Repeatability limit, 2.8 s_r.
    pub r_limit: f64,
    /// Reproducibility limit, 2.8 s_R.
    #[serde(rename = "R_limit")]
    pub reproducibility_limit: f64,
    /// Critical values of h at 5 % and 1 %; `null` where they do not exist.
    pub h_critical: Option<Critical>,
    /// Critical values of k at 5 % and 1 %.
    pub k_critical: Option<Critical>,
    /// Cochran's test of the largest variance.
    pub cochran: Option<OutlierTest>,
    /// Grubbs' tests of the extreme means.
    pub grubbs: Vec<OutlierTest>,
}

/// Critical values.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Critical {
    /// At 5 %.
    pub at_5_percent: f64,
    /// At 1 %.
    pub at_1_percent: f64,
}

/// One outlier test.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct OutlierTest {
    /// `cochran`, `grubbs-largest`, `grubbs-smallest`, `grubbs-two-largest` or
    /// `grubbs-two-smallest`.
    pub test: String,
    /// Participants concerned.
    pub participants: Vec<String>,
    /// Statistic.
    pub statistic: f64,
    /// Its critical values.
    pub critical: Critical,
    /// `nothing`, `straggler` (beyond 5 %) or `outlier` (beyond 1 %).
    pub verdict: String,
}

/// Two participants compared.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Pair {
    /// The one.
    pub a: String,
    /// The other.
    pub b: String,
    /// Mean of `a` less mean of `b`.
    pub difference: f64,
    /// Low end of its simultaneous interval: chance alone.
    pub low: Option<f64>,
    /// High end of its simultaneous interval: chance alone.
    pub high: Option<f64>,
    /// What the two instruments explain of it at most: expanded uncertainty (k = 2) of
    /// the difference; 0 when one instrument read both.
    pub u_instruments: Option<f64>,
    /// Whether the difference is more than twice its own chance error, yet no more than what
    /// the instruments explain: then they, not the cabinets, may be apart.
    pub instruments_explain: bool,
    /// Low end of the simultaneous interval with chance and instruments together.
    pub total_low: Option<f64>,
    /// High end of the simultaneous interval with chance and instruments together.
    pub total_high: Option<f64>,
    /// Low end of the 90 % interval of this pair alone, chance and instruments: within the
    /// margin on both sides the two agree.
    pub agreement_low: Option<f64>,
    /// High end of it.
    pub agreement_high: Option<f64>,
    /// Ratio of the spreads, `a` over `b`.
    pub sd_ratio: Option<f64>,
    /// Low end of its simultaneous interval.
    pub sd_ratio_low: Option<f64>,
    /// High end of its simultaneous interval.
    pub sd_ratio_high: Option<f64>,
    /// `differ`, `agree` or `cannot-tell`.
    pub verdict: String,
    /// More checks of each that would tell; `null` when told already, or when no number
    /// of checks would (the instruments' part alone is too large).
    pub more_checks: Option<u64>,
    /// The verdict in a sentence.
    pub says: String,
}

/// How many pairs got which verdict.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PairCount {
    /// All pairs of cabinets.
    pub all: u64,
    /// Those listed.
    pub listed: u64,
    /// `differ`.
    pub differ: u64,
    /// `agree`.
    pub agree: u64,
    /// `cannot-tell`.
    pub cannot_tell: u64,
}

/// A coupon round.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Round {
    /// Its name.
    pub id: String,
    /// First day of exposure.
    pub from: String,
    /// Last day of exposure.
    pub to: String,
    /// Hours of exposure; the shortest and the longest when they differ.
    pub hours_least: f64,
    /// The longest.
    pub hours_most: f64,
    /// Labs that took part.
    pub labs: u64,
    /// Cabinets that took part.
    pub cabinets: u64,
    /// Coupons used.
    pub coupons: u64,
    /// How the blank correction was made, in a sentence.
    pub blank_says: String,
    /// Corrosivity against the profile's window and a published precision, one sentence each.
    pub says: Vec<String>,
}

/// A characteristic's part in a coupon difference.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Mismatch {
    /// The one.
    pub a: String,
    /// The other.
    pub b: String,
    /// The characteristic.
    pub characteristic: String,
    /// Its unit.
    pub unit: String,
    /// Measured difference, `a` less `b`.
    pub difference: f64,
    /// Low end of its 95 % interval, chance and instruments.
    pub low: f64,
    /// High end.
    pub high: f64,
    /// Whether the instruments' uncertainty alone covers the difference.
    pub instruments_explain: bool,
    /// Change of mass loss per unit of the characteristic, g/m²; `null` when unknown.
    pub sensitivity: Option<f64>,
    /// Its standard uncertainty.
    pub sensitivity_u: Option<f64>,
    /// Mass loss that goes with it, g/m²; `null` when unknown, and when the instruments
    /// explain the difference.
    pub mass_loss: Option<f64>,
    /// Low end of its 95 % interval.
    pub mass_loss_low: Option<f64>,
    /// High end.
    pub mass_loss_high: Option<f64>,
    /// Share of the coupon difference that goes with it; negative when it points the
    /// other way; `null` when unknown, when the instruments explain the difference, and when
    /// the coupon difference may be nothing.
    pub share_explained: Option<f64>,
    /// Low end of its 95 % interval.
    pub share_low: Option<f64>,
    /// High end.
    pub share_high: Option<f64>,
    /// 1 goes with most of the difference.
    pub rank: u64,
    /// The row in a sentence.
    pub says: String,
}

/// How far the measured differences go with the coupon difference of a pair.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Explanation {
    /// The one.
    pub a: String,
    /// The other.
    pub b: String,
    /// Rounds it rests on.
    pub rounds: Vec<String>,
    /// Coupon difference, `a` less `b`, g/m², averaged over the rounds.
    pub difference: f64,
    /// Low end of its 95 % interval.
    pub low: Option<f64>,
    /// High end.
    pub high: Option<f64>,
    /// Whether the difference is clear of chance when all pairs explained share an error
    /// rate of 5 %.
    pub clear: bool,
    /// `rounds` (shrinkage regression), `stated` (sensitivities of `lab.toml`) or `none`.
    pub method: String,
    /// Why this method, in a sentence.
    pub method_says: String,
    /// What remains unexplained, g/m².
    pub unexplained: Option<f64>,
    /// Low end of its 95 % interval.
    pub unexplained_low: Option<f64>,
    /// High end.
    pub unexplained_high: Option<f64>,
    /// The explanation in a sentence or two; says association, not cause.
    pub says: String,
    /// What to check next, in order.
    pub check_next: Vec<String>,
    /// Numbers it rests on.
    pub evidence: Vec<Evidence>,
}
