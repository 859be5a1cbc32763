//! Running sums over whitened readings, from which any window's fit costs nothing.
//!
//! One set for each strength of autocorrelation considered. No statistics are decided here.

use super::times::Whitening;

/// Rows of a [`Ladder`].
const ROWS: usize = 4;

/// Sums over whitened readings of one strength of autocorrelation: a plain row for each, so
/// that a look over many readings runs along rows.
#[derive(Debug, Clone)]
pub(super) struct Ladder {
    /// Row after row.
    cells: Vec<f64>,
    /// Cells of a row: one more than readings.
    width: usize,
}

/// The rows of a ladder and of the times it belongs to.
///
/// The first seven hold sums over the readings before an index.
#[derive(Debug, Clone, Copy)]
pub(super) struct Rows<'a> {
    pub(super) one_one: &'a [f64],
    pub(super) one_day: &'a [f64],
    pub(super) day_day: &'a [f64],
    /// Logarithms of the whitening scales.
    pub(super) log_scale: &'a [f64],
    pub(super) one_value: &'a [f64],
    pub(super) day_value: &'a [f64],
    pub(super) value_value: &'a [f64],
    /// What a step that begins with a reading adds, beyond the sums from it on, to its own
    /// square and to its products with the ones and with the values.
    pub(super) onset_square: &'a [f64],
    pub(super) onset_one: &'a [f64],
    pub(super) onset_value: &'a [f64],
}

impl Ladder {
    /// Sums of `values`, read at the times that were whitened.
    pub(super) fn new(white: &Whitening, values: &[f64]) -> Ladder {
        let width = values.len() + 1;
        let mut cells = vec![0.0; ROWS * width];
        let mut rows = cells.chunks_exact_mut(width);
        let [one_values, day_values, value_values, onset_values]: [&mut [f64]; ROWS] =
            std::array::from_fn(|_| rows.next().unwrap_or_default());
        let (mut one_value, mut day_value, mut value_value) = (0.0, 0.0, 0.0);
        let mut before = 0.0;
        let columns = white.one.iter().zip(&white.day);
        let whitening = white.rho.iter().zip(&white.scale);
        let slots = one_values
            .iter_mut()
            .skip(1)
            .zip(day_values.iter_mut().skip(1))
            .zip(value_values.iter_mut().skip(1))
            .zip(onset_values);
        let readings = values.iter().zip(whitening).zip(columns);
        for (((&value, (rho, scale)), (one, day)), slots) in readings.zip(slots) {
            let white_value = (value - rho * before) * scale;
            one_value += one * white_value;
            day_value += day * white_value;
            value_value += white_value * white_value;
            let (((one_slot, day_slot), value_slot), onset) = slots;
            *one_slot = one_value;
            *day_slot = day_value;
            *value_slot = value_value;
            *onset = rho * scale * white_value;
            before = value;
        }
        Ladder { cells, width }
    }

    pub(super) fn rows<'a>(&'a self, white: &'a Whitening) -> Rows<'a> {
        let mut rows = self.cells.chunks_exact(self.width);
        let mut row = || rows.next().unwrap_or_default();
        Rows {
            one_one: &white.one_one,
            one_day: &white.one_day,
            day_day: &white.day_day,
            log_scale: &white.log_scale,
            onset_square: &white.onset_square,
            onset_one: &white.onset_one,
            one_value: row(),
            day_value: row(),
            value_value: row(),
            onset_value: row(),
        }
    }
}
