//! What the instruments' constant offsets leave of uncertainty in a difference.
//!
//! It knows nothing of readings or chance.

use super::Instrument;
use std::collections::BTreeMap;

/// An instrument's part in a mean.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Offset {
    /// Number of the instrument; `None` when it is not told which.
    pub(super) id: Option<usize>,
    weight: f64,
    variance: f64,
    /// Variance of what is the cabinet's own and cancels against nobody.
    own: f64,
}

impl Offset {
    /// The part of `instrument` with `weight`; `known` numbers the identifiers.
    pub(super) fn of<'a>(
        instrument: &'a Instrument,
        weight: f64,
        known: &mut BTreeMap<&'a str, usize>,
    ) -> Offset {
        let square = |u: f64| if u.is_finite() && u > 0.0 { u * u } else { 0.0 };
        let id = instrument.id.as_deref().map(|id| {
            let next = known.len();
            *known.entry(id).or_insert(next)
        });
        Offset {
            id,
            weight,
            variance: square(instrument.standard_uncertainty),
            own: square(instrument.own_uncertainty),
        }
    }
}

/// The variance that the instruments give the difference of two means; equal instruments
/// cancel by their weights, the larger of two stated uncertainties counting for the rest.
pub(super) fn instruments_between(a: &[Offset], b: &[Offset]) -> f64 {
    if let ([one], [other]) = (a, b) {
        return match (one.id, other.id) {
            (Some(x), Some(y)) if x == y => one.own + other.own,
            _ => one.variance + other.variance + one.own + other.own,
        };
    }
    let mut unknown = 0.0;
    let mut net: BTreeMap<usize, (f64, f64)> = BTreeMap::new();
    for (offsets, sign) in [(a, 1.0), (b, -1.0)] {
        for offset in offsets {
            unknown += offset.weight * offset.weight * offset.own;
            match offset.id {
                None => unknown += offset.weight * offset.weight * offset.variance,
                Some(id) => {
                    let (weight, variance) = net.entry(id).or_insert((0.0, 0.0));
                    *weight += sign * offset.weight;
                    *variance = variance.max(offset.variance);
                }
            }
        }
    }
    // Thirds that should cancel leave 1e-17.
    let left = net.values().filter(|(weight, _)| weight.abs() > 1e-12);
    unknown + left.map(|(w, v)| w * w * v).sum::<f64>()
}

/// Standard uncertainty that the instruments give the plain mean of what they read; 0 for
/// none. One instrument that reads several does not average out.
pub fn uncertainty_of_mean(instruments: &[&Instrument]) -> f64 {
    let mut known = BTreeMap::new();
    let weight = 1.0 / instruments.len().max(1) as f64;
    let offsets: Vec<Offset> = instruments
        .iter()
        .map(|instrument| Offset::of(instrument, weight, &mut known))
        .collect();
    match offsets.as_slice() {
        [only] => (only.variance + only.own).sqrt(),
        several => instruments_between(several, &[]).sqrt(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn instrument(id: &str) -> Instrument {
        Instrument {
            id: Some(id.to_owned()),
            standard_uncertainty: 0.4,
            own_uncertainty: 0.3,
        }
    }

    #[test]
    fn what_is_a_cabinets_own_stays_where_the_instrument_cancels() {
        let (one, other) = (instrument("cylinder"), instrument("another"));
        let mut known = BTreeMap::new();
        let offsets: Vec<Offset> = [&one, &one, &other]
            .into_iter()
            .map(|i| Offset::of(i, 1.0, &mut known))
            .collect();
        let between = |a: usize, b: usize| instruments_between(&offsets[a..=a], &offsets[b..=b]);
        assert!((between(0, 1) - 2.0 * 0.09).abs() < 1e-12);
        assert!((between(0, 2) - 2.0 * 0.25).abs() < 1e-12);
    }

    #[test]
    fn one_instrument_that_reads_several_does_not_average_out() {
        let one = instrument("cylinder");
        assert!((uncertainty_of_mean(&[&one]) - 0.5).abs() < 1e-12);
        let expected = (0.16 + 0.09 / 4.0_f64).sqrt();
        assert!((uncertainty_of_mean(&[&one, &one, &one, &one]) - expected).abs() < 1e-12);
        let other = instrument("another");
        let apart = (0.25_f64 / 2.0).sqrt();
        assert!((uncertainty_of_mean(&[&one, &other]) - apart).abs() < 1e-12);
        assert_eq!(uncertainty_of_mean(&[]), 0.0);
    }
}
