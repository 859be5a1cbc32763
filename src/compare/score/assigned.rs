//! The assigned value: what the participants are compared with, and how sure it is.
//!
//! Either a reference value from outside or a robust consensus of the participants. A
//! consensus says where the participants agree, not where the truth is.

use super::{SigmaPt, Uncertainty};
use crate::compare::robust::{FEWEST_PARTICIPANTS, Method, RobustEstimate};

/// Below this many participants a consensus is called uncertain (ISO 13528 on small
/// numbers of participants, from memory).
pub const FEW_PARTICIPANTS: usize = 12;
/// u of a robust consensus is this times s*/√p: it allows for the median's lower
/// efficiency, √(π/2) = 1.2533 (ISO 13528:2015 7.7.3, from memory).
const CONSENSUS_FACTOR: f64 = 1.25;
/// Up to this share of σ_pt the uncertainty of the assigned value may be left out of the
/// score (ISO 13528:2015 9.2.1, from memory).
const NEGLIGIBLE_SHARE: f64 = 0.3;

/// Where an assigned value comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AssignedSource {
    /// From outside the comparison.
    Reference,
    /// A robust centre of the participants' results.
    Consensus {
        /// How it was estimated.
        method: Method,
        /// Participants it rests on.
        participants: usize,
    },
}

impl AssignedSource {
    /// Identifier: `reference`, or that of the robust method.
    pub fn id(self) -> &'static str {
        match self {
            AssignedSource::Reference => "reference",
            AssignedSource::Consensus { method, .. } => method.id(),
        }
    }
}

/// Why there is no assigned value.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NoAssignedValue {
    /// The reference value is not a number.
    #[error("The reference value is not a finite number.")]
    NotFinite,
    /// Too few participants for a consensus.
    #[error(
        "There is no consensus of {found} participant{}: {FEWEST_PARTICIPANTS} are the fewest, or a reference value is needed.",
        if *.found == 1 { "" } else { "s" }
    )]
    TooFew {
        /// Participants there are.
        found: usize,
    },
}

/// Something the reader must know of an assigned value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Caution {
    /// The consensus rests on few participants.
    FewParticipants {
        /// How many.
        participants: usize,
    },
    /// The results are the same, so that nothing tells how sure their centre is.
    NoSpread,
    /// The iteration was stopped while still moving.
    NotSettled,
}

impl Caution {
    /// The caution in a sentence.
    pub fn says(self) -> String {
        match self {
            Caution::FewParticipants { participants } => format!(
                "The consensus rests on {participants} participants only and is uncertain: one \
                 of them moves it, and most of them may be wrong together."
            ),
            Caution::NoSpread => "The results hardly differ, so they do not tell how uncertain \
                 their centre is; its uncertainty is shown as 0."
                .to_owned(),
            Caution::NotSettled => "The iteration for the consensus was stopped before it stood \
                 still: do not trust its last digits."
                .to_owned(),
        }
    }
}

/// Which score the uncertainty of the assigned value leaves to be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum UncertaintyCheck {
    /// u ≤ 0.3 σ_pt: z is the score to read.
    Negligible,
    /// u > 0.3 σ_pt: z would blame participants for an unsure assigned value; read z′.
    NotNegligible,
}

/// An assigned value: finite, its standard uncertainty 0 or above.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AssignedValue {
    value: f64,
    u: Uncertainty,
    source: AssignedSource,
    no_spread: bool,
    settled: bool,
}

impl AssignedValue {
    /// A reference value with its standard uncertainty.
    ///
    /// # Errors
    /// [`NoAssignedValue::NotFinite`].
    pub fn reference(value: f64, u: Uncertainty) -> Result<AssignedValue, NoAssignedValue> {
        if !value.is_finite() {
            return Err(NoAssignedValue::NotFinite);
        }
        Ok(AssignedValue {
            value,
            u,
            source: AssignedSource::Reference,
            no_spread: false,
            settled: true,
        })
    }

    /// The consensus of the participants, with u = 1.25 s*/√p.
    ///
    /// Source: ISO 13528:2015 7.7 (from memory). The participants are taken to be
    /// independent: cabinets read with one instrument share its error, which u does not hold.
    ///
    /// # Errors
    /// [`NoAssignedValue::TooFew`] below three participants.
    ///
    /// ```
    /// use steadyfog::compare::{robust::{Constants, algorithm_a}, score::AssignedValue};
    /// let robust = algorithm_a(&[7.1, 7.0, 7.2, 6.9], Constants::Exact)?;
    /// let assigned = AssignedValue::consensus(&robust)?;
    /// assert_eq!(assigned.u().value(), 1.25 * robust.spread() / 2.0);
    /// assert!(!assigned.cautions().is_empty()); // four participants are few
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn consensus(estimate: &RobustEstimate) -> Result<AssignedValue, NoAssignedValue> {
        let participants = estimate.participants();
        if participants < FEWEST_PARTICIPANTS {
            return Err(NoAssignedValue::TooFew {
                found: participants,
            });
        }
        let u = CONSENSUS_FACTOR * (estimate.spread() / (participants as f64).sqrt());
        Ok(AssignedValue {
            value: estimate.centre(),
            u: Uncertainty::standard(u).map_err(|_| NoAssignedValue::NotFinite)?,
            source: AssignedSource::Consensus {
                method: estimate.method(),
                participants,
            },
            no_spread: estimate.no_spread().is_some(),
            settled: estimate.course().converged(),
        })
    }

    /// The value, in the unit of the results.
    pub fn value(&self) -> f64 {
        self.value
    }

    /// Its standard uncertainty.
    pub fn u(&self) -> Uncertainty {
        self.u
    }

    /// Where it comes from.
    pub fn source(&self) -> AssignedSource {
        self.source
    }

    /// Whether u ≤ 0.3 σ_pt; a tie on paper is a tie.
    pub fn check(&self, sigma: &SigmaPt) -> UncertaintyCheck {
        if super::at_most(self.u.value(), NEGLIGIBLE_SHARE * sigma.value()) {
            UncertaintyCheck::Negligible
        } else {
            UncertaintyCheck::NotNegligible
        }
    }

    /// What the reader must know of it; empty for a reference value.
    pub fn cautions(&self) -> Vec<Caution> {
        let mut cautions = Vec::new();
        if let AssignedSource::Consensus { participants, .. } = self.source {
            if participants < FEW_PARTICIPANTS {
                cautions.push(Caution::FewParticipants { participants });
            }
            if self.no_spread {
                cautions.push(Caution::NoSpread);
            }
            if !self.settled {
                cautions.push(Caution::NotSettled);
            }
        }
        cautions
    }

    /// Where it comes from, how the check against σ_pt came out, and the cautions, in
    /// sentences; without numbers that have a unit.
    pub fn says(&self, sigma: &SigmaPt) -> String {
        let source = match self.source {
            AssignedSource::Reference => "A reference value.".to_owned(),
            AssignedSource::Consensus {
                method,
                participants,
            } => format!(
                "The robust consensus of {participants} participants ({}).",
                method.name()
            ),
        };
        let check = match self.check(sigma) {
            UncertaintyCheck::Negligible => {
                "Its uncertainty is at most 0.3 of the standard deviation for the scores: read z."
            }
            UncertaintyCheck::NotNegligible => {
                "Its uncertainty is more than 0.3 of the standard deviation for the scores: \
                 read z′, which allows for it."
            }
        };
        let cautions = self.cautions().into_iter().map(Caution::says);
        [source, check.to_owned()]
            .into_iter()
            .chain(cautions)
            .collect::<Vec<_>>()
            .join(" ")
    }
}

#[cfg(test)]
mod tests {
    use super::super::Sigma;
    use super::*;
    use crate::compare::robust::{Constants, algorithm_a};

    fn sigma(value: f64) -> SigmaPt {
        SigmaPt::stated(Sigma::new(value).unwrap())
    }

    fn consensus(values: &[f64]) -> AssignedValue {
        AssignedValue::consensus(&algorithm_a(values, Constants::Exact).unwrap()).unwrap()
    }

    #[test]
    fn a_third_of_sigma_is_too_much_and_a_tie_is_not() {
        let of = |u| AssignedValue::reference(7.0, Uncertainty::standard(u).unwrap()).unwrap();
        // 0.03 against 0.3 × 0.1 = 0.03 (0.030000000000000002 either way in binary).
        assert_eq!(of(0.03).check(&sigma(0.1)), UncertaintyCheck::Negligible);
        assert_eq!(
            of(0.3 * 0.7).check(&sigma(0.7)),
            UncertaintyCheck::Negligible
        );
        assert_eq!(
            of(0.031).check(&sigma(0.1)),
            UncertaintyCheck::NotNegligible
        );
        assert!(of(0.031).says(&sigma(0.1)).contains("read z′"));
        assert_eq!(of(0.0).says(&sigma(1.0)).matches("read z.").count(), 1);
        assert!(of(0.0).cautions().is_empty());
    }

    #[test]
    fn a_consensus_is_as_sure_as_its_spread_and_number_say() {
        // Nothing is pulled in: s* is 1.133392655… times the standard deviation √(5/2).
        let found = consensus(&[1.0, 2.0, 3.0, 4.0, 5.0]);
        let expected = 1.25 * 1.133_392_655_462 * 2.5_f64.sqrt() / 5_f64.sqrt();
        assert!((found.value() - 3.0).abs() < 1e-12);
        assert!((found.u().value() - expected).abs() < 1e-10, "{found:?}");
    }

    #[test]
    fn few_participants_are_told_and_fewer_than_three_have_no_consensus() {
        let values: Vec<f64> = (0..12).map(|k| 7.0 + 0.01 * f64::from(k)).collect();
        assert!(consensus(&values).cautions().is_empty());
        let few = consensus(&values[..11]);
        let expected = Caution::FewParticipants { participants: 11 };
        assert_eq!(few.cautions(), [expected]);
        assert!(few.says(&sigma(1.0)).contains("11 participants only"));
        // The estimate itself refuses two.
        let why = algorithm_a(&values[..2], Constants::Exact).unwrap_err();
        assert!(why.to_string().contains("there are 2"));
        let why = NoAssignedValue::TooFew { found: 1 }.to_string();
        assert!(why.contains("of 1 participant:"), "{why}");
    }

    #[test]
    fn same_results_have_an_uncertainty_of_nothing_and_say_so() {
        let same = consensus(&[6.8; 20]);
        assert_eq!((same.value(), same.u().value()), (6.8, 0.0));
        assert_eq!(same.cautions(), [Caution::NoSpread]);
        assert_eq!(same.source().id(), "algorithm-a");
        let nan = AssignedValue::reference(f64::NAN, same.u());
        assert_eq!(nan, Err(NoAssignedValue::NotFinite));
    }
}
