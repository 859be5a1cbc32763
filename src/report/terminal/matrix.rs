//! The states of all series in words: a column a cabinet, or for a fleet a row for each
//! cabinet that is not wholly steady.

use super::Page;
use crate::characteristic::Characteristic;
use crate::report::format::{clean, count, shortened, words};
use crate::report::wire::{Cabinet, Review, Series};
use anstyle::{AnsiColor, Style as Look};
use comfy_table::{ContentArrangement, Table, presets};
use std::collections::BTreeMap;
use std::fmt::Write as _;

/// Cabinets up to which the matrix has a column for each.
const MOST_COLUMNS: usize = 12;
/// Cabinets listed at most when they do not fit a column each.
const MOST_LISTED: usize = 40;

/// The states, each with the look that goes with its word.
fn looks() -> [(&'static str, Look); 5] {
    let yellow = Look::new().fg_color(Some(AnsiColor::Yellow.into()));
    let red = Look::new().fg_color(Some(AnsiColor::Red.into()));
    [
        ("breached", red.bold()),
        ("drifting", yellow.bold()),
        ("shifted", yellow.bold()),
        ("unsteady", yellow),
        ("too few", Look::new().dimmed()),
    ]
}

/// Appends a row of the finished table, its states painted after the first column.
fn painted_row(page: &mut Page, line: &str, first: usize) {
    let split = line
        .char_indices()
        .nth(first)
        .map_or(line.len(), |(i, _)| i);
    let (name, states) = line.split_at(split);
    let mut states = states.trim_end().to_owned();
    for (word, look) in looks() {
        let painted = page.painted(word, look);
        states = states.replace(word, &painted);
    }
    let row = format!("{name}{states}");
    page.out.push_str(row.trim_end());
    page.out.push('\n');
}

fn table(width: usize) -> Table {
    let mut table = Table::new();
    table
        .load_style(presets::NOTHING)
        .set_content_arrangement(ContentArrangement::Dynamic)
        .set_width(u16::try_from(width).unwrap_or(u16::MAX));
    table
}

pub(super) fn write(page: &mut Page, review: &Review) {
    if review.series.is_empty() {
        return;
    }
    page.heading("State of each series");
    if review.cabinets.len() <= MOST_COLUMNS {
        grid(page, review);
    } else {
        list(page, review);
    }
}

/// A row a characteristic, a column a cabinet with anything but steady series, in as many
/// blocks as the width asks for; then the cabinets that are steady throughout.
fn grid(page: &mut Page, review: &Review) {
    let mut rows: BTreeMap<Characteristic, &str> = BTreeMap::new();
    let mut states: BTreeMap<(&str, &str), &str> = BTreeMap::new();
    let (steady, shown): (Vec<&Cabinet>, Vec<&Cabinet>) = review.cabinets.iter().partition(|c| {
        let mut own = review
            .series
            .iter()
            .filter(|s| s.cabinet == c.id)
            .peekable();
        own.peek().is_some() && own.all(|s| s.state == "steady")
    });
    let is_shown = |s: &&Series| shown.iter().any(|c| c.id == s.cabinet);
    for series in review.series.iter().map(AsRef::as_ref).filter(is_shown) {
        let id = match series.characteristic.parse::<Characteristic>() {
            Ok(id) => id,
            Err(never) => match never {},
        };
        rows.insert(id, &series.spoken);
        let key = (series.cabinet.as_str(), series.characteristic.as_str());
        states.insert(key, &series.state);
    }
    let name = |text: &str| shortened(&clean(text), 24);
    let first = rows.values().map(|s| name(s).chars().count()).max();
    let first = first.unwrap_or(0) + 2;
    let mut blocks: Vec<Vec<(&str, String)>> = vec![Vec::new()];
    let mut taken = first;
    for cabinet in shown {
        let label = shortened(&clean(&cabinet.name), 16);
        let width = label.chars().count().max(8) + 2;
        if taken + width > page.width && blocks.last().is_some_and(|b| !b.is_empty()) {
            blocks.push(Vec::new());
            taken = first;
        }
        taken += width;
        if let Some(block) = blocks.last_mut() {
            block.push((cabinet.id.as_str(), label));
        }
    }
    for (i, block) in blocks.iter().filter(|b| !b.is_empty()).enumerate() {
        if i > 0 {
            page.out.push('\n');
        }
        let mut table = table(page.width);
        table.set_content_arrangement(ContentArrangement::Disabled);
        let labels = block.iter().map(|(_, label)| label.clone());
        table.set_header(std::iter::once(String::new()).chain(labels));
        for (id, spoken) in &rows {
            let cells = block.iter().map(|(cabinet, _)| {
                let state = states.get(&(*cabinet, id.id()));
                state.map_or_else(|| "·".to_owned(), |s| words(s))
            });
            table.add_row(std::iter::once(name(spoken)).chain(cells));
        }
        for (i, line) in table.lines().enumerate() {
            // The heading row holds names of cabinets, which may be any word.
            let whole = if i == 0 { usize::MAX } else { first };
            painted_row(page, &line, whole);
        }
    }
    if !steady.is_empty() {
        let names: Vec<String> = steady.iter().map(|c| clean(&c.name)).collect();
        let says = format!("steady throughout: {}", names.join(", "));
        page.say(" ", &says);
    }
}

/// A row a cabinet that is not wholly steady, with its series by state.
fn list(page: &mut Page, review: &Review) {
    let mut table = table(page.width);
    let mut steady = 0;
    let mut listed = 0;
    for cabinet in &review.cabinets {
        let mut by_state: BTreeMap<usize, (&str, Vec<String>)> = BTreeMap::new();
        for series in review.series.iter().filter(|s| s.cabinet == cabinet.id) {
            let order = review
                .summary
                .states
                .iter()
                .position(|s| s.state == series.state);
            if series.state != "steady" {
                by_state
                    .entry(order.unwrap_or(usize::MAX))
                    .or_insert((&series.state, Vec::new()))
                    .1
                    .push(clean(&series.spoken));
            }
        }
        if by_state.is_empty() {
            steady += 1;
            continue;
        }
        listed += 1;
        if listed > MOST_LISTED {
            continue;
        }
        let mut says = String::new();
        for (state, spoken) in by_state.values() {
            let gap = if says.is_empty() { "" } else { "; " };
            let _ = write!(says, "{gap}{}: {}", words(state), spoken.join(", "));
        }
        table.add_row([shortened(&clean(&cabinet.name), 24), says]);
    }
    for line in table.lines() {
        page.out.push_str(line.trim_end());
        page.out.push('\n');
    }
    page.more(listed, MOST_LISTED, "cabinets");
    let says = count(steady, "cabinet is", "cabinets are");
    page.say("  ", &format!("{says} steady throughout."));
}
