//! Running sums over whitened readings, from which any window's fit costs nothing.
//!
//! One set for each strength of autocorrelation considered. No statistics are decided here.

/// Exponent with which a gap counts: noise that ages with the calendar would have 1, noise
/// that ages with the checks 0. Logs have both kinds; a weekend of three days counts as
/// 1.4 spacings, and either kind keeps its false-alarm rate (see the trial).
const GAP_EXPONENT: f64 = 0.3;
/// Two checks written with the same time still count as a quarter of a day apart.
const SHORTEST_DAYS: f64 = 0.25;

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
    pub(super) fn new(days: &[f64], values: &[f64], phi: f64) -> Ladder {
        let mut sums = Sums::default();
        let mut ladder = Ladder {
            before: Vec::with_capacity(values.len() + 1),
            onset: Vec::with_capacity(values.len()),
        };
        ladder.before.push(sums);
        let usual_scale = (1.0 - phi * phi).sqrt().recip();
        let (mut day_before, mut value_before, mut first) = (0.0, 0.0, true);
        for (&day, &value) in days.iter().zip(values) {
            let apart: f64 = day - day_before;
            let (rho, scale) = if first || phi <= 0.0 {
                (0.0, 1.0)
            } else if apart == 1.0 {
                (phi, usual_scale)
            } else {
                let rho = phi.powf(apart.max(SHORTEST_DAYS).powf(GAP_EXPONENT));
                (rho, (1.0 - rho * rho).sqrt().recip())
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
            if scale > 1.0 {
                sums.log_scale += scale.ln();
            }
            ladder.before.push(sums);
            ladder.onset.push(Onset {
                one,
                value: white_value,
                jump: rho * scale,
            });
            (day_before, value_before, first) = (day, value, false);
        }
        ladder
    }
}
