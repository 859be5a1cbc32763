//! Which measured differences go with a coupon difference, pair by pair.
//!
//! Pairs of labs when several labs have coupons of a round, else pairs of cabinets. The
//! shares are computed in `mismatch`; here its input is gathered from what was compared.

use super::coupon_levels::RoundCoupons;
use super::daily::{instrument, lab_of};
use super::entrants::Field;
use super::members::{Measured, Member};
use super::rounds::same_round;
use crate::characteristic::Characteristic;
use crate::compare::mismatch::{
    self, Amount, CouponDifference, Difference, Level, Named, Observation, PairExplanation,
    Sensitivities, StatedSensitivity, coupon_difference, explain, sensitivities,
};
use crate::compare::pair::FAMILY_ERROR as ERROR_RATE;
use crate::report::wire;
use crate::stats::{normal, sum, tails};
use std::collections::BTreeMap;

/// Days before and after an exposure whose checks tell how the cabinet ran: fewer than
/// eight checks fall within a two-day exposure.
const DAYS_AROUND: f64 = 7.0;
/// Pairs explained; the clearest differences come first.
const MOST_PAIRS: usize = 30;

/// What was compared, and what it was compared from.
pub(super) struct Sources<'a> {
    pub(super) field: &'a Field<'a>,
    pub(super) measured: &'a [Measured],
    pub(super) daily: &'a [wire::ComparedCharacteristic],
    pub(super) rounds: &'a [RoundCoupons<'a>],
    /// The wire entries of the rounds, in the same order.
    pub(super) losses: &'a [wire::ComparedCharacteristic],
}

/// The rows and the explanations, as they go on the wire.
#[derive(Default)]
pub(super) struct Account {
    pub(super) rows: Vec<wire::Mismatch>,
    pub(super) explanations: Vec<wire::Explanation>,
}

/// The account of every pair with a round in common.
pub(super) fn account(sources: &Sources<'_>) -> Account {
    let named = named(sources.measured);
    let of_cabinets = observations(sources, &named);
    let hours: Vec<f64> = of_cabinets.iter().map(|o| o.hours).collect();
    let Some(hours) = sum::mean(&hours) else {
        return Account::default();
    };
    let stated = stated(sources.field);
    let known = sensitivities(&of_cabinets, &stated, &named, hours);
    let of_labs = lab_observations(&of_cabinets, sources.field);
    let labs = of_labs.len() > 1;
    let mut coupons = match labs {
        true => lab_differences(&of_labs, sources.field),
        false => cabinet_differences(&of_cabinets, sources),
    };
    let clearness = |d: &CouponDifference| d.u.map_or(0.0, |u| d.difference.abs() / u.max(1e-12));
    coupons.sort_by(|x, y| clearness(y).total_cmp(&clearness(x)));
    coupons.truncate(MOST_PAIRS);
    let mut account = Account::default();
    let pairs = coupons.len();
    for coupons in &coupons {
        let checks = differences(coupons, labs, sources.daily, &named);
        if let Ok(explained) = explain(coupons, &checks, &known) {
            account.add(
                &explained,
                coupons,
                clear_of_chance(coupons, pairs),
                &known,
                sources,
            );
        }
    }
    account
}

/// Characteristics that may go with mass loss: each measurement once, not what is made of it.
fn named(measured: &[Measured]) -> Vec<Named> {
    let enters = |c: &Characteristic| {
        !matches!(
            c,
            Characteristic::CollectionNear
                | Characteristic::CollectionFar
                | Characteristic::SpecificGravity
                | Characteristic::CouponMassLoss
        )
    };
    measured
        .iter()
        .filter(|m| enters(&m.characteristic))
        .map(|m| Named {
            id: m.characteristic.id().to_owned(),
            spoken: m.characteristic.spoken().to_owned(),
            unit: m.unit.clone(),
        })
        .collect()
}

/// Sensitivities that labs state: where two state one, the lab named first is believed.
fn stated(field: &Field<'_>) -> Vec<StatedSensitivity> {
    let mut stated: Vec<StatedSensitivity> = Vec::new();
    for lab in field.labs.iter().filter_map(|lab| lab.entrant) {
        for found in &lab.lab.sensitivities {
            let id = found.characteristic.id();
            if stated.iter().all(|s| s.characteristic != id) {
                stated.push(StatedSensitivity {
                    characteristic: id.to_owned(),
                    per_unit: found.per_unit,
                    uncertainty: found.uncertainty,
                    hours: found.hours,
                    source: format!("{}: {}", crate::issue::shown(&lab.lab.name), found.source),
                });
            }
        }
    }
    stated
}

/// Every cabinet in every round, without the coupons marked as outliers.
fn observations(sources: &Sources<'_>, named: &[Named]) -> Vec<Observation> {
    let mut all = Vec::new();
    for (round, losses) in sources.rounds.iter().zip(sources.losses) {
        let precision = (losses.precision_without_outliers.as_ref()).or(losses.precision.as_ref());
        for (&cabinet, coupons) in &round.cabinets {
            let id = &sources.field.cabinets[cabinet].id;
            let Some(participant) = losses.participants.iter().find(|p| p.id == *id) else {
                continue;
            };
            let kept: Vec<f64> = participant
                .coupons
                .iter()
                .filter(|c| !is_outlier(c))
                .map(|c| c.mass_loss)
                .collect();
            let hours: Vec<f64> = coupons.iter().map(|c| c.hours).collect();
            let (Some(mass_loss), Some(hours)) = (sum::mean(&kept), sum::mean(&hours)) else {
                continue;
            };
            all.push(Observation {
                round: round.name.clone(),
                participant: id.clone(),
                hours,
                mass_loss,
                u: precision.map(|p| p.s_r / (kept.len() as f64).sqrt()),
                values: levels_around(cabinet, round, sources, named),
            });
        }
    }
    all
}

fn is_outlier(coupon: &wire::Coupon) -> bool {
    // A cabinet whose mean is an outlier may be the very thing to explain; a coupon far
    // from its neighbours in the same cabinet is not.
    coupon.marked.as_deref() == Some("cochran outlier")
}

fn levels_around(
    cabinet: usize,
    round: &RoundCoupons<'_>,
    sources: &Sources<'_>,
    named: &[Named],
) -> BTreeMap<String, Level> {
    let coupons = round.cabinets.get(&cabinet);
    let of = || coupons.into_iter().flatten();
    let start = of().map(|c| c.start.plus_days(-DAYS_AROUND)).min();
    let end = of()
        .map(|c| c.start.plus_days(c.hours / 24.0 + DAYS_AROUND))
        .max();
    let (Some(start), Some(end)) = (start, end) else {
        return BTreeMap::new();
    };
    let mut levels = BTreeMap::new();
    for measured in sources.measured {
        let id = measured.characteristic.id();
        let member: Option<&Member> = measured.members.iter().find(|m| m.cabinet == cabinet);
        let level = member.map(|m| m.level_during(start..end));
        let (Some(Ok(level)), true) = (level, named.iter().any(|n| n.id == id)) else {
            continue;
        };
        let stated = lab_of(sources.field, cabinet).and_then(|lab| {
            lab.instrument(
                &sources.field.cabinets[cabinet].own_id,
                &measured.characteristic,
            )
        });
        levels.insert(
            id.to_owned(),
            Level {
                mean: level.mean,
                u_chance: level.standard_error,
                u_instrument: instrument(stated.as_ref(), level.mean).standard(),
            },
        );
    }
    levels
}

/// A lab's mean over its cabinets in each round, with how many cabinets it rests on.
struct OfLab {
    lab: usize,
    cabinets: usize,
    observations: Vec<Observation>,
}

fn lab_observations(of_cabinets: &[Observation], field: &Field<'_>) -> Vec<OfLab> {
    let lab_of_id: BTreeMap<&str, usize> = (field.cabinets.iter())
        .map(|c| (c.id.as_str(), c.lab))
        .collect();
    let mut grouped: BTreeMap<(usize, &str), Vec<&Observation>> = BTreeMap::new();
    for observation in of_cabinets {
        if let Some(&lab) = lab_of_id.get(observation.participant.as_str()) {
            let key = (lab, observation.round.as_str());
            grouped.entry(key).or_default().push(observation);
        }
    }
    let mut labs: BTreeMap<usize, OfLab> = BTreeMap::new();
    for ((lab, round), all) in grouped {
        let means: Vec<f64> = all.iter().map(|o| o.mass_loss).collect();
        let hours: Vec<f64> = all.iter().map(|o| o.hours).collect();
        let (Some(mass_loss), Some(hours)) = (sum::mean(&means), sum::mean(&hours)) else {
            continue;
        };
        let count = all.len() as f64;
        let between = sum::standard_deviation(&means).map(|sd| sd / count.sqrt());
        let squares: Option<f64> = all.iter().map(|o| o.u.map(|u| u * u)).sum();
        let chance = squares.map(|s| s.sqrt() / count);
        let entry = labs.entry(lab).or_insert_with(|| OfLab {
            lab,
            cabinets: 0,
            observations: Vec::new(),
        });
        entry.cabinets = entry.cabinets.max(all.len());
        entry.observations.push(Observation {
            round: round.to_owned(),
            participant: field.labs[lab].id.clone(),
            hours,
            mass_loss,
            u: match (between, chance) {
                (Some(b), Some(c)) => Some(b.max(c)),
                (one, other) => one.or(other),
            },
            values: BTreeMap::new(),
        });
    }
    labs.into_values().collect()
}

fn lab_differences(labs: &[OfLab], field: &Field<'_>) -> Vec<CouponDifference> {
    let mut all = Vec::new();
    for (i, a) in labs.iter().enumerate() {
        for b in &labs[i + 1..] {
            let both: Vec<Observation> = (a.observations.iter().chain(&b.observations))
                .cloned()
                .collect();
            let (one, other) = (&field.labs[a.lab], &field.labs[b.lab]);
            if let Ok(mut found) = coupon_difference(&both, &one.id, &other.id) {
                found.a_name.clone_from(&one.name);
                found.b_name.clone_from(&other.name);
                // What makes a cabinet corrode more or less stays from round to round.
                let freedom = (a.cabinets + b.cabinets).saturating_sub(2);
                found.df = (freedom > 0).then_some(freedom as f64);
                all.push(found);
            }
        }
    }
    all
}

fn cabinet_differences(all: &[Observation], sources: &Sources<'_>) -> Vec<CouponDifference> {
    let cabinets = &sources.field.cabinets;
    let with_coupons: Vec<_> = cabinets
        .iter()
        .filter(|c| all.iter().any(|o| o.participant == c.id))
        .collect();
    let freedom = degrees_within(sources);
    let mut differences = Vec::new();
    for (i, a) in with_coupons.iter().enumerate() {
        for b in &with_coupons[i + 1..] {
            if let Ok(mut found) = coupon_difference(all, &a.id, &b.id) {
                found.a_name.clone_from(&a.name);
                found.b_name.clone_from(&b.name);
                found.df = freedom;
                differences.push(found);
            }
        }
    }
    differences
}

/// Degrees of freedom of the pooled repeatability over all rounds.
fn degrees_within(sources: &Sources<'_>) -> Option<f64> {
    let of_round = |p: &wire::Precision| p.results.saturating_sub(p.participants);
    let precision = sources.losses.iter().filter_map(|l| l.precision.as_ref());
    let all: u64 = precision.map(of_round).sum();
    (all > 0).then_some(all as f64)
}

/// How the daily checks of the pair differ, from what was compared.
fn differences(
    coupons: &CouponDifference,
    labs: bool,
    daily: &[wire::ComparedCharacteristic],
    named: &[Named],
) -> Vec<Difference> {
    named
        .iter()
        .filter_map(|named| {
            let compared = daily.iter().find(|c| c.characteristic == named.id)?;
            let (among, pairs) = match labs {
                true => (&compared.labs, &compared.lab_pairs),
                false => (&compared.participants, &compared.pairs),
            };
            let of = |id: &str| among.iter().find(|p| p.id == id);
            let (a, b) = (of(&coupons.a)?, of(&coupons.b)?);
            let pair = pairs
                .iter()
                .find(|p| (p.a == a.id && p.b == b.id) || (p.a == b.id && p.b == a.id));
            let apart = a.u_instrument?.hypot(b.u_instrument?);
            Some(Difference {
                characteristic: named.clone(),
                difference: a.mean - b.mean,
                u_chance: a.u_chance?.hypot(b.u_chance?),
                u_instruments: pair
                    .and_then(|p| p.u_instruments)
                    .map_or(apart, |u| u / crate::compare::pair::COVERAGE_FACTOR),
            })
        })
        .collect()
}

/// Whether a coupon difference is clear of chance among so many pairs (Bonferroni).
///
/// Of many pairs the clearest is explained first: its own 95 % interval would call too many
/// of them different.
fn clear_of_chance(coupons: &CouponDifference, pairs: usize) -> bool {
    let Some(u) = coupons.u.filter(|u| *u > 0.0) else {
        return false;
    };
    let tail = 0.5 * ERROR_RATE / pairs.max(1) as f64;
    let reach = match coupons.df {
        Some(df) => tails::t_exceeded(tail, df),
        None => normal::quantile(1.0 - tail),
    };
    reach.is_some_and(|reach| coupons.difference.abs() > reach * u)
}

impl Account {
    fn add(
        &mut self,
        explained: &PairExplanation,
        coupons: &CouponDifference,
        clear: bool,
        known: &Sensitivities,
        sources: &Sources<'_>,
    ) {
        self.rows
            .extend(explained.parts.iter().map(|p| row(explained, p)));
        let evidence = evidence(coupons, known, sources);
        self.explanations.push(wire::Explanation {
            a: explained.a.clone(),
            b: explained.b.clone(),
            rounds: explained.rounds.clone(),
            difference: explained.difference,
            low: explained.ends.map(|e| e.low),
            high: explained.ends.map(|e| e.high),
            clear,
            method: explained.method.word().to_owned(),
            method_says: explained.method_says.clone(),
            unexplained: explained.unexplained,
            unexplained_low: explained.unexplained_ends.map(|e| e.low),
            unexplained_high: explained.unexplained_ends.map(|e| e.high),
            says: explained.says.clone(),
            check_next: explained.check_next.clone(),
            evidence,
        });
    }
}

fn row(explained: &PairExplanation, part: &mismatch::Part) -> wire::Mismatch {
    let point = |a: Option<Amount>| a.map(|a| a.point);
    let low = |a: Option<Amount>| a.map(|a| a.ends.low);
    let high = |a: Option<Amount>| a.map(|a| a.ends.high);
    wire::Mismatch {
        a: explained.a.clone(),
        b: explained.b.clone(),
        characteristic: part.characteristic.clone(),
        unit: part.unit.clone(),
        difference: part.difference,
        low: part.low,
        high: part.high,
        instruments_explain: part.instruments_explain,
        sensitivity: part.sensitivity,
        sensitivity_u: part.sensitivity_u,
        mass_loss: point(part.mass_loss),
        mass_loss_low: low(part.mass_loss),
        mass_loss_high: high(part.mass_loss),
        share_explained: point(part.share),
        share_low: low(part.share),
        share_high: high(part.share),
        rank: part.rank,
        says: part.says.clone(),
    }
}

/// The round means of the two, and the coupons that were left out of them.
fn evidence(
    coupons: &CouponDifference,
    known: &Sensitivities,
    sources: &Sources<'_>,
) -> Vec<wire::Evidence> {
    let plain = |says: String| wire::Evidence {
        says,
        signal: None,
        chart: None,
    };
    let mut all = Vec::new();
    for losses in sources.losses {
        let Some(round) = &losses.round else { continue };
        if !coupons.rounds.iter().any(|r| same_round(r, round)) {
            continue;
        }
        let mean = |id: &str| {
            let everybody = losses.labs.iter().chain(&losses.participants);
            everybody.filter(|p| p.id == id).map(|p| p.mean).next()
        };
        if let (Some(a), Some(b)) = (mean(&coupons.a), mean(&coupons.b)) {
            all.push(plain(format!(
                "Round {round}: {} {a:.1} g/m², {} {b:.1} g/m².",
                coupons.a_name, coupons.b_name
            )));
        }
        for participant in &losses.participants {
            let concerned = [&participant.id, &participant.lab];
            if !concerned.contains(&&coupons.a) && !concerned.contains(&&coupons.b) {
                continue;
            }
            for coupon in participant.coupons.iter().filter(|c| is_outlier(c)) {
                all.push(plain(format!(
                    "Round {round}: coupon {} of {} ({:.1} g/m²) is an outlier among its \
                     neighbours and is left out of the explanation; the tables show it.",
                    coupon.coupon, participant.name, coupon.mass_loss
                )));
            }
        }
    }
    if known.observations > 0 {
        all.push(plain(format!(
            "{} observations of {} cabinets in {} rounds.",
            known.observations, known.participants, known.rounds
        )));
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_clear_of_chance_alone_may_not_be_among_many() {
        let difference = |difference: f64, u: Option<f64>| CouponDifference {
            a: "a".into(),
            a_name: "A".into(),
            b: "b".into(),
            b_name: "B".into(),
            rounds: vec!["1".into()],
            hours: 48.0,
            difference,
            u,
            df: None,
        };
        assert!(clear_of_chance(&difference(-2.3, Some(1.0)), 1));
        assert!(!clear_of_chance(&difference(-2.3, Some(1.0)), 6));
        assert!(clear_of_chance(&difference(-2.7, Some(1.0)), 6));
        assert!(!clear_of_chance(&difference(9.0, None), 1));
    }
}
