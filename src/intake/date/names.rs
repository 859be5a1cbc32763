//! Names of months and weekdays in English, German, French, Spanish, Dutch, Italian
//! and Portuguese, whole and abbreviated.

use crate::intake::words::fold;
use chrono::Weekday;

/// Beginnings of month names by month, folded.
const MONTHS: [&[&str]; 12] = [
    &[
        "january", "januar", "janner", "janvier", "enero", "januari", "gennaio", "janeiro",
    ],
    &[
        "february",
        "februar",
        "feber",
        "fevrier",
        "febrero",
        "februari",
        "febbraio",
        "fevereiro",
    ],
    &[
        "march", "marz", "maerz", "mars", "marzo", "maart", "mrt", "marco", "mrz",
    ],
    &["april", "avril", "avr", "abril", "aprile"],
    &["may", "mai", "mayo", "mei", "maggio", "maio"],
    &["june", "juni", "juin", "junio", "giugno", "junho"],
    &[
        "july", "juli", "juillet", "juil", "julio", "luglio", "julho",
    ],
    &["august", "aout", "agosto", "augustus"],
    &[
        "september",
        "sept",
        "septembre",
        "septiembre",
        "settembre",
        "setembro",
        "setiembre",
    ],
    &[
        "october", "oktober", "octobre", "octubre", "ottobre", "outubro",
    ],
    &["november", "novembre", "noviembre", "novembro"],
    &[
        "december",
        "dezember",
        "decembre",
        "diciembre",
        "dicembre",
        "dezembro",
    ],
];

/// Weekday names from Monday, folded.
const WEEKDAYS: [&[&str]; 7] = [
    &[
        "monday",
        "montag",
        "lundi",
        "lunes",
        "maandag",
        "lunedi",
        "segunda-feira",
        "segunda",
    ],
    &[
        "tuesday",
        "dienstag",
        "mardi",
        "martes",
        "dinsdag",
        "martedi",
        "terca-feira",
        "terca",
    ],
    &[
        "wednesday",
        "mittwoch",
        "mercredi",
        "miercoles",
        "woensdag",
        "mercoledi",
        "quarta-feira",
    ],
    &[
        "thursday",
        "donnerstag",
        "jeudi",
        "jueves",
        "donderdag",
        "giovedi",
        "quinta-feira",
    ],
    &[
        "friday",
        "freitag",
        "vendredi",
        "viernes",
        "vrijdag",
        "venerdi",
        "sexta-feira",
        "sexta",
    ],
    &[
        "saturday",
        "samstag",
        "sonnabend",
        "samedi",
        "sabado",
        "zaterdag",
        "sabato",
    ],
    &[
        "sunday", "sonntag", "dimanche", "domingo", "zondag", "domenica",
    ],
];

/// Month (1 to 12) of a folded name or its abbreviation of at least three letters; `None`
/// when it is none, or could be two.
pub(super) fn month(folded: &str) -> Option<u32> {
    let name = folded.trim_end_matches('.');
    if name.len() < 3 {
        return None;
    }
    let whole = MONTHS.iter().position(|names| names.contains(&name));
    let found = whole.or_else(|| {
        let mut starts = MONTHS
            .iter()
            .enumerate()
            .filter(|(_, names)| names.iter().any(|n| n.starts_with(name)));
        match (starts.next(), starts.next()) {
            (Some((index, _)), None) => Some(index),
            _ => None,
        }
    });
    found.map(|index| index as u32 + 1)
}

/// Whether a text is the name of a month.
pub fn is_month_name(text: &str) -> bool {
    month(&fold(text)).is_some()
}

/// Weekdays that a name or abbreviation of at least two letters may mean; several where
/// languages disagree (`Ma` is Monday in Dutch and Tuesday in French and Spanish).
pub fn weekday(text: &str) -> Vec<Weekday> {
    const DAYS: [Weekday; 7] = [
        Weekday::Mon,
        Weekday::Tue,
        Weekday::Wed,
        Weekday::Thu,
        Weekday::Fri,
        Weekday::Sat,
        Weekday::Sun,
    ];
    let folded = fold(text);
    let name = folded.trim_end_matches(['.', ',']);
    if name.len() < 2 {
        return Vec::new();
    }
    DAYS.iter()
        .zip(WEEKDAYS)
        .filter(|(_, names)| names.iter().any(|n| n.starts_with(name)))
        .map(|(day, _)| *day)
        .collect()
}

/// The English name.
pub(super) fn english(day: Weekday) -> &'static str {
    match day {
        Weekday::Mon => "Monday",
        Weekday::Tue => "Tuesday",
        Weekday::Wed => "Wednesday",
        Weekday::Thu => "Thursday",
        Weekday::Fri => "Friday",
        Weekday::Sat => "Saturday",
        Weekday::Sun => "Sunday",
    }
}
