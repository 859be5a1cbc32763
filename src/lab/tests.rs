//! What a person reads when `lab.toml` is broken, and what a whole one becomes.

use super::*;
use std::fs;

pub(super) fn open(lab_toml: &str) -> Result<Lab, LabError> {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("lab.toml"), lab_toml).unwrap();
    Lab::open(folder.path())
}

pub(super) fn error(lab_toml: &str) -> String {
    open(lab_toml).unwrap_err().to_string()
}

#[test]
fn an_empty_folder_is_a_lab_with_defaults() {
    let folder = tempfile::tempdir().unwrap();
    let lab = Lab::open(folder.path()).unwrap();
    assert_eq!(lab.settings, Settings::default());
    assert!(lab.default_profile.is_none() && lab.issues.is_empty());
    let missing = Lab::open(&folder.path().join("nowhere")).unwrap_err();
    assert!(missing.to_string().contains("no such folder"), "{missing}");
}

#[test]
fn unknown_keys_name_the_nearest_known_one() {
    assert_eq!(
        error("[[cabinet]]\nid = \"plover\"\n  funel_diameter_mm = 100\n"),
        "lab.toml:3:3: unknown key \"funel_diameter_mm\"; did you mean \"funnel_diameter_mm\"?"
    );
    assert_eq!(
        error("[lab]\nnmae = \"x\"\n"),
        "lab.toml:2:1: unknown key \"nmae\"; did you mean \"name\"?"
    );
    assert_eq!(
        error("[conformance]\ncolection-rate = { lower = 1 }\n"),
        "lab.toml:2:1: unknown key \"colection-rate\"; did you mean \"collection-rate\"?"
    );
    let far = error("quux = 1\n");
    assert!(
        far.contains("expected one of: lab, cabinet, conformance"),
        "{far}"
    );
    let column = error("[[log]]\nfiles = \"*\"\n[log.columns]\n\"T\" = { si = \"ph\" }\n");
    assert!(
        column.starts_with("lab.toml:4:9: unknown key \"si\""),
        "{column}"
    );
}

#[test]
fn wrong_types_say_what_was_expected() {
    assert_eq!(
        error("[lab]\nrobust = \"yes\"\n"),
        "lab.toml:2:10: \"robust\" must be true or false, without quotation marks, not a text"
    );
    assert_eq!(
        error("[cabinet]\nid = \"plover\"\n"),
        "lab.toml:1:1: \"cabinet\" must be a list of tables, each under [[cabinet]], not a table"
    );
    assert_eq!(
        error("[lab]\ngap_days = \"7\"\n"),
        "lab.toml:2:12: \"gap_days\" must be a number, not a text"
    );
}

#[test]
fn the_rate_of_false_alarms_is_a_number_and_holds_for_the_default_set() {
    let rate = |text: &str| open(text).unwrap().settings.alarms_per_year;
    assert_eq!(rate("[lab]\n"), None);
    assert_eq!(rate("[lab]\nalarms_per_year = 12\n"), Some(12.0));
    assert_eq!(
        rate("[lab]\nrules = \"steadyfog\"\nalarms_per_year = 0.5\n"),
        Some(0.5)
    );
    assert_eq!(
        error("[lab]\nalarms_per_year = 0\n"),
        "lab.toml:2:19: \"alarms_per_year\" is 0; expected a number above 0"
    );
    assert_eq!(
        error("[lab]\nalarms_per_year = \"12\"\n"),
        "lab.toml:2:19: \"alarms_per_year\" must be a number, not a text"
    );
    // Whatever the order in which they are written.
    assert_eq!(
        error("[lab]\nalarms_per_year = 4\nrules = \"nelson-1984\"\n"),
        "lab.toml:2:19: \"alarms_per_year\" is 4; expected no such key where rules = \
         \"nelson-1984\": only the set \"steadyfog\" can be set to a rate"
    );
}

#[test]
fn values_without_sense_are_errors() {
    assert_eq!(
        error("[lab]\ngap_days = 0\n"),
        "lab.toml:2:12: \"gap_days\" is 0; expected a number above 0"
    );
    assert_eq!(
        error("[lab]\nworking_days = [\"mon\", \"tues\"]\n"),
        "lab.toml:2:24: \"working_days\" is \"tues\"; expected one of: mon, tue, wed, thu, fri, sat, sun; did you mean \"tue\"?"
    );
    let zone = error("[lab]\nzone = \"Lisbon\"\n");
    assert!(
        zone.contains("expected an IANA zone, as \"Europe/Lisbon\""),
        "{zone}"
    );
    let gravity = error("[lab]\ngravity = { temperature = \"25\", relative_to = \"density\" }\n");
    assert!(
        gravity.contains("expected a temperature with its unit"),
        "{gravity}"
    );
    let twice = error("[lab]\nfunnel_diameter_mm = 100\nfunnel_area_cm2 = 80\n");
    assert!(twice.contains("given once"), "{twice}");
    let swapped = error("[conformance]\nph = { lower = 7.2, upper = 6.5 }\n");
    assert!(
        swapped.contains("an upper limit above the lower one"),
        "{swapped}"
    );
    let nan = error("[conformance]\nph = { lower = nan }\n");
    assert!(nan.contains("a finite number"), "{nan}");
    let glob = error("[[log]]\nfiles = \"logs/***\"\n");
    assert!(glob.starts_with("lab.toml:2:9: \"files\""), "{glob}");
}

#[test]
fn unknown_profiles_list_the_known() {
    assert_eq!(
        error("[lab]\nprofile = \"iso-9227-nns\"\n"),
        "lab.toml:2:11: unknown profile \"iso-9227-nns\"; did you mean \"iso-9227-nss\"?"
    );
    let far = error("[lab]\nprofile = \"../secret\"\n");
    assert!(
        far.ends_with("expected one of: astm-b117-nss, iso-9227-nss, iso-9227-aass, iso-9227-cass"),
        "{far}"
    );
}

#[test]
fn syntax_errors_have_line_and_column() {
    let open_text = error("[lab]\nname = \"Saltmarsh\n");
    assert!(open_text.starts_with("lab.toml:2:"), "{open_text}");
    assert!(open_text.contains("expected"), "{open_text}");
    let twice = error("[lab]\nname = \"a\"\nname = \"b\"\n");
    assert!(twice.starts_with("lab.toml:3:1: duplicate key"), "{twice}");
}

#[test]
fn cabinets_may_not_share_a_name() {
    let shared = error(
        "[[cabinet]]\nid = \"plover\"\naliases = [\"Cab 1\"]\n[[cabinet]]\nid = \"knot\"\naliases = [\"CAB_1\"]\n",
    );
    assert_eq!(
        shared,
        "lab.toml:6:12: cabinet alias \"CAB_1\" is already cabinet \"plover\" at lab.toml:2:6"
    );
    assert!(error("[[cabinet]]\nid = \"a\"\n[[cabinet]]\nid = \"A \"\n").contains("is already"));
    assert!(error("[[cabinet]]\nname = \"a\"\n").contains("needs the key \"id\""));
}

#[test]
fn text_that_is_not_utf8_is_told() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(
        folder.path().join("lab.toml"),
        b"[lab]\nname = \"S\xfcd\"\n",
    )
    .unwrap();
    let told = Lab::open(folder.path()).unwrap_err().to_string();
    assert!(told.starts_with("lab.toml:2:10: is not UTF-8"), "{told}");
}

#[test]
fn the_template_is_a_lab_once_its_comments_are_lifted() {
    let template = include_str!("../../data/templates/lab.toml");
    assert!(open(template).is_ok());
    let lifted: String = template
        .lines()
        .map(|l| match l.strip_prefix("#: ") {
            Some(setting) => format!("{setting}\n"),
            None => format!("{l}\n"),
        })
        .collect();
    let lab = open(&lifted).unwrap();
    assert_eq!(lab.name, "Saltmarsh Bench");
    assert_eq!(lab.zone.name(), Some("Europe/Lisbon"));
    assert_eq!(lab.cabinet_id("CAB 1").as_deref(), Some("plover"));
    let plover = lab.cabinet("plover").unwrap();
    assert!((plover.funnel_area_cm2.unwrap() - 78.54).abs() < 0.01);
    let ph = lab.window("plover", &Characteristic::Ph).unwrap();
    assert_eq!(
        (ph.lower, ph.upper, ph.overridden),
        (Some(6.6), Some(7.1), true)
    );
    assert!(ph.source.starts_with("lab.toml, over: "), "{}", ph.source);
    let elsewhere = lab.window("unnamed", &Characteristic::Ph).unwrap();
    assert_eq!((elsewhere.lower, elsewhere.overridden), (Some(6.5), false));
    let own = Characteristic::Own("reservoir-level".into());
    assert_eq!(lab.window("plover", &own).unwrap().lower, Some(20.0));
    assert_eq!(lab.unit_of(&own), "L");
    let rule = &lab.logs[0];
    assert_eq!(rule.cabinet.as_deref(), Some("plover"));
    assert_eq!(rule.columns.len(), 2);
    assert_eq!(rule.columns[1].is, "ignore");
    assert!(rule.covers("logs/hall-b-03.xlsx", Some("2026-03")));
    assert!(!rule.covers("logs/hall-c.xlsx", Some("2026-03")));
    assert_eq!(lab.instruments.len(), 3);
    assert!(lab.instruments[0].travels && lab.instruments[1].characteristics.len() == 2);
    assert_eq!(lab.sensitivities[0].per_unit, 20.0);
    assert_eq!(lab.compare.margins.get(&Characteristic::Ph), Some(&0.1));
    assert_eq!(lab.compare.assigned.len(), 1);
    assert_eq!(lab.profile_of("plover").unwrap().coupon_hours, Some(96.0));
}

#[test]
fn own_profiles_build_on_shipped_ones() {
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("profiles")).unwrap();
    let write = |name: &str, text: &str| fs::write(folder.path().join(name), text).unwrap();
    write(
        "lab.toml",
        "[lab]\nprofile = \"marine\"\n[conformance]\ntower-temperature = { tolerance = 3 }\n",
    );
    write(
        "profiles/marine.toml",
        "title = \"Marine trim\"\nbased_on = \"iso-9227-nss\"\n[window.cabinet-temperature]\nupper = 36\nsource = \"customer letter\"\n",
    );
    let lab = Lab::open(folder.path()).unwrap();
    let window = lab
        .window("any", &Characteristic::CabinetTemperature)
        .unwrap();
    assert_eq!((window.lower, window.upper), (Some(33.0), Some(36.0)));
    assert_eq!(window.source, "customer letter");
    let profile = lab.profile_of("any").unwrap();
    assert_eq!(
        (&*profile.id, profile.tower.len(), profile.tower_tolerance),
        ("marine", 6, 3.0)
    );

    write("profiles/marine.toml", "based_on = \"marine\"\n");
    let circle = Lab::open(folder.path()).unwrap_err().to_string();
    assert!(circle.contains("profiles/marine.toml:1:12"), "{circle}");
}

#[test]
fn a_broken_baseline_is_not_taken_for_none() {
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("baselines")).unwrap();
    fs::write(folder.path().join("baselines/plover.toml"), "cabinet = ").unwrap();
    let told = Lab::open(folder.path()).unwrap_err().to_string();
    assert!(told.starts_with("baselines/plover.toml:1:"), "{told}");
}
