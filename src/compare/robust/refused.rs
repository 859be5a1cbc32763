//! Why a robust estimate cannot be given.
//!
//! It does not say which file or cabinet a result came from: the caller knows.

/// Why a robust estimate cannot be given. Positions count results from 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Refused {
    /// Fewer results than the method needs.
    #[error("A robust estimate needs {needed} participants at least; there are {found}.")]
    TooFew {
        /// Participants there are.
        found: usize,
        /// Participants needed.
        needed: usize,
    },
    /// A result is not a number, or infinite.
    #[error("Result {} is not a finite number; correct it or leave it out.", .position + 1)]
    NotFinite {
        /// Its position; the participant's, where a participant has several results.
        position: usize,
    },
    /// A participant was given without a result.
    #[error("Participant {} has no result; leave it out.", .position + 1)]
    NoResult {
        /// Its position.
        position: usize,
    },
    /// The results lie farther apart than a number can hold.
    #[error("The results lie too far apart to compute with; look for a misplaced decimal mark.")]
    TooFarApart,
    /// A standard deviation is below 0.
    #[error("Standard deviation {} is below 0; it cannot be.", .position + 1)]
    NegativeSpread {
        /// Its position.
        position: usize,
    },
    /// A standard deviation rests on a single result.
    #[error("Standard deviation {} rests on one result; it needs two at least.", .position + 1)]
    NoFreedom {
        /// Its position.
        position: usize,
    },
}
