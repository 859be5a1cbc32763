//! `events.csv`: what was done to or happened at a cabinet, and what it changes.
//!
//! A row that cannot be used is an [`Issue`]; the others are kept. An event never
//! changes a reading: it starts a stage, leaves readings out of limits, or explains.

use super::config::characteristic_named;
use super::error::{LabError, nearest};
use super::listing::{Listing, Row};
use super::names::fold_name;
use super::{Event, EventEffect, Lab};
use crate::characteristic::Characteristic;
use crate::issue::{Issue, shown};
use std::sync::Arc;

const FILE: &str = "events.csv";
const NEEDED: [&str; 2] = ["date", "what"];
const OPTIONAL: [&str; 6] = [
    "cabinet",
    "kind",
    "effect",
    "characteristic",
    "reason",
    "until",
];
const EFFECTS: [&str; 3] = ["new-stage", "exclude", "note"];

/// Reads the events of the lab folder into `lab`, in time order.
///
/// # Errors
/// [`LabError::Unreadable`] when the file is there but cannot be read.
pub(crate) fn read(lab: &mut Lab) -> Result<(), LabError> {
    let mut issues = Vec::new();
    let listing = Listing::read(&lab.root, FILE, &NEEDED, &OPTIONAL, &mut issues)?;
    take(listing, lab, issues);
    Ok(())
}

fn take(listing: Option<Listing>, lab: &mut Lab, issues: Vec<Issue>) {
    let mut events = Listing::take(listing, lab, issues, event);
    events.sort_by_key(|e: &Event| e.at);
    lab.events = events;
}

fn event(row: &Row<'_>, lab: &Lab) -> Result<Event, Box<Issue>> {
    let moment = row.moment("date", &lab.zone)?;
    let effect = match fold_name(row.cell("effect")).as_str() {
        "" | "note" => EventEffect::Note,
        "new-stage" => EventEffect::NewStage,
        "exclude" => exclusion(row, lab, moment)?,
        _ => {
            return Err(row.rejected(
                "effect",
                format!("Expected one of {}.", EFFECTS.join(", ")),
                nearest(row.cell("effect"), EFFECTS).map(|n| format!("Did you mean \"{n}\"?")),
            ));
        }
    };
    let what = row.cell("what");
    if what.is_empty() && row.cell("kind").is_empty() {
        return Err(row.rejected("what", "The event does not say what happened.".into(), None));
    }
    Ok(Event {
        at: moment.start,
        cabinet: cabinet(row, lab)?,
        characteristic: characteristic(row, lab)?,
        kind: row.cell("kind").to_owned(),
        what: Arc::from(if what.is_empty() {
            row.cell("kind")
        } else {
            what
        }),
        effect,
    })
}

/// The stretch left out: to `until` (a date covers its whole day), else that day.
fn exclusion(
    row: &Row<'_>,
    lab: &Lab,
    from: super::moment::Moment,
) -> Result<EventEffect, Box<Issue>> {
    let until = match row.cell("until") {
        "" if from.end > from.start => from.end,
        // With a time of day and no end, the rest of that day.
        "" => {
            let next = lab.zone.date(from.start).succ_opt().unwrap_or_default();
            lab.zone
                .instant(next.and_time(chrono::NaiveTime::MIN))
                .instant()
        }
        _ => row.moment("until", &lab.zone)?.end,
    };
    if until <= from.start {
        return Err(row.rejected("until", "The stretch ends before it begins.".into(), None));
    }
    let reason = [row.cell("reason"), row.cell("what")]
        .into_iter()
        .find(|r| !r.is_empty());
    match reason {
        Some(reason) => Ok(EventEffect::Exclude {
            until,
            reason: Arc::from(reason),
        }),
        None => Err(row.rejected(
            "reason",
            "Readings are left out only with a reason.".into(),
            Some("Write why under \"reason\".".into()),
        )),
    }
}

/// The cabinet a row is about; `None` for all of them.
fn cabinet(row: &Row<'_>, lab: &Lab) -> Result<Option<Arc<str>>, Box<Issue>> {
    match row.cell("cabinet") {
        "" | "*" => Ok(None),
        all if fold_name(all) == "all" => Ok(None),
        written => match lab.cabinet_id(written) {
            Some(id) => Ok(Some(id)),
            None => match fold_name(written) {
                folded if folded.is_empty() => Err(row.rejected(
                    "cabinet",
                    "Expected a cabinet's name, or nothing for all cabinets.".into(),
                    None,
                )),
                folded => Ok(Some(folded.into())),
            },
        },
    }
}

fn characteristic(row: &Row<'_>, lab: &Lab) -> Result<Option<Characteristic>, Box<Issue>> {
    match row.cell("characteristic") {
        "" | "*" => Ok(None),
        all if fold_name(all) == "all" => Ok(None),
        written => characteristic_named(lab, written)
            .map(Some)
            .map_err(|near| {
                row.rejected(
                    "characteristic",
                    format!("\"{}\" is no characteristic of this lab.", shown(written)),
                    near.map(|n| format!("Did you mean \"{n}\"?")),
                )
            }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::issue::Effect;
    use crate::time::Zone;

    fn lab_with(text: &[u8]) -> Lab {
        let mut lab = Lab::bare("lab");
        let mut issues = Vec::new();
        let listing = Listing::parse(text, FILE, &NEEDED, &OPTIONAL, &mut issues);
        take(listing, &mut lab, issues);
        lab
    }

    #[test]
    fn rows_read_with_semicolons_and_in_time_order() {
        let lab = lab_with(
            "\u{feff}Date;Cabinet;Kind;What;Effect;Characteristic;Reason;Until\n\
             2026-03-20;Plover;maintenance;new nozzle;new-stage;;;\n\
             2026-03-10;;;probe out;exclude;ph;electrode broken;2026-03-12\n"
                .as_bytes(),
        );
        assert_eq!(lab.issues, vec![]);
        assert_eq!(lab.events.len(), 2);
        let EventEffect::Exclude { until, reason } = &lab.events[0].effect else {
            panic!("not an exclusion: {:?}", lab.events[0]);
        };
        // A date given as the end covers its whole day.
        assert_eq!(Zone::AS_WRITTEN.rfc3339(*until), "2026-03-13T00:00:00Z");
        assert_eq!(&**reason, "electrode broken");
        assert_eq!(lab.events[0].cabinet, None);
        assert_eq!(lab.events[1].cabinet.as_deref(), Some("plover"));
        assert_eq!(lab.events[1].effect, EventEffect::NewStage);
    }

    #[test]
    fn an_exclusion_without_end_covers_that_day() {
        let lab = lab_with(b"date,what,effect\n2026-03-10,lid left open,exclude\n");
        let EventEffect::Exclude { until, .. } = lab.events[0].effect else {
            panic!("not an exclusion");
        };
        assert_eq!(until.0 - lab.events[0].at.0, 86_400);
    }

    #[test]
    fn bad_rows_are_told_with_line_and_column_and_good_ones_kept() {
        let lab = lab_with(
            b"date,cabinet,kind,what,effect,characteristic,until\n\
              03/04/2026,plover,,nozzle,note,,\n\
              2026-03-05,plover,,nozzle,new-stge,,\n\
              2026-03-06,plover,,salt lot,note,spezific-gravity,\n\
              2026-03-07,plover,,\"a \n b\",exclude,,2026-03-01\n\
              2026-03-08,plover,,salt lot,note,ph,\n",
        );
        assert_eq!(lab.events.len(), 1);
        let told: Vec<(Option<u64>, &str)> = lab
            .issues
            .iter()
            .map(|i| (i.place.line, i.place.column.as_deref().unwrap_or("")))
            .collect();
        assert_eq!(
            told,
            [
                (Some(2), "date"),
                (Some(3), "effect"),
                (Some(4), "characteristic"),
                (Some(5), "until")
            ]
        );
        assert!(lab.issues[0].problem.contains("2026-04-03 or 2026-03-04"));
        assert_eq!(
            lab.issues[1].hint.as_deref(),
            Some("Did you mean \"new-stage\"?")
        );
        assert!(lab.issues.iter().all(|i| i.effect == Effect::RowRejected));
    }

    #[test]
    fn missing_headings_are_told_with_the_line_to_write() {
        let lab = lab_with(b"when,what\n2026-03-08,salt lot\n");
        let last = lab.issues.last().unwrap();
        assert_eq!(last.effect, Effect::FileUnreadable);
        assert!(last.hint.as_deref().unwrap().contains("date,what,cabinet"));
    }
}
