//! σ_pt, the standard deviation for proficiency assessment, and where it comes from.
//!
//! It is the yardstick of z and z′: chosen by what the work needs, from a published
//! precision, or from the participants themselves. It is never estimated here.

use crate::compare::robust::{Method, RobustEstimate};

/// The share of half the conformance window that σ_pt is by default: a result half a
/// window off the assigned value then has |z| = 3. Ours; the standard leaves it to fitness
/// for purpose.
pub const DEFAULT_SHARE_OF_HALF_WINDOW: f64 = 1.0 / 3.0;

/// A standard deviation: above 0 and finite, in the unit of the results.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Sigma(f64);

/// Why there is no σ_pt.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum NoSigma {
    /// Not a finite number.
    #[error("The standard deviation for the scores is not a finite number.")]
    NotFinite,
    /// 0 or below.
    #[error(
        "The standard deviation for the scores is {0}; it must be above 0, or every result would be infinitely far off."
    )]
    NotPositive(f64),
    /// A window with a side missing has no width.
    #[error(
        "The conformance window has no {missing} limit, so no share of its width can be taken; state a standard deviation instead."
    )]
    OneSided {
        /// `lower` or `upper`.
        missing: &'static str,
    },
    /// The lower limit is not below the upper one.
    #[error("The lower conformance limit {lower} is not below the upper one {upper}.")]
    Crossed {
        /// Lower limit.
        lower: f64,
        /// Upper limit.
        upper: f64,
    },
    /// A share outside 0 to 1.
    #[error("The share of half the conformance window is {0}; it must be above 0 and at most 1.")]
    Share(f64),
    /// s_r above s_R.
    #[error(
        "The repeatability standard deviation {repeatability} is above the reproducibility standard deviation {reproducibility}; it cannot be."
    )]
    Precision {
        /// s_r.
        repeatability: f64,
        /// s_R.
        reproducibility: f64,
    },
    /// Repeatability given for no result.
    #[error("A participant's value is the mean of at least one result.")]
    NoResult,
    /// Nothing else was left after repeatability was taken off.
    #[error(
        "The precision leaves no spread between participants, so it gives no standard deviation for the scores."
    )]
    NothingLeft,
    /// The participants' results have no spread.
    #[error(
        "The results have no robust spread (all or most are the same), so it cannot be the standard deviation for the scores."
    )]
    NoSpread,
}

impl Sigma {
    /// A standard deviation.
    ///
    /// # Errors
    /// [`NoSigma`] unless it is above 0 and finite.
    ///
    /// ```
    /// use steadyfog::compare::score::Sigma;
    /// assert_eq!(Sigma::new(0.5).map(Sigma::value), Ok(0.5));
    /// assert!(Sigma::new(0.0).is_err() && Sigma::new(f64::NAN).is_err());
    /// ```
    pub fn new(value: f64) -> Result<Sigma, NoSigma> {
        if !value.is_finite() {
            Err(NoSigma::NotFinite)
        } else if value <= 0.0 {
            Err(NoSigma::NotPositive(value))
        } else {
            Ok(Sigma(value))
        }
    }

    /// The number.
    pub fn value(self) -> f64 {
        self.0
    }
}

/// Where σ_pt comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SigmaSource {
    /// A share of half the conformance window.
    ShareOfHalfWindow {
        /// The share, above 0 and at most 1.
        share: f64,
    },
    /// A precision: s_R, less what averaging takes off the repeatability.
    Precision {
        /// Results that a participant's value is the mean of.
        results: u32,
    },
    /// The robust spread of the participants themselves.
    RobustSpread {
        /// How it was estimated.
        method: Method,
        /// Participants it rests on.
        participants: usize,
    },
    /// Stated by the lab.
    Stated,
}

/// Repeatability, and the number of results that a participant's value is the mean of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RepeatabilityPart {
    /// s_r, 0 or above.
    pub deviation: f64,
    /// Results a participant, 1 or more.
    pub results: u32,
}

/// σ_pt with its source.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SigmaPt {
    sigma: Sigma,
    source: SigmaSource,
}

impl SigmaPt {
    /// `share` of half the window between two conformance limits, in their unit;
    /// [`DEFAULT_SHARE_OF_HALF_WINDOW`] unless the lab chose another.
    ///
    /// Source: fitness for purpose, ISO 13528:2015 8.2 (from memory); the share is ours.
    ///
    /// # Errors
    /// [`NoSigma`] when a limit is missing, the limits are crossed or not finite, or the
    /// share is not above 0 and at most 1.
    ///
    /// ```
    /// use steadyfog::compare::score::{DEFAULT_SHARE_OF_HALF_WINDOW, SigmaPt};
    /// // pH 6.5 to 7.2: half the window is 0.35.
    /// let sigma = SigmaPt::share_of_window(Some(6.5), Some(7.2), DEFAULT_SHARE_OF_HALF_WINDOW)?;
    /// assert!((3.0 * sigma.value() - 0.35).abs() < 1e-12);
    /// # Ok::<(), steadyfog::compare::score::NoSigma>(())
    /// ```
    pub fn share_of_window(
        lower: Option<f64>,
        upper: Option<f64>,
        share: f64,
    ) -> Result<SigmaPt, NoSigma> {
        let lower = lower.ok_or(NoSigma::OneSided { missing: "lower" })?;
        let upper = upper.ok_or(NoSigma::OneSided { missing: "upper" })?;
        if !lower.is_finite() || !upper.is_finite() {
            return Err(NoSigma::NotFinite);
        }
        if lower >= upper {
            return Err(NoSigma::Crossed { lower, upper });
        }
        if !(share > 0.0 && share <= 1.0) {
            return Err(NoSigma::Share(share));
        }
        Ok(SigmaPt {
            // Halved first: the width of the widest window overflows.
            sigma: Sigma::new(share * (0.5 * upper - 0.5 * lower))?,
            source: SigmaSource::ShareOfHalfWindow { share },
        })
    }

    /// From a precision: √(s_R² − s_r²(1 − 1/m)), where a participant's value is the mean of
    /// m results; s_R itself for single results.
    ///
    /// Source: ISO 13528:2015 8.4 (from memory).
    ///
    /// # Errors
    /// [`NoSigma`] when a standard deviation is not a finite number, s_r is below 0 or
    /// above s_R, m is 0, or nothing is left.
    pub fn from_precision(
        reproducibility: f64,
        repeatability: RepeatabilityPart,
    ) -> Result<SigmaPt, NoSigma> {
        let s_r = repeatability.deviation;
        let whole = Sigma::new(reproducibility)?;
        if !s_r.is_finite() {
            return Err(NoSigma::NotFinite);
        }
        if s_r < 0.0 {
            return Err(NoSigma::NotPositive(s_r));
        }
        if !super::at_most(s_r, reproducibility) {
            return Err(NoSigma::Precision {
                repeatability: s_r,
                reproducibility,
            });
        }
        if repeatability.results == 0 {
            return Err(NoSigma::NoResult);
        }
        let share = s_r / whole.value();
        let left = 1.0 - share * share * (1.0 - 1.0 / f64::from(repeatability.results));
        if left <= 0.0 {
            return Err(NoSigma::NothingLeft);
        }
        Ok(SigmaPt {
            sigma: Sigma::new(whole.value() * left.sqrt())?,
            source: SigmaSource::Precision {
                results: repeatability.results,
            },
        })
    }

    /// The participants' own robust spread: says how they compare with each other, not
    /// whether they are good enough.
    ///
    /// Source: ISO 13528:2015 8.6 (from memory).
    ///
    /// # Errors
    /// [`NoSigma::NoSpread`] when the spread is 0.
    pub fn from_robust_spread(estimate: &RobustEstimate) -> Result<SigmaPt, NoSigma> {
        Ok(SigmaPt {
            sigma: Sigma::new(estimate.spread()).map_err(|_| NoSigma::NoSpread)?,
            source: SigmaSource::RobustSpread {
                method: estimate.method(),
                participants: estimate.participants(),
            },
        })
    }

    /// A value that the lab states.
    pub fn stated(sigma: Sigma) -> SigmaPt {
        SigmaPt {
            sigma,
            source: SigmaSource::Stated,
        }
    }

    /// The standard deviation.
    pub fn sigma(&self) -> Sigma {
        self.sigma
    }

    /// Its number, above 0.
    pub fn value(&self) -> f64 {
        self.sigma.value()
    }

    /// Where it comes from.
    pub fn source(&self) -> SigmaSource {
        self.source
    }

    /// Where it comes from, in a sentence; without its number, which has a unit.
    pub fn says(&self) -> String {
        match self.source {
            SigmaSource::ShareOfHalfWindow { share } if share == DEFAULT_SHARE_OF_HALF_WINDOW => {
                "A third of half the conformance window: a result half a window off the \
                 assigned value has |z| = 3."
                    .to_owned()
            }
            SigmaSource::ShareOfHalfWindow { share } => format!(
                "{share} of half the conformance window: a result {:.2} of a window off the \
                 assigned value has |z| = 3.",
                1.5 * share
            ),
            SigmaSource::Precision { results: 1 } => {
                "The reproducibility standard deviation, for single results.".to_owned()
            }
            SigmaSource::Precision { results } => {
                format!("From the precision, for means of {results} results.")
            }
            SigmaSource::RobustSpread {
                method,
                participants,
            } => format!(
                "The robust spread of {participants} participants ({}): scores compare them with \
                 each other and do not say whether they are good enough.",
                method.name()
            ),
            SigmaSource::Stated => "Stated by the lab.".to_owned(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::compare::robust::{Constants, median_nmad};

    #[test]
    fn half_a_window_off_is_three() {
        let sigma =
            SigmaPt::share_of_window(Some(1.0), Some(2.0), DEFAULT_SHARE_OF_HALF_WINDOW).unwrap();
        assert!((0.5 / sigma.value() - 3.0).abs() < 1e-12);
        assert!(sigma.says().starts_with("A third of half"));
        let other = SigmaPt::share_of_window(Some(1.0), Some(2.0), 0.5).unwrap();
        assert_eq!(other.value(), 0.25);
        assert!(
            other.says().contains("0.75 of a window"),
            "{}",
            other.says()
        );
    }

    #[test]
    fn a_window_that_has_no_width_is_refused() {
        let of = |lower, upper| SigmaPt::share_of_window(lower, upper, 0.3).unwrap_err();
        assert_eq!(of(None, Some(2.0)), NoSigma::OneSided { missing: "lower" });
        assert_eq!(of(Some(2.0), None), NoSigma::OneSided { missing: "upper" });
        let crossed = NoSigma::Crossed {
            lower: 2.0,
            upper: 2.0,
        };
        assert_eq!(of(Some(2.0), Some(2.0)), crossed);
        assert_eq!(of(Some(f64::NAN), Some(2.0)), NoSigma::NotFinite);
        for share in [0.0, -1.0, 1.1, f64::NAN] {
            let found = SigmaPt::share_of_window(Some(1.0), Some(2.0), share);
            assert!(matches!(found, Err(NoSigma::Share(_))));
        }
        assert!(SigmaPt::share_of_window(Some(-1.7e308), Some(1.7e308), 1.0).is_ok());
    }

    #[test]
    fn precision_for_single_results_and_for_means() {
        let of = |s_r, results| {
            let part = RepeatabilityPart {
                deviation: s_r,
                results,
            };
            SigmaPt::from_precision(5.0, part)
        };
        assert_eq!(of(3.0, 1).unwrap().value(), 5.0);
        // 25 − 9·(1 − 1/3) = 19.
        assert!((of(3.0, 3).unwrap().value() - 19f64.sqrt()).abs() < 1e-12);
        assert!((of(5.0, 4).unwrap().value() - 2.5).abs() < 1e-12);
        assert!(matches!(of(6.0, 2), Err(NoSigma::Precision { .. })));
        assert_eq!(of(3.0, 0), Err(NoSigma::NoResult));
        assert_eq!(of(f64::NAN, 1), Err(NoSigma::NotFinite));
        assert_eq!(of(-1.0, 1), Err(NoSigma::NotPositive(-1.0)));
    }

    #[test]
    fn a_spread_of_nothing_is_no_yardstick() {
        let same = median_nmad(&[1.0; 4], Constants::Exact).unwrap();
        assert_eq!(SigmaPt::from_robust_spread(&same), Err(NoSigma::NoSpread));
        let found = median_nmad(&[1.0, 2.0, 3.0], Constants::AsPrinted).unwrap();
        let sigma = SigmaPt::from_robust_spread(&found).unwrap();
        assert_eq!(sigma.value(), 1.483);
        assert!(sigma.says().contains("3 participants (median and nMAD)"));
        assert_eq!(SigmaPt::stated(sigma.sigma()).source(), SigmaSource::Stated);
        let why = Sigma::new(0.0).unwrap_err().to_string();
        assert!(why.contains("must be above 0"), "{why}");
        assert_eq!(Sigma::new(f64::INFINITY), Err(NoSigma::NotFinite));
    }
}
