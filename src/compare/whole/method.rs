//! How the comparison was made, in sentences for the reader.

use super::daily::lab_of;
use super::entrants::Field;
use crate::compare::pair::{COVERAGE_FACTOR, FAMILY_ERROR};
use crate::lab::CompareSettings;
use std::collections::BTreeMap;

/// The sentences of the method.
pub(super) fn method(
    field: &Field<'_>,
    settings: &CompareSettings,
    family: usize,
    rounds: usize,
) -> Vec<String> {
    let mut says = vec![
        format!(
            "Cabinets are called different when the difference of their means exceeds what chance \
             and the instruments together explain. All pairs and all {family} comparisons \
             ({} characteristics of the daily checks, {rounds} coupon rounds) share one error rate \
             of {:.0} %: with equal cabinets, at most so many reports name any pair at all \
             (studentized range, Welch's degrees of freedom).",
            family.saturating_sub(rounds),
            100.0 * FAMILY_ERROR
        ),
        "Daily readings carry over from day to day: means are given the uncertainty of as many \
         independent readings as they are worth. Excluded readings of events.csv are left out."
            .to_owned(),
        format!(
            "An instrument's error does not average out: it stands beside chance as an expanded \
             uncertainty (k = {COVERAGE_FACTOR:.0}) of the difference, and cancels where one instrument \
             read both. Where lab.toml states none, a usual value is taken and said so."
        ),
        format!(
            "Scores after ISO 13528:2015 (from memory): the standard deviation for the scores \
             is taken {}, as [compare] in lab.toml of {} says.",
            match settings.sigma {
                crate::lab::SigmaChoice::Window => "from the conformance window",
                crate::lab::SigmaChoice::Precision => "from the precision of these results",
                crate::lab::SigmaChoice::Robust => "from the participants' robust spread",
            },
            field
                .labs
                .first()
                .map_or("the first lab", |l| l.name.as_str())
        ),
        "Specific gravity is compared as concentration of salt, which carries its temperature and \
         reference; it is compared itself only where no concentration can be told."
            .to_owned(),
    ];
    if rounds > 0 {
        says.push(
            "Precision of coupons after ISO 5725-2:1994 (from memory). Stragglers and outliers are \
             marked; every analysis is shown with and without the outliers."
                .to_owned(),
        );
    }
    says.push(
        "A consensus takes its cabinets as independent: an error that cabinets read with one \
         instrument share is not in its uncertainty."
            .to_owned(),
    );
    let unheard: Vec<&str> = (field.labs.iter().skip(1))
        .filter(|lab| {
            let own = lab.entrant.map(|e| &e.lab.compare);
            own.is_some_and(|own| own != settings && *own != CompareSettings::default())
        })
        .map(|lab| lab.name.as_str())
        .collect();
    if !unheard.is_empty() {
        says.push(format!(
            "The settings of [compare] in lab.toml of {} differ and are not used: those of the lab \
             named first hold.",
            unheard.join(", ")
        ));
    }
    if let Some(different) = profiles(field) {
        says.push(different);
    }
    says
}

/// Says so when cabinets are judged by different profiles.
pub(super) fn profiles(field: &Field<'_>) -> Option<String> {
    let mut by_profile: BTreeMap<String, usize> = BTreeMap::new();
    for (index, cabinet) in field.cabinets.iter().enumerate() {
        let Some(lab) = lab_of(field, index) else {
            continue;
        };
        let profile = lab.profile_of(&cabinet.own_id);
        let name = profile.map_or("no profile", |p| p.title.as_str());
        *by_profile.entry(name.to_owned()).or_default() += 1;
    }
    (by_profile.len() > 1).then(|| {
        let told: Vec<String> = by_profile
            .iter()
            .map(|(name, n)| match n {
                1 => format!("{name} (1 cabinet)"),
                n => format!("{name} ({n} cabinets)"),
            })
            .collect();
        format!(
            "The cabinets are run to different profiles: {}. They are compared all the same; \
             differences that the profiles ask for are no fault of a cabinet.",
            told.join(", ")
        )
    })
}
