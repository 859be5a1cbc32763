//! Which method is chosen, and what bad or scarce rounds do.

use super::explain_tests::{named, stated};
use super::*;
use std::collections::BTreeMap;

/// Deterministic scatter of about unit spread.
fn scatter(i: usize) -> f64 {
    let turn = (i as f64 * 0.618_033_988_749_895).fract();
    3.0 * (turn - 0.5)
}

fn exact(mean: f64) -> Level {
    Level {
        mean,
        u_chance: 0.0,
        u_instrument: 0.0,
    }
}

/// `cabinets` in `rounds`; mass loss 70 + 30 · catch + scatter.
fn observations(cabinets: usize, rounds: usize) -> Vec<Observation> {
    let mut all = Vec::new();
    for round in 0..rounds {
        for cabinet in 0..cabinets {
            let catch = 1.5 + 0.1 * scatter(7 * cabinet + 3);
            let ph = 6.8 + 0.05 * scatter(5 * cabinet + round + 11);
            let loss = 25.0 + 30.0 * catch + scatter(13 * cabinet + 29 * round) + round as f64;
            all.push(Observation {
                round: format!("r{round}"),
                participant: format!("c{cabinet}"),
                hours: 48.0,
                mass_loss: loss,
                u: Some(1.0),
                values: BTreeMap::from([
                    ("collection-rate".into(), exact(catch)),
                    ("ph".into(), exact(ph)),
                ]),
            });
        }
    }
    all
}

fn names() -> Vec<Named> {
    vec![
        named("collection-rate", "collection rate", "mL/h"),
        named("ph", "pH", ""),
    ]
}

fn edit(mut all: Vec<Observation>, change: impl Fn(usize, &mut Observation)) -> Vec<Observation> {
    all.iter_mut()
        .enumerate()
        .for_each(|(i, one)| change(i, one));
    all
}

#[test]
fn enough_rounds_are_used_and_too_few_are_not() {
    // Seven cabinets, three rounds: 21 − 3 − 2 = 16 degrees of freedom.
    let rich = sensitivities(&observations(7, 3), &[], &names(), 48.0);
    assert_eq!(rich.method, Method::Rounds, "{}", rich.method_says);
    let catch = &rich.known["collection-rate"];
    assert!(
        (catch.value - 30.0).abs() < 3.0 * catch.u,
        "{} {}",
        catch.value,
        catch.u
    );
    assert!(catch.u < 8.0 && !catch.stated, "{}", catch.u);
    assert!(
        rich.method_says
            .contains("21 observations (7 cabinets in 3 rounds, 16 degrees")
    );
    // One round of seven: 7 − 1 − 2 = 4.
    let one = sensitivities(&observations(7, 1), &[], &names(), 48.0);
    assert_eq!(one.method, Method::None);
    assert!(
        one.method_says
            .contains("7 observations of 7 cabinets in one round are too few")
    );
    assert!(
        one.method_says.contains("2 rounds with 7 cabinets"),
        "{}",
        one.method_says
    );
    // Many rounds of two cabinets tell of two cabinets only.
    let two = sensitivities(&observations(2, 20), &[], &names(), 48.0);
    assert_eq!(two.method, Method::None);
    assert!(
        two.method_says.contains("with 5 cabinets"),
        "{}",
        two.method_says
    );
    // Four cabinets carry the stated characteristic alone.
    let half = sensitivities(
        &observations(4, 4),
        &[stated("collection-rate", 30.0, 80.0)],
        &names(),
        48.0,
    );
    assert_eq!(half.method, Method::Rounds, "{}", half.method_says);
    assert!(
        half.method_says
            .contains("Only characteristics with a stated")
    );
    assert!(half.unknown.contains_key("ph") && !half.unknown.contains_key("collection-rate"));
}

#[test]
fn a_constant_or_a_unit_changes_nothing() {
    let stated = [stated("collection-rate", 25.0, 8.0)];
    let plain = sensitivities(&observations(7, 3), &stated, &names(), 48.0);
    let shifted = edit(observations(7, 3), |_, one| {
        if let Some(level) = one.values.get_mut("ph") {
            level.mean += 40.0;
        }
        if let Some(level) = one.values.get_mut("collection-rate") {
            level.mean -= 1.0;
        }
        one.mass_loss += 500.0;
    });
    let shifted = sensitivities(&shifted, &stated, &names(), 48.0);
    for (id, one) in &plain.known {
        let two = &shifted.known[id];
        assert!(
            (one.value - two.value).abs() < 1e-6,
            "{id}: {} {}",
            one.value,
            two.value
        );
        assert!((one.ends.low - two.ends.low).abs() < 1e-5, "{id}");
    }
    let scaled = edit(observations(7, 3), |_, one| {
        for level in one.values.values_mut() {
            level.mean *= 1000.0;
        }
    });
    let small = [StatedSensitivity {
        per_unit: 0.025,
        uncertainty: 0.008,
        ..stated[0].clone()
    }];
    let scaled = sensitivities(&scaled, &small, &names(), 48.0);
    for (id, one) in &plain.known {
        let two = scaled.known[id].value * 1000.0;
        assert!((one.value - two).abs() < 1e-6, "{id}: {} {two}", one.value);
    }
}

#[test]
fn uncertain_means_widen_and_undo_their_flattening() {
    let plain = sensitivities(&observations(7, 3), &[], &names()[..1], 48.0);
    let blurred = edit(observations(7, 3), |_, one| {
        if let Some(level) = one.values.get_mut("collection-rate") {
            (level.u_chance, level.u_instrument) = (0.03, 0.02);
        }
    });
    let blurred = sensitivities(&blurred, &[], &names()[..1], 48.0);
    let (one, two) = (
        &plain.known["collection-rate"],
        &blurred.known["collection-rate"],
    );
    assert!(
        two.value > one.value && two.u > one.u,
        "{} {}",
        one.value,
        two.value
    );
    assert!(
        two.reliability.is_some_and(|share| share < 0.95),
        "{:?}",
        two.reliability
    );
    // All of the variance may be uncertainty: then nothing is learned.
    let hopeless = edit(observations(7, 3), |_, one| {
        if let Some(level) = one.values.get_mut("collection-rate") {
            level.u_instrument = 5.0;
        }
    });
    let none = sensitivities(&hopeless, &[], &names()[..1], 48.0);
    assert_eq!(none.method, Method::None, "{}", none.method_says);
    let kept = [stated("collection-rate", 30.0, 8.0)];
    let kept = sensitivities(&hopeless, &kept, &names()[..1], 48.0);
    assert_eq!(
        (kept.method, kept.known["collection-rate"].value),
        (Method::Stated, 30.0)
    );
}

#[test]
fn a_statement_that_the_rounds_cannot_test_still_holds() {
    let same = edit(observations(7, 3), |_, one| {
        if let Some(level) = one.values.get_mut("ph") {
            level.mean = 6.8;
        }
    });
    let stated = [stated("ph", -12.0, 4.0)];
    let found = sensitivities(&same, &stated, &names(), 48.0);
    assert_eq!(found.method, Method::Rounds, "{}", found.method_says);
    let ph = &found.known["ph"];
    assert_eq!((ph.value, ph.u, ph.told_by_rounds), (-12.0, 4.0, None));
    assert!(found.known["collection-rate"].told_by_rounds.is_some());
    assert!(
        found
            .method_says
            .contains("cannot test the stated sensitivity of pH")
    );
    assert!(found.unknown.is_empty());
}

#[test]
fn rounds_that_contradict_the_statement_say_so() {
    let wrong = [stated("collection-rate", -30.0, 8.0)];
    let found = sensitivities(&observations(7, 3), &wrong, &names(), 48.0);
    assert_eq!(found.method, Method::Rounds);
    assert!(
        found.method_says.contains("do not bear out"),
        "{}",
        found.method_says
    );
    let right = [stated("collection-rate", 30.0, 8.0)];
    let found = sensitivities(&observations(7, 3), &right, &names(), 48.0);
    assert!(
        !found.method_says.contains("do not bear out"),
        "{}",
        found.method_says
    );
}

#[test]
fn characteristics_that_move_together_leave_each_uncertain() {
    let copied = edit(observations(7, 3), |_, one| {
        if let Some(level) = one.values.get("collection-rate").copied() {
            one.values
                .insert("ph".into(), exact(3.0 * level.mean + 2.0));
        }
    });
    let found = sensitivities(&copied, &[], &names(), 48.0);
    // Half and half: the prior keeps both in bounds, and neither is told by the rounds
    // well enough, or with a wide interval.
    for one in found.known.values() {
        assert!(
            one.u.is_finite() && one.u > 0.0 && one.ends.cover_zero(),
            "{one:?}"
        );
    }
    let text = format!("{} {:?}", found.method_says, found.unknown);
    assert!(!text.contains("NaN"), "{text}");
}

#[test]
fn missing_identical_and_lonely_observations_are_words() {
    let texts = [
        // One cabinet a round.
        sensitivities(&observations(1, 9), &[], &names(), 48.0),
        // The same mass loss everywhere.
        sensitivities(
            &edit(observations(7, 3), |_, o| o.mass_loss = 70.0),
            &[],
            &names(),
            48.0,
        ),
        // The same level everywhere.
        sensitivities(
            &edit(observations(7, 3), |_, o| {
                o.values.values_mut().for_each(|l| l.mean = 1.0)
            }),
            &[],
            &names(),
            48.0,
        ),
        // No scatter at all about the line.
        sensitivities(
            &edit(observations(7, 3), |_, o| {
                o.mass_loss = 30.0 * o.values["collection-rate"].mean;
            }),
            &[],
            &names()[..1],
            48.0,
        ),
        // Numbers that are none, and no characteristic.
        sensitivities(
            &edit(observations(7, 3), |_, o| o.mass_loss = f64::NAN),
            &[],
            &names(),
            48.0,
        ),
        sensitivities(&observations(7, 3), &[], &[], 48.0),
        sensitivities(&observations(7, 3), &[], &names(), f64::NAN),
    ];
    for found in texts {
        assert_eq!(found.method, Method::None, "{}", found.method_says);
        assert!(!found.method_says.contains("NaN"), "{}", found.method_says);
        assert!(found.known.is_empty());
    }
}

#[test]
fn a_characteristic_missing_in_some_rounds_is_left_out_or_costs_observations() {
    let drop = |every: usize| {
        edit(observations(7, 3), |i, one| {
            if i % every == 0 {
                one.values.remove("ph");
            }
        })
    };
    // One in seven is missing: those observations are not used.
    let some = sensitivities(&drop(7), &[], &names(), 48.0);
    assert_eq!((some.method, some.observations), (Method::Rounds, 18));
    // One in two: pH does not enter, all observations count.
    let many = sensitivities(&drop(2), &[], &names(), 48.0);
    assert_eq!(many.observations, 21);
    assert!(
        many.unknown["ph"].contains("too few cabinets"),
        "{:?}",
        many.unknown
    );
}

#[test]
fn unusable_statements_and_doubles_are_told() {
    let bad = StatedSensitivity {
        hours: 0.0,
        ..stated("ph", 1.0, 1.0)
    };
    let twice = [
        bad,
        stated("collection-rate", 30.0, 8.0),
        stated("collection-rate", 1.0, 1.0),
    ];
    let found = sensitivities(&[], &twice, &names(), 48.0);
    assert_eq!(found.known.len(), 1);
    assert_eq!(found.known["collection-rate"].value, 30.0);
    for part in ["stated sensitivity of ph is not usable", "more than once"] {
        assert!(found.method_says.contains(part), "{}", found.method_says);
    }
    let mut double = observations(7, 3);
    double.push(double[0].clone());
    let found = sensitivities(&double, &[], &names(), 48.0);
    assert!(
        found
            .method_says
            .contains("One observation of a cabinet that the round already has")
    );
}
