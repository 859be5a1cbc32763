//! Grubbs' tests of the extreme means, one at a time and two at a time
//! (ISO 5725-2:1994 7.3.4).
//!
//! The means count alike whatever number of results is behind each, as in the standard.
//! With unequal numbers a mean of few results is therefore marked more often than the level
//! says, most when laboratories do not differ at all: of such simulated experiments with
//! 3 to 5 results each (most 3) the single test marks 5.3 % instead of 5 %, with 3 to 10
//! results 7.0 %, with 2 to 400 results 21 %. [`super::Precision::numbers_differ_much`]
//! says when to read it with that in mind.

use super::cells::Cells;
use super::grubbs_pair::{FEWEST_FOR_PAIRS, MOST_FOR_PAIRS, pair_critical};
use super::mandel::h_at;
use super::{Critical, NoTest, OutlierTest, Test};

/// Fewest participants for the single test.
pub const FEWEST_FOR_SINGLE: usize = 3;

/// Critical values of (extreme mean − mean of means)/spread of means, for both sides
/// together; `None` below three participants.
///
/// That of h with the chance divided by the number of participants, as printed tables
/// have it.
///
/// ```
/// use steadyfog::compare::precision::single_critical;
/// // 2.126 and 2.274 in print.
/// let value = single_critical(8).ok_or("no value")?;
/// assert!((value.at_5_percent - 2.12665).abs() < 1e-5);
/// assert!((value.at_1_percent - 2.27437).abs() < 1e-5);
/// # Ok::<(), &str>(())
/// ```
#[must_use]
pub fn single_critical(participants: usize) -> Option<Critical> {
    let at = |alpha: f64| h_at(participants, alpha / participants as f64);
    Some(Critical {
        at_5_percent: at(0.05)?,
        at_1_percent: at(0.01)?,
    })
}

/// Which end of the ordered means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum End {
    Largest,
    Smallest,
}

impl End {
    pub(super) const BOTH: [Self; 2] = [Self::Largest, Self::Smallest];

    /// The other end.
    pub(super) fn other(self) -> Self {
        match self {
            Self::Largest => Self::Smallest,
            Self::Smallest => Self::Largest,
        }
    }
}

/// Places in `cells.cells`, the most extreme at `end` first.
fn ordered(cells: &Cells, end: End) -> Vec<usize> {
    let mean = |i: &usize| cells.cells.get(*i).map_or(0.0, |cell| cell.mean);
    let mut order: Vec<usize> = (0..cells.cells.len()).collect();
    // Stable, so that of equal means the first in the table is named.
    order.sort_by(|a, b| match end {
        End::Largest => mean(b).total_cmp(&mean(a)),
        End::Smallest => mean(a).total_cmp(&mean(b)),
    });
    order
}

/// The single test at one end.
pub(super) fn single(cells: &Cells, end: End) -> Result<OutlierTest, NoTest> {
    let p = cells.cells.len();
    if p < FEWEST_FOR_SINGLE {
        return Err(NoTest::TooFewParticipants {
            found: p,
            needed: FEWEST_FOR_SINGLE,
        });
    }
    let pooled = cells.pooled();
    if pooled.spread_of_means <= 0.0 {
        return Err(NoTest::NoSpread);
    }
    let critical = single_critical(p).ok_or(NoTest::NoCriticalValue)?;
    let order = ordered(cells, end);
    let cell = order
        .first()
        .and_then(|i| cells.cells.get(*i))
        .ok_or(NoTest::NoSpread)?;
    let (test, distance) = match end {
        End::Largest => (Test::GrubbsLargest, cell.mean - pooled.mean_of_means),
        End::Smallest => (Test::GrubbsSmallest, pooled.mean_of_means - cell.mean),
    };
    Ok(OutlierTest::judge(
        test,
        vec![cell.participant],
        distance / pooled.spread_of_means,
        critical,
    ))
}

/// The double test at one end: the sum of squares of the means without the two over that
/// of all; a small ratio is suspicious.
pub(super) fn pair(cells: &Cells, end: End) -> Result<OutlierTest, NoTest> {
    let p = cells.cells.len();
    if p < FEWEST_FOR_PAIRS {
        return Err(NoTest::TooFewParticipants {
            found: p,
            needed: FEWEST_FOR_PAIRS,
        });
    }
    if p > MOST_FOR_PAIRS {
        return Err(NoTest::TooManyParticipants {
            found: p,
            most: MOST_FOR_PAIRS,
        });
    }
    let all = cells.squares(&cells.means());
    if all <= 0.0 {
        return Err(NoTest::NoSpread);
    }
    let order = ordered(cells, end);
    let at = |places: &[usize]| -> Vec<_> {
        places.iter().filter_map(|i| cells.cells.get(*i)).collect()
    };
    let (two, others) = order.split_at(2);
    let others: Vec<f64> = at(others).iter().map(|cell| cell.mean).collect();
    let test = match end {
        End::Largest => Test::GrubbsTwoLargest,
        End::Smallest => Test::GrubbsTwoSmallest,
    };
    Ok(OutlierTest::judge(
        test,
        at(two).iter().map(|cell| cell.participant).collect(),
        // Never above 1 but by rounding.
        (cells.squares(&others) / all).min(1.0),
        pair_critical(p).ok_or(NoTest::NoCriticalValue)?,
    ))
}
