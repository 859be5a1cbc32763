//! How much more is needed before the rounds tell the sensitivities, in words.

use super::input::Named;
use super::sensitivity::{FEWEST_BETWEEN, FEWEST_DEGREES};
use super::table::{Design, Table};

/// Rounds with that many cabinets each that leave enough degrees of freedom.
fn rounds_for(cabinets: usize, characteristics: usize) -> usize {
    (FEWEST_DEGREES + characteristics).div_ceil(cabinets.saturating_sub(1).max(1))
}

fn characteristics_words(count: usize) -> String {
    match count {
        1 => "one characteristic".to_owned(),
        _ => format!("{count} characteristics"),
    }
}

/// What would be needed to know sensitivities: rounds, or what to state.
pub(super) fn needed(table: &Table<'_>, characteristics: &[Named]) -> String {
    let count = characteristics.len();
    if count == 0 {
        return "No characteristic was named.".to_owned();
    }
    let cabinets = table.participants().max(1 + count + FEWEST_BETWEEN);
    let rounds = rounds_for(cabinets, count);
    let there = match (table.participants(), table.rounds()) {
        (0, _) => "no round with two cabinets is there".to_owned(),
        (p, 1) => format!("1 round with {p} is there"),
        (p, r) => format!("{r} rounds with {p} are there"),
    };
    let names: Vec<&str> = characteristics.iter().map(|c| c.spoken.as_str()).collect();
    format!(
        "For {} that takes {} with {cabinets} cabinets ({there}), the daily checks of each kept during exposure; \
         or a sensitivity in lab.toml (g/m² per unit, its uncertainty, its hours and its source) for {}.",
        characteristics_words(count),
        if rounds == 1 {
            "a round".to_owned()
        } else {
            format!("{rounds} rounds")
        },
        super::say::listed(&names)
    )
}

/// Why a design is too small.
pub(super) fn too_few(design: &Design, characteristics: usize) -> String {
    format!(
        "{} observations of {} cabinets in {} are too few for {}",
        design.cells.len(),
        design.participants,
        if design.rounds == 1 {
            "one round".to_owned()
        } else {
            format!("{} rounds", design.rounds)
        },
        characteristics_words(characteristics)
    )
}

/// Why there is nothing to fit.
pub(super) fn nothing_to_fit(table: &Table<'_>) -> String {
    if table.observations() == 0 {
        "no coupon round has two cabinets".to_owned()
    } else {
        "no characteristic was checked in the cabinets of the rounds and differs between them"
            .to_owned()
    }
}
