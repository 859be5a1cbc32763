//! One score, its kind, and the verdict on it.
//!
//! The limits and their words are the standard's; they stand here and nowhere else.

use super::{AssignedValue, SigmaPt, Uncertainty, at_least, at_most};

/// |z| up to this is acceptable.
const ACCEPTABLE_UP_TO: f64 = 2.0;
/// |z| from this on is an action signal.
const ACTION_FROM: f64 = 3.0;
/// |E_n| up to this is acceptable.
const EN_ACCEPTABLE_UP_TO: f64 = 1.0;

/// The kinds of score.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum ScoreKind {
    /// (x − x_pt)/σ_pt.
    Z,
    /// (x − x_pt)/√(σ_pt² + u(x_pt)²).
    ZPrime,
    /// (x − x_pt)/√(u(x)² + u(x_pt)²).
    Zeta,
    /// (x − x_pt)/√(U(x)² + U(x_pt)²), k = 2.
    En,
}

impl ScoreKind {
    /// Identifier: `z`, `z-prime`, `zeta` or `en`.
    pub fn id(self) -> &'static str {
        match self {
            ScoreKind::Z => "z",
            ScoreKind::ZPrime => "z-prime",
            ScoreKind::Zeta => "zeta",
            ScoreKind::En => "en",
        }
    }
}

/// What a score says, in the standard's words.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// |z|, |z′|, |ζ| ≤ 2; |E_n| ≤ 1.
    Acceptable,
    /// 2 < |z| < 3.
    WarningSignal,
    /// |z| ≥ 3.
    ActionSignal,
    /// |E_n| > 1: the difference is more than the stated uncertainties explain.
    Unacceptable,
}

impl Verdict {
    /// The standard's words.
    pub fn words(self) -> &'static str {
        match self {
            Verdict::Acceptable => "acceptable",
            Verdict::WarningSignal => "warning signal",
            Verdict::ActionSignal => "action signal",
            Verdict::Unacceptable => "unacceptable",
        }
    }
}

/// Why there is no score.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NotScored {
    /// The result is not a number.
    #[error("The result is not a finite number.")]
    NotFinite,
    /// The result came without uncertainty.
    #[error("The result has no stated uncertainty, which this score needs.")]
    NoUncertainty,
    /// Result and assigned value both claim to be exact.
    #[error(
        "Result and assigned value both have an uncertainty of 0, so nothing scales their difference."
    )]
    BothExact,
    /// The quotient is beyond what a number can hold.
    #[error(
        "The result is too far from the assigned value for a score; look for a misplaced decimal mark."
    )]
    TooFar,
}

/// A score: always a finite number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Score {
    kind: ScoreKind,
    value: f64,
}

impl Score {
    fn new(
        kind: ScoreKind,
        result: f64,
        assigned: &AssignedValue,
        scale: f64,
    ) -> Result<Score, NotScored> {
        if !result.is_finite() {
            return Err(NotScored::NotFinite);
        }
        let value = (result - assigned.value()) / scale;
        if value.is_finite() {
            Ok(Score { kind, value })
        } else {
            Err(NotScored::TooFar)
        }
    }

    /// z of `result`, in the unit of the assigned value.
    ///
    /// # Errors
    /// [`NotScored`] when the result is not finite or too far off.
    pub fn z(result: f64, assigned: &AssignedValue, sigma: &SigmaPt) -> Result<Score, NotScored> {
        Score::new(ScoreKind::Z, result, assigned, sigma.value())
    }

    /// z′ of `result`: z that allows for the uncertainty of the assigned value.
    ///
    /// # Errors
    /// As for [`Score::z`].
    pub fn z_prime(
        result: f64,
        assigned: &AssignedValue,
        sigma: &SigmaPt,
    ) -> Result<Score, NotScored> {
        let scale = sigma.value().hypot(assigned.u().value());
        Score::new(ScoreKind::ZPrime, result, assigned, scale)
    }

    /// ζ of `result` with its standard uncertainty `u`: whether that uncertainty is credible.
    ///
    /// Result and assigned value are taken to be independent; in a consensus of few
    /// participants they are not quite, and ζ comes out a little small.
    ///
    /// # Errors
    /// As for [`Score::z`], and [`NotScored::BothExact`].
    pub fn zeta(result: f64, u: Uncertainty, assigned: &AssignedValue) -> Result<Score, NotScored> {
        let scale = u.value().hypot(assigned.u().value());
        if scale <= 0.0 {
            return Err(NotScored::BothExact);
        }
        Score::new(ScoreKind::Zeta, result, assigned, scale)
    }

    /// E_n of `result`, from expanded uncertainties with k = 2; meant for a reference value.
    ///
    /// # Errors
    /// As for [`Score::zeta`].
    pub fn en(result: f64, u: Uncertainty, assigned: &AssignedValue) -> Result<Score, NotScored> {
        let scale = u.expanded_value().hypot(assigned.u().expanded_value());
        if scale <= 0.0 {
            return Err(NotScored::BothExact);
        }
        Score::new(ScoreKind::En, result, assigned, scale)
    }

    /// Its kind.
    pub fn kind(&self) -> ScoreKind {
        self.kind
    }

    /// The number; above 0 when the result is above the assigned value.
    pub fn value(&self) -> f64 {
        self.value
    }

    /// What it says. A tie on paper is a tie: 2 is acceptable, 3 is an action signal.
    pub fn verdict(&self) -> Verdict {
        let size = self.value.abs();
        match self.kind {
            ScoreKind::En if at_most(size, EN_ACCEPTABLE_UP_TO) => Verdict::Acceptable,
            ScoreKind::En => Verdict::Unacceptable,
            _ if at_most(size, ACCEPTABLE_UP_TO) => Verdict::Acceptable,
            _ if at_least(size, ACTION_FROM) => Verdict::ActionSignal,
            _ => Verdict::WarningSignal,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::Sigma;
    use super::*;

    fn reference(value: f64, u: f64) -> AssignedValue {
        AssignedValue::reference(value, Uncertainty::standard(u).unwrap()).unwrap()
    }

    fn sigma(value: f64) -> SigmaPt {
        SigmaPt::stated(Sigma::new(value).unwrap())
    }

    #[test]
    fn words_at_the_limits() {
        let assigned = reference(0.7, 0.0);
        let verdict = |x| Score::z(x, &assigned, &sigma(0.1)).unwrap().verdict();
        // 0.9 − 0.7 over 0.1 is a little above 2 in binary fractions, 0.4 − 0.7 a little
        // above −3; on paper they are ties.
        for (x, expected) in [
            (0.7, "acceptable"),
            (0.9, "acceptable"),
            (0.5, "acceptable"),
            (0.901, "warning signal"),
            (0.401, "warning signal"),
            (0.4, "action signal"),
            (1.0, "action signal"),
            (-9.0, "action signal"),
        ] {
            assert_eq!(verdict(x).words(), expected, "{x}");
        }
        let u = Uncertainty::standard(0.05).unwrap();
        let en = |x| Score::en(x, u, &assigned).unwrap().verdict();
        assert_eq!(en(0.8), Verdict::Acceptable);
        assert_eq!(en(0.801), Verdict::Unacceptable);
    }

    #[test]
    fn is_never_what_is_no_number() {
        let assigned = reference(1.0, 0.0);
        let exact = Uncertainty::standard(0.0).unwrap();
        for bad in [f64::NAN, f64::INFINITY] {
            let found = Score::z(bad, &assigned, &sigma(1.0));
            assert_eq!(found, Err(NotScored::NotFinite));
        }
        let far = Score::z(1e300, &assigned, &sigma(1e-300));
        assert_eq!(far, Err(NotScored::TooFar));
        let both = Err(NotScored::BothExact);
        assert_eq!(Score::zeta(1.0, exact, &assigned), both);
        assert_eq!(Score::en(1.0, exact, &assigned), both);
        // Uncertainties whose squares would vanish or overflow.
        for size in [1e-200, 1e200] {
            let u = Uncertainty::standard(size).unwrap();
            let found = Score::zeta(2.0 * size, u, &reference(0.0, 0.0)).unwrap();
            assert!((found.value() - 2.0).abs() < 1e-12);
        }
    }
}
