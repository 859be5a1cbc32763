//! The findings as the page of a review and that of a comparison tell them: the sentence,
//! the first piece of evidence, the rest folded away, the hints.
//!
//! The words and colours of an urgency, and what a link is called, are each page's own.

use super::HtmlError;
use super::layout::Templates;
use crate::report::format::count;
use crate::report::wire::Finding;
use serde::Serialize;
use std::collections::BTreeMap;

/// Findings whose hints stand open; those after them fold theirs away.
const MOST_OPEN: usize = 6;
/// Pieces of evidence that are printed; a longer list stays folded on paper.
const MOST_PRINTED: usize = 5;

/// How a page marks a finding.
pub(in crate::report) struct Mark {
    /// Its urgency in words.
    pub(in crate::report) urgency: String,
    /// A class of the style sheet.
    pub(in crate::report) class: &'static str,
    /// The section that the finding as a whole belongs to.
    pub(in crate::report) link: Option<String>,
}

/// The list of findings of a page.
#[derive(Serialize)]
pub(in crate::report) struct Findings {
    findings: Vec<FindingView>,
    leads_to: &'static str,
    hints: &'static str,
}

#[derive(Serialize)]
struct FindingView {
    urgency: String,
    class: &'static str,
    link: Option<String>,
    sentence: String,
    /// The piece of evidence that is always shown.
    first: Option<EvidenceView>,
    /// Those folded away, and how many they are in words.
    rest: Vec<EvidenceView>,
    more: String,
    /// Whether they are few enough to print.
    short: bool,
    look_at: Vec<String>,
    /// Whether the hints are folded away too: after the first findings of a long list.
    compact: bool,
}

#[derive(Serialize)]
struct EvidenceView {
    says: String,
    link: Option<String>,
}

impl Findings {
    /// An empty list; `leads_to` is what the link of a piece of evidence is called,
    /// `hints` how the hints are to be taken.
    pub(in crate::report) fn new(leads_to: &'static str, hints: &'static str) -> Findings {
        Findings {
            findings: Vec::new(),
            leads_to,
            hints,
        }
    }

    /// Adds a finding; `ids` are those of the page by the mark that evidence names.
    pub(in crate::report) fn push(
        &mut self,
        finding: &Finding,
        mark: Mark,
        ids: &BTreeMap<String, String>,
    ) {
        let folded = finding.evidence.len().saturating_sub(1) as u64;
        let mut evidence = finding.evidence.iter().map(|e| EvidenceView {
            says: e.says.clone(),
            link: e.chart.as_ref().and_then(|c| ids.get(c).cloned()),
        });
        self.findings.push(FindingView {
            urgency: mark.urgency,
            class: mark.class,
            link: mark.link,
            sentence: finding.sentence.clone(),
            first: evidence.next(),
            rest: evidence.collect(),
            more: count(folded, "item", "items"),
            short: finding.evidence.len() <= MOST_PRINTED,
            look_at: finding.look_at.clone(),
            compact: self.findings.len() >= MOST_OPEN,
        });
    }

    /// The list as markup; empty without findings.
    pub(in crate::report) fn markup(&self, templates: &Templates) -> Result<String, HtmlError> {
        if self.findings.is_empty() {
            return Ok(String::new());
        }
        templates.draw("findings.html", self)
    }
}
