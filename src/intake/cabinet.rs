//! Which cabinet: names as logs write them, and where a name may stand when no column
//! says it (a title cell, the sheet's name, the file's name).

use super::date::is_month_name;
use super::words::fold;
use crate::lab::{Lab, fold_name};
use std::collections::BTreeMap;
use std::sync::Arc;

/// Words that mean a cabinet, folded.
const LABELS: [&str; 22] = [
    "cabinet",
    "chamber",
    "kammer",
    "prufkammer",
    "salzspruhkammer",
    "salzspruhnebelkammer",
    "spruhkammer",
    "nebelkammer",
    "prufschrank",
    "prufgerat",
    "anlage",
    "gerat",
    "enceinte",
    "chambre",
    "cabine",
    "armoire",
    "camara",
    "cabina",
    "kast",
    "kamer",
    "camera",
    "unit",
];

/// Words in names of files and sheets that name no cabinet, folded.
const GENERIC: [&str; 87] = [
    "a",
    "aass",
    "all",
    "and",
    "astm",
    "b117",
    "backup",
    "blatt",
    "brouillard",
    "cabinets",
    "cass",
    "chambers",
    "check",
    "checklist",
    "checks",
    "control",
    "controle",
    "copie",
    "copy",
    "corrosion",
    "csv",
    "daily",
    "data",
    "daten",
    "de",
    "des",
    "diario",
    "din",
    "du",
    "en",
    "export",
    "feuil",
    "feuille",
    "final",
    "fleet",
    "fog",
    "hoja",
    "iso",
    "journal",
    "kammern",
    "kontrolle",
    "kontrollen",
    "kopie",
    "korrosion",
    "kw",
    "lab",
    "labor",
    "laboratory",
    "log",
    "logbook",
    "logs",
    "messwerte",
    "month",
    "monthly",
    "neu",
    "new",
    "niebla",
    "notes",
    "nss",
    "of",
    "old",
    "page",
    "part",
    "protokoll",
    "prufprotokoll",
    "qa",
    "qc",
    "readings",
    "record",
    "records",
    "registro",
    "releve",
    "report",
    "salin",
    "salina",
    "salt",
    "salz",
    "salzspruh",
    "sheet",
    "spray",
    "suivi",
    "tabelle",
    "table",
    "taglich",
    "test",
    "week",
    "year",
];

fn words(text: &str) -> Vec<&str> {
    text.split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .collect()
}

/// The cabinets that `lab.toml` names, by every way of writing them.
#[derive(Debug, Clone, Default)]
pub(crate) struct Directory {
    known: BTreeMap<String, Arc<str>>,
    names: BTreeMap<Arc<str>, String>,
}

impl Directory {
    /// Identifiers, names and aliases of `lab.toml`.
    pub(crate) fn of(lab: &Lab) -> Directory {
        let mut directory = Directory::default();
        for cabinet in &lab.cabinets {
            let ways = cabinet.aliases.iter().map(String::as_str);
            for way in ways.chain([&*cabinet.id, cabinet.name.as_str()]) {
                directory
                    .known
                    .insert(fold_name(way), Arc::clone(&cabinet.id));
            }
            directory
                .names
                .insert(Arc::clone(&cabinet.id), cabinet.name.clone());
        }
        directory
    }

    /// Whether `lab.toml` names any cabinet.
    pub(crate) fn is_empty(&self) -> bool {
        self.names.is_empty()
    }

    /// The identifier of a way of writing.
    pub(crate) fn find(&self, written: &str) -> Option<&Arc<str>> {
        self.known.get(&fold_name(written))
    }

    /// Name for the reader of an identifier.
    pub(crate) fn name(&self, id: &str) -> Option<&str> {
        self.names.get(id).map(String::as_str)
    }

    /// The only cabinet, where `lab.toml` names exactly one.
    pub(crate) fn only(&self) -> Option<&str> {
        match self.names.len() {
            1 => self.names.keys().next().map(|id| &**id),
            _ => None,
        }
    }

    /// A known cabinet whose name stands in the text as whole words.
    fn within(&self, text: &str) -> Option<String> {
        let folded = fold_name(text);
        let words: Vec<&str> = folded.split('-').collect();
        for length in (1..=4).rev() {
            for run in words.windows(length) {
                if let Some(id) = self.known.get(&run.join("-")) {
                    return Some(id.to_string());
                }
            }
        }
        None
    }

    /// The cabinet that the name of a file or sheet tells.
    ///
    /// Where `lab.toml` names cabinets, only those; else what is left of the name
    /// without dates and words that say nothing.
    pub(crate) fn in_file_name(&self, name: &str) -> Option<String> {
        if !self.is_empty() {
            return self.within(name);
        }
        let mut kept: Vec<&str> = Vec::new();
        let mut label = None;
        for word in words(name) {
            let folded = fold(word);
            if LABELS.contains(&folded.as_str()) {
                label = Some(word);
                continue;
            }
            let is_number = folded.chars().all(|c| c.is_ascii_digit());
            if is_number && folded.len() <= 3 && label.is_some() {
                // `chamber-3`: the number is a name only with its label.
                kept.extend(label.take());
                kept.push(word);
            } else if !says_nothing(&folded) {
                kept.push(word);
                label = None;
            }
        }
        (!kept.is_empty() && kept.len() <= 4).then(|| kept.join(" "))
    }

    /// The cabinet that a title row tells: `Cabinet: Plover`, `Kammer 3`, or a known name.
    pub(crate) fn in_title(&self, cells: &[String]) -> Option<String> {
        for (index, cell) in cells.iter().enumerate() {
            if let Some(known) = self.within(cell) {
                return Some(known);
            }
            let tokens: Vec<&str> = cell.split_whitespace().collect();
            for (at, token) in tokens.iter().enumerate() {
                let bare = fold(token.trim_end_matches([':', '.', '=', '#']));
                if !LABELS.contains(&bare.as_str()) {
                    continue;
                }
                let rest = tokens.get(at + 1..).unwrap_or_default().join(" ");
                if let Some(name) = name_after(token, &rest, token.ends_with(':')) {
                    return Some(name);
                }
                // `Cabinet:` in one cell and the name in the next.
                let next = cells.get(index + 1..).unwrap_or_default();
                let next = next.iter().find(|c| !c.trim().is_empty());
                if at + 1 == tokens.len()
                    && let Some(name) = next.and_then(|n| name_after(token, n, true))
                {
                    return Some(name);
                }
            }
        }
        None
    }
}

/// The name behind a label: up to a separator, at most three words.
fn name_after(label: &str, rest: &str, labelled: bool) -> Option<String> {
    let rest = rest.trim_start_matches([':', '=', '#', ' ', '-']);
    let end = rest
        .find([',', ';', '|', '(', '–', '—', '/'])
        .unwrap_or(rest.len());
    let taken: Vec<&str> = rest
        .get(..end)?
        .split_whitespace()
        .filter(|w| !matches!(fold(w).trim_end_matches('.'), "no" | "nr" | "n°" | "num"))
        .take_while(|word| labelled || !says_nothing(&fold(word)) || word.len() <= 3)
        .take(3)
        .collect();
    let name = taken.join(" ");
    let folded = fold(&name);
    let is_number = folded.contains(|c: char| c.is_ascii_digit()) || folded.chars().count() == 1;
    if fold_name(&name).is_empty() || (says_nothing(&folded) && !is_number) {
        None
    } else if is_number && name.len() <= 3 {
        let label = label.trim_end_matches([':', '.', '=', '#']);
        Some(format!("{label} {name}"))
    } else {
        // `cabinet log for March` is no cabinet called `log for March`.
        let proper = name.chars().next().is_some_and(|c| !c.is_lowercase());
        (labelled || proper).then_some(name)
    }
}

/// Whether a folded word is a number, a year, a month or a word like `log`.
fn says_nothing(folded: &str) -> bool {
    let digits = folded.chars().filter(char::is_ascii_digit).count();
    digits == folded.len()
        || GENERIC.contains(&folded)
        || LABELS.contains(&folded)
        || is_month_name(folded)
        || (digits > 0
            && matches!(
                folded.trim_end_matches(|c: char| c.is_ascii_digit()),
                "q" | "w" | "kw" | "v" | "sheet" | "tabelle" | "feuil" | "hoja" | "blatt" | "log"
            ))
        || (digits >= 4 && is_month_name(folded.trim_matches(|c: char| c.is_ascii_digit())))
}

#[cfg(test)]
mod tests {
    use super::super::tests::lab;
    use super::*;
    use crate::lab::CabinetConfig;

    fn configured() -> Directory {
        let mut lab = lab();
        lab.cabinets = vec![CabinetConfig {
            id: "plover".into(),
            name: "Plover".into(),
            aliases: vec!["SSK 2".into()],
            profile: None,
            funnel_area_cm2: None,
            collection_hours: None,
            gravity: None,
        }];
        Directory::of(&lab)
    }

    #[test]
    fn aliases_are_found_whatever_their_case_and_hyphens() {
        assert_eq!(configured().find("ssk-2").map(|id| &**id), Some("plover"));
    }

    #[test]
    fn file_and_sheet_names_tell_a_cabinet_or_nothing() {
        let none = Directory::default();
        let cases = [
            ("plover-2026-03", Some("plover")),
            ("2026-03 salt spray log", None),
            ("Sheet1", None),
            ("Jan 2026", None),
            ("März", None),
            ("chamber-3_2026", Some("chamber 3")),
            ("Dunlin West", Some("Dunlin West")),
            ("Tabelle2", None),
        ];
        for (name, cabinet) in cases {
            assert_eq!(none.in_file_name(name).as_deref(), cabinet, "{name}");
        }
        let known = configured();
        assert_eq!(known.in_file_name("ssk-2 march").as_deref(), Some("plover"));
        assert_eq!(known.in_file_name("dunlin march"), None);
    }

    #[test]
    fn title_cells_tell_a_cabinet_or_nothing() {
        let none = Directory::default();
        let cases: [(&[&str], Option<&str>); 7] = [
            (&["Cabinet: Plover"], Some("Plover")),
            (&["Daily log, cabinet Plover, 2026"], Some("Plover")),
            (&["Kammer 3"], Some("Kammer 3")),
            (&["Cabinet:", "", "Dunlin"], Some("Dunlin")),
            (&["Salt fog cabinet log"], None),
            (&["Cabinet temperature"], None),
            (&["March 2026"], None),
        ];
        for (cells, cabinet) in cases {
            let cells: Vec<String> = cells.iter().map(|c| (*c).to_owned()).collect();
            assert_eq!(none.in_title(&cells).as_deref(), cabinet, "{cells:?}");
        }
    }
}
