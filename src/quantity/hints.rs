//! What is told, once per cabinet, when something cannot be derived: why, and the exact
//! line for `lab.toml` that settles it. A profile's funnel and hours are suggested
//! there, never taken.

use super::derive::{Cabinet, LeftOut, Tally};
use super::solution::NotTold;
use crate::characteristic::Characteristic;
use crate::issue::{Effect, Issue, Place};
use crate::series::SeriesError;

pub(super) fn collection(cabinet: &Cabinet<'_>, left_out: &LeftOut, issues: &mut Vec<Issue>) {
    let profile = cabinet.lab.profile_of(cabinet.id);
    if left_out.area.count > 0 {
        let nominal = profile.and_then(|p| p.funnel_area_cm2);
        let line = match nominal {
            Some(area) => format!("funnel_area_cm2 = {area}"),
            None => "funnel_diameter_mm = 100".to_owned(),
        };
        let remark = match (nominal, profile) {
            (Some(_), Some(p)) => format!("# nominal in {}; measure yours", p.id),
            _ => "# the inner diameter of your funnels".to_owned(),
        };
        issues.push(issue(
            cabinet,
            left_out.area,
            Effect::ColumnLeftOut,
            format!(
                "It is not known how large the funnels of cabinet {} are, so its catch is not brought to mL/h per 80 cm² (readings: {}).",
                cabinet.id, left_out.area.count
            ),
            Some(line_for(cabinet, &format!("{line}  {remark}"))),
        ));
    }
    if left_out.hours.count > 0 {
        let usual = profile.and_then(|p| p.collection_hours_min);
        let line = match (usual, profile) {
            (Some(hours), Some(p)) => {
                format!(
                    "collection_hours = {hours}  # the least in {}; put in yours",
                    p.id
                )
            }
            _ => "collection_hours = 24  # the hours your collectors stood".to_owned(),
        };
        issues.push(issue(
            cabinet,
            left_out.hours,
            Effect::ColumnLeftOut,
            format!(
                "It is not known over how many hours cabinet {}'s volumes were caught, so they give no rate (readings: {}).",
                cabinet.id, left_out.hours.count
            ),
            Some(line_for(cabinet, &line)),
        ));
    }
    if left_out.one_sided.count > 0 {
        issues.push(issue(
            cabinet,
            left_out.one_sided,
            Effect::Kept,
            format!(
                "Cabinet {} has checks with the catch on one side of the nozzle only: it is charted for that side, but such a check has no mean rate (checks: {}).",
                cabinet.id, left_out.one_sided.count
            ),
            None,
        ));
    }
    short_collection(cabinet, issues);
}

/// Tells collections shorter than the profile averages over.
fn short_collection(cabinet: &Cabinet<'_>, issues: &mut Vec<Issue>) {
    let profile = cabinet.lab.profile_of(cabinet.id);
    let Some(least) = profile.and_then(|p| p.collection_hours_min) else {
        return;
    };
    let hours = cabinet.column(&crate::intake::checks::Measure::CollectionHours);
    let mut short = Tally::default();
    let mut shortest = f64::INFINITY;
    if let Some(hours) = hours {
        for (row, h) in hours.iter().enumerate() {
            if *h > 0.0 && *h < least {
                short.add(row);
                shortest = shortest.min(*h);
            }
        }
    }
    if let (Some(profile), true) = (profile, short.count > 0) {
        issues.push(issue(
            cabinet,
            short,
            Effect::Kept,
            format!(
                "Cabinet {} has catches over less than the {least} h that {} averages over (shortest: {shortest} h; checks: {}).",
                cabinet.id, profile.id, short.count
            ),
            None,
        ));
    }
}

pub(super) fn solution(cabinet: &Cabinet<'_>, not_told: &NotTold, issues: &mut Vec<Issue>) {
    let gravity_line = "gravity = { temperature = \"25 °C\", relative_to = \"density\" }";
    if not_told.reference.count > 0 {
        issues.push(issue(
            cabinet,
            not_told.reference,
            Effect::Kept,
            format!(
                "It is not known what cabinet {}'s specific gravity is relative to and at which temperature it is read: it is charted as written and gives no salt concentration (the doubt is about half a percent of salt; readings: {}).",
                cabinet.id, not_told.reference.count
            ),
            Some(line_for(
                cabinet,
                &format!(
                    "{gravity_line}  # or relative_to = \"water at 4 °C\", \"water at same temperature\""
                ),
            )),
        ));
    }
    if not_told.temperature.count > 0 {
        issues.push(issue(
            cabinet,
            not_told.temperature,
            Effect::Kept,
            format!(
                "Cabinet {} has gravity readings without a temperature, which give no salt concentration (readings: {}).",
                cabinet.id, not_told.temperature.count
            ),
            Some(line_for(
                cabinet,
                &format!("{gravity_line}  # the temperature at which yours is read"),
            )),
        ));
    }
    if not_told.model.count > 0 {
        issues.push(issue(
            cabinet,
            not_told.model,
            Effect::Kept,
            format!(
                "Cabinet {} has readings that give no salt concentration (readings: {}); the first: {}.",
                cabinet.id, not_told.model.count, not_told.model_says
            ),
            Some("Check the reading, its temperature and what it is relative to.".to_owned()),
        ));
    }
}

pub(super) fn not_a_series(
    cabinet: &Cabinet<'_>,
    characteristic: &Characteristic,
    error: &SeriesError,
) -> Issue {
    issue(
        cabinet,
        Tally { count: 1, first: 0 },
        Effect::ColumnLeftOut,
        format!(
            "The {} of cabinet {} makes no series: {error}.",
            characteristic.spoken(),
            cabinet.id
        ),
        None,
    )
}

/// The line under the table it belongs to, as it stands in `lab.toml`.
fn line_for(cabinet: &Cabinet<'_>, line: &str) -> String {
    match cabinet.lab.cabinet(cabinet.id) {
        Some(_) => format!(
            "Under [[cabinet]] id = \"{}\" in lab.toml add: {line}",
            cabinet.id
        ),
        None => format!("In lab.toml add under [lab] (for all cabinets): {line}"),
    }
}

/// An issue at the first check concerned.
fn issue(
    cabinet: &Cabinet<'_>,
    tally: Tally,
    effect: Effect,
    problem: String,
    hint: Option<String>,
) -> Issue {
    let source = cabinet.checks.source(tally.first);
    let sheet = source.and_then(|s| cabinet.sheets.get(s.sheet as usize));
    Issue {
        place: Place {
            path: sheet.map_or_else(String::new, |s| s.path.to_string()),
            sheet: sheet.and_then(|s| s.sheet.as_deref().map(str::to_owned)),
            line: source.map(|s| u64::from(s.line)),
            column: None,
        },
        found: None,
        problem,
        hint,
        effect,
        count: tally.count,
    }
}
