//! `compare.html`: one self-contained page, without scripts, in the manner of the
//! review's.
//!
//! Texts are worded and numbers rounded here; the templates only place them. Every text
//! passes the formatter of the review's page; the only things let through as they are
//! are our own charts and tables made by our own templates.

mod characteristic;
mod details;
mod figure;
mod mismatch;
mod overview;
mod participants;
mod precision;
mod records;
mod rounds;
mod table;
#[cfg(test)]
mod tests;

use super::naming::{Names, mark};
use crate::report::html::{HtmlError, Template, Templates};
use crate::report::wire::{ComparedCharacteristic, Comparison};
use serde::Serialize;
use std::collections::BTreeMap;

/// Characteristics and rounds with a section at most.
const MOST_SECTIONS: usize = 24;

const TEMPLATES: [Template; 6] = [
    (
        "compare-table.html",
        include_str!("../../templates/compare-table.html"),
    ),
    (
        "compare-overview.html",
        include_str!("../../templates/compare-overview.html"),
    ),
    (
        "compare-mismatch.html",
        include_str!("../../templates/compare-mismatch.html"),
    ),
    (
        "compare-section.html",
        include_str!("../../templates/compare-section.html"),
    ),
    (
        "compare-rounds.html",
        include_str!("../../templates/compare-rounds.html"),
    ),
    (
        "compare-records.html",
        include_str!("../../templates/compare-records.html"),
    ),
];

/// What the parts of the page share.
struct Page<'a> {
    comparison: &'a Comparison,
    names: Names<'a>,
    /// Ids of the sections, by mark.
    sections: BTreeMap<String, String>,
    templates: Templates,
}

impl<'a> Page<'a> {
    fn new(comparison: &'a Comparison) -> Result<Page<'a>, HtmlError> {
        let sections = comparison
            .characteristics
            .iter()
            .take(MOST_SECTIONS)
            .enumerate()
            .map(|(i, one)| (mark(one), format!("compared-{}", i + 1)))
            .collect();
        Ok(Page {
            comparison,
            names: Names::new(comparison),
            sections,
            templates: Templates::new(&TEMPLATES)?,
        })
    }

    fn draw<T: Serialize>(&self, template: &str, view: &T) -> Result<String, HtmlError> {
        self.templates.draw(template, view)
    }

    /// The id of the section of a characteristic or a round, when it has one.
    fn section(&self, one: &ComparedCharacteristic) -> Option<&String> {
        self.sections.get(&mark(one))
    }
}

/// The whole page as UTF-8 text.
///
/// A large comparison gets a bounded page: tables and charts hold what has room, the page
/// says what they leave out, and `compare.json` has all.
///
/// # Errors
/// [`HtmlError`] on a fault of the program, never because of what a text holds.
pub fn render(comparison: &Comparison) -> Result<String, HtmlError> {
    let page = Page::new(comparison)?;
    let overview = overview::Overview::new(&page)?;
    let mut sections = page.draw("compare-overview.html", &overview)?;
    sections.push_str(&page.draw("compare-mismatch.html", &mismatch::Mismatches::new(&page)?)?);
    // Sections of one mark would share an id: the first has it.
    let mut seen = Vec::new();
    for one in comparison.characteristics.iter().take(MOST_SECTIONS) {
        let mark = mark(one);
        if !seen.contains(&mark) {
            let view = characteristic::Section::new(&page, one)?;
            sections.push_str(&page.draw("compare-section.html", &view)?);
            seen.push(mark);
        }
    }
    sections.push_str(&page.draw("compare-rounds.html", &rounds::TwoRounds::new(&page)?)?);
    sections.push_str(&page.draw("compare-records.html", &records::Records::new(&page)?)?);
    let style = concat!(
        include_str!("../../templates/style.css"),
        "\n",
        include_str!("../../templates/compare.css")
    );
    let cautions = &comparison.cautions;
    page.templates
        .page(overview.title(), style, sections, cautions)
}
