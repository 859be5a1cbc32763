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

/// Rows of a [`Ladder`].
const ROWS: usize = 10;

/// Sums over whitened readings of one strength of autocorrelation: a plain row for each, so
/// that a look over many readings runs along rows.
#[derive(Debug, Clone)]
pub(super) struct Ladder {
    /// Row after row.
    cells: Vec<f64>,
    /// Cells of a row: one more than readings.
    width: usize,
}

/// The rows of a ladder, all equally long.
///
/// The first seven hold sums over the readings before an index.
#[derive(Debug, Clone, Copy)]
pub(super) struct Rows<'a> {
    pub(super) one_one: &'a [f64],
    pub(super) one_day: &'a [f64],
    pub(super) day_day: &'a [f64],
    pub(super) one_value: &'a [f64],
    pub(super) day_value: &'a [f64],
    pub(super) value_value: &'a [f64],
    /// Logarithms of the whitening scales.
    pub(super) log_scale: &'a [f64],
    /// What a step that begins with a reading adds, beyond the sums from it on, to its own
    /// square and to its products with the ones and with the values.
    pub(super) onset_square: &'a [f64],
    pub(super) onset_one: &'a [f64],
    pub(super) onset_value: &'a [f64],
}

/// What is summed, so far.
#[derive(Debug, Clone, Copy, Default)]
struct Sums {
    one_one: f64,
    one_day: f64,
    day_day: f64,
    one_value: f64,
    day_value: f64,
    value_value: f64,
    log_scale: f64,
}

impl Ladder {
    /// Sums of `values` on ascending `days`, whitened for lag-1 autocorrelation `phi`.
    ///
    /// `gaps` are those of [`gaps`]; all parallel.
    pub(super) fn new(days: &[f64], values: &[f64], gaps: &[f64], phi: f64) -> Ladder {
        let width = values.len() + 1;
        let mut cells = vec![0.0; ROWS * width];
        let mut rows = cells.chunks_exact_mut(width);
        let [
            one_one,
            one_day,
            day_day,
            one_value,
            day_value,
            value_value,
            log_scale,
            onset_square,
            onset_one,
            onset_value,
        ]: [&mut [f64]; ROWS] = std::array::from_fn(|_| rows.next().unwrap_or_default());
        let whitening = |rho: f64| {
            let scale = (1.0 - rho * rho).sqrt().recip();
            (rho, scale, scale.ln())
        };
        let usual = whitening(phi);
        // Most gaps are weekends, all alike.
        let (mut last_gap, mut of_last_gap) = (1.0, usual);
        let (mut day_before, mut value_before) = (0.0, 0.0);
        let mut sums = Sums::default();
        for (i, ((&day, &value), &gap)) in days.iter().zip(values).zip(gaps).enumerate() {
            let (rho, scale, log_of_scale) = if gap == 1.0 {
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
            let jump = rho * scale;
            let white_day = (day - rho * day_before) * scale;
            let white_value = (value - rho * value_before) * scale;
            onset_square[i] = jump * (2.0 * one + jump);
            onset_one[i] = one * jump;
            onset_value[i] = jump * white_value;
            sums.one_one += one * one;
            sums.one_day += one * white_day;
            sums.day_day += white_day * white_day;
            sums.one_value += one * white_value;
            sums.day_value += white_day * white_value;
            sums.value_value += white_value * white_value;
            sums.log_scale += log_of_scale;
            one_one[i + 1] = sums.one_one;
            one_day[i + 1] = sums.one_day;
            day_day[i + 1] = sums.day_day;
            one_value[i + 1] = sums.one_value;
            day_value[i + 1] = sums.day_value;
            value_value[i + 1] = sums.value_value;
            log_scale[i + 1] = sums.log_scale;
            (day_before, value_before) = (day, value);
        }
        Ladder { cells, width }
    }

    pub(super) fn rows(&self) -> Rows<'_> {
        let mut rows = self.cells.chunks_exact(self.width);
        let mut row = || rows.next().unwrap_or_default();
        Rows {
            one_one: row(),
            one_day: row(),
            day_day: row(),
            one_value: row(),
            day_value: row(),
            value_value: row(),
            log_scale: row(),
            onset_square: row(),
            onset_one: row(),
            onset_value: row(),
        }
    }
}
