//! The comparison from first to last.

use super::account::{self, Sources};
use super::coupon_levels::{self, Rounds};
use super::entrants::{Entrant, Field, NotComparable};
use super::members::{Everything, everything};
use super::shared::{Shared, shared, words};
use super::{daily, findings, method, rounds};
use crate::compare::pair::FactorStore;
use crate::issue::{Effect, Issue, Place, shown};
use crate::lab::{CompareSettings, Lab, fold_name};
use crate::progress::Progress;
use crate::report::wire;
use crate::review::{self, Period};
use crate::time::Instant;
use std::collections::BTreeSet;

/// What a comparison is made with.
#[derive(Debug, Clone)]
pub struct CompareOptions {
    /// The days asked for; `None` for those within everybody's logs.
    pub period: Option<Period>,
    /// The coupon rounds asked for; all when empty.
    pub rounds: Vec<String>,
    /// The clock.
    pub now: Instant,
}

/// Compares the cabinets of one lab, or those of several and the labs themselves.
///
/// The lab named first lends its settings (`[compare]` of its `lab.toml`), and its windows
/// where others have different ones. Readings after the clock are not looked at.
///
/// # Errors
/// [`NotComparable`] when there is nobody to compare with, no day in common, or no such round.
pub fn compare(
    entrants: &[Entrant<'_>],
    options: &CompareOptions,
    progress: &dyn Progress,
) -> Result<wire::Comparison, NotComparable> {
    let first = entrants.first().ok_or(NotComparable::NoLab)?;
    let field = Field::new(entrants);
    if let [only] = field.cabinets.as_slice() {
        return Err(NotComparable::OneCabinet(only.name.clone()));
    }
    let coupons = coupon_levels::rounds(&field, &options.rounds)?;
    let days = match shared(&field, options.period, options.now) {
        // Coupons can be compared where logs cannot.
        Err(NotComparable::NoSharedTime(_)) if !coupons.rounds.is_empty() => None,
        other => other?,
    };
    let everything = match &days {
        Some(days) => everything(&field, days.period, progress),
        None => Everything {
            measured: Vec::new(),
            issues: Vec::new(),
        },
    };
    let measured = daily::compared(everything.measured);
    if measured.is_empty() && coupons.rounds.is_empty() {
        return Err(nothing(&field, options, days.as_ref()));
    }
    let settings = &first.lab.compare;
    let rounds_compared = coupons.rounds.len();
    let family = measured.len() + rounds_compared;
    let mut store = FactorStore::new();
    let on_days = daily::characteristics(&measured, &field, settings, family, &mut store);
    let losses = of_rounds(&coupons, &field, settings, family, &mut store);
    let account = account::account(&Sources {
        field: &field,
        measured: &measured,
        daily: &on_days,
        rounds: &coupons.rounds,
        losses: &losses,
    });
    let summaries = (coupons.rounds.iter().zip(&losses))
        .map(|(round, losses)| rounds::summary(round, losses, &field))
        .collect();
    let period = (days.as_ref().map(|d| d.period)).or_else(|| of_coupons(&coupons));
    let issues = issues(&field, everything.issues, coupons.issues);
    let mut comparison = wire::Comparison {
        schema: wire::COMPARE_SCHEMA.to_owned(),
        program: wire::Program {
            name: env!("CARGO_PKG_NAME").to_owned(),
            version: env!("CARGO_PKG_VERSION").to_owned(),
        },
        made_at: first.lab.zone.rfc3339(options.now),
        labs: labs(&field, days.as_ref()),
        period: wire::Period {
            from: period.map_or_else(String::new, |p| p.from().to_string()),
            to: period.map_or_else(String::new, |p| p.to().to_string()),
        },
        period_says: days.map_or_else(
            || {
                "The logs have no day in common: daily checks are not compared, only coupons."
                    .to_owned()
            },
            |d| d.says,
        ),
        method: method::method(&field, settings, family, rounds_compared),
        characteristics: on_days.into_iter().chain(losses).collect(),
        rounds: summaries,
        mismatch: account.rows,
        explanations: account.explanations,
        findings: Vec::new(),
        issues,
        cautions: cautions(&field, rounds_compared > 0),
    };
    comparison.findings = findings::findings(&comparison, &field);
    Ok(comparison)
}

fn of_rounds(
    coupons: &Rounds<'_>,
    field: &Field<'_>,
    settings: &CompareSettings,
    family: usize,
    store: &mut FactorStore,
) -> Vec<wire::ComparedCharacteristic> {
    coupons
        .rounds
        .iter()
        .map(|round| rounds::characteristic(round, field, settings, family, store))
        .collect()
}

fn nothing(field: &Field<'_>, options: &CompareOptions, days: Option<&Shared>) -> NotComparable {
    let period = options.period.or(days.map(|d| d.period));
    let spans = field.labs.iter().zip(days.map_or(&[][..], |d| &d.spans));
    let told: Vec<String> = spans
        .map(|(lab, span)| match span {
            Some(span) => format!("{} {}", lab.name, words(*span)),
            None => format!("{} no check", lab.name),
        })
        .collect();
    NotComparable::NothingInPeriod {
        from: period.map_or_else(String::new, |p| p.from().to_string()),
        to: period.map_or_else(String::new, |p| p.to().to_string()),
        spans: told.join("; "),
    }
}

/// From the first exposure to the last.
fn of_coupons(coupons: &Rounds<'_>) -> Option<Period> {
    let each = || coupons.rounds.iter().flat_map(|r| r.each());
    let day = |at: Instant| crate::time::Zone::AS_WRITTEN.date(at);
    let from = each().map(|(_, c)| day(c.start)).min()?;
    let to = each()
        .map(|(_, c)| day(c.start.plus_days(c.hours / 24.0)))
        .max()?;
    Period::new(from, to)
}

fn labs(field: &Field<'_>, days: Option<&Shared>) -> Vec<wire::ComparedLab> {
    let mut labs: Vec<wire::ComparedLab> = field
        .labs
        .iter()
        .enumerate()
        .map(|(index, lab)| {
            let span = days.and_then(|d| d.spans.get(index).copied().flatten());
            wire::ComparedLab {
                id: lab.id.clone(),
                name: lab.name.clone(),
                zone: lab
                    .entrant
                    .and_then(|e| e.lab.zone.name())
                    .map(str::to_owned),
                span: span.map(|span| wire::Period {
                    from: span.from().to_string(),
                    to: span.to().to_string(),
                }),
                checks: 0,
                cabinets: Vec::new(),
                profiles: lab.entrant.map_or_else(Vec::new, |e| {
                    let ids: Vec<&str> = (field.cabinets.iter())
                        .filter(|c| c.lab == index)
                        .map(|c| c.own_id.as_ref())
                        .collect();
                    review::profiles_in_use(e.lab, &ids)
                }),
                inputs: lab
                    .entrant
                    .map_or_else(Vec::new, |e| review::inputs(e.intake)),
            }
        })
        .collect();
    for (index, cabinet) in field.cabinets.iter().enumerate() {
        let checks = days.map_or(0, |d| checks_in(field, index, d.period));
        let profile = daily::lab_of(field, index)
            .and_then(|lab| lab.profile_of(&cabinet.own_id))
            .map(|p| p.id.as_ref().to_owned());
        if let Some(lab) = labs.get_mut(cabinet.lab) {
            lab.checks += checks;
            lab.cabinets.push(wire::ComparedCabinet {
                id: cabinet.id.clone(),
                name: cabinet.name.clone(),
                profile,
                checks,
            });
        }
    }
    labs
}

fn checks_in(field: &Field<'_>, cabinet: usize, period: Period) -> u64 {
    let entry = &field.cabinets[cabinet];
    let (Some(entrant), Some(checks)) = (field.labs[entry.lab].entrant, entry.checks) else {
        return 0;
    };
    let of_cabinet = entrant.intake.checks.of(checks);
    let at = of_cabinet.map_or(&[][..], |of| of.at());
    let span = period.instants(entrant.lab.zone);
    let before = |t: Instant| at.partition_point(|&x| x < t);
    (before(span.end) - before(span.start)) as u64
}

fn issues(
    field: &Field<'_>,
    derived: Vec<(usize, Issue)>,
    coupons: Vec<(usize, Issue)>,
) -> Vec<wire::LabIssue> {
    let mut all = Vec::new();
    for (index, lab) in field.labs.iter().enumerate() {
        let mut add = |issue: Issue| {
            all.push(wire::LabIssue {
                lab: lab.id.clone(),
                issue: review::issue_on_wire(issue),
            });
        };
        if let Some(entrant) = lab.entrant {
            entrant.intake.issues.iter().cloned().for_each(&mut add);
            entrant.lab.issues.iter().cloned().for_each(&mut add);
            let unmatched = entrant.lab.unmatched(entrant.intake.checks.cabinets());
            unmatched.into_iter().for_each(&mut add);
            labs_without_logs(field, index, entrant.lab)
                .into_iter()
                .for_each(&mut add);
        }
        let own = derived.iter().chain(&coupons).filter(|(l, _)| *l == index);
        own.map(|(_, issue)| issue.clone()).for_each(&mut add);
    }
    all
}

/// Names of labs in a coupon file that are none of the folders compared: perhaps on purpose,
/// perhaps written another way than in `lab.toml`.
fn labs_without_logs(field: &Field<'_>, own: usize, lab: &Lab) -> Vec<Issue> {
    let mut told = BTreeSet::new();
    let mut issues = Vec::new();
    for coupon in &lab.coupons {
        let Some(written) = &coupon.lab else { continue };
        let known = field.lab_of(written, own).and_then(|of| field.labs.get(of));
        if known.is_some_and(|lab| lab.entrant.is_some()) || !told.insert(fold_name(written)) {
            continue;
        }
        let folders: Vec<&str> = (field.labs.iter())
            .filter(|lab| lab.entrant.is_some())
            .map(|lab| lab.name.as_str())
            .collect();
        issues.push(Issue {
            place: Place {
                path: "coupons.csv".to_owned(),
                line: Some(coupon.line),
                column: Some("lab".to_owned()),
                ..Place::default()
            },
            found: Some(shown(written)),
            problem: format!(
                "This laboratory is none of the folders compared ({}): its coupons are compared \
                 under that name, without daily checks.",
                folders.join(", ")
            ),
            hint: Some(
                "If it is one of them, write the name as in lab.toml, or leave the cell empty for \
                 this lab; else add its folder to the command."
                    .to_owned(),
            ),
            effect: Effect::Kept,
            count: 1,
        });
    }
    issues
}

/// The review's cautions for every lab, each once, and what coupons add.
fn cautions(field: &Field<'_>, with_coupons: bool) -> Vec<String> {
    let mut seen = BTreeSet::new();
    let mut all = Vec::new();
    for (index, lab) in field.labs.iter().enumerate() {
        let Some(entrant) = lab.entrant else { continue };
        let ids: Vec<&str> = (field.cabinets.iter())
            .filter(|c| c.lab == index)
            .map(|c| c.own_id.as_ref())
            .collect();
        all.extend(review::cautions(entrant.lab, &ids));
    }
    if with_coupons {
        all.push(
            "Coupon cleaning uses inhibited hydrochloric acid: follow the standard, its safety data \
             sheet and local codes."
                .to_owned(),
        );
    }
    all.retain(|caution| seen.insert(caution.clone()));
    all
}
