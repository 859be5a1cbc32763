//! The first screen: who is compared, over which period, what needs the reader, and the
//! verdicts of all cabinets in words.

use super::{MOST_SECTIONS, Page};
use crate::report::compare::naming::{class_of, days, heading, score, with_room};
use crate::report::format::{count, date, dates, signed, words};
use crate::report::html::{Findings, HtmlError, Mark};
use crate::report::wire::{ComparedCabinet, ComparedLab, Finding, Participant};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// Labs told with their cabinets at most, and cabinets named of each.
const MOST_LABS: usize = 8;
const MOST_NAMED: usize = 12;
/// Rows of the matrix at most.
const MOST_ROWS: usize = 60;
/// Findings told at most.
const MOST_FINDINGS: usize = 60;
/// What `compare-overview.html` places.
#[derive(Serialize)]
pub(super) struct Overview {
    who: String,
    period: String,
    period_says: String,
    facts: Vec<Fact>,
    links: Vec<(String, String)>,
    /// The list as markup.
    findings: String,
    findings_note: String,
    columns: Vec<Column>,
    rows: Vec<Row>,
    matrix_note: String,
    has_mismatch: bool,
    has_two_rounds: bool,
}

#[derive(Serialize)]
struct Fact {
    name: String,
    says: String,
}

#[derive(Serialize)]
struct Column {
    name: String,
    link: Option<String>,
}

#[derive(Serialize)]
struct Row {
    /// The lab, on its first row when several are compared.
    lab: String,
    name: String,
    cells: Vec<Option<CellView>>,
}

#[derive(Serialize)]
struct CellView {
    class: &'static str,
    words: String,
    score: String,
}

impl Overview {
    pub(super) fn new(page: &Page<'_>) -> Result<Overview, HtmlError> {
        let comparison = page.comparison;
        let (rows, matrix_note) = matrix(page);
        let listed = comparison.findings.len().min(MOST_FINDINGS);
        let mut findings = Findings::new("section", "hints, never verdicts");
        for finding in comparison.findings.iter().take(MOST_FINDINGS) {
            findings.push(finding, mark(page, finding), &page.sections);
        }
        let mut links = Vec::new();
        for one in comparison.characteristics.iter().take(MOST_SECTIONS) {
            links.extend(page.section(one).map(|id| (id.clone(), heading(one))));
        }
        Ok(Overview {
            who: who(&comparison.labs),
            period: days(&comparison.period),
            period_says: comparison.period_says.clone(),
            facts: facts(page),
            links,
            findings: findings.markup(&page.templates)?,
            findings_note: if listed < comparison.findings.len() {
                format!(
                    "The first {listed} of {} findings; compare.json holds all.",
                    comparison.findings.len()
                )
            } else {
                String::new()
            },
            columns: comparison
                .characteristics
                .iter()
                .map(|one| Column {
                    name: heading(one),
                    link: page.section(one).cloned(),
                })
                .collect(),
            rows,
            matrix_note,
            has_mismatch: !comparison.explanations.is_empty(),
            has_two_rounds: !comparison.rounds.is_empty(),
        })
    }

    /// The title of the document.
    pub(super) fn title(&self) -> String {
        format!("{}: comparison of {}", self.who, self.period)
    }
}

/// "Saltmarsh Bench and Tidewrack"; the number of labs where a heading cannot hold them.
fn who(labs: &[ComparedLab]) -> String {
    let names: Vec<&str> = labs.iter().map(|l| l.name.as_str()).collect();
    match names.as_slice() {
        [] => "No lab".to_owned(),
        [one] => (*one).to_owned(),
        [first @ .., last] if names.len() <= 4 => format!("{} and {last}", first.join(", ")),
        _ => format!("{} labs", names.len()),
    }
}

fn facts(page: &Page<'_>) -> Vec<Fact> {
    let comparison = page.comparison;
    let mut facts = Vec::new();
    let mut fact = |name: &str, says: String| {
        facts.push(Fact {
            name: name.to_owned(),
            says,
        });
    };
    for lab in comparison.labs.iter().take(MOST_LABS) {
        fact(&lab.name, cabinets(lab));
    }
    if let Some(rest) = comparison.labs.get(MOST_LABS..).filter(|r| !r.is_empty()) {
        let names: Vec<&str> = rest.iter().map(|l| l.name.as_str()).collect();
        fact("Further labs", names.join("; "));
    }
    let titles: BTreeSet<&str> = comparison
        .labs
        .iter()
        .flat_map(|l| &l.profiles)
        .map(|p| p.title.as_str())
        .collect();
    fact(
        "Standard",
        if titles.is_empty() {
            "none: readings are not judged against a standard".to_owned()
        } else {
            titles.into_iter().collect::<Vec<_>>().join("; ")
        },
    );
    fact(
        "Made",
        format!(
            "{} by {} {}",
            date(&comparison.made_at),
            comparison.program.name,
            comparison.program.version
        ),
    );
    let rounds: Vec<&str> = comparison.rounds.iter().map(|r| r.id.as_str()).collect();
    fact(
        "Coupon rounds",
        if rounds.is_empty() {
            "none".to_owned()
        } else {
            rounds.join(", ")
        },
    );
    fact(
        "Records",
        format!(
            "{}; see what could not be used",
            count(comparison.issues.len() as u64, "entry", "entries")
        ),
    );
    facts
}

/// "3 cabinets (Plover, Curlew, Dunlin), 186 checks from 1 to 31 March; clock of …".
fn cabinets(lab: &ComparedLab) -> String {
    let named: Vec<&str> = lab
        .cabinets
        .iter()
        .take(MOST_NAMED)
        .map(|c| c.name.as_str())
        .collect();
    let more = if lab.cabinets.len() > MOST_NAMED {
        ", …"
    } else {
        ""
    };
    let mut says = format!(
        "{} ({}{more}), {} in the period",
        count(lab.cabinets.len() as u64, "cabinet", "cabinets"),
        named.join(", "),
        count(lab.checks, "check", "checks"),
    );
    match &lab.span {
        Some(span) => says.push_str(&format!("; read from {}", dates(&span.from, &span.to))),
        None if lab.checks == 0 => says.push_str("; no check was read"),
        None => {}
    }
    match &lab.zone {
        Some(zone) => says.push_str(&format!("; clock of {zone}")),
        None => says.push_str("; times as written"),
    }
    says
}

fn mark(page: &Page<'_>, finding: &Finding) -> Mark {
    Mark {
        urgency: match finding.urgency.as_str() {
            "mismatch" => "coupons differ".to_owned(),
            "differs" => "differ".to_owned(),
            "instruments" => "within the instruments".to_owned(),
            "scored" => "action signal".to_owned(),
            "unusual" => "marked results".to_owned(),
            "agrees" => "agreement".to_owned(),
            "records" => "about the records".to_owned(),
            other => words(other),
        },
        class: match finding.urgency.as_str() {
            "scored" => "action",
            "mismatch" | "differs" => "warning",
            "agrees" => "agree",
            _ => "cannot-tell",
        },
        link: section_of(page, finding),
    }
}

/// The section of a finding: that of the mismatch, or of its characteristic when there is
/// only one of that name (coupons of several rounds share theirs).
fn section_of(page: &Page<'_>, finding: &Finding) -> Option<String> {
    if finding.urgency == "mismatch" && !page.comparison.explanations.is_empty() {
        return Some("mismatch".to_owned());
    }
    let of = finding.characteristic.as_ref()?;
    let mut all = page
        .comparison
        .characteristics
        .iter()
        .filter(|c| c.characteristic == *of);
    match (all.next(), all.next()) {
        (Some(only), None) => page.section(only).cloned(),
        _ => None,
    }
}

/// A row a cabinet, in report order; of many, those with the largest scores.
fn matrix(page: &Page<'_>) -> (Vec<Row>, String) {
    let comparison = page.comparison;
    let mut of: BTreeMap<&str, Vec<Option<&Participant>>> = BTreeMap::new();
    for (i, one) in comparison.characteristics.iter().enumerate() {
        for participant in &one.participants {
            let row = of.entry(&participant.id).or_default();
            row.resize(i, None);
            row.push(Some(participant));
        }
    }
    let cabinets: Vec<(&ComparedLab, &ComparedCabinet)> = comparison
        .labs
        .iter()
        .flat_map(|l| l.cabinets.iter().map(move |c| (l, c)))
        .collect();
    let shown = with_room(&cabinets, MOST_ROWS, |(_, cabinet)| {
        let row = of.get(cabinet.id.as_str())?;
        let scores = row.iter().flatten().filter_map(|p| score(p));
        scores.map(|s| s.0.abs()).reduce(f64::max)
    });
    let note = if shown.len() < cabinets.len() {
        format!(
            "The {} of {} cabinets with the largest scores; compare.json holds all.",
            shown.len(),
            cabinets.len()
        )
    } else {
        String::new()
    };
    let mut last_lab = "";
    let mut rows = Vec::with_capacity(shown.len());
    for (lab, cabinet) in shown {
        let opens = page.names.several_labs() && last_lab != lab.id;
        last_lab = &lab.id;
        let row = of.get(cabinet.id.as_str()).map_or(&[][..], Vec::as_slice);
        rows.push(Row {
            lab: if opens {
                lab.name.clone()
            } else {
                String::new()
            },
            name: cabinet.name.clone(),
            cells: (0..comparison.characteristics.len())
                .map(|i| row.get(i).copied().flatten().map(cell))
                .collect(),
        });
    }
    (rows, note)
}

fn cell(participant: &Participant) -> CellView {
    CellView {
        class: class_of(&participant.verdict),
        words: words(&participant.verdict),
        score: score(participant)
            .map(|(value, sign)| format!("{sign} {}", signed(value, 1)))
            .unwrap_or_default(),
    }
}
