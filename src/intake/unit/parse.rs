//! Reading a written unit: by its spelling, or by the grammar of rates.

use super::spellings::{BETWEEN, DURATIONS, PLAIN, PRESSURES, REFERENCES};
use super::{Duration, PressureReference, Unit, Volume};
use crate::intake::words;

impl Unit {
    /// The unit a text states, in any of the ways people write it; `None` when it is none.
    ///
    /// ```
    /// use steadyfog::intake::unit::Unit;
    /// let spellings = ["mL/h/80cm²", "ml/(80 cm2·h)", "mL/h per 80 cm²", "ml / 80 cm² / hr"];
    /// let units: Vec<_> = spellings.iter().map(|s| Unit::parse(s)).collect();
    /// assert!(units.iter().all(|u| u.is_some() && *u == units[0]));
    /// ```
    pub fn parse(text: &str) -> Option<Unit> {
        // The longest spelling is far shorter; a cell of a megabyte is not one.
        if text.len() > 64 {
            return None;
        }
        let folded = words::fold(text);
        let plain_signs: String = folded
            .chars()
            .map(|c| match c {
                '−' | '–' | '‐' => '-',
                '⋅' | '•' | '∙' => '·',
                '∕' | '⁄' | '÷' => '/',
                '˚' | '∘' => '°',
                c => c,
            })
            .collect();
        let bare =
            plain_signs.trim_matches(|c: char| matches!(c, '[' | ']' | ':' | ';' | ',' | '='));
        let bare = unwrap_brackets(bare.trim());
        let tight: String = bare.chars().filter(|c| !c.is_whitespace()).collect();
        let undotted = tight.strip_suffix('.').unwrap_or(&tight);
        plain(undotted)
            .or_else(|| plain(&tight))
            .or_else(|| plain(&tight.replace(['(', ')'], "")))
            .or_else(|| pressure(undotted))
            .or_else(|| duration(undotted).map(Unit::Duration))
            .or_else(|| rate(bare))
    }
}

/// The text inside one pair of brackets that holds all of it.
fn unwrap_brackets(text: &str) -> &str {
    for (open, close) in [('(', ')'), ('[', ']'), ('{', '}')] {
        let inside = text
            .strip_prefix(open)
            .and_then(|t| t.strip_suffix(close))
            .filter(|t| !t.contains([open, close]));
        if let Some(inside) = inside {
            return inside.trim();
        }
    }
    text
}

fn plain(tight: &str) -> Option<Unit> {
    PLAIN
        .iter()
        .find(|(_, spellings)| spellings.contains(&tight))
        .map(|(unit, _)| *unit)
}

fn pressure(tight: &str) -> Option<Unit> {
    let bare = |text: &str| {
        PRESSURES
            .iter()
            .find(|(_, spellings)| spellings.contains(&text))
            .map(|(unit, _)| *unit)
    };
    if let Some(unit) = bare(tight) {
        return Some(Unit::Pressure(unit, PressureReference::Unstated));
    }
    let without_brackets: String = tight
        .chars()
        .filter(|c| !matches!(c, '(' | ')' | '[' | ']' | '-' | '_' | ','))
        .collect();
    REFERENCES.iter().find_map(|(suffix, reference)| {
        let unit = bare(without_brackets.strip_suffix(suffix)?)?;
        Some(Unit::Pressure(unit, *reference))
    })
}

fn duration(word: &str) -> Option<Duration> {
    DURATIONS
        .iter()
        .find(|(_, spellings)| spellings.contains(&word))
        .map(|(unit, _)| *unit)
}

/// Minutes of a period; `None` beyond a year or below a minute.
fn minutes(number: f64, unit: Duration) -> Option<u32> {
    let each = match unit {
        Duration::Minute => 1.0,
        Duration::Hour => 60.0,
        Duration::Day => 1440.0,
    };
    whole(number * each, 525_600.0)
}

/// A whole number from 1 to the most; `None` otherwise.
fn whole(value: f64, most: f64) -> Option<u32> {
    let rounded = value.round();
    ((1.0..=most).contains(&rounded) && (value - rounded).abs() < 1e-6).then_some(rounded as u32)
}

/// A volume over a period, an area, or both, in any order: `mL/16 h`, `ml/(80cm2·h)`.
fn rate(folded: &str) -> Option<Unit> {
    let mut rest = folded;
    let volume = match next_word(&mut rest)? {
        "ml" | "cc" | "ccm" | "cm3" | "cm^3" | "mls" | "milliliter" | "millilitre" => {
            Volume::Millilitre
        }
        "l" | "liter" | "litre" => Volume::Litre,
        _ => return None,
    };
    let mut period = None;
    let mut area = None;
    loop {
        skip_between(&mut rest);
        if rest.is_empty() {
            break;
        }
        let number = next_number(&mut rest);
        let word = next_word(&mut rest)?;
        let value = number.unwrap_or(1.0);
        if let Some(unit) = duration(word.strip_suffix("-1").unwrap_or(word)) {
            if period.replace(minutes(value, unit)?).is_some() {
                return None;
            }
        } else if matches!(
            word,
            "cm2" | "cm^2" | "sqcm" | "qcm" | "cm-2" | "cm" | "sq" | "square"
        ) {
            if word == "sq" || word == "square" {
                rest = rest.trim_start_matches(['.', ' ']);
                let cm = next_word(&mut rest)?;
                if !cm.starts_with("cm") && !cm.starts_with("centim") {
                    return None;
                }
            } else if word == "cm" {
                return None;
            }
            if area.replace(whole(value * 100.0, 1e7)?).is_some() {
                return None;
            }
        } else {
            return None;
        }
    }
    match (period, area) {
        (Some(minutes), Some(area_mm2)) => Some(Unit::NormalisedRate {
            volume,
            minutes,
            area_mm2,
        }),
        (Some(minutes), None) => Some(Unit::Rate { volume, minutes }),
        (None, Some(area_mm2)) => Some(Unit::VolumePerArea { volume, area_mm2 }),
        (None, None) => None,
    }
}

/// Skips signs, blanks and words such as `per`.
fn skip_between(rest: &mut &str) {
    loop {
        *rest = rest.trim_start_matches(|c: char| {
            c.is_whitespace()
                || matches!(c, '/' | '·' | '*' | '(' | ')' | '@' | '.' | ',' | '×' | '|')
        });
        let mut after = *rest;
        match next_word(&mut after) {
            Some(word) if BETWEEN.contains(&word) => *rest = after,
            _ => return,
        }
    }
}

/// Letters with the power behind them: `h`, `cm2`, `cm^3`, `h-1`.
fn next_word<'a>(rest: &mut &'a str) -> Option<&'a str> {
    let text = *rest;
    let letters = text
        .find(|c: char| !c.is_alphabetic())
        .unwrap_or(text.len());
    if letters == 0 {
        return None;
    }
    let tail = text.get(letters..).unwrap_or_default();
    let power = ["^2", "^3", "-1", "-2"]
        .iter()
        .find(|p| tail.starts_with(**p))
        .map_or_else(
            || usize::from(tail.starts_with(['2', '3']) && !starts_number(tail)),
            |p| p.len(),
        );
    let (word, after) = text.split_at_checked(letters + power)?;
    *rest = after;
    Some(word)
}

/// Whether a text starts with a number of two or more digits.
fn starts_number(text: &str) -> bool {
    text.chars().take_while(char::is_ascii_digit).count() > 1
}

/// A number with point or comma.
fn next_number(rest: &mut &str) -> Option<f64> {
    let text = *rest;
    let end = text
        .find(|c: char| !c.is_ascii_digit() && !matches!(c, '.' | ','))
        .unwrap_or(text.len());
    let (number, after) = text.split_at_checked(end)?;
    let value = number
        .trim_end_matches(['.', ','])
        .replace(',', ".")
        .parse()
        .ok()?;
    *rest = after.trim_start();
    Some(value)
}
