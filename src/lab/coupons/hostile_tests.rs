//! Seeded property test: whatever stands in `coupons.csv`, every row is used or told.

use super::*;
use crate::lab::hostile_tests::runner;
use proptest::prelude::*;

const HEADINGS: &str = "round;lab;cabinet;coupon;place;start;hours;mass_before_g;mass_after_g;area_cm2;length_mm;width_mm;thickness_mm;sides;blank_loss_g\n";

#[test]
fn any_rows_are_coupons_or_issues() {
    // Near-misses reach deeper than noise: cells that are mostly right, in random mixture.
    let cell = prop_oneof![
        6 => prop::sample::select(vec![
            "R1", "r1", "plover", "blank", "P1", "2026-03-02", "48", "82,5", "81.765", "105", "",
            "one", "0", "-1", "1e308", "nan", "82,500", "<1", "48 h", "5*",
        ]).prop_map(str::to_owned),
        1 => "[0-9a-zµ.,;\"<>\u{1b}\u{202e} -]{0,8}",
    ];
    let row = prop::collection::vec(cell, 10..17).prop_map(|cells| cells.join(";"));
    let strategy = (
        prop::collection::vec(row, 0..8),
        prop::collection::vec(any::<u8>(), 0..20),
    );
    let good = "R1;;plover;G;;2026-03-02;48;82.5;81.765;105;;;;;";
    runner(250)
        .run(&strategy, |(rows, noise)| {
            let mut bytes = format!("{HEADINGS}{good}\n{}\n", rows.join("\n")).into_bytes();
            bytes.extend(noise);
            let mut lab = Lab::bare("lab");
            let mut issues = Vec::new();
            let listing = Listing::parse_also(&bytes, FILE, &NEEDED, &OPTIONAL, &ALSO, &mut issues);
            take(listing.as_ref(), &mut lab, issues);
            for row in listing.iter().flat_map(Listing::rows) {
                let used = lab.coupons.iter().any(|c| c.line == row.line());
                let told = lab.issues.iter().any(|i| i.place.line == Some(row.line()));
                let blank = row.cell("place") == "blank" || row.cell("cabinet") == "blank";
                prop_assert!(used || told || blank, "line {} is lost", row.line());
            }
            for coupon in &lab.coupons {
                prop_assert!(coupon.mass_loss.is_finite() && coupon.mass_loss >= 0.0);
                prop_assert!(coupon.hours > 0.0 && coupon.area_cm2 > 0.0);
            }
            for issue in &lab.issues {
                let shown = format!("{}{:?}{:?}", issue.problem, issue.hint, issue.found);
                prop_assert!(!shown.chars().any(char::is_control), "unsafe: {shown:?}");
            }
            Ok(())
        })
        .unwrap();
}
