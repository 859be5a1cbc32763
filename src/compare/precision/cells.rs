//! The sums of each participant's results, kept to nearly the last digit.
//!
//! Results are first taken as distances from the middle of all of them, in a unit that is a
//! power of two near their range: what they have in common takes no digits from what tells
//! them apart, and squares neither overflow nor vanish. Everything else is computed from
//! these sums; this file judges nothing.

use super::table::Table;
use crate::stats::sum;

/// Spreads below this many rounding steps of the largest result are taken as none: means of
/// equal results that were added in another order differ by as much.
const ROUNDING_STEPS: f64 = 8.0;

/// One participant's results in sums.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Cell {
    /// Place in the table.
    pub participant: usize,
    /// Results.
    pub n: usize,
    /// Mean as a distance from the pivot, in units.
    pub mean: f64,
    /// Sum of squares about the own mean, in squared units; 0 with one result.
    pub squares: f64,
}

impl Cell {
    /// Degrees of freedom of the own variance.
    pub(super) fn freedom(&self) -> f64 {
        (self.n - 1) as f64
    }

    /// Own variance with n − 1, in squared units; `None` with one result.
    pub(super) fn variance(&self) -> Option<f64> {
        (self.n > 1).then(|| self.squares / self.freedom())
    }
}

/// The cells of the participants still in the analysis.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Cells {
    pub pivot: f64,
    pub unit: f64,
    /// Spread that counts as none, in units.
    noise: f64,
    pub cells: Vec<Cell>,
}

/// Sums over all cells.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Pooled {
    pub participants: f64,
    pub results: f64,
    /// General mean, each result counting alike, as a distance from the pivot in units.
    pub mean: f64,
    /// Mean of the participants' means, each mean counting alike.
    pub mean_of_means: f64,
    /// Standard deviation of the participants' means (n − 1); 0 when they are equal.
    pub spread_of_means: f64,
    pub squares_between: f64,
    pub squares_within: f64,
    /// n̄ of ISO 5725-2:1994 7.4.5.
    pub mean_replicates: f64,
}

impl Cells {
    pub(super) fn new(table: &Table) -> Self {
        let all = || table.results().iter().flatten().copied();
        let (low, high) = all().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), x| {
            (low.min(x), high.max(x))
        });
        let pivot = 0.5 * low + 0.5 * high;
        let reach = (high - pivot).max(pivot - low);
        // A power of two, so that dividing by it rounds nothing.
        let unit = if reach > 0.0 {
            reach.log2().floor().exp2().max(f64::MIN_POSITIVE)
        } else {
            1.0
        };
        let largest = low.abs().max(high.abs());
        let noise = ROUNDING_STEPS * f64::EPSILON * (largest / unit);
        let cell = |(participant, own): (usize, &Vec<f64>)| {
            let distances: Vec<f64> = own.iter().map(|x| (x - pivot) / unit).collect();
            let squares = sum::squares_about_mean(&distances);
            let none = squares <= noise * noise * distances.len() as f64;
            Cell {
                participant,
                n: own.len(),
                mean: sum::mean(&distances).unwrap_or(0.0),
                squares: if none { 0.0 } else { squares },
            }
        };
        let cells = table.results().iter().enumerate().map(cell).collect();
        Self {
            pivot,
            unit,
            noise,
            cells,
        }
    }

    /// The same without the participants that `leave_out` names.
    pub(super) fn without(&self, leave_out: &[usize]) -> Self {
        let mut kept = self.clone();
        kept.cells
            .retain(|cell| !leave_out.contains(&cell.participant));
        kept
    }

    /// A distance from the pivot in units as a value.
    pub(super) fn value(&self, distance: f64) -> f64 {
        self.pivot + distance * self.unit
    }

    /// A sum of squares of `values` about their mean, 0 when it is but rounding.
    pub(super) fn squares(&self, values: &[f64]) -> f64 {
        let squares = sum::squares_about_mean(values);
        if squares <= self.noise * self.noise * values.len() as f64 {
            0.0
        } else {
            squares
        }
    }

    pub(super) fn means(&self) -> Vec<f64> {
        self.cells.iter().map(|cell| cell.mean).collect()
    }

    /// Cells with at least two results: those that have a variance.
    pub(super) fn replicated(&self) -> Vec<&Cell> {
        self.cells.iter().filter(|cell| cell.n > 1).collect()
    }

    pub(super) fn pooled(&self) -> Pooled {
        let added = |f: &dyn Fn(&Cell) -> f64| {
            let terms: Vec<f64> = self.cells.iter().map(f).collect();
            sum::sum(&terms)
        };
        let n = |cell: &Cell| cell.n as f64;
        let participants = self.cells.len() as f64;
        let results = added(&n);
        let mean = added(&|cell| n(cell) * cell.mean) / results;
        let means = self.means();
        let about_means = self.squares(&means);
        // What the rounded general mean leaves over is taken off again.
        let left_over = added(&|cell| n(cell) * (cell.mean - mean));
        let between = added(&|cell| n(cell) * (cell.mean - mean) * (cell.mean - mean))
            - left_over * left_over / results;
        Pooled {
            participants,
            results,
            mean,
            mean_of_means: sum::mean(&means).unwrap_or(0.0),
            spread_of_means: (about_means / (participants - 1.0)).sqrt(),
            squares_between: if about_means > 0.0 {
                between.max(0.0)
            } else {
                0.0
            },
            squares_within: added(&|cell| cell.squares),
            mean_replicates: (results - added(&|cell| n(cell) * n(cell)) / results)
                / (participants - 1.0),
        }
    }
}
