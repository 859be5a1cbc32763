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
}

impl Offset {
    /// The part of `instrument` with `weight`; `known` numbers the identifiers.
    pub(super) fn of<'a>(
        instrument: &'a Instrument,
        weight: f64,
        known: &mut BTreeMap<&'a str, usize>,
    ) -> Offset {
        let u = Some(instrument.standard_uncertainty)
            .filter(|u| u.is_finite() && *u > 0.0)
            .unwrap_or(0.0);
        let id = instrument.id.as_deref().map(|id| {
            let next = known.len();
            *known.entry(id).or_insert(next)
        });
        Offset {
            id,
            weight,
            variance: u * u,
        }
    }
}

/// The variance that the instruments give the difference of two means; equal instruments
/// cancel by their weights, the larger of two stated uncertainties counting for the rest.
pub(super) fn instruments_between(a: &[Offset], b: &[Offset]) -> f64 {
    if let ([one], [other]) = (a, b) {
        return match (one.id, other.id) {
            (Some(x), Some(y)) if x == y => 0.0,
            _ => one.variance + other.variance,
        };
    }
    let mut unknown = 0.0;
    let mut net: BTreeMap<usize, (f64, f64)> = BTreeMap::new();
    for (offsets, sign) in [(a, 1.0), (b, -1.0)] {
        for offset in offsets {
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
