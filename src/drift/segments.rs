//! Which steps and slopes a window of readings shows: a penalised forward search.
//!
//! A nozzle change and a later drift are two changes, and each is dated given the other.
//! It fits and penalises; what is claimed of the fit, `assess` decides.

use super::whiten::{Basis, Kind, Whitened, dot};

/// One change of a model.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Term {
    pub(crate) kind: Kind,
    pub(crate) at: usize,
}

/// A level with its changes, fitted to whitened readings.
#[derive(Debug, Clone)]
pub(crate) struct Model {
    /// In time order.
    pub(crate) terms: Vec<Term>,
    /// Residual sum of squares, whitened.
    pub(crate) residual_square: f64,
    /// Penalised deviance: smaller is better.
    score: f64,
}

/// Settings of the search.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Search {
    /// Least evidence (as the square of a normal score) of the first change, then of each further one.
    pub(crate) enter_first: f64,
    pub(crate) enter_next: f64,
    /// Most changes in a window.
    pub(crate) most: usize,
    /// Least readings after a step, after the start of a slope, and before either.
    pub(crate) after_step: usize,
    pub(crate) after_ramp: usize,
    pub(crate) before: usize,
    /// Least noise variance believed, whitened scale.
    pub(crate) noise_floor: f64,
}

/// Square of the normal score as rare as a Student t whose square is `f`.
///
/// Source: Wallace, Ann. Math. Stat. 30, 1121 (1959).
pub(crate) fn normal_square(f: f64, freedom: f64) -> f64 {
    if f.is_nan() || f <= 0.0 || freedom < 1.0 {
        return 0.0;
    }
    let shrink = (8.0 * freedom + 1.0) / (8.0 * freedom + 3.0);
    shrink * shrink * freedom * (f / freedom).ln_1p()
}

impl Search {
    /// Evidence of a change that takes `gain` from the squares `left` by `fitted` columns.
    fn evidence(&self, white: &Whitened, fitted: usize, left: f64, gain: f64) -> f64 {
        // Level, this change's size and its date are estimated.
        let freedom = white.len() as f64 - fitted as f64 - 2.0;
        let noise = ((left - gain) / freedom.max(1.0)).max(self.noise_floor);
        normal_square(gain / noise, freedom)
    }

    /// Least readings after a change of that kind, the one it begins at included.
    fn after(&self, kind: Kind) -> usize {
        match kind {
            Kind::Step => self.after_step,
            Kind::Ramp => self.after_ramp + 1,
        }
    }

    /// The best change of one of `kinds`, with its evidence.
    fn best(&self, white: &Whitened, basis: &Basis, kinds: &[Kind]) -> Option<(Term, f64)> {
        let gains = white.gains(basis);
        let (term, gain) = kinds
            .iter()
            .filter_map(|&kind| {
                let (at, gain) = gains.best(kind, self.before, self.after(kind))?;
                Some((Term { kind, at }, gain))
            })
            .max_by(|a, b| a.1.total_cmp(&b.1))?;
        let left = basis.residual_square();
        let evidence = self.evidence(white, basis.columns.len(), left, gain);
        Some((term, evidence))
    }

    /// Evidence of the best single change: the cheap look that most series end with.
    pub(crate) fn glance(&self, white: &Whitened) -> f64 {
        let (step, ramp) = (self.after(Kind::Step), self.after(Kind::Ramp));
        white
            .best_single(self.before, step, ramp)
            .map_or(0.0, |best| {
                self.evidence(white, 1, best.residual_square, best.gain)
            })
    }

    /// A first model of at most two changes, enough to see what autocorrelation is left.
    pub(crate) fn sketch(&self, white: &Whitened) -> Model {
        Search { most: 2, ..*self }.grow(white, &[])
    }

    /// The best model; without terms when nothing reaches the evidence asked for.
    pub(crate) fn run(&self, white: &Whitened) -> Model {
        let none = self.model(white, Vec::new());
        // A slope that came to an end is two bends, each weak without the other.
        let openings: [&[Kind]; 3] = [&[Kind::Step], &[Kind::Ramp], &[Kind::Ramp, Kind::Ramp]];
        openings
            .into_iter()
            .map(|opening| self.grow(white, opening))
            .fold(none, |best, model| {
                if model.score < best.score {
                    model
                } else {
                    best
                }
            })
    }

    fn grow(&self, white: &Whitened, opening: &[Kind]) -> Model {
        let mut model = self.model(white, Vec::new());
        for round in 0..self.most {
            let basis = basis_of(white, &model.terms);
            let kinds = match opening.get(round) {
                Some(kind) => std::slice::from_ref(kind),
                None => &[Kind::Step, Kind::Ramp],
            };
            let enter = if round == 0 {
                self.enter_first
            } else {
                self.enter_next
            };
            let found = self.best(white, &basis, kinds);
            let Some((term, _)) = found.filter(|(_, evidence)| *evidence >= enter) else {
                break;
            };
            let mut terms = model.terms.clone();
            terms.push(term);
            let grown = self.settle(white, terms);
            if grown.score >= model.score {
                break;
            }
            model = grown;
        }
        model
            .terms
            .sort_by_key(|term| (term.at, term.kind == Kind::Ramp));
        model
    }

    /// Moves every change in turn to where it fits best given the others.
    fn settle(&self, white: &Whitened, mut terms: Vec<Term>) -> Model {
        for _ in 0..3 {
            let was = terms.clone();
            for place in 0..terms.len() {
                let others: Vec<Term> = terms
                    .iter()
                    .enumerate()
                    .filter(|(i, _)| *i != place)
                    .map(|(_, term)| *term)
                    .collect();
                let basis = basis_of(white, &others);
                let kind = terms.get(place).map(|term| term.kind);
                let moved = kind.and_then(|kind| self.best(white, &basis, &[kind]));
                if let (Some((term, _)), Some(slot)) = (moved, terms.get_mut(place)) {
                    *slot = term;
                }
            }
            if terms == was {
                break;
            }
        }
        self.model(white, terms)
    }

    fn model(&self, white: &Whitened, terms: Vec<Term>) -> Model {
        let basis = basis_of(white, &terms);
        let n = white.len() as f64;
        let residual_square = basis.residual_square().max(self.noise_floor * n);
        let penalty = match terms.len() {
            0 => 0.0,
            more => self.enter_first + (more as f64 - 1.0) * self.enter_next,
        };
        Model {
            score: n * residual_square.ln() + penalty,
            terms,
            residual_square,
        }
    }
}

/// Level and `terms` fitted.
pub(crate) fn basis_of(white: &Whitened, terms: &[Term]) -> Basis {
    let mut basis = Basis::level(white);
    for term in terms {
        basis.add(white.column(term.kind, term.at));
    }
    basis
}

/// Coefficients of level and terms with their covariance at unit noise variance.
#[derive(Debug, Clone)]
pub(crate) struct Coefficients {
    pub(crate) value: Vec<f64>,
    pub(crate) covariance: Vec<Vec<f64>>,
}

impl Coefficients {
    /// Least squares on level and `terms`; `None` when the columns are not independent.
    pub(crate) fn of(white: &Whitened, terms: &[Term]) -> Option<Coefficients> {
        let mut columns = vec![white.one.clone()];
        columns.extend(terms.iter().map(|t| white.column(t.kind, t.at)));
        let normal: Vec<Vec<f64>> = columns
            .iter()
            .map(|a| columns.iter().map(|b| dot(a, b)).collect())
            .collect();
        let covariance = inverse(&normal)?;
        let toward: Vec<f64> = columns.iter().map(|a| dot(a, &white.reading)).collect();
        let value: Vec<f64> = covariance.iter().map(|row| dot(row, &toward)).collect();
        Some(Coefficients { value, covariance })
    }

    /// Value of the combination `weights` of the coefficients.
    pub(crate) fn combine(&self, weights: &[f64]) -> f64 {
        dot(&self.value, weights)
    }

    /// Covariance of two combinations, at unit noise variance.
    pub(crate) fn covariance_of(&self, a: &[f64], b: &[f64]) -> f64 {
        self.covariance
            .iter()
            .zip(a)
            .map(|(row, weight)| weight * dot(row, b))
            .sum()
    }
}

/// Inverse of a small symmetric positive definite matrix, by Gauss–Jordan without pivoting.
fn inverse(matrix: &[Vec<f64>]) -> Option<Vec<Vec<f64>>> {
    let n = matrix.len();
    let mut work: Vec<Vec<f64>> = matrix
        .iter()
        .enumerate()
        .map(|(i, row)| {
            let mut wide = row.clone();
            wide.extend((0..n).map(|j| f64::from(i == j)));
            wide
        })
        .collect();
    for pivot in 0..n {
        let diagonal = *matrix.get(pivot)?.get(pivot)?;
        let lead = *work.get(pivot)?.get(pivot)?;
        if lead <= 1e-9 * diagonal.abs() {
            return None;
        }
        let row: Vec<f64> = work.get(pivot)?.iter().map(|x| x / lead).collect();
        for (i, other) in work.iter_mut().enumerate() {
            if i == pivot {
                other.clone_from(&row);
            } else {
                let factor = *other.get(pivot)?;
                for (slot, x) in other.iter_mut().zip(&row) {
                    *slot -= factor * x;
                }
            }
        }
    }
    Some(
        work.into_iter()
            .map(|row| row.into_iter().skip(n).collect())
            .collect(),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drift::fixtures::{NILE, Noise};

    pub(crate) const SEARCH: Search = Search {
        enter_first: 17.0,
        enter_next: 14.0,
        most: 3,
        after_step: 3,
        after_ramp: 5,
        before: 5,
        noise_floor: 0.0,
    };

    fn days(n: usize) -> Vec<f64> {
        (0..n).map(|i| i as f64).collect()
    }

    #[test]
    fn nile_is_one_step() {
        let white = Whitened::new(&days(100), &NILE, 0.0);
        let model = SEARCH.run(&white);
        assert_eq!(
            model.terms,
            [Term {
                kind: Kind::Step,
                at: 28
            }]
        );
        assert!((model.residual_square - 1597457.1944444478).abs() < 1e-3);
        let fit = Coefficients::of(&white, &model.terms).unwrap();
        assert!((fit.value[0] - 1097.75).abs() < 1e-9);
        assert!((fit.value[0] + fit.value[1] - 849.9722222222222).abs() < 1e-9);
        assert!((fit.covariance[0][0] - 1.0 / 28.0).abs() < 1e-12);
    }

    #[test]
    fn a_step_and_a_later_slope_are_told_apart() {
        let mut noise = Noise::new(11);
        let values: Vec<f64> = noise
            .autoregressive(200, 0.2)
            .iter()
            .enumerate()
            .map(|(i, e)| e + if i >= 60 { 3.0 } else { 0.0 } - 0.1 * (i as f64 - 130.0).max(0.0))
            .collect();
        let model = SEARCH.run(&Whitened::new(&days(200), &values, 0.2));
        assert_eq!(model.terms.len(), 2, "{:?}", model.terms);
        assert_eq!(model.terms[0].kind, Kind::Step);
        assert!(model.terms[0].at.abs_diff(60) <= 2);
        assert_eq!(model.terms[1].kind, Kind::Ramp);
        assert!(model.terms[1].at.abs_diff(130) <= 12);
    }

    /// Student t against normal: t 2.570582 with 5 degrees is as rare as 1.959964.
    #[test]
    fn normal_score_of_a_student_square() {
        let square = normal_square(2.570582_f64.powi(2), 5.0);
        assert!((square.sqrt() - 1.959964).abs() < 0.01);
    }
}
