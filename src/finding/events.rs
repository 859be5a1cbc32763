//! What kind of thing an event was, told from the lab's own words.
//!
//! Only hints rest on this: a word that is not known loses a hint, never a signal.

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
    /// Word stems in English, German, French and Spanish, lower case.
    fn stems(self) -> &'static [&'static str] {
        match self {
            EventKind::SaltOrBatch => &[
                "salt", "lot", "batch", "salz", "charge", "ansatz", "sel ", "sal ", "lote",
                "mélange", "mezcla",
            ],
            EventKind::Meter => &[
                "calibr",
                "kalibr",
                "étalonn",
                "etalonn",
                "buffer",
                "puffer",
                "tampon",
                "electrode",
                "elektrode",
                "électrode",
                "electrodo",
                "hydrometer",
                "aräometer",
                "densim",
                "meter",
            ],
            EventKind::Fill => &[
                "fill",
                "refill",
                "top-up",
                "top up",
                "nachfüll",
                "befüll",
                "rempli",
                "relleno",
                "llen",
            ],
        }
    }

    /// Whether the event's kind or description uses one of the words.
    fn is(self, event: &Event) -> bool {
        // The space lets a stem that ends in one match the last word.
        let text = format!("{} {} ", event.kind, event.what).to_lowercase();
        self.stems().iter().any(|stem| text.contains(stem))
    }
}

/// The events within three days of `at`, nearest first.
pub(super) fn near<'a>(events: &[&'a Event], at: Instant) -> Vec<&'a Event> {
    let distance = |event: &Event| event.at.days_since(at).abs();
    let mut near: Vec<&Event> = events
        .iter()
        .copied()
        .filter(|event| distance(event) <= NEAR_DAYS)
        .collect();
    near.sort_by(|a, b| distance(a).total_cmp(&distance(b)));
    near
}

/// Whether an event of that kind lies within three days of `at`.
pub(super) fn has_near(events: &[&Event], kind: EventKind, at: Instant) -> bool {
    near(events, at).into_iter().any(|event| kind.is(event))
}
