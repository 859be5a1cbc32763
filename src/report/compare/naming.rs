//! Names, decimals and choices that every renderer of a comparison shares.
//!
//! It rounds and picks what has room; it decides nothing.

use crate::report::format::{capital, clean, dates, spoken, words};
use crate::report::wire::{ComparedCharacteristic, Comparison, Participant, Period};
use std::collections::BTreeMap;

/// The mark by which evidence names what was compared: `collection-rate`, or
/// `coupon-mass-loss/2025-11` for the coupons of a round.
///
/// The same text in [`Evidence::chart`](crate::report::wire::Evidence::chart) becomes a
/// link to the section on the page.
pub fn mark(one: &ComparedCharacteristic) -> String {
    match &one.round {
        Some(round) => format!("{}/{round}", one.characteristic),
        None => one.characteristic.clone(),
    }
}

/// The name of what was compared as it heads a section: "Coupon mass loss, round 2025-11".
pub(super) fn heading(one: &ComparedCharacteristic) -> String {
    let name = capital(&spoken(&one.characteristic));
    match &one.round {
        Some(round) => format!("{name}, round {}", clean(round)),
        None => name,
    }
}

/// "1 to 31 March 2026"; words where there are no days in common.
pub(super) fn days(period: &Period) -> String {
    if period.from.is_empty() {
        "no days in common".to_owned()
    } else {
        dates(&period.from, &period.to)
    }
}

/// Whether these are coupons of a round and not daily checks.
pub(super) fn is_round(one: &ComparedCharacteristic) -> bool {
    one.round.is_some()
}

/// Readers' names by identifier.
pub(super) struct Names<'a> {
    of: BTreeMap<&'a str, &'a str>,
    labs: BTreeMap<&'a str, &'a str>,
}

impl<'a> Names<'a> {
    pub(super) fn new(comparison: &'a Comparison) -> Names<'a> {
        let mut names = Names {
            of: BTreeMap::new(),
            labs: BTreeMap::new(),
        };
        for lab in &comparison.labs {
            names.labs.insert(&lab.id, &lab.name);
            names.of.insert(&lab.id, &lab.name);
        }
        // A cabinet may be called as a lab is: the cabinet is met far more often.
        for cabinet in comparison.labs.iter().flat_map(|l| &l.cabinets) {
            names.of.insert(&cabinet.id, &cabinet.name);
        }
        names
    }

    /// The name of a cabinet or a lab; the identifier where it has none.
    pub(super) fn of(&self, id: &'a str) -> &'a str {
        self.of.get(id).copied().unwrap_or(id)
    }

    /// The name of a lab.
    pub(super) fn lab(&self, id: &'a str) -> &'a str {
        self.labs.get(id).copied().unwrap_or(id)
    }

    /// Whether more than one lab is compared.
    pub(super) fn several_labs(&self) -> bool {
        self.labs.len() > 1
    }
}

/// Decimals for the values of what was compared: two significant digits of the middle
/// one of the uncertainties, else of the spreads, else three digits of the means.
pub(super) fn decimals(one: &ComparedCharacteristic) -> u32 {
    let all = || one.participants.iter();
    let of_u = middle(all().filter_map(|p| p.u)).map(|u| decimals_for(u, 2));
    let of_sd = || middle(all().filter_map(|p| p.sd)).map(|sd| decimals_for(sd, 2));
    let of_mean = || middle(all().map(|p| p.mean.abs())).map(|mean| decimals_for(mean, 3));
    of_u.or_else(of_sd).or_else(of_mean).unwrap_or(2)
}

/// The decimals that show that many significant digits of a value.
pub(super) fn decimals_for(value: f64, digits: i64) -> u32 {
    if value == 0.0 || !value.is_finite() {
        return 0;
    }
    let magnitude = value.abs().log10().floor() as i64;
    (digits - 1 - magnitude).clamp(0, 6) as u32
}

/// The middle one of the positive values.
fn middle(values: impl Iterator<Item = f64>) -> Option<f64> {
    let mut sorted: Vec<f64> = values.filter(|v| *v > 0.0 && v.is_finite()).collect();
    sorted.sort_by(f64::total_cmp);
    sorted.get(sorted.len() / 2).copied()
}

/// The score that a verdict was read from, and its sign: `z` or `z′`.
pub(super) fn score(participant: &Participant) -> Option<(f64, &'static str)> {
    match participant.verdict_from.as_deref() {
        Some("z") => participant.z.map(|z| (z, "z")),
        Some("z-prime") => participant.z_prime.map(|z| (z, "z′")),
        _ => None,
    }
}

/// Those that have room: all, or else the `most` with the largest `size`, in report order.
///
/// Without a size a participant comes last.
pub(super) fn with_room<T>(all: &[T], most: usize, size: impl Fn(&T) -> Option<f64>) -> Vec<&T> {
    if all.len() <= most {
        return all.iter().collect();
    }
    let mut by_size: Vec<(usize, f64)> = all
        .iter()
        .enumerate()
        .map(|(i, one)| (i, size(one).map_or(-1.0, f64::abs)))
        .collect();
    by_size.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    by_size.truncate(most);
    by_size.sort_by_key(|(i, _)| *i);
    by_size.iter().filter_map(|(i, _)| all.get(*i)).collect()
}

/// A verdict as a class name, so that no text of the input becomes one.
pub(super) fn class_of(verdict: &str) -> &'static str {
    match verdict {
        "differ" => "differ",
        "agree" => "agree",
        "cannot-tell" => "cannot-tell",
        "acceptable" => "acceptable",
        "warning signal" => "warning",
        "action signal" => "action",
        "not scored" => "not-scored",
        _ => "other",
    }
}

/// The name of a method or a test as a reader meets it.
pub(super) fn method(id: &str) -> String {
    match id {
        "algorithm-a" => "Algorithm A".to_owned(),
        "median-nmad" => "median and scaled median absolute deviation".to_owned(),
        "q-hampel" => "Q method and Hampel estimator".to_owned(),
        "reference" => "reference value".to_owned(),
        "cochran" => "Cochran, largest variance".to_owned(),
        "grubbs-largest" => "Grubbs, largest mean".to_owned(),
        "grubbs-smallest" => "Grubbs, smallest mean".to_owned(),
        "grubbs-two-largest" => "Grubbs, two largest means".to_owned(),
        "grubbs-two-smallest" => "Grubbs, two smallest means".to_owned(),
        other => words(other),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::fixture::{comparison, large_comparison};

    #[test]
    fn decimals_follow_the_uncertainty_and_then_the_means() {
        let mut comparison = comparison();
        assert_eq!(decimals(&comparison.characteristics[0]), 3);
        let coupons = &mut comparison.characteristics[3];
        assert_eq!(decimals(coupons), 1, "nothing but means of about 70");
        coupons.participants.clear();
        assert_eq!(decimals(coupons), 2);
    }

    #[test]
    fn a_comparison_without_days_in_common_says_so() {
        let mut period = comparison().period;
        assert_eq!(days(&period), "12 January to 14 March 2026");
        period.from.clear();
        period.to.clear();
        assert_eq!(days(&period), "no days in common");
    }

    #[test]
    fn the_largest_have_room_and_keep_their_order() {
        let large = large_comparison(100);
        let chosen = with_room(&large.characteristics[0].participants, 3, |p| p.z);
        let ids: Vec<&str> = chosen.iter().map(|p| p.id.as_str()).collect();
        // Scores of 2.4 stand at 40 and 81, of 2.3 at 39 and 80: the first of those has room.
        assert_eq!(ids, ["c0039", "c0040", "c0081"]);
    }

    #[test]
    fn names_are_for_readers_and_fall_back_to_identifiers() {
        let comparison = comparison();
        let names = Names::new(&comparison);
        assert_eq!(names.of("tidewrack/plover"), "Plover (Tidewrack)");
        assert_eq!(names.of("tidewrack"), "Tidewrack Test House & Sons");
        assert_eq!(names.of("gone"), "gone");
        assert_eq!(
            mark(&comparison.characteristics[2]),
            "coupon-mass-loss/2025-11"
        );
        assert_eq!(heading(&comparison.characteristics[1]), "pH");
    }
}
