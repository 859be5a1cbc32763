//! Seeded noise that is the same on every machine.
//!
//! Only additions, multiplications and square roots are used: logarithms and cosines
//! may differ in the last bit between platforms, and a rounded reading with them.

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// One seed for the whole demo; every series draws from a stream of its own, so that
/// a change to one leaves the others as they were.
const SEED: u64 = 0x5A17_F06D;

/// First-order autoregressive noise with unit standard deviation before scaling.
#[derive(Debug)]
pub(super) struct Noise {
    generator: ChaCha8Rng,
    carry_over: f64,
    fresh_share: f64,
    last: f64,
}

impl Noise {
    /// Noise of that stream with lag-1 autocorrelation `carry_over`, in (−1, 1).
    pub(super) fn new(stream: u64, carry_over: f64) -> Noise {
        let mut generator = ChaCha8Rng::seed_from_u64(SEED);
        generator.set_stream(stream);
        let mut noise = Noise {
            generator,
            carry_over,
            fresh_share: (1.0 - carry_over * carry_over).sqrt(),
            last: 0.0,
        };
        noise.last = noise.fresh();
        noise
    }

    /// The next value; its long-run standard deviation is 1.
    pub(super) fn step(&mut self) -> f64 {
        self.last = self.carry_over * self.last + self.fresh_share * self.fresh();
        self.last
    }

    /// Sum of twelve uniform numbers less six: mean 0, variance 1, close to normal
    /// within ± 3 and never beyond ± 6.
    fn fresh(&mut self) -> f64 {
        const TO_UNIT: f64 = 1.0 / (1u64 << 53) as f64;
        let sum: f64 = (0..12)
            .map(|_| (self.generator.next_u64() >> 11) as f64 * TO_UNIT)
            .sum();
        sum - 6.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn noise_has_the_stated_mean_spread_and_carry_over() {
        let mut noise = Noise::new(1, 0.3);
        let x: Vec<f64> = (0..20_000).map(|_| noise.step()).collect();
        let mean = x.iter().sum::<f64>() / x.len() as f64;
        let variance = x.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (x.len() - 1) as f64;
        let lag1 = x
            .windows(2)
            .map(|pair| (pair[0] - mean) * (pair[1] - mean))
            .sum::<f64>()
            / ((x.len() - 1) as f64 * variance);
        // Standard errors: mean 0.0096 (times 1.36 for the carry-over), sd 0.005, lag-1 0.007.
        assert!(mean.abs() < 0.03, "{mean}");
        assert!((variance.sqrt() - 1.0).abs() < 0.02, "{variance}");
        assert!((lag1 - 0.3).abs() < 0.03, "{lag1}");
    }

    #[test]
    fn streams_repeat_and_differ() {
        let draw = |stream| {
            let mut noise = Noise::new(stream, 0.2);
            [noise.step(), noise.step(), noise.step()]
        };
        assert_eq!(draw(7), draw(7));
        assert_ne!(draw(7), draw(8));
    }
}
