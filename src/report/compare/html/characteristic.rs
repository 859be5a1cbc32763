//! The section of a characteristic, or of the coupons of a round: result, origin of its
//! numbers, charts and tables.

use super::Page;
use super::details;
use super::figure::Figure;
use super::participants;
use super::precision;
use super::table::{Table, figure, name};
use crate::report::compare::naming::{decimals, heading, method};
use crate::report::compare::plot::{self, Kind};
use crate::report::format::{attach, count, dates, decimals_of, number, significant, window};
use crate::report::html::HtmlError;
use crate::report::wire::{Assigned, ComparedCharacteristic, Round};
use serde::Serialize;

/// What `compare-section.html` places.
#[derive(Serialize)]
pub(super) struct Section {
    id: String,
    title: String,
    says: String,
    /// Facts of the round, when it is one, and the sentences about its corrosivity.
    round: Vec<(String, String)>,
    round_says: Vec<String>,
    origin: Vec<(String, String)>,
    robust: String,
    scores: Option<Figure>,
    participants: String,
    participants_note: String,
    uncertainty: String,
    labs: String,
    pair_count: String,
    differences: Option<Figure>,
    pairs: String,
    pairs_note: String,
    lab_pairs: String,
    coupons: Option<Figure>,
    distributions: Option<Figure>,
    consistency: Option<Figure>,
    calendar: Option<Figure>,
    precision_says: String,
    precision: String,
    outliers: String,
}

impl Section {
    pub(super) fn new(page: &Page<'_>, one: &ComparedCharacteristic) -> Result<Section, HtmlError> {
        let title = heading(one);
        let round = page
            .comparison
            .rounds
            .iter()
            .find(|r| one.round.as_ref() == Some(&r.id));
        let listed = participants::shown(one);
        let mut section = Section {
            id: page.section(one).cloned().unwrap_or_default(),
            says: one.says.clone(),
            round: round.map(round_facts).unwrap_or_default(),
            round_says: round.map(|r| r.says.clone()).unwrap_or_default(),
            origin: origin(one),
            robust: robust(one).markup(page)?,
            scores: None,
            participants: participants::table(one, &listed, &page.names).markup(page)?,
            participants_note: participants::note(one, &listed),
            uncertainty: participants::uncertainty(one, &listed, &page.names).markup(page)?,
            labs: participants::labs(one, &page.names).markup(page)?,
            pair_count: pair_count(one),
            differences: None,
            pairs: participants::pairs(one, &one.pairs, &page.names).markup(page)?,
            pairs_note: participants::pairs_note(one),
            lab_pairs: participants::pairs(one, &one.lab_pairs, &page.names).markup(page)?,
            coupons: None,
            distributions: None,
            consistency: None,
            calendar: None,
            precision_says: one.precision_says.clone(),
            precision: precision::table(one).markup(page)?,
            outliers: precision::outliers(one, &page.names).markup(page)?,
            title,
        };
        for chart in plot::all(page.comparison, one, &page.names)? {
            section.take(page, one, chart)?;
        }
        Ok(section)
    }

    /// Puts a chart where it belongs, with the table of what it draws.
    fn take(
        &mut self,
        page: &Page<'_>,
        one: &ComparedCharacteristic,
        chart: plot::Chart,
    ) -> Result<(), HtmlError> {
        let title = &self.title;
        let label = |what: &str| format!("{title}: {what}");
        match chart.kind {
            Kind::Scores => {
                self.scores = Some(Figure::beside_its_table(
                    label("score bars"),
                    "A bar reaches from the assigned value to the cabinet, counted in sigma. Dashed lines stand at 2, solid ones at 3.",
                    chart,
                ));
            }
            Kind::Differences => {
                self.differences = Some(Figure::beside_its_table(
                    label("differences of pairs"),
                    "Each row is the first less the second. Thick: what chance leaves open, for all pairs at once. Thin with ends: chance and instruments together. Shaded: the margin of agreement, which is judged pair by pair with an interval narrower than those drawn for all pairs at once.",
                    chart,
                ));
            }
            Kind::Coupons => {
                let table = details::coupons(one, &page.names);
                self.coupons = Some(Figure::with_table(
                    page,
                    label("coupons by cabinet"),
                    "A dot a coupon, hollow where a test marked it; nothing marked was dropped. The upright stroke is the cabinet's mean.",
                    chart,
                    ("Results of the coupons as a table", table),
                )?);
            }
            Kind::Distributions => {
                let table = details::quantiles(one, &page.names);
                self.distributions = Some(Figure::with_table(
                    page,
                    label("distributions"),
                    "The share of a cabinet's readings at or below a value. A line to the right of another reads higher; a steeper one scatters less.",
                    chart,
                    ("Quantiles as a table", table),
                )?);
            }
            Kind::Consistency => {
                let table = details::consistency(one, &page.names);
                self.consistency = Some(Figure::with_table(
                    page,
                    label("consistency"),
                    "h sets a cabinet's mean, k its spread, against those of the others. Dashed lines: critical at 5 %; solid: at 1 %.",
                    chart,
                    ("h and k as a table", table),
                )?);
            }
            Kind::Calendar => {
                let table = details::calendar(page.comparison, one, &page.names);
                self.calendar = Some(Figure::with_table(
                    page,
                    label("who was in window when"),
                    "A cell a day. The numbers at the right count readings, not days.",
                    chart,
                    ("Days by cabinet as a table", table),
                )?);
            }
            Kind::TwoRounds | Kind::Mismatch => {}
        }
        Ok(())
    }
}

fn round_facts(round: &Round) -> Vec<(String, String)> {
    let hours = if round.hours_least == round.hours_most {
        attach(significant(round.hours_most, 3), "h")
    } else {
        attach(
            format!(
                "{} to {}",
                significant(round.hours_least, 3),
                significant(round.hours_most, 3)
            ),
            "h",
        )
    };
    vec![
        (
            "Exposed".to_owned(),
            format!("{}, {hours}", dates(&round.from, &round.to)),
        ),
        (
            "Took part".to_owned(),
            format!(
                "{}, {}, {}",
                count(round.labs, "lab", "labs"),
                count(round.cabinets, "cabinet", "cabinets"),
                count(round.coupons, "coupon", "coupons")
            ),
        ),
        ("Blank".to_owned(), round.blank_says.clone()),
    ]
}

/// Where the numbers of the section come from: assigned value, sigma, window, margin.
fn origin(one: &ComparedCharacteristic) -> Vec<(String, String)> {
    let decimals = decimals(one);
    let unit = one.unit.as_str();
    let mut origin = vec![(
        "Assigned value".to_owned(),
        match &one.assigned {
            Some(assigned) => assigned_says(assigned, decimals, unit),
            None => "none: nobody is scored".to_owned(),
        },
    )];
    let sigma = match one.sigma_p {
        Some(sigma) => format!(
            "{}. {}",
            attach(significant(sigma, 3), unit),
            one.sigma_p_says
        ),
        None => one.sigma_p_says.clone(),
    };
    origin.push(("Sigma".to_owned(), sigma));
    if let Some(of) = &one.window {
        let needed = [of.lower, of.upper]
            .into_iter()
            .flatten()
            .map(|v| decimals_of(v, 0))
            .max();
        let limits = window(of.lower, of.upper, needed.unwrap_or(0), unit);
        origin.push((
            "Conformance limits".to_owned(),
            format!("{limits}. {}", of.source),
        ));
    } else {
        origin.push(("Conformance limits".to_owned(), "none".to_owned()));
    }
    let margin = match one.margin {
        Some(margin) => format!(
            "± {}. {}",
            attach(significant(margin, 2), unit),
            one.margin_says
        ),
        None => one.margin_says.clone(),
    };
    origin.push(("Margin of agreement".to_owned(), margin));
    origin
}

fn assigned_says(assigned: &Assigned, decimals: u32, unit: &str) -> String {
    let value = format!(
        "{} ± {}",
        number(assigned.value, decimals),
        number(assigned.u, decimals)
    );
    format!(
        "{} (standard uncertainty). {}",
        attach(value, unit),
        assigned.says
    )
}

fn robust(one: &ComparedCharacteristic) -> Table {
    let decimals = decimals(one);
    let mut table = Table::new(
        format!("{}: robust estimates", heading(one)),
        &["Method", "#Centre", "#Spread"],
    )
    .class("narrow");
    for estimate in &one.robust {
        table.row(vec![
            name(method(&estimate.method)),
            figure(number(estimate.centre, decimals)),
            figure(number(estimate.spread, decimals)),
        ]);
    }
    table
}

/// "Of 10 pairs 6 differ, 3 agree and of 1 it cannot be told."
fn pair_count(one: &ComparedCharacteristic) -> String {
    let of = &one.pair_count;
    if of.all == 0 {
        return "There is no pair to compare.".to_owned();
    }
    format!(
        "Of {}: {} differ, {} agree, {} cannot be told with these data.",
        count(of.all, "pair of cabinets", "pairs of cabinets"),
        of.differ,
        of.agree,
        of.cannot_tell
    )
}
