//! The coupons of every round, gathered from all labs' papers.
//!
//! A coupon that two labs have written down alike counts once; where they contradict each
//! other neither is used, and both are told.

use super::entrants::{Field, NotComparable};
use crate::issue::{Effect, Issue, Place, shown};
use crate::lab::{Coupon, fold_name};
use std::collections::{BTreeMap, BTreeSet};

/// The coupons of one round by cabinet.
pub(super) struct RoundCoupons<'a> {
    /// Its name in its first spelling.
    pub(super) name: String,
    /// By index of the cabinet, in the order of their marks.
    pub(super) cabinets: BTreeMap<usize, Vec<&'a Coupon>>,
    /// How blanks were corrected, a sentence a lab.
    pub(super) blanks: Vec<String>,
}

impl RoundCoupons<'_> {
    /// Every coupon with the index of its cabinet.
    pub(super) fn each(&self) -> impl Iterator<Item = (usize, &Coupon)> {
        (self.cabinets.iter()).flat_map(|(&cabinet, all)| all.iter().map(move |&c| (cabinet, c)))
    }
}

/// The rounds, oldest first, and the coupons that contradict each other by lab.
pub(super) struct Rounds<'a> {
    pub(super) rounds: Vec<RoundCoupons<'a>>,
    pub(super) issues: Vec<(usize, Issue)>,
}

/// One coupon, wherever it is written: round, index of its cabinet, mark.
type Identity = (String, usize, String);

/// The rounds that `asked` names (all when it is empty).
///
/// # Errors
/// [`NotComparable::NoSuchRound`].
pub(super) fn rounds<'a>(field: &Field<'a>, asked: &[String]) -> Result<Rounds<'a>, NotComparable> {
    let mut found: BTreeMap<Identity, Vec<(usize, &Coupon)>> = BTreeMap::new();
    for (own, lab) in field.labs.iter().enumerate() {
        let Some(entrant) = lab.entrant else { continue };
        for coupon in &entrant.lab.coupons {
            let of = match &coupon.lab {
                Some(written) => field.lab_of(written, own),
                None => Some(own),
            };
            let Some(cabinet) = of.and_then(|of| field.cabinet_of(of, &coupon.cabinet)) else {
                continue;
            };
            let key = (fold_name(&coupon.round), cabinet, fold_name(&coupon.coupon));
            found.entry(key).or_default().push((own, coupon));
        }
    }
    let known: BTreeSet<&str> = found.keys().map(|(round, ..)| round.as_str()).collect();
    let wanted = wanted(asked, &known)?;
    let mut rounds: BTreeMap<String, RoundCoupons<'a>> = BTreeMap::new();
    let mut issues = Vec::new();
    for ((round, cabinet, _), coupons) in found {
        if wanted
            .as_ref()
            .is_some_and(|wanted| !wanted.contains(&round))
        {
            continue;
        }
        let Some(&(_, first)) = coupons.first() else {
            continue;
        };
        let agree = |c: &Coupon| {
            (c.mass_loss - first.mass_loss).abs() <= 1e-9 * first.mass_loss.abs().max(1.0)
                && c.hours == first.hours
        };
        if !coupons.iter().all(|(_, c)| agree(c)) {
            issues.extend(coupons.iter().map(|&(own, c)| (own, contradiction(c))));
            continue;
        }
        rounds
            .entry(round)
            .or_insert_with(|| RoundCoupons {
                name: shown(&first.round),
                cabinets: BTreeMap::new(),
                blanks: Vec::new(),
            })
            .cabinets
            .entry(cabinet)
            .or_default()
            .push(first);
    }
    for (round, coupons) in &mut rounds {
        for lab in field.labs.iter().filter_map(|lab| lab.entrant) {
            let blanks = lab.lab.coupon_blanks.iter();
            let of_round = blanks.filter(|b| fold_name(&b.round) == *round);
            coupons
                .blanks
                .extend(of_round.map(|b| format!("{}: {}", shown(&lab.lab.name), b.says())));
        }
    }
    let mut rounds: Vec<RoundCoupons<'a>> = rounds.into_values().collect();
    rounds.sort_by_key(|r| r.each().map(|(_, c)| c.start).min());
    Ok(Rounds { rounds, issues })
}

fn wanted(
    asked: &[String],
    known: &BTreeSet<&str>,
) -> Result<Option<BTreeSet<String>>, NotComparable> {
    if asked.is_empty() {
        return Ok(None);
    }
    let mut wanted = BTreeSet::new();
    for round in asked {
        let folded = fold_name(round);
        if !known.contains(folded.as_str()) {
            return Err(NotComparable::NoSuchRound {
                asked: shown(round),
                known: match known.len() {
                    0 => "no lab has usable coupons".to_owned(),
                    _ => format!(
                        "there are {}",
                        known.iter().copied().collect::<Vec<_>>().join(", ")
                    ),
                },
            });
        }
        wanted.insert(folded);
    }
    Ok(Some(wanted))
}

fn contradiction(coupon: &Coupon) -> Issue {
    Issue {
        place: Place {
            path: "coupons.csv".to_owned(),
            line: Some(coupon.line),
            ..Place::default()
        },
        found: Some(shown(&coupon.coupon)),
        problem: format!(
            "Two labs' files say different things of coupon {} of round {}: neither is used.",
            shown(&coupon.coupon),
            shown(&coupon.round)
        ),
        hint: Some("Keep each coupon in one file, or correct the one that is wrong.".to_owned()),
        effect: Effect::RowRejected,
        count: 1,
    }
}
