//! The lab folder: what `lab.toml`, the profiles, `events.csv`, `exposures.csv`,
//! `coupons.csv` and `baselines/` say. Check logs are read by `intake`.

pub mod baseline_file;
mod compare_settings;
mod config;
mod corrosivity;
mod coupons;
mod difference;
mod error;
mod events;
mod exposures;
mod instruments;
mod listing;
mod log_rule;
mod moment;
mod names;
mod open;
mod profile;
mod reader;
mod sensitivities;
mod unmatched;
mod values;

#[cfg(test)]
mod hostile_tests;
#[cfg(test)]
mod tests;

pub use compare_settings::{
    CompareSettings, DEFAULT_MARGIN_SHARE, Margin, ReferenceValue, SigmaChoice,
};
pub use corrosivity::{
    AgainstPrecision, AgainstWindow, HOURS_AGREE, PublishedPrecision, RoundResult, Standing,
    against_precision, against_window, published_precision,
};
pub use coupons::{Coupon, RoundBlank};
pub use error::{At, LabError};
pub use instruments::{COVERAGE, Identity, Instrument, InstrumentConfig, Origin, Part, Size};
pub use names::fold_name;
pub use open::HowWritten;
pub use profile::{shipped, shipped_profile};
pub use sensitivities::Sensitivity;

use crate::characteristic::Characteristic;
use crate::issue::Issue;
use crate::time::{Instant, Zone};
use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::Arc;

/// Everything of a lab folder except its logs.
#[derive(Debug, Clone)]
pub struct Lab {
    /// The folder.
    pub root: PathBuf,
    /// Name of the lab: from `lab.toml`, else the folder's name.
    pub name: String,
    /// Zone of the wall clock.
    pub zone: Zone,
    /// Settings of `lab.toml` with their defaults.
    pub settings: Settings,
    /// What holds for cabinets and logs that do not say otherwise.
    pub defaults: Defaults,
    /// Profile of cabinets that name none; `None` when the lab names none either.
    pub default_profile: Option<Arc<Profile>>,
    /// Cabinets that `lab.toml` names, in its order.
    pub cabinets: Vec<CabinetConfig>,
    /// How logs are written, in the order of `lab.toml`; later rules win.
    pub logs: Vec<LogRule>,
    /// Characteristics of the lab's own.
    pub own: Vec<OwnCharacteristic>,
    /// Events in time order.
    pub events: Vec<Event>,
    /// Frozen limits by cabinet identifier, then characteristic.
    pub baselines: BTreeMap<Arc<str>, BTreeMap<Characteristic, FrozenLimits>>,
    /// Exposures in order of their start.
    pub exposures: Vec<Exposure>,
    /// Coupons by round, lab, cabinet and mark; those of other labs among them.
    pub coupons: Vec<Coupon>,
    /// Blank corrections by round and lab.
    pub coupon_blanks: Vec<RoundBlank>,
    /// Instruments that `lab.toml` states, in its order.
    pub instruments: Vec<InstrumentConfig>,
    /// Sensitivities of coupon mass loss that `lab.toml` states, in its order.
    pub sensitivities: Vec<Sensitivity>,
    /// Settings of comparisons with their defaults.
    pub compare: CompareSettings,
    /// What could not be used in events, exposures, coupons and baselines.
    pub issues: Vec<Issue>,
}

/// Settings with their defaults.
#[derive(Debug, Clone, PartialEq)]
pub struct Settings {
    /// Longest gap a moving range may span, days (default 7).
    pub gap_days: f64,
    /// Readings of an own baseline (default 30).
    pub baseline_readings: usize,
    /// Rule set (default `steadyfog`).
    pub rule_set: String,
    /// Whether sigma comes from the median moving range (default false).
    pub robust: bool,
    /// Most false alarms a year in the whole fleet that the default rule set may bring;
    /// `None` (default) for its own rate a series.
    pub alarms_per_year: Option<f64>,
    /// Weekdays on which checks are expected, Monday = 0 (default Monday to Friday).
    pub working_days: Vec<u8>,
}

/// How checks are written where neither the log's rule nor the cabinet says it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Defaults {
    /// Horizontal collecting area of a funnel, cm².
    pub funnel_area_cm2: Option<f64>,
    /// Length of the collection period when no column gives it, h.
    pub collection_hours: Option<f64>,
    /// Reference of the written specific gravity.
    pub gravity: Option<GravityReference>,
}

/// A cabinet that `lab.toml` names.
#[derive(Debug, Clone, PartialEq)]
pub struct CabinetConfig {
    /// Identifier used in files and JSON.
    pub id: Arc<str>,
    /// Name for the reader.
    pub name: String,
    /// Other ways logs write it.
    pub aliases: Vec<String>,
    /// Its profile with the cabinet's overrides applied; `None` when there is none.
    pub profile: Option<Arc<Profile>>,
    /// Horizontal collecting area of a funnel, cm².
    pub funnel_area_cm2: Option<f64>,
    /// Length of the collection period when no column gives it, h.
    pub collection_hours: Option<f64>,
    /// Reference of the written specific gravity.
    pub gravity: Option<GravityReference>,
}

/// What a written specific gravity means.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GravityReference {
    /// Temperature of the solution when read, °C; `None` when a column gives it.
    pub temperature: Option<f64>,
    /// What it is relative to.
    pub relative_to: GravityKind,
}

/// The reference of a specific gravity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum GravityKind {
    /// A density in g/cm³.
    Density,
    /// Relative to water at that temperature, °C.
    Water(f64),
    /// Relative to water at the temperature of the solution.
    WaterAtSame,
}

/// How some logs are written.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LogRule {
    /// Glob over paths relative to the lab folder, as `logs/2026-*.csv`.
    pub files: String,
    /// Glob over sheet names; `None` for every sheet.
    pub sheet: Option<String>,
    /// Cabinet that the file or sheet is about, when no column says it.
    pub cabinet: Option<Arc<str>>,
    /// Order of day and month.
    pub dates: Option<DateOrder>,
    /// Decimal sign.
    pub decimal: Option<char>,
    /// Field delimiter of a text log.
    pub delimiter: Option<char>,
    /// Encoding label, as `windows-1252`.
    pub encoding: Option<String>,
    /// Columns by heading as written (case and spaces folded when compared).
    pub columns: Vec<ColumnRule>,
    /// Length of the collection period, h.
    pub collection_hours: Option<f64>,
    /// Collecting area of the funnels, cm².
    pub funnel_area_cm2: Option<f64>,
    /// Reference of the written specific gravity.
    pub gravity: Option<GravityReference>,
}

/// What a column is, as `lab.toml` says.
#[derive(Debug, Clone, PartialEq)]
pub struct ColumnRule {
    /// Heading as written in the log.
    pub heading: String,
    /// What it is: a role name such as `cabinet-temperature`, `date` or `ignore`.
    pub is: String,
    /// Unit as written in `lab.toml`.
    pub unit: Option<String>,
}

/// Order of day, month and year in a written date.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum DateOrder {
    /// 31/12/2026.
    DayFirst,
    /// 12/31/2026.
    MonthFirst,
    /// 2026-12-31.
    YearFirst,
}

/// A characteristic of the lab's own.
#[derive(Debug, Clone, PartialEq)]
pub struct OwnCharacteristic {
    /// Identifier.
    pub id: Arc<str>,
    /// Unit, as the reports show it.
    pub unit: String,
    /// Headings that mean it.
    pub headings: Vec<String>,
    /// Lower conformance limit.
    pub lower: Option<f64>,
    /// Upper conformance limit.
    pub upper: Option<f64>,
}

/// A standard's windows, shipped or of the lab's own, with overrides applied.
#[derive(Debug, Clone, PartialEq)]
pub struct Profile {
    /// Identifier, as `iso-9227-nss`.
    pub id: Arc<str>,
    /// Title for the reader.
    pub title: String,
    /// Windows by characteristic.
    pub windows: BTreeMap<Characteristic, Window>,
    /// Tower temperature against gauge pressure, ascending in pressure; empty when unknown.
    pub tower: Vec<TowerPoint>,
    /// Largest allowed distance of the tower temperature from the table, °C.
    pub tower_tolerance: f64,
    /// Source of the tower table.
    pub tower_source: String,
    /// Shortest averaging period of a catch, h.
    pub collection_hours_min: Option<f64>,
    /// Source of the averaging period and the funnel.
    pub collection_source: String,
    /// Nominal collecting area of a funnel, cm²: only ever suggested, never assumed.
    pub funnel_area_cm2: Option<f64>,
    /// Reference of the specific-gravity window.
    pub gravity: Option<GravityReference>,
    /// Why that reference.
    pub gravity_source: String,
    /// Hours of exposure that the window of coupon mass loss is stated for; `None` when
    /// not said.
    pub coupon_hours: Option<f64>,
    /// Cautions that belong to this kind of test.
    pub cautions: Vec<String>,
}

/// Conformance limits of one characteristic.
#[derive(Debug, Clone, PartialEq)]
pub struct Window {
    /// Lower limit, in the characteristic's charted unit.
    pub lower: Option<f64>,
    /// Upper limit.
    pub upper: Option<f64>,
    /// Standard, edition, clause; says "from memory" where the text could not be read.
    pub source: String,
    /// Whether `lab.toml` overrides the shipped value.
    pub overridden: bool,
}

/// A row of the tower table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TowerPoint {
    /// Gauge pressure, kPa.
    pub pressure: f64,
    /// Tower temperature, °C.
    pub temperature: f64,
}

/// Something done to or happening at a cabinet.
#[derive(Debug, Clone, PartialEq)]
pub struct Event {
    /// When (start of the day where only a date is given).
    pub at: Instant,
    /// Cabinet identifier; `None` when it holds for all.
    pub cabinet: Option<Arc<str>>,
    /// Characteristic; `None` when it holds for all.
    pub characteristic: Option<Characteristic>,
    /// Kind, in the lab's words.
    pub kind: String,
    /// What happened, in the lab's words.
    pub what: Arc<str>,
    /// What it changes.
    pub effect: EventEffect,
}

/// What an event changes in the analysis.
#[derive(Debug, Clone, PartialEq)]
pub enum EventEffect {
    /// A new stage begins at the first reading at or after it.
    NewStage,
    /// Readings from the event's time until `until` (exclusive) are excluded; the reason is given.
    Exclude {
        /// End of the excluded stretch.
        until: Instant,
        /// Why.
        reason: Arc<str>,
    },
    /// Nothing; it may explain a signal.
    Note,
}

/// Limits saved to `baselines/<cabinet>.toml`.
#[derive(Debug, Clone, PartialEq)]
pub struct FrozenLimits {
    /// The limits, as they were computed.
    pub limits: crate::chart::Limits,
    /// Who approved them.
    pub approved_by: String,
    /// When they were frozen.
    pub frozen_at: Instant,
    /// Readings excluded from the computation, with reasons.
    pub excluded: Vec<(Instant, f64, String)>,
    /// SHA-256 of the readings used, see the baseline file's description.
    pub digest: String,
}

/// A test in a cabinet.
#[derive(Debug, Clone, PartialEq)]
pub struct Exposure {
    /// Job number or name.
    pub job: String,
    /// Cabinet identifier.
    pub cabinet: Arc<str>,
    /// Start.
    pub start: Instant,
    /// End; `None` while it runs.
    pub end: Option<Instant>,
    /// Profile or standard, in the lab's words.
    pub standard: String,
}
