//! `coupons.csv` as people really write it, and what is told of it.

use super::*;
use crate::issue::Effect;
use crate::lab::CabinetConfig;

fn lab_with(bytes: &[u8]) -> Lab {
    let mut lab = Lab::bare("saltmarsh");
    lab.name = "Saltmarsh Bench".into();
    lab.cabinets.push(CabinetConfig {
        id: "plover".into(),
        name: "Plover".into(),
        aliases: vec!["Cab 1".into()],
        profile: None,
        funnel_area_cm2: None,
        collection_hours: None,
        gravity: None,
    });
    let mut issues = Vec::new();
    let listing = Listing::parse_also(bytes, FILE, &NEEDED, &OPTIONAL, &ALSO, &mut issues);
    take(listing.as_ref(), &mut lab, issues);
    lab
}

fn losses(lab: &Lab) -> Vec<(&str, &str, f64)> {
    let rounded = |loss: f64| (loss * 1000.0).round() / 1000.0;
    lab.coupons
        .iter()
        .map(|c| (&*c.cabinet, c.coupon.as_str(), rounded(c.mass_loss)))
        .collect()
}

fn told(lab: &Lab) -> Vec<(Option<u64>, &str, Effect)> {
    lab.issues
        .iter()
        .map(|i| {
            let column = i.place.column.as_deref().unwrap_or("");
            (i.place.line, column, i.effect)
        })
        .collect()
}

const HEADINGS: &str =
    "round,lab,cabinet,coupon,place,start,hours,mass_before_g,mass_after_g,area_cm2,blank_loss_g\n";

fn rows(text: &str) -> Lab {
    lab_with(format!("{HEADINGS}{text}").as_bytes())
}

#[test]
fn a_german_file_with_decimal_commas_two_blanks_and_another_lab() {
    let lab = lab_with(
        "\u{feff}# Ringversuch, Bleche gebeizt am 5.3.2026\n\
         Runde;Labor;Kammer;Probe;Ort;Beginn;Stunden;Masse vorher (g);Masse nachher (g);Länge mm;Breite mm;Dicke mm;Seiten\n\
         R1;;CAB 1;P2;hinten;02.03.2026;48;82,500;81,775;150;70;1,0;one\n\
         R1;;plover;P1;vorn;02.03.2026;48 h;82,412;81,666;150;70;1,0;one\n\
         r1;saltmarsh bench;;B1;Blind;;;82,300;82,289;150;70;1,0;one\n\
         R1;;;B2;blank;;;82,310;82,299;150;70;1,0;one\n\
         R1;Fen Works;Plover;F1;;2.3.2026 10:00;48,5;82,600;81,900;150;70;1,0;one\n\
         R1;fen works;;;blank;;;82,300;82,295;150;70;1,0;one\n"
            .as_bytes(),
    );
    assert_eq!(lab.issues, vec![]);
    // 0.725 g and 0.746 g off 105 cm², less 11 mg; 0.700 g less 5 mg.
    assert_eq!(
        losses(&lab),
        [
            ("plover", "P1", 70.0),
            ("plover", "P2", 68.0),
            ("plover", "F1", 66.19)
        ]
    );
    let fen = &lab.coupons[2];
    assert_eq!(
        (fen.lab.as_deref(), fen.hours, fen.line),
        (Some("Fen Works"), 48.5, 7)
    );
    assert!((fen.blank.unwrap() - 0.47619).abs() < 1e-5);
    assert_eq!(
        (fen.start.0 - lab.coupons[0].start.0, fen.place.as_deref()),
        (36_000, None)
    );
    assert_eq!(lab.coupons[0].place.as_deref(), Some("vorn"));
    assert_eq!(
        lab.coupon_blanks[0].says(),
        "Cleaning correction of round R1: 1.05 g/m² (mean of 2 blanks) off 2 coupons."
    );
    assert_eq!(
        lab.coupon_blanks[1].says(),
        "Cleaning correction of round R1 of lab \"Fen Works\": 0.48 g/m² (one blank) off 1 coupon."
    );
}

#[test]
fn blanks_are_averaged_by_area_and_a_row_of_its_own_wins() {
    let lab = rows(
        "R1,,plover,P1,,2026-03-02,48,82.500,81.765,105,\n\
         R1,,plover,P2,,2026-03-02,48,82.500,81.765,105,0.0105\n\
         R1,,blank,B1,,,,82.300,82.279,210,\n\
         R1,,blank,B2,,,,82.300,82.279,105,\n",
    );
    assert_eq!(lab.issues, vec![]);
    // Blanks of 1 and 2 g/m²; 10.5 mg off 105 cm² is 1 g/m².
    assert_eq!(
        losses(&lab),
        [("plover", "P1", 68.5), ("plover", "P2", 69.0)]
    );
    let blank = &lab.coupon_blanks[0];
    assert_eq!((blank.by_round, blank.by_row, blank.uncorrected), (1, 1, 0));
}

#[test]
fn rows_without_what_they_need_are_told_one_by_one() {
    let lab = rows(
        "R1,,plover,P1,,2026-03-02,48,82.500,81.765,,0.01\n\
         R1,,plover,P2,,2026-03-02,48,82.500,81.765,0,0.01\n\
         R1,,plover,P3,,2026-03-02,48,81.765,82.500,105,0.01\n\
         R1,,plover,P4,,2026-03-02,,82.500,81.765,105,0.01\n\
         R1,,plover,P5,,2026-03-02,48,NaN,81.765,105,0.01\n\
         R1,,plover,P6,,2026-03-02,48,82.500,81.765,105000,0.01\n\
         R1,,plover,P7,,03/04/2026,48,82.500,81.765,105,0.01\n\
         R1,,,P8,,2026-03-02,48,82.500,81.765,105,0.01\n\
         ,,plover,P9,,2026-03-02,48,82.500,81.765,105,0.01\n\
         R1,,plover,,,2026-03-02,48,82.500,81.765,105,0.01\n\
         R1,,plover,P11,,2026-03-02,48,82.500,81.765,105,2.5\n\
         R1,,plover,P12,,2026-03-02,48,82.500,81.765,105,-0.01\n\
         R1,,plover,P13,,2026-03-02,48,82.500,81.765,105,0.01\n",
    );
    assert_eq!(losses(&lab).len(), 1);
    let at = |line, column| (Some(line), column, Effect::RowRejected);
    assert_eq!(
        told(&lab),
        [
            at(2, "area_cm2"),
            at(3, "area_cm2"),
            at(4, "mass_after_g"),
            at(5, "hours"),
            at(6, "mass_before_g"),
            at(7, "area_cm2"),
            at(8, "start"),
            at(9, "cabinet"),
            at(10, "round"),
            at(11, "coupon"),
            at(12, "mass_after_g"),
            at(13, "blank_loss_g"),
        ]
    );
    let says = |i: usize| lab.issues[i].problem.as_str();
    assert!(
        says(0).starts_with("The exposed area is missing"),
        "{}",
        says(0)
    );
    assert!(
        says(2).contains("weighs 0.7350 g more after cleaning"),
        "{}",
        says(2)
    );
    assert_eq!(
        says(3),
        "hours is missing, and no mass loss comes without it."
    );
    assert_eq!(says(4), "Not a finite number; expected a number.");
    assert!(
        says(10).contains("cleaning alone cannot take off more"),
        "{}",
        says(10)
    );
}

#[test]
fn areas_come_from_dimensions_and_must_agree_with_them() {
    let headings = "round;cabinet;coupon;start;hours;mass_before_g;mass_after_g;area_cm2;length_mm;width_mm;thickness_mm;sides;blank_loss_g\n";
    let text = "R1;plover;P1;2026-03-02;48;82.5;81.0;;150;70;1;;0\n\
                R1;plover;P2;2026-03-02;48;82.5;81.0;;150;70;;one;0\n\
                R1;plover;P3;2026-03-02;48;82.5;81.0;;150;70;;;0\n\
                R1;plover;P4;2026-03-02;48;82.5;81.0;105;150;70;1;;0\n\
                R1;plover;P5;2026-03-02;48;82.5;81.0;105;150;70;1;one;0\n\
                R1;plover;P6;2026-03-02;48;82.5;81.0;;150;;1;;0\n\
                R1;plover;P7;2026-03-02;48;82.5;81.0;;150;70;1;three;0\n";
    let lab = lab_with(format!("{headings}{text}").as_bytes());
    let areas: Vec<f64> = lab.coupons.iter().map(|c| c.area_cm2).collect();
    assert_eq!(areas, [214.4, 105.0, 105.0]);
    let lines: Vec<u64> = lab.issues.iter().filter_map(|i| i.place.line).collect();
    assert_eq!(lines, [4, 5, 7, 8]);
    let disagree = &lab.issues[1].problem;
    assert_eq!(
        disagree,
        "The area says 105 cm² and the dimensions 214.4 cm² (both sides and the edges)."
    );
}

#[test]
fn repeats_count_once_and_contradictions_not_at_all() {
    let lab = rows(
        "R1,,plover,P1,,2026-03-02,48,82.500,81.765,105,0\n\
         r1,,Cab 1,p1,,2.3.2026,48.0,82.5,81.765,105.0,0\n\
         R1,,plover,P2,,2026-03-02,48,82.500,81.765,105,0\n\
         R1,,plover,P2,,2026-03-02,48,82.500,81.756,105,0\n\
         R1,,knot,P2,,2026-03-02,48,82.500,81.765,105,0\n\
         R2,,plover,P2,,2026-05-02,48,82.500,81.765,105,0\n",
    );
    let kept: Vec<u64> = lab.coupons.iter().map(|c| c.line).collect();
    assert_eq!(kept, [6, 2, 7]);
    assert_eq!(
        told(&lab),
        [
            (Some(3), "coupon", Effect::Kept),
            (Some(4), "coupon", Effect::RowRejected),
            (Some(5), "coupon", Effect::RowRejected),
        ]
    );
    assert_eq!(
        lab.issues[0].problem,
        "The row repeats line 2; it counts once."
    );
    assert!(
        lab.issues[1]
            .problem
            .starts_with("Line 5 says something else")
    );
    assert!(
        lab.issues[2]
            .problem
            .starts_with("Line 4 says something else")
    );
}

#[test]
fn a_round_without_blank_is_told_once_and_kept() {
    let lab = rows(
        "R1,,plover,P1,,2026-03-02,48,82.500,81.765,105,\n\
         R1,,plover,P2,,2026-03-02,48,82.500,81.765,105,\n\
         R2,,blank,B1,,,,82.300,82.289,105,\n",
    );
    assert_eq!(
        losses(&lab),
        [("plover", "P1", 70.0), ("plover", "P2", 70.0)]
    );
    assert!(lab.coupons.iter().all(|c| c.blank.is_none()));
    let problems: Vec<&str> = lab.issues.iter().map(|i| i.problem.as_str()).collect();
    assert_eq!(
        problems,
        [
            "Round \"R1\" has no blank: the mass losses of 2 coupons are kept with what cleaning took off, uncorrected.",
            "Round \"R2\" has a blank and no coupon that it could correct.",
        ]
    );
    assert!(lab.issues.iter().all(|i| i.effect == Effect::Kept));
}

#[test]
fn three_decimals_behind_a_comma_are_masses_not_thousands() {
    let text = "round\tcabinet\tcoupon\tstart\thours\tmass_before_g\tmass_after_g\tarea_cm2\tblank_loss_g\n\
                R1\tplover\tP1\t2026-03-02\t48\t82,500\t81,765\t105\t0\n";
    assert_eq!(losses(&lab_with(text.as_bytes())), [("plover", "P1", 70.0)]);
    // Unquoted decimal commas between commas shift the cells: told, never read.
    let shifted = rows("R1,,plover,P1,,2026-03-02,48,82,500,81,765,105,\n");
    assert_eq!(shifted.coupons, vec![]);
    assert!(
        shifted.issues[0]
            .problem
            .contains("more cells than the heading")
    );
}

#[test]
fn headings_without_unit_are_hinted_at_and_missing_ones_told() {
    let lab = lab_with(
        b"round,cabinet,coupon,start,hours,mass_before,mass_after_g,area_cm2\n\
          R1,plover,P1,2026-03-02,48,82.500,81.765,105\n",
    );
    assert_eq!(lab.coupons, vec![]);
    assert_eq!(
        lab.issues[0].hint.as_deref(),
        Some("Did you mean \"mass_before_g\"?")
    );
    assert_eq!(lab.issues[1].problem, "The headings lack: mass_before_g.");
    let twice = lab_with(
        b"round,cabinet,coupon,start,hours,mass_before_g,mass_after_g,final mass g,area_cm2,blank_loss_g\n\
          R1,plover,P1,2026-03-02,48,82.500,81.765,80.000,105,0\n",
    );
    assert_eq!(losses(&twice), [("plover", "P1", 70.0)]);
    assert_eq!(twice.issues[0].effect, Effect::ColumnLeftOut);
}

#[test]
fn a_round_that_looks_like_a_remark_is_told() {
    let lab = rows(
        "# weighed by K. L., cleaned twice\n\
         #3,,plover,P1,,2026-03-02,48,82.500,81.765,105,0\n\
         \"#3\",,plover,P2,,2026-03-02,48,82.500,81.765,105,0\n",
    );
    assert_eq!(losses(&lab), [("plover", "P2", 70.0)]);
    assert_eq!(lab.coupons[0].round, "#3");
    assert_eq!(told(&lab), [(Some(3), "", Effect::RowRejected)]);
}

#[test]
fn hostile_text_arrives_harmless_and_windows_1252_reads() {
    let mut bytes = HEADINGS.as_bytes().to_vec();
    bytes.extend(b"R\x1b[31m,,K\xfchl,<script>,=1+1,2026-03-02,48,82.500,81.765,105,\n");
    bytes.extend(b"R2,,x,\"P\"\"1\",,2026-03-02,48,82.500,\"8\x1b1\",105,\n");
    let lab = lab_with(&bytes);
    assert_eq!(&*lab.coupons[0].cabinet, "kühl");
    for issue in &lab.issues {
        let all = format!("{}{:?}", issue.problem, issue.hint);
        assert!(!all.chars().any(char::is_control), "{all:?}");
        assert!(!issue.found.iter().any(|f| f.chars().any(char::is_control)));
    }
    assert!(lab.issues.len() >= 3, "{:?}", lab.issues);
    assert!(
        lab.coupon_blanks
            .iter()
            .all(|b| !b.says().contains('\u{1b}'))
    );
}

#[test]
fn marks_beside_a_number_are_kept_and_told_and_foreign_units_are_not_read() {
    let lab = rows(
        "R1,,plover,P1,,2026-03-02,48,82.500*,81.765 g,105 cm²,0\n\
         R1,,plover,P2,,2026-03-02,2 d,82.500,81.765,105,0\n\
         R1,,plover,P3,,2026-03-02,48,82500 mg,81.765,105,0\n",
    );
    assert_eq!(losses(&lab), [("plover", "P1", 70.0)]);
    assert_eq!(
        told(&lab),
        [
            (Some(2), "mass_before_g", Effect::Kept),
            (Some(3), "hours", Effect::RowRejected),
            (Some(4), "mass_before_g", Effect::RowRejected),
        ]
    );
}
