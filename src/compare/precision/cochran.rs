//! Cochran's test of the largest variance (ISO 5725-2:1994 7.3.3), and what stands in for
//! it when the numbers of results are too unequal.
//!
//! The critical value comes from F with the chance divided by the number of participants.
//! ISO takes as the number of results the one that most participants have, since in a
//! well-organised experiment the numbers differ little. Where they differ much, each
//! variance is weighed with its own degrees of freedom ('t Lam, Anal. Chim. Acta 659
//! (2010) 68, from memory); with equal numbers that is Cochran's test itself.

use super::cells::{Cell, Cells};
use super::mandel::share_at;
use super::{Critical, NoTest, OutlierTest, Test};
use crate::stats::{sum, tails};
use std::collections::BTreeMap;

/// How far a number of results may be from the most frequent one, as a factor, for ISO's
/// advice to hold: "limited" in its words, two in ours.
const LIMITED: usize = 2;

/// What Cochran's test rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CochranBasis {
    /// All participants have this number of results.
    Equal(usize),
    /// More than half of them have this number, the others between half and twice as many:
    /// it is used for all, as ISO 5725-2 advises.
    Majority(usize),
    /// The numbers differ more: the statistic is a participant's share of the pooled
    /// squares, judged with its own degrees of freedom.
    OwnFreedom,
}

/// Cochran's test and what it rests on.
#[derive(Debug, Clone, PartialEq)]
pub struct CochranTest {
    /// The test; its participant has the largest variance (for
    /// [`CochranBasis::OwnFreedom`] the least probable one).
    pub test: OutlierTest,
    /// The number of results used.
    pub basis: CochranBasis,
    /// Participants with at least two results, which are those compared.
    pub participants: usize,
}

/// Critical values of Cochran's statistic for `participants` variances from `results`
/// results each; `None` below two of either.
///
/// Exact for two participants; above, the chance is divided by their number, as printed
/// tables do.
///
/// ```
/// use steadyfog::compare::precision::cochran_critical;
/// // 0.516 and 0.615 in print.
/// let value = cochran_critical(8, 3).ok_or("no value")?;
/// assert!((value.at_5_percent - 0.5157).abs() < 1e-4);
/// assert!((value.at_1_percent - 0.6152).abs() < 1e-4);
/// # Ok::<(), &str>(())
/// ```
#[must_use]
pub fn cochran_critical(participants: usize, results: usize) -> Option<Critical> {
    if participants < 2 || results < 2 {
        return None;
    }
    let own = (results - 1) as f64;
    share_critical(participants, own, own * participants as f64)
}

/// Critical shares, the chance divided among `participants`.
fn share_critical(participants: usize, own: f64, all: f64) -> Option<Critical> {
    let at = |alpha: f64| share_at(own, all, alpha / participants as f64);
    Some(Critical {
        at_5_percent: at(0.05)?,
        at_1_percent: at(0.01)?,
    })
}

fn basis(replicated: &[&Cell]) -> CochranBasis {
    let mut counts = BTreeMap::new();
    for cell in replicated {
        *counts.entry(cell.n).or_insert(0_usize) += 1;
    }
    let limited = |n: usize| {
        replicated
            .iter()
            .all(|cell| cell.n * LIMITED >= n && cell.n <= n * LIMITED)
    };
    match counts.iter().max_by_key(|(_, count)| **count) {
        Some((n, count)) if *count == replicated.len() => CochranBasis::Equal(*n),
        Some((n, count)) if 2 * *count > replicated.len() && limited(*n) => {
            CochranBasis::Majority(*n)
        }
        _ => CochranBasis::OwnFreedom,
    }
}

pub(super) fn cochran(cells: &Cells) -> Result<CochranTest, NoTest> {
    let replicated = cells.replicated();
    let participants = replicated.len();
    if participants < 2 {
        return Err(NoTest::TooFewParticipants {
            found: participants,
            needed: 2,
        });
    }
    if replicated.iter().all(|cell| cell.squares <= 0.0) {
        return Err(NoTest::NoSpread);
    }
    let basis = basis(&replicated);
    let judged = match basis {
        CochranBasis::Equal(n) | CochranBasis::Majority(n) => largest(&replicated, n),
        CochranBasis::OwnFreedom => least_probable(&replicated),
    };
    let test = judged.ok_or(NoTest::NoCriticalValue)?;
    Ok(CochranTest {
        test,
        basis,
        participants,
    })
}

fn largest(replicated: &[&Cell], n: usize) -> Option<OutlierTest> {
    let variances: Vec<f64> = replicated.iter().filter_map(|c| c.variance()).collect();
    let (cell, largest) = replicated
        .iter()
        .zip(&variances)
        .rev()
        .max_by(|a, b| a.1.total_cmp(b.1))?;
    Some(OutlierTest::judge(
        Test::Cochran,
        vec![cell.participant],
        largest / sum::sum(&variances),
        cochran_critical(replicated.len(), n)?,
    ))
}

fn least_probable(replicated: &[&Cell]) -> Option<OutlierTest> {
    let squares: Vec<f64> = replicated.iter().map(|cell| cell.squares).collect();
    let together = sum::sum(&squares);
    let all: f64 = replicated.iter().map(|cell| cell.freedom()).sum();
    let mut found: Option<(f64, f64, &Cell)> = None;
    for cell in replicated {
        let share = cell.squares / together;
        let others = (1.0 - share) / (all - cell.freedom());
        let p = if others > 0.0 {
            tails::f_above(
                share / cell.freedom() / others,
                cell.freedom(),
                all - cell.freedom(),
            )?
        } else {
            0.0
        };
        // Of two chances too small to tell apart, the larger share.
        if found.is_none_or(|(least, most, _)| p < least || (p == least && share > most)) {
            found = Some((p, share, cell));
        }
    }
    let (_, share, cell) = found?;
    Some(OutlierTest::judge(
        Test::Cochran,
        vec![cell.participant],
        share,
        share_critical(replicated.len(), cell.freedom(), all)?,
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::compare::precision::Table;

    fn of(sizes: &[usize], wild: usize) -> CochranTest {
        let own = |(i, n): (usize, &usize)| {
            let spread = if i == wild { 9.0 } else { 1.0 };
            (0..*n)
                .map(|j| if j % 2 == 0 { spread } else { -spread })
                .collect()
        };
        let table = Table::new(sizes.iter().enumerate().map(own).collect()).unwrap();
        cochran(&Cells::new(&table)).unwrap()
    }

    #[test]
    fn the_number_of_results_is_said_and_single_results_do_not_count() {
        assert_eq!(of(&[4, 4, 4], 1).basis, CochranBasis::Equal(4));
        assert_eq!(of(&[3, 3, 3, 5, 2], 1).basis, CochranBasis::Majority(3));
        assert_eq!(of(&[3, 3, 3, 7, 2], 1).basis, CochranBasis::OwnFreedom);
        assert_eq!(of(&[3, 3, 4, 5], 1).basis, CochranBasis::OwnFreedom);
        let some = of(&[1, 4, 4, 1, 4], 2);
        assert_eq!((some.basis, some.participants), (CochranBasis::Equal(4), 3));
        assert_eq!(some.test.participants, [2]);
    }

    #[test]
    fn own_freedom_with_equal_numbers_is_the_plain_test() {
        let table = Table::new(vec![
            vec![1.0, 2.0, 4.0],
            vec![3.0, 3.5, 9.0],
            vec![2.0, 2.5, 2.2],
        ])
        .unwrap();
        let cells = Cells::new(&table);
        let plain = largest(&cells.replicated(), 3).unwrap();
        let own = least_probable(&cells.replicated()).unwrap();
        assert_eq!(plain.participants, own.participants);
        assert!((plain.statistic - own.statistic).abs() < 1e-14);
        assert!((plain.critical.at_1_percent - own.critical.at_1_percent).abs() < 1e-14);
    }

    #[test]
    fn few_results_far_apart_outweigh_many_in_their_own_freedom() {
        // The share of four hundred ordinary results is large, but to be expected.
        let found = of(&[2, 40, 40, 400], 0);
        assert_eq!(found.basis, CochranBasis::OwnFreedom);
        assert_eq!(found.test.participants, [0]);
        assert_eq!(
            found.test.verdict,
            crate::compare::precision::Verdict::Outlier
        );
    }
}
