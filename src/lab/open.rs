//! Opening a lab folder, and the questions the rest of the program asks it.

use super::error::LabError;
use super::reader::Text;
use super::{
    CabinetConfig, Defaults, Event, GravityReference, Lab, LogRule, Profile, Settings, Window,
    baseline_file, config, coupons, events, exposures, fold_name,
};
use crate::characteristic::Characteristic;
use crate::time::{Instant, Zone};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

impl Default for Settings {
    fn default() -> Settings {
        Settings {
            gap_days: 7.0,
            baseline_readings: 30,
            rule_set: "steadyfog".to_owned(),
            robust: false,
            alarms_per_year: None,
            working_days: vec![0, 1, 2, 3, 4],
        }
    }
}

/// How a log's collection and gravity columns are to be taken.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct HowWritten {
    /// Length of the collection period where no column gives it, h.
    pub collection_hours: Option<f64>,
    /// Collecting area of the funnels, cm².
    pub funnel_area_cm2: Option<f64>,
    /// Reference of the written specific gravity.
    pub gravity: Option<GravityReference>,
}

impl Lab {
    /// A lab with nothing but a folder: no settings, no profile, no events.
    pub fn bare(root: impl Into<PathBuf>) -> Lab {
        let root = root.into();
        let name = std::fs::canonicalize(&root)
            .unwrap_or_else(|_| root.clone())
            .file_name()
            .map_or_else(|| "lab".to_owned(), |n| n.to_string_lossy().into_owned());
        Lab {
            root,
            name,
            zone: Zone::AS_WRITTEN,
            settings: Settings::default(),
            defaults: Defaults::default(),
            default_profile: None,
            cabinets: Vec::new(),
            logs: Vec::new(),
            own: Vec::new(),
            events: Vec::new(),
            baselines: BTreeMap::new(),
            exposures: Vec::new(),
            coupons: Vec::new(),
            coupon_blanks: Vec::new(),
            instruments: Vec::new(),
            sensitivities: Vec::new(),
            compare: super::CompareSettings::default(),
            issues: Vec::new(),
        }
    }

    /// Reads everything of a lab folder except its logs; every file is optional.
    ///
    /// # Errors
    /// [`LabError`] when the folder is missing, when `lab.toml`, a profile or a baseline
    /// is broken, or when a file is there but cannot be read. Bad rows of `events.csv`,
    /// `exposures.csv` and `coupons.csv` are in [`Lab::issues`] instead.
    pub fn open(root: &Path) -> Result<Lab, LabError> {
        if !root.is_dir() {
            return Err(LabError::NotAFolder(root.to_owned()));
        }
        let mut lab = Lab::bare(root);
        if let Some(text) = Text::read(root, "lab.toml")? {
            config::read(&text, &mut lab)?;
        }
        events::read(&mut lab)?;
        exposures::read(&mut lab)?;
        coupons::read(&mut lab)?;
        baseline_file::read_all(&mut lab)?;
        Ok(lab)
    }

    /// The identifier of the cabinet that `lab.toml` knows under that name or alias,
    /// case, spaces and hyphens folded; `None` when it knows none.
    pub fn cabinet_id(&self, written: &str) -> Option<Arc<str>> {
        let folded = fold_name(written);
        let known = |text: &str| fold_name(text) == folded;
        self.cabinets
            .iter()
            .find(|c| known(&c.id) || known(&c.name) || c.aliases.iter().any(|a| known(a)))
            .map(|c| Arc::clone(&c.id))
    }

    /// What `lab.toml` says of the cabinet of that identifier.
    pub fn cabinet(&self, id: &str) -> Option<&CabinetConfig> {
        self.cabinets.iter().find(|c| &*c.id == id)
    }

    /// The cabinet's profile with all overrides; `None` when neither it nor the lab names one.
    pub fn profile_of(&self, cabinet: &str) -> Option<&Profile> {
        match self.cabinet(cabinet) {
            Some(config) => config.profile.as_deref(),
            None => self.default_profile.as_deref(),
        }
    }

    /// The cabinet's conformance window of a characteristic, own ones included.
    pub fn window(&self, cabinet: &str, characteristic: &Characteristic) -> Option<&Window> {
        self.profile_of(cabinet)?.windows.get(characteristic)
    }

    /// The events that concern a cabinet and a characteristic, in time order.
    pub fn events_for<'a>(
        &'a self,
        cabinet: &'a str,
        characteristic: &'a Characteristic,
    ) -> impl Iterator<Item = &'a Event> {
        self.events.iter().filter(move |e| {
            e.cabinet.as_deref().is_none_or(|c| c == cabinet)
                && e.characteristic
                    .as_ref()
                    .is_none_or(|c| c == characteristic)
        })
    }

    /// The exposures that stand in a cabinet at some time from `from` to `to`.
    pub fn exposures_in<'a>(
        &'a self,
        cabinet: &'a str,
        from: Instant,
        to: Instant,
    ) -> impl Iterator<Item = &'a super::Exposure> {
        self.exposures.iter().filter(move |e| {
            &*e.cabinet == cabinet && e.start <= to && e.end.is_none_or(|end| end > from)
        })
    }

    /// The unit a characteristic is charted in; that of `lab.toml` for the lab's own.
    pub fn unit_of<'a>(&'a self, characteristic: &Characteristic) -> &'a str {
        match characteristic {
            Characteristic::Own(id) => self
                .own
                .iter()
                .find(|o| o.id == *id)
                .map_or("", |o| o.unit.as_str()),
            built_in => built_in.unit(),
        }
    }

    /// How a cabinet's values in a file (and sheet) are to be taken: each setting from
    /// the last matching `[[log]]` that gives it, else the cabinet, else `[lab]`.
    pub fn how_written(&self, cabinet: &str, path: &str, sheet: Option<&str>) -> HowWritten {
        let config = self.cabinet(cabinet);
        let mut how = HowWritten {
            collection_hours: config
                .and_then(|c| c.collection_hours)
                .or(self.defaults.collection_hours),
            funnel_area_cm2: config
                .and_then(|c| c.funnel_area_cm2)
                .or(self.defaults.funnel_area_cm2),
            gravity: config.and_then(|c| c.gravity).or(self.defaults.gravity),
        };
        let says_something = |rule: &&LogRule| {
            rule.collection_hours.is_some()
                || rule.funnel_area_cm2.is_some()
                || rule.gravity.is_some()
        };
        for rule in self.logs.iter().filter(says_something) {
            if rule.covers(path, sheet) {
                how.collection_hours = rule.collection_hours.or(how.collection_hours);
                how.funnel_area_cm2 = rule.funnel_area_cm2.or(how.funnel_area_cm2);
                how.gravity = rule.gravity.or(how.gravity);
            }
        }
        how
    }
}

impl LogRule {
    /// Whether the rule is about that file (path relative to the lab folder) and sheet.
    ///
    /// A rule without a sheet pattern covers every sheet; one with a pattern covers no
    /// file without sheets.
    pub fn covers(&self, path: &str, sheet: Option<&str>) -> bool {
        let matches =
            |pattern: &str, text: &str| glob::Pattern::new(pattern).is_ok_and(|p| p.matches(text));
        matches(&self.files, path)
            && self
                .sheet
                .as_deref()
                .is_none_or(|pattern| sheet.is_some_and(|s| matches(pattern, s)))
    }
}
