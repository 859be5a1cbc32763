//! The resolution of readings: the greatest step that all of them are whole numbers of.
//!
//! It is told from the readings alone, so it survives a change of unit (whole °F shown in
//! °C, half millilitres turned into a rate), where the steps start anywhere and carry the
//! rounding of the conversion. A resolution finer than the readings happen to show cannot
//! be seen.

use super::Limits;
use crate::series::Series;

/// How far, in steps, a reading may lie from a whole number of steps.
const OFF_STEP: f64 = 0.02;
/// The smallest difference is taken as at most this many steps.
const MOST_STEPS: u32 = 12;
/// Differences below this share of the largest reading are the rounding of arithmetic.
const ROUNDING: f64 = 1e-12;

/// The greatest common step of readings sorted in ascending order, in their unit.
///
/// `None` when fewer than two differ, or when they have no common step of at least a
/// twelfth of their smallest difference, as readings of an instrument with many digits.
///
/// ```
/// use steadyfog::chart::resolution::common_step;
/// let celsius = [95.0, 96.0, 96.0, 98.0].map(|f| (f - 32.0) * 5.0 / 9.0);
/// let step = common_step(&celsius).unwrap_or(0.0);
/// assert!((step - 5.0 / 9.0).abs() < 1e-12);
/// ```
pub fn common_step(sorted: &[f64]) -> Option<f64> {
    let (first, last) = (*sorted.first()?, *sorted.last()?);
    let span = last - first;
    let noise = ROUNDING * first.abs().max(last.abs());
    let smallest = sorted
        .windows(2)
        .map(|pair| pair[1] - pair[0])
        .filter(|difference| *difference > noise)
        .fold(f64::INFINITY, f64::min);
    if !(smallest.is_finite() && span > 0.0 && span.is_finite()) {
        return None;
    }
    (1..=MOST_STEPS).find_map(|parts| {
        let rough = smallest / f64::from(parts);
        // The span holds many steps: it tells their size better than the smallest does.
        let step = span / (span / rough).round();
        let on_step = |value: &f64| {
            let steps = (value - first) / step;
            (steps - steps.round()).abs() <= OFF_STEP
        };
        // Where a step is hardly above the rounding of arithmetic, everything is "on" it.
        (step > 16.0 * noise && sorted.iter().all(on_step)).then_some(step)
    })
}

/// Decimals a reader needs to see each reading of the series as it was written, 0 to 6.
///
/// From the resolution in the limits, else from that of the first 200 valid readings; readings
/// without a resolution get two digits of their sigma, and 2 when nothing is known.
/// Limits and means are better shown with one decimal more.
pub fn decimals(series: &Series, limits: Option<&Limits>) -> u32 {
    let resolution = limits.and_then(|l| l.resolution).or_else(|| {
        let valid = series.values().iter().enumerate();
        let valid = valid.filter(|(index, _)| !series.is_excluded(*index));
        let mut some: Vec<f64> = valid.map(|(_, value)| *value).take(200).collect();
        some.sort_unstable_by(f64::total_cmp);
        common_step(&some)
    });
    match (resolution, limits) {
        (Some(step), _) => decimals_of_step(step),
        (None, Some(limits)) => places(limits.sigma / 10.0),
        (None, None) => 2,
    }
}

/// Decimals that show a step: those it is written with when they are few (0.25 has two),
/// else enough to keep neighbours apart.
pub(crate) fn decimals_of_step(step: f64) -> u32 {
    const MOST: u32 = 6;
    let enough = places(step);
    let exact = |d: &u32| {
        let scaled = step * 10f64.powi(*d as i32);
        (scaled - scaled.round()).abs() <= 1e-6 * scaled && scaled.round() >= 1.0
    };
    (0..=(enough + 1).min(MOST)).find(exact).unwrap_or(enough)
}

fn places(step: f64) -> u32 {
    if step > 0.0 && step.is_finite() {
        // The small allowance keeps 0.1, stored a little above, at one decimal.
        (-step.log10() - 1e-9).ceil().clamp(0.0, 6.0) as u32
    } else {
        2
    }
}

/// A positive number to two significant digits.
pub(crate) fn two_digits(x: f64) -> String {
    let decimals = places(x / 10.0) as usize;
    format!("{x:.decimals$}")
}

/// A length of time for a sentence: "7 days", "1 day", "2.5 days".
pub(crate) fn gap_words(days: f64) -> String {
    let rounded = (days * 10.0).round() / 10.0;
    format!("{rounded} day{}", if rounded == 1.0 { "" } else { "s" })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::reference::assert_close;
    use rand::{RngExt, SeedableRng};

    fn step_of(mut values: Vec<f64>) -> Option<f64> {
        values.sort_by(f64::total_cmp);
        common_step(&values)
    }

    #[test]
    fn steps_survive_conversion_and_gaps() {
        let close = |values: Vec<f64>, step: f64| {
            assert_close(step_of(values).unwrap(), step, 1e-6, "step");
        };
        close(vec![6.8, 6.9, 6.7, 7.0, 6.8], 0.1);
        close(vec![1.031, 1.033, 1.036, 1.031], 0.001);
        close(vec![35.0, 35.2, 35.5, 35.2], 0.1); // no two neighbours 0.1 apart
        close(
            [23.0, 24.5, 22.5, 26.0].iter().map(|v| v / 16.0).collect(),
            0.5 / 16.0,
        );
        close(
            [23.0, 24.5, 22.5, 26.0]
                .iter()
                .map(|v| v / 24.0 * 80.0 / 78.54)
                .collect(),
            0.5 / 24.0 * 80.0 / 78.54,
        );
        close(
            [95.0, 97.0, 94.0, 99.0]
                .iter()
                .map(|f| (f - 32.0) * 5.0 / 9.0)
                .collect(),
            5.0 / 9.0,
        );
        close(
            [15.0, 15.5, 14.0].iter().map(|p| p * 6.894757).collect(),
            0.5 * 6.894757,
        );
        // A converted value written down with four decimals.
        close(vec![35.0, 35.5556, 36.1111, 36.6667, 37.7778], 0.55556);
    }

    #[test]
    fn fine_or_equal_readings_have_no_step() {
        assert_eq!(step_of(vec![6.8; 5]), None);
        assert_eq!(step_of(vec![]), None);
        assert_eq!(step_of(vec![6.8, 6.8 + 1e-15]), None);
        let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(7);
        for _ in 0..2_000 {
            let values: Vec<f64> = (0..10).map(|_| 35.0 + rng.random::<f64>()).collect();
            assert_eq!(step_of(values), None);
        }
    }

    #[test]
    fn a_series_shows_its_own_decimals() {
        use crate::chart::tests_support::{OPTIONS, daily, noisy};
        let tenths: Vec<f64> = noisy(40, 0.0)
            .iter()
            .map(|v| (v * 10.0).round() / 10.0)
            .collect();
        assert_eq!(decimals(&daily(&tenths), None), 1);
        let fine = daily(&noisy(40, 0.0));
        assert_eq!(decimals(&fine, None), 2);
        let limits = crate::chart::limits_of(&fine, 0..40, &OPTIONS).unwrap();
        assert_eq!(
            (limits.resolution, decimals(&fine, Some(&limits))),
            (None, 2)
        );
    }

    #[test]
    fn decimals_follow_the_step() {
        for (step, expected) in [
            (0.1, 1),
            (0.5, 1),
            (0.25, 2),
            (1.0, 0),
            (2.5, 1),
            (5.0, 0),
            (10.0, 0),
            (0.001, 3),
            (5.0 / 9.0, 1),
            (0.03125, 2),
            (1e-9, 6),
            (0.2, 1),
        ] {
            assert_eq!(decimals_of_step(step), expected, "step {step}");
        }
    }
}
