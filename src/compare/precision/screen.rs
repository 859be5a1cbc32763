//! Stragglers and outliers marked the way of ISO 5725-2:1994 7.3, and the analysis with
//! and without them.
//!
//! Cochran's test first, repeated as long as it finds an outlier. Then Grubbs' single test
//! of the more extreme mean; if that is an outlier, the single test of the other end with
//! it left out, and no double test; if no single mean is an outlier, the double test of
//! both ends. Only outliers (1 %) are left out of the second analysis, never stragglers.
//! What is left out is a proposal: whether a participant is really dropped, and why it was
//! outlying, is for a person to find out.

use super::analysis::{Precision, of_cells};
use super::cells::Cells;
use super::cochran::cochran;
use super::grubbs::{End, pair, single};
use super::{OutlierTest, Table, Verdict};
use thiserror::Error;

/// Participants that always remain: fewer would leave nothing to compare.
pub const LEAST_REMAINING: usize = 3;

/// Largest share of the participants that is left out, though always one where
/// [`LEAST_REMAINING`] allows: 2 of 9 (IUPAC harmonised protocol, Pure Appl. Chem. 67
/// (1995) 331, from memory). ISO 5725-2 names no number but warns of excessive rejection.
pub const LARGEST_SHARE: f64 = 2.0 / 9.0;

/// A participant, or two, that a test marked.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// The test, with the participants concerned; never with the verdict `nothing`.
    pub test: OutlierTest,
    /// Participants that took part in the test: all less those left out before it.
    pub among: usize,
    /// Whether they are left out of [`Screening::without_outliers`].
    pub left_out: bool,
}

/// Why marking ended with an outlier that is not left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum Stop {
    /// Fewer than [`LEAST_REMAINING`] would have remained.
    #[error(
        "A marked outlier stays in the analysis, since fewer than {LEAST_REMAINING} participants would remain without it."
    )]
    TooFewWouldRemain,
    /// More than [`LARGEST_SHARE`] would have been left out.
    #[error(
        "A marked outlier stays in the analysis, since more than two participants in nine would be left out; look for what they have in common, or at the method itself."
    )]
    TooManyLeftOut,
}

/// The analysis of all, the marks, and the analysis without the marked outliers.
#[derive(Debug, Clone, PartialEq)]
pub struct Screening {
    /// The analysis of all participants.
    pub all: Precision,
    /// Stragglers and outliers, in the order they were found.
    pub marks: Vec<Mark>,
    /// Participants left out, as places in the table, rising.
    pub left_out: Vec<usize>,
    /// The analysis without them; `None` when none is left out.
    pub without_outliers: Option<Precision>,
    /// Why an outlier was not left out; `None` when all outliers are.
    pub stopped: Option<Stop>,
}

/// Marks stragglers and outliers of a table and analyses it with and without the outliers.
///
/// ```
/// use steadyfog::compare::precision::{Table, screen};
/// // ISO 5725-2:1994 B.3, level 3: creosote oil, nine laboratories (from memory).
/// let table = Table::new(vec![
///     vec![17.40, 16.90],
///     vec![14.42, 14.50],
///     vec![13.60, 13.60],
///     vec![14.60, 14.20],
///     vec![13.73, 13.92],
///     vec![13.90, 14.06],
///     vec![14.10, 14.20],
///     vec![14.84, 14.84],
///     vec![14.24, 14.10],
/// ])?;
/// let screening = screen(&table);
/// assert_eq!(screening.left_out, [0]);
/// let without = screening.without_outliers.ok_or("nothing was left out")?;
/// assert!((without.mean - 14.18).abs() < 5e-3);
/// assert!((without.variances?.s_reproducibility - 0.400).abs() < 5e-4);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[must_use]
pub fn screen(table: &Table) -> Screening {
    let all = Cells::new(table);
    let mut state = State {
        now: all.clone(),
        started_with: all.cells.len(),
        marks: Vec::new(),
        left_out: Vec::new(),
        stopped: None,
    };
    // Each round leaves one out, so there are fewer rounds than participants.
    while let Ok(found) = cochran(&state.now) {
        if !state.take(found.test) {
            break;
        }
    }
    state.means();
    state.left_out.sort_unstable();
    Screening {
        all: of_cells(&all),
        without_outliers: (!state.left_out.is_empty()).then(|| of_cells(&state.now)),
        marks: state.marks,
        left_out: state.left_out,
        stopped: state.stopped,
    }
}

struct State {
    now: Cells,
    started_with: usize,
    marks: Vec<Mark>,
    left_out: Vec<usize>,
    stopped: Option<Stop>,
}

impl State {
    /// Marks what a test found and leaves out outliers as far as allowed; says whether it
    /// left out any.
    fn take(&mut self, test: OutlierTest) -> bool {
        if test.verdict == Verdict::Nothing {
            return false;
        }
        let more = test.participants.len();
        let stop = match test.verdict {
            Verdict::Outlier => self.stop(more),
            _ => None,
        };
        let left_out = test.verdict == Verdict::Outlier && stop.is_none();
        if left_out {
            self.left_out.extend(&test.participants);
        }
        self.marks.push(Mark {
            test,
            among: self.now.cells.len(),
            left_out,
        });
        if left_out {
            self.now = self.now.without(&self.left_out);
        }
        self.stopped = self.stopped.or(stop);
        left_out
    }

    /// Why `more` participants may not be left out; `None` when they may.
    fn stop(&self, more: usize) -> Option<Stop> {
        let out = self.left_out.len() + more;
        // The trifle, since nine times two ninths need not reach 2 in binary.
        let share = (self.started_with as f64 * LARGEST_SHARE + 1e-9).floor();
        let share = (share as usize).max(1);
        match () {
            () if self.started_with < out + LEAST_REMAINING => Some(Stop::TooFewWouldRemain),
            () if out > share => Some(Stop::TooManyLeftOut),
            () => None,
        }
    }

    fn means(&mut self) {
        let mut singles: Vec<(End, OutlierTest)> = End::BOTH
            .into_iter()
            .filter_map(|end| single(&self.now, end).ok().map(|test| (end, test)))
            .collect();
        // The more extreme mean first; equally extreme ones as they stand.
        singles.sort_by(|a, b| b.1.statistic.total_cmp(&a.1.statistic));
        let outlier = |test: &OutlierTest| test.verdict == Verdict::Outlier;
        let mut singles = singles.into_iter();
        let Some((end, first)) = singles.next() else {
            return;
        };
        if outlier(&first) {
            if self.take(first) {
                if let Ok(other) = single(&self.now, end.other()) {
                    self.take(other);
                }
            } else if let Some((_, other)) = singles.next() {
                self.take(other);
            }
            return;
        }
        self.take(first);
        if let Some((_, other)) = singles.next() {
            self.take(other);
        }
        for end in End::BOTH {
            if let Ok(found) = pair(&self.now, end) {
                self.take(found);
            }
        }
    }
}
