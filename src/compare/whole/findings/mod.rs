//! What the reader of a comparison must know, most urgent first.
//!
//! Verdicts were decided where pairs, scores and shares were computed; here they become
//! ranked sentences with evidence and with where to look first.

mod coupons;
mod differences;

use super::entrants::Field;
use super::method;
use crate::characteristic::Characteristic;
use crate::report::format::{capital, count};
use crate::report::wire;
use coupons::{coupons, mismatches};
use differences::{by_instruments, differing, scattering, scored};
use std::collections::BTreeMap;

/// Findings of one kind told at most; the rest is in the tables.
const MOST_OF_A_KIND: usize = 12;

/// A finding before it has its rank.
struct Draft {
    urgency: &'static str,
    id: String,
    cabinet: Option<String>,
    characteristic: Option<String>,
    sentence: String,
    evidence: Vec<String>,
    /// The section of the page that it can be seen in.
    chart: Option<String>,
    look_at: Vec<String>,
}

/// The findings, ranked.
pub(super) fn findings(comparison: &wire::Comparison, field: &Field<'_>) -> Vec<wire::Finding> {
    let names: BTreeMap<&str, &str> = (comparison.labs.iter())
        .flat_map(|lab| {
            let cabinets = lab
                .cabinets
                .iter()
                .map(|c| (c.id.as_str(), c.name.as_str()));
            cabinets.chain([(lab.id.as_str(), lab.name.as_str())])
        })
        .collect();
    let name = |id: &str| names.get(id).copied().unwrap_or(id).to_owned();
    let mut drafts = mismatches(comparison, &name);
    drafts.extend(differing(comparison, &name));
    drafts.extend(by_instruments(comparison, &name));
    drafts.extend(scattering(comparison, &name));
    drafts.extend(scored(comparison));
    drafts.extend(coupons(comparison));
    drafts.extend(nothing_found(comparison, &drafts));
    drafts.extend(method::profiles(field).map(|sentence| Draft {
        urgency: "records",
        id: "profiles".to_owned(),
        cabinet: None,
        characteristic: None,
        sentence,
        evidence: Vec::new(),
        chart: None,
        look_at: Vec::new(),
    }));
    drafts.extend(records(comparison));
    drafts
        .into_iter()
        .zip(1..)
        .map(|(draft, rank)| wire::Finding {
            id: draft.id,
            rank,
            urgency: draft.urgency.to_owned(),
            cabinet: draft.cabinet,
            characteristic: draft.characteristic,
            sentence: draft.sentence,
            evidence: draft
                .evidence
                .into_iter()
                .map(|says| wire::Evidence {
                    says,
                    signal: None,
                    chart: draft.chart.clone(),
                })
                .collect(),
            look_at: draft.look_at,
        })
        .collect()
}

/// A comparison that found nothing says so, and how much it could have missed.
fn nothing_found(comparison: &wire::Comparison, drafts: &[Draft]) -> Option<Draft> {
    if !drafts.is_empty() {
        return None;
    }
    let open: u64 = (comparison.characteristics.iter())
        .map(|c| c.pair_count.cannot_tell)
        .sum();
    let rest = match open {
        0 => "All pairs agree within their margins.".to_owned(),
        open => format!(
            "Of {} it cannot be told with these data whether they agree within the margin.",
            count(open, "pair", "pairs")
        ),
    };
    Some(Draft {
        urgency: "agrees",
        id: "agrees".to_owned(),
        cabinet: None,
        characteristic: None,
        sentence: format!(
            "No pair of cabinets differs by more than instruments and chance explain. {rest}"
        ),
        evidence: Vec::new(),
        chart: None,
        look_at: Vec::new(),
    })
}

fn records(comparison: &wire::Comparison) -> Option<Draft> {
    let lost: u64 = (comparison.issues.iter())
        .filter(|i| i.issue.effect != "kept")
        .map(|i| i.issue.count)
        .sum();
    (lost > 0).then(|| Draft {
        urgency: "records",
        id: "records".to_owned(),
        cabinet: None,
        characteristic: None,
        sentence: format!(
            "Of the input, {} not used as written; the list of issues says where and what to do.",
            count(lost, "part was", "parts were")
        ),
        evidence: Vec::new(),
        chart: None,
        look_at: Vec::new(),
    })
}

fn of_verdict<'a>(pairs: &'a [wire::Pair], verdict: &str) -> Vec<&'a wire::Pair> {
    pairs.iter().filter(|p| p.verdict == verdict).collect()
}

/// `Collection rate`, or `Coupon mass loss, round 2026-A`.
fn heading(compared: &wire::ComparedCharacteristic) -> String {
    let spoken = match named(compared) {
        // pH keeps its small letter.
        Characteristic::Ph => "pH".to_owned(),
        other => capital(other.spoken()),
    };
    match &compared.round {
        Some(round) => format!("{spoken}, round {round}"),
        None => spoken,
    }
}

fn named(compared: &wire::ComparedCharacteristic) -> Characteristic {
    match compared.characteristic.parse() {
        Ok(characteristic) => characteristic,
        Err(never) => match never {},
    }
}

fn round_mark(compared: &wire::ComparedCharacteristic) -> String {
    compared.round.as_ref().map_or_else(String::new, |round| {
        format!("-{}", crate::lab::fold_name(round))
    })
}
