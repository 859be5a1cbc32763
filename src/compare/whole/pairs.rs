//! Pairs of one characteristic on the wire.

use super::fill::Side;
use super::participants::LabSide;
use crate::compare::pair::{self, FactorStore, Pairs};
use crate::report::wire;

/// Chance errors from which on a difference is worth asking the instruments about: about
/// the 95 % of one pair alone (common practice).
const BEYOND_CHANCE: f64 = 2.0;

/// A cabinet as pairs take it.
pub(super) fn cabinet(side: &Side) -> pair::Cabinet<'_> {
    pair::Cabinet {
        level: &side.level,
        instrument: &side.instrument,
    }
}

pub(super) fn lab_pairs(
    sides: &[Side],
    labs: &[LabSide],
    how: &pair::Settings,
    store: &mut FactorStore,
) -> Option<Pairs> {
    let labs: Vec<pair::Lab<'_>> = labs
        .iter()
        .map(|lab| pair::Lab {
            cabinets: lab.members.iter().map(|&i| cabinet(&sides[i])).collect(),
        })
        .collect();
    pair::judge_labs(&labs, how, store).ok()
}

/// `errors` are the chance errors of the participants, parallel to `ids`.
pub(super) fn pairs_on_wire(pairs: &Pairs, ids: &[&str], errors: &[f64]) -> Vec<wire::Pair> {
    let id = |index: usize| ids.get(index).copied().unwrap_or_default().to_owned();
    let error = |index: usize| errors.get(index).copied().unwrap_or(0.0);
    pairs
        .listed
        .iter()
        .map(|pair| wire::Pair {
            a: id(pair.a),
            b: id(pair.b),
            difference: pair.difference,
            low: pair.chance.map(|i| i.low),
            high: pair.chance.map(|i| i.high),
            u_instruments: Some(pair.u_instruments),
            instruments_explain: {
                let size = pair.difference.abs();
                size > BEYOND_CHANCE * error(pair.a).hypot(error(pair.b))
                    && size <= pair.u_instruments
            },
            total_low: pair.total.map(|i| i.low),
            total_high: pair.total.map(|i| i.high),
            agreement_low: pair.equivalence.map(|i| i.low),
            agreement_high: pair.equivalence.map(|i| i.high),
            sd_ratio: pair.sd_ratio.map(|i| i.point),
            sd_ratio_low: pair.sd_ratio.map(|i| i.low),
            sd_ratio_high: pair.sd_ratio.map(|i| i.high),
            verdict: pair.verdict.id().to_owned(),
            more_checks: pair.more_checks,
            says: pair.says.clone(),
        })
        .collect()
}

pub(super) fn pair_count(pairs: Option<&Pairs>) -> wire::PairCount {
    pairs.map_or(
        wire::PairCount {
            all: 0,
            listed: 0,
            differ: 0,
            agree: 0,
            cannot_tell: 0,
        },
        |p| wire::PairCount {
            all: p.all,
            listed: p.listed.len() as u64,
            differ: p.differ,
            agree: p.agree,
            cannot_tell: p.cannot_tell,
        },
    )
}
