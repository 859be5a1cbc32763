//! Findings about the records of a cabinet: values copied forward, missing days,
//! series too short to judge. They accuse nobody: a stuck sensor looks the same.

use super::copied::Copied;
use super::matching::Scene;
use super::{CabinetContext, Draft, Urgency, evidence};
use crate::report::wire::Evidence;
use crate::review::State;
use crate::signal::Signal;
use crate::signal::wording::{count, day, list};
use crate::time::Instant;

/// Missing days that are listed by date.
const DAYS_LISTED: usize = 6;

/// The record findings of a cabinet.
pub(super) fn of_cabinet(cabinet: &CabinetContext<'_>, scene: &Scene<'_>) -> Vec<Draft> {
    let copied = scene
        .copied
        .iter()
        .map(|stretch| copied(cabinet, scene, stretch));
    let others = [
        identical(cabinet, scene),
        too_few(cabinet, scene),
        missing(cabinet),
    ];
    copied.chain(others.into_iter().flatten()).collect()
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

/// Entries of several characteristics that repeat each other: nothing of those days can be
/// trusted, so it comes before what else is unusual.
fn copied(cabinet: &CabinetContext<'_>, scene: &Scene<'_>, stretch: &Copied) -> Draft {
    let resting = || {
        scene.observed.values().filter_map(move |o| {
            let series = o.review.chart.series;
            let signals: Vec<&Signal> = o
                .resting
                .iter()
                .copied()
                .filter(|s| stretch.bears(series, s))
                .collect();
            (!signals.is_empty()).then_some((o, signals))
        })
    };
    let others = resting()
        .flat_map(|(_, signals)| signals)
        .filter(|s| s.rule != "repeat")
        .count();
    let consequences = match others {
        0 => String::new(),
        1 => "; 1 further signal rests on them and is not counted".to_owned(),
        n => format!("; {n} further signals rest on them and are not counted"),
    };
    let times: Vec<Instant> = scene
        .observed
        .values()
        .flat_map(|o| o.review.chart.series.at())
        .copied()
        .filter(|at| stretch.from <= *at && *at <= stretch.to)
        .collect();
    let sentence = format!(
        "{}: {}, more often than chance and rounding explain. They look copied or not read anew and tell \
         nothing of those days{consequences}. {} Look at the notes of those days first.",
        cabinet.title(),
        stretch
            .says(cabinet.zone, cabinet.year())
            .replacen('T', "t", 1),
        super::breach::exposed_at(cabinet, &times)
    );
    let mut draft = draft(cabinet, "copied-entries", f64::MIN, sentence);
    draft.id = format!("{}@{}", draft.id, cabinet.zone.date(stretch.from));
    draft.urgency = Urgency::Unusual;
    draft.evidence = resting()
        .flat_map(|(o, signals)| evidence::of_signals(o, &signals))
        .collect();
    draft.look_at = [
        "Original notes and initials of those days",
        "Entries copied forward from the day before",
        "Displays or a logger that stood still",
    ]
    .map(str::to_owned)
    .to_vec();
    draft
}

/// Identical values of one characteristic, more of them than rounding explains.
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
         Look at a stuck sensor and at entries copied forward first.",
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
        "A stuck sensor or display",
        "Entries copied forward from the day before",
        "The resolution that is written down",
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
