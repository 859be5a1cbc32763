//! Critical values of the double Grubbs test, by integration of its null distribution.
//!
//! The two largest of p values are any pair that lies above all others, and only one pair
//! does; so P(ratio < t) is the number of pairs times the chance that values 1 and 2 lie
//! above all others *and* give a ratio below t. The sum of squares splits into that of the
//! p − 2 others and an independent chi-square with 2 degrees of freedom, whose direction
//! is even: ratio and direction are integrated over, and [`super::largest_residual`] says
//! how likely the others stay below. Exact but for the integration; nothing is simulated.

use super::Critical;
use super::largest_residual::{LargestResidual, largest_residual};
use crate::stats::integrate::gauss_legendre;
use std::collections::BTreeMap;
use std::f64::consts::{FRAC_1_SQRT_2, PI, SQRT_2};
use std::sync::{Arc, Mutex, PoisonError};

/// Fewest participants for the double test.
pub const FEWEST_FOR_PAIRS: usize = 4;

/// Most participants for the double test: tables for more are not made.
pub const MOST_FOR_PAIRS: usize = 2_000;

/// Ratios below which the sum of squares without the two largest (or smallest) over the
/// whole sum of squares counts as too small, at 5 % and 1 % for both sides together
/// (2.5 % and 0.5 % on each), as ISO 5725-2:1994 Table 5 has them.
///
/// `None` below four participants and above [`MOST_FOR_PAIRS`]. Four times as
/// many steps move no value by more than 2e-7 of itself (tried at twelve numbers from 4 to
/// 1,000). Printed values are met within 1.2e-4, and in 40 million simulated sides for each
/// of 4, 5, 6 and 10 participants the ratio fell below as often as asked for, within one
/// standard error of the simulation (1.1e-5 at 0.5 %, 2.5e-5 at 2.5 %).
///
/// ```
/// use steadyfog::compare::precision::pair_critical;
/// // 0.1101 and 0.0563 in print.
/// let eight = pair_critical(8).ok_or("no value")?;
/// assert!((eight.at_5_percent - 0.1101).abs() < 1e-4);
/// assert!((eight.at_1_percent - 0.0563).abs() < 1e-4);
/// # Ok::<(), &str>(())
/// ```
#[must_use]
pub fn pair_critical(participants: usize) -> Option<Critical> {
    if !(FEWEST_FOR_PAIRS..=MOST_FOR_PAIRS).contains(&participants) {
        return None;
    }
    // A comparison asks for the same few numbers again and again; what is kept depends on
    // the number alone.
    static KEPT: Mutex<BTreeMap<usize, Critical>> = Mutex::new(BTreeMap::new());
    let known = {
        let kept = KEPT.lock().unwrap_or_else(PoisonError::into_inner);
        kept.get(&participants).copied()
    };
    if known.is_some() {
        return known;
    }
    let null = Null::new(participants);
    let critical = Critical {
        at_5_percent: null.ratio_below(0.025)?,
        at_1_percent: null.ratio_below(0.005)?,
    };
    let mut kept = KEPT.lock().unwrap_or_else(PoisonError::into_inner);
    kept.insert(participants, critical);
    Some(critical)
}

/// The null distribution of the ratio for one number of participants.
struct Null {
    p: f64,
    /// Distribution of the largest of the p − 2 others; `None` for two, whose larger one
    /// always lies at 1/√2.
    others: Option<Arc<LargestResidual>>,
}

impl Null {
    fn new(participants: usize) -> Self {
        Self {
            p: participants as f64,
            others: largest_residual(participants - 2),
        }
    }

    /// Direction at which the lesser of the two lies `reach` times their common distance
    /// above the mean of the others; 0 when no direction reaches it.
    fn direction(&self, reach: f64) -> f64 {
        let wide = (self.p / (self.p - 2.0)).sqrt();
        let share = SQRT_2 * reach / wide.hypot(1.0);
        if share >= 1.0 {
            return 0.0;
        }
        (share.acos() - (1.0 / wide).atan()).max(0.0)
    }

    /// Chance that a pair at `distance` (in units of the others' root sum of squares) in
    /// an even direction lies above all others.
    fn above_all(&self, distance: f64) -> f64 {
        let size = self.p - 2.0;
        let Some(others) = &self.others else {
            return self.direction(FRAC_1_SQRT_2 / distance) / PI;
        };
        let wide = (self.p / size).sqrt();
        let share = ((size - 1.0) / size).sqrt();
        let below = |direction: f64| {
            let lesser = (wide * direction.cos() - direction.sin()) * FRAC_1_SQRT_2;
            others.below((distance * lesser / share).clamp(0.0, 1.0).asin())
        };
        let [last_zero, alone, first_one] = others.breaks();
        let at = |angle: f64| self.direction(share * angle.sin() / distance);
        let (sure, single, never) = (at(first_one), at(alone), at(last_zero));
        // A square as variable: the angle leaves its right end like a root.
        let near = gauss_legendre(0.0, 1.0, 1, |x| {
            2.0 * x * below(sure + (single - sure) * x * x)
        });
        let far = gauss_legendre(single, never, 2, below);
        (sure + (single - sure) * near + far) / PI
    }

    fn distance(&self, ln_share: f64) -> f64 {
        // ratio = share^(2/(p−3)), distance² = (1 − ratio)/ratio.
        (-2.0 * ln_share / (self.p - 3.0)).exp_m1().sqrt()
    }

    /// The ratio that the two largest fall below with chance `chance`.
    fn ratio_below(&self, chance: f64) -> Option<f64> {
        let pairs = 0.5 * self.p * (self.p - 1.0);
        let mut ln_share = (4.0 * chance / pairs).min(0.5).ln();
        for _ in 0..60 {
            let from = ln_share;
            // A given pair's ratio to the power (p − 3)/2 is even between 0 and 1.
            let inside = gauss_legendre(0.0, 36.0, 12, |s| {
                (-s).exp() * self.above_all(self.distance(from - s))
            });
            let found = pairs * from.exp() * inside;
            if found.is_nan() || found <= 0.0 {
                return None;
            }
            let slope = pairs * from.exp() * self.above_all(self.distance(from)) / found;
            let step = -(found / chance).ln() / slope.max(0.2);
            ln_share = (from + step).min(-1e-9);
            if (ln_share - from).abs() < 1e-10 {
                return Some((2.0 * ln_share / (self.p - 3.0)).exp());
            }
        }
        None
    }
}
