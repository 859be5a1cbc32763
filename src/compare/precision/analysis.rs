//! The whole analysis of a table, nothing left out.

use super::anova::{NoRepeatability, Variances, variances};
use super::cells::{Cell, Cells, Pooled};
use super::cochran::{CochranTest, cochran};
use super::grubbs::{End, pair, single};
use super::mandel::{NoMandel, h_critical, k_critical};
use super::{Critical, NoTest, OutlierTest, Table};
use std::collections::BTreeMap;

/// Precision by ISO 5725-2, in the unit of the results.
#[derive(Debug, Clone, PartialEq)]
pub struct Precision {
    /// Participants in this analysis.
    pub participants: usize,
    /// Results in this analysis.
    pub results: usize,
    /// General mean: every result counts alike.
    pub mean: f64,
    /// Mean of the participants' means: every participant counts alike.
    pub mean_of_means: f64,
    /// Standard deviation of the participants' means (n − 1); 0 when they are equal.
    pub spread_of_means: f64,
    /// s_r, s_L, s_R and limits, or why they cannot be given.
    pub variances: Result<Variances, NoRepeatability>,
    /// Critical values of |h|; `None` below three participants.
    pub h_critical: Option<Critical>,
    /// Critical values of k; with unequal numbers of results those for the average degrees
    /// of freedom of the participants that have a k ([`CellPrecision::k_critical`] has each
    /// one's own). `None` below two such participants.
    pub k_critical: Option<Critical>,
    /// Cochran's test, or why it is not given.
    pub cochran: Result<CochranTest, NoTest>,
    /// Grubbs' tests: largest, smallest, two largest, two smallest, as far as they exist.
    pub grubbs: Vec<OutlierTest>,
    /// Why some or all of them are left out; `None` when all four are given.
    pub grubbs_left_out: Option<NoTest>,
    /// Whether the largest number of results is more than twice the smallest: h and Grubbs'
    /// tests, which weigh means alike, then mark means of few results too easily.
    pub numbers_differ_much: bool,
    /// One entry per participant in this analysis, in the order of the table.
    pub cells: Vec<CellPrecision>,
}

/// One participant in the analysis.
#[derive(Debug, Clone, PartialEq)]
pub struct CellPrecision {
    /// Place in the table.
    pub participant: usize,
    /// Results.
    pub n: usize,
    /// Mean.
    pub mean: f64,
    /// Standard deviation (n − 1); `None` with one result.
    pub sd: Option<f64>,
    /// Mandel's h, or why it is not given.
    pub h: Result<f64, NoMandel>,
    /// Mandel's k, or why it is not given.
    pub k: Result<f64, NoMandel>,
    /// Critical values of k for this participant's own number of results; `None` with one
    /// result and when nobody else has two.
    pub k_critical: Option<Critical>,
}

/// Analyses all participants of a table, leaving out none.
///
/// Sums of squares are taken in two compensated passes about the mean, on distances from
/// the middle of the results; spreads within eight rounding steps of the largest result
/// are taken as none. With unequal numbers of results, s_L² is
/// (mean square between − s_r²)/n̄ with n̄ = (N − Σn²/N)/(p − 1).
/// Source: ISO 5725-2:1994 7.4.5, from memory.
///
/// ```
/// use steadyfog::compare::precision::{Table, analyse};
/// // ISO 5725-2:1994 B.1, level 1: sulfur in coal, mass %, eight laboratories (from memory).
/// let table = Table::new(vec![
///     vec![0.71, 0.71, 0.70, 0.71],
///     vec![0.69, 0.67, 0.68],
///     vec![0.66, 0.65, 0.69],
///     vec![0.67, 0.65, 0.66],
///     vec![0.70, 0.69, 0.66, 0.71, 0.69],
///     vec![0.73, 0.74, 0.73],
///     vec![0.71, 0.71, 0.69],
///     vec![0.70, 0.65, 0.68],
/// ])?;
/// let precision = analyse(&table);
/// let variances = precision.variances?;
/// assert!((precision.mean - 0.690).abs() < 5e-4);
/// assert!((variances.s_r - 0.015).abs() < 5e-4);
/// assert!((variances.s_reproducibility - 0.026).abs() < 5e-4);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[must_use]
pub fn analyse(table: &Table) -> Precision {
    of_cells(&Cells::new(table))
}

pub(super) fn of_cells(cells: &Cells) -> Precision {
    let pooled = cells.pooled();
    let replicated = cells.replicated();
    let freedom: f64 = replicated.iter().map(|cell| cell.freedom()).sum();
    let numbers = || cells.cells.iter().map(|cell| cell.n);
    let mut k_criticals = BTreeMap::new();
    let (mut grubbs, mut grubbs_left_out) = (Vec::new(), None);
    let tests = End::BOTH
        .map(|end| single(cells, end))
        .into_iter()
        .chain(End::BOTH.map(|end| pair(cells, end)));
    for test in tests {
        match test {
            Ok(test) => grubbs.push(test),
            Err(why) => grubbs_left_out = grubbs_left_out.or(Some(why)),
        }
    }
    Precision {
        participants: cells.cells.len(),
        results: cells.cells.iter().map(|cell| cell.n).sum(),
        mean: cells.value(pooled.mean),
        mean_of_means: cells.value(pooled.mean_of_means),
        spread_of_means: pooled.spread_of_means * cells.unit,
        variances: variances(cells, &pooled),
        h_critical: h_critical(cells.cells.len()),
        k_critical: k_critical(freedom / replicated.len() as f64, freedom),
        cochran: cochran(cells),
        grubbs,
        grubbs_left_out,
        numbers_differ_much: numbers().max() > numbers().min().map(|least| 2 * least),
        cells: cells
            .cells
            .iter()
            .map(|cell| {
                // Solved once for each number of results, not for each participant.
                let k_critical = *k_criticals
                    .entry(cell.n)
                    .or_insert_with(|| k_critical(cell.freedom(), freedom));
                of_cell(cell, cells, &pooled, freedom, k_critical)
            })
            .collect(),
    }
}

fn of_cell(
    cell: &Cell,
    cells: &Cells,
    pooled: &Pooled,
    freedom: f64,
    k_critical: Option<Critical>,
) -> CellPrecision {
    let h = if pooled.spread_of_means > 0.0 {
        Ok((cell.mean - pooled.mean_of_means) / pooled.spread_of_means)
    } else {
        Err(NoMandel::EqualMeans)
    };
    let k = match cell.variance() {
        None => Err(NoMandel::OneResult),
        Some(_) if pooled.squares_within <= 0.0 => Err(NoMandel::NoSpreadWithin),
        Some(own) => Ok((own * freedom / pooled.squares_within).sqrt()),
    };
    CellPrecision {
        participant: cell.participant,
        n: cell.n,
        mean: cells.value(cell.mean),
        sd: cell.variance().map(|own| own.sqrt() * cells.unit),
        h,
        k,
        k_critical,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn analysed(results: &[&[f64]]) -> Precision {
        analyse(&Table::new(results.iter().map(|own| own.to_vec()).collect()).unwrap())
    }

    #[test]
    fn one_result_each_gives_means_and_h_but_no_repeatability() {
        let found = analysed(&[&[1.0], &[2.0], &[3.0], &[6.0]]);
        assert_eq!(found.variances, Err(NoRepeatability::OneResultEach));
        assert_eq!(found.mean, 3.0);
        assert!((found.spread_of_means - (14.0_f64 / 3.0).sqrt()).abs() < 1e-14);
        assert!((found.cells[3].h.unwrap() - 3.0 / (14.0_f64 / 3.0).sqrt()).abs() < 1e-14);
        assert!(found.cells.iter().all(|c| c.k == Err(NoMandel::OneResult)));
        assert_eq!((found.k_critical, found.cells[0].k_critical), (None, None));
        let none = NoTest::TooFewParticipants {
            found: 0,
            needed: 2,
        };
        assert_eq!(found.cochran, Err(none));
        assert_eq!((found.grubbs.len(), found.grubbs_left_out), (4, None));
    }

    #[test]
    fn no_spread_is_a_reason_and_never_a_division() {
        // 0.1 + 0.2 is not 0.3, by one rounding step.
        let equal = analysed(&[&[0.3, 0.1 + 0.2], &[0.3, 0.3], &[0.1 + 0.2, 0.3], &[0.3]]);
        let variances = equal.variances.as_ref().unwrap();
        assert_eq!((variances.s_r, variances.s_l), (0.0, 0.0));
        assert_eq!(variances.s_reproducibility, 0.0);
        assert_eq!((variances.anova.f, variances.anova.r_squared), (None, None));
        assert!(equal.cells.iter().all(|c| c.h == Err(NoMandel::EqualMeans)));
        assert_eq!(equal.cells[0].k, Err(NoMandel::NoSpreadWithin));
        assert_eq!(equal.cochran, Err(NoTest::NoSpread));
        assert_eq!(equal.grubbs_left_out, Some(NoTest::NoSpread));
        assert!(equal.grubbs.is_empty());

        let steps = analysed(&[&[1.0, 1.0], &[2.0, 2.0], &[3.0, 3.0]]);
        let variances = steps.variances.unwrap();
        assert_eq!((variances.s_r, variances.s_l), (0.0, 1.0));
        assert_eq!(variances.s_reproducibility, 1.0);
        assert_eq!(variances.anova.r_squared, Some(1.0));
        assert_eq!(steps.cells[0].h, Ok(-1.0));
    }

    #[test]
    fn two_participants_have_h_without_critical_values() {
        let two = analysed(&[&[1.0, 2.0], &[3.0, 5.0]]);
        assert_eq!(two.h_critical, None);
        assert!((two.cells[1].h.unwrap() - 0.5_f64.sqrt()).abs() < 1e-14);
        assert!(two.k_critical.is_some() && two.cochran.is_ok());
        assert!(two.grubbs.is_empty());
        let few = NoTest::TooFewParticipants {
            found: 2,
            needed: 3,
        };
        assert_eq!(two.grubbs_left_out, Some(few));
        let three = analysed(&[&[1.0], &[3.0, 5.0], &[2.0, 2.5]]);
        assert_eq!((three.grubbs.len(), three.numbers_differ_much), (2, false));
        assert!(analysed(&[&[1.0], &[3.0, 5.0, 4.0]]).numbers_differ_much);
    }
}
