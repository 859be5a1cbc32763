//! What is stated, what is taken instead, and which instrument is which.

use super::defaults::{assumed, parse};
use super::*;
use crate::lab::Lab;
use crate::lab::tests::{error, open};
use Characteristic as C;

fn u(lab: &Lab, cabinet: &str, characteristic: C, level: f64) -> f64 {
    let instrument = lab.instrument(cabinet, &characteristic).unwrap();
    instrument.standard_uncertainty(level)
}

fn near(ours: f64, expected: f64) {
    assert!(
        (ours - expected).abs() <= 1e-3 * expected,
        "{ours} for {expected}"
    );
}

fn ph_meter(extra: &str) -> String {
    format!(
        "[[instrument]]\nid = \"PH-2\"\ncharacteristic = \"ph\"\nexpanded_uncertainty = 0.05\n{extra}"
    )
}

#[test]
fn every_default_reads_has_words_and_a_source_and_serves_every_built_in() {
    let all = parse(include_str!("../../../data/instruments.toml")).unwrap();
    assert_eq!(all.len(), 11);
    for (name, default) in &all {
        assert!(
            default.source.contains("common practice, no source"),
            "{name}"
        );
        assert!(
            default.says.len() > 20 && assumed(name) == Some(default),
            "{name}"
        );
    }
    let lab = Lab::bare("lab");
    for characteristic in C::BUILT_IN {
        let instrument = lab.instrument("plover", &characteristic).unwrap();
        assert_eq!(
            (instrument.origin, &instrument.id),
            (Origin::Default, &None)
        );
        let u = instrument.standard_uncertainty(5.0);
        assert!(u > 0.0 && u.is_finite(), "{characteristic}: {u}");
        assert!(instrument.standard_uncertainty(f64::NAN).is_finite());
        assert!(
            instrument
                .says
                .starts_with("no instrument stated in lab.toml; taken as U = ")
        );
    }
    assert_eq!(lab.instrument("plover", &C::Own("level".into())), None);
}

#[test]
fn half_a_degree_fahrenheit_is_0_28_degrees_of_a_difference() {
    let lab = open(
        "[[instrument]]\nid = \"T-1\"\ncharacteristic = [\"cabinet-temperature\", \"tower-temperature\"]\n\
         expanded_uncertainty = 0.5\nunit = \"°F\"\ncertificate = \"C 118\"\ncalibrated = 2026-01-12\n",
    )
    .unwrap();
    for characteristic in [C::CabinetTemperature, C::TowerTemperature] {
        near(u(&lab, "any", characteristic, 35.0), 0.27778 / 2.0);
    }
    let instrument = lab.instrument("any", &C::TowerTemperature).unwrap();
    assert_eq!(
        instrument.says,
        "T-1: U = 0.5 °F (k = 2), certificate C 118, calibrated 2026-01-12, from lab.toml"
    );
    assert_eq!(
        (instrument.origin, instrument.id.as_deref()),
        (Origin::Stated, Some("T-1"))
    );
}

#[test]
fn a_cabinets_own_instrument_goes_before_the_labs() {
    let lab = open(&format!(
        "[[cabinet]]\nid = \"plover\"\naliases = [\"Cab 1\"]\n{}{}",
        ph_meter(""),
        "[[instrument]]\nid = \"PH-3\"\ncharacteristic = \"ph\"\nexpanded_uncertainty = 0.02\ncabinets = [\"CAB_1\", \"heron\"]\n"
    ))
    .unwrap();
    near(u(&lab, "plover", C::Ph, 6.8), 0.01);
    near(u(&lab, "heron", C::Ph, 6.8), 0.01);
    near(u(&lab, "knot", C::Ph, 6.8), 0.025);
    let told = lab.unmatched(&["plover".into(), "knot".into()]);
    assert_eq!(told.len(), 1);
    assert!(told[0].problem.contains("\"heron\""));
}

#[test]
fn what_a_cylinder_is_good_for_follows_from_hours_and_funnel() {
    let cylinder = "[[instrument]]\nid = \"Z-1\"\ncharacteristic = \"collection-rate\"\nexpanded_uncertainty = 0.8\nunit = \"mL\"\n";
    let lab = open(&format!(
        "[[cabinet]]\nid = \"plover\"\ncollection_hours = 24\nfunnel_area_cm2 = 80\n{cylinder}"
    ))
    .unwrap();
    // 0.4 mL over 24 h; a quarter of an hour in 24 and 2 % of area, both halved.
    let expected = |rate: f64| {
        let parts = [0.4 / 24.0, rate * 0.25 / 48.0, rate * 0.01];
        parts.iter().map(|p| p * p).sum::<f64>().sqrt()
    };
    for level in [1.0, 1.5, 2.0] {
        near(u(&lab, "plover", C::CollectionRate, level), expected(level));
        near(u(&lab, "plover", C::CollectionFar, level), expected(level));
    }
    // Nothing known of the cabinet: the shortest period and the reference funnel are taken, and said.
    let knot = lab.instrument("knot", &C::CollectionRate).unwrap();
    near(knot.parts[0].size.at(1.5), 0.4 / 16.0);
    assert!(
        knot.says
            .contains("over 16 h (taken) in a funnel of 80.0 cm² (taken)"),
        "{}",
        knot.says
    );
    // 100 · √2 · √((0.0167 / 1.5)² + 0.01²).
    near(u(&lab, "plover", C::CollectionSpread, 4.0), 2.114);
    let relative = cylinder.replace("0.8", "4").replace("mL", "%");
    near(
        u(&open(&relative).unwrap(), "any", C::CollectionRate, 1.5),
        0.03,
    );
}

#[test]
fn salt_is_as_good_as_the_hydrometer_and_its_temperature() {
    let lab = open(
        "[lab]\ngravity = { temperature = \"25 °C\", relative_to = \"density\" }\n\
         [[instrument]]\nid = \"H-1\"\ncharacteristic = \"specific-gravity\"\nexpanded_uncertainty = 0.0005\n",
    )
    .unwrap();
    // At 5 % and 25 °C a unit of fraction is 716 kg/m³ (see the brine model). A degree is
    // 0.33 kg/m³: 1034.05 at 20 °C and 1032.49 at 25 °C are 0.31 a degree between them,
    // and brine expands faster the warmer it is. √(0.5² + 0.33² + 0.1²) / 716 / 2.
    let expected = (0.25_f64 + 0.33 * 0.33 + 0.01).sqrt() / 716.0 / 2.0 * 100.0;
    let ours = u(&lab, "any", C::SaltConcentration, 5.0);
    assert!(
        (ours / expected - 1.0).abs() < 0.01,
        "{ours} for {expected}"
    );
    let salt = lab.instrument("any", &C::SaltConcentration).unwrap();
    assert_eq!(salt.origin, Origin::Stated);
    assert!(
        salt.says
            .starts_with("H-1: U = 0.0005 (k = 2), from lab.toml; salt told from it at 25 °C")
    );
    let kg = open(
        "[[instrument]]\nid = \"H-1\"\ncharacteristic = \"specific-gravity\"\nexpanded_uncertainty = 0.5\nunit = \"kg/m³\"\n",
    );
    near(u(&kg.unwrap(), "any", C::SaltConcentration, 5.0), ours);
    // A level outside the model is answered at its edge.
    assert!(salt.standard_uncertainty(99.0).is_finite());
}

#[test]
fn coupon_loss_follows_from_balance_and_area() {
    // √2 · 0.5 mg over 105 cm² is 0.067 g/m²; half a percent of 70 is 0.35.
    near(u(&Lab::bare("lab"), "any", C::CouponMassLoss, 70.0), 0.3564);
}

#[test]
fn equal_ids_of_two_labs_are_two_instruments_unless_they_travel() {
    let ph = |lab: &Lab, cabinet: &str| lab.instrument(cabinet, &C::Ph).unwrap();
    let (here, there) = (open(&ph_meter("")).unwrap(), open(&ph_meter("")).unwrap());
    let within = ph(&here, "a").uncertainty_of_difference(6.8, &ph(&here, "b"), 6.9);
    assert_eq!(within, 0.0);
    let between = ph(&here, "a").uncertainty_of_difference(6.8, &ph(&there, "a"), 6.9);
    near(between, 0.025 * 2.0_f64.sqrt());
    let carried = "travels = true\n";
    let (mine, yours) = (
        open(&ph_meter(carried)).unwrap(),
        open(&ph_meter(carried)).unwrap(),
    );
    assert_eq!(
        ph(&mine, "a").uncertainty_of_difference(6.8, &ph(&yours, "b"), 6.9),
        0.0
    );
    // Only one of them says so.
    assert!(ph(&mine, "a").uncertainty_of_difference(6.8, &ph(&there, "a"), 6.9) > 0.03);
    // Nobody says which meter it was: each cabinet's own is taken.
    let bare = Lab::bare("lab");
    near(
        ph(&bare, "a").uncertainty_of_difference(6.8, &ph(&bare, "b"), 6.8),
        0.05 * 2.0_f64.sqrt(),
    );
}

#[test]
fn one_cylinder_for_both_leaves_their_funnels_and_periods() {
    let text = "[lab]\ncollection_hours = 24\nfunnel_area_cm2 = 80\n\
                [[instrument]]\nid = \"Z-1\"\ncharacteristic = \"collection-rate\"\nexpanded_uncertainty = 1\nunit = \"mL\"\n";
    let lab = open(text).unwrap();
    let at = |cabinet| lab.instrument(cabinet, &C::CollectionRate).unwrap();
    let of_difference = at("a").uncertainty_of_difference(1.5, &at("b"), 1.5);
    let own = (1.5_f64 * 0.25 / 48.0).hypot(1.5 * 0.01);
    near(of_difference, own * 2.0_f64.sqrt());
    // A gauge good for 4 % of the reading, the same at both: only the levels' distance counts.
    let gauge = "[[instrument]]\nid = \"G\"\ncharacteristic = \"air-pressure\"\nexpanded_uncertainty = 4\nunit = \"%\"\n";
    let lab = open(gauge).unwrap();
    let at = |cabinet| lab.instrument(cabinet, &C::AirPressure).unwrap();
    near(
        at("a").uncertainty_of_difference(100.0, &at("b"), 90.0),
        0.2,
    );
}

#[test]
fn slips_are_told_with_their_place() {
    assert_eq!(
        error(&ph_meter("certifcate = \"x\"\n")),
        "lab.toml:5:1: unknown key \"certifcate\"; did you mean \"certificate\"?"
    );
    let of = |characteristic: &str, rest: &str| {
        error(&format!(
            "[[instrument]]\nid = \"X\"\ncharacteristic = {characteristic}\nexpanded_uncertainty = 1\n{rest}"
        ))
    };
    assert!(
        of("\"ph-value\"", "").starts_with("lab.toml:3:18: \"characteristic\" is \"ph-value\"")
    );
    assert_eq!(
        of("\"air-pressure\"", ""),
        "lab.toml:1:1: instrument needs the key \"unit\": kPa, bar, psi, MPa, or % of the reading"
    );
    assert_eq!(
        of("\"air-pressure\"", "unit = \"°C\"\n"),
        "lab.toml:5:8: \"unit\" is \"°C\"; expected kPa, bar, psi, MPa, or % of the reading"
    );
    assert!(of("\"ph\"", "unit = \"%\"\n").contains("no unit: leave the key out"));
    assert!(of("[]", "").contains("a list that is not empty"));
    assert!(of("\"ph\"", "cabinets = []\n").contains("at least one cabinet"));
    assert!(of("\"ph\"", "calibrated = \"12.1.2026\"\n").contains("as 2026-03-14"));
    assert!(of("\"ph\"", "travels = 1\n").contains("true or false"));
    assert!(
        error("[[instrument]]\nid = \"X\"\ncharacteristic = \"ph\"\n")
            .contains("expanded uncertainty with k = 2")
    );
    assert!(
        error("[[instrument]]\nid = \"X\"\ncharacteristic = \"ph\"\nexpanded_uncertainty = 0\n")
            .contains("a number above 0")
    );
    assert_eq!(
        error(&format!(
            "{}{}",
            ph_meter(""),
            ph_meter("").replace("PH-2", "ph 2")
        )),
        "lab.toml:6:6: instrument \"ph 2\" is already \"PH-2\" at lab.toml:2:6"
    );
    let both = error(&format!(
        "{}{}",
        ph_meter(""),
        ph_meter("").replace("PH-2", "PH-3")
    ));
    assert_eq!(
        both,
        "lab.toml:6:6: what is read in the same cabinets by instrument \"PH-3\" is already \"PH-2\" at lab.toml:2:6"
    );
}
