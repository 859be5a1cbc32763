//! A chart on the page with what belongs to it: its name for a screen reader, what it
//! leaves out, and the table of what it draws.

use super::Page;
use super::table::Table;
use crate::report::compare::plot::Chart;
use crate::report::html::HtmlError;
use serde::Serialize;

/// What the templates place for a chart.
#[derive(Serialize)]
pub(super) struct Figure {
    label: String,
    /// How to read it, in a sentence or two of ours.
    reading: &'static str,
    svg: String,
    left_out: String,
    /// Heading of the folded table; empty where the table stands open beside the chart.
    summary: String,
    table: String,
}

impl Figure {
    /// A chart whose numbers stand in a table that is open beside it.
    pub(super) fn beside_its_table(label: String, reading: &'static str, chart: Chart) -> Figure {
        Figure {
            label,
            reading,
            svg: chart.svg,
            left_out: chart.left_out,
            summary: String::new(),
            table: String::new(),
        }
    }

    /// A chart with its numbers folded away below it.
    pub(super) fn with_table(
        page: &Page<'_>,
        label: String,
        reading: &'static str,
        chart: Chart,
        (summary, table): (&str, Table),
    ) -> Result<Figure, HtmlError> {
        Ok(Figure {
            summary: summary.to_owned(),
            table: table.markup(page)?,
            ..Figure::beside_its_table(label, reading, chart)
        })
    }
}
