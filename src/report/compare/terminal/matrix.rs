//! The verdicts in words: a row a cabinet, a column a characteristic, in as many blocks
//! as the width asks for; of many cabinets those that are not acceptable throughout.

use crate::report::compare::naming::heading;
use crate::report::format::{clean, count, shortened};
use crate::report::terminal::{Page, wrap};
use crate::report::wire::{ComparedCharacteristic, Comparison};
use anstyle::{AnsiColor, Style as Look};
use std::collections::BTreeMap;

/// Cabinets up to which all of them are listed.
const MOST_ALL: usize = 24;
/// Cabinets listed at most of those that are not acceptable throughout.
const MOST_LISTED: usize = 40;
/// Characters of a cabinet's name, and of a column.
const NAME: usize = 22;
const COLUMN: usize = 14;
/// Lines of a column's heading.
const HEAD_LINES: usize = 3;

/// A cabinet with its verdicts by place of the characteristic.
struct Line {
    lab: String,
    name: String,
    verdicts: BTreeMap<usize, &'static str>,
}

/// The verdict in a word that fits a column.
fn word(verdict: &str) -> &'static str {
    match verdict {
        "acceptable" => "acceptable",
        "warning signal" => "warning",
        "action signal" => "action",
        "not scored" => "not scored",
        _ => "other",
    }
}

fn look(word: &str) -> Look {
    match word {
        "action" => Look::new().fg_color(Some(AnsiColor::Red.into())).bold(),
        "warning" => Look::new().fg_color(Some(AnsiColor::Yellow.into())).bold(),
        "not scored" => Look::new().dimmed(),
        _ => Look::new(),
    }
}

pub(super) fn write(page: &mut Page, comparison: &Comparison) {
    let all = lines(comparison);
    if comparison.characteristics.is_empty() || all.is_empty() {
        return;
    }
    page.heading("Verdict on each cabinet (warning and action: signals of the score)");
    let everybody = all.len();
    let (shown, acceptable) = if everybody <= MOST_ALL {
        (all, 0)
    } else {
        let (shown, acceptable): (Vec<Line>, Vec<Line>) = all
            .into_iter()
            .partition(|l| l.verdicts.values().any(|v| *v != "acceptable"));
        (shown, acceptable.len())
    };
    let listed = shown
        .get(..shown.len().min(MOST_LISTED))
        .unwrap_or_default();
    let columns = (page.width.saturating_sub(NAME) / COLUMN).max(1);
    let places: Vec<usize> = (0..comparison.characteristics.len()).collect();
    // With nobody to list, there is no use for headings.
    for (i, block) in places
        .chunks(columns)
        .filter(|_| !listed.is_empty())
        .enumerate()
    {
        if i > 0 {
            page.out.push('\n');
        }
        head(page, comparison, block);
        rows(page, listed, block, comparison.labs.len() > 1);
    }
    page.more(shown.len(), MOST_LISTED, "cabinets");
    if acceptable > 0 {
        let says = count(acceptable as u64, "cabinet is", "cabinets are");
        page.say("  ", &format!("{says} acceptable throughout."));
    }
}

fn lines(comparison: &Comparison) -> Vec<Line> {
    let mut of: BTreeMap<&str, BTreeMap<usize, &'static str>> = BTreeMap::new();
    for (i, one) in comparison.characteristics.iter().enumerate() {
        for participant in &one.participants {
            of.entry(&participant.id)
                .or_default()
                .insert(i, word(&participant.verdict));
        }
    }
    let cabinets = comparison
        .labs
        .iter()
        .flat_map(|l| l.cabinets.iter().map(move |c| (l, c)));
    cabinets
        .map(|(lab, cabinet)| Line {
            lab: clean(&lab.name),
            name: clean(&cabinet.name),
            verdicts: of.remove(cabinet.id.as_str()).unwrap_or_default(),
        })
        .collect()
}

/// The names of the columns, one word under another.
fn head(page: &mut Page, comparison: &Comparison, block: &[usize]) {
    let names: Vec<Vec<String>> = block
        .iter()
        .filter_map(|i| comparison.characteristics.get(*i))
        .map(column_name)
        .collect();
    let height = names.iter().map(Vec::len).max().unwrap_or(0);
    for line in 0..height {
        let mut text = " ".repeat(NAME);
        for name in &names {
            // Names stand on the last lines, next to what they head.
            let own = (line + name.len())
                .checked_sub(height)
                .and_then(|i| name.get(i));
            text.push_str(&format!("{:<COLUMN$}", own.map_or("", String::as_str)));
        }
        page.out.push_str(text.trim_end());
        page.out.push('\n');
    }
}

fn column_name(one: &ComparedCharacteristic) -> Vec<String> {
    let room = COLUMN - 1;
    let mut lines = wrap(&heading(one), room);
    if lines.len() > HEAD_LINES {
        lines.truncate(HEAD_LINES);
        if let Some(last) = lines.last_mut() {
            *last = shortened(&format!("{last}…………"), room);
        }
    }
    lines
}

fn rows(page: &mut Page, listed: &[Line], block: &[usize], several_labs: bool) {
    let mut lab = "";
    for line in listed {
        if several_labs && lab != line.lab {
            lab = &line.lab;
            let heading = shortened(lab, page.width - 1);
            page.out.push_str(&format!(" {heading}\n"));
        }
        let name = shortened(&line.name, NAME - 3);
        page.out.push_str(&format!("  {name}"));
        let mut gap = NAME.saturating_sub(2 + name.chars().count());
        for place in block {
            let word = line.verdicts.get(place).copied().unwrap_or("·");
            page.out.extend(std::iter::repeat_n(' ', gap));
            let painted = page.painted(word, look(word));
            page.out.push_str(&painted);
            gap = COLUMN.saturating_sub(word.chars().count());
        }
        page.out.push('\n');
    }
}
