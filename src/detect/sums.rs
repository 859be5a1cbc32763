//! Running sums over whitened readings, from which any window's fit costs nothing.
//!
//! One set for each strength of autocorrelation considered. No statistics are decided here.

use crate::drift::whiten::GAP_EXPONENT;

/// Two checks written with the same time still count as a quarter of a day apart.
const SHORTEST_DAYS: f64 = 0.25;

/// Gap before each reading of ascending `days`, in the spacings it counts for; infinite
/// before the first.
pub(super) fn gaps(days: &[f64]) -> Vec<f64> {
    let mut gaps = Vec::with_capacity(days.len());
    gaps.extend(days.first().map(|_| f64::INFINITY));
    let (mut last, mut of_last) = (1.0, 1.0);
    gaps.extend(days.windows(2).map(|pair| {
        let apart = match pair {
            [a, b] => (b - a).max(SHORTEST_DAYS),
            _ => 1.0,
        };
        if apart == 1.0 {
            return 1.0;
        }
        if apart != last {
            (last, of_last) = (apart, apart.powf(GAP_EXPONENT));
        }
        of_last
    }));
    gaps
}

/// Sums over the readings before an index.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Sums {
    pub(super) one_one: f64,
    pub(super) one_day: f64,
    pub(super) day_day: f64,
    pub(super) one_value: f64,
    pub(super) day_value: f64,
    pub(super) value_value: f64,
    /// Sum of the logarithms of the whitening scales.
    pub(super) log_scale: f64,
}

impl Sums {
    pub(super) fn minus(&self, earlier: &Sums) -> Sums {
        Sums {
            one_one: self.one_one - earlier.one_one,
            one_day: self.one_day - earlier.one_day,
            day_day: self.day_day - earlier.day_day,
            one_value: self.one_value - earlier.one_value,
            day_value: self.day_value - earlier.day_value,
            value_value: self.value_value - earlier.value_value,
            log_scale: self.log_scale - earlier.log_scale,
        }
    }
}

/// One reading, whitened: what a step that begins with it adds to the sums.
#[derive(Debug, Clone, Copy)]
pub(super) struct Onset {
    pub(super) one: f64,
    pub(super) value: f64,
    /// What a step adds to the column of ones at its first reading.
    pub(super) jump: f64,
}

/// Sums before every reading (one more entry than readings) and every reading's onset.
#[derive(Debug, Clone)]
pub(super) struct Ladder {
    pub(super) before: Vec<Sums>,
    pub(super) onset: Vec<Onset>,
}

impl Ladder {
    /// Sums of `values` on ascending `days`, whitened for lag-1 autocorrelation `phi`.
    ///
    /// `gaps` are those of [`gaps`]; all parallel.
    pub(super) fn new(days: &[f64], values: &[f64], gaps: &[f64], phi: f64) -> Ladder {
        let mut sums = Sums::default();
        let mut ladder = Ladder {
            before: Vec::with_capacity(values.len() + 1),
            onset: Vec::with_capacity(values.len()),
        };
        ladder.before.push(sums);
        let whitening = |rho: f64| {
            let scale = (1.0 - rho * rho).sqrt().recip();
            (rho, scale, scale.ln())
        };
        let usual = whitening(phi);
        // Most gaps are weekends, all alike.
        let (mut last_gap, mut of_last_gap) = (1.0, usual);
        let (mut day_before, mut value_before) = (0.0, 0.0);
        for ((&day, &value), &gap) in days.iter().zip(values).zip(gaps) {
            let (rho, scale, log_scale) = if gap == 1.0 {
                usual
            } else if phi <= 0.0 || gap == f64::INFINITY {
                (0.0, 1.0, 0.0)
            } else {
                if gap != last_gap {
                    (last_gap, of_last_gap) = (gap, whitening(phi.powf(gap)));
                }
                of_last_gap
            };
            let one = (1.0 - rho) * scale;
            let white_day = (day - rho * day_before) * scale;
            let white_value = (value - rho * value_before) * scale;
            sums.one_one += one * one;
            sums.one_day += one * white_day;
            sums.day_day += white_day * white_day;
            sums.one_value += one * white_value;
            sums.day_value += white_day * white_value;
            sums.value_value += white_value * white_value;
            sums.log_scale += log_scale;
            ladder.before.push(sums);
            ladder.onset.push(Onset {
                one,
                value: white_value,
                jump: rho * scale,
            });
            (day_before, value_before) = (day, value);
        }
        ladder
    }
}
