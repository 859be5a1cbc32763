//! The commands as a script sees them: output, exit status, files, same bytes each time.

use crate::support::{NOW, Workplace, plain_log};

fn drifting_out() -> Vec<u8> {
    let mut log = plain_log("Plover", 45);
    log.extend_from_slice(b"2026-03-05;Plover;38.4;47.8;98.0;6.85\n");
    log.extend_from_slice(b"2026-03-06;Plover;38.6;47.8;98.0;6.85\n");
    log
}

const PROFILE: &[u8] = b"[lab]\nname = \"Test Bench\"\nprofile = \"iso-9227-nss\"\n";

#[test]
fn the_same_input_and_clock_give_the_same_bytes() {
    let place = Workplace::with(&[
        ("logs/a.csv", &plain_log("Plover", 60)),
        ("logs/b.csv", &plain_log("Dunlin", 60)),
        ("lab.toml", PROFILE),
    ]);
    place.review(&[]).expect(0);
    place
        .run(&["review", "lab", "--out", "again", "--now", NOW])
        .expect(0);
    let files = place.files("out");
    assert_eq!(files, place.files("again"));
    assert!(files.iter().any(|f| f.starts_with("charts/")), "{files:?}");
    for file in files {
        let first = std::fs::read(place.path(&format!("out/{file}"))).unwrap();
        let second = std::fs::read(place.path(&format!("again/{file}"))).unwrap();
        assert!(first == second, "{file} differs");
    }
}

#[test]
fn a_breach_matches_fail_on_and_files_are_written_all_the_same() {
    let place = Workplace::with(&[("logs/a.csv", &drifting_out()), ("lab.toml", PROFILE)]);
    place.review(&["--fail-on", "breach"]).expect(1);
    assert!(place.files("out").contains(&"review.json".to_owned()));
    let review = place.json("out/review.json");
    assert_eq!(review["summary"]["breaches"], 2);
    assert_eq!(review["findings"][0]["urgency"], "breach");
}

#[test]
fn standard_output_as_json_is_the_file() {
    let place = Workplace::with(&[("logs/a.csv", &plain_log("Plover", 40))]);
    let ran = place.review(&["--format", "json"]).expect(0);
    assert_eq!(
        ran.stdout.trim_end(),
        place.read("out/review.json").trim_end()
    );
}

#[test]
fn readings_of_signals_are_listed_alike_whatever_else_is_written() {
    let place = Workplace::with(&[("logs/a.csv", &drifting_out()), ("lab.toml", PROFILE)]);
    let points = ["--points", "signals", "--quiet", "--replace"];
    let alone = [&points[..], &["--only", "json"]].concat();
    place.review(&alone).expect(0);
    let first = place.read("out/review.json");
    let review = place.json("out/review.json");
    let series = &review["series"][0];
    assert!(!series["signals"].as_array().unwrap().is_empty());
    let listed = series["points"].as_array().unwrap();
    assert!(listed.len() < 45, "{listed:?}");
    for signal in series["signals"].as_array().unwrap() {
        assert!(listed.iter().any(|p| p["at"] == signal["known_at"]));
    }
    let with_page = [&points[..], &["--only", "json,html"]].concat();
    place.review(&with_page).expect(0);
    assert_eq!(place.read("out/review.json"), first);
}

#[test]
fn only_and_points_pick_what_is_written() {
    let place = Workplace::with(&[("logs/a.csv", &plain_log("Plover", 40))]);
    place
        .review(&["--only", "json", "--points", "none", "--quiet"])
        .expect(0);
    assert_eq!(place.files("out"), ["review.json"]);
    let review = place.json("out/review.json");
    assert_eq!(review["series"][0]["points"].as_array().unwrap().len(), 0);
    assert_eq!(review["series"][0]["n"], 40);
}

#[test]
fn quiet_prints_nothing() {
    let place = Workplace::with(&[("logs/a.csv", &plain_log("Plover", 40))]);
    let ran = place.review(&["--quiet"]).expect(0);
    assert_eq!((ran.stdout.as_str(), ran.stderr.as_str()), ("", ""));
}

#[test]
fn the_summary_fits_eighty_columns_and_has_no_colour_in_a_pipe() {
    let place = Workplace::with(&[("logs/a.csv", &drifting_out()), ("lab.toml", PROFILE)]);
    let ran = place.review(&[]).expect(0);
    for line in ran.stdout.lines() {
        assert!(line.chars().count() <= 80, "{line:?}");
    }
    assert!(!ran.stdout.contains('\u{1b}'));
    let coloured = place.review(&["--replace", "--color", "always"]).expect(0);
    assert!(coloured.stdout.contains('\u{1b}'));
}

#[test]
fn an_unknown_rule_set_names_the_known_ones() {
    let place = Workplace::with(&[("logs/a.csv", &plain_log("Plover", 40))]);
    place
        .review(&["--rules", "mine"])
        .expect(2)
        .complains("nelson-1984");
}

#[test]
fn completions_and_manual_come_from_the_commands() {
    let place = Workplace::new();
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let ran = place.run(&["completions", shell]).expect(0);
        assert!(ran.stdout.contains("baseline"), "{shell}");
    }
    let manual = place.run(&["manpage"]).expect(0).stdout;
    for command in ["review", "intake", "baseline", "demo", "trial"] {
        assert!(manual.contains(command), "{command}");
    }
}

#[test]
fn a_trial_prints_its_table_and_json_and_refuses_what_it_cannot_do() {
    let place = Workplace::new();
    let small = ["trial", "--cabinets", "5", "--seed", "3"];
    let text = place.run(&small).expect(0).stdout;
    assert!(
        text.contains("5 cabinets a row, seed 3") && text.contains("oracle"),
        "{text}"
    );
    assert_eq!(text, place.run(&small).expect(0).stdout);
    let json = place
        .run(&["trial", "--cabinets", "5", "--format", "json"])
        .expect(0)
        .stdout;
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(json["schema"], "steadyfog.trial/1");
    assert!(json["ramps"][0]["caught"].is_number());
    place.run(&["trial", "--phi", "1.0"]).expect(2);
    place.run(&["trial", "--cabinets", "0"]).expect(2);
}

#[test]
fn intake_tells_columns_rejected_cells_and_missing_days() {
    let mut log = plain_log("Plover", 30);
    log.extend_from_slice(b"2026-03-02;Plover;thirty-five;47.8;98.0;6.85\n");
    let place = Workplace::with(&[("logs/a.csv", &log)]);
    let ran = place.run(&["intake", "lab", "--now", NOW]).expect(0);
    for told in [
        "logs/a.csv",
        "cabinet-temperature",
        "thirty-five",
        "32",
        "Cabinet temp",
    ] {
        assert!(ran.stdout.contains(told), "{told}:\n{}", ran.stdout);
    }
    let json = place
        .run(&["intake", "lab", "--now", NOW, "--format", "json"])
        .expect(0);
    let parsed: serde_json::Value = serde_json::from_str(&json.stdout).unwrap();
    assert!(
        parsed["files"]
            .as_array()
            .is_some_and(|files| files.len() == 1)
    );
}

#[test]
fn a_drafted_lab_toml_is_read_back_and_never_overwritten() {
    let place = Workplace::with(&[("logs/a.csv", &plain_log("Plover", 30))]);
    place
        .run(&["intake", "lab", "--write-lab-toml", "--now", NOW])
        .expect(0);
    let drafted = place.read("lab/lab.toml");
    assert!(drafted.contains("plover"), "{drafted}");
    place.review(&["--quiet"]).expect(0);
    place
        .run(&["intake", "lab", "--write-lab-toml", "--now", NOW])
        .expect(2)
        .complains("lab.toml");
    assert_eq!(place.read("lab/lab.toml"), drafted);
}

#[test]
fn the_demo_is_written_once_and_never_over_something() {
    let place = Workplace::new();
    place.run(&["demo", "lab"]).expect(0);
    let files = place.files("lab");
    assert!(files.contains(&"lab.toml".to_owned()), "{files:?}");
    place.run(&["demo", "lab"]).expect(2).complains("lab");
    assert_eq!(place.files("lab"), files);
}

#[test]
fn the_order_of_the_files_changes_nothing() {
    let log = String::from_utf8(plain_log("Plover", 120)).unwrap();
    let (heading, rows) = log.split_once('\n').unwrap();
    let rows: Vec<&str> = rows.lines().collect();
    // Every third row into another file, so that they interleave in time.
    let part = |which: usize| -> Vec<u8> {
        let mine = rows.iter().enumerate().filter(|(i, _)| i % 3 == which);
        let text = mine.map(|(_, row)| format!("{row}\n")).collect::<String>();
        format!("{heading}\n{text}").into_bytes()
    };
    let reviewed = |names: [&str; 3]| {
        let files: Vec<(String, Vec<u8>)> = (names.iter().enumerate())
            .map(|(which, name)| (format!("logs/{name}.csv"), part(which)))
            .collect();
        let files: Vec<(&str, &[u8])> = (files.iter())
            .map(|(path, bytes)| (path.as_str(), bytes.as_slice()))
            .collect();
        let place = Workplace::with(&files);
        place.review(&["--only", "json", "--quiet"]).expect(0);
        let review = place.json("out/review.json");
        (review["series"].clone(), review["findings"].clone())
    };
    let first = reviewed(["a", "b", "c"]);
    assert!(first.0.as_array().unwrap().len() >= 4);
    for names in [["c", "a", "b"], ["b", "c", "a"], ["c", "b", "a"]] {
        assert_eq!(reviewed(names), first, "{names:?}");
    }
}
