//! The summary for a terminal: what needs the reader, the matrix of states, the counts.
//!
//! Plain text of a given width; colour only when asked for, and then only as an addition
//! to words. It lists no files: whoever writes them does.

use super::format::{clean, count, date, dates, number, words};
use super::wire::{Finding, Review};
use crate::characteristic::Characteristic;
use anstyle::{AnsiColor, Style as Look};
use comfy_table::{ContentArrangement, Table, presets};
use std::collections::BTreeMap;
use std::fmt::Write as _;

/// Cabinets up to which the matrix has a column for each.
const MOST_COLUMNS: usize = 12;
/// Findings told at most; the most urgent come first.
const MOST_FINDINGS: usize = 20;
/// Cabinets listed at most when they do not fit a column each.
const MOST_LISTED: usize = 40;
/// Narrowest layout; a smaller width is taken as this.
const NARROWEST: usize = 40;

/// How the summary is laid out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Style {
    /// Whether to use colour and weight.
    pub colour: bool,
    /// Columns of the terminal.
    pub width: usize,
}

impl Default for Style {
    fn default() -> Style {
        Style {
            colour: false,
            width: 80,
        }
    }
}

/// The summary of a review, ending in a line feed.
///
/// No line is wider than `style.width` (40 at least) except for a single word that is.
/// Control and direction-changing characters of the input never reach it.
pub fn render(review: &Review, style: Style) -> String {
    let mut page = Page {
        out: String::new(),
        width: style.width.max(NARROWEST),
        colour: style.colour,
    };
    head(&mut page, review);
    needs(&mut page, review);
    matrix(&mut page, review);
    counts(&mut page, review);
    page.out
}

/// The text as it grows.
struct Page {
    out: String,
    width: usize,
    colour: bool,
}

impl Page {
    /// The text in that look, or plain.
    fn painted(&self, text: &str, look: Look) -> String {
        if self.colour {
            format!("{look}{text}{look:#}")
        } else {
            text.to_owned()
        }
    }

    fn heading(&mut self, text: &str) {
        let text = self.painted(text, Look::new().bold());
        self.out.push('\n');
        self.out.push_str(&text);
        self.out.push('\n');
    }

    /// Wraps a text: `first` before its first line, as many spaces before the others.
    fn wrapped(&mut self, first: &str, text: &str) {
        let indent = first.chars().count();
        let room = self.width.saturating_sub(indent).max(10);
        let lines = wrap(&clean(text), room);
        for (i, line) in lines.iter().enumerate() {
            if i == 0 {
                self.out.push_str(first);
            } else {
                self.out.extend(std::iter::repeat_n(' ', indent));
            }
            self.out.push_str(line);
            self.out.push('\n');
        }
    }
}

/// Breaks a text at spaces into lines of at most `room` characters, longer words alone.
fn wrap(text: &str, room: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    let mut length = 0;
    for word in text.split(' ').filter(|w| !w.is_empty()) {
        let size = word.chars().count();
        if length > 0 && length + 1 + size > room {
            lines.push(std::mem::take(&mut line));
            length = 0;
        }
        if length > 0 {
            line.push(' ');
            length += 1;
        }
        line.push_str(word);
        length += size;
    }
    if length > 0 {
        lines.push(line);
    }
    lines
}

fn head(page: &mut Page, review: &Review) {
    let title = format!(
        "{}: review of {}",
        clean(&review.lab),
        dates(&review.period.from, &review.period.to)
    );
    for line in wrap(&title, page.width) {
        let line = page.painted(&line, Look::new().bold());
        page.out.push_str(&line);
        page.out.push('\n');
    }
    let standards: Vec<&str> = review.profiles.iter().map(|p| p.title.as_str()).collect();
    let standards = if standards.is_empty() {
        "no profile: readings are not judged against a standard".to_owned()
    } else {
        standards.join("; ")
    };
    page.wrapped("Standard: ", &standards);
    let made = format!(
        "{} {}, made {}",
        review.program.name,
        review.program.version,
        date(&review.made_at)
    );
    page.wrapped("Program:  ", &made);
}

fn needs(page: &mut Page, review: &Review) {
    page.heading("What needs you");
    if review.findings.is_empty() {
        page.wrapped("  ", "Nothing: no breach, no drift, no unexplained signal.");
    }
    for finding in review.findings.iter().take(MOST_FINDINGS) {
        let rank = format!("{:>3}. ", finding.rank);
        page.wrapped(&rank, &finding.sentence);
        places(page, finding);
    }
    more(page, review.findings.len(), MOST_FINDINGS, "findings");
}

/// "… and 12 more", where there are more than were told.
fn more(page: &mut Page, all: usize, told: usize, what: &str) {
    if all > told {
        let text = format!(
            "… and {} more {what}; the other outputs hold all.",
            all - told
        );
        page.wrapped("     ", &text);
    }
}

fn places(page: &mut Page, finding: &Finding) {
    if !finding.look_at.is_empty() {
        let text = format!("Look first at: {}.", finding.look_at.join("; "));
        page.wrapped("     ", &text);
    }
}

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

fn matrix(page: &mut Page, review: &Review) {
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

/// A row a characteristic, a column a cabinet, in as many blocks as the width asks for.
fn grid(page: &mut Page, review: &Review) {
    let mut rows: BTreeMap<Characteristic, &str> = BTreeMap::new();
    let mut states: BTreeMap<(&str, &str), &str> = BTreeMap::new();
    for series in &review.series {
        let id = match series.characteristic.parse::<Characteristic>() {
            Ok(id) => id,
            Err(never) => match never {},
        };
        rows.insert(id, &series.spoken);
        let key = (series.cabinet.as_str(), series.characteristic.as_str());
        states.insert(key, &series.state);
    }
    let name = |text: &str| super::format::shortened(&clean(text), 24);
    let first = rows.values().map(|s| name(s).chars().count()).max();
    let first = first.unwrap_or(0) + 2;
    let mut blocks: Vec<Vec<(&str, String)>> = vec![Vec::new()];
    let mut taken = first;
    for cabinet in &review.cabinets {
        let label = super::format::shortened(&clean(&cabinet.name), 16);
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
    for (i, block) in blocks.iter().enumerate() {
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
        table.add_row([super::format::shortened(&clean(&cabinet.name), 24), says]);
    }
    for line in table.lines() {
        page.out.push_str(line.trim_end());
        page.out.push('\n');
    }
    more(page, listed, MOST_LISTED, "cabinets");
    let says = count(steady, "cabinet is", "cabinets are");
    page.wrapped("  ", &format!("{says} steady throughout."));
}

fn counts(page: &mut Page, review: &Review) {
    let summary = &review.summary;
    page.heading("In numbers");
    let missing: usize = review.cabinets.iter().map(|c| c.missing_days.len()).sum();
    let chance = match summary.expected_false_alarms {
        Some(expected) => format!("; chance alone would bring about {}", number(expected, 1)),
        None => String::new(),
    };
    let rows = [
        (
            "checks",
            format!(
                "{} of {}",
                summary.checks,
                count(summary.cabinets, "cabinet", "cabinets")
            ),
        ),
        (
            "signals",
            format!(
                "{} without an explanation, {} explained by an event{chance}",
                summary.signals, summary.signals_explained
            ),
        ),
        (
            "breaches",
            count(
                summary.breaches,
                "reading outside the window",
                "readings outside the window",
            ),
        ),
        ("cells rejected", summary.rejected_cells.to_string()),
        ("days without check", missing.to_string()),
    ];
    for (name, says) in rows {
        page.wrapped(&format!("  {name:<20}"), &says);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::fixture::review;

    #[test]
    fn the_summary_at_80_columns() {
        insta::assert_snapshot!(render(&review(), Style::default()));
    }

    #[test]
    fn no_line_is_too_wide_and_nothing_hostile_arrives() {
        for width in [60, 80, 120] {
            let style = Style {
                colour: false,
                width,
            };
            let text = render(&review(), style);
            for line in text.lines() {
                let long_word = !line.trim().contains(' ');
                assert!(
                    line.chars().count() <= width || long_word,
                    "{width}: {line}"
                );
            }
            assert!(text.chars().all(|c| c == '\n' || !c.is_control()));
            assert!(!text.contains('\u{202e}') && !text.contains('\u{2066}'));
        }
    }

    #[test]
    fn colour_only_adds_to_the_words() {
        let style = Style {
            colour: true,
            width: 80,
        };
        let coloured = render(&review(), style);
        assert!(coloured.contains("\u{1b}[1m\u{1b}[31mbreached"));
        let mut bare = String::new();
        let mut inside = false;
        for c in coloured.chars() {
            match c {
                '\u{1b}' => inside = true,
                'm' if inside => inside = false,
                c if !inside => bare.push(c),
                _ => {}
            }
        }
        assert_eq!(bare, render(&review(), Style::default()));
    }

    #[test]
    fn a_fleet_is_listed_by_what_is_not_steady() {
        let mut review = review();
        for i in 0..20 {
            let mut cabinet = review.cabinets[2].clone();
            cabinet.id = format!("extra-{i}");
            review.cabinets.push(cabinet);
        }
        let text = render(&review, Style::default());
        let words: Vec<&str> = text.split_whitespace().collect();
        let text = words.join(" ");
        assert!(text.contains("Plover drifting: collection rate"));
        assert!(text.contains("Curlew shifted: tower temperature; unsteady: near/far spread"));
        assert!(text.contains("21 cabinets are steady throughout."));
    }

    #[test]
    fn nothing_to_tell_is_said() {
        let mut review = review();
        review.findings.clear();
        review.profiles.clear();
        let text = render(&review, Style::default());
        assert!(text.contains("Nothing: no breach"));
        assert!(text.contains("no profile"));
    }
}
