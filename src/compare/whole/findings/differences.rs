//! Findings about daily checks: who differs, in level or in spread, and how they score.

use super::super::fill::instrument_words;
use super::super::look_at::look_at;
use super::{Draft, MOST_OF_A_KIND, heading, named, of_verdict, round_mark};
use crate::report::compare::mark;
use crate::report::wire;

/// Characteristics of the daily checks in which labs, or cabinets, differ.
pub(super) fn differing(
    comparison: &wire::Comparison,
    name: &impl Fn(&str) -> String,
) -> Vec<Draft> {
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
pub(super) fn by_instruments(
    comparison: &wire::Comparison,
    name: &impl Fn(&str) -> String,
) -> Vec<Draft> {
    let mut drafts = Vec::new();
    for compared in &comparison.characteristics {
        let pairs = match compared.lab_pairs.is_empty() {
            true => &compared.pairs,
            false => &compared.lab_pairs,
        };
        // Of many pairs the one that stands out by itself is no news, nor are two that agree.
        let alone = pairs.len() == 1;
        let beyond_chance =
            |p: &wire::Pair| matches!((p.low, p.high), (Some(l), Some(h)) if l > 0.0 || h < 0.0);
        let explained = |p: &&wire::Pair| {
            p.verdict == "cannot-tell" && p.instruments_explain && (alone || beyond_chance(p))
        };
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
                    "{}, {} against {}: the difference of {} is more than chance {}, and within \
                     what the two {} explain ({}). Whether the cabinets differ cannot be told from \
                     it.",
                    heading(compared),
                    name(&pair.a),
                    name(&pair.b),
                    amount(pair.difference.abs(), compared),
                    if alone {
                        "brings to one pair"
                    } else {
                        "explains"
                    },
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

/// Cabinets whose readings scatter more than others', in one finding: the largest ratio, and
/// the other characteristics as evidence.
pub(super) fn scattering(
    comparison: &wire::Comparison,
    name: &impl Fn(&str) -> String,
) -> Option<Draft> {
    let mut widest: Vec<Wider<'_>> = (comparison.characteristics.iter())
        // Their mean tells of near and far.
        .filter(|c| {
            !matches!(
                c.characteristic.as_str(),
                "collection-near" | "collection-far"
            )
        })
        .filter_map(|compared| {
            let pairs = compared.pairs.iter().filter_map(|p| Wider::of(compared, p));
            pairs.max_by(|x, y| x.ratio.total_cmp(&y.ratio))
        })
        .collect();
    widest.sort_by(|x, y| y.ratio.total_cmp(&x.ratio));
    let first = widest.first()?;
    let mut evidence: Vec<String> = (widest.iter().skip(1))
        .map(|wider| wider.says(name))
        .collect();
    evidence.push(
        "Ratios of standard deviations with simultaneous intervals; normal readings are taken \
         for granted."
            .to_owned(),
    );
    Some(Draft {
        urgency: "unusual",
        id: "scatter".to_owned(),
        cabinet: Some(first.more.to_owned()),
        characteristic: Some(first.compared.characteristic.clone()),
        sentence: first.says(name),
        evidence,
        chart: Some(mark(first.compared)),
        look_at: Vec::new(),
    })
}

/// Two cabinets whose spreads differ, the wider first.
struct Wider<'a> {
    compared: &'a wire::ComparedCharacteristic,
    more: &'a str,
    less: &'a str,
    ratio: f64,
    low: f64,
    high: f64,
}

impl<'a> Wider<'a> {
    /// `None` where chance explains the ratio.
    fn of(compared: &'a wire::ComparedCharacteristic, pair: &'a wire::Pair) -> Option<Wider<'a>> {
        let (ratio, low, high) = (pair.sd_ratio?, pair.sd_ratio_low?, pair.sd_ratio_high?);
        let wider = |more: &'a str, less: &'a str, ratio: f64, low: f64, high: f64| Wider {
            compared,
            more,
            less,
            ratio,
            low,
            high,
        };
        if low > 1.0 {
            Some(wider(&pair.a, &pair.b, ratio, low, high))
        } else if high < 1.0 && low > 0.0 {
            Some(wider(&pair.b, &pair.a, 1.0 / ratio, 1.0 / high, 1.0 / low))
        } else {
            None
        }
    }

    fn says(&self, name: &impl Fn(&str) -> String) -> String {
        let tenth = |x: f64| crate::report::format::number(x, 1);
        format!(
            "{}: readings of {} scatter {} times as much as those of {} ({} to {}).",
            heading(self.compared),
            name(self.more),
            tenth(self.ratio),
            name(self.less),
            tenth(self.low),
            tenth(self.high)
        )
    }
}

/// Scores that call for action.
pub(super) fn scored(comparison: &wire::Comparison) -> Vec<Draft> {
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
