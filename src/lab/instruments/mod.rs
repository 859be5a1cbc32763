//! Instruments and their uncertainty: what `lab.toml` states under `[[instrument]]`, and
//! what is taken where it states nothing.
//!
//! An instrument's uncertainty does not average out over readings, so a comparison needs it
//! beside the scatter. Stated values are expanded uncertainties with k = 2 (GUM, JCGM
//! 100:2008, 6.2, from memory); standard ones, half of them, come out. How they enter a
//! comparison is not decided here.

mod defaults;
mod read;
mod resolve;

#[cfg(test)]
mod tests;

pub(super) use read::read;

use crate::characteristic::Characteristic;
use crate::quantity::brine::BrineAt;
use crate::quantity::units::{Celsius, Density, MassFraction};
use std::path::PathBuf;
use std::sync::Arc;

/// Coverage factor of every stated and default uncertainty.
pub const COVERAGE: f64 = 2.0;

/// An instrument as `lab.toml` states it.
#[derive(Debug, Clone, PartialEq)]
pub struct InstrumentConfig {
    /// Identifier as written.
    pub id: String,
    /// What it reads.
    pub characteristics: Vec<Characteristic>,
    /// Cabinets it reads; empty for all of the lab.
    pub cabinets: Vec<Arc<str>>,
    /// Its expanded uncertainty, k = 2, as a number in `unit`.
    pub expanded: f64,
    /// The unit as written; `None` for pH and specific gravity.
    pub unit: Option<String>,
    /// Certificate, in the lab's words.
    pub certificate: Option<String>,
    /// Day of its calibration.
    pub calibrated: Option<chrono::NaiveDate>,
    /// Whether it is carried between labs: the same id in another lab that says so too is
    /// the same instrument.
    pub travels: bool,
}

/// The instrument of a cabinet's characteristic with its standard uncertainty.
#[derive(Debug, Clone, PartialEq)]
pub struct Instrument {
    /// Identifier; `None` where none is stated.
    pub id: Option<String>,
    /// Which instrument it is, across cabinets and labs.
    pub identity: Identity,
    /// Whether the uncertainty of the instrument itself was stated or taken.
    pub origin: Origin,
    /// What the uncertainty is made of; the parts add in squares.
    pub parts: Vec<Part>,
    /// Identifier and uncertainty in words, or that a default was taken and which.
    pub says: String,
}

/// Which instrument it is: equal only for one and the same.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Identity {
    /// Carried between labs under that name (folded).
    Travelling(String),
    /// That name (folded) in the lab of that folder: equal ids of two labs are two instruments.
    OfLab(PathBuf, String),
    /// Not stated: taken as each cabinet's own, which claims least.
    Unstated(PathBuf, Arc<str>, Characteristic),
}

/// Where an uncertainty comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Origin {
    /// `lab.toml`.
    Stated,
    /// `data/instruments.toml`: common practice.
    Default,
}

/// One contribution to an uncertainty.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// What it comes from: "cylinder", "funnel area".
    pub what: &'static str,
    /// Its size.
    pub size: Size,
    /// Whether it belongs to the instrument, so that it is the same in every cabinet that
    /// the instrument reads; else it is the cabinet's own.
    pub of_instrument: bool,
}

/// A standard uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Size {
    /// In the unit the characteristic is charted in.
    Charted(f64),
    /// A share of the level.
    Share(f64),
    /// Of a density, kg/m³, from which percent of salt by mass are told at `celsius`; the
    /// uncertainty of the density model comes on top.
    OfDensity {
        /// Standard uncertainty of the density, kg/m³.
        density: f64,
        /// Temperature, °C.
        celsius: f64,
    },
}

impl Size {
    /// The standard uncertainty at a level, in the charted unit.
    ///
    /// At a level that is not finite a share counts as nothing: a characteristic without a
    /// level has no relative part. A temperature outside the density model is taken as 25 °C.
    pub fn at(self, level: f64) -> f64 {
        let level = if level.is_finite() { level } else { 0.0 };
        match self {
            Size::Charted(u) => u,
            Size::Share(share) => share * level.abs(),
            Size::OfDensity { density, celsius } => {
                let model = BrineAt::new(Celsius(celsius)).or_else(|_| BrineAt::new(Celsius(25.0)));
                let expanded = Density(COVERAGE * density);
                // 25 °C is within the model, so the fallback is never taken.
                model.map_or(density, |m| {
                    let fraction = MassFraction::from_percent(level);
                    m.fraction_uncertainty(fraction, expanded).percent() / COVERAGE
                })
            }
        }
    }
}

impl Instrument {
    /// The standard uncertainty that readings around a level share, in the charted unit.
    ///
    /// ```
    /// use steadyfog::characteristic::Characteristic;
    /// use steadyfog::lab::Lab;
    /// // Nothing stated: U = 5 % of the reading for a gauge, so u = 2.5 kPa at 100 kPa.
    /// let gauge = Lab::bare("lab").instrument("plover", &Characteristic::AirPressure);
    /// assert!(gauge.is_some_and(|g| (g.standard_uncertainty(100.0) - 2.5).abs() < 1e-12));
    /// ```
    pub fn standard_uncertainty(&self, level: f64) -> f64 {
        self.parts
            .iter()
            .map(|p| p.size.at(level).powi(2))
            .sum::<f64>()
            .sqrt()
    }

    /// The standard uncertainty of the difference of two levels that this instrument and
    /// `other` read.
    ///
    /// What one and the same instrument contributes to both takes itself off (the GUM's
    /// full correlation, JCGM 100:2008, 5.2.2 note 1, from memory); everything else adds
    /// in squares. 0 when one instrument read both and nothing else is uncertain.
    pub fn uncertainty_of_difference(
        &self,
        level: f64,
        other: &Instrument,
        other_level: f64,
    ) -> f64 {
        let one = self.identity == other.identity;
        let mut squares = 0.0;
        let mut paired = vec![false; other.parts.len()];
        for part in &self.parts {
            let u = part.size.at(level);
            let twin = other
                .parts
                .iter()
                .position(|p| one && part.of_instrument && p.of_instrument && p.what == part.what);
            let twin_u = twin.and_then(|i| {
                if let Some(seen) = paired.get_mut(i) {
                    *seen = true;
                }
                other.parts.get(i).map(|p| p.size.at(other_level))
            });
            squares += match twin_u {
                Some(theirs) => (u - theirs).powi(2),
                None => u * u,
            };
        }
        let unpaired = other.parts.iter().zip(&paired).filter(|(_, seen)| !**seen);
        squares += unpaired
            .map(|(p, _)| p.size.at(other_level).powi(2))
            .sum::<f64>();
        squares.sqrt()
    }
}
