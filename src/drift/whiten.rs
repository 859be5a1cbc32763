//! Autocorrelated readings made independent, and the search over change dates on them.
//!
//! Noise is first-order autoregressive; a gap weakens what the reading before says, by an
//! exponent between that of noise that ages with the calendar and with the checks. After whitening, the scores of
//! every possible step and every possible start of a slope come from running sums, in
//! time proportional to the readings. No verdicts here.

/// Kind of change that begins at a reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// The level jumps: the reading is the first at the new level.
    Step,
    /// The slope changes: the reading is the last before it.
    Ramp,
}

/// Readings of a window, whitened, with the whitened constant and time columns.
#[derive(Debug, Clone)]
pub(crate) struct Whitened {
    pub(crate) days: Vec<f64>,
    /// Whitened readings.
    pub(crate) reading: Vec<f64>,
    /// Whitened column of ones.
    pub(crate) one: Vec<f64>,
    /// Whitened column of days.
    pub(crate) day: Vec<f64>,
    /// What a step adds at its first reading beyond `one`.
    jump: Vec<f64>,
}

/// Exponent with which a gap counts: noise that ages with the calendar would have 1, noise
/// that ages with the checks 0. Logs have both kinds; a weekend of three days counts as
/// 1.4 spacings, and either kind keeps its false-alarm rate (see the trial).
pub(crate) const GAP_EXPONENT: f64 = 0.3;

/// Correlation decays by at least this share of a spacing between two readings, so that
/// two checks written with the same time do not count as one measured without error.
const SHORTEST_SPACING: f64 = 0.25;

impl Whitened {
    /// Whitens `values` on ascending `days` with lag-1 autocorrelation `phi` in [0, 1).
    pub(crate) fn new(days: &[f64], values: &[f64], phi: f64) -> Whitened {
        let spacing = usual_spacing(days);
        let n = days.len();
        let mut white = Whitened {
            days: days.to_vec(),
            reading: Vec::with_capacity(n),
            one: Vec::with_capacity(n),
            day: Vec::with_capacity(n),
            jump: Vec::with_capacity(n),
        };
        let mut before: Option<(f64, f64)> = None;
        // Most readings follow each other at the usual spacing, and share their scale.
        let scale_of = |rho: f64| 1.0 / (1.0 - rho * rho).sqrt();
        let (mut last_rho, mut scale) = (0.0, 1.0);
        for (&day, &value) in days.iter().zip(values) {
            let (day_before, value_before, rho) = match before {
                None => (0.0, 0.0, 0.0),
                Some((d, v)) => (d, v, correlation(phi, (day - d) / spacing)),
            };
            if rho != last_rho {
                (last_rho, scale) = (rho, scale_of(rho));
            }
            white.reading.push((value - rho * value_before) * scale);
            white.one.push((1.0 - rho) * scale);
            white.day.push((day - rho * day_before) * scale);
            white.jump.push(rho * scale);
            before = Some((day, value));
        }
        white
    }

    pub(crate) fn len(&self) -> usize {
        self.days.len()
    }

    /// The whitened column of a change at reading `at`.
    pub(crate) fn column(&self, kind: Kind, at: usize) -> Vec<f64> {
        let mut column = vec![0.0; self.len()];
        match kind {
            Kind::Step => {
                for (slot, one) in column.iter_mut().zip(&self.one).skip(at) {
                    *slot = *one;
                }
                if let (Some(slot), Some(jump)) = (column.get_mut(at), self.jump.get(at)) {
                    *slot += jump;
                }
            }
            Kind::Ramp => {
                let knot = self.days.get(at).copied().unwrap_or(0.0);
                let parts = self.one.iter().zip(&self.day);
                for (slot, (one, day)) in column.iter_mut().zip(parts).skip(at + 1) {
                    *slot = day - knot * one;
                }
            }
        }
        column
    }

    /// For every reading, how much a step and a ramp there would lower the residual sum
    /// of squares left by `basis`: parallel vectors; 0 where the change cannot be told
    /// from what is fitted already.
    pub(crate) fn gains(&self, basis: &Basis) -> Gains {
        let n = self.len();
        let mut gains = Gains {
            step: vec![0.0; n],
            ramp: vec![0.0; n],
        };
        // Inner products with the residual, then what each fitted column takes away.
        let toward = self.inner_products(&basis.residual);
        let mut left_step = vec![0.0; n];
        let mut left_ramp = vec![0.0; n];
        self.squared_lengths(&mut left_step, &mut left_ramp);
        let (full_step, full_ramp) = (left_step.clone(), left_ramp.clone());
        for column in &basis.columns {
            let along = self.inner_products(column);
            for (left, product) in left_step.iter_mut().zip(&along.step) {
                *left -= product * product;
            }
            for (left, product) in left_ramp.iter_mut().zip(&along.ramp) {
                *left -= product * product;
            }
        }
        for (out, toward, left, full) in [
            (&mut gains.step, &toward.step, &left_step, &full_step),
            (&mut gains.ramp, &toward.ramp, &left_ramp, &full_ramp),
        ] {
            for (i, gain) in out.iter_mut().enumerate() {
                let (Some(product), Some(&rest), Some(&whole)) =
                    (toward.get(i), left.get(i), full.get(i))
                else {
                    continue;
                };
                // A column all but inside the fitted ones carries rounding error only.
                if rest > 1e-7 * whole && rest > 0.0 {
                    *gain = product * product / rest;
                }
            }
        }
        gains
    }

    /// Inner products of every step and ramp column with `vector`.
    fn inner_products(&self, vector: &[f64]) -> Gains {
        let n = self.len();
        let mut products = Gains {
            step: vec![0.0; n],
            ramp: vec![0.0; n],
        };
        let (mut ones, mut days) = (0.0, 0.0);
        let rows = self
            .one
            .iter()
            .zip(&self.day)
            .zip(&self.jump)
            .zip(&self.days);
        let outs = products.step.iter_mut().zip(products.ramp.iter_mut());
        for ((((one, day), jump), knot), (x, (step, ramp))) in
            rows.zip(vector.iter().zip(outs)).rev()
        {
            *ramp = days - knot * ones;
            ones += one * x;
            days += day * x;
            *step = ones + jump * x;
        }
        products
    }

    fn squared_lengths(&self, step: &mut [f64], ramp: &mut [f64]) {
        let (mut ones, mut cross, mut days) = (0.0, 0.0, 0.0);
        let rows = self
            .one
            .iter()
            .zip(&self.day)
            .zip(&self.jump)
            .zip(&self.days);
        for ((((one, day), jump), knot), (step, ramp)) in
            rows.zip(step.iter_mut().zip(ramp.iter_mut())).rev()
        {
            *ramp = days - 2.0 * knot * cross + knot * knot * ones;
            *step = ones + (one + jump) * (one + jump);
            ones += one * one;
            cross += one * day;
            days += day * day;
        }
    }
}

/// One number for a step and one for a ramp at every reading.
#[derive(Debug, Clone)]
pub(crate) struct Gains {
    pub(crate) step: Vec<f64>,
    pub(crate) ramp: Vec<f64>,
}

impl Gains {
    pub(crate) fn of(&self, kind: Kind) -> &[f64] {
        match kind {
            Kind::Step => &self.step,
            Kind::Ramp => &self.ramp,
        }
    }

    /// The best change that leaves `before` readings before it and `after` after it.
    pub(crate) fn best(&self, kind: Kind, before: usize, after: usize) -> Option<(usize, f64)> {
        let gains = self.of(kind);
        let end = gains.len().saturating_sub(after);
        gains
            .iter()
            .copied()
            .enumerate()
            .take(end)
            .skip(before)
            .max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)))
    }
}

/// Orthonormal fitted columns and the residual they leave.
#[derive(Debug, Clone)]
pub(crate) struct Basis {
    pub(crate) columns: Vec<Vec<f64>>,
    pub(crate) residual: Vec<f64>,
}

impl Basis {
    /// Nothing fitted yet but the level.
    pub(crate) fn level(white: &Whitened) -> Basis {
        let mut basis = Basis {
            columns: Vec::with_capacity(4),
            residual: white.reading.clone(),
        };
        basis.add(white.one.clone());
        basis
    }

    /// Fits one more column; a column already inside the fitted ones changes nothing.
    pub(crate) fn add(&mut self, mut column: Vec<f64>) {
        let whole = dot(&column, &column);
        // Twice: one pass of Gram–Schmidt loses digits when columns are nearly parallel.
        for _ in 0..2 {
            for fitted in &self.columns {
                let along = dot(&column, fitted);
                for (slot, x) in column.iter_mut().zip(fitted) {
                    *slot -= along * x;
                }
            }
        }
        let length = dot(&column, &column);
        if length <= 1e-9 * whole {
            return;
        }
        let scale = length.sqrt().recip();
        column.iter_mut().for_each(|x| *x *= scale);
        let along = dot(&self.residual, &column);
        for (slot, x) in self.residual.iter_mut().zip(&column) {
            *slot -= along * x;
        }
        self.columns.push(column);
    }

    pub(crate) fn residual_square(&self) -> f64 {
        dot(&self.residual, &self.residual)
    }
}

pub(crate) fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

/// Correlation of readings `spacings` apart.
fn correlation(phi: f64, spacings: f64) -> f64 {
    if phi <= 0.0 {
        0.0
    } else if (spacings - 1.0).abs() < 1e-9 {
        phi
    } else {
        phi.powf(spacings.max(SHORTEST_SPACING).powf(GAP_EXPONENT))
    }
}

/// Median of the positive spacings, days; 1 when there is none.
pub(crate) fn usual_spacing(days: &[f64]) -> f64 {
    let mut apart: Vec<f64> = days
        .windows(2)
        .filter_map(|pair| match pair {
            [a, b] if b > a => Some(b - a),
            _ => None,
        })
        .collect();
    if apart.is_empty() {
        return 1.0;
    }
    if apart.windows(2).all(|pair| pair[0] == pair[1]) {
        return apart[0];
    }
    let middle = apart.len() / 2;
    *apart.select_nth_unstable_by(middle, f64::total_cmp).1
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drift::fixtures::{IRREGULAR_DAYS, IRREGULAR_VALUES};

    /// Running sums against the columns written out and fitted one by one.
    #[test]
    fn gains_equal_explicit_regression() {
        let white = Whitened::new(&IRREGULAR_DAYS, &IRREGULAR_VALUES, 0.4);
        let mut basis = Basis::level(&white);
        basis.add(white.column(Kind::Step, 12));
        let gains = white.gains(&basis);
        for kind in [Kind::Step, Kind::Ramp] {
            for at in [3, 11, 20, 36] {
                let mut fitted = basis.clone();
                fitted.add(white.column(kind, at));
                let gain = basis.residual_square() - fitted.residual_square();
                let found = gains.of(kind)[at];
                assert!((found - gain).abs() < 1e-9, "{kind:?} {at}: {found} {gain}");
            }
        }
    }

    #[test]
    fn whitening_undoes_a_first_order_recursion() {
        let days: Vec<f64> = vec![0.0, 1.0, 2.0, 5.0];
        let kept = 0.5_f64.powf(3.0_f64.powf(GAP_EXPONENT));
        let white = Whitened::new(&days, &[1.0, 0.5, 0.25, 0.25 * kept], 0.5);
        assert_eq!(white.reading[0], 1.0);
        for rest in &white.reading[1..] {
            assert!(rest.abs() < 1e-15);
        }
        let scale = 1.0 / (1.0_f64 - 0.25).sqrt();
        assert!((white.one[1] - 0.5 * scale).abs() < 1e-15);
    }
}
