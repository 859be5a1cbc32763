//! How much mass loss goes with one unit of each characteristic, and how that is known.
//!
//! In order of preference: from the rounds, when they are enough; as the lab states it;
//! not at all. The choice is made here, once, and told in words. A sensitivity is an
//! association among the cabinets seen, not a law of corrosion.

use super::draws::{self, Ends};
use super::input::{Named, Observation, StatedSensitivity};
use super::regress::{Fitted, regress};
use super::table::{Column, Table};
use super::{needs, say, say_method};
use std::collections::BTreeMap;

/// Observations that must remain after one unknown a round and one a characteristic.
/// Below six, Student's factor at 95 % is above 2.45 and grows fast (own choice).
pub const FEWEST_DEGREES: usize = 6;
/// Cabinets that must remain after their mean and one a characteristic: rounds repeat the
/// same cabinets, and what sets a cabinet apart stays with it (own choice).
pub const FEWEST_BETWEEN: usize = 2;

/// Where the sensitivities come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Method {
    /// Shrinkage regression over the coupon rounds.
    Rounds,
    /// What the lab states.
    Stated,
    /// Nowhere: none is known.
    None,
}

impl Method {
    /// The word of the wire format: `rounds`, `stated` or `none`.
    pub fn word(self) -> &'static str {
        match self {
            Method::Rounds => "rounds",
            Method::Stated => "stated",
            Method::None => "none",
        }
    }
}

/// Change of mass loss per unit of one characteristic.
#[derive(Debug, Clone, PartialEq)]
pub struct Sensitivity {
    /// Its value, g/m² per unit over [`Sensitivities::hours`].
    pub value: f64,
    /// Its standard uncertainty.
    pub u: f64,
    /// Its 95 % interval.
    pub ends: Ends,
    /// Whether the lab states it (and the rounds, if used, only add to that).
    pub stated: bool,
    /// Share of the prior variance that the rounds took away; `None` without regression.
    pub told_by_rounds: Option<f64>,
    /// Share of the characteristic's variance among cabinets that is not uncertainty of
    /// its means; `None` without regression.
    pub reliability: Option<f64>,
    /// Draws, joint over the characteristics.
    pub(super) draws: Vec<f64>,
}

/// What is known of the sensitivities.
#[derive(Debug, Clone, PartialEq)]
pub struct Sensitivities {
    /// Where they come from.
    pub method: Method,
    /// Why this method, what it assumes and, without sensitivities, what would be needed.
    pub method_says: String,
    /// Hours of exposure they hold for; 0 when none was given, and then none is known.
    pub hours: f64,
    /// Cabinet-and-round cells that the regression used; 0 without it.
    pub observations: usize,
    /// Rounds that it used.
    pub rounds: usize,
    /// Cabinets that it used.
    pub participants: usize,
    /// Known ones, by characteristic.
    pub known: BTreeMap<String, Sensitivity>,
    /// Why the others are not known, by characteristic: the end of a sentence.
    pub unknown: BTreeMap<String, String>,
}

/// How much mass loss goes with one unit of each characteristic, over `hours` of exposure.
///
/// `observations` are all cabinets of all rounds, not only those of one pair; an
/// observation without a characteristic that enters is left out of the regression, and a
/// characteristic missing in more than a quarter of them does not enter. Mass loss is
/// taken as proportional to hours. Unusable numbers are left out and told in
/// [`Sensitivities::method_says`].
///
/// Rule: the regression is used when observations less rounds less characteristics are at
/// least [`FEWEST_DEGREES`], cabinets less one less characteristics at least
/// [`FEWEST_BETWEEN`], and it takes away at least a tenth of the prior variance of a
/// stated sensitivity, or half of that of another. It is tried with all characteristics,
/// then with the stated ones alone. Prior of a stated sensitivity: its value and
/// uncertainty; of another: 0, with the standard deviation that lets one standard
/// deviation of the characteristic go with one of the mass loss. Uncertain means of a
/// characteristic would flatten its sensitivity; its column is shrunk by its reliability
/// to undo that (regression calibration: Carroll et al., Measurement Error in Nonlinear
/// Models, chapter 4, from memory). Cabinets of one lab share an instrument and its error;
/// which do is not known here, so the worst is allowed for: a further relative uncertainty
/// of the instruments' uncertainty over √2 times the spread (own derivation).
///
/// ```
/// use steadyfog::compare::mismatch::{Method, Named, StatedSensitivity, sensitivities};
/// let catch = Named { id: "collection-rate".into(), spoken: "collection rate".into(), unit: "mL/h".into() };
/// let stated = StatedSensitivity {
///     characteristic: "collection-rate".into(), per_unit: 15.0, uncertainty: 4.0, hours: 24.0,
///     source: "own trial".into(),
/// };
/// // No rounds: the stated value, scaled from 24 h to 48 h.
/// let found = sensitivities(&[], &[stated], &[catch.clone()], 48.0);
/// assert_eq!(found.method, Method::Stated);
/// assert_eq!(found.known["collection-rate"].value, 30.0);
/// // Nothing at all: it says so, and what would be needed.
/// assert_eq!(sensitivities(&[], &[], &[catch], 48.0).method, Method::None);
/// ```
pub fn sensitivities(
    observations: &[Observation],
    stated: &[StatedSensitivity],
    characteristics: &[Named],
    hours: f64,
) -> Sensitivities {
    let hours_known = hours.is_finite() && hours > 0.0;
    let hours = if hours_known { hours } else { 0.0 };
    let (stated, mut notes) = usable_stated(stated, characteristics, hours);
    let table = Table::of(observations, hours);
    notes.extend(table.left_out.iter().cloned());
    let (mut entering, mut unknown) = (Vec::new(), BTreeMap::new());
    for named in characteristics.iter().filter(|_| hours_known) {
        match table.column(&named.id) {
            Ok(column) if column.reliability > 0.0 || stated.contains_key(&named.id) => {
                entering.push(column);
            }
            Err(_) if table.observations() == 0 => {}
            Ok(_) => {
                unknown.insert(
                    named.id.clone(),
                    "the cabinets differ in it by no more than its uncertainty".to_owned(),
                );
            }
            Err(why) => {
                unknown.insert(named.id.clone(), why.says().to_owned());
            }
        }
    }
    entering.sort_by(|a, b| a.id.cmp(&b.id));
    entering.dedup_by(|a, b| a.id == b.id);
    let stated_only: Vec<Column> = entering
        .iter()
        .filter(|column| stated.contains_key(&column.id))
        .cloned()
        .collect();
    let mut attempts = vec![entering];
    if attempts.iter().all(|all| all.len() > stated_only.len()) && !stated_only.is_empty() {
        attempts.push(stated_only);
    }
    let mut refused: Vec<String> = Vec::new();
    if hours_known {
        for columns in attempts {
            match regress(&table, &columns, &stated) {
                Ok(fitted) => {
                    notes.extend(say_method::only_stated(&refused));
                    return from_rounds(fitted, &stated, characteristics, hours, unknown, notes);
                }
                Err(why) if refused.contains(&why) => {}
                Err(why) => refused.push(why),
            }
        }
    } else {
        notes.push("The hours of exposure are not known.".to_owned());
    }
    let why = refused.join("; ");
    if stated.is_empty() {
        let needed = needs::needed(&table, characteristics);
        return Sensitivities {
            method: Method::None,
            method_says: say_method::none_says(&why, &needed, &notes),
            hours,
            observations: 0,
            rounds: 0,
            participants: 0,
            known: BTreeMap::new(),
            unknown: reasons(characteristics, &BTreeMap::new(), unknown),
        };
    }
    let known = as_stated(&stated);
    Sensitivities {
        method: Method::Stated,
        method_says: say_method::stated_says(&why, stated.values(), characteristics, hours, &notes),
        hours,
        observations: 0,
        rounds: 0,
        participants: 0,
        unknown: reasons(characteristics, &known, unknown),
        known,
    }
}

/// The stated sensitivities as they stand.
fn as_stated(stated: &BTreeMap<String, StatedSensitivity>) -> BTreeMap<String, Sensitivity> {
    let numbered = (2u64..).zip(stated);
    numbered
        .map(|(stream, (id, one))| {
            let reach = say::NORMAL_95 * one.uncertainty;
            let sensitivity = Sensitivity {
                value: one.per_unit,
                u: one.uncertainty,
                ends: Ends {
                    low: one.per_unit - reach,
                    high: one.per_unit + reach,
                },
                stated: true,
                told_by_rounds: None,
                reliability: None,
                draws: draws::of_stated(one.per_unit, one.uncertainty, stream),
            };
            (id.clone(), sensitivity)
        })
        .collect()
}

/// The stated sensitivities that can be used, scaled to `hours`, and a note on each other.
fn usable_stated(
    stated: &[StatedSensitivity],
    characteristics: &[Named],
    hours: f64,
) -> (BTreeMap<String, StatedSensitivity>, Vec<String>) {
    let (mut usable, mut notes) = (BTreeMap::new(), Vec::new());
    for one in stated {
        if !characteristics
            .iter()
            .any(|named| named.id == one.characteristic)
        {
            continue;
        }
        let factor = hours / one.hours;
        let scaled = StatedSensitivity {
            per_unit: one.per_unit * factor,
            uncertainty: one.uncertainty * factor,
            ..one.clone()
        };
        let fit_for_use = factor.is_finite()
            && factor > 0.0
            && scaled.per_unit.is_finite()
            && scaled.uncertainty.is_finite()
            && scaled.uncertainty >= 0.0;
        if !fit_for_use {
            notes.push(format!(
                "The stated sensitivity of {} is not usable: it needs finite numbers, an uncertainty of 0 or \
                 more and hours above 0.",
                one.characteristic
            ));
        } else if usable.contains_key(&one.characteristic) {
            notes.push(format!(
                "The sensitivity of {} is stated more than once; the first is used.",
                one.characteristic
            ));
        } else {
            usable.insert(one.characteristic.clone(), scaled);
        }
    }
    (usable, notes)
}

/// The reason for every characteristic that is not known.
fn reasons(
    characteristics: &[Named],
    known: &BTreeMap<String, Sensitivity>,
    mut found: BTreeMap<String, String>,
) -> BTreeMap<String, String> {
    for named in characteristics {
        if known.contains_key(&named.id) {
            found.remove(&named.id);
        } else {
            found.entry(named.id.clone()).or_insert_with(|| {
                "no sensitivity is stated and the rounds do not give one".to_owned()
            });
        }
    }
    found
}

fn from_rounds(
    fitted: Fitted,
    stated: &BTreeMap<String, StatedSensitivity>,
    characteristics: &[Named],
    hours: f64,
    mut unknown: BTreeMap<String, String>,
    mut notes: Vec<String>,
) -> Sensitivities {
    for id in &fitted.too_little {
        unknown.insert(
            id.clone(),
            "the rounds tell too little of its sensitivity".to_owned(),
        );
    }
    notes.extend(say_method::blurred(&fitted.blurred, characteristics));
    notes.extend(say_method::contradicted(
        &fitted.contradicted,
        characteristics,
    ));
    let degrees = fitted.observations
        - fitted.rounds.min(fitted.observations)
        - (fitted.known.len() + fitted.too_little.len());
    // A stated sensitivity that the rounds cannot test still holds.
    let mut known = as_stated(stated);
    let untested: Vec<String> = known
        .keys()
        .filter(|id| !fitted.known.contains_key(*id))
        .cloned()
        .collect();
    notes.extend(say_method::untested(&untested, characteristics));
    known.extend(fitted.known);
    Sensitivities {
        method: Method::Rounds,
        method_says: say_method::rounds_says(
            [
                fitted.observations,
                fitted.participants,
                fitted.rounds,
                degrees,
            ],
            &notes,
        ),
        hours,
        observations: fitted.observations,
        rounds: fitted.rounds,
        participants: fitted.participants,
        unknown: reasons(characteristics, &known, unknown),
        known,
    }
}
