//! One pair: the mass loss that goes with each measured difference, ranked, and the rest.
//!
//! The sensitivities are given; nothing is fitted here. A difference within what the
//! instruments explain has nothing laid to it, so it is not part of what is explained.
//! Association: that a share goes with a characteristic does not say that it causes it.

use super::check_next;
use super::draws::{self, COUPLES, Draws, Ends};
use super::input::{CouponDifference, Difference, MismatchError, checked};
use super::say;
use super::sensitivity::{Method, Sensitivities, Sensitivity};
use crate::stats::tails::t_exceeded;
use std::cmp::Ordering;

/// The instruments explain a difference up to this many standard uncertainties (k = 2).
pub const COVERAGE: f64 = 2.0;

/// A number with its 95 % interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Amount {
    /// The estimate.
    pub point: f64,
    /// Its interval.
    pub ends: Ends,
}

/// A characteristic's part in the coupon difference of a pair.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// Identifier of the characteristic.
    pub characteristic: String,
    /// Its unit.
    pub unit: String,
    /// Measured difference, `a` less `b`.
    pub difference: f64,
    /// Low end of its 95 % interval, chance and instruments.
    pub low: f64,
    /// High end.
    pub high: f64,
    /// Whether the instruments' expanded uncertainty (k = 2) covers the difference.
    pub instruments_explain: bool,
    /// Change of mass loss per unit, g/m² over the exposure of the pair; `None` when unknown.
    pub sensitivity: Option<f64>,
    /// Its standard uncertainty.
    pub sensitivity_u: Option<f64>,
    /// Mass loss that goes with the difference, g/m²; `None` when the sensitivity is
    /// unknown, and when the instruments explain the difference.
    pub mass_loss: Option<Amount>,
    /// For a difference that the instruments explain: what would go with it were it real.
    pub mass_loss_if_real: Option<Amount>,
    /// Share of the coupon difference, negative when it points the other way; `None` as
    /// `mass_loss`, and when the coupon difference may be 0 or its uncertainty is unknown.
    pub share: Option<Amount>,
    /// 1 goes with most of the difference.
    pub rank: u64,
    /// The row in a sentence.
    pub says: String,
}

/// How far the measured differences of a pair go with its coupon difference.
#[derive(Debug, Clone, PartialEq)]
pub struct PairExplanation {
    /// The one.
    pub a: String,
    /// The other.
    pub b: String,
    /// Rounds it rests on.
    pub rounds: Vec<String>,
    /// Coupon difference, `a` less `b`, g/m².
    pub difference: f64,
    /// Its 95 % interval; `None` when its uncertainty is unknown.
    pub ends: Option<Ends>,
    /// Where the sensitivities come from.
    pub method: Method,
    /// Why that method.
    pub method_says: String,
    /// The rows, by rank.
    pub parts: Vec<Part>,
    /// Coupon difference less all that is laid to characteristics, g/m²; `None` when
    /// nothing could be laid to any because no sensitivity is known.
    pub unexplained: Option<f64>,
    /// Its 95 % interval; `None` also when the coupons' uncertainty is unknown.
    pub unexplained_ends: Option<Ends>,
    /// The explanation in a few sentences.
    pub says: String,
    /// What to check next, in order; empty when the coupons show no difference.
    pub check_next: Vec<String>,
}

/// A row on its way: what is known, before rank and words.
pub(super) struct Row<'a> {
    pub(super) from: &'a Difference,
    pub(super) part: Part,
    /// Mass loss drawn, mirrored couples.
    draws: Option<Vec<f64>>,
}

impl Row<'_> {
    /// How many standard uncertainties the difference is from 0.
    pub(super) fn clearness(&self) -> f64 {
        let u = self.from.u_chance.hypot(self.from.u_instruments);
        match self.part.difference.abs() {
            0.0 => 0.0,
            size if u > 0.0 => size / u,
            _ => f64::INFINITY,
        }
    }
}

/// What of a pair's coupon difference goes with which measured difference.
///
/// Intervals come from seeded draws of sensitivity, difference (normal) and coupon
/// difference (Student's t with its degrees of freedom); sensitivities keep their
/// correlation. The same input gives the same output. Exchanging `a` and `b` turns all
/// signs; the unit of a characteristic does not matter.
///
/// Rows are ranked by share; without shares by the size of the mass loss; then those of
/// unknown sensitivity by how clear the difference is; last those that the instruments
/// explain.
///
/// # Errors
///
/// [`MismatchError::NotANumber`] when a difference, uncertainty or exposure is no usable
/// number.
///
/// ```
/// use steadyfog::compare::mismatch::*;
/// let catch = Named { id: "collection-rate".into(), spoken: "collection rate".into(), unit: "mL/h".into() };
/// let stated = StatedSensitivity {
///     characteristic: "collection-rate".into(), per_unit: 30.0, uncertainty: 8.0, hours: 48.0,
///     source: "own trial".into(),
/// };
/// let known = sensitivities(&[], &[stated], &[catch.clone()], 48.0);
/// let coupons = CouponDifference {
///     a: "harbour".into(), a_name: "Harbour".into(), b: "bench".into(), b_name: "Bench".into(),
///     rounds: vec!["2026-1".into()], hours: 48.0, difference: -9.0, u: Some(1.5), df: None,
/// };
/// let checks = [Difference {
///     characteristic: catch, difference: -0.25, u_chance: 0.02, u_instruments: 0.02,
/// }];
/// let told = explain(&coupons, &checks, &known)?;
/// let row = &told.parts[0];
/// assert_eq!(row.mass_loss.map(|m| m.point), Some(-7.5));
/// assert!(row.share.is_some_and(|s| (s.point - 7.5 / 9.0).abs() < 1e-12));
/// assert_eq!(told.unexplained, Some(-1.5));
/// # Ok::<(), MismatchError>(())
/// ```
pub fn explain(
    coupons: &CouponDifference,
    differences: &[Difference],
    known: &Sensitivities,
) -> Result<PairExplanation, MismatchError> {
    check(coupons, differences)?;
    let loss = coupons.difference;
    let reach = coupons.u.map(|u| t_factor(coupons.df) * u);
    let ends = reach.map(|reach| Ends {
        low: loss - reach,
        high: loss + reach,
    });
    let shares = ends.is_some_and(|ends| !ends.cover_zero());
    let loss_draws = coupons.u.map(|u| {
        let mut draws = Draws::stream(0);
        mirrored(loss, (0..COUPLES).map(|_| u * draws.t(coupons.df)))
    });
    // Streams go by identifier, so that the order of the input does not matter.
    let mut ordered: Vec<&Difference> = differences.iter().collect();
    ordered.sort_by(|x, y| x.characteristic.id.cmp(&y.characteristic.id));
    let mut rows: Vec<Row<'_>> = ordered
        .into_iter()
        .zip(1_000u64..)
        .map(|(difference, stream)| {
            let sensitivity = known.known.get(&difference.characteristic.id);
            row(difference, sensitivity, coupons.hours / known.hours, stream)
        })
        .collect();
    let (mut laid, mut rest_draws) = (0.0, loss_draws.clone());
    for row in &mut rows {
        let (Some(amount), Some(draws)) = (row.part.mass_loss, &row.draws) else {
            continue;
        };
        laid += amount.point;
        if let Some(rest) = &mut rest_draws {
            rest.iter_mut()
                .zip(draws)
                .for_each(|(rest, part)| *rest -= part);
        }
        if let (true, Some(whole)) = (shares, &loss_draws) {
            let ratio = draws.iter().zip(whole).map(|(part, whole)| part / whole);
            row.part.share = draws::ends(ratio.collect()).map(|ends| Amount {
                point: amount.point / loss,
                ends,
            });
        }
    }
    rows.sort_by(ranked);
    for (row, rank) in rows.iter_mut().zip(1..) {
        row.part.rank = rank;
        row.part.says = say::row(row, coupons, known);
    }
    let any_known = rows.iter().any(|row| row.part.sensitivity.is_some());
    let mut told = PairExplanation {
        a: coupons.a.clone(),
        b: coupons.b.clone(),
        rounds: coupons.rounds.clone(),
        difference: loss,
        ends,
        method: known.method,
        method_says: known.method_says.clone(),
        parts: Vec::new(),
        unexplained: any_known.then_some(loss - laid),
        unexplained_ends: rest_draws.filter(|_| any_known).and_then(draws::ends),
        says: String::new(),
        check_next: Vec::new(),
    };
    told.says = say::pair(&told, &rows, coupons);
    told.check_next = check_next::list(&told, &rows, coupons);
    told.parts = rows.into_iter().map(|row| row.part).collect();
    Ok(told)
}

fn check(coupons: &CouponDifference, differences: &[Difference]) -> Result<(), MismatchError> {
    let least = f64::NEG_INFINITY;
    checked(coupons.difference, least, "the coupon difference")?;
    checked(coupons.hours, f64::MIN_POSITIVE, "the hours of exposure")?;
    if let Some(u) = coupons.u {
        checked(u, 0.0, "the uncertainty of the coupon difference")?;
    }
    if let Some(df) = coupons.df {
        checked(df, 1.0, "the degrees of freedom of the coupon difference")?;
    }
    for one in differences {
        let name = &one.characteristic.spoken;
        checked(one.difference, least, &format!("the difference of {name}"))?;
        checked(
            one.u_chance,
            0.0,
            &format!("the uncertainty of the difference of {name}"),
        )?;
        checked(
            one.u_instruments,
            0.0,
            &format!("the instruments' uncertainty of {name}"),
        )?;
    }
    Ok(())
}

/// 97.5 % point of Student's t, of the normal distribution without degrees of freedom.
fn t_factor(df: Option<f64>) -> f64 {
    df.and_then(|df| t_exceeded(0.025, df))
        .unwrap_or(say::NORMAL_95)
}

/// The measured value with each deviation added and taken away.
fn mirrored(centre: f64, deviations: impl Iterator<Item = f64>) -> Vec<f64> {
    deviations
        .flat_map(|off| [centre + off, centre - off])
        .collect()
}

fn row<'a>(
    from: &'a Difference,
    sensitivity: Option<&Sensitivity>,
    hours: f64,
    stream: u64,
) -> Row<'a> {
    let size = from.difference;
    let u = from.u_chance.hypot(from.u_instruments);
    let limit = COVERAGE * from.u_instruments;
    // No difference at all is not "explained by instruments" that have no uncertainty.
    let instruments_explain = size.abs() <= limit && limit > 0.0;
    let product = sensitivity.and_then(|one| {
        let mut draws = Draws::stream(stream);
        let sizes = mirrored(size, (0..COUPLES).map(|_| u * draws.normal()));
        let slopes = one.draws.iter().flat_map(|slope| [*slope, *slope]);
        let parts: Vec<f64> = sizes
            .iter()
            .zip(slopes)
            .map(|(d, slope)| d * slope * hours)
            .collect();
        let ends = draws::ends(parts.clone())?;
        let point = one.value * hours * size;
        Some((Amount { point, ends }, parts))
    });
    let amount = product.as_ref().map(|(amount, _)| *amount);
    Row {
        from,
        draws: product
            .filter(|_| !instruments_explain)
            .map(|(_, parts)| parts),
        part: Part {
            characteristic: from.characteristic.id.clone(),
            unit: from.characteristic.unit.clone(),
            difference: size,
            low: size - say::NORMAL_95 * u,
            high: size + say::NORMAL_95 * u,
            instruments_explain,
            sensitivity: sensitivity.map(|one| one.value * hours),
            sensitivity_u: sensitivity.map(|one| one.u * hours),
            mass_loss: amount.filter(|_| !instruments_explain),
            mass_loss_if_real: amount.filter(|_| instruments_explain),
            share: None,
            rank: 0,
            says: String::new(),
        },
    }
}

/// Order of the rows; ties by identifier, so that the order of the input does not matter.
fn ranked(left: &Row<'_>, right: &Row<'_>) -> Ordering {
    let group = |row: &Row<'_>| match (row.part.instruments_explain, row.part.mass_loss) {
        (false, Some(_)) => 0,
        (false, None) => 1,
        (true, _) => 2,
    };
    let size = |row: &Row<'_>| match (row.part.share, row.part.mass_loss) {
        (Some(share), _) => share.point,
        (None, Some(amount)) => amount.point.abs(),
        (None, None) => row.clearness(),
    };
    group(left)
        .cmp(&group(right))
        .then_with(|| size(right).total_cmp(&size(left)))
        .then_with(|| left.part.characteristic.cmp(&right.part.characteristic))
}
