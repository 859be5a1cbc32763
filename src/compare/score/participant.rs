//! All scores of one participant, and which of them is read.

use super::{
    AssignedValue, NotScored, Score, ScoreKind, SigmaPt, Uncertainty, UncertaintyCheck, Verdict,
};

/// What participants are scored against.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scoring {
    /// The assigned value.
    pub assigned: AssignedValue,
    /// σ_pt.
    pub sigma: SigmaPt,
}

/// All scores of a participant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scores {
    z: Score,
    z_prime: Score,
    zeta: Result<Score, NotScored>,
    en: Result<Score, NotScored>,
    read: ScoreKind,
}

impl Scoring {
    /// Scores `result`, in the unit of the assigned value, with its standard uncertainty
    /// `u` when there is one.
    ///
    /// # Errors
    /// [`NotScored`] when the result is not finite or too far off for z. ζ and E_n hold
    /// their own reason when they cannot be given.
    ///
    /// ```
    /// use steadyfog::compare::score::{AssignedValue, Scoring, Sigma, SigmaPt, Uncertainty};
    /// let scoring = Scoring {
    ///     assigned: AssignedValue::reference(10.0, Uncertainty::standard(0.2)?)?,
    ///     sigma: SigmaPt::stated(Sigma::new(0.5)?),
    /// };
    /// let scores = scoring.score(11.3, Some(Uncertainty::standard(0.4)?))?;
    /// // u = 0.2 is more than 0.3 × 0.5, so that z′ is read.
    /// assert_eq!(scores.read().kind().id(), "z-prime");
    /// assert_eq!(scores.verdict().words(), "warning signal");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn score(&self, result: f64, u: Option<Uncertainty>) -> Result<Scores, NotScored> {
        let with = |make: fn(f64, Uncertainty, &AssignedValue) -> Result<Score, NotScored>| {
            make(result, u.ok_or(NotScored::NoUncertainty)?, &self.assigned)
        };
        Ok(Scores {
            z: Score::z(result, &self.assigned, &self.sigma)?,
            z_prime: Score::z_prime(result, &self.assigned, &self.sigma)?,
            zeta: with(Score::zeta),
            en: with(Score::en),
            read: match self.assigned.check(&self.sigma) {
                UncertaintyCheck::Negligible => ScoreKind::Z,
                UncertaintyCheck::NotNegligible => ScoreKind::ZPrime,
            },
        })
    }
}

impl Scores {
    /// z.
    pub fn z(&self) -> Score {
        self.z
    }

    /// z′.
    pub fn z_prime(&self) -> Score {
        self.z_prime
    }

    /// ζ.
    ///
    /// # Errors
    /// Why it cannot be given.
    pub fn zeta(&self) -> Result<Score, NotScored> {
        self.zeta
    }

    /// E_n.
    ///
    /// # Errors
    /// Why it cannot be given.
    pub fn en(&self) -> Result<Score, NotScored> {
        self.en
    }

    /// The score to read: z when the uncertainty of the assigned value is negligible, else z′.
    pub fn read(&self) -> Score {
        match self.read {
            ScoreKind::ZPrime => self.z_prime,
            _ => self.z,
        }
    }

    /// The verdict on the score to read.
    pub fn verdict(&self) -> Verdict {
        self.read().verdict()
    }
}

#[cfg(test)]
mod tests {
    use super::super::Sigma;
    use super::*;

    fn scoring(u: f64) -> Scoring {
        let u = Uncertainty::standard(u).unwrap();
        Scoring {
            assigned: AssignedValue::reference(10.0, u).unwrap(),
            sigma: SigmaPt::stated(Sigma::new(0.5).unwrap()),
        }
    }

    /// Definitions as the IUPAC Gold Book quotes ISO/IEC 17043 and ISO 13528; the case is
    /// made up, its values follow from the definitions by hand.
    #[test]
    fn the_definitions() {
        let u = Uncertainty::standard(0.4).unwrap();
        let scores = scoring(0.2).score(11.3, Some(u)).unwrap();
        let cases = [
            (scores.z(), 2.6),
            (scores.z_prime(), 2.414_039_396_301_674_4),
            (scores.zeta().unwrap(), 2.906_888_370_749_727),
            (scores.en().unwrap(), 1.453_444_185_374_863_4),
        ];
        for (found, expected) in cases {
            assert!((found.value() - expected).abs() < 1e-12, "{found:?}");
        }
        let kinds = cases.map(|(score, _)| score.kind().id());
        assert_eq!(kinds, ["z", "z-prime", "zeta", "en"]);
        // Below the assigned value the scores are those of the mirror image.
        let below = scoring(0.2).score(8.7, Some(u)).unwrap();
        assert!((below.z().value() + 2.6).abs() < 1e-12);
    }

    #[test]
    fn an_unsure_assigned_value_makes_z_prime_the_score_to_read() {
        // z is 3.0, an action signal; z′ is 2.83 with u = 0.35 σ, a warning signal.
        let sure = scoring(0.15).score(11.5, None).unwrap();
        assert_eq!(
            (sure.read().kind(), sure.verdict()),
            (ScoreKind::Z, Verdict::ActionSignal)
        );
        let unsure = scoring(0.175).score(11.5, None).unwrap();
        assert_eq!(unsure.read(), unsure.z_prime());
        assert_eq!(unsure.verdict(), Verdict::WarningSignal);
    }

    #[test]
    fn without_an_uncertainty_zeta_and_en_say_why() {
        let scores = scoring(0.1).score(10.2, None).unwrap();
        assert_eq!(scores.zeta(), Err(NotScored::NoUncertainty));
        assert_eq!(scores.en(), Err(NotScored::NoUncertainty));
        assert_eq!(scores.verdict(), Verdict::Acceptable);
        let exact = Uncertainty::standard(0.0).unwrap();
        let scores = scoring(0.0).score(10.2, Some(exact)).unwrap();
        assert_eq!(scores.zeta(), Err(NotScored::BothExact));
        assert!(scoring(0.1).score(f64::NAN, None).is_err());
    }
}
