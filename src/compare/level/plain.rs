//! What is told of a series without a model of its carry-over: lag-1 autocorrelation, what
//! rounding hides, and whether two series are one.
//!
//! It estimates no error of a mean: `carry` does.

use crate::drift::whiten::usual_spacing;

/// Neighbours below which no autocorrelation is told.
const FEWEST_NEIGHBOURS: usize = 8;
/// Neighbours farther apart than this many usual spacings are not next to each other.
const LONGEST_STEP: f64 = 1.5;

/// The lag-1 autocorrelation of neighbours at the usual spacing, corrected for its bias.
///
/// NIST's definition scaled to the pairs there are; expectation φ − (1 + 4φ)/n (Marriott &
/// Pope, Biometrika 41 (1954) 390, from memory). `None` with fewer than 8 pairs or no spread.
pub(super) fn lag1(days: &[f64], values: &[f64], mean: f64) -> Option<f64> {
    let longest = LONGEST_STEP * usual_spacing(days);
    let (mut products, mut pairs) = (0.0, 0_usize);
    for (day, value) in days.windows(2).zip(values.windows(2)) {
        if day[1] - day[0] <= longest {
            products += (value[0] - mean) * (value[1] - mean);
            pairs += 1;
        }
    }
    let squares: f64 = values.iter().map(|x| (x - mean).powi(2)).sum();
    if pairs < FEWEST_NEIGHBOURS || squares <= 0.0 {
        return None;
    }
    let n = values.len() as f64;
    let found = products / squares * (n - 1.0) / pairs as f64;
    Some(((found + 1.0 / n) / (1.0 - 4.0 / n)).clamp(-0.99, 0.99))
}

/// The standard error that rounding to `step` adds to a mean of readings whose standard
/// deviation, rounding in it, is `sd`.
///
/// step/√12 when every reading is rounded the same way (GUM F.2.2.1, from memory). Scatter
/// wider than the step averages it out: the bias is a Fourier series in the mean's place
/// between two steps whose first term falls as exp(−2π²σ²/step²) (after Sheppard and
/// Widrow, from memory), with σ² = sd² − step²/12.
pub(super) fn rounding_error(step: f64, sd: f64) -> f64 {
    let full = step * step / 12.0;
    let scatter = (sd * sd - full).max(0.0) / (step * step);
    full.sqrt() * (-2.0 * std::f64::consts::PI.powi(2) * scatter).exp()
}

/// A number that equal series share and others do not; `None` when there are fewer than
/// `fewest` different values, which two series may share by chance.
pub(super) fn fingerprint(
    days: &[f64],
    values: &[f64],
    sorted: &[f64],
    fewest: usize,
) -> Option<u64> {
    let different = 1 + sorted.windows(2).filter(|pair| pair[0] != pair[1]).count();
    // FNV-1a over the bits, in order.
    (different >= fewest).then(|| {
        days.iter()
            .chain(values)
            .fold(0xcbf2_9ce4_8422_2325, |hash: u64, x| {
                (hash ^ x.to_bits()).wrapping_mul(0x0000_0100_0000_01b3)
            })
    })
}
