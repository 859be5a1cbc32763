//! The sentences on where sensitivities come from; numbers are rounded for reading.
//!
//! Nothing is decided here: which method is used, `sensitivity` says.

use super::input::{Named, StatedSensitivity};
use super::say::{fixed, listed, short};

fn spoken<'a>(id: &'a str, characteristics: &'a [Named]) -> &'a str {
    let named = characteristics.iter().find(|named| named.id == id);
    named.map_or(id, |named| named.spoken.as_str())
}

fn counted(count: usize, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}

/// How the regression was made: observations, cabinets, rounds, degrees of freedom.
pub(super) fn rounds_says(counts: [usize; 4], notes: &[String]) -> String {
    let [observations, participants, rounds, degrees] = counts;
    let text = format!(
        "The sensitivities come from {} ({} in {}, {} of freedom left) by regression within rounds, shrunk \
         towards the stated sensitivities, or towards none where nothing is stated; what sets a cabinet apart \
         for other reasons is allowed for.",
        counted(observations, "observation", "observations"),
        counted(participants, "cabinet", "cabinets"),
        counted(rounds, "round", "rounds"),
        counted(degrees, "degree", "degrees"),
    );
    appended(text, notes)
}

/// Why stated sensitivities are used, and which.
pub(super) fn stated_says<'a>(
    why: &str,
    stated: impl Iterator<Item = &'a StatedSensitivity>,
    characteristics: &[Named],
    hours: f64,
    notes: &[String],
) -> String {
    let list: Vec<String> = stated
        .map(|one| {
            let unit = characteristics
                .iter()
                .find(|named| named.id == one.characteristic);
            let per = match unit.map_or("", |named| named.unit.as_str()) {
                "" => "unit",
                unit => unit,
            };
            format!(
                "{} {} ± {} g/m² per {per} ({})",
                spoken(&one.characteristic, characteristics),
                short(one.per_unit),
                short(one.uncertainty),
                one.source
            )
        })
        .collect();
    let text = format!(
        "The coupon rounds do not tell the sensitivities: {why}. The stated ones are used, for {} h of exposure, \
         mass loss taken as proportional to hours: {}.",
        short_hours(hours),
        list.join("; ")
    );
    appended(text, notes)
}

fn short_hours(hours: f64) -> String {
    let text = fixed(hours, 1);
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}

/// That no sensitivity is known, and what would be needed.
pub(super) fn none_says(why: &str, needed: &str, notes: &[String]) -> String {
    let reason = if why.is_empty() {
        String::new()
    } else {
        format!(" ({why})")
    };
    appended(
        format!(
            "What goes with which difference cannot be told: the coupon rounds do not tell the sensitivities{reason}, \
             and none is stated. {needed}"
        ),
        notes,
    )
}

fn appended(mut text: String, notes: &[String]) -> String {
    for note in notes {
        text.push(' ');
        text.push_str(note);
    }
    text
}

/// That not all characteristics could enter, when attempts with more were refused.
pub(super) fn only_stated(refused: &[String]) -> Option<String> {
    (!refused.is_empty()).then(|| {
        format!(
            "Only characteristics with a stated sensitivity entered: for all of them, {}.",
            refused.join("; ")
        )
    })
}

/// Stated sensitivities that did not enter the regression.
pub(super) fn untested(found: &[String], characteristics: &[Named]) -> Option<String> {
    let names: Vec<&str> = found.iter().map(|id| spoken(id, characteristics)).collect();
    (!names.is_empty()).then(|| {
        format!(
            "The rounds cannot test the stated sensitivity of {}; it is used as stated.",
            listed(&names)
        )
    })
}

/// Characteristics whose means are uncertain beside their spread.
pub(super) fn blurred(found: &[(String, f64)], characteristics: &[Named]) -> Option<String> {
    let parts: Vec<String> = found
        .iter()
        .map(|(id, share)| format!("{} ({:.0} %)", spoken(id, characteristics), 100.0 * share))
        .collect();
    (!parts.is_empty()).then(|| {
        format!(
            "Not all of the variance among cabinets is real where means are uncertain; the regression was \
             corrected for it: {}.",
            parts.join(", ")
        )
    })
}

/// Stated sensitivities that the rounds do not bear out.
pub(super) fn contradicted(found: &[String], characteristics: &[Named]) -> Option<String> {
    let names: Vec<&str> = found.iter().map(|id| spoken(id, characteristics)).collect();
    (!names.is_empty()).then(|| {
        format!(
            "The rounds do not bear out the stated sensitivity of {}; look at both before relying on the mixture.",
            listed(&names)
        )
    })
}
