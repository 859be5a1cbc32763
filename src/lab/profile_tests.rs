//! The shipped profiles, held against what they must carry.

use super::*;

#[test]
fn shipped_profiles_read_and_every_value_has_a_source() {
    for id in shipped() {
        let profile = shipped_profile(id).unwrap().unwrap();
        assert!(profile.windows.len() >= 9, "{id}");
        assert!(profile.cautions.len() >= 3, "{id}");
        assert!(profile.gravity.is_some() && !profile.gravity_source.is_empty());
        for (characteristic, window) in &profile.windows {
            assert!(
                window.source.contains("read") || window.source.contains("from memory"),
                "{id} {characteristic}: {}",
                window.source
            );
        }
    }
}

#[test]
fn acid_profiles_warn_of_acid_and_copper() {
    let says = |id: &str, word: &str| {
        let profile = shipped_profile(id).unwrap().unwrap();
        profile.cautions.iter().any(|c| c.contains(word))
    };
    assert!(says("iso-9227-aass", "acetic acid"));
    assert!(says("iso-9227-cass", "acetic acid") && says("iso-9227-cass", "copper(II)"));
    assert!(!says("iso-9227-nss", "acetic acid"));
}

#[test]
fn iso_grams_per_litre_are_windows_in_percent_by_mass() {
    let profile = shipped_profile("iso-9227-nss").unwrap().unwrap();
    let window = &profile.windows[&Characteristic::SaltConcentration];
    // 45 and 55 g/L at 25 °C are 1.02805 and 1.03475 g/cm³, so 4.377 and 5.315 %.
    assert!((window.lower.unwrap() - 4.377).abs() < 0.002, "{window:?}");
    assert!((window.upper.unwrap() - 5.315).abs() < 0.002, "{window:?}");
}

#[test]
fn coupon_windows_say_for_which_exposure_they_hold() {
    // ISO 9227 (2006/2012), read in a secondary page. B117 has no acceptance window.
    let held = [
        ("iso-9227-nss", Some((50.0, 90.0, 48.0))),
        ("iso-9227-aass", Some((30.0, 50.0, 24.0))),
        ("iso-9227-cass", Some((40.0, 70.0, 24.0))),
        ("astm-b117-nss", None),
    ];
    for (id, expected) in held {
        let profile = shipped_profile(id).unwrap().unwrap();
        let window = profile.windows.get(&Characteristic::CouponMassLoss);
        let ours = window.map(|w| {
            let hours = profile.coupon_hours.unwrap();
            (w.lower.unwrap(), w.upper.unwrap(), hours)
        });
        assert_eq!(ours, expected, "{id}");
        assert_eq!(profile.coupon_hours.is_some(), expected.is_some(), "{id}");
    }
}
