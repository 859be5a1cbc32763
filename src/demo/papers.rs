//! The demo lab's own papers: `lab.toml`, events, exposures and the frozen baseline, as
//! a person would write them.

use std::collections::BTreeMap;

/// The papers by path relative to the lab folder.
pub(super) fn files() -> BTreeMap<String, Vec<u8>> {
    [
        ("lab.toml", include_bytes!("papers/lab.toml").as_slice()),
        ("events.csv", include_bytes!("papers/events.csv")),
        ("exposures.csv", include_bytes!("papers/exposures.csv")),
        ("baselines/knot.toml", include_bytes!("papers/knot.toml")),
    ]
    .into_iter()
    .map(|(name, bytes)| (name.to_owned(), bytes.to_vec()))
    .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::demo::calendar::{Day, date};
    use crate::demo::plants as planted;
    use crate::lab::EventEffect;

    #[test]
    fn the_papers_read_without_complaint_and_exclude_the_days_they_mean() {
        let parent = tempfile::tempdir().unwrap();
        let root = parent.path().join("lab");
        crate::demo::DemoLab::Home.write(&root).unwrap();
        let lab = crate::lab::Lab::open(&root).unwrap();
        assert_eq!(lab.issues, []);
        assert_eq!(lab.cabinets.len(), 5);
        let excluded: Vec<(&str, f64)> = lab
            .events
            .iter()
            .filter_map(|event| match &event.effect {
                EventEffect::Exclude { until, .. } => {
                    Some((event.cabinet.as_deref()?, until.days_since(event.at)))
                }
                _ => None,
            })
            .collect();
        assert_eq!(excluded, [("plover", 1.0), ("dunlin", 2.0)]);
        // A job of 1,000 h in the drifting cabinet that outlasts the month under review.
        let job = lab.exposures.iter().find(|job| &*job.cabinet == "plover");
        let (start, end) = (job.unwrap().start, job.unwrap().end.unwrap());
        assert!((1_000.0..1_040.0).contains(&(end.days_since(start) * 24.0)));
        assert!(lab.zone.date(end) > date(planted::LAST_DAY));
    }

    /// The papers name the days that the scenario uses.
    #[test]
    fn events_stand_on_the_days_they_are_about() {
        let events = String::from_utf8(files()["events.csv"].clone()).unwrap();
        let told = |day: Day, cabinet: &str, effect: &str| {
            let start = format!("{},{cabinet},", date(day));
            events
                .lines()
                .any(|line| line.starts_with(&start) && line.contains(&format!(",{effect},")))
        };
        assert!(told(planted::NEW_NOZZLE_ON, "Plover", "new-stage"));
        assert!(told(planted::DRYER_FAILED_ON, "Plover", "exclude"));
        assert!(told(planted::OUTAGE.0, "Dunlin", "exclude"));
        assert!(told(planted::SALT_LOT_ON, "Avocet", "new-stage"));
        // Nothing explains what the review is to find.
        for line in events.lines().skip(1) {
            let day = line.split(',').next().unwrap();
            let june = day >= "2026-05-15";
            let found = ["Plover", "Dunlin", "Curlew"]
                .iter()
                .any(|c| line.contains(&format!(",{c},")));
            assert!(!(june && found), "{line}");
        }
    }
}
