//! The checks of all cabinets as columns of canonical units: what the intake hands on.
//!
//! A check is one visit to one cabinet. Values are as written apart from their unit:
//! nothing is derived here (collection rates per 80 cm² and salt concentration are
//! `quantity`'s).

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

/// Where a check was written: indices into [`Checks::sheets`], and the line.
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

/// All checks, rows grouped by cabinet and in time order within each.
///
/// Columns have one entry a row; a missing value is `NaN` inside and `None` outside.
#[derive(Debug, Clone, Default)]
pub struct Checks {
    /// Cabinet identifiers, ascending.
    pub(crate) cabinets: Vec<Arc<str>>,
    /// Rows of each cabinet, parallel to `cabinets`.
    pub(crate) rows: Vec<Range<usize>>,
    /// When each check was made.
    pub(crate) at: Vec<Instant>,
    /// Where each check was written.
    pub(crate) source: Vec<Source>,
    /// One column per measure that any log holds; NaN where a check lacks it.
    pub(crate) columns: BTreeMap<Measure, Vec<f64>>,
    /// The files and sheets that `source` refers to.
    pub(crate) sheets: Vec<SheetName>,
}

impl Checks {
    /// Cabinet identifiers in ascending order.
    pub fn cabinets(&self) -> &[Arc<str>] {
        &self.cabinets
    }
    /// Rows of the cabinet at that index of [`Checks::cabinets`].
    pub fn rows_of(&self, cabinet: usize) -> Range<usize> {
        self.rows.get(cabinet).cloned().unwrap_or(0..0)
    }
    /// Number of checks.
    pub fn len(&self) -> usize {
        self.at.len()
    }
    /// Whether there is no check.
    pub fn is_empty(&self) -> bool {
        self.at.is_empty()
    }
    /// Times of all rows; ascending within a cabinet.
    pub fn at(&self) -> &[Instant] {
        &self.at
    }
    /// Places of all rows.
    pub fn sources(&self) -> &[Source] {
        &self.source
    }
    /// Files and sheets that [`Source::sheet`] refers to.
    pub fn sheets(&self) -> &[SheetName] {
        &self.sheets
    }
    /// The measures that at least one check has, in their fixed order.
    pub fn measures(&self) -> impl Iterator<Item = &Measure> {
        self.columns.keys()
    }
    /// The column of that measure over all rows, NaN where missing; `None` if no log has it.
    pub fn column(&self, measure: &Measure) -> Option<&[f64]> {
        self.columns.get(measure).map(Vec::as_slice)
    }
    /// The value of a measure in a row; `None` where missing.
    pub fn value(&self, measure: &Measure, row: usize) -> Option<f64> {
        self.columns
            .get(measure)
            .and_then(|column| column.get(row))
            .copied()
            .filter(|v| !v.is_nan())
    }
}
