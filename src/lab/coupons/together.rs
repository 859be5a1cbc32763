//! What the rows of `coupons.csv` say together: repeats, contradictions, and the blank
//! that belongs to a round.
//!
//! It reads no cell; `row` does.

use super::row::{Specimen, Weighing};
use super::{Coupon, RoundBlank};
use crate::issue::{Effect, Issue, shown};
use crate::lab::listing::Row;
use crate::quantity::mass_loss::{GramsPerSquareMetre, blank_corrected};
use std::collections::BTreeMap;

/// A row that could be read.
#[derive(Debug)]
pub(super) struct Entry<'a> {
    pub(super) row: Row<'a>,
    pub(super) weighing: Weighing,
}

/// The rows without repeats; contradicting rows of one coupon are all left out.
pub(super) fn once<'a>(rows: Vec<Entry<'a>>, issues: &mut Vec<Issue>) -> Vec<Entry<'a>> {
    let mut alike: BTreeMap<_, Vec<usize>> = BTreeMap::new();
    for (index, Entry { row, weighing }) in rows.iter().enumerate() {
        let (round, lab, cabinet, coupon) = weighing.key();
        // A blank without a mark is itself only.
        let unmarked = if coupon.is_empty() { row.line() } else { 0 };
        let key = (
            round.to_owned(),
            lab.map(str::to_owned),
            cabinet.to_owned(),
            coupon,
            unmarked,
        );
        alike.entry(key).or_default().push(index);
    }
    let mut keep = vec![true; rows.len()];
    for group in alike.values() {
        let mut members = group.iter().filter_map(|i| rows.get(*i).map(|r| (*i, r)));
        let Some((_, first)) = members.next() else {
            continue;
        };
        let others: Vec<(usize, &Entry<'_>)> = members.collect();
        let contradicts = others
            .iter()
            .any(|(_, other)| !same(&other.weighing, &first.weighing));
        for (index, Entry { row, .. }) in &others {
            if let Some(kept) = keep.get_mut(*index) {
                *kept = false;
            }
            issues.push(if contradicts {
                contradiction(row, first.row.line())
            } else {
                let mut issue = row.rejected(
                    "coupon",
                    format!("The row repeats line {}; it counts once.", first.row.line()),
                    None,
                );
                issue.effect = Effect::Kept;
                *issue
            });
        }
        if let (true, Some(index), Some((_, other))) = (contradicts, group.first(), others.first())
        {
            if let Some(kept) = keep.get_mut(*index) {
                *kept = false;
            }
            issues.push(contradiction(&first.row, other.row.line()));
        }
    }
    let kept = rows.into_iter().zip(keep).filter(|(_, keep)| *keep);
    kept.map(|(row, _)| row).collect()
}

/// Whether two rows say the same, however they spell it.
fn same(a: &Weighing, b: &Weighing) -> bool {
    (a.area_cm2, a.loss, a.own_blank) == (b.area_cm2, b.loss, b.own_blank)
        && (a.before, a.after) == (b.before, b.after)
        && a.specimen == b.specimen
}

fn contradiction(row: &Row<'_>, other: u64) -> Issue {
    *row.rejected(
        "coupon",
        format!("Line {other} says something else of the same coupon of the same round; neither was used."),
        Some("Keep the right one of the two, or give the coupons marks of their own.".into()),
    )
}

/// Coupons under their blank correction, and what it was in each round and lab.
pub(super) fn corrected(
    rows: &[Entry<'_>],
    issues: &mut Vec<Issue>,
) -> (Vec<Coupon>, Vec<RoundBlank>) {
    let mut rounds: BTreeMap<(&str, Option<&str>), Vec<&Entry<'_>>> = BTreeMap::new();
    for row in rows {
        let w = &row.weighing;
        let key = (w.round_key.as_str(), w.lab_key.as_deref());
        rounds.entry(key).or_default().push(row);
    }
    let spelling = spellings(rows);
    let (mut coupons, mut blanks) = (Vec::new(), Vec::new());
    for members in rounds.values() {
        let Some(any) = members.first().map(|m| &m.weighing) else {
            continue;
        };
        let lost = members
            .iter()
            .filter(|m| m.weighing.specimen == Specimen::Blank);
        let lost: Vec<f64> = lost.map(|m| m.weighing.loss.0).collect();
        let mean = (!lost.is_empty()).then(|| lost.iter().sum::<f64>() / lost.len() as f64);
        let mut round = RoundBlank {
            round: spelling.round(any),
            lab: spelling.lab(any),
            blanks: lost,
            mean,
            by_round: 0,
            by_row: 0,
            uncorrected: 0,
        };
        let mut first_uncorrected = None;
        for Entry { row, weighing } in members {
            let Specimen::Exposed {
                cabinet,
                place,
                start,
                hours,
            } = &weighing.specimen
            else {
                continue;
            };
            let blank = weighing.own_blank.or(mean.map(GramsPerSquareMetre));
            let loss = match blank {
                None => Ok(weighing.loss),
                Some(blank) => blank_corrected(weighing.loss, blank),
            };
            let loss = match loss {
                Ok(loss) => loss,
                Err(e) => {
                    issues.push(*row.rejected(
                        "mass_after_g",
                        super::numbers::sentence(&e.to_string()),
                        Some("Check the weighings of both, and whether the blank was cleaned as often.".into()),
                    ));
                    continue;
                }
            };
            match (weighing.own_blank, mean) {
                (Some(_), _) => round.by_row += 1,
                (None, Some(_)) => round.by_round += 1,
                (None, None) => {
                    round.uncorrected += 1;
                    first_uncorrected.get_or_insert(row);
                }
            }
            coupons.push(Coupon {
                round: round.round.clone(),
                lab: round.lab.clone(),
                cabinet: std::sync::Arc::clone(cabinet),
                coupon: weighing.coupon.clone(),
                place: place.clone(),
                start: *start,
                hours: *hours,
                area_cm2: weighing.area_cm2,
                mass_loss: loss.0,
                blank: blank.map(|b| b.0),
                line: row.line(),
            });
        }
        if let Some(row) = first_uncorrected {
            issues.push(uncorrected(row, &round));
        }
        if round.by_round + round.by_row + round.uncorrected > 0 {
            blanks.push(round);
        } else if let Some(Entry { row, .. }) = members.first() {
            issues.push(lone_blank(row, &round));
        }
    }
    (coupons, blanks)
}

fn uncorrected(row: &Row<'_>, round: &RoundBlank) -> Issue {
    let mut issue = row.rejected(
        "round",
        format!(
            "Round \"{}\"{} has no blank: {} kept with what cleaning took off, uncorrected.",
            shown(&round.round),
            round.of_lab(),
            match round.uncorrected {
                1 => "the mass loss of one coupon is".to_owned(),
                n => format!("the mass losses of {n} coupons are"),
            },
        ),
        Some("Clean an unexposed coupon with the batch and enter it with \"blank\" under place, or fill blank_loss_g.".into()),
    );
    issue.effect = Effect::Kept;
    issue.count = round.uncorrected;
    *issue
}

fn lone_blank(row: &Row<'_>, round: &RoundBlank) -> Issue {
    let mut issue = row.rejected(
        "round",
        format!(
            "Round \"{}\"{} has a blank and no coupon that it could correct.",
            shown(&round.round),
            round.of_lab()
        ),
        Some("Give the blank the same round and lab as its coupons.".into()),
    );
    issue.effect = Effect::Kept;
    *issue
}

/// The first spelling of each round and lab, so that `R1` and `r1` are one.
struct Spellings<'a> {
    rounds: BTreeMap<&'a str, &'a str>,
    labs: BTreeMap<&'a str, &'a str>,
}

fn spellings<'a>(rows: &'a [Entry<'_>]) -> Spellings<'a> {
    let mut all = Spellings {
        rounds: BTreeMap::new(),
        labs: BTreeMap::new(),
    };
    for Entry { weighing: w, .. } in rows {
        all.rounds.entry(&w.round_key).or_insert(&w.round);
        if let (Some(key), Some(written)) = (&w.lab_key, &w.lab) {
            all.labs.entry(key).or_insert(written);
        }
    }
    all
}

impl Spellings<'_> {
    fn round(&self, w: &Weighing) -> String {
        let first = self.rounds.get(w.round_key.as_str());
        first.map_or_else(|| w.round.clone(), |s| (*s).to_owned())
    }

    fn lab(&self, w: &Weighing) -> Option<String> {
        let first = self.labs.get(w.lab_key.as_deref()?);
        first.map(|s| (*s).to_owned())
    }
}
