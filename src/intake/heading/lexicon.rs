//! The words headings are made of, and the ideas they stand for.
//!
//! The words live in `data/headings.toml`, parsed once. A word is found whole, as part
//! of a phrase, or inside a compound (`Befeuchterwassertemperatur`).

use crate::intake::words;
use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::OnceLock;

/// What a word of a heading stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Idea {
    Temperature,
    Pressure,
    Air,
    Cabinet,
    Tower,
    Collection,
    Volume,
    Near,
    Far,
    Side,
    Mean,
    Duration,
    CollectionHours,
    Ph,
    Gravity,
    Salt,
    Concentration,
    Solution,
    Reservoir,
    Water,
    Date,
    Time,
    DateTime,
    Day,
    Weekday,
    Operator,
    Remarks,
    Sequence,
    Setpoint,
    Extreme,
    Spread,
    Ambient,
    Unused,
}

/// Ideas by phrase (folded words joined by single blanks).
struct Lexicon {
    phrases: BTreeMap<String, BTreeSet<Idea>>,
    longest_phrase: usize,
}

const DATA: &str = include_str!("../../../data/headings.toml");

fn parse() -> Result<Lexicon, toml::de::Error> {
    let by_idea: BTreeMap<Idea, BTreeMap<String, Vec<String>>> = toml::from_str(DATA)?;
    let mut phrases: BTreeMap<String, BTreeSet<Idea>> = BTreeMap::new();
    for (idea, languages) in by_idea {
        for phrase in languages.into_values().flatten() {
            let phrase = split_words(&phrase).join(" ");
            phrases.entry(phrase).or_default().insert(idea);
        }
    }
    let longest_phrase = phrases
        .keys()
        .map(|p| p.split(' ').count())
        .max()
        .unwrap_or(1);
    Ok(Lexicon {
        phrases,
        longest_phrase,
    })
}

fn lexicon() -> &'static Lexicon {
    static LEXICON: OnceLock<Lexicon> = OnceLock::new();
    // The data is part of the program and a test reads it; an empty lexicon recognises
    // nothing, which every column would then say.
    LEXICON.get_or_init(|| {
        parse().unwrap_or(Lexicon {
            phrases: BTreeMap::new(),
            longest_phrase: 1,
        })
    })
}

/// The words of a text: folded, split at anything that is no letter or digit, at the
/// border of letters and digits, and inside `camelCase`.
pub(super) fn split_words(text: &str) -> Vec<String> {
    let mut spaced = String::with_capacity(text.len() + 8);
    let mut lower_run = 0;
    let mut last: Option<char> = None;
    for c in text.chars() {
        let border = last.is_some_and(|l| {
            l.is_alphanumeric()
                && c.is_alphanumeric()
                && (l.is_ascii_digit() != c.is_ascii_digit()
                    // `pH` stays whole: its run of small letters is too short.
                    || (c.is_uppercase() && lower_run >= 2))
        });
        if border {
            spaced.push(' ');
        }
        lower_run = if c.is_lowercase() { lower_run + 1 } else { 0 };
        spaced.push(c);
        last = Some(c);
    }
    words::fold(&spaced)
        .split(|c: char| !c.is_alphanumeric() && c != '°')
        .filter(|w| !w.is_empty())
        .map(str::to_owned)
        .collect()
}

/// The ideas of a heading's words, and the words that stand for none.
pub(super) fn ideas(words: &[String]) -> (BTreeSet<Idea>, Vec<String>) {
    let lexicon = lexicon();
    let mut found = BTreeSet::new();
    let mut unknown = Vec::new();
    let mut at = 0;
    while let Some(word) = words.get(at) {
        let longest = lexicon.longest_phrase.min(words.len() - at);
        let phrase = (1..=longest).rev().find_map(|length| {
            let phrase = words.get(at..at + length)?.join(" ");
            lexicon.phrases.get(&phrase).map(|ideas| (length, ideas))
        });
        match phrase {
            Some((length, ideas)) => {
                found.extend(ideas.iter().copied());
                at += length;
            }
            None => {
                match compound(word, lexicon) {
                    Some(ideas) => found.extend(ideas),
                    None => unknown.push(word.clone()),
                }
                at += 1;
            }
        }
    }
    (found, unknown)
}

/// The ideas of the parts of a compound; `None` when fewer than one part is known.
///
/// Parts have four letters or more and are taken longest first from the left; letters
/// between them (`wasser` in `Befeuchterwassertemperatur`) are skipped.
fn compound(word: &str, lexicon: &Lexicon) -> Option<BTreeSet<Idea>> {
    const SHORTEST: usize = 4;
    // Compounds longer than any heading's would only cost time.
    if word.len() < SHORTEST + 1 || word.len() > 64 || !word.is_ascii() {
        return None;
    }
    let mut found = BTreeSet::new();
    let mut at = 0;
    while at + SHORTEST <= word.len() {
        let part = (at + SHORTEST..=word.len()).rev().find_map(|end| {
            let part = word.get(at..end)?;
            lexicon.phrases.get(part).map(|ideas| (end, ideas))
        });
        match part {
            Some((end, ideas)) => {
                found.extend(ideas.iter().copied());
                at = end;
            }
            None => at += 1,
        }
    }
    (!found.is_empty()).then_some(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_data_is_read() {
        let lexicon = parse().unwrap();
        assert!(lexicon.phrases.len() > 500, "{}", lexicon.phrases.len());
        assert!(lexicon.phrases.contains_key("masse volumique"));
    }

    #[test]
    fn splits_words_and_compounds() {
        assert_eq!(split_words("pH-Wert"), ["ph", "wert"]);
        assert_eq!(split_words("CabTemp_near2"), ["cab", "temp", "near", "2"]);
        let (found, unknown) = ideas(&split_words("Befeuchterwassertemperatur xyz"));
        assert!(found.contains(&Idea::Tower) && found.contains(&Idea::Temperature));
        assert_eq!(unknown, ["xyz"]);
    }
}
