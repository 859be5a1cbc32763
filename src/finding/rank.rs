//! The order in which findings are told.

use super::Draft;
use crate::report::wire::Finding;

/// The findings in order, ranked from 1: by urgency, then by their own order, then by
/// cabinet and identifier, so that the same drafts in any order rank the same.
pub fn rank(mut drafts: Vec<Draft>) -> Vec<Finding> {
    drafts.sort_by(|a, b| {
        a.urgency
            .cmp(&b.urgency)
            .then(a.order.total_cmp(&b.order))
            .then_with(|| a.cabinet.cmp(&b.cabinet))
            .then_with(|| a.id.cmp(&b.id))
    });
    drafts
        .into_iter()
        .zip(1..)
        .map(|(draft, rank)| Finding {
            id: draft.id,
            rank,
            urgency: draft.urgency.id().to_owned(),
            cabinet: draft.cabinet,
            characteristic: draft.characteristic.map(|c| c.id().to_owned()),
            sentence: draft.sentence,
            evidence: draft.evidence,
            look_at: draft.look_at,
        })
        .collect()
}
