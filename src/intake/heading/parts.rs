//! What a heading states beside its words: unit, reference temperatures, collection
//! period, funnel.
//!
//! Each is taken out of the text, so that what is left are the words that say what the
//! column is.

use super::lexicon::{self, Idea};
use crate::intake::unit::{PressureReference, Temperature, Unit};
use crate::intake::words;
use crate::lab::{GravityKind, GravityReference};

/// A heading taken apart.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Parts {
    /// Words that are left, folded.
    pub(super) words: Vec<String>,
    pub(super) unit: Option<Unit>,
    /// A second unit that contradicts the first.
    pub(super) other_unit: Option<Unit>,
    /// `20/4`, `25/25`: solution over water, °C.
    pub(super) gravity: Option<GravityReference>,
    /// `@ 25 °C`: the temperature something was read at, °C.
    pub(super) temperature: Option<f64>,
    /// `16 h`.
    pub(super) hours: Option<f64>,
    /// cm².
    pub(super) funnel_area_cm2: Option<f64>,
    /// `d20/4` and the like: the symbol of relative density.
    pub(super) density_symbol: bool,
}

/// Takes a heading apart.
pub(super) fn take_apart(heading: &str) -> Parts {
    let mut parts = Parts::default();
    let heading: String = heading.chars().take(200).collect();
    let mut rest = String::with_capacity(heading.len());
    for (text, bracketed) in segments(&heading) {
        if !bracketed {
            rest.push_str(&text);
            continue;
        }
        rest.push(' ');
        if parts.take(&text) {
            continue;
        }
        // Several statements in one pair of brackets: `(mL, 16 h)`.
        for piece in text.split([',', ';']) {
            if !parts.take(piece) {
                rest.push(' ');
                rest.push_str(piece);
            }
        }
        rest.push(' ');
    }
    let left = parts.take_from_words(&rest);
    parts.words = lexicon::split_words(&left);
    parts.note_reference();
    parts
}

/// Text outside and inside of brackets, in order; a bracket that never closes is text.
fn segments(text: &str) -> Vec<(String, bool)> {
    let mut out = vec![(String::new(), false)];
    let mut closing: Option<(char, usize)> = None;
    for (at, c) in text.char_indices() {
        let close = match c {
            '(' => Some(')'),
            '[' => Some(']'),
            '{' => Some('}'),
            _ => None,
        };
        match (close, closing) {
            // `mL/(80 cm²·h)` and `bar(g)` are units with brackets inside.
            (Some(close), None)
                if text.get(at..).is_some_and(|t| t.contains(close))
                    && !text.get(..at).is_some_and(ends_in_unit) =>
            {
                closing = Some((close, 0));
                out.push((String::new(), true));
                continue;
            }
            (Some(close), Some((expected, depth))) if close == expected => {
                closing = Some((expected, depth + 1));
            }
            (_, Some((expected, 0))) if c == expected => {
                closing = None;
                out.push((String::new(), false));
                continue;
            }
            (_, Some((expected, depth))) if c == expected => {
                closing = Some((expected, depth - 1));
            }
            _ => {}
        }
        if let Some((last, _)) = out.last_mut() {
            last.push(c);
        }
    }
    out
}

/// Whether a bracket opening here belongs to the unit before it.
fn ends_in_unit(before: &str) -> bool {
    if before.ends_with('/') {
        return true;
    }
    let last = before
        .rsplit(char::is_whitespace)
        .next()
        .unwrap_or_default();
    !before.ends_with(char::is_whitespace) && matches!(Unit::parse(last), Some(Unit::Pressure(..)))
}

impl Parts {
    /// Notes a unit; the second one, if it differs, is kept apart.
    fn note_unit(&mut self, unit: Unit) {
        match self.unit {
            None => self.unit = Some(unit),
            Some(first) if first == unit => {}
            Some(_) => self.other_unit = Some(unit),
        }
    }

    /// `Abs. pressure (kPa)` says with a word what a pressure is measured from.
    fn note_reference(&mut self) {
        let says = |some: &[&str]| self.words.iter().any(|w| some.contains(&w.as_str()));
        let reference = if says(&[
            "abs",
            "absolute",
            "absolut",
            "absolutdruck",
            "absolue",
            "absoluta",
        ]) {
            PressureReference::Absolute
        } else if says(&[
            "gauge",
            "gage",
            "uberdruck",
            "ueberdruck",
            "relative",
            "relativa",
            "overpressure",
        ]) {
            PressureReference::Gauge
        } else {
            return;
        };
        if let Some(Unit::Pressure(unit, PressureReference::Unstated)) = self.unit {
            self.unit = Some(Unit::Pressure(unit, reference));
        }
    }

    /// Takes one statement; false when the text is none.
    fn take(&mut self, text: &str) -> bool {
        let text = words::trim(text);
        // `(35 ± 2)`, `(6.5-7.2)`: the window, which the profile knows.
        let window = text.chars().any(|c| c.is_ascii_digit())
            && text.contains(['-', '–', '±', '…'])
            && text.chars().all(|c| {
                c.is_ascii_digit()
                    || matches!(c, '.' | ',' | ' ' | '-' | '–' | '±' | '…' | '+' | '/')
            });
        if window || matches!(text, "" | "-" | "–" | "—") {
            return true;
        }
        // Words for a duration are words; `h` and `min` in brackets are units.
        match Unit::parse(text) {
            Some(Unit::One) => return text == "1",
            Some(unit) => {
                self.note_unit(unit);
                return true;
            }
            None => {}
        }
        let folded = words::fold(text);
        for lead in [
            "in ", "en ", "em ", "unit ", "einheit ", "unite ", "unidad ",
        ] {
            if let Some(unit) = folded.strip_prefix(lead).and_then(Unit::parse) {
                self.note_unit(unit);
                return true;
            }
        }
        if let Some(reference) = water_reference(&folded) {
            self.gravity = Some(reference);
            return true;
        }
        if let Some(hours) = hours(&folded) {
            self.hours = Some(hours);
            return true;
        }
        if let Some(area) = funnel(&folded) {
            self.funnel_area_cm2 = Some(area);
            return true;
        }
        if let Some(temperature) = at_temperature(&folded) {
            self.temperature = Some(temperature);
            return true;
        }
        false
    }

    /// Takes statements out of running text; what is left are words.
    fn take_from_words(&mut self, text: &str) -> String {
        let mut spaced = String::with_capacity(text.len() + 8);
        let mut last: Option<char> = None;
        let mut chars = text.chars().peekable();
        while let Some(c) = chars.next() {
            // `Temp.°C`, `temp_C`, `near|ml`; but `N°` and `T°` are words.
            let scale = matches!(chars.peek(), Some('C' | 'F' | 'c' | 'f'));
            if matches!(c, '°' | 'º')
                && scale
                && last.is_some_and(|l| l.is_alphabetic() || l == '.')
            {
                spaced.push(' ');
            }
            spaced.push(match c {
                '_' | '|' | ';' | '\n' | '\t' => ' ',
                c => c,
            });
            last = Some(c);
        }
        let mut tokens: Vec<&str> = spaced.split_whitespace().collect();
        self.take_windows(&mut tokens);
        // `Druck/bar`, `T/°C`: quantity over unit.
        let mut left = Vec::with_capacity(tokens.len());
        for token in tokens {
            match token
                .split_once('/')
                .filter(|(quantity, unit)| {
                    quantity.chars().any(char::is_alphabetic) && !is_word(unit, true, false)
                })
                .and_then(|(quantity, unit)| Some((quantity, Unit::parse(unit)?)))
            {
                Some((quantity, unit)) if unit != Unit::One => {
                    self.note_unit(unit);
                    left.push(quantity);
                }
                _ => left.push(token),
            }
        }
        left.join(" ")
    }

    /// Takes every run of tokens that is a statement, the longest first, from the right:
    /// units stand behind what they belong to.
    fn take_windows(&mut self, tokens: &mut Vec<&str>) {
        const LONGEST: usize = 8;
        // The C of `Collector C` numbers it.
        let (ideas, _) = lexicon::ideas(&lexicon::split_words(&tokens.join(" ")));
        let lettered = ideas.contains(&Idea::Collection) && !ideas.contains(&Idea::Temperature);
        let mut length = tokens.len().min(LONGEST);
        while length > 0 {
            let start = (0..(tokens.len() + 1).saturating_sub(length))
                .rev()
                .find(|&start| {
                    let Some(window) = tokens.get(start..start + length) else {
                        return false;
                    };
                    let text = window.join(" ");
                    let text = text.trim_end_matches([',', ':']);
                    let is_last = start + length == tokens.len();
                    let symbol = words::fold(text);
                    if let Some(reference) = symbol
                        .strip_prefix('d')
                        .or_else(|| symbol.strip_prefix("sg"))
                        .and_then(water_reference)
                    {
                        self.gravity = Some(reference);
                        self.density_symbol = true;
                        return true;
                    }
                    let worded = length == 1 && is_word(text, is_last && start > 0, lettered);
                    // A figure alone numbers a collector; a bracket alone is no statement.
                    let figure = text.chars().all(|c| c.is_ascii_digit() || c == '.');
                    !worded && !figure && self.take(text)
                });
            match start {
                Some(start) => {
                    tokens.drain(start..start + length);
                    length = tokens.len().min(LONGEST);
                }
                None => length -= 1,
            }
        }
    }
}

/// Whether a text that spells a unit is rather a word of the heading; `lettered` where a
/// single letter numbers a collector.
fn is_word(text: &str, is_last: bool, lettered: bool) -> bool {
    match text {
        // A scale by its capital, at the end of a heading.
        "C" | "F" | "K" => return !is_last || lettered,
        "h" | "hr" | "hrs" | "H" | "HR" | "HRS" => return !is_last,
        // With its sign a scale is never a word.
        scale if scale.starts_with(['°', 'º', '˚']) => return false,
        _ => {}
    }
    let folded = words::fold(text);
    let letters = folded.trim_end_matches(['.', ',', ':']);
    let duration = matches!(Unit::parse(letters), Some(Unit::Duration(_) | Unit::One));
    duration
        || matches!(
            letters,
            "c" | "f" | "k" | "l" | "of" | "oc" | "at" | "a" | "man" | "d" | "j" | "1" | "-" | "–"
        )
        || letters.is_empty()
}

/// `25/4`, `d20/4`, `20 °C / 20 °C`, `60/60 °F`: solution over water.
fn water_reference(folded: &str) -> Option<GravityReference> {
    let text = folded.trim_start_matches(['d', '@', ' ']);
    let (solution, water) = text.split_once('/')?;
    let (water_value, water_scale) = degrees(water)?;
    let (solution_value, solution_scale) = degrees(solution)?;
    // A scale written once holds for both.
    let scale = water_scale
        .or(solution_scale)
        .unwrap_or(Temperature::Celsius);
    let celsius =
        |value: f64, own: Option<Temperature>| own.unwrap_or(scale).to_celsius().apply(value);
    let solution = celsius(solution_value, solution_scale);
    let water = celsius(water_value, water_scale);
    // Solutions are read near room temperature; water at 4 °C or the same.
    let sensible = (10.0..=45.0).contains(&solution) && (3.0..=45.0).contains(&water);
    sensible.then_some(GravityReference {
        temperature: Some(solution),
        relative_to: GravityKind::Water(water),
    })
}

/// `@ 25 °C`, `at 25 °C`, `bei 25°C`, `25 °C`: °C.
fn at_temperature(folded: &str) -> Option<f64> {
    let text = folded.trim_start_matches(['@', ' ', ',']);
    let leads = [
        "at ", "bei ", "a ", "@", "a la ", "t=", "t =", "ref ", "ref. ", "bij ", "zu ", "auf ",
    ];
    let (led, text) = leads
        .iter()
        .find_map(|lead| text.strip_prefix(lead))
        .map_or((text.len() != folded.len(), text), |t| (true, t));
    let (value, scale) = degrees(text)?;
    // Without `@` or a scale a figure is no temperature.
    if scale.is_none() && !led {
        return None;
    }
    let celsius = scale
        .unwrap_or(Temperature::Celsius)
        .to_celsius()
        .apply(value);
    (0.0..=100.0).contains(&celsius).then_some(celsius)
}

/// A figure with an optional scale.
fn degrees(text: &str) -> Option<(f64, Option<Temperature>)> {
    let text = text.trim();
    let end = text
        .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',')))
        .unwrap_or(text.len());
    let (figure, scale) = text.split_at_checked(end)?;
    let value = figure.replace(',', ".").parse().ok()?;
    match scale.trim() {
        "" | "°" => Some((value, None)),
        scale => match Unit::parse(scale)? {
            Unit::Temperature(scale) => Some((value, Some(scale))),
            _ => None,
        },
    }
}

/// `16 h`, `24 hrs`, `16-h`, `in 16 h`: hours.
fn hours(folded: &str) -> Option<f64> {
    let text = [
        "in ", "over ", "per ", "pro ", "en ", "after ", "nach ", "/", "je ",
    ]
    .iter()
    .find_map(|lead| folded.strip_prefix(lead))
    .unwrap_or(folded)
    .trim();
    let (value, unit) = figure_and_word(text)?;
    match Unit::parse(unit)? {
        Unit::Duration(crate::intake::unit::Duration::Hour) => {
            (1.0..=200.0).contains(&value).then_some(value)
        }
        _ => None,
    }
}

/// `Ø 100 mm`, `100 mm funnel`, `4 in`, `4"`, `80 cm²`: collecting area, cm².
fn funnel(folded: &str) -> Option<f64> {
    let text = folded.trim_start_matches(['ø', '⌀', '=', ' ', '∅']);
    let (value, word) = figure_and_word(text)?;
    let mut rest = word.split_whitespace();
    let unit = rest.next()?;
    let known_rest = rest.all(|w| {
        matches!(
            w,
            "funnel"
                | "funnels"
                | "dia"
                | "diameter"
                | "trichter"
                | "entonnoir"
                | "embudo"
                | "ø"
                | "diam"
                | "area"
                | "flache"
                | "surface"
                | "id"
                | "diametre"
                | "diametro"
        )
    });
    if !known_rest {
        return None;
    }
    let circle = |millimetres: f64| std::f64::consts::PI * (millimetres / 20.0).powi(2);
    let area = match unit {
        "mm" => circle(value),
        "cm" => circle(value * 10.0),
        "in" | "inch" | "\"" | "″" | "''" | "zoll" | "pouces" | "pulgadas" | "in." => {
            circle(value * 25.4)
        }
        "cm2" | "qcm" | "cm^2" => value,
        _ => return None,
    };
    // Funnels in use: 80 cm² by the standards; a tenth and ten times of it bound a slip.
    (8.0..=800.0).contains(&area).then_some(area)
}

/// A figure at the front and the text behind it.
fn figure_and_word(text: &str) -> Option<(f64, &str)> {
    let end = text.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',')))?;
    let (figure, word) = text.split_at_checked(end)?;
    let value = figure
        .trim_end_matches(['.', ','])
        .replace(',', ".")
        .parse()
        .ok()?;
    Some((value, word.trim_start_matches([' ', '-', '–']).trim()))
}
