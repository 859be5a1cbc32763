//! What kind of thing an event was, told from the lab's own words.
//!
//! Only hints rest on this: a word that is not known loses a hint, never a signal.

use crate::characteristic::Characteristic;
use crate::lab::Event;
use crate::time::Instant;

/// Days on either side of a change within which an event counts as near it.
const NEAR_DAYS: f64 = crate::signal::run::EVENT_DAYS;

/// Kinds of event that hints ask about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum EventKind {
    /// A salt lot or a batch of solution.
    SaltOrBatch,
    /// A meter: calibration, buffers, electrode, hydrometer.
    Meter,
    /// A fill of the reservoir.
    Fill,
}

impl EventKind {
    /// Beginnings of words in English, German, French and Spanish, lower case; one that
    /// ends in a full stop is a whole word.
    fn stems(self) -> &'static [&'static str] {
        match self {
            EventKind::SaltOrBatch => &[
                "salt", "lot.", "lots.", "lote", "batch", "salz", "charge", "ansatz", "sel.",
                "sal.", "mélange", "mezcla",
            ],
            EventKind::Meter => &[
                "calibr",
                "kalibr",
                "étalonn",
                "etalonn",
                "buffer",
                "puffer",
                "tampon",
                "electrod",
                "elektrod",
                "électrod",
                "hydrometer",
                "aräometer",
                "densim",
                "meter.",
                "ph-m",
            ],
            EventKind::Fill => &[
                "fill",
                "refill",
                "top-up",
                "topped",
                "nachgefüll",
                "nachfüll",
                "befüll",
                "gefüllt",
                "rempli",
                "rellen",
                "llen",
            ],
        }
    }

    /// Whether a word of the event's kind or description begins with one of the stems.
    fn is(self, event: &Event) -> bool {
        let text = format!("{} {}", event.kind, event.what).to_lowercase();
        text.split(|c: char| !c.is_alphanumeric() && c != '-')
            .any(|word| {
                self.stems()
                    .iter()
                    .any(|stem| match stem.strip_suffix('.') {
                        Some(whole) => word == whole,
                        None => word.starts_with(stem),
                    })
            })
    }
}

/// The events within three days of `at` that hold for the characteristic, nearest first.
pub(super) fn near<'a>(
    events: &[&'a Event],
    characteristic: &Characteristic,
    at: Instant,
) -> Vec<&'a Event> {
    let holds = |event: &Event| {
        let of = event.characteristic.as_ref();
        of.is_none_or(|c| c == characteristic)
    };
    let distance = |event: &Event| event.at.days_since(at).abs();
    let mut near: Vec<&Event> = events
        .iter()
        .copied()
        .filter(|event| holds(event) && distance(event) <= NEAR_DAYS)
        .collect();
    near.sort_by(|a, b| distance(a).total_cmp(&distance(b)));
    near
}

/// Whether an event of that kind that holds for the characteristic is near `at`.
pub(super) fn has_near(
    events: &[&Event],
    kind: EventKind,
    characteristic: &Characteristic,
    at: Instant,
) -> bool {
    near(events, characteristic, at)
        .into_iter()
        .any(|event| kind.is(event))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lab::EventEffect;

    #[test]
    fn kinds_are_told_from_words_of_four_languages() {
        let event = |kind: &str, what: &str| Event {
            at: Instant(0),
            cabinet: None,
            characteristic: None,
            kind: kind.to_owned(),
            what: what.into(),
            effect: EventEffect::Note,
        };
        for (kind, what, is) in [
            ("salt lot", "7", EventKind::SaltOrBatch),
            ("Wartung", "neue Salzcharge", EventKind::SaltOrBatch),
            ("note", "nouveau lot de sel", EventKind::SaltOrBatch),
            ("calibración", "electrodo nuevo", EventKind::Meter),
            ("Kalibrierung", "pH", EventKind::Meter),
            ("note", "reservoir topped: top-up", EventKind::Fill),
            ("note", "Behälter nachgefüllt", EventKind::Fill),
        ] {
            assert!(is.is(&event(kind, what)), "{kind} {what}");
        }
        let nozzle = event("repair", "new nozzle");
        for kind in [EventKind::SaltOrBatch, EventKind::Meter, EventKind::Fill] {
            assert!(!kind.is(&nozzle), "{kind:?}");
        }
        // A word inside another is no match.
        let pilot = event("note", "pilot light, parameter, slot, sales");
        for kind in [EventKind::SaltOrBatch, EventKind::Meter, EventKind::Fill] {
            assert!(!kind.is(&pilot), "{kind:?}");
        }
    }
}
