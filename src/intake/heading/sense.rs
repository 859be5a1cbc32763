//! From the parts of one heading to its role.

use super::HeadingReading;
use super::lexicon::{self, Idea};
use super::parts::{self, Parts};
use crate::intake::checks::Collector;
use crate::intake::role::Role;
use crate::intake::unit::Unit;
use crate::lab::{GravityKind, GravityReference};
use std::collections::BTreeSet;

/// A verdict on the words of a heading.
enum Verdict {
    Is(Role, &'static str),
    /// It may be one of several; the first is the likeliest.
    May(Vec<Role>, &'static str),
    Unknown,
}

/// Reads one heading.
pub(super) fn read(heading: &str) -> HeadingReading {
    let parts = parts::take_apart(heading);
    let (mut ideas, unknown) = lexicon::ideas(&parts.words);
    if parts.density_symbol {
        ideas.insert(Idea::Gravity);
    }
    let mut verdict = judge(&ideas, &parts);
    // `Oil temp.` is a temperature, but neither neighbours nor samples may settle of what.
    if let Verdict::May(roles, _) = &mut verdict
        && roles.first() == Some(&Role::CabinetTemperature)
        && !roles.contains(&Role::Ignore)
        && (ideas.contains(&Idea::Water) || unknown.iter().any(|w| is_telling(w)))
    {
        roles.push(Role::Ignore);
    }
    let (role, alternatives, reason) = match verdict {
        Verdict::Is(role, reason) => (Some(role), Vec::new(), reason),
        Verdict::May(roles, reason) => (None, roles, reason),
        Verdict::Unknown => (None, Vec::new(), "none of its words is known"),
    };
    let mut reading = HeadingReading {
        role,
        unit: parts.unit,
        gravity: None,
        gravity_temperature: None,
        collection_hours: parts.hours,
        funnel_area_cm2: parts.funnel_area_cm2,
        why: reason.to_owned(),
        alternatives,
    };
    complete(&mut reading, &parts);
    reading
}

/// Whether an unknown word may say of what a reading is: not a figure, letter or filler.
fn is_telling(word: &str) -> bool {
    let filler = [
        "of", "the", "de", "la", "le", "der", "die", "des", "del", "in", "en", "ist", "at",
    ];
    word.chars().count() > 1 && word.chars().all(char::is_alphabetic) && !filler.contains(&word)
}

/// Adds what the statements of a heading mean for its role.
fn complete(reading: &mut HeadingReading, parts: &Parts) {
    if reading.role == Some(Role::SpecificGravity) {
        reading.gravity_temperature = parts
            .gravity
            .and_then(|g| g.temperature)
            .or(parts.temperature);
        reading.gravity = match (parts.unit, parts.gravity) {
            (Some(Unit::Density(_) | Unit::MassConcentration(_)), _) => Some(GravityReference {
                temperature: reading.gravity_temperature,
                relative_to: GravityKind::Density,
            }),
            (_, Some(stated)) => Some(stated),
            _ => None,
        };
    }
    let is_collection = matches!(reading.role, Some(Role::Collection(_)))
        || reading
            .alternatives
            .iter()
            .any(|r| matches!(r, Role::Collection(_)));
    if is_collection {
        match reading.unit {
            Some(Unit::Rate { minutes, .. } | Unit::NormalisedRate { minutes, .. })
                if minutes > 60 && minutes % 60 == 0 =>
            {
                reading.collection_hours = Some(f64::from(minutes / 60));
            }
            // A catch per area becomes a rate with the period stated beside it.
            Some(Unit::VolumePerArea { volume, area_mm2 }) => {
                if let Some(hours) = reading.collection_hours {
                    reading.unit = Some(Unit::NormalisedRate {
                        volume,
                        minutes: (hours * 60.0).round() as u32,
                        area_mm2,
                    });
                }
            }
            _ => {}
        }
    } else {
        reading.collection_hours = None;
        reading.funnel_area_cm2 = None;
    }
    if let (Some(first), Some(second)) = (parts.unit, parts.other_unit) {
        reading.why = format!("it states two units, {first} and {second}");
        reading.alternatives = reading.role.take().into_iter().collect();
        reading.unit = None;
    }
}

/// What the ideas and the unit make of it. The order of the questions matters: the
/// telling words come before those that also stand beside them.
fn judge(ideas: &BTreeSet<Idea>, parts: &Parts) -> Verdict {
    use Verdict::{Is, May};
    let has = |idea: Idea| ideas.contains(&idea);
    let any = |some: &[Idea]| some.iter().any(|i| ideas.contains(i));
    let unit = parts.unit;
    let temperature_unit = matches!(unit, Some(Unit::Temperature(_)));
    let pressure_unit = matches!(unit, Some(Unit::Pressure(..)));
    let catch_unit = matches!(
        unit,
        Some(
            Unit::Volume(_)
                | Unit::Rate { .. }
                | Unit::NormalisedRate { .. }
                | Unit::VolumePerArea { .. }
        )
    );
    let strength_unit = matches!(unit, Some(Unit::Percent(_) | Unit::MassConcentration(_)));
    let measured = any(&[
        Idea::Temperature,
        Idea::Pressure,
        Idea::Ph,
        Idea::Gravity,
        Idea::Concentration,
        Idea::CollectionHours,
        Idea::Near,
        Idea::Far,
    ]) || (unit.is_some()
        && any(&[Idea::Cabinet, Idea::Tower, Idea::Collection, Idea::Air]));

    if any(&[Idea::Remarks, Idea::Operator]) && !measured {
        return match (has(Idea::Remarks), has(Idea::Cabinet)) {
            (true, _) => Is(Role::Remarks, "its words mean remarks"),
            // `Cabinet name` is a cabinet.
            (_, true) => Is(Role::Cabinet, "its words mean a cabinet"),
            _ => Is(Role::Operator, "its words mean the person"),
        };
    }
    if has(Idea::DateTime) || (has(Idea::Date) && has(Idea::Time)) {
        return Is(Role::DateTime, "its words mean date and time");
    }
    if has(Idea::Weekday) {
        return Is(Role::Weekday, "its words mean the day of the week");
    }
    if has(Idea::Unused) && !any(&[Idea::Near, Idea::Far]) {
        return Is(
            Role::Ignore,
            "its words mean something the review does not use",
        );
    }
    if has(Idea::Setpoint) {
        return Is(
            Role::Ignore,
            "its words mean a setting or limit, not a reading",
        );
    }
    if has(Idea::Spread) {
        return Is(
            Role::Ignore,
            "its words mean a sum, difference or ratio, which is computed from the readings",
        );
    }
    if has(Idea::Ambient) && !any(&[Idea::Cabinet, Idea::Tower]) {
        return Is(Role::Ignore, "its words mean the room, not the cabinet");
    }
    if has(Idea::CollectionHours) {
        return match unit {
            // `Collection period (mL)` is not a period.
            None | Some(Unit::Duration(_)) => Is(
                Role::CollectionHours,
                "its words mean the collection period",
            ),
            Some(_) => May(
                vec![Role::CollectionHours, Role::Collection(Collector::Mean)],
                "its words mean a period, its unit something else",
            ),
        };
    }
    if has(Idea::Collection) && matches!(unit, Some(Unit::Duration(_))) {
        return Is(
            Role::CollectionHours,
            "its words and unit mean the collection period",
        );
    }
    if let Some(verdict) = judge_solution(ideas, parts) {
        return verdict;
    }
    if has(Idea::Pressure) || (pressure_unit && !has(Idea::Temperature)) {
        let water = has(Idea::Water) && !any(&[Idea::Air, Idea::Tower]);
        return if has(Idea::Reservoir) || water {
            May(
                vec![Role::Ignore, Role::AirPressure],
                "it may be the pressure of the supply",
            )
        } else if has(Idea::Extreme) {
            May(
                vec![Role::AirPressure, Role::Ignore],
                "it may be a lowest or highest value",
            )
        } else {
            Is(Role::AirPressure, "its words or unit mean a pressure")
        };
    }
    let tower_alone = has(Idea::Tower) && !catch_unit && !any(&[Idea::Near, Idea::Far]);
    if has(Idea::Temperature) || temperature_unit || tower_alone {
        return judge_temperature(ideas);
    }
    if has(Idea::Concentration)
        || (strength_unit && (ideas.is_empty() || any(&[Idea::Salt, Idea::Solution])))
    {
        return if has(Idea::Reservoir) {
            May(
                vec![Role::Ignore, Role::SaltConcentration],
                "it may be of the reservoir, not of the catch",
            )
        } else {
            Is(
                Role::SaltConcentration,
                "its words or unit mean a concentration of salt",
            )
        };
    }
    if any(&[Idea::Near, Idea::Far, Idea::Collection])
        || (catch_unit && !any(&[Idea::Reservoir]))
        || (has(Idea::Volume) && unit.is_none())
    {
        return judge_collection(ideas, &parts.words, unit);
    }
    if has(Idea::Salt) && !has(Idea::Cabinet) {
        return May(
            vec![Role::SaltConcentration, Role::Ignore],
            "it names salt but not what was measured of it",
        );
    }
    if has(Idea::Duration) || matches!(unit, Some(Unit::Duration(_))) {
        return May(
            vec![Role::CollectionHours, Role::Ignore],
            "it may be the collection period or the hours of the exposure",
        );
    }
    if has(Idea::Date) {
        return Is(Role::Date, "its words mean a date");
    }
    if has(Idea::Time) {
        return Is(Role::Time, "its words mean a time of day");
    }
    if has(Idea::Day) {
        return May(
            vec![Role::Date, Role::Weekday],
            "it may be the date or the day of the week",
        );
    }
    if has(Idea::Cabinet) {
        return Is(Role::Cabinet, "its words mean a cabinet");
    }
    if has(Idea::Air) {
        return May(
            vec![Role::AirPressure, Role::Ignore],
            "it names the air but not what was measured of it",
        );
    }
    if has(Idea::Sequence) {
        return Is(Role::Sequence, "its words mean a running number");
    }
    match unit {
        Some(Unit::Density(_)) => Is(Role::SpecificGravity, "its unit is one of density"),
        _ => Verdict::Unknown,
    }
}

/// pH, gravity and the temperature of the solution.
fn judge_solution(ideas: &BTreeSet<Idea>, parts: &Parts) -> Option<Verdict> {
    use Verdict::{Is, May};
    let has = |idea: Idea| ideas.contains(&idea);
    let temperature = has(Idea::Temperature) || matches!(parts.unit, Some(Unit::Temperature(_)));
    let place = has(Idea::Cabinet) || has(Idea::Tower);
    if has(Idea::Ph) {
        return Some(if temperature {
            Is(
                Role::Ignore,
                "it means the temperature of the pH reading, which is not used",
            )
        } else if has(Idea::Reservoir) {
            May(
                vec![Role::Ignore, Role::Ph],
                "it may be of the reservoir, not of the catch",
            )
        } else {
            Is(Role::Ph, "its words mean pH")
        });
    }
    if has(Idea::Gravity) {
        return Some(if temperature {
            Is(
                Role::GravityTemperature,
                "its words mean the temperature of the gravity reading",
            )
        } else if has(Idea::Reservoir) {
            May(
                vec![Role::Ignore, Role::SpecificGravity],
                "it may be of the reservoir, not of the catch",
            )
        } else {
            Is(
                Role::SpecificGravity,
                "its words mean specific gravity or density",
            )
        });
    }
    if temperature && !place && has(Idea::Reservoir) {
        return Some(Is(
            Role::Ignore,
            "it means the temperature of the reservoir, which is not used",
        ));
    }
    let of_catch = has(Idea::Solution) || has(Idea::Collection);
    (temperature && !place && of_catch).then_some(Is(
        Role::GravityTemperature,
        "its words mean the temperature of the collected solution",
    ))
}

fn judge_temperature(ideas: &BTreeSet<Idea>) -> Verdict {
    use Verdict::{Is, May};
    let has = |idea: Idea| ideas.contains(&idea);
    let roles = match (has(Idea::Cabinet), has(Idea::Tower)) {
        (true, false) => vec![Role::CabinetTemperature],
        (false, true) => vec![Role::TowerTemperature],
        // `Chamber tower` is the tower of a chamber.
        (true, true) => vec![Role::TowerTemperature, Role::CabinetTemperature],
        (false, false) => vec![Role::CabinetTemperature, Role::TowerTemperature],
    };
    match roles.as_slice() {
        [only] if has(Idea::Extreme) => May(
            vec![only.clone(), Role::Ignore],
            "it may be a lowest or highest value",
        ),
        [Role::CabinetTemperature] => Is(
            Role::CabinetTemperature,
            "its words mean the cabinet's temperature",
        ),
        [Role::TowerTemperature] => Is(
            Role::TowerTemperature,
            "its words mean the tower's temperature",
        ),
        _ => May(roles, "it is a temperature, of the cabinet or of the tower"),
    }
}

fn judge_collection(ideas: &BTreeSet<Idea>, words: &[String], unit: Option<Unit>) -> Verdict {
    use Verdict::{Is, May};
    let has = |idea: Idea| ideas.contains(&idea);
    if matches!(
        unit,
        Some(Unit::Temperature(_) | Unit::Pressure(..) | Unit::Density(_))
    ) {
        return Verdict::Unknown;
    }
    let number = collector_number(words);
    match (has(Idea::Near), has(Idea::Far)) {
        (true, false) => Is(
            Role::Collection(Collector::Near(number.unwrap_or(1))),
            "its words mean the catch near the nozzle",
        ),
        (false, true) => Is(
            Role::Collection(Collector::Far(number.unwrap_or(1))),
            "its words mean the catch far from the nozzle",
        ),
        (true, true) => May(
            vec![
                Role::Collection(Collector::Near(1)),
                Role::Collection(Collector::Far(1)),
            ],
            "it names both the near and the far collector",
        ),
        (false, false) => match number {
            _ if has(Idea::Extreme) => May(
                vec![Role::Collection(Collector::Mean), Role::Ignore],
                "it may be a lowest or highest value",
            ),
            _ if has(Idea::Mean) => Is(
                Role::Collection(Collector::Mean),
                "its words mean the mean of the collectors",
            ),
            Some(number) => Is(
                Role::Collection(Collector::Numbered(number)),
                "its words mean a numbered collector",
            ),
            None if has(Idea::Side) => May(
                vec![
                    Role::Collection(Collector::Near(1)),
                    Role::Collection(Collector::Far(1)),
                    Role::Collection(Collector::Numbered(1)),
                ],
                "it says on which side the collector stands, not whether near or far",
            ),
            None => May(
                vec![
                    Role::Collection(Collector::Mean),
                    Role::Collection(Collector::Near(1)),
                    Role::Collection(Collector::Far(1)),
                ],
                "it is a catch, without saying of which collector",
            ),
        },
    }
}

/// The number of a collector: the only figure, or a letter or Roman figure at the end.
fn collector_number(words: &[String]) -> Option<u8> {
    const MOST: u8 = 20;
    let figures: Vec<u8> = words
        .iter()
        .filter_map(|w| w.parse().ok())
        .filter(|n| (1..=MOST).contains(n))
        .collect();
    if let [only] = figures.as_slice() {
        return Some(*only);
    }
    match words.last().map(String::as_str) {
        Some("a" | "i") => Some(1),
        Some("b" | "ii") => Some(2),
        Some("c" | "iii") => Some(3),
        Some("d" | "iv") => Some(4),
        _ => None,
    }
}
