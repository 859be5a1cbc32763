//! The standard uncertainty of a result or of an assigned value.
//!
//! A certificate gives an expanded uncertainty with its coverage factor; scores need to
//! know which of the two a number is, so it is a type.

/// Coverage factor of the expanded uncertainties in E_n (ISO/IEC 17043).
const COVERAGE: f64 = 2.0;

/// A standard uncertainty: 0 or above and finite, in the unit of the results.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Uncertainty(f64);

/// Why a number is no uncertainty.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum NoUncertainty {
    /// Not a finite number.
    #[error("The uncertainty is not a finite number.")]
    NotFinite,
    /// Below 0.
    #[error("The uncertainty is {0}; it cannot be below 0.")]
    Negative(f64),
    /// A coverage factor that is not above 0.
    #[error("The coverage factor is {0}; it must be above 0, and is 2 on most certificates.")]
    Coverage(f64),
}

impl Uncertainty {
    /// A standard uncertainty u.
    ///
    /// # Errors
    /// [`NoUncertainty`] when it is below 0 or not finite.
    pub fn standard(u: f64) -> Result<Uncertainty, NoUncertainty> {
        if !u.is_finite() {
            Err(NoUncertainty::NotFinite)
        } else if u < 0.0 {
            Err(NoUncertainty::Negative(u))
        } else {
            Ok(Uncertainty(u))
        }
    }

    /// From an expanded uncertainty U = k u and its coverage factor k.
    ///
    /// # Errors
    /// [`NoUncertainty`] as for [`Uncertainty::standard`], and when k is not above 0.
    ///
    /// ```
    /// use steadyfog::compare::score::Uncertainty;
    /// // "U = 0.05, k = 2" on the certificate of a pH meter.
    /// assert_eq!(Uncertainty::expanded(0.05, 2.0)?.value(), 0.025);
    /// # Ok::<(), steadyfog::compare::score::NoUncertainty>(())
    /// ```
    pub fn expanded(expanded: f64, coverage: f64) -> Result<Uncertainty, NoUncertainty> {
        if !(coverage > 0.0 && coverage.is_finite()) {
            return Err(NoUncertainty::Coverage(coverage));
        }
        Uncertainty::standard(expanded).and_then(|u| Uncertainty::standard(u.0 / coverage))
    }

    /// The standard uncertainty u.
    pub fn value(self) -> f64 {
        self.0
    }

    /// The expanded uncertainty with k = 2.
    pub fn expanded_value(self) -> f64 {
        COVERAGE * self.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_uncertainty() {
        assert_eq!(
            Uncertainty::standard(-0.1),
            Err(NoUncertainty::Negative(-0.1))
        );
        assert_eq!(
            Uncertainty::standard(f64::NAN),
            Err(NoUncertainty::NotFinite)
        );
        assert_eq!(
            Uncertainty::expanded(1.0, 0.0),
            Err(NoUncertainty::Coverage(0.0))
        );
        // So small a factor that the quotient overflows.
        assert_eq!(
            Uncertainty::expanded(1.0, 1e-310),
            Err(NoUncertainty::NotFinite)
        );
        assert_eq!(Uncertainty::standard(0.2).unwrap().expanded_value(), 0.4);
        assert_eq!(Uncertainty::standard(0.0).unwrap().value(), 0.0);
    }
}
