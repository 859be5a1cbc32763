//! The daily checks of all cabinets, characteristic by characteristic.

use super::entrants::Field;
use super::fill::{Side, Task, fill};
use super::members::{MOST_DRAWN, Measured, Member};
use crate::characteristic::Characteristic;
use crate::compare::level::Level;
use crate::compare::pair::{self, FactorStore};
use crate::lab::{CompareSettings, Identity, Instrument, Lab, Window};
use crate::report::wire;

/// The characteristics compared: those that two cabinets have a level of.
///
/// Specific gravity is left out where the concentration of salt can stand for it: it carries its
/// temperature and reference, which two laboratories rarely share.
pub(super) fn compared(measured: Vec<Measured>) -> Vec<Measured> {
    let with_level = |m: &Measured| m.members.iter().filter(|x| x.level.is_ok()).count() > 1;
    let salt = measured
        .iter()
        .any(|m| m.characteristic == Characteristic::SaltConcentration && with_level(m));
    measured
        .into_iter()
        .filter(with_level)
        .filter(|m| !(salt && m.characteristic == Characteristic::SpecificGravity))
        .collect()
}

/// The wire entries of the characteristics, which share one error rate.
pub(super) fn characteristics(
    measured: &[Measured],
    field: &Field<'_>,
    settings: &CompareSettings,
    family: usize,
    store: &mut FactorStore,
) -> Vec<wire::ComparedCharacteristic> {
    measured
        .iter()
        .map(|measured| {
            let task = task(measured, field, settings, family);
            fill(task, field, store)
        })
        .collect()
}

fn task<'a>(
    measured: &'a Measured,
    field: &'a Field<'_>,
    settings: &'a CompareSettings,
    family: usize,
) -> Task<'a> {
    let drawn = field.cabinets.len() <= MOST_DRAWN;
    let (mut sides, mut without) = (Vec::new(), Vec::new());
    for member in &measured.members {
        match &member.level {
            Ok(level) => sides.push(side(member, level, measured, field, drawn)),
            Err(why) => without.push((member.cabinet, why.to_string())),
        }
    }
    Task {
        characteristic: &measured.characteristic,
        round: None,
        unit: measured.unit.clone(),
        window: window(&measured.characteristic, measured, field),
        settings,
        family,
        sides,
        without,
    }
}

fn side(
    member: &Member,
    level: &Level,
    measured: &Measured,
    field: &Field<'_>,
    drawn: bool,
) -> Side {
    let stated = lab_of(field, member.cabinet).and_then(|lab| {
        let id = &field.cabinets[member.cabinet].own_id;
        lab.instrument(id, &measured.characteristic)
    });
    Side {
        cabinet: member.cabinet,
        level: level.clone(),
        instrument: instrument(stated.as_ref(), level.mean),
        instrument_says: stated.map(|i| i.says),
        results: member.values.clone(),
        outside: member.outside,
        calendar: member.calendar.clone(),
        coupons: Vec::new(),
        drawn,
    }
}

/// The lab folder that a cabinet belongs to.
pub(super) fn lab_of<'a>(field: &Field<'a>, cabinet: usize) -> Option<&'a Lab> {
    let entry = field.cabinets.get(cabinet)?;
    Some(field.labs.get(entry.lab)?.entrant?.lab)
}

/// The instrument as pairs take it: what every cabinet it reads shares, and what is the
/// cabinet's own.
pub(super) fn instrument(stated: Option<&Instrument>, level: f64) -> pair::Instrument {
    let squares = |shared: bool| -> f64 {
        stated
            .iter()
            .flat_map(|i| &i.parts)
            .filter(|part| part.of_instrument == shared)
            .map(|part| part.size.at(level).powi(2))
            .sum()
    };
    pair::Instrument {
        id: stated.map(|i| match &i.identity {
            Identity::Travelling(id) => format!("travelling {id}"),
            Identity::OfLab(lab, id) => format!("{} {id}", lab.display()),
            Identity::Unstated(lab, cabinet, characteristic) => {
                format!("{} {cabinet} {characteristic}", lab.display())
            }
        }),
        standard_uncertainty: squares(true).sqrt(),
        own_uncertainty: squares(false).sqrt(),
    }
}

/// The window of the first cabinet that has one, with its profile; says when others differ.
fn window<'a>(
    characteristic: &Characteristic,
    measured: &Measured,
    field: &Field<'a>,
) -> Option<(&'a Window, String)> {
    let mut found: Option<(&Window, String)> = None;
    let mut others = 0;
    for member in &measured.members {
        let Some(lab) = lab_of(field, member.cabinet) else {
            continue;
        };
        let id = &field.cabinets[member.cabinet].own_id;
        let Some(window) = lab.window(id, characteristic) else {
            continue;
        };
        match &found {
            None => {
                let profile = lab.profile_of(id).map_or("lab.toml", |p| p.title.as_str());
                found = Some((window, format!("{profile}; {}", window.source)));
            }
            Some((first, _)) if first.lower != window.lower || first.upper != window.upper => {
                others += 1;
            }
            Some(_) => {}
        }
    }
    let (window, mut says) = found?;
    if others > 0 {
        says.push_str(&format!(
            ". {others} of {} cabinets are judged by another window: their share outside is \
             against their own",
            measured.members.len()
        ));
    }
    Some((window, says))
}
