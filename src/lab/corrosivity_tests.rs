//! The published table held against itself, and rounds held against window and table.

use super::*;
use crate::lab::shipped_profile;
use crate::lab::tests::open;

fn round<'a>(hours: (f64, f64), losses: &'a [f64], mean: f64) -> RoundResult<'a> {
    RoundResult {
        hours_least: hours.0,
        hours_most: hours.1,
        losses,
        mean,
        s_r: None,
        s_reproducibility: None,
    }
}

#[test]
fn the_table_from_memory_is_consistent_to_its_printed_digits() {
    let table = parse(include_str!("../../data/corrosivity.toml")).unwrap();
    assert_eq!(table.rows.len(), 9);
    assert!(table.source.contains("from memory"));
    for row in &table.rows {
        // ISO 5725-6 and ASTM E691: limits are 2.8 standard deviations; four decimals printed.
        let holds = |limit: f64, s: f64| (limit - 2.8 * s).abs() <= 0.5e-4 + 1e-12;
        assert!(holds(row.r_limit, row.s_r), "{row:?}");
        assert!(
            holds(row.reproducibility_limit, row.s_reproducibility),
            "{row:?}"
        );
        // Between laboratories there is never less than within.
        assert!(row.s_reproducibility >= row.s_r, "{row:?}");
        assert!([48.0, 96.0, 168.0].contains(&row.hours) && row.laboratories >= 5);
    }
    // 76 × 127 mm.
    assert!((table.face_cm2 - 7.6 * 12.7).abs() < 1e-9);
    assert_eq!(published_precision(), table.rows.as_slice());
}

#[test]
fn the_window_judges_its_own_hours_only() {
    let iso = shipped_profile("iso-9227-nss").unwrap();
    let judge =
        |hours, losses: &[f64], mean| against_window(iso.as_deref(), &round(hours, losses, mean));
    let inside = judge((48.0, 48.0), &[50.0, 90.0], 70.0);
    assert_eq!(
        (inside.standing, inside.outside),
        (Standing::Inside, Some(0))
    );
    let below = judge((47.1, 48.9), &[40.0, 55.0, 45.0], 46.7);
    assert_eq!((below.standing, below.outside), (Standing::Below, Some(2)));
    assert_eq!(
        below.says,
        "The mean of 46.7 g/m² after 47.1 to 48.9 h lies below the window of 50 to 90 g/m² for 48 h; \
         2 of the 3 coupons lie outside (ISO 9227 (2006/2012), CR4 steel 48 h, 70 ± 20 g/m², read in a \
         secondary page)."
    );
    assert_eq!(judge((48.0, 48.0), &[95.0], 95.0).standing, Standing::Above);
    // 48.96 h is the last that passes, 47.04 the first.
    assert_eq!(
        judge((47.04, 48.96), &[70.0], 70.0).standing,
        Standing::Inside
    );
    for hours in [(48.0, 49.0), (47.0, 48.0), (96.0, 96.0)] {
        let not = judge(hours, &[70.0], 70.0);
        assert_eq!((not.standing, not.outside), (Standing::NotJudged, None));
        assert!(
            not.says.contains("holds for 48 h of exposure"),
            "{}",
            not.says
        );
    }
    assert_eq!(
        judge((48.0, 48.0), &[], f64::NAN).standing,
        Standing::NotJudged
    );
    assert_eq!(
        judge((f64::NAN, 48.0), &[70.0], 70.0).standing,
        Standing::NotJudged
    );
}

#[test]
fn without_window_or_hours_it_is_said() {
    let b117 = shipped_profile("astm-b117-nss").unwrap();
    let losses = [70.0];
    let round = round((48.0, 48.0), &losses, 70.0);
    let says = against_window(b117.as_deref(), &round).says;
    assert_eq!(
        says,
        "The profile \"ASTM B117 neutral salt spray\" has no window for coupon mass loss."
    );
    assert!(against_window(None, &round).says.starts_with("No profile"));
    let own = |extra: &str| {
        let text = format!("[conformance]\ncoupon-mass-loss = {{ lower = 60{extra} }}\n");
        let lab = open(&text).unwrap();
        against_window(lab.profile_of("any"), &round)
    };
    assert!(own("").says.contains("does not say for how many hours"));
    assert_eq!(own(", hours = 48").standing, Standing::Inside);
    assert!(own(", hours = 48").says.contains("at least 60 g/m²"));
}

#[test]
fn a_round_is_set_beside_the_published_precision_of_its_hours() {
    let losses = [70.0];
    let base = round((48.0, 48.0), &losses, 80.0);
    let held = against_precision(&RoundResult {
        s_r: Some(2.4),
        s_reproducibility: Some(12.0),
        ..base
    });
    assert_eq!(held.rows.len(), 3);
    let close = |ours: Option<f64>, is: f64| (ours.unwrap() - is).abs() < 1e-9;
    assert!(close(held.s_r_percent, 3.0) && close(held.s_reproducibility_percent, 15.0));
    assert_eq!(
        held.says,
        "For 48 h, repeatability s_r is 3.0 % of the mean, less than the published 5.2 to 8.0 %; \
         reproducibility s_R is 15.0 % of the mean, within the published 10.3 to 17.8 %. The published \
         panels lost 81 to 89 g/m² if one face was open (own conversion), these 80 g/m². Source: ASTM \
         B117 appendix X3, from memory; 3 kinds of panel, other steel and cleaning: a comparison of \
         size, no verdict."
    );
    let none = against_precision(&base);
    assert!(
        none.says.contains("repeatability s_r cannot be given"),
        "{}",
        none.says
    );
    let zero = against_precision(&RoundResult {
        s_r: Some(0.0),
        mean: 0.0,
        ..base
    });
    assert_eq!(zero.s_r_percent, None);
    let other = against_precision(&round((72.0, 72.0), &losses, 80.0));
    assert!(other.rows.is_empty() && other.says.contains("these coupons stood 72 h"));
}
