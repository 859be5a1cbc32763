//! Slow wandering that carry-over from check to check does not explain.
//!
//! Readings with noise of their own on a slowly wandering cabinet look little carried over
//! from one to the next, and yet their mean is far less sure. The slowest waves of the
//! period show it. This can only make a mean less sure, never more.

use crate::stats::tails;

/// Readings below which the slowest waves cannot be told from carry-over.
const FEWEST_READINGS: usize = 24;
/// Readings for each wave looked at, and the fewest and most waves.
const READINGS_PER_WAVE: usize = 20;
const FEWEST_WAVES: usize = 4;
const MOST_WAVES: usize = 12;
/// Chance that a series without wandering is taken to wander. Large, because that costs a
/// few hundredths of the interval's width, and wandering overlooked costs the promise.
const TEST: f64 = 0.25;

/// Wandering beyond carry-over.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Wander {
    /// By how much it multiplies the variance of the mean, above 1.
    pub(super) factor: f64,
    /// Degrees of freedom of the factor.
    pub(super) freedom: f64,
}

/// The wandering of `values` about `mean`, whose mean would have the `variance` told by
/// the carry-over `phi` alone; `None` when chance explains the slowest waves.
///
/// The cosine transforms of lowest frequency estimate the variance of the mean each with
/// one degree of freedom (Müller, J. Econometrics 141 (2007) 1331, from memory); each is
/// put in relation to what a first-order autoregression has at its frequency. Readings
/// count as evenly spaced.
pub(super) fn wander(values: &[f64], mean: f64, variance: f64, phi: f64) -> Option<Wander> {
    let n = values.len();
    if n < FEWEST_READINGS || variance <= 0.0 {
        return None;
    }
    let waves = (n / READINGS_PER_WAVE).clamp(FEWEST_WAVES, MOST_WAVES);
    let mut sum = 0.0;
    for wave in 1..=waves {
        let turn = std::f64::consts::PI * wave as f64 / n as f64;
        // cos((i + ½)·turn) by its recurrence.
        let twice = 2.0 * turn.cos();
        let (mut before, mut now) = ((0.5 * turn).cos(), (0.5 * turn).cos());
        let mut transform = 0.0;
        for value in values {
            transform += (value - mean) * now;
            (before, now) = (now, twice * now - before);
        }
        let power = 2.0 * transform * transform / (n * n) as f64;
        let expected = (1.0 - phi) * (1.0 - phi) / (1.0 - phi * twice + phi * phi);
        sum += power / (variance * expected);
    }
    let freedom = waves as f64;
    let critical = tails::chi_square_exceeded(TEST, freedom)?;
    (sum > critical && sum.is_finite()).then_some(Wander {
        factor: sum / freedom,
        freedom,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::compare::level::tests::weekdays;
    use crate::stats::sum;
    use rand::SeedableRng;

    /// The recurrence against the cosines themselves.
    #[test]
    fn the_slowest_waves_are_cosine_transforms() {
        let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(31);
        let (_, mut values) = weekdays(&mut rng, 100, 0.0, 0.01);
        for (i, value) in values.iter_mut().enumerate() {
            *value += (0.1 * i as f64).cos();
        }
        let mean = sum::mean(&values).unwrap();
        let found = wander(&values, mean, 0.01, 0.3).unwrap();
        let mut expected = 0.0;
        for wave in 1..=5 {
            let turn = std::f64::consts::PI * f64::from(wave) / 100.0;
            let along = |(i, x): (usize, &f64)| (x - mean) * ((i as f64 + 0.5) * turn).cos();
            let transform: f64 = values.iter().enumerate().map(along).sum();
            let beside_zero = 0.49 / (1.0 - 0.6 * turn.cos() + 0.09);
            expected += 2.0 * (transform / 100.0).powi(2) / (0.01 * beside_zero) / 5.0;
        }
        assert!(
            (found.factor / expected - 1.0).abs() < 1e-9,
            "{found:?} {expected}"
        );
        assert_eq!(found.freedom, 5.0);
    }

    #[test]
    fn independent_readings_rarely_wander_and_waves_always_do() {
        let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(32);
        let (mut plain, mut wavy) = (0, 0);
        for _ in 0..200 {
            let (_, mut values) = weekdays(&mut rng, 60, 0.0, 0.01);
            let mut seen = || {
                let mean = sum::mean(&values).unwrap();
                let found = wander(&values, mean, 1.0 / 60.0, 0.0).is_some();
                for (i, value) in values.iter_mut().enumerate() {
                    *value += 1.5 * (i as f64 / 15.0).sin();
                }
                found
            };
            plain += u32::from(seen());
            wavy += u32::from(seen());
        }
        assert!((30..75).contains(&plain), "{plain} of 200, 50 expected");
        assert!(wavy > 195, "{wavy} of 200");
    }

    #[test]
    fn few_readings_say_nothing_of_waves() {
        let values: Vec<f64> = (0..23).map(f64::from).collect();
        assert_eq!(wander(&values, 11.0, 0.01, 0.0), None);
        assert_eq!(wander(&[1.0; 40], 1.0, 0.0, 0.0), None);
    }
}
