//! Findings: what the reader is told, ranked, each with its evidence and where to look.
//!
//! Verdicts are put into sentences here and nowhere else. Nothing is estimated: every
//! number comes from a [`SeriesReview`]. A finding is about one happening at one cabinet
//! (all the series that moved together), not about one rule of one series.

mod breach;
mod cabinet;
#[cfg(test)]
mod cabinet_tests;
mod caution;
pub mod copied;
mod events;
mod evidence;
mod groups;
#[cfg(test)]
mod hint_tests;
mod hints;
mod lab;
mod matching;
mod observe;
mod rank;
mod records;
#[cfg(test)]
mod sample;
mod sentences;
pub mod state;
#[cfg(test)]
mod testing;
mod together;
mod weak;

pub use cabinet::of_cabinet;
pub use copied::{Copied, copied};
pub use lab::of_lab;
pub use rank::rank;

use crate::characteristic::Characteristic;
use crate::lab::{Event, Exposure, Lab};
use crate::report::wire::{self, Evidence};
#[cfg(doc)]
use crate::review::SeriesReview;
use crate::signal::RuleSet;
use crate::time::{Instant, Zone};
use chrono::{Datelike, NaiveDate};
use std::sync::Arc;

/// How urgent a finding is, most urgent first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Urgency {
    /// Outside the standard's window.
    Breach,
    /// On its way out, with a forecast.
    HeadingForBreach,
    /// Changed, but not on its way out.
    Changed,
    /// Unusual, cause unknown.
    Unusual,
    /// About the records: a value that stands still, missing days, rejected input.
    Records,
}

impl Urgency {
    /// The word of the wire format, as `heading-for-breach`.
    pub fn id(self) -> &'static str {
        match self {
            Urgency::Breach => "breach",
            Urgency::HeadingForBreach => "heading-for-breach",
            Urgency::Changed => "changed",
            Urgency::Unusual => "unusual",
            Urgency::Records => "records",
        }
    }
}

/// What of a cabinet findings draw on besides its series.
#[derive(Debug, Clone)]
pub struct CabinetContext<'a> {
    /// Identifier.
    pub id: &'a str,
    /// Name for the reader.
    pub name: &'a str,
    /// Title of the profile it is judged by; `None` when there is none.
    pub profile: Option<&'a str>,
    /// Zone of the wall clock.
    pub zone: Zone,
    /// First and last date of the period, both included.
    pub period: (NaiveDate, NaiveDate),
    /// Exposures in this cabinet, any dates; those that overlap a breach are named.
    pub exposures: Vec<&'a Exposure>,
    /// Events of this cabinet and of the whole lab, any dates.
    pub events: Vec<&'a Event>,
    /// Working days of the period without a check, ascending.
    pub missing_days: Vec<NaiveDate>,
    /// Combinations of readings that did not go together as usual.
    pub together: &'a [wire::Together],
    /// Readings of a steady series in which chance brings one signal of the rules in force;
    /// `None` where that is not known.
    pub checks_per_false_alarm: Option<f64>,
}

impl<'a> CabinetContext<'a> {
    /// The context of a cabinet as the lab folder and its records give it.
    ///
    /// `period` is its first and last date, `rules` the set in force. Dates in `cabinet.missing_days` that are no
    /// dates are left out; there are none in what a review writes.
    pub fn new(
        lab: &'a Lab,
        cabinet: &'a wire::Cabinet,
        period: (NaiveDate, NaiveDate),
        rules: &RuleSet,
    ) -> CabinetContext<'a> {
        let id = cabinet.id.as_str();
        let configured = lab.cabinets.iter().find(|c| &*c.id == id);
        let profile = match configured {
            Some(configured) => configured.profile.as_ref(),
            None => lab.default_profile.as_ref(),
        };
        let ours = |of: &Option<Arc<str>>| of.as_deref().is_none_or(|c| c == id);
        CabinetContext {
            id,
            name: &cabinet.name,
            profile: profile.map(|profile| profile.title.as_str()),
            zone: lab.zone,
            period,
            exposures: lab.exposures.iter().filter(|e| &*e.cabinet == id).collect(),
            events: lab.events.iter().filter(|e| ours(&e.cabinet)).collect(),
            missing_days: cabinet
                .missing_days
                .iter()
                .filter_map(|day| day.parse().ok())
                .collect(),
            together: &cabinet.together,
            checks_per_false_alarm: rules.false_alarms.map(|rate| 1.0 / rate),
        }
    }

    /// The year that dates leave out.
    fn year(&self) -> i32 {
        self.period.1.year()
    }

    /// The date of an instant, for the reader.
    fn day(&self, at: Instant) -> String {
        crate::signal::wording::day(self.zone.date(at), self.year())
    }

    /// Two dates, for the reader: `9 March` or `9 to 13 March`.
    fn days(&self, from: Instant, to: Instant) -> String {
        crate::signal::wording::days(self.zone.date(from), self.zone.date(to), self.year())
    }

    /// The cabinet as a sentence begins with it: `Cabinet Plover`, but a name that
    /// already says so stays as it is.
    fn title(&self) -> String {
        if self.name.to_lowercase().starts_with("cabinet") {
            self.name.to_owned()
        } else {
            format!("Cabinet {}", self.name)
        }
    }
}

/// What of the lab findings draw on besides its cabinets.
#[derive(Debug, Clone, Copy)]
pub struct LabContext<'a> {
    /// Zone of the wall clock.
    pub zone: Zone,
    /// First and last date of the period, both included.
    pub period: (NaiveDate, NaiveDate),
    /// Cabinets reviewed.
    pub cabinets: usize,
    /// What could not be used as written.
    pub issues: &'a [crate::issue::Issue],
}

/// A change of level, kept to see which cabinets changed together.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// What changed.
    pub characteristic: Characteristic,
    /// Whether upwards.
    pub up: bool,
    /// Since when.
    pub since: Instant,
}

/// A finding before it is ranked.
#[derive(Debug, Clone, PartialEq)]
pub struct Draft {
    /// Identifier, the same on every run.
    pub id: String,
    /// How urgent.
    pub urgency: Urgency,
    /// Place among those equally urgent: smaller comes first; finite.
    pub order: f64,
    /// Cabinet identifier; `None` when it concerns the lab.
    pub cabinet: Option<String>,
    /// Name of the cabinet for the reader.
    pub cabinet_name: Option<String>,
    /// Characteristic; `None` when it concerns several.
    pub characteristic: Option<Characteristic>,
    /// The finding in a few sentences.
    pub sentence: String,
    /// Numbers, dates and charts it rests on.
    pub evidence: Vec<Evidence>,
    /// Where to look first.
    pub look_at: Vec<String>,
    /// Changes of level it is about.
    pub changes: Vec<Change>,
}
