//! Scores of the starts of a change, and their odds summed.
//!
//! A start is scored by the length of its column beyond the level and by its inner product with
//! the readings. Which starts are considered is told here; what the sum means is `change`'s.

/// Starts considered, in readings before the next one; between them starts are alike. A
/// single reading is never a lasting change.
pub(super) const LAGS: [usize; 16] = [2, 3, 4, 5, 6, 7, 9, 11, 14, 18, 23, 29, 37, 48, 62, 80];
/// A start this many readings ago weighs half as much as one just now.
const HALF_WEIGHT_LAG: f64 = 10.0;
/// Standard deviation of step sizes expected, in units of the noise.
const STEP_SCALE: f64 = 1.5;
/// Standard deviation of slopes expected, in units of the noise per day.
const RAMP_SCALE: f64 = 0.25;
/// Most that a change is believed to explain of what the level leaves.
const MOST_EXPLAINED: f64 = 0.999_999;

/// Starts times shapes.
const TERMS: usize = 2 * LAGS.len();
/// Weight of each term: a step and a slope for each start, which stands for those between it
/// and the one before.
const WEIGHT: [f64; TERMS] = {
    let mut weight = [0.0; TERMS];
    let (mut term, mut before) = (0, 0);
    while term < TERMS {
        let lag = LAGS[term / 2];
        let half = 0.5 * ((lag - before) as f64 / (1.0 + lag as f64 / HALF_WEIGHT_LAG));
        (weight[term], weight[term + 1]) = (half, half);
        (term, before) = (term + 2, lag);
    }
    weight
};
/// Variance of the size expected of each term, in noise variances.
const SPREAD: [f64; TERMS] = {
    let mut spread = [Shape::Step.spread(); TERMS];
    let mut term = 1;
    while term < TERMS {
        spread[term] = Shape::Ramp.spread();
        term += 2;
    }
    spread
};
/// Share left unexplained from which its power, over a year of readings, is still a number.
const POWER_HOLDS: f64 = 0.1;

/// Shape of a change.
#[derive(Debug, Clone, Copy)]
pub(super) enum Shape {
    Step,
    Ramp,
}

impl Shape {
    /// Variance of the size expected, in noise variances.
    const fn spread(self) -> f64 {
        match self {
            Shape::Step => STEP_SCALE * STEP_SCALE,
            Shape::Ramp => RAMP_SCALE * RAMP_SCALE,
        }
    }
}

/// Score of one start: length and inner product of its column beyond the level.
#[derive(Debug, Clone, Copy)]
pub(super) struct Score {
    pub(super) length: f64,
    pub(super) product: f64,
}

impl Score {
    /// Logarithm of the odds for a change of that shape.
    pub(super) fn log_odds(self, shape: Shape, residual: f64, freedom: f64) -> f64 {
        let (widened, explained) = self.explained(shape.spread(), residual);
        -0.5 * (widened.ln() + freedom * (-explained).ln_1p())
    }

    /// Scale of a score once a change of normal size with variance `spread` (in noise
    /// variances) is allowed for, and the share of `residual` that it explains.
    #[inline]
    fn explained(self, spread: f64, residual: f64) -> (f64, f64) {
        let widened = 1.0 + spread * self.length;
        let explained = self.product * self.product * spread / (widened * residual);
        let explained = if explained < MOST_EXPLAINED {
            explained
        } else {
            MOST_EXPLAINED
        };
        (widened, explained)
    }

    /// By how much the squared product is more than `bar` times the length: above 0 when the
    /// squared score, one over the other, exceeds `bar`.
    #[inline]
    pub(super) fn beyond(self, bar: f64) -> f64 {
        if self.length > 0.0 {
            self.product * self.product - bar * self.length
        } else {
            0.0
        }
    }
}

/// Odds of every start and shape, to be summed: each is its weight over the root of what it is
/// widened by, times what is left unexplained raised to the degrees of freedom.
pub(super) struct Odds {
    length: [f64; TERMS],
    product: [f64; TERMS],
    used: usize,
}

impl Odds {
    pub(super) fn new() -> Odds {
        Odds {
            length: [0.0; TERMS],
            product: [0.0; TERMS],
            used: 0,
        }
    }

    /// Adds the next of [`LAGS`].
    pub(super) fn add(&mut self, step: Score, ramp: Score) {
        for score in [step, ramp] {
            let place = (
                self.length.get_mut(self.used),
                self.product.get_mut(self.used),
            );
            if let (Some(length), Some(product)) = place {
                (*length, *product) = (score.length, score.product);
                self.used += 1;
            }
        }
    }

    /// Logarithm of the sum, which never overflows.
    pub(super) fn ln_sum(&self, residual: f64, freedom: usize) -> f64 {
        // All terms side by side, those not used too, which are 1.
        let (mut widened, mut unexplained) = ([1.0; TERMS], [1.0; TERMS]);
        for term in 0..TERMS {
            let score = Score {
                length: self.length[term],
                product: self.product[term],
            };
            let (by, explained) = score.explained(SPREAD[term], residual);
            (widened[term], unexplained[term]) = (by, 1.0 - explained);
        }
        let low = |any: bool, share: &f64| any | (*share < POWER_HOLDS);
        if unexplained.iter().fold(false, low) {
            return self.ln_sum_of_logarithms(&widened, &unexplained, freedom);
        }
        // Multiplying terms side by side is several times quicker than their logarithms; a few
        // at a time stay in registers.
        let mut odds = unexplained;
        for terms in odds.as_chunks_mut::<8>().0 {
            *terms = power(*terms, freedom);
        }
        for ((odds, widened), weight) in odds.iter_mut().zip(&widened).zip(&WEIGHT) {
            *odds = weight / (*odds * widened).sqrt();
        }
        odds.iter().take(self.used).sum::<f64>().ln()
    }

    fn ln_sum_of_logarithms(
        &self,
        widened: &[f64; TERMS],
        unexplained: &[f64; TERMS],
        freedom: usize,
    ) -> f64 {
        let rows = WEIGHT.iter().zip(widened).zip(unexplained).take(self.used);
        let logs = || {
            rows.clone().map(|((weight, widened), unexplained)| {
                weight.ln() - 0.5 * (widened.ln() + freedom as f64 * unexplained.ln())
            })
        };
        let top = logs().fold(f64::NEG_INFINITY, f64::max);
        top + logs().map(|log| (log - top).exp()).sum::<f64>().ln()
    }
}

/// Each of `bases` to the power `exponent`.
#[inline]
fn power<const N: usize>(bases: [f64; N], mut exponent: usize) -> [f64; N] {
    let (mut power, mut square) = ([1.0; N], bases);
    while exponent > 0 {
        for (power, square) in power.iter_mut().zip(&mut square) {
            if exponent % 2 == 1 {
                *power *= *square;
            }
            *square *= *square;
        }
        exponent /= 2;
    }
    power
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The power of many terms at once against their logarithms one by one.
    #[test]
    fn both_ways_to_sum_agree() {
        for used in [2, 10, LAGS.len()] {
            let mut odds = Odds::new();
            for i in 0..used {
                let score = |product: f64| Score {
                    length: 0.5 + i as f64,
                    product,
                };
                odds.add(score(3.0 - 0.7 * i as f64), score(0.3 * i as f64));
            }
            for freedom in [1, 14, 249] {
                let residual = freedom as f64;
                let (mut widened, mut unexplained) = ([1.0; TERMS], [1.0; TERMS]);
                for term in 0..2 * used {
                    let score = Score {
                        length: odds.length[term],
                        product: odds.product[term],
                    };
                    let (by, explained) = score.explained(SPREAD[term], residual);
                    (widened[term], unexplained[term]) = (by, 1.0 - explained);
                }
                let plain = odds.ln_sum_of_logarithms(&widened, &unexplained, freedom);
                let found = odds.ln_sum(residual, freedom);
                assert!(
                    (found - plain).abs() < 1e-9,
                    "{used} {freedom}: {found} {plain}"
                );
            }
        }
    }

    #[test]
    fn starts_weigh_what_lies_between_them() {
        let of = |start: usize| WEIGHT[2 * start] + WEIGHT[2 * start + 1];
        assert_eq!(of(0), 2.0 / 1.2);
        assert_eq!(of(15), 18.0 / 9.0);
        assert_eq!(SPREAD[..4], [2.25, 0.0625, 2.25, 0.0625]);
    }
}
