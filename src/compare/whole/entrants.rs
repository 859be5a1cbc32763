//! Who takes part: labs and cabinets with names that tell them apart.

use crate::intake::Intake;
use crate::lab::{Lab, fold_name};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// A lab folder with its logs read.
#[derive(Debug, Clone, Copy)]
pub struct Entrant<'a> {
    /// The folder's papers.
    pub lab: &'a Lab,
    /// Its logs.
    pub intake: &'a Intake,
}

/// Why nothing can be compared; each is a sentence for whoever keeps the logs.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NotComparable {
    /// No lab was named.
    #[error("no lab was named")]
    NoLab,
    /// One cabinet has nobody to be compared with.
    #[error(
        "there is only one cabinet, \"{0}\": nothing to compare it with; name a second lab folder, or one with several cabinets"
    )]
    OneCabinet(String),
    /// No day lies within everybody's logs.
    #[error(
        "the logs do not overlap in time, so that nothing can be compared fairly: {0}; --from and --to choose days, and cabinets without checks in them are left out"
    )]
    NoSharedTime(String),
    /// The days asked for hold too few checks.
    #[error("no two cabinets have checks from {from} to {to}; the logs hold: {spans}")]
    NothingInPeriod {
        /// First day.
        from: String,
        /// Last day.
        to: String,
        /// Who has checks when.
        spans: String,
    },
    /// A round that no coupons are of.
    #[error("there is no round \"{asked}\" in coupons.csv; {known}")]
    NoSuchRound {
        /// The round asked for.
        asked: String,
        /// The rounds there are, in words.
        known: String,
    },
}

/// A lab among those compared.
#[derive(Debug, Clone)]
pub(super) struct LabEntry<'a> {
    pub(super) id: String,
    pub(super) name: String,
    /// `None` for a lab that only coupons tell of.
    pub(super) entrant: Option<Entrant<'a>>,
}

/// A cabinet among those compared.
#[derive(Debug, Clone)]
pub(super) struct CabinetEntry {
    /// Index of its lab.
    pub(super) lab: usize,
    /// Identifier within the comparison.
    pub(super) id: String,
    /// Identifier within its lab.
    pub(super) own_id: Arc<str>,
    /// Name for the reader.
    pub(super) name: String,
    /// Its place in the lab's checks; `None` for one that only coupons tell of.
    pub(super) checks: Option<usize>,
}

/// Everybody who takes part.
#[derive(Debug, Clone)]
pub(super) struct Field<'a> {
    pub(super) labs: Vec<LabEntry<'a>>,
    pub(super) cabinets: Vec<CabinetEntry>,
}

impl<'a> Field<'a> {
    /// The labs of the entrants, then those that only coupons tell of.
    pub(super) fn new(entrants: &[Entrant<'a>]) -> Field<'a> {
        let mut field = Field {
            labs: Vec::new(),
            cabinets: Vec::new(),
        };
        let mut taken = BTreeSet::new();
        for entrant in entrants {
            let name = crate::issue::shown(&entrant.lab.name);
            let id = free_id(&fold_name(&entrant.lab.name), &mut taken);
            field.labs.push(LabEntry {
                id,
                name,
                entrant: Some(*entrant),
            });
        }
        for (lab, entrant) in entrants.iter().enumerate() {
            for (index, id) in entrant.intake.checks.cabinets().iter().enumerate() {
                let name = entrant.intake.cabinet_names.get(id);
                field.cabinet(lab, id, name.map(String::as_str), Some(index));
            }
        }
        for (lab, entrant) in entrants.iter().enumerate() {
            for coupon in &entrant.lab.coupons {
                let lab = field.lab_named(coupon.lab.as_deref(), lab, &mut taken);
                field.cabinet(lab, &coupon.cabinet, None, None);
            }
        }
        field.tell_apart();
        field
    }

    /// Index of the lab that a coupon's row names; one that is not known is added.
    fn lab_named(
        &mut self,
        written: Option<&str>,
        own: usize,
        taken: &mut BTreeSet<String>,
    ) -> usize {
        let Some(written) = written else { return own };
        if let Some(found) = self.lab_of(written, own) {
            return found;
        }
        let id = free_id(&fold_name(written), taken);
        self.labs.push(LabEntry {
            id,
            name: crate::issue::shown(written),
            entrant: None,
        });
        self.labs.len() - 1
    }

    /// Index of the lab that is written so in the papers of lab `own`.
    pub(super) fn lab_of(&self, written: &str, own: usize) -> Option<usize> {
        let folded = fold_name(written);
        let named = |lab: &LabEntry<'_>| fold_name(&lab.name) == folded;
        // Of labs with one name, its own is meant first.
        if self.labs.get(own).is_some_and(named) {
            return Some(own);
        }
        self.labs.iter().position(named)
    }

    /// Index of a lab's cabinet.
    pub(super) fn cabinet_of(&self, lab: usize, own_id: &str) -> Option<usize> {
        self.cabinets
            .iter()
            .position(|c| c.lab == lab && c.own_id.as_ref() == own_id)
    }

    fn cabinet(&mut self, lab: usize, id: &Arc<str>, name: Option<&str>, checks: Option<usize>) {
        if self.cabinet_of(lab, id).is_some() {
            return;
        }
        let configured = self.labs.get(lab).and_then(|l| l.entrant).and_then(|e| {
            let cabinets = &e.lab.cabinets;
            cabinets
                .iter()
                .find(|c| c.id == *id)
                .map(|c| c.name.as_str())
        });
        let name = name.or(configured).unwrap_or(id);
        self.cabinets.push(CabinetEntry {
            lab,
            id: id.as_ref().to_owned(),
            own_id: Arc::clone(id),
            name: crate::issue::shown(name),
            checks,
        });
    }

    /// Puts the lab into identifiers when several labs take part, and into the names that
    /// two labs share.
    fn tell_apart(&mut self) {
        let mut same: BTreeMap<String, BTreeSet<usize>> = BTreeMap::new();
        for cabinet in &self.cabinets {
            same.entry(fold_name(&cabinet.name))
                .or_default()
                .insert(cabinet.lab);
        }
        let several = self.labs.len() > 1;
        for cabinet in &mut self.cabinets {
            let lab = &self.labs[cabinet.lab];
            if same
                .get(&fold_name(&cabinet.name))
                .is_some_and(|labs| labs.len() > 1)
            {
                cabinet.name = format!("{} of {}", cabinet.name, lab.name);
            }
            if several {
                cabinet.id = format!("{}/{}", lab.id, cabinet.id);
            }
        }
        // In report order: labs as named, cabinets as the lab has them.
        self.cabinets.sort_by_key(|c| c.lab);
    }
}

/// `wanted`, or with a number when it is taken.
fn free_id(wanted: &str, taken: &mut BTreeSet<String>) -> String {
    let wanted = if wanted.is_empty() { "lab" } else { wanted };
    let mut free = wanted.to_owned();
    let mut number = 2;
    while !taken.insert(free.clone()) {
        free = format!("{wanted}-{number}");
        number += 1;
    }
    free
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labs_of_one_name_are_told_apart() {
        let mut taken = BTreeSet::new();
        let ids: Vec<String> = ["Bench", "bench", "", "--"]
            .iter()
            .map(|name| free_id(&fold_name(name), &mut taken))
            .collect();
        assert_eq!(ids, ["bench", "bench-2", "lab", "lab-2"]);
    }
}
