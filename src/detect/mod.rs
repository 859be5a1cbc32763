//! The watch: rules that learn from every reading, with one false-alarm budget for all.
//!
//! Where `signal` holds the published pattern tests against limits of a baseline, the
//! rules here know how little a short baseline tells, how readings hang together in time
//! and how they are rounded, and are calibrated together: a steady series signals by
//! chance about once in the number of checks asked for (370 by default). Pure functions;
//! no I/O, no clock. Dating, sizing and forecasting a change is `drift`'s.
//!
//! Measured by the trial (2,000 cabinets a row, seeds not tuned on): 0.97 alarms per 370
//! checks at autocorrelation 0 to 0.5, baseline 30, catches rounded to about half a standard
//! deviation. The promise does not hold for noise with heavy tails (Student t with 5 degrees:
//! about 3) nor above autocorrelation 0.6 (0.75: about 3); it is generous where rounding is
//! four standard deviations or the autocorrelation negative (0.2 to 0.4).
//!
//! The rules: `ramp` (lasting change, slope or step), `far-reading` (one reading),
//! `spread` (scatter), `repeat` (copied or stuck values). `smoothed` and `accumulated`
//! are the classical charts, which the rule set `with-memory` runs.

pub mod accumulated;
mod change;
mod columns;
mod combination;
mod hotelling;
mod odds;
mod outlier;
mod repeat;
mod residuals;
#[cfg(test)]
mod run_lengths;
mod signals;
pub mod smoothed;
mod spread;
mod sums;
mod tame;
#[cfg(test)]
mod tests;
mod times;
pub mod together;
mod told;
mod watch;

pub use combination::{TogetherOfPeriod, TogetherSignal, together_judged, together_of_period};
pub use signals::signals_of_period;
pub use times::Almanac;
pub use watch::{Budget, Readings, Stretch, watch};

/// Name of every rule of the watch and what it asks for, in the order of reports.
pub const RULES: [(&str, &str); 5] = [
    (
        "ramp",
        "A lasting slope or step of the level since some earlier reading, against the 250 \
         readings before, level, noise, size and autocorrelation unknown.",
    ),
    ("far-reading", "One reading too far from the 250 before it."),
    (
        "spread",
        "The last 8 to 40 readings scatter more, or less, than those before them.",
    ),
    (
        "repeat",
        "The same value more often in a row than scatter and rounding explain.",
    ),
    (
        together::NAME,
        "The readings of one check do not go together as those of up to 250 earlier checks do; \
         judged for the cabinet, beside its series.",
    ),
];
