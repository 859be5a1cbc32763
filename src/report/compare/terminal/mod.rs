//! The comparison for a terminal: what needs the reader, the verdicts in words, the
//! pairs counted, the mismatch in a few lines.
//!
//! Plain text of a given width; colour only when asked for, and then only as an addition
//! to words. It lists no files: whoever writes them does.

mod matrix;
#[cfg(test)]
mod tests;

use super::naming::{Names, days, heading};
use crate::report::format::{clean, count, date, number, percent, shortened, spoken};
use crate::report::terminal::Page;
use crate::report::wire::{Comparison, Explanation};

pub use crate::report::terminal::Style;

/// Parts and hints told with a mismatch at most.
const MOST_HINTS: usize = 3;
/// Mismatches told at most.
const MOST_MISMATCHES: usize = 5;
/// Characteristics counted at most.
const MOST_COUNTED: usize = 24;

/// The summary of a comparison, ending in a line feed.
///
/// No line is wider than `style.width` (40 at least): longer words are broken. Control
/// and direction-changing characters of the input never reach it.
///
/// ```
/// use steadyfog::report::compare::terminal::{Style, render};
/// use steadyfog::report::wire::Comparison;
///
/// let comparison: Comparison = serde_json::from_str(
///     r#"{"schema": "steadyfog.compare/1", "made_at": "2026-04-01T08:00:00Z",
///         "program": {"name": "steadyfog", "version": "0.1.0"}, "labs": [],
///         "period": {"from": "2026-03-01", "to": "2026-03-31"},
///         "period_says": "March, as asked for.", "method": [], "characteristics": [],
///         "rounds": [], "mismatch": [], "explanations": [], "findings": [],
///         "issues": [], "cautions": []}"#,
/// )?;
/// let text = render(&comparison, Style::default());
/// assert!(text.starts_with("no lab: comparison of 1 to 31 March 2026\nPeriod:  March, as asked for.\n"));
/// assert!(text.contains("What needs you\n  Nothing: no difference beyond instruments and chance"));
/// # Ok::<(), serde_json::Error>(())
/// ```
pub fn render(comparison: &Comparison, style: Style) -> String {
    let mut page = Page::new(style);
    let names = Names::new(comparison);
    head(&mut page, comparison);
    page.needs(
        &comparison.findings,
        "Nothing: no difference beyond instruments and chance, and no signal among the scores.",
    );
    matrix::write(&mut page, comparison);
    pairs(&mut page, comparison);
    mismatch(&mut page, comparison, &names);
    unused(&mut page, comparison);
    page.out
}

fn head(page: &mut Page, comparison: &Comparison) {
    let labs: Vec<String> = comparison
        .labs
        .iter()
        .take(4)
        .map(|l| clean(&l.name))
        .collect();
    let mut who = if labs.is_empty() {
        "no lab".to_owned()
    } else {
        labs.join(", ")
    };
    if comparison.labs.len() > labs.len() {
        who.push_str(&format!(
            " and {} more labs",
            comparison.labs.len() - labs.len()
        ));
    }
    let period = days(&comparison.period);
    let title = format!("{who}: comparison of {period}");
    page.title(&title);
    page.say("Period:  ", &comparison.period_says);
    let made = format!(
        "{} {}, made {}",
        comparison.program.name,
        comparison.program.version,
        date(&comparison.made_at)
    );
    page.say("Program: ", &made);
}

/// How many pairs of cabinets got which verdict.
fn pairs(page: &mut Page, comparison: &Comparison) {
    if comparison
        .characteristics
        .iter()
        .all(|c| c.pair_count.all == 0)
    {
        return;
    }
    page.heading("Pairs of cabinets");
    let name_room = page.width.saturating_sub(36).clamp(4, 40);
    let heads = ["differ", "agree", "cannot tell", "pairs"];
    counted(page, name_room, "", heads.map(str::to_owned));
    for one in comparison.characteristics.iter().take(MOST_COUNTED) {
        let of = &one.pair_count;
        let counts = [of.differ, of.agree, of.cannot_tell, of.all];
        let name = shortened(&heading(one), name_room - 2);
        counted(page, name_room, &name, counts.map(|n| n.to_string()));
    }
    page.more(
        comparison.characteristics.len(),
        MOST_COUNTED,
        "characteristics",
    );
}

/// A row of counts behind a name that has so much room.
fn counted(page: &mut Page, room: usize, name: &str, counts: [String; 4]) {
    let [differ, agree, cannot_tell, all] = counts;
    let row = format!("  {name:<room$}{differ:>6}{agree:>7}{cannot_tell:>13}{all:>8}");
    page.out.push_str(row.trim_end());
    page.out.push('\n');
}

fn mismatch(page: &mut Page, comparison: &Comparison, names: &Names<'_>) {
    if comparison.explanations.is_empty() {
        return;
    }
    page.heading("What goes with the coupon difference (association, not cause)");
    for one in comparison.explanations.iter().take(MOST_MISMATCHES) {
        explanation(page, comparison, one, names);
    }
    page.more(comparison.explanations.len(), MOST_MISMATCHES, "pairs");
}

fn explanation(page: &mut Page, comparison: &Comparison, one: &Explanation, names: &Names<'_>) {
    let pair = format!(
        "{} less {}: {}",
        names.of(&one.a),
        names.of(&one.b),
        with_ends(one.difference, one.low, one.high)
    );
    page.say("  ", &pair);
    for row in super::plot::rows_of(comparison, one)
        .into_iter()
        .take(MOST_HINTS)
    {
        let part = match (row.mass_loss, row.share_explained) {
            (Some(loss), Some(share)) => format!(
                "{}; {} of it{}",
                with_ends(loss, row.mass_loss_low, row.mass_loss_high),
                percent(share),
                match (row.share_low, row.share_high) {
                    (Some(low), Some(high)) => format!(" ({} to {})", percent(low), percent(high)),
                    _ => String::new(),
                }
            ),
            (Some(loss), None) => with_ends(loss, row.mass_loss_low, row.mass_loss_high),
            (None, _) if row.instruments_explain => {
                "within what the instruments explain".to_owned()
            }
            (None, _) => "not known".to_owned(),
        };
        page.say(
            "    - ",
            &format!("{}: {part}", spoken(&row.characteristic)),
        );
    }
    let rest = match one.unexplained {
        Some(rest) => with_ends(rest, one.unexplained_low, one.unexplained_high),
        None => "not known".to_owned(),
    };
    page.say("    - ", &format!("unexplained: {rest}"));
    for (i, next) in one.check_next.iter().take(MOST_HINTS).enumerate() {
        page.say(&format!("    {}. ", i + 1), next);
    }
}

/// "−7.9 g/m² (−10.2 to −5.6)".
fn with_ends(value: f64, low: Option<f64>, high: Option<f64>) -> String {
    match (low, high) {
        (Some(low), Some(high)) => format!(
            "{} g/m² ({} to {})",
            number(value, 1),
            number(low, 1),
            number(high, 1)
        ),
        _ => format!("{} g/m²", number(value, 1)),
    }
}

fn unused(page: &mut Page, comparison: &Comparison) {
    if comparison.issues.is_empty() {
        return;
    }
    page.heading("Not used as written");
    for lab in &comparison.labs {
        let all = comparison.issues.iter().filter(|i| i.lab == lab.id).count() as u64;
        if all > 0 {
            let says = format!(
                "{}: {}; the page and compare.json say where",
                lab.name,
                count(all, "entry", "entries")
            );
            page.say("  ", &says);
        }
    }
}
