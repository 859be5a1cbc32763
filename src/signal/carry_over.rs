//! What the two rules with a memory share: readings less what carried over from the one
//! before, the stretches between gaps, how far the memory reaches, and their sentence.
//!
//! It decides nothing; the charts themselves are [`crate::detect::smoothed`] and
//! [`crate::detect::accumulated`].

use super::run::LONGEST_PATTERN;
use super::{Allowance, RuleInput, Told};
use std::ops::Range;

/// Readings that a chart looks back over, itself included: one fewer than a pattern may
/// rest on, since each is compared with the one before. So what fires at a reading does not
/// depend on how much of the log before it is in view.
pub(super) const MEMORY: usize = LONGEST_PATTERN - 1;

/// Readings in sigma less what carried over, in sigma of what is left.
///
/// (z − φ·z of the reading before)/√(1 − φ²) has variance 1 and no lag-1 autocorrelation
/// where z is first-order autoregressive with lag-1 correlation φ. The first reading, and one after a
/// gap, stands as it is. With φ = 0 all do.
pub(super) fn fresh(input: &RuleInput<'_>) -> Vec<f64> {
    let phi = input.allowance.lag1;
    let scale = 1.0 / (1.0 - phi * phi).max(0.01).sqrt();
    let mut before = None;
    input
        .z
        .iter()
        .zip(input.after_gap)
        .map(|(&z, &after_gap)| {
            let carried = before.filter(|_| !after_gap);
            before = Some(z);
            carried.map_or(z, |before: f64| (z - phi * before) * scale)
        })
        .collect()
}

/// The stretches of readings between gaps, in order.
pub(super) fn stretches(after_gap: &[bool]) -> Vec<Range<usize>> {
    let mut found = Vec::new();
    let mut start = 0;
    for (at, &gap) in after_gap.iter().enumerate() {
        if gap && at > start {
            found.push(start..at);
            start = at;
        }
    }
    if start < after_gap.len() {
        found.push(start..after_gap.len());
    }
    found
}

/// Standard error of the centre line, in sigma of [`fresh`] readings: a reading that is off
/// by δ is off by δ√((1 − φ)/(1 + φ)) once what carried over is taken off.
pub(super) fn centre_error(allowance: &Allowance) -> f64 {
    let phi = allowance.lag1;
    allowance.centre_error * ((1.0 - phi) / (1.0 + phi)).max(0.0).sqrt()
}

/// Factor on sigma for what the baseline leaves unknown of it and for rounding.
///
/// The widening without its part for the centre line, which a chart with a memory must
/// count again for every reading it remembers; and the variance that rounding adds, a
/// twelfth of its step squared (Sheppard's correction), where sigma does not hold it yet.
pub(super) fn scatter(allowance: &Allowance) -> f64 {
    let centre = 1.0 + allowance.centre_error * allowance.centre_error;
    let rounding = 1.0 + allowance.rounding * allowance.rounding / 3.0;
    allowance.widening / centre.sqrt() * rounding.sqrt()
}

/// The end of both rules' sentence: the days of the pattern, the mean of its readings, the
/// centre line, and what was allowed for.
pub(super) fn says(told: &Told<'_>) -> String {
    let series = told.chart.series;
    let (mut sum, mut n) = (0.0, 0_u32);
    for index in told.start..=told.known {
        if let Some(value) = series.values().get(index)
            && !series.is_excluded(index)
        {
            sum += value;
            n += 1;
        }
    }
    if n == 0 {
        return told.span();
    }
    let readings = match n {
        1 => "reading".to_owned(),
        _ => format!("mean of {n} readings"),
    };
    let mut text = format!(
        "{}; {readings} {}, centre line {}",
        told.span(),
        told.level(sum / f64::from(n)),
        told.level(told.limits.centre)
    );
    if told.allowance.lag1 > 0.0 {
        text.push_str("; what carries over from reading to reading is taken off");
    }
    if let Some(what) = told.allowance.says() {
        text.push_str(&format!("; with the allowance for {what}"));
    }
    text
}
