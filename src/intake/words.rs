//! Words as logs write them: folding case and accents, comparing headings, and telling
//! totals rows and repeated headings from checks.

use unicode_normalization::UnicodeNormalization;
use unicode_normalization::char::is_combining_mark;

/// The text without surrounding blanks, byte-order marks and zero-width characters.
pub fn trim(text: &str) -> &str {
    text.trim_matches(|c: char| {
        c.is_whitespace() || c.is_control() || matches!(c, '\u{feff}' | '\u{200b}'..='\u{200f}')
    })
}

/// Lower case, no accents, `ß` as `ss`, compatibility forms resolved, blanks single.
///
/// For comparing words, not for numbers: a superscript becomes a digit.
///
/// ```
/// use steadyfog::intake::words::fold;
/// assert_eq!(fold("  Düsenfern\u{a0} GRÖSSE "), "dusenfern grosse");
/// ```
pub fn fold(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.nfkd().filter(|c| !is_combining_mark(*c)) {
        if c.is_whitespace() {
            if !out.is_empty() && !out.ends_with(' ') {
                out.push(' ');
            }
        } else if c == 'ß' || c == 'ẞ' {
            out.push_str("ss");
        } else if !c.is_control() && !matches!(c, '\u{feff}' | '\u{200b}'..='\u{200f}' | '\u{ad}') {
            out.extend(c.to_lowercase());
        }
    }
    if out.ends_with(' ') {
        out.pop();
    }
    out
}

/// A heading as headings are compared: case and blanks folded, accents kept apart from
/// their way of encoding.
pub fn heading_key(text: &str) -> String {
    let composed: String = trim(text).nfc().collect();
    composed
        .to_lowercase()
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
}

/// First words of rows that sum up others (English, German, French, Spanish, Dutch,
/// Italian, Portuguese), folded.
const TOTALS: [&str; 62] = [
    "total",
    "totals",
    "sum",
    "sums",
    "average",
    "avg",
    "mean",
    "mean value",
    "min",
    "minimum",
    "max",
    "maximum",
    "median",
    "std",
    "std dev",
    "stdev",
    "std. dev",
    "standard deviation",
    "count",
    "range",
    "summe",
    "gesamt",
    "insgesamt",
    "mittel",
    "mittelwert",
    "mw",
    "ø",
    "durchschnitt",
    "standardabweichung",
    "stabw",
    "anzahl",
    "spannweite",
    "moyenne",
    "moy",
    "somme",
    "ecart type",
    "ecart-type",
    "mediane",
    "nombre",
    "etendue",
    "promedio",
    "media",
    "suma",
    "minimo",
    "maximo",
    "desviacion",
    "desviacion estandar",
    "mediana",
    "recuento",
    "rango",
    "gemiddelde",
    "totaal",
    "som",
    "aantal",
    "totale",
    "somma",
    "soma",
    "monthly average",
    "monatsmittel",
    "moyenne mensuelle",
    "promedio mensual",
    "media mensual",
];

/// Whether a first cell marks a row that sums up others (`Total`, `Mittelwert`, `Moy.`).
///
/// ```
/// use steadyfog::intake::words::is_totals_label;
/// assert!(is_totals_label("Mittelwert:") && !is_totals_label("Max Muster"));
/// ```
pub fn is_totals_label(cell: &str) -> bool {
    let folded = fold(cell);
    let bare = folded.trim_end_matches(['.', ':', '=', ' ']);
    if bare.is_empty() {
        return false;
    }
    if TOTALS.contains(&bare) {
        return true;
    }
    // `Average March`, `Summe 03/2026`: a totals word and then a month or period, but
    // never a short word that is a name as well.
    bare.split_once([' ', ':', '('])
        .is_some_and(|(first, rest)| {
            first.len() > 3
                && first != "mean"
                && TOTALS.contains(&first.trim_end_matches('.'))
                && (rest.chars().any(|c| c.is_ascii_digit())
                    || super::date::is_month_name(rest.trim_end_matches([')', '.'])))
        })
}

/// Whether a row repeats the heading row: at least half of its filled cells, and two or
/// more (or the only one), are headings of their own column.
pub fn is_repeated_heading<'a>(
    cells: impl IntoIterator<Item = &'a str>,
    headings: &[String],
) -> bool {
    let mut filled = 0;
    let mut alike = 0;
    for (index, cell) in cells.into_iter().enumerate() {
        let key = heading_key(cell);
        if key.is_empty() {
            continue;
        }
        filled += 1;
        if headings.get(index).is_some_and(|heading| {
            let heading = heading_key(heading);
            // A heading joined from two rows repeats as either row.
            heading == key || heading.split(" | ").any(|part| part == key)
        }) {
            alike += 1;
        }
    }
    let several = alike >= 2 || headings.iter().filter(|h| !trim(h).is_empty()).count() == 1;
    alike > 0 && several && alike * 2 >= filled
}

#[cfg(test)]
mod tests;
