//! The checks of all cabinets as columns of canonical units: what the intake hands on.
//!
//! A check is one visit to one cabinet. Values are as written apart from their unit:
//! nothing is derived here (collection rates per 80 cm² and salt concentration are
//! `quantity`'s).

use crate::series::Times;
use crate::time::Instant;
use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::Arc;

/// A funnel with its graduated cylinder.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Collector {
    /// Near the nozzle; several are numbered from 1.
    Near(u8),
    /// Far from the nozzle; several are numbered from 1.
    Far(u8),
    /// Numbered from 1 without saying where it stands.
    Numbered(u8),
    /// The mean of all collectors, as the lab wrote it down.
    Mean,
}

/// What one column of checks holds, and in which canonical unit.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Measure {
    /// °C.
    CabinetTemperature,
    /// °C.
    TowerTemperature,
    /// Gauge pressure, kPa.
    AirPressure,
    /// Volume caught over the collection period, mL, by a collector of the lab's funnel area.
    CaughtVolume(Collector),
    /// Rate caught, mL/h by a collector of the lab's funnel area (not yet per 80 cm²).
    CaughtRate(Collector),
    /// Rate caught as the log gives it per 80 cm², mL/h per 80 cm².
    NormalisedRate(Collector),
    /// Length of the collection period, h.
    CollectionHours,
    /// pH.
    Ph,
    /// Specific gravity or density in g/cm³, as written: a number near 1.03.
    SpecificGravity,
    /// Density, kg/m³, where the reference of the written gravity is known.
    Density,
    /// Temperature at which gravity was read, °C.
    GravityTemperature,
    /// Salt, % by mass.
    SaltMassPercent,
    /// Salt, g/L of solution.
    SaltGramsPerLitre,
    /// A characteristic of the lab's own, in the unit `lab.toml` gives it.
    Own(Arc<str>),
}

/// Where a check was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Source {
    /// Index into [`Checks::sheets`].
    pub sheet: u32,
    /// Line of the text file or row of the sheet, from 1.
    pub line: u32,
}

/// The file (relative path) and sheet that checks came from.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct SheetName {
    /// Path relative to the lab folder.
    pub path: Arc<str>,
    /// Sheet, for workbooks.
    pub sheet: Option<Arc<str>>,
}

/// All checks, by cabinet and in time order within each.
#[derive(Debug, Clone, Default)]
pub struct Checks {
    /// Cabinet identifiers, ascending.
    pub(crate) cabinets: Vec<Arc<str>>,
    /// The checks of each cabinet, parallel to `cabinets`; none is empty.
    pub(crate) checks: Vec<CabinetChecks>,
    /// The files and sheets that [`Source::sheet`] refers to.
    pub(crate) sheets: Vec<SheetName>,
}

/// The checks of one cabinet as columns of equal length, in time order.
#[derive(Debug, Clone)]
pub struct CabinetChecks {
    /// When each check was made.
    pub(crate) times: Times,
    /// Line of each check.
    pub(crate) line: Vec<u32>,
    /// Sheet of each check.
    pub(crate) sheet: SheetOf,
    /// Values; NaN where a check lacks one.
    pub(crate) columns: BTreeMap<Measure, Vec<f64>>,
}

/// Which sheet the checks of a cabinet were written in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum SheetOf {
    /// All of them in this one.
    All(u32),
    /// Each in its own.
    Each(Vec<u32>),
}

impl Checks {
    /// Cabinet identifiers in ascending order.
    pub fn cabinets(&self) -> &[Arc<str>] {
        &self.cabinets
    }

    /// The checks of the cabinet at that index of [`Checks::cabinets`]; `None` past the end.
    pub fn of(&self, cabinet: usize) -> Option<&CabinetChecks> {
        self.checks.get(cabinet)
    }

    /// The checks of every cabinet, in the order of [`Checks::cabinets`].
    pub fn all(&self) -> &[CabinetChecks] {
        &self.checks
    }

    /// Number of checks.
    pub fn len(&self) -> usize {
        self.checks.iter().map(CabinetChecks::len).sum()
    }

    /// Whether there is no check.
    pub fn is_empty(&self) -> bool {
        self.checks.is_empty()
    }

    /// Files and sheets that [`Source::sheet`] refers to.
    pub fn sheets(&self) -> &[SheetName] {
        &self.sheets
    }

    /// Whether any check has a reading.
    pub fn has_readings(&self) -> bool {
        self.checks.iter().any(|of| of.measures().next().is_some())
    }
}

impl CabinetChecks {
    /// Number of checks.
    pub fn len(&self) -> usize {
        self.line.len()
    }

    /// Whether there is no check.
    pub fn is_empty(&self) -> bool {
        self.line.is_empty()
    }

    /// When each check was made; never decreasing.
    pub fn at(&self) -> &[Instant] {
        self.times.at()
    }

    /// As [`CabinetChecks::at`], to be shared with the series of the cabinet.
    pub fn times(&self) -> &Times {
        &self.times
    }

    /// Where the check of that row was written; `None` past the end.
    pub fn source(&self, row: usize) -> Option<Source> {
        let sheet = match &self.sheet {
            SheetOf::All(sheet) => *sheet,
            SheetOf::Each(sheets) => *sheets.get(row)?,
        };
        let line = *self.line.get(row)?;
        Some(Source { sheet, line })
    }

    /// Stretches of rows from the same file and sheet, in order, with [`Source::sheet`].
    pub fn stretches(&self) -> Vec<(u32, Range<usize>)> {
        match &self.sheet {
            SheetOf::All(sheet) => vec![(*sheet, 0..self.len())],
            SheetOf::Each(sheets) => {
                let mut start = 0;
                let stretch = |same: &[u32]| {
                    let rows = start..start + same.len();
                    start = rows.end;
                    Some((*same.first()?, rows))
                };
                sheets.chunk_by(|a, b| a == b).filter_map(stretch).collect()
            }
        }
    }

    /// The measures that at least one of the checks has, in their fixed order.
    pub fn measures(&self) -> impl Iterator<Item = &Measure> {
        let measures = self.columns.keys();
        measures.filter(|measure| self.column(measure).is_some())
    }

    /// The column of that measure, one value a check, NaN where missing; `None` where all are.
    pub fn column(&self, measure: &Measure) -> Option<&[f64]> {
        let column = self.columns.get(measure)?.as_slice();
        column.iter().any(|v| !v.is_nan()).then_some(column)
    }

    /// The value of a measure in a row; `None` where missing.
    pub fn value(&self, measure: &Measure, row: usize) -> Option<f64> {
        let value = *self.column(measure)?.get(row)?;
        (!value.is_nan()).then_some(value)
    }
}
