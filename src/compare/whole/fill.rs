//! One characteristic of all participants, or one coupon round, put on the wire.
//!
//! Levels come in; scores, precision and pairs are asked of the modules that decide them.

use super::entrants::Field;
use super::pairs::{cabinet, lab_pairs, pair_count, pairs_on_wire};
use super::participants::{LabSide, participant};
use super::precision::{mark_coupons, precision_on_wire, precision_says, screening};
use super::scoring::{assigned, assigned_on_wire, sigma};
use crate::characteristic::Characteristic;
use crate::compare::level::Level;
use crate::compare::pair::{self, FactorStore, Pairs};
use crate::compare::precision::Precision;
use crate::compare::robust::{Constants, RobustEstimate, algorithm_a, median_nmad, q_hampel};
use crate::compare::score::{Scoring, SigmaPt};
use crate::lab::{CompareSettings, Window};
use crate::report::wire;

/// Pairs listed of each characteristic; all are judged and counted.
const MOST_PAIRS: usize = 200;

/// A cabinet with its level.
pub(super) struct Side {
    /// Index of the cabinet.
    pub(super) cabinet: usize,
    pub(super) level: Level,
    pub(super) instrument: pair::Instrument,
    pub(super) instrument_says: Option<String>,
    /// Its readings or coupons.
    pub(super) results: Vec<f64>,
    pub(super) outside: Option<(u64, u64)>,
    pub(super) calendar: String,
    pub(super) coupons: Vec<wire::Coupon>,
    /// Whether its distribution is put on the wire.
    pub(super) drawn: bool,
}

/// What all participants of a characteristic share.
pub(super) struct Task<'a> {
    pub(super) characteristic: &'a Characteristic,
    pub(super) round: Option<String>,
    pub(super) unit: String,
    pub(super) window: Option<(&'a Window, String)>,
    pub(super) settings: &'a CompareSettings,
    /// Characteristics that share the error rate.
    pub(super) family: usize,
    pub(super) sides: Vec<Side>,
    /// Cabinets without a level, and why.
    pub(super) without: Vec<(usize, String)>,
}

/// One or two of the instrument in words.
pub(super) fn instrument_words(characteristic: &Characteristic) -> (&'static str, &'static str) {
    match characteristic {
        Characteristic::CabinetTemperature | Characteristic::TowerTemperature => {
            ("thermometer", "thermometers")
        }
        Characteristic::AirPressure => ("pressure gauge", "pressure gauges"),
        Characteristic::CollectionNear
        | Characteristic::CollectionFar
        | Characteristic::CollectionRate
        | Characteristic::CollectionSpread => ("set of collectors", "sets of collectors"),
        Characteristic::Ph => ("pH meter", "pH meters"),
        Characteristic::SpecificGravity | Characteristic::SaltConcentration => {
            ("hydrometer", "hydrometers")
        }
        Characteristic::CouponMassLoss => ("balance", "balances"),
        Characteristic::Own(_) => ("instrument", "instruments"),
    }
}

/// The wire entry of a task.
pub(super) fn fill(
    task: Task<'_>,
    field: &Field<'_>,
    store: &mut FactorStore,
) -> wire::ComparedCharacteristic {
    let means: Vec<f64> = task.sides.iter().map(|s| s.level.mean).collect();
    let consensus = algorithm_a(&means, Constants::Exact).ok();
    let robust = [
        consensus,
        median_nmad(&means, Constants::Exact).ok(),
        q_hampel(&means).ok(),
    ];
    let screening = screening(&task);
    let (sigma, sigma_says) = sigma(&task, screening.as_ref().ok(), consensus.as_ref());
    let assigned = assigned(&task, consensus.as_ref());
    let scoring = match (&assigned, &sigma) {
        (Ok(assigned), Some(sigma)) => Some(Scoring {
            assigned: *assigned,
            sigma: *sigma,
        }),
        _ => None,
    };
    let margin = task
        .settings
        .margin(task.characteristic, task.window.as_ref().map(|(w, _)| *w));
    let how = pair_settings(&task, margin.value);
    let cabinets: Vec<pair::Cabinet<'_>> = task.sides.iter().map(cabinet).collect();
    let pairs = pair::judge_cabinets(&cabinets, &how, store);
    let lab_sides = LabSide::of(&task.sides, field);
    let lab_pairs = lab_pairs(&task.sides, &lab_sides, &how, store);
    let ids: Vec<&str> = (task.sides.iter())
        .map(|s| field.cabinets[s.cabinet].id.as_str())
        .collect();
    let mut participants: Vec<wire::Participant> = task
        .sides
        .iter()
        .map(|side| participant(side, field, scoring.as_ref()))
        .collect();
    if let Ok(screening) = &screening {
        for (participant, cell) in participants.iter_mut().zip(&screening.all.cells) {
            participant.h = cell.h.ok();
            participant.k = cell.k.ok();
        }
        mark_coupons(&mut participants, screening);
    }
    let independent = task.round.is_some();
    let on_wire =
        |p: &Precision, left_out: &[usize]| precision_on_wire(p, &ids, left_out, independent);
    let pair_count = pair_count(pairs.as_ref().ok());
    let lab_ids: Vec<&str> = lab_sides
        .iter()
        .map(|l| field.labs[l.lab].id.as_str())
        .collect();
    let lab_errors: Vec<f64> = lab_sides.iter().map(|l| l.u_chance).collect();
    let lab_pairs = lab_pairs.map_or_else(Vec::new, |p| pairs_on_wire(&p, &lab_ids, &lab_errors));
    let errors: Vec<f64> = (task.sides.iter())
        .map(|s| s.level.standard_error)
        .collect();
    let window = task.window.as_ref().map(|(w, source)| wire::Window {
        lower: w.lower,
        upper: w.upper,
        source: source.clone(),
    });
    wire::ComparedCharacteristic {
        characteristic: task.characteristic.id().to_owned(),
        round: task.round.clone(),
        unit: task.unit.clone(),
        window,
        robust: robust.iter().flatten().map(estimate).collect(),
        assigned: assigned
            .as_ref()
            .ok()
            .map(|a| assigned_on_wire(a, sigma.as_ref())),
        sigma_p: sigma.as_ref().map(SigmaPt::value),
        sigma_p_says: sigma_says,
        labs: lab_sides
            .iter()
            .map(|lab| lab.participant(field, scoring.as_ref()))
            .collect(),
        precision: (screening.as_ref().ok()).and_then(|s| on_wire(&s.all, &[])),
        precision_without_outliers: screening.as_ref().ok().and_then(|s| {
            let without = s.without_outliers.as_ref()?;
            on_wire(without, &s.left_out)
        }),
        precision_says: precision_says(&task, &screening, field),
        margin: margin.value,
        margin_says: margin.says,
        says: says(&task, field, &pairs, &pair_count),
        pairs: pairs.map_or_else(|_| Vec::new(), |p| pairs_on_wire(&p, &ids, &errors)),
        lab_pairs,
        pair_count,
        participants,
    }
}

fn pair_settings(task: &Task<'_>, margin: Option<f64>) -> pair::Settings {
    let (instrument, instruments) = instrument_words(task.characteristic);
    pair::Settings {
        characteristics: task.family,
        margin,
        listed: MOST_PAIRS,
        unit: task.unit.clone(),
        instrument: instrument.to_owned(),
        instruments: instruments.to_owned(),
    }
}

fn estimate(found: &RobustEstimate) -> wire::RobustEstimate {
    wire::RobustEstimate {
        method: found.method().id().to_owned(),
        centre: found.centre(),
        spread: found.spread(),
    }
}

fn says(
    task: &Task<'_>,
    field: &Field<'_>,
    pairs: &Result<Pairs, pair::NoPairs>,
    count: &wire::PairCount,
) -> String {
    let mut says = match pairs {
        Err(why) => {
            let text = why.to_string();
            format!("{}.", crate::report::format::capital(&text))
        }
        Ok(_) if count.all == 1 => String::new(),
        Ok(_) => format!(
            "Of {} pairs of cabinets, {} differ by more than instruments and chance explain, {} \
             agree within the margin, and of {} it cannot be told.",
            count.all, count.differ, count.agree, count.cannot_tell
        ),
    };
    if let (Ok(pairs), 1) = (pairs, count.all)
        && let Some(pair) = pairs.listed.first()
    {
        let name = |i: usize| {
            let side = task.sides.get(i);
            side.map_or("", |s| field.cabinets[s.cabinet].name.as_str())
        };
        says = format!("{} and {}: {}", name(pair.a), name(pair.b), pair.says);
    }
    if !task.without.is_empty() {
        const MOST: usize = 4;
        let told: Vec<String> = task
            .without
            .iter()
            .take(MOST)
            .map(|(cabinet, why)| format!("{} ({why})", field.cabinets[*cabinet].name))
            .collect();
        let more = task.without.len().saturating_sub(MOST);
        says.push_str(&format!(" Left out: {}", told.join("; ")));
        match more {
            0 => says.push('.'),
            more => says.push_str(&format!("; and {more} more.")),
        }
    }
    says.trim().to_owned()
}
