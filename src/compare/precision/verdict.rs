//! Outlier tests as results: what was tested, against which critical values, the verdict.
//!
//! The only place where a statistic becomes `nothing`, `straggler` or `outlier`.

use thiserror::Error;

/// Critical values at the two levels of ISO 5725-2.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Critical {
    /// At 5 %: beyond it lies a straggler.
    pub at_5_percent: f64,
    /// At 1 %: beyond it lies an outlier.
    pub at_1_percent: f64,
}

/// The outlier tests of ISO 5725-2:1994 7.3.3 and 7.3.4.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Test {
    /// Cochran's: is the largest variance too large?
    Cochran,
    /// Grubbs', one mean: is the largest too large?
    GrubbsLargest,
    /// Grubbs', one mean: is the smallest too small?
    GrubbsSmallest,
    /// Grubbs', two means: are the two largest too large?
    GrubbsTwoLargest,
    /// Grubbs', two means: are the two smallest too small?
    GrubbsTwoSmallest,
}

impl Test {
    /// The name used in `compare.json`.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Cochran => "cochran",
            Self::GrubbsLargest => "grubbs-largest",
            Self::GrubbsSmallest => "grubbs-smallest",
            Self::GrubbsTwoLargest => "grubbs-two-largest",
            Self::GrubbsTwoSmallest => "grubbs-two-smallest",
        }
    }

    /// Whether a *small* statistic is the suspicious one: the ratio of the double test.
    #[must_use]
    pub fn small_is_suspicious(self) -> bool {
        matches!(self, Self::GrubbsTwoLargest | Self::GrubbsTwoSmallest)
    }
}

/// What a test says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// Not beyond the 5 % value.
    Nothing,
    /// Beyond the 5 % value, not beyond the 1 % value.
    Straggler,
    /// Beyond the 1 % value.
    Outlier,
}

impl Verdict {
    /// The name used in `compare.json`.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Nothing => "nothing",
            Self::Straggler => "straggler",
            Self::Outlier => "outlier",
        }
    }
}

/// One outlier test.
#[derive(Debug, Clone, PartialEq)]
pub struct OutlierTest {
    /// The test.
    pub test: Test,
    /// Participants concerned, as places in the table, the more extreme first.
    pub participants: Vec<usize>,
    /// Statistic; without unit.
    pub statistic: f64,
    /// Its critical values.
    pub critical: Critical,
    /// What follows.
    pub verdict: Verdict,
}

impl OutlierTest {
    /// Judges `statistic` by `critical`; a statistic that equals a value is not beyond it.
    pub(super) fn judge(
        test: Test,
        participants: Vec<usize>,
        statistic: f64,
        critical: Critical,
    ) -> Self {
        let beyond = |value: f64| {
            if test.small_is_suspicious() {
                statistic < value
            } else {
                statistic > value
            }
        };
        let verdict = match () {
            () if beyond(critical.at_1_percent) => Verdict::Outlier,
            () if beyond(critical.at_5_percent) => Verdict::Straggler,
            () => Verdict::Nothing,
        };
        Self {
            test,
            participants,
            statistic,
            critical,
            verdict,
        }
    }
}

/// Why a test is not given.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum NoTest {
    /// Too few participants (with two results each, for Cochran's test).
    #[error("The test needs {needed} participants, and there are {found}.")]
    TooFewParticipants {
        /// Participants that can be tested.
        found: usize,
        /// Fewest for the test.
        needed: usize,
    },
    /// More participants than critical values are computed for.
    #[error("Critical values are computed for up to {most} participants, and there are {found}.")]
    TooManyParticipants {
        /// Participants.
        found: usize,
        /// Most for the test.
        most: usize,
    },
    /// All means, or all results within each participant, are equal.
    #[error("There is no spread to test: what would be compared is equal for all participants.")]
    NoSpread,
    /// A critical value could not be computed.
    #[error("The critical value could not be computed for this number of results.")]
    NoCriticalValue,
}
