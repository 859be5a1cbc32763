//! One identifier a cabinet, however its logs write it.
//!
//! Names that differ only by case, blanks or hyphens are one cabinet. The
//! identifier is `lab.toml`'s, else the first way of writing in the order of the files.

use super::cabinet::Directory;
use super::checks::SheetName;
use super::daily::Daily;
use super::sheet::SheetRead;
use crate::issue::{Effect, Issue, Place, shown};
use crate::lab::fold_name;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// What was found of the cabinets' names.
#[derive(Debug, Default)]
pub(crate) struct Names {
    /// Name for the reader by identifier.
    pub(crate) display: BTreeMap<Arc<str>, String>,
    /// What to tell.
    pub(crate) issues: Vec<Issue>,
}

struct Entry {
    id: Arc<str>,
    written: BTreeSet<String>,
    place: Place,
}

/// Replaces the names as written by identifiers in all sheets (in the order of their paths).
pub(crate) fn unify(sheets: &mut [(SheetName, SheetRead)], directory: &Directory) -> Names {
    let mut entries: BTreeMap<String, Entry> = BTreeMap::new();
    let mut names = Names::default();
    for (sheet, read) in sheets.iter_mut() {
        let mut used: Vec<bool> = read.rows.iter().map(|of| !of.line.is_empty()).collect();
        let of_logger = read.daily.as_ref().map(Daily::cabinets);
        for index in of_logger.iter().flatten() {
            if let Some(slot) = used.get_mut(*index as usize) {
                *slot = true;
            }
        }
        for (of_cabinet, used) in read.rows.iter_mut().zip(used) {
            let name = &mut of_cabinet.cabinet;
            let known = directory.find(name).cloned();
            let group = known
                .as_deref()
                .map_or_else(|| fold_name(name), str::to_owned);
            let entry = entries.entry(group).or_insert_with(|| Entry {
                id: known.clone().unwrap_or_else(|| fold_name(name).into()),
                written: BTreeSet::new(),
                place: Place {
                    path: sheet.path.to_string(),
                    sheet: sheet.sheet.as_deref().map(shown),
                    line: None,
                    column: None,
                },
            });
            if used {
                entry.written.insert(name.to_string());
                names
                    .display
                    .entry(Arc::clone(&entry.id))
                    .or_insert_with(|| {
                        let of_lab = directory.name(&entry.id);
                        of_lab.map_or_else(|| shown(name.trim()), str::to_owned)
                    });
            }
            *name = Arc::clone(&entry.id);
        }
    }
    for entry in entries.values().filter(|e| !e.written.is_empty()) {
        names.tell(entry, directory);
    }
    names
}

impl Names {
    fn tell(&mut self, entry: &Entry, directory: &Directory) {
        let unlisted = !directory.is_empty() && directory.name(&entry.id).is_none();
        if unlisted {
            self.issues.push(Issue {
                place: entry.place.clone(),
                found: entry.written.first().map(|w| shown(w)),
                problem: format!(
                    "lab.toml names cabinets, but not this one; its checks were used under the name {}.",
                    entry.id
                ),
                hint: Some(format!(
                    "[[cabinet]]\nid = {}",
                    super::plan::toml_text(&entry.id)
                )),
                effect: Effect::Kept,
                count: 1,
            });
        }
        // Ways that `lab.toml` gives as aliases need no telling; those of logs alone do.
        if entry.written.len() > 1 && directory.name(&entry.id).is_none() {
            let ways: Vec<String> = entry
                .written
                .iter()
                .take(6)
                .map(|w| format!("\"{}\"", shown(w)))
                .collect();
            self.issues.push(Issue {
                place: entry.place.clone(),
                found: None,
                problem: format!(
                    "The cabinet {} is written in {} ways ({}); they differ only by case, blanks or hyphens and were read as one cabinet.",
                    entry.id,
                    entry.written.len(),
                    ways.join(", ")
                ),
                hint: Some("If they are different cabinets, give them names that differ in a letter or a figure.".into()),
                effect: Effect::Kept,
                count: 1,
            });
        }
    }
}
