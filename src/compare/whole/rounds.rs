//! Coupon rounds: the mass losses of all cabinets, round by round.

use super::coupon_levels::RoundCoupons;
use super::daily::{instrument, lab_of};
use super::entrants::Field;
use super::fill::{Side, Task, fill};
use crate::characteristic::Characteristic;
use crate::compare::level::{Pooled, level_of_results};
use crate::compare::pair::FactorStore;
use crate::issue::shown;
use crate::lab::{CompareSettings, RoundResult, against_precision, against_window, fold_name};
use crate::report::wire;
use std::collections::BTreeSet;

/// The wire entry of a round's mass losses.
pub(super) fn characteristic(
    round: &RoundCoupons<'_>,
    field: &Field<'_>,
    settings: &CompareSettings,
    family: usize,
    store: &mut FactorStore,
) -> wire::ComparedCharacteristic {
    let pooled = pooled(round);
    let (mut sides, mut without) = (Vec::new(), Vec::new());
    for (&cabinet, coupons) in &round.cabinets {
        let losses: Vec<f64> = coupons.iter().map(|c| c.mass_loss).collect();
        match level_of_results(&losses, pooled) {
            Ok(level) => {
                let stated = lab_of(field, cabinet).and_then(|lab| {
                    let id = &field.cabinets[cabinet].own_id;
                    lab.instrument(id, &Characteristic::CouponMassLoss)
                });
                sides.push(Side {
                    cabinet,
                    instrument: instrument(stated.as_ref(), level.mean),
                    instrument_says: stated.map(|i| i.says),
                    results: losses,
                    outside: outside(cabinet, round, field),
                    calendar: String::new(),
                    coupons: coupons
                        .iter()
                        .map(|c| wire::Coupon {
                            coupon: shown(&c.coupon),
                            place: c.place.as_deref().map(shown),
                            mass_loss: c.mass_loss,
                            marked: None,
                        })
                        .collect(),
                    drawn: false,
                    level,
                });
            }
            Err(why) => without.push((cabinet, why.to_string())),
        }
    }
    let window = window(round, field);
    let task = Task {
        characteristic: &Characteristic::CouponMassLoss,
        round: Some(round.name.clone()),
        unit: Characteristic::CouponMassLoss.unit().to_owned(),
        window: window.as_ref().map(|(w, says)| (w, says.clone())),
        settings,
        family,
        sides,
        without,
    };
    fill(task, field, store)
}

/// The repeatability pooled over the cabinets with two coupons and more: four coupons of
/// one cabinet tell little of their own spread.
fn pooled(round: &RoundCoupons<'_>) -> Option<Pooled> {
    let (mut squares, mut freedom) = (0.0, 0.0);
    for coupons in round.cabinets.values() {
        let losses: Vec<f64> = coupons.iter().map(|c| c.mass_loss).collect();
        if losses.len() > 1 {
            squares += crate::stats::sum::squares_about_mean(&losses);
            freedom += losses.len() as f64 - 1.0;
        }
    }
    (freedom > 0.0).then(|| Pooled {
        deviation: (squares / freedom).sqrt(),
        freedom,
    })
}

/// Coupons outside the window of the cabinet's own profile, where its hours are the round's.
fn outside(cabinet: usize, round: &RoundCoupons<'_>, field: &Field<'_>) -> Option<(u64, u64)> {
    let coupons = round.cabinets.get(&cabinet)?;
    let losses: Vec<f64> = coupons.iter().map(|c| c.mass_loss).collect();
    let lab = lab_of(field, cabinet)?;
    let hours = || coupons.iter().map(|c| c.hours);
    let judged = against_window(
        lab.profile_of(&field.cabinets[cabinet].own_id),
        &RoundResult {
            hours_least: hours().fold(f64::INFINITY, f64::min),
            hours_most: hours().fold(0.0, f64::max),
            mean: crate::stats::sum::mean(&losses)?,
            losses: &losses,
            s_r: None,
            s_reproducibility: None,
        },
    );
    Some((judged.outside? as u64, losses.len() as u64))
}

/// The window of mass loss of the first cabinet that has one for these hours.
fn window(round: &RoundCoupons<'_>, field: &Field<'_>) -> Option<(crate::lab::Window, String)> {
    let (&cabinet, lab) = round
        .cabinets
        .keys()
        .find_map(|c| lab_of(field, *c).map(|lab| (c, lab)))?;
    let id = &field.cabinets[cabinet].own_id;
    outside(cabinet, round, field)?;
    let window = lab.window(id, &Characteristic::CouponMassLoss)?;
    let profile = lab.profile_of(id).map_or("lab.toml", |p| p.title.as_str());
    Some((window.clone(), format!("{profile}; {}", window.source)))
}

/// The round for the head of its section.
pub(super) fn summary(
    round: &RoundCoupons<'_>,
    compared: &wire::ComparedCharacteristic,
    field: &Field<'_>,
) -> wire::Round {
    let hours = || round.each().map(|(_, c)| c.hours);
    let losses: Vec<f64> = round.each().map(|(_, c)| c.mass_loss).collect();
    let date = |cabinet: usize, at| {
        let zone = lab_of(field, cabinet).map_or(crate::time::Zone::AS_WRITTEN, |lab| lab.zone);
        zone.date(at)
    };
    let from = round
        .each()
        .map(|(cabinet, c)| date(cabinet, c.start))
        .min();
    let to = round
        .each()
        .map(|(cabinet, c)| date(cabinet, c.start.plus_days(c.hours / 24.0)))
        .max();
    let labs: BTreeSet<usize> = round
        .cabinets
        .keys()
        .map(|&c| field.cabinets[c].lab)
        .collect();
    let result = RoundResult {
        hours_least: hours().fold(f64::INFINITY, f64::min),
        hours_most: hours().fold(0.0, f64::max),
        mean: crate::stats::sum::mean(&losses).unwrap_or(f64::NAN),
        losses: &losses,
        s_r: compared.precision.as_ref().map(|p| p.s_r),
        s_reproducibility: compared.precision.as_ref().map(|p| p.s_reproducibility),
    };
    let profile = (round.cabinets.keys())
        .find_map(|&cabinet| lab_of(field, cabinet)?.profile_of(&field.cabinets[cabinet].own_id));
    let mut says = vec![
        against_window(profile, &result).says,
        against_precision(&result).says,
    ];
    if labs.len() < 2 {
        says.push("One lab took part: its cabinets are compared with each other only.".to_owned());
    }
    let text = |date: Option<chrono::NaiveDate>| date.map_or_else(String::new, |d| d.to_string());
    wire::Round {
        id: round.name.clone(),
        from: text(from),
        to: text(to),
        hours_least: result.hours_least,
        hours_most: result.hours_most,
        labs: labs.len() as u64,
        cabinets: round.cabinets.len() as u64,
        coupons: losses.len() as u64,
        blank_says: match round.blanks.is_empty() {
            true => "No blank coupons were cleaned with the batch: nothing was taken off for \
                     cleaning."
                .to_owned(),
            false => round.blanks.join(" "),
        },
        says,
    }
}

/// Whether two names are of one round.
pub(super) fn same_round(a: &str, b: &str) -> bool {
    fold_name(a) == fold_name(b)
}
