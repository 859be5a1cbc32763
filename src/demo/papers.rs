//! The demo lab's own papers: `lab.toml`, events, exposures and the frozen baseline, as
//! a person would write them.

use std::collections::BTreeMap;

/// The papers by path relative to the lab folder.
pub(super) fn files() -> BTreeMap<String, Vec<u8>> {
    [
        ("lab.toml", include_bytes!("papers/lab.toml").as_slice()),
        ("events.csv", include_bytes!("papers/events.csv")),
        ("exposures.csv", include_bytes!("papers/exposures.csv")),
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
