//! What the reader of a comparison must know, most urgent first.
//!
//! Verdicts were decided where pairs, scores and shares were computed; here they become
//! ranked sentences with evidence and with where to look first.

use super::entrants::Field;
use super::fill::instrument_words;
use super::look_at::look_at;
use super::method;
use crate::characteristic::Characteristic;
use crate::report::compare::mark;
use crate::report::format::{capital, count};
use crate::report::wire;
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

/// Coupon differences that chance does not explain, with what goes with them.
fn mismatches(comparison: &wire::Comparison, name: &impl Fn(&str) -> String) -> Vec<Draft> {
    comparison
        .explanations
        .iter()
        .filter(|e| matches!((e.low, e.high), (Some(low), Some(high)) if low > 0.0 || high < 0.0))
        .take(MOST_OF_A_KIND)
        .map(|explanation| {
            let rows: Vec<&wire::Mismatch> = comparison
                .mismatch
                .iter()
                .filter(|row| row.a == explanation.a && row.b == explanation.b)
                .collect();
            let mut evidence: Vec<String> =
                rows.iter().skip(1).map(|row| row.says.clone()).collect();
            evidence.extend(explanation.evidence.iter().map(|e| e.says.clone()));
            Draft {
                urgency: "mismatch",
                id: format!("mismatch-{}-{}", explanation.a, explanation.b),
                cabinet: None,
                characteristic: Some(Characteristic::CouponMassLoss.id().to_owned()),
                sentence: mismatch_sentence(explanation, &rows, name),
                evidence,
                chart: None,
                look_at: explanation.check_next.clone(),
            }
        })
        .collect()
}

fn mismatch_sentence(
    explanation: &wire::Explanation,
    rows: &[&wire::Mismatch],
    name: &impl Fn(&str) -> String,
) -> String {
    let (less, more) = match explanation.difference < 0.0 {
        true => (&explanation.a, &explanation.b),
        false => (&explanation.b, &explanation.a),
    };
    let tenth = |x: f64| crate::report::format::number(x, 1);
    let mut sentence = format!(
        "Coupons lost {} g/m² less at {} than at {}",
        tenth(explanation.difference.abs()),
        name(less),
        name(more)
    );
    if let (Some(low), Some(high)) = (explanation.low, explanation.high) {
        let (low, high) = (low.abs().min(high.abs()), low.abs().max(high.abs()));
        sentence.push_str(&format!(
            " (95 % interval {} to {})",
            tenth(low),
            tenth(high)
        ));
    }
    sentence.push_str(". ");
    match rows.first() {
        Some(first) if explanation.unexplained.is_some() => {
            sentence.push_str(&first.says);
            if let (Some(rest), Some(low), Some(high)) = (
                explanation.unexplained,
                explanation.unexplained_low,
                explanation.unexplained_high,
            ) {
                sentence.push_str(&format!(
                    " Unexplained: {} g/m² ({} to {}). Association, not proof of cause.",
                    tenth(rest),
                    tenth(low),
                    tenth(high)
                ));
            }
        }
        _ => sentence.push_str(&explanation.method_says),
    }
    sentence
}

/// Characteristics of the daily checks in which labs, or cabinets, differ.
fn differing(comparison: &wire::Comparison, name: &impl Fn(&str) -> String) -> Vec<Draft> {
    let mut drafts = Vec::new();
    for compared in &comparison.characteristics {
        let labs: Vec<&wire::Pair> = of_verdict(&compared.lab_pairs, "differ");
        let cabinets: Vec<&wire::Pair> = of_verdict(&compared.pairs, "differ");
        let Some(clearest) = labs.first().or(cabinets.first()) else {
            continue;
        };
        let mut sentence = told(compared, clearest, name);
        let counts = &compared.pair_count;
        if counts.all > 1 {
            sentence.push_str(&format!(
                " Of {} pairs of cabinets {} differ.",
                counts.all, counts.differ
            ));
        }
        let others = labs.iter().chain(&cabinets).skip(1).take(3);
        drafts.push(Draft {
            urgency: "differs",
            id: format!(
                "differs-{}{}",
                compared.characteristic,
                round_mark(compared)
            ),
            cabinet: None,
            characteristic: Some(compared.characteristic.clone()),
            sentence,
            evidence: others.map(|p| told(compared, p, name)).collect(),
            // Where one instrument read both, it is not what sets them apart.
            chart: Some(mark(compared)),
            look_at: look_at(
                &compared.characteristic,
                clearest.u_instruments != Some(0.0),
            ),
        });
    }
    // Coupons are told by the mismatch, where there is one; near and far by their mean.
    let explained = comparison.explanations.iter().any(|e| e.low.is_some());
    let rate = drafts
        .iter()
        .any(|d| d.characteristic.as_deref() == Some("collection-rate"));
    drafts.retain(|draft| match draft.characteristic.as_deref() {
        Some("coupon-mass-loss") => !explained,
        Some("collection-near" | "collection-far") => !rate,
        _ => true,
    });
    drafts.truncate(MOST_OF_A_KIND);
    drafts
}

/// Differences beyond chance that the instruments explain.
fn by_instruments(comparison: &wire::Comparison, name: &impl Fn(&str) -> String) -> Vec<Draft> {
    let mut drafts = Vec::new();
    for compared in &comparison.characteristics {
        let pairs = match compared.lab_pairs.is_empty() {
            true => &compared.pairs,
            false => &compared.lab_pairs,
        };
        let explained = |p: &&wire::Pair| p.verdict != "differ" && p.instruments_explain;
        if let Some(pair) = pairs.iter().find(explained) {
            drafts.push(Draft {
                urgency: "instruments",
                id: format!(
                    "instruments-{}{}",
                    compared.characteristic,
                    round_mark(compared)
                ),
                cabinet: None,
                characteristic: Some(compared.characteristic.clone()),
                sentence: format!(
                    "{}, {} against {}: the difference of {} is more than chance brings to one \
                     pair, and within what the two {} explain ({}). Whether the cabinets \
                     differ cannot be told from it.",
                    heading(compared),
                    name(&pair.a),
                    name(&pair.b),
                    amount(pair.difference.abs(), compared),
                    instrument_words(&named(compared)).1,
                    amount(pair.u_instruments.unwrap_or(0.0), compared),
                ),
                evidence: instruments(compared, pair),
                chart: Some(mark(compared)),
                look_at: vec![
                    "Read one sample, or one place, with both instruments at the same time, or \
                     have both calibrated against one reference."
                        .to_owned(),
                ],
            });
        }
    }
    drafts.truncate(MOST_OF_A_KIND);
    drafts
}

/// `Collection rate, Bench against Works: they differ by …`.
fn told(
    compared: &wire::ComparedCharacteristic,
    pair: &wire::Pair,
    name: &impl Fn(&str) -> String,
) -> String {
    let mut says = pair.says.chars();
    let first = says.next().map(char::to_lowercase).into_iter().flatten();
    format!(
        "{}, {} against {}: {}{}",
        heading(compared),
        name(&pair.a),
        name(&pair.b),
        first.collect::<String>(),
        says.as_str()
    )
}

/// A number of the characteristic with two significant digits and its unit.
fn amount(value: f64, compared: &wire::ComparedCharacteristic) -> String {
    let number = crate::report::format::significant(value, 2);
    crate::report::format::attach(number, &compared.unit)
}

/// The instruments of the two, each once.
fn instruments(compared: &wire::ComparedCharacteristic, pair: &wire::Pair) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    let of_pair = |p: &&wire::Participant| {
        [&pair.a, &pair.b]
            .iter()
            .any(|id| **id == p.id || **id == p.lab)
    };
    for participant in compared.participants.iter().filter(of_pair) {
        if let Some(says) = &participant.instrument
            && !all.contains(says)
            && all.len() < 4
        {
            all.push(says.clone());
        }
    }
    all
}

/// Scores that call for action.
fn scored(comparison: &wire::Comparison) -> Vec<Draft> {
    let mut drafts = Vec::new();
    for compared in &comparison.characteristics {
        for participant in &compared.participants {
            if participant.verdict != "action signal" {
                continue;
            }
            let read = match participant.verdict_from.as_deref() {
                Some("z-prime") => participant.z_prime.map(|z| ("z′", z)),
                _ => participant.z.map(|z| ("z", z)),
            };
            let Some((score, value)) = read else { continue };
            drafts.push(Draft {
                urgency: "scored",
                id: format!(
                    "scored-{}{}-{}",
                    compared.characteristic,
                    round_mark(compared),
                    participant.id
                ),
                cabinet: Some(participant.id.clone()),
                characteristic: Some(compared.characteristic.clone()),
                sentence: format!(
                    "{}: {} scores {score} = {}, an action signal.",
                    heading(compared),
                    participant.name,
                    crate::report::format::signed(value, 1)
                ),
                evidence: vec![compared.sigma_p_says.clone()],
                chart: Some(mark(compared)),
                look_at: look_at(&compared.characteristic, true),
            });
        }
    }
    drafts.truncate(MOST_OF_A_KIND);
    drafts
}

/// Coupons and cabinets that the outlier tests marked.
fn coupons(comparison: &wire::Comparison) -> Vec<Draft> {
    let mut drafts = Vec::new();
    for compared in &comparison.characteristics {
        let marked: Vec<String> = compared
            .participants
            .iter()
            .flat_map(|p| {
                p.coupons.iter().filter_map(|c| {
                    let mark = c.marked.as_ref()?;
                    let mark = mark
                        .replace("cochran", "Cochran")
                        .replace("grubbs", "Grubbs");
                    Some(format!(
                        "coupon {} of {} ({:.1} g/m², {mark})",
                        c.coupon, p.name, c.mass_loss
                    ))
                })
            })
            .collect();
        if marked.is_empty() {
            continue;
        }
        const MOST: usize = 4;
        let told = marked[..marked.len().min(MOST)].join(", ");
        let more = match marked.len().saturating_sub(MOST) {
            0 => String::new(),
            n => format!(" and {n} more"),
        };
        drafts.push(Draft {
            urgency: "unusual",
            id: format!("coupons{}", round_mark(compared)),
            cabinet: None,
            characteristic: Some(compared.characteristic.clone()),
            sentence: format!(
                "{}: {told}{more} marked by the outlier tests; every table is shown with and \
                 without the outliers.",
                heading(compared)
            ),
            evidence: vec![compared.precision_says.clone()],
            chart: Some(mark(compared)),
            look_at: vec![
                "Look at the coupon, its cleaning, its place in the cabinet and the weighing sheet \
                 before anything is left out. Cleaning uses inhibited hydrochloric acid: follow \
                 its safety data sheet."
                    .to_owned(),
            ],
        });
    }
    drafts.truncate(MOST_OF_A_KIND);
    drafts
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
