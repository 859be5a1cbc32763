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
        let n = days.len().min(values.len());
        // Correlation with the reading before, and what it scales the rest by; the first has none.
        let (mut rhos, mut scales) = (vec![0.0; n], vec![1.0; n]);
        // Most readings follow each other at the usual spacing, and share what follows from it.
        let (mut gap, mut rho, mut scale) = (f64::NAN, 0.0, 1.0);
        let later = rhos.iter_mut().zip(&mut scales).skip(1);
        for ((rho_here, scale_here), pair) in later.zip(days.windows(2)) {
            if pair[1] - pair[0] != gap {
                gap = pair[1] - pair[0];
                rho = correlation(phi, gap / spacing);
                scale = 1.0 / (1.0 - rho * rho).sqrt();
            }
            (*rho_here, *scale_here) = (rho, scale);
        }
        let less_before = |column: &[f64]| {
            let mut less: Vec<f64> = Vec::with_capacity(n);
            less.extend(column.first());
            let scaling = rhos.iter().zip(&scales).skip(1);
            let pairs = column.windows(2).zip(scaling);
            less.extend(pairs.map(|(pair, (rho, scale))| (pair[1] - rho * pair[0]) * scale));
            less
        };
        let (reading, day) = (less_before(values), less_before(days));
        // What is left to know of a reading's scale takes the place of its parts.
        for (rho, scale) in rhos.iter_mut().zip(&mut scales) {
            (*rho, *scale) = (*rho * *scale, (1.0 - *rho) * *scale);
        }
        Whitened {
            days: days.to_vec(),
            reading,
            one: scales,
            day,
            jump: rhos,
        }
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
                if is_outside(rest, whole) {
                    *gain = product * product / rest;
                }
            }
        }
        gains
    }

    /// The most that one change beside the level lowers the residual sum of squares, with what
    /// the level alone leaves: of [`Whitened::gains`] on [`Basis::level`] the greatest, in one
    /// pass over the readings that keeps nothing of any but the best.
    ///
    /// `before` readings at least lie before the change, `after_step` or `after_ramp` after it.
    /// `None` when there is no reading.
    pub(crate) fn best_single(
        &self,
        before: usize,
        after_step: usize,
        after_ramp: usize,
    ) -> Option<SingleGain> {
        let (mut length, mut toward) = (0.0, 0.0);
        for (reading, one) in self.reading.iter().zip(&self.one) {
            length += one * one;
            toward += reading * one;
        }
        if length <= 0.0 {
            return None;
        }
        let (level, per_length) = (toward / length, 1.0 / length);
        let n = self.len();
        // Indices at which a change may begin; an empty range where none may.
        let steps = before..n.saturating_sub(after_step);
        let ramps = before..n.saturating_sub(after_ramp);
        let (mut step, mut ramp) = (Best::default(), Best::default());
        let mut residual_square = 0.0;
        // Sums over the readings after the one looked at: of the residual, of squares.
        let (mut ones, mut days) = (0.0, 0.0);
        let (mut one_one, mut one_day, mut day_day) = (0.0, 0.0, 0.0);
        let rows = (self.one.iter().zip(&self.day))
            .zip(self.jump.iter().zip(&self.days))
            .zip(&self.reading)
            .enumerate();
        for (at, (((one, day), (jump, knot)), reading)) in rows.rev() {
            let left = reading - level * one;
            residual_square += left * left;
            if ramps.contains(&at) {
                let along = one_day - knot * one_one;
                let whole = day_day - knot * (2.0 * one_day - knot * one_one);
                ramp.take(days - knot * ones, whole, along * along * per_length);
            }
            ones += one * left;
            days += day * left;
            if steps.contains(&at) {
                let first = one + jump;
                let along = one_one + one * first;
                let whole = one_one + first * first;
                step.take(ones + jump * left, whole, along * along * per_length);
            }
            one_one += one * one;
            one_day += one * day;
            day_day += day * day;
        }
        Some(SingleGain {
            gain: step.gain().max(ramp.gain()),
            residual_square,
        })
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

/// What the best single change beside the level would do.
#[derive(Debug, Clone, Copy)]
pub(crate) struct SingleGain {
    /// By how much it lowers the residual sum of squares.
    pub(crate) gain: f64,
    /// The residual sum of squares that the level alone leaves.
    pub(crate) residual_square: f64,
}

/// The greatest gain so far as a fraction: comparing fractions spares a division a reading.
struct Best {
    square: f64,
    rest: f64,
}

impl Default for Best {
    fn default() -> Best {
        Best {
            square: 0.0,
            rest: 1.0,
        }
    }
}

impl Best {
    /// Takes a column by its product with the residual, its squared length and the part of
    /// that inside the level, when its gain is greater.
    #[inline]
    fn take(&mut self, product: f64, whole: f64, inside: f64) {
        let (square, rest) = (product * product, whole - inside);
        if square * self.rest > self.square * rest && is_outside(rest, whole) {
            *self = Best { square, rest };
        }
    }

    fn gain(&self) -> f64 {
        self.square / self.rest
    }
}

/// Whether what is left of a column beside the fitted ones is more than rounding error.
fn is_outside(rest: f64, whole: f64) -> bool {
    rest > 1e-7 * whole && rest > 0.0
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
    let spacings = || {
        days.windows(2).filter_map(|pair| match pair {
            [a, b] if b > a => Some(b - a),
            _ => None,
        })
    };
    let Some(first) = spacings().next() else {
        return 1.0;
    };
    if spacings().all(|apart| apart == first) {
        return first;
    }
    let mut apart: Vec<f64> = spacings().collect();
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

    /// One pass against the gains of every change, written out.
    #[test]
    fn the_best_single_change_is_the_greatest_gain() {
        let noise = |seed, n| crate::drift::fixtures::Noise::new(seed).autoregressive(n, 0.3);
        let mut cases = vec![(IRREGULAR_DAYS.to_vec(), IRREGULAR_VALUES.to_vec())];
        for seed in 0..60 {
            let n = 12 + seed as usize * 7 % 200;
            // Every day, every weekday, and twice a day with both checks written at one time.
            let day = |i: usize| match seed % 3 {
                0 => i as f64,
                1 => (i + i / 5 * 2) as f64,
                _ => (i / 2) as f64,
            };
            cases.push(((0..n).map(day).collect(), noise(seed, n)));
        }
        for (days, values) in cases {
            let white = Whitened::new(&days, &values, 0.35);
            let basis = Basis::level(&white);
            let gains = white.gains(&basis);
            let step = gains.best(Kind::Step, 5, 3).unwrap().1;
            let ramp = gains.best(Kind::Ramp, 5, 6).unwrap().1;
            let found = white.best_single(5, 3, 6).unwrap();
            let whole = basis.residual_square();
            assert!((found.gain - step.max(ramp)).abs() <= 1e-10 * whole);
            assert!((found.residual_square - whole).abs() <= 1e-12 * whole);
        }
        assert!(Whitened::new(&[], &[], 0.3).best_single(5, 3, 6).is_none());
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
