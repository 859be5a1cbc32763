//! Pairs of labs, each with its cabinets.
//!
//! Cabinets of one lab differ among themselves; the difference of two labs is held against
//! that, not only against chance in the readings. It says nothing of single cabinets.

use super::family::{Judge, Member, judge_all};
use super::offsets::Offset;
use super::side::Side;
use super::{Cabinet, FactorStore, NoPairs, Pairs, Settings};
use std::collections::BTreeMap;

/// A lab and its cabinets.
#[derive(Debug, Clone)]
pub struct Lab<'a> {
    /// Its cabinets, at least one.
    pub cabinets: Vec<Cabinet<'a>>,
}

/// Judges all pairs of `labs` by the plain means of their cabinets' means.
///
/// A lab's variance is that of its cabinets' means over their number, with one degree of
/// freedom less than there are cabinets, but never below what chance in the readings
/// gives (Welch on cabinet means; common practice). A lab with one cabinet shows chance
/// only, and the sentence says so.
///
/// # Errors
///
/// [`NoPairs`] with fewer than two labs, too many, or one without a cabinet.
pub fn judge_labs(
    labs: &[Lab<'_>],
    settings: &Settings,
    store: &mut FactorStore,
) -> Result<Pairs, NoPairs> {
    let mut known = BTreeMap::new();
    let members = labs
        .iter()
        .map(|lab| member(lab, &mut known))
        .collect::<Option<Vec<Member<'_>>>>()
        .ok_or(NoPairs::EmptyLab)?;
    judge_all(
        &members,
        &Judge {
            settings,
            of_labs: true,
        },
        store,
    )
}

fn member<'a>(lab: &Lab<'a>, known: &mut BTreeMap<&'a str, usize>) -> Option<Member<'a>> {
    let count = lab.cabinets.len() as f64;
    let first = lab.cabinets.first()?;
    let share = count.recip();
    let offsets = lab
        .cabinets
        .iter()
        .map(|cabinet| Offset::of(cabinet.instrument, share, known))
        .collect();
    let exact = lab.cabinets.iter().any(|c| c.level.standard_error <= 0.0);
    let side = if lab.cabinets.len() == 1 {
        Side::of(first.level)
    } else {
        let means = || lab.cabinets.iter().map(|c| c.level.mean);
        let mean = means().sum::<f64>() * share;
        let squares: f64 = means().map(|x| (x - mean).powi(2)).sum();
        let chance: f64 = lab
            .cabinets
            .iter()
            .map(|c| c.level.standard_error.powi(2))
            .sum();
        Side {
            mean,
            variance: (squares * share / (count - 1.0)).max(chance * share * share),
            freedom: count - 1.0,
            plan: None,
        }
    };
    Some(Member {
        side,
        offsets,
        level: None,
        without_chance: exact && side.variance <= 0.0,
        single: lab.cabinets.len() == 1,
    })
}
