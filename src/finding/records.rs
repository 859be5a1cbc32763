//! Findings about the records of a cabinet: values copied forward, missing days,
//! series too short to judge. They accuse nobody: a stuck sensor looks the same.

use super::matching::Scene;
use super::{CabinetContext, Draft, Urgency, evidence};
use crate::report::wire::Evidence;
use crate::review::State;
use crate::signal::wording::{count, day, list};

/// Missing days that are listed by date.
const DAYS_LISTED: usize = 6;

/// The record findings of a cabinet.
pub(super) fn of_cabinet(cabinet: &CabinetContext<'_>, scene: &Scene<'_>) -> Vec<Draft> {
    [
        identical(cabinet, scene),
        too_few(cabinet, scene),
        missing(cabinet),
    ]
    .into_iter()
    .flatten()
    .collect()
}

fn draft(cabinet: &CabinetContext<'_>, what: &str, order: f64, sentence: String) -> Draft {
    Draft {
        id: format!("{}/records/{what}", cabinet.id),
        urgency: Urgency::Records,
        order,
        cabinet: Some(cabinet.id.to_owned()),
        cabinet_name: Some(cabinet.name.to_owned()),
        characteristic: None,
        sentence,
        evidence: Vec::new(),
        look_at: Vec::new(),
        changes: Vec::new(),
    }
}

/// Identical values, more of them than rounding explains.
fn identical(cabinet: &CabinetContext<'_>, scene: &Scene<'_>) -> Option<Draft> {
    let repeating: Vec<_> = scene
        .observed
        .values()
        .filter(|o| !o.repeats.is_empty())
        .collect();
    let first = repeating.first()?;
    let names: Vec<&str> = repeating
        .iter()
        .map(|o| o.characteristic().spoken())
        .collect();
    let says = first.repeats.first().map_or("", |s| s.says.as_str());
    let sentence = format!(
        "{}: identical readings of {} in a row, more than rounding explains. {says} \
         Look at entries copied forward and at a stuck sensor first.",
        cabinet.title(),
        list(&names)
    );
    let mut draft = draft(cabinet, "identical-values", 0.0, sentence);
    draft.characteristic = (repeating.len() == 1).then(|| first.characteristic().clone());
    draft.evidence = repeating
        .iter()
        .flat_map(|o| evidence::of_signals(o, &o.repeats))
        .collect();
    draft.look_at = [
        "Entries copied forward from the day before (common practice)",
        "A stuck sensor or display (common practice)",
        "The resolution that is written down (common practice)",
    ]
    .map(str::to_owned)
    .to_vec();
    Some(draft)
}

/// Series that could not be judged.
fn too_few(cabinet: &CabinetContext<'_>, scene: &Scene<'_>) -> Option<Draft> {
    let short: Vec<_> = scene
        .observed
        .values()
        .filter(|o| o.review.state == State::TooFew)
        .collect();
    if short.is_empty() {
        return None;
    }
    let names: Vec<&str> = short.iter().map(|o| o.characteristic().spoken()).collect();
    let sentence = format!(
        "{}: {} could not be judged in this period.",
        cabinet.title(),
        list(&names)
    );
    let mut draft = draft(cabinet, "too-few", 2.0, sentence);
    draft.characteristic = match short.as_slice() {
        [one] => Some(one.characteristic().clone()),
        _ => None,
    };
    draft.evidence = short
        .iter()
        .map(|o| Evidence {
            says: format!("{}: {}", o.characteristic().spoken(), o.review.state_says),
            signal: None,
            chart: Some(format!("{}/{}", cabinet.id, o.characteristic().id())),
        })
        .collect();
    Some(draft)
}

/// Working days without a check.
fn missing(cabinet: &CabinetContext<'_>) -> Option<Draft> {
    let (first, last) = (cabinet.missing_days.first()?, cabinet.missing_days.last()?);
    let year = cabinet.year();
    let n = cabinet.missing_days.len();
    let which = if n <= DAYS_LISTED {
        let days: Vec<String> = cabinet.missing_days.iter().map(|&d| day(d, year)).collect();
        list(&days)
    } else {
        format!(
            "the first {}, the last {}",
            day(*first, year),
            day(*last, year)
        )
    };
    let sentence = format!(
        "{}: no check on {} of the period ({which}).",
        cabinet.title(),
        count(n, "working day")
    );
    Some(draft(cabinet, "missing-days", 1.0, sentence))
}
