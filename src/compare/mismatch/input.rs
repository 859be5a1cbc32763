//! What the explanation of a mismatch is made from, as plain numbers.
//!
//! Readings and coupons become these numbers elsewhere; nothing here is read from a file.

use std::collections::BTreeMap;

/// A characteristic that may go with mass loss, and how a sentence names it.
#[derive(Debug, Clone, PartialEq)]
pub struct Named {
    /// Identifier, as `collection-rate`.
    pub id: String,
    /// Name in a sentence, as "collection rate".
    pub spoken: String,
    /// Unit; empty when it has none.
    pub unit: String,
}

/// A cabinet's mean of one characteristic around one exposure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Level {
    /// Mean of the checks during the exposure, in the unit of the characteristic.
    pub mean: f64,
    /// Its standard uncertainty by chance: few checks, their scatter. 0 takes it for exact.
    pub u_chance: f64,
    /// Standard uncertainty of the instrument, which every check shares.
    pub u_instrument: f64,
}

impl Level {
    /// Both uncertainties together, squared.
    pub(super) fn variance(self) -> f64 {
        self.u_chance * self.u_chance + self.u_instrument * self.u_instrument
    }
}

/// One cabinet in one coupon round.
#[derive(Debug, Clone, PartialEq)]
pub struct Observation {
    /// The round.
    pub round: String,
    /// The cabinet.
    pub participant: String,
    /// Hours of exposure.
    pub hours: f64,
    /// Mean mass loss of its coupons, g/m², blank-corrected.
    pub mass_loss: f64,
    /// Standard uncertainty of that mean by the scatter of coupons, g/m²; `None` when one
    /// coupon leaves it unknown. A repeatability pooled over cabinets is better than each
    /// cabinet's own.
    pub u: Option<f64>,
    /// Level of each characteristic by its identifier; what was not measured is absent.
    pub values: BTreeMap<String, Level>,
}

/// A sensitivity that the lab states, with where it has it from.
#[derive(Debug, Clone, PartialEq)]
pub struct StatedSensitivity {
    /// Identifier of the characteristic.
    pub characteristic: String,
    /// Change of mass loss per unit of the characteristic, g/m², in `hours`.
    pub per_unit: f64,
    /// Its standard uncertainty; 0 takes it for exact.
    pub uncertainty: f64,
    /// Exposure that it holds for.
    pub hours: f64,
    /// Where it comes from.
    pub source: String,
}

/// The coupon difference of a pair.
#[derive(Debug, Clone, PartialEq)]
pub struct CouponDifference {
    /// The one: identifier.
    pub a: String,
    /// The one: name in a sentence.
    pub a_name: String,
    /// The other: identifier.
    pub b: String,
    /// The other: name in a sentence.
    pub b_name: String,
    /// Rounds that it is averaged over.
    pub rounds: Vec<String>,
    /// Hours of exposure, averaged over these rounds.
    pub hours: f64,
    /// Mass loss of `a` less that of `b`, g/m².
    pub difference: f64,
    /// Its standard uncertainty by chance; `None` when unknown.
    pub u: Option<f64>,
    /// Degrees of freedom of `u`; `None` when large.
    pub df: Option<f64>,
}

/// How the daily checks of a pair differ in one characteristic.
#[derive(Debug, Clone, PartialEq)]
pub struct Difference {
    /// The characteristic.
    pub characteristic: Named,
    /// Mean of `a` less mean of `b` over the time compared.
    pub difference: f64,
    /// Its standard uncertainty by chance.
    pub u_chance: f64,
    /// Standard uncertainty of the difference between the two instruments; 0 when one
    /// instrument read both.
    pub u_instruments: f64,
}

/// Why a difference or an explanation cannot be given.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum MismatchError {
    /// No round has both.
    #[error(
        "{a} and {b} have no coupon round in common, so their mass losses cannot be compared; \
         expose coupons of one lot in both at the same time"
    )]
    NoCommonRound {
        /// The one.
        a: String,
        /// The other.
        b: String,
    },
    /// A number that must be finite is not, or an uncertainty or a time is negative.
    #[error("{what} is {found}, which is no usable number; correct where it comes from")]
    NotANumber {
        /// What was looked at.
        what: String,
        /// What it was.
        found: f64,
    },
}

/// Passes finite numbers of at least `least` through.
pub(super) fn checked(value: f64, least: f64, what: &str) -> Result<f64, MismatchError> {
    if value.is_finite() && value >= least {
        Ok(value)
    } else {
        Err(MismatchError::NotANumber {
            what: what.to_owned(),
            found: value,
        })
    }
}
