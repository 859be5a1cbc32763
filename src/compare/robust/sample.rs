//! Results made ready for the robust methods: checked, sorted, about their median, scaled.
//!
//! Working on deviations keeps the digits of results that are large beside their spread,
//! and scaling by a power of two (which rounds nothing) keeps squares from overflowing.

use super::{Course, Method, NoSpread, Refused, RobustEstimate};
use crate::stats::quantile::median_of_sorted;

/// Units in the last place of the largest result within which two results, or two
/// differences, are taken as equal: decimals on a grid differ by equal amounts that
/// binary fractions write unequal, and means carry a few roundings more.
const SAME_WITHIN: f64 = 64.0;

/// At least `needed` finite results, ready for use.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Sample {
    origin: f64,
    unit: f64,
    deviations: Vec<f64>,
    resolution: f64,
}

impl Sample {
    /// Checks and sorts `values`.
    pub(super) fn new(values: &[f64], needed: usize) -> Result<Sample, Refused> {
        if let Some(position) = values.iter().position(|x| !x.is_finite()) {
            return Err(Refused::NotFinite { position });
        }
        let mut sorted = values.to_vec();
        sorted.sort_unstable_by(f64::total_cmp);
        let too_few = Refused::TooFew {
            found: values.len(),
            needed,
        };
        let (Some(&least), Some(&most), Some(origin)) =
            (sorted.first(), sorted.last(), median_of_sorted(&sorted))
        else {
            return Err(too_few);
        };
        if values.len() < needed {
            return Err(too_few);
        }
        if !(most - least).is_finite() {
            return Err(Refused::TooFarApart);
        }
        let farthest = (most - origin).max(origin - least);
        let unit = if farthest > 0.0 {
            farthest.log2().floor().exp2().max(f64::MIN_POSITIVE)
        } else {
            1.0
        };
        let largest = most.abs().max(least.abs());
        Ok(Sample {
            origin,
            unit,
            deviations: sorted.iter().map(|x| (x - origin) / unit).collect(),
            resolution: SAME_WITHIN * (f64::EPSILON * (largest / unit)).min(f64::MAX / SAME_WITHIN),
        })
    }

    /// Results.
    pub(super) fn len(&self) -> usize {
        self.deviations.len()
    }

    /// Deviations from the median in units of the scale, ascending; none is beyond ±2.
    pub(super) fn deviations(&self) -> &[f64] {
        &self.deviations
    }

    /// What is not more than this, in scaled units, is nothing.
    pub(super) fn resolution(&self) -> f64 {
        self.resolution
    }

    /// A value in scaled units about the median.
    pub(super) fn scaled(&self, value: f64) -> f64 {
        (value - self.origin) / self.unit
    }

    /// Whether all results are the same.
    pub(super) fn all_identical(&self) -> bool {
        let range = match (self.deviations.first(), self.deviations.last()) {
            (Some(least), Some(most)) => most - least,
            _ => 0.0,
        };
        range <= self.resolution
    }

    /// The median absolute deviation in scaled units, not yet made a standard deviation;
    /// 0 when it is nothing.
    pub(super) fn median_deviation(&self) -> f64 {
        let mut apart: Vec<f64> = self.deviations.iter().map(|d| d.abs()).collect();
        let found = crate::stats::quantile::median(&mut apart).unwrap_or(0.0);
        if found > self.resolution { found } else { 0.0 }
    }

    /// The estimate that `centre` and `spread`, in scaled units, are.
    pub(super) fn estimate(
        &self,
        method: Method,
        centre: f64,
        spread: f64,
        course: Course,
    ) -> RobustEstimate {
        let no_spread = if self.all_identical() {
            Some(NoSpread::AllIdentical)
        } else {
            (spread <= self.resolution).then_some(NoSpread::MostIdentical)
        };
        RobustEstimate {
            method,
            centre: self.origin + self.unit * centre,
            spread: if no_spread.is_some() {
                0.0
            } else {
                self.unit * spread
            },
            participants: self.len(),
            course,
            no_spread,
        }
    }

    /// The estimate when all results are the same: their value, and no spread.
    pub(super) fn identical_estimate(&self, method: Method) -> RobustEstimate {
        self.estimate(method, 0.0, 0.0, Course::Finite)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn refuses_what_no_method_can_use() {
        let few = Refused::TooFew {
            found: 2,
            needed: 3,
        };
        assert_eq!(Sample::new(&[1.0, 2.0], 3), Err(few));
        assert_eq!(
            few.to_string(),
            "A robust estimate needs 3 participants at least; there are 2."
        );
        assert!(matches!(
            Sample::new(&[], 3),
            Err(Refused::TooFew { found: 0, .. })
        ));
        for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            let found = Sample::new(&[1.0, bad, 2.0, 3.0], 3);
            assert_eq!(found, Err(Refused::NotFinite { position: 1 }));
        }
        let apart = Sample::new(&[-1.7e308, 0.0, 1.7e308], 3);
        assert_eq!(apart, Err(Refused::TooFarApart));
    }

    #[test]
    fn rounding_is_no_spread() {
        let sample = Sample::new(&[0.1 + 0.2, 0.3, 0.3], 3).unwrap();
        assert!(sample.all_identical());
        assert!(
            !Sample::new(&[0.3, 0.3, 0.3 + 1e-12], 3)
                .unwrap()
                .all_identical()
        );
        // The smallest and the largest numbers there are keep to their scale.
        for size in [f64::MIN_POSITIVE, 8e307] {
            let sample = Sample::new(&[-size, 0.0, size], 3).unwrap();
            assert!(sample.deviations().iter().all(|d| d.abs() <= 2.0));
            assert!(!sample.all_identical() && sample.median_deviation() >= 1.0);
        }
    }
}
