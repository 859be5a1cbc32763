//! The trial: how early and how honestly changes are seen, measured on made-up cabinets.
//!
//! Steady and changing cabinets are generated with a seed, and the default set is held
//! against plain three-sigma limits, the Western Electric tests and an oracle. Pure: no
//! I/O, no clock; the same settings give the same outcome. The detectors are `detect`
//! and `drift`; nothing here is tuned by what it measures.

mod cabinet;
mod measure;
mod oracle;
mod published;
mod say;
#[cfg(test)]
mod tests;
mod told;

pub use measure::run;
pub use say::text;

use schemars::JsonSchema;
use serde::Serialize;

/// What cabinets the trial makes up.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Settings {
    /// Seed of all chance.
    pub seed: u64,
    /// Cabinets of each scenario; at least 1.
    pub cabinets: usize,
    /// Checks judged on a steady cabinet, after its baseline.
    pub checks: usize,
    /// Readings of the own baseline; at least 15.
    pub baseline: usize,
    /// Standard deviation of the noise, from and to, mL/h.
    pub noise: [f64; 2],
    /// Lag-1 autocorrelation of checks on successive days, from and to, in [0, 1).
    pub phi: [f64; 2],
    /// Step to which catches are rounded, mL/h; above 0.
    pub resolution: f64,
    /// Slopes of the ramps, mL/h a day; above 0.
    pub slopes: Vec<f64>,
    /// Sizes of the steps, from and to, in standard deviations of the noise.
    pub steps: [f64; 2],
    /// Checks for one false alarm that the default set is asked for.
    pub checks_per_false_alarm: f64,
}

impl Default for Settings {
    /// A collection rate as it is usually checked: volumes of 16 h read to 0.5 mL.
    fn default() -> Settings {
        Settings {
            seed: 1,
            cabinets: 400,
            checks: 370,
            baseline: 30,
            noise: [0.03, 0.07],
            phi: [0.0, 0.5],
            resolution: 0.5 / 16.0,
            slopes: vec![0.004, 0.008, 0.02],
            steps: [1.0, 2.0],
            checks_per_false_alarm: 370.0,
        }
    }
}

/// Who is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Contestant {
    /// The default set.
    Steadyfog,
    /// Plain limits of mean ± 3 moving-range sigma.
    ThreeSigma,
    /// The four Western Electric tests on those limits.
    WesternElectric,
    /// Likelihood ratio that knows level, noise, autocorrelation and size of the change.
    Oracle,
}

/// Alarms on steady cabinets.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct FalseAlarms {
    /// Who.
    pub contestant: Contestant,
    /// Alarms per 370 checks; overlapping signals count once.
    pub per_370: f64,
    /// Signals per 370 checks, each rule's counted.
    pub signals_per_370: f64,
    /// Alarms per 370 checks of the least, middle and most autocorrelated third.
    pub per_370_by_phi: [f64; 3],
}

/// How one contestant saw ramps of one slope.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Ramps {
    /// Change a day, mL/h.
    pub slope: f64,
    /// Who.
    pub contestant: Contestant,
    /// Cabinets counted: those on which nothing was signalled when the change came.
    pub counted: usize,
    /// Share signalled before the true level met its limit.
    pub caught: f64,
    /// Median share of the way to the limit still left at the first signal, 0 when missed;
    /// `None` when none is counted.
    pub way_left: Option<f64>,
}

/// How one contestant saw steps.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Steps {
    /// Who.
    pub contestant: Contestant,
    /// Cabinets counted: those on which nothing was signalled when the change came.
    pub counted: usize,
    /// Share signalled within 100 checks.
    pub caught: f64,
    /// Median days from the step to the first signal; `None` when fewer than half are.
    pub days: Option<f64>,
}

/// How well steps are dated.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Dates {
    /// Median days between the true date and the start of the signal; `None` without signals.
    pub of_signal: Option<f64>,
    /// Median days between the true date and the shift told 40 checks later; `None` without.
    pub of_shift: Option<f64>,
    /// Share of steps told as a shift by then.
    pub shifts_told: f64,
}

/// Honesty of the 80 % breach forecast, made when a ramp is half way to its limit.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Forecasts {
    /// Change a day, mL/h.
    pub slope: f64,
    /// Share of ramps told as a drift with a forecast by then.
    pub told: f64,
    /// Share of those whose interval holds the true date; `None` when none is told.
    pub covered: Option<f64>,
    /// Median width of the interval, days; `None` when open or none is told.
    pub width: Option<f64>,
    /// Median width on the same cabinets for one who knows level, noise and autocorrelation.
    pub oracle_width: Option<f64>,
}

/// What the trial found.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Outcome {
    /// Name and version of this format.
    pub schema: String,
    /// What was asked.
    pub settings: Settings,
    /// Steady cabinets.
    pub steady: Vec<FalseAlarms>,
    /// Ramps.
    pub ramps: Vec<Ramps>,
    /// Steps.
    pub steps: Vec<Steps>,
    /// Dates of steps.
    pub dates: Dates,
    /// Forecasts.
    pub forecasts: Vec<Forecasts>,
}
