//! `steadyfog baseline`: shows before it writes, never overwrites unasked, and the frozen
//! limits are the ones the next review uses.

use crate::support::{NOW, Workplace, plain_log};

fn baseline(place: &Workplace, more: &[&str]) -> crate::support::Ran {
    let mut args = vec!["baseline", "lab", "--cabinet", "Plover", "--now", NOW];
    args.extend_from_slice(more);
    place.run(&args)
}

#[test]
fn without_approval_nothing_is_written() {
    let place = Workplace::with(&[("logs/a.csv", &plain_log("Plover", 60))]);
    let ran = baseline(&place, &[]).expect(0).complains("--approved-by");
    for told in ["cabinet temperature", "in force", "new", "n 30"] {
        assert!(ran.stdout.contains(told), "{told}:\n{}", ran.stdout);
    }
    assert_eq!(place.files("lab/baselines"), Vec::<String>::new());
}

#[test]
fn frozen_limits_are_in_force_in_the_next_review() {
    let place = Workplace::with(&[("logs/a.csv", &plain_log("Plover", 80))]);
    baseline(
        &place,
        &[
            "--from",
            "2026-01-01",
            "--to",
            "2026-02-27",
            "--approved-by",
            "R. M.",
        ],
    )
    .expect(0);
    let file = place.read("lab/baselines/plover.toml");
    assert!(file.contains("R. M.") && file.contains("sha256:"), "{file}");
    place.review(&["--quiet"]).expect(0);
    let review = place.json("out/review.json");
    let limits = &review["series"][0]["limits"];
    assert_eq!(limits["origin"], "frozen");
    assert_eq!(limits["n"], 42);
    assert_eq!(limits["approved_by"], "R. M.");
}

#[test]
fn limits_frozen_earlier_are_replaced_only_when_asked() {
    let place = Workplace::with(&[("logs/a.csv", &plain_log("Plover", 80))]);
    baseline(&place, &["--approved-by", "A"]).expect(0);
    let first = place.read("lab/baselines/plover.toml");
    baseline(&place, &["--approved-by", "B"])
        .expect(2)
        .complains("--replace");
    assert_eq!(place.read("lab/baselines/plover.toml"), first);
    baseline(
        &place,
        &["--approved-by", "B", "--replace", "--characteristic", "ph"],
    )
    .expect(0);
    let second = place.read("lab/baselines/plover.toml");
    assert!(second.contains("approved_by = \"A\"") && second.contains("approved_by = \"B\""));
}

#[test]
fn an_excluded_day_is_kept_on_record_with_its_reason() {
    let place = Workplace::with(&[("logs/a.csv", &plain_log("Plover", 60))]);
    baseline(
        &place,
        &[
            "--exclude",
            "2026-01-06=lid left open",
            "--approved-by",
            "A",
        ],
    )
    .expect(0);
    let file = place.read("lab/baselines/plover.toml");
    assert!(file.contains("lid left open"), "{file}");
}

#[test]
fn a_baseline_does_not_reach_across_a_new_stage() {
    let events =
        b"date,cabinet,kind,what,effect\n2026-02-02,Plover,maintenance,new nozzle,new-stage\n";
    let place = Workplace::with(&[
        ("logs/a.csv", &plain_log("Plover", 60)),
        ("events.csv", events),
    ]);
    baseline(&place, &["--from", "2026-01-05", "--to", "2026-02-20"])
        .expect(2)
        .complains("new nozzle");
}

#[test]
fn an_unknown_cabinet_or_characteristic_names_the_known_ones() {
    let place = Workplace::with(&[("logs/a.csv", &plain_log("Plover", 60))]);
    place
        .run(&["baseline", "lab", "--cabinet", "dunlin", "--now", NOW])
        .expect(2)
        .complains("plover");
    baseline(&place, &["--characteristic", "smell"])
        .expect(2)
        .complains("cabinet-temperature");
}

#[test]
fn a_tampered_baseline_file_is_an_error_not_ignored() {
    let place = Workplace::with(&[
        ("logs/a.csv", &plain_log("Plover", 60)),
        ("baselines/plover.toml", b"format = \"something else\"\n"),
    ]);
    place
        .review(&[])
        .expect(2)
        .complains("baselines/plover.toml");
}
