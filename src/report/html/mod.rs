//! `review.html`: one self-contained page, without scripts, that prints well.
//!
//! Texts are worded and numbers rounded here and in `format`; the templates only place
//! them. Every text passes one formatter that replaces control and direction-changing
//! characters and escapes markup; the only thing let through as it is are our own charts.

mod cabinet;
mod findings;
mod layout;
mod overview;
mod record_rows;
mod records;
mod tables;

pub(super) use findings::{Findings, Mark};
pub(super) use layout::{Template, Templates};
pub(super) use record_rows::{issue_table, profile_value};

use super::plot::{PlotError, chart_mark};
use super::wire::{Review, Series};
use std::collections::{BTreeMap, BTreeSet};
use thiserror::Error;

/// Charts up to which the page shows every series; beyond, only those that are not steady.
const MOST_CHARTS: usize = 150;
/// Small charts up to which the matrix draws them; beyond, it has words only.
const MOST_SPARKS: usize = 600;

/// A page that could not be made.
#[derive(Debug, Error)]
pub enum HtmlError {
    /// A template is wrong: a fault of the program, not of the data.
    #[error("the page could not be laid out")]
    Template(#[from] minijinja::Error),
    /// A chart failed.
    #[error(transparent)]
    Chart(#[from] PlotError),
}

const TEMPLATES: [Template; 4] = [
    ("overview.html", include_str!("../templates/overview.html")),
    ("cabinet.html", include_str!("../templates/cabinet.html")),
    ("records.html", include_str!("../templates/records.html")),
    ("reading.html", include_str!("../templates/reading.html")),
];

/// Where things stand on the page: ids of cabinets and series that have a section.
struct Places {
    /// By the mark of the chart (`plover/collection-rate`).
    series: BTreeMap<String, String>,
    /// By cabinet identifier.
    cabinets: BTreeMap<String, String>,
    /// Series left out because the lab is large.
    left_out: usize,
}

impl Places {
    fn new(review: &Review) -> Places {
        let every = review.series.len() <= MOST_CHARTS;
        let mut shown: Vec<(usize, &Series)> = review
            .series
            .iter()
            .map(AsRef::as_ref)
            .enumerate()
            .filter(|(_, s)| every || s.state != "steady")
            .collect();
        // The summary lists the states in order of urgency; what has no room is the least urgent.
        let states = &review.summary.states;
        shown.sort_by_key(|(_, s)| states.iter().position(|c| c.state == s.state));
        shown.truncate(MOST_CHARTS);
        let mut places = Places {
            series: BTreeMap::new(),
            cabinets: BTreeMap::new(),
            left_out: review.series.len() - shown.len(),
        };
        let mut with_series = BTreeSet::new();
        for (i, series) in shown {
            let id = format!("series-{}", i + 1);
            places.series.insert(chart_mark(series), id);
            with_series.insert(series.cabinet.as_str());
        }
        for (i, cabinet) in review.cabinets.iter().enumerate() {
            if every || with_series.contains(cabinet.id.as_str()) {
                let id = format!("cabinet-{}", i + 1);
                places.cabinets.insert(cabinet.id.clone(), id);
            }
        }
        places
    }

    fn of(&self, series: &Series) -> Option<&String> {
        self.series.get(&chart_mark(series))
    }
}

/// The whole page as UTF-8 text.
///
/// Needs the readings for its charts: with `--points none` it says that there are none.
/// A lab with more than 150 series gets charts of those that are not steady (150 at
/// most); the page says so and `review.json` has all.
///
/// # Errors
/// [`HtmlError`] on a fault of the program, never because of what a text holds.
pub fn render(review: &Review) -> Result<String, HtmlError> {
    let templates = Templates::new(&TEMPLATES)?;
    let places = Places::new(review);
    let overview = overview::Overview::new(review, &places, &templates)?;
    let mut sections = templates.draw("overview.html", &overview)?;
    let mut series_of: BTreeMap<&str, Vec<&Series>> = BTreeMap::new();
    for series in &review.series {
        series_of.entry(&series.cabinet).or_default().push(series);
    }
    for one in &review.cabinets {
        let Some(id) = places.cabinets.get(&one.id) else {
            continue;
        };
        let series = series_of
            .get(one.id.as_str())
            .map_or(&[][..], Vec::as_slice);
        let view = cabinet::CabinetView::new(review, one, id, series, &places)?;
        sections.push_str(&templates.draw("cabinet.html", &view)?);
    }
    let records = records::Records::new(review, &templates)?;
    sections.push_str(&templates.draw("records.html", &records)?);
    sections.push_str(&templates.draw("reading.html", &())?);
    let style = include_str!("../templates/style.css");
    templates.page(overview.title(), style, sections, &review.cautions)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::fixture::checks::{
        assert_page_can_be_walked, assert_page_is_harmless, without_charts,
    };
    use crate::report::fixture::{HOSTILE, poisoned, review};

    #[test]
    fn the_page_without_its_charts() {
        let mut review = review();
        // Two cabinets show everything; the others repeat it.
        review
            .cabinets
            .retain(|c| c.id == "plover" || c.id == "knot");
        review
            .series
            .retain(|s| s.cabinet == "plover" || s.cabinet == "knot");
        insta::assert_snapshot!(without_charts(&render(&review).unwrap()));
    }

    /// Written for looking at in a browser: `LOOK_AT=dir cargo test`.
    #[test]
    fn the_same_review_gives_the_same_bytes() {
        let page = render(&review()).unwrap();
        assert_eq!(page, render(&review()).unwrap());
        if let Some(folder) = std::env::var_os("LOOK_AT") {
            std::fs::write(std::path::Path::new(&folder).join("review.html"), &page).unwrap();
        }
        assert!(page.len() < 2_500_000, "{} bytes", page.len());
    }

    #[test]
    fn nothing_hostile_survives() {
        let mut review = poisoned();
        review.made_at = HOSTILE.into();
        review.events[0].at = HOSTILE.into();
        review.series[2].signals[0].known_at = HOSTILE.into();
        assert_page_is_harmless(&render(&review).unwrap(), 500);
    }

    #[test]
    fn the_page_is_self_contained_and_can_be_walked() {
        // A small and a large chart each.
        assert_page_can_be_walked(&render(&review()).unwrap(), 30, 2 * 26);
    }

    #[test]
    fn without_readings_there_are_no_charts_and_it_is_said() {
        let mut review = review();
        for series in &mut review.series {
            series.points.clear();
        }
        let page = render(&review).unwrap();
        assert!(!page.contains("<svg"));
        assert!(page.contains("holds no readings"));
    }

    #[test]
    fn a_large_lab_gets_charts_of_what_is_not_steady() {
        let mut review = review();
        let (cabinets, series) = (review.cabinets.clone(), review.series.clone());
        for k in 0..9 {
            for cabinet in &cabinets {
                let mut cabinet = cabinet.clone();
                cabinet.id = format!("{}-{k}", cabinet.id);
                review.cabinets.push(cabinet);
            }
            for one in &series {
                let mut one = one.clone();
                one.cabinet = format!("{}-{k}", one.cabinet);
                one.points.truncate(5);
                review.series.push(one);
            }
        }
        let page = render(&review).unwrap();
        let shown = review.series.iter().filter(|s| s.state != "steady").count();
        assert_eq!(page.matches("<figure").count(), shown);
        let note = format!("{} series are steady", review.series.len() - shown);
        assert!(page.contains(&note), "{note}");
    }
}
