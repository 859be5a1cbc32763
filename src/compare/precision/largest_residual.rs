//! The distribution of the largest of n normal values about their mean, in terms of their
//! own spread: the part of the double Grubbs test that no closed form gives.
//!
//! With W the largest (x − mean)/√(sum of squares) and sin a = W √(n/(n−1)), a given value
//! has an angle of density c cosⁿ⁻³ a, and given that angle the others are again n − 1 normal
//! values: so the distribution for n follows from that for n − 1 by one integration (the
//! recursion of Grubbs, Ann. Math. Statist. 21 (1950) 27, from memory, in angles). It knows
//! no test; [`super::grubbs_pair`] does.

use crate::stats::tails;
use statrs::function::gamma::ln_gamma;
use std::f64::consts::{FRAC_PI_2, PI};
use std::sync::{Arc, Mutex, PoisonError};

/// Steps of each table; twice as many move no critical value for up to a thousand by more
/// than 2e-9 (measured).
const CELLS: usize = 160;

/// Where the table of many values ends, in standard deviations: beyond, less than 1e-10 of
/// any sample of two thousand is found.
const FAR_OUT: f64 = 7.5;

/// A smooth rising function between two angles: values and slopes at even steps.
#[derive(Debug, Clone)]
struct Stretch {
    low: f64,
    high: f64,
    /// Steps shrink towards `high`, where the slope of the next function has a root's kink.
    nodes: Vec<Node>,
}

#[derive(Debug, Clone, Copy)]
struct Node {
    value: f64,
    /// Change of the value over one step.
    rise: f64,
}

/// P(angle of the largest of `n` < a), for n of three and more.
#[derive(Debug)]
pub(super) struct LargestResidual {
    n: usize,
    core: Stretch,
    tail: Stretch,
}

impl Stretch {
    fn angle(low: f64, high: f64, step: f64) -> f64 {
        let left = 1.0 - step / CELLS as f64;
        high - (high - low) * left * left
    }

    fn at(&self, angle: f64) -> f64 {
        let left = ((self.high - angle) / (self.high - self.low)).clamp(0.0, 1.0);
        let step = (1.0 - left.sqrt()) * CELLS as f64;
        let i = (step as usize).min(CELLS - 1);
        let (Some(a), Some(b)) = (self.nodes.get(i), self.nodes.get(i + 1)) else {
            return 0.0;
        };
        // Cubic through both values and both slopes.
        let x = step - i as f64;
        let y = 1.0 - x;
        let cubic = a.value * y * y * (1.0 + 2.0 * x)
            + b.value * x * x * (1.0 + 2.0 * y)
            + (a.rise * y - b.rise * x) * x * y;
        // A chance never falls, and a cubic may by a trifle.
        cubic.max(a.value).min(b.value)
    }
}

impl LargestResidual {
    /// The table for `n` from that for n − 1; `None` starts at n = 3, where the closed form
    /// holds throughout.
    fn next(n: usize, before: Option<&Self>) -> Self {
        let size = n as f64;
        let ln_scale =
            ln_gamma(0.5 * (size - 1.0)) - ln_gamma(0.5 * (size - 2.0)) - 0.5 * PI.ln() + size.ln();
        let density = |angle: f64| (ln_scale + (size - 3.0) * angle.cos().max(1e-300).ln()).exp();
        // Beyond this angle no two of them can be: the chances of the single ones just add.
        let alone = ((size - 2.0) / size).sqrt().atan();
        let far = (FAR_OUT / size.sqrt()).min(1.0).asin();
        let low = (1.0 / (size - 1.0)).asin();
        let high = alone.min(far);
        let beyond = |angle: f64| {
            let t = (size - 2.0).sqrt() * angle.tan();
            let above = tails::t_above(t, size - 2.0).unwrap_or(0.0);
            (1.0 - size * above).clamp(0.0, 1.0)
        };
        let stretch = size / (size - 2.0);
        let slope = |angle: f64| {
            let inner = (stretch.sqrt() * angle.tan()).min(1.0).asin();
            density(angle) * before.map_or(1.0, |before| before.below(inner))
        };
        let steepness = |from: f64, to: f64, step: f64| {
            2.0 * (to - from) * (1.0 - step / CELLS as f64) / CELLS as f64
        };
        let rise = |step: f64| slope(Stretch::angle(low, high, step)) * steepness(low, high, step);
        let mut node = Node {
            value: beyond(high),
            rise: rise(CELLS as f64),
        };
        let mut core = vec![node];
        for step in (0..CELLS).rev() {
            let (middle, left) = (rise(step as f64 + 0.5), rise(step as f64));
            // Simpson's rule, downwards from the closed form: upwards, errors would grow
            // from table to table.
            node = Node {
                value: node.value - (left + 4.0 * middle + node.rise) / 6.0,
                rise: left,
            };
            core.push(node);
        }
        core.reverse();
        let tail = if high < alone {
            Vec::new()
        } else {
            let node = |step: usize| {
                let angle = Stretch::angle(high, FRAC_PI_2, step as f64);
                Node {
                    value: beyond(angle),
                    rise: density(angle) * steepness(high, FRAC_PI_2, step as f64),
                }
            };
            (0..=CELLS).map(node).collect()
        };
        Self {
            n,
            core: Stretch {
                low,
                high,
                nodes: core,
            },
            tail: Stretch {
                low: high,
                high: FRAC_PI_2,
                nodes: tail,
            },
        }
    }

    /// P(angle of the largest < `angle`).
    pub(super) fn below(&self, angle: f64) -> f64 {
        match () {
            () if angle >= self.tail.high => 1.0,
            () if angle >= self.core.high && self.tail.nodes.is_empty() => 1.0,
            () if angle >= self.core.high => self.tail.at(angle),
            () if angle <= self.core.low => 0.0,
            // The integration may end a trifle below nothing.
            () => self.core.at(angle).max(0.0),
        }
    }

    /// Angles between which the function is smooth: from the last 0 to the first 1.
    pub(super) fn breaks(&self) -> [f64; 3] {
        [self.core.low, self.core.high, self.tail.high]
    }
}

/// The distribution for `n` values; `None` below three.
///
/// Tables are kept once made, since one for n needs all those before it; what is kept
/// depends on nothing but n.
pub(super) fn largest_residual(n: usize) -> Option<Arc<LargestResidual>> {
    static KEPT: Mutex<Vec<Arc<LargestResidual>>> = Mutex::new(Vec::new());
    let mut kept = KEPT.lock().unwrap_or_else(PoisonError::into_inner);
    while kept.last().map_or(2, |last| last.n) < n {
        let last = kept.last().map(AsRef::as_ref);
        let table = LargestResidual::next(last.map_or(2, |last| last.n) + 1, last);
        kept.push(Arc::new(table));
    }
    kept.get(n.checked_sub(3)?).cloned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_values_have_an_even_angle() {
        let three = largest_residual(3).unwrap();
        for degrees in [30.0_f64, 37.0, 60.0, 89.0] {
            let expected = (degrees - 30.0) / 60.0;
            assert!((three.below(degrees.to_radians()) - expected).abs() < 1e-12);
        }
        assert!(largest_residual(2).is_none());
    }

    #[test]
    fn integration_from_the_closed_form_arrives_at_nothing() {
        // The closed form at the top and the recursion below know nothing of each other:
        // only if both are right is nothing left at the smallest angle. There an error
        // counts n-fold, so that more is left of many; the upper part is far better.
        for (n, most) in [(4, 1e-7), (5, 1e-7), (10, 1e-7), (85, 1e-7), (998, 1e-4)] {
            let table = largest_residual(n).unwrap();
            let left = table.core.nodes[0].value;
            assert!(left.abs() < most, "{n}: {left:e}");
            let rising = |nodes: &[Node]| nodes.windows(2).all(|w| w[1].value >= w[0].value);
            assert!(
                rising(&table.core.nodes) && rising(&table.tail.nodes),
                "{n}"
            );
        }
    }
}
