//! Puts the reviews of all cabinets, the records and the lab's papers into one result.

use super::{Period, ReviewOptions, State};
use crate::finding::{self, LabContext};
use crate::intake::Intake;
use crate::issue::Issue;
use crate::lab::{Event, EventEffect, Lab, Profile};
use crate::report::wire;
use crate::signal::RuleSet;
use std::collections::BTreeMap;

/// One cabinet, reviewed.
pub(super) struct CabinetReview {
    pub(super) cabinet: wire::Cabinet,
    #[allow(clippy::vec_box)] // as the review holds them
    pub(super) series: Vec<Box<wire::Series>>,
    pub(super) findings: Vec<finding::Draft>,
    pub(super) issues: Vec<Issue>,
    /// Readings of the period that rules judged, and checks whose combination they judged.
    pub(super) judged: u64,
    /// What the head of the report counts.
    pub(super) counts: Counts,
}

/// What the head of the report counts in the series of a cabinet and in the cabinet itself.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Counts {
    /// Series by state, in the order of [`State::ALL`].
    states: [u64; State::ALL.len()],
    /// Signals that no event explains.
    signals: u64,
    /// Signals that an event explains.
    explained: u64,
    /// Readings of the period outside conformance limits.
    outside: u64,
}

impl Counts {
    /// Counted where a cabinet is reviewed: going through a fleet's series once more at the
    /// end would fetch all of them from memory again.
    pub(super) fn of(cabinet: &wire::Cabinet, series: &[Box<wire::Series>]) -> Counts {
        let of_series = series.iter().flat_map(|s| &s.signals);
        let of_series = of_series.map(|signal| &signal.explained_by);
        let explanations = of_series.chain(cabinet.together.iter().map(|t| &t.explained_by));
        let mut counts = Counts::default();
        for explanation in explanations {
            match explanation {
                Some(_) => counts.explained += 1,
                None => counts.signals += 1,
            }
        }
        for (count, state) in counts.states.iter_mut().zip(State::ALL) {
            *count = series.iter().filter(|s| s.state == state.id()).count() as u64;
        }
        let conformance = series.iter().filter_map(|s| s.conformance.as_ref());
        counts.outside = conformance.map(|c| c.outside).sum();
        counts
    }

    fn add(&mut self, other: Counts) {
        for (count, more) in self.states.iter_mut().zip(other.states) {
            *count += more;
        }
        self.signals += other.signals;
        self.explained += other.explained;
        self.outside += other.outside;
    }
}

/// A caution that every report carries.
const DECIDES: &str = "This report advises. It does not replace the standard, the lab's \
     procedure or a competent person's decision; when a breach may have touched an exposure, \
     the lab's non-conforming-work procedure decides.";

/// Whoever looks after a finding meets these (usual cautions of the trade).
const AT_THE_CABINET: [&str; 3] = [
    "Before opening a cabinet, purge the fog and let hot surfaces cool.",
    "The saturator tower is hot and under pressure: release it before any work on it.",
    "Brine and electricity: switch off and isolate before reaching into heaters or wiring; \
     follow local codes and leave wiring to licensed people.",
];

/// The whole review.
pub(super) fn assemble(
    lab: &Lab,
    intake: &Intake,
    options: &ReviewOptions<'_>,
    reviewed: Vec<CabinetReview>,
) -> wire::Review {
    let zone = lab.zone;
    let mut issues: Vec<Issue> = intake.issues.clone();
    issues.extend(lab.issues.iter().cloned());
    issues.extend(lab.unmatched(intake.checks.cabinets()));
    let (mut judged, mut counts) = (0, Counts::default());
    let mut cabinets = Vec::with_capacity(reviewed.len());
    let mut series = Vec::with_capacity(reviewed.iter().map(|cabinet| cabinet.series.len()).sum());
    let mut drafts = Vec::new();
    for cabinet in reviewed {
        cabinets.push(cabinet.cabinet);
        series.extend(cabinet.series);
        drafts.extend(cabinet.findings);
        issues.extend(cabinet.issues);
        judged += cabinet.judged;
        counts.add(cabinet.counts);
    }
    let context = LabContext {
        zone,
        period: options.period.days(),
        cabinets: cabinets.len(),
        issues: &issues,
    };
    let of_lab = finding::of_lab(&context, &drafts);
    drafts.extend(of_lab);
    let ids: Vec<&str> = cabinets.iter().map(|c| c.id.as_str()).collect();
    let (profiles, cautions) = (profiles_in_use(lab, &ids), cautions(lab, &ids));
    let summary = summary(&cabinets, counts, intake, judged, options.rules);
    wire::Review {
        schema: wire::REVIEW_SCHEMA.to_owned(),
        program: wire::Program {
            name: env!("CARGO_PKG_NAME").to_owned(),
            version: env!("CARGO_PKG_VERSION").to_owned(),
        },
        made_at: zone.rfc3339(options.now),
        lab: crate::issue::shown(&lab.name),
        zone: zone.name().map(str::to_owned),
        period: wire::Period {
            from: options.period.from().to_string(),
            to: options.period.to().to_string(),
        },
        cautions,
        profiles,
        cabinets,
        inputs: inputs(intake),
        issues: issues.into_iter().map(issue_on_wire).collect(),
        events: events(lab, options),
        series,
        findings: finding::rank(drafts),
        summary,
        rules: wire::RuleSet {
            name: options.rules.name.to_owned(),
            source: options.rules.source.clone().into_owned(),
            rules: options
                .rules
                .texts()
                .into_iter()
                .map(|(name, asks)| wire::RuleText { name, asks })
                .collect(),
        },
    }
}

/// A cabinet as the intake knows it.
pub(super) fn cabinet_on_wire(
    lab: &Lab,
    intake: &Intake,
    cabinet: usize,
    period: Period,
) -> wire::Cabinet {
    let zone = lab.zone;
    let checks = &intake.checks;
    let id = &checks.cabinets()[cabinet];
    let at = checks.of(cabinet).map_or(&[][..], |of| of.at());
    let span = period.instants(zone);
    let in_period = at.partition_point(|&t| t < span.end) - at.partition_point(|&t| t < span.start);
    let missing = intake.missing_days.get(id).map_or(&[][..], Vec::as_slice);
    wire::Cabinet {
        id: id.as_ref().to_owned(),
        name: intake
            .cabinet_names
            .get(id)
            .cloned()
            .unwrap_or_else(|| id.as_ref().to_owned()),
        profile: lab.profile_of(id).map(|p| p.id.as_ref().to_owned()),
        checks: in_period as u64,
        first_check: at.first().map(|&t| zone.rfc3339(t)),
        last_check: at.last().map(|&t| zone.rfc3339(t)),
        missing_days: missing
            .iter()
            .filter(|&&day| period.from() <= day && day <= period.to())
            .map(ToString::to_string)
            .collect(),
        together: Vec::new(),
    }
}

/// The input files on the wire.
pub(crate) fn inputs(intake: &Intake) -> Vec<wire::Input> {
    intake
        .files
        .iter()
        .map(|file| wire::Input {
            path: file.path.clone(),
            sha256: file.sha256.clone(),
            rows: file.rows(),
            checks: file.checks(),
            rejected_cells: file.rejected_cells(),
        })
        .collect()
}

/// An issue on the wire.
pub(crate) fn issue_on_wire(issue: Issue) -> wire::Issue {
    wire::Issue {
        path: issue.place.path,
        sheet: issue.place.sheet,
        line: issue.place.line,
        column: issue.place.column,
        found: issue.found,
        problem: issue.problem,
        hint: issue.hint,
        effect: issue.effect.id().to_owned(),
        count: issue.count,
    }
}

fn events(lab: &Lab, options: &ReviewOptions<'_>) -> Vec<wire::Event> {
    let end = options.period.instants(lab.zone).end;
    lab.events
        .iter()
        .filter(|event| event.at < end)
        .map(|event| event_on_wire(event, lab))
        .collect()
}

fn event_on_wire(event: &Event, lab: &Lab) -> wire::Event {
    wire::Event {
        at: lab.zone.rfc3339(event.at),
        cabinet: event.cabinet.as_deref().map(str::to_owned),
        characteristic: event.characteristic.as_ref().map(|c| c.id().to_owned()),
        kind: event.kind.clone(),
        what: event.what.as_ref().to_owned(),
        effect: match event.effect {
            EventEffect::NewStage => "new-stage",
            EventEffect::Exclude { .. } => "exclude",
            EventEffect::Note => "note",
        }
        .to_owned(),
    }
}

/// The profiles that cabinets are judged by, each once, in order of their identifiers.
pub(crate) fn profiles_in_use(lab: &Lab, cabinets: &[&str]) -> Vec<wire::ProfileUse> {
    let mut in_use: BTreeMap<String, wire::ProfileUse> = BTreeMap::new();
    for profile in profiles_of(lab, cabinets) {
        let values = profile_values(profile, lab);
        let entry = in_use
            .entry(profile.id.as_ref().to_owned())
            .or_insert_with(|| wire::ProfileUse {
                id: profile.id.as_ref().to_owned(),
                title: profile.title.clone(),
                values: Vec::new(),
            });
        // Cabinets may override single values of one profile: each variant is shown.
        for value in values {
            if !entry.values.contains(&value) {
                entry.values.push(value);
            }
        }
    }
    in_use.into_values().collect()
}

/// The cabinets' profiles, one that many share once.
fn profiles_of<'a>(lab: &'a Lab, cabinets: &[&str]) -> Vec<&'a Profile> {
    let mut profiles: Vec<&Profile> = Vec::new();
    for profile in cabinets
        .iter()
        .filter_map(|cabinet| lab.profile_of(cabinet))
    {
        if !profiles.iter().any(|known| std::ptr::eq(*known, profile)) {
            profiles.push(profile);
        }
    }
    profiles
}

fn profile_values(profile: &Profile, lab: &Lab) -> Vec<wire::ProfileValue> {
    profile
        .windows
        .iter()
        .map(|(characteristic, window)| wire::ProfileValue {
            characteristic: characteristic.id().to_owned(),
            lower: window.lower,
            upper: window.upper,
            unit: lab.unit_of(characteristic).to_owned(),
            source: window.source.clone(),
            overridden: window.overridden,
        })
        .collect()
}

/// Cautions of the profiles in use, each once, and the usual ones of the trade.
pub(crate) fn cautions(lab: &Lab, cabinets: &[&str]) -> Vec<String> {
    let mut cautions = vec![DECIDES.to_owned()];
    for profile in profiles_of(lab, cabinets) {
        for caution in &profile.cautions {
            if !cautions.contains(caution) {
                cautions.push(caution.clone());
            }
        }
    }
    if cautions.len() == 1 {
        cautions.extend(AT_THE_CABINET.map(str::to_owned));
    }
    cautions
}

/// Counts for the head of the report; `judged` are the readings of the period that rules
/// judged, and its checks judged as a combination.
fn summary(
    cabinets: &[wire::Cabinet],
    counts: Counts,
    intake: &Intake,
    judged: u64,
    rules: &RuleSet,
) -> wire::Summary {
    let expected = rules.false_alarms.map(|rate| rate * judged as f64);
    wire::Summary {
        cabinets: cabinets.len() as u64,
        checks: cabinets.iter().map(|c| c.checks).sum(),
        states: State::ALL
            .iter()
            .zip(counts.states)
            .map(|(state, series)| wire::StateCount {
                state: state.id().to_owned(),
                series,
            })
            .collect(),
        signals: counts.signals,
        signals_explained: counts.explained,
        breaches: counts.outside,
        rejected_cells: intake.files.iter().map(|f| f.rejected_cells()).sum(),
        expected_false_alarms: expected,
        signals_say: super::says::signals(counts.signals, judged, expected, rules.name),
    }
}
