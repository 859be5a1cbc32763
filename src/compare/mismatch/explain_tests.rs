//! Pairs explained: words, properties, and input that cannot be answered.

use super::*;

pub(super) fn named(id: &str, spoken: &str, unit: &str) -> Named {
    Named {
        id: id.into(),
        spoken: spoken.into(),
        unit: unit.into(),
    }
}

fn catch() -> Named {
    named("collection-rate", "collection rate", "mL/h per 80 cm²")
}

fn ph() -> Named {
    named("ph", "pH", "")
}

pub(super) fn stated(id: &str, per_unit: f64, uncertainty: f64) -> StatedSensitivity {
    StatedSensitivity {
        characteristic: id.into(),
        per_unit,
        uncertainty,
        hours: 48.0,
        source: "own trial 2025".into(),
    }
}

fn coupons(difference: f64, u: Option<f64>) -> CouponDifference {
    CouponDifference {
        a: "harbour/mole".into(),
        a_name: "Mole".into(),
        b: "bench/plover".into(),
        b_name: "Plover".into(),
        rounds: vec!["2026-1".into(), "2026-2".into()],
        hours: 48.0,
        difference,
        u,
        df: Some(14.0),
    }
}

fn differ(characteristic: Named, difference: f64, u_chance: f64, u_instruments: f64) -> Difference {
    Difference {
        characteristic,
        difference,
        u_chance,
        u_instruments,
    }
}

fn demo_differences() -> Vec<Difference> {
    vec![
        differ(ph(), 0.08, 0.01, 0.05),
        differ(catch(), -0.25, 0.02, 0.02),
        differ(
            named("cabinet-temperature", "cabinet temperature", "°C"),
            0.4,
            0.05,
            0.1,
        ),
    ]
}

fn demo_known() -> Sensitivities {
    let names: Vec<Named> = demo_differences()
        .into_iter()
        .map(|d| d.characteristic)
        .collect();
    let stated = [
        stated("collection-rate", 28.0, 6.0),
        stated("ph", -12.0, 12.0),
    ];
    sensitivities(&[], &stated, &names, 48.0)
}

fn demo() -> PairExplanation {
    explain(
        &coupons(-9.0, Some(1.4)),
        &demo_differences(),
        &demo_known(),
    )
    .unwrap()
}

/// No sentence shows a number that is none.
fn assert_words(told: &PairExplanation) {
    let mut texts = vec![&told.says, &told.method_says];
    texts.extend(&told.check_next);
    texts.extend(told.parts.iter().map(|part| &part.says));
    for text in texts {
        assert!(!text.contains("NaN") && !text.contains("inf "), "{text}");
        assert!(!text.contains("  ") && !text.is_empty(), "{text}");
    }
    for part in &told.parts {
        assert!(part.low.is_finite() && part.high.is_finite(), "{part:?}");
        for amount in [part.mass_loss, part.share, part.mass_loss_if_real]
            .into_iter()
            .flatten()
        {
            assert!(amount.point.is_finite(), "{part:?}");
            assert!(
                amount.ends.low.is_finite() && amount.ends.high.is_finite(),
                "{part:?}"
            );
        }
    }
}

#[test]
fn the_demo_pair_in_words() {
    let told = demo();
    assert_words(&told);
    assert_eq!(
        told.says,
        "Coupons lost 9 g/m² less in Mole than in Plover (Mole less Plover: −9 g/m², 95 % interval −12 to −6). \
         Collection rate, 0.25 mL/h per 80 cm² lower in Mole, goes with about −7 of the −9 g/m² (−10 to −4). \
         The pH difference of 0.08 is within what the two instruments explain (0.1); nothing is laid to it. \
         Nothing can be laid to cabinet temperature, since no sensitivity is known. \
         −2 g/m² (−6 to 3) remain unexplained. This is association, not proof of cause."
    );
    let rows: Vec<&str> = told.parts.iter().map(|part| part.says.as_str()).collect();
    assert_eq!(
        rows,
        [
            "Collection rate is 0.25 mL/h per 80 cm² lower in Mole than in Plover: about −7 g/m² (−10 to −4) of \
             the −9 g/m² goes with it, a share of 0.78 (0.40 to 1.38).",
            "Cabinet temperature is 0.4 °C lower in Plover than in Mole; what goes with it is not known: no \
             sensitivity is stated and the rounds do not give one.",
            "The pH difference of 0.08 is within what the two instruments explain (0.1); nothing is laid to it. \
             Were it real, −1 g/m² (−4 to 1) would go with it.",
        ]
    );
    let firsts: Vec<&str> = told
        .check_next
        .iter()
        .filter_map(|line| line.get(..line.find(['.', ':', ';', '('])?))
        .collect();
    assert_eq!(
        firsts,
        [
            "Exchange funnels and cylinders between Mole and Plover for a week",
            "Nozzle of Mole",
            "Air pressure of Mole and Plover with one gauge",
            "Tower of Mole",
            "Put one thermometer into Mole and Plover in turn ",
            "Heater, jacket and lid seal of Plover",
            "Read the same sample at the same temperature on the pH meters of Mole and Plover",
        ]
    );
    assert_eq!(
        told.method_says,
        "The coupon rounds do not tell the sensitivities: no coupon round has two cabinets. The stated ones are \
         used, for 48 h of exposure, mass loss taken as proportional to hours: collection rate 28 ± 6 g/m² per \
         mL/h per 80 cm² (own trial 2025); pH −12 ± 12 g/m² per unit (own trial 2025)."
    );
}

#[test]
fn rows_are_ranked_and_the_meters_difference_is_last() {
    let told = demo();
    let order: Vec<&str> = told
        .parts
        .iter()
        .map(|part| part.characteristic.as_str())
        .collect();
    assert_eq!(order, ["collection-rate", "cabinet-temperature", "ph"]);
    assert_eq!(
        told.parts.iter().map(|part| part.rank).collect::<Vec<_>>(),
        [1, 2, 3]
    );
    let [first, unknown, meters] = &told.parts[..] else {
        panic!("three rows")
    };
    assert_eq!(first.mass_loss.map(|m| m.point), Some(-7.0));
    assert!((first.share.unwrap().point - 7.0 / 9.0).abs() < 1e-12);
    assert_eq!((unknown.sensitivity, unknown.mass_loss), (None, None));
    // Nothing is laid to the meters, so it is not in the sum either.
    assert!(meters.instruments_explain && meters.mass_loss.is_none() && meters.share.is_none());
    assert!((meters.mass_loss_if_real.unwrap().point + 0.96).abs() < 1e-12);
    assert_eq!(told.unexplained, Some(-2.0));
    let rest = told.unexplained_ends.unwrap();
    assert!(rest.low < -2.0 && rest.high > -2.0);
}

#[test]
fn exchanging_the_two_turns_the_signs() {
    let told = demo();
    let mut other = coupons(9.0, Some(1.4));
    std::mem::swap(&mut other.a, &mut other.b);
    std::mem::swap(&mut other.a_name, &mut other.b_name);
    let turned: Vec<Difference> = demo_differences()
        .into_iter()
        .map(|one| Difference {
            difference: -one.difference,
            ..one
        })
        .collect();
    let swapped = explain(&other, &turned, &demo_known()).unwrap();
    let close = |x: f64, y: f64| assert!((x - y).abs() < 1e-9, "{x} {y}");
    for (one, two) in told.parts.iter().zip(&swapped.parts) {
        assert_eq!(
            (&one.characteristic, one.rank),
            (&two.characteristic, two.rank)
        );
        if let (Some(x), Some(y)) = (one.mass_loss, two.mass_loss) {
            close(x.point, -y.point);
            close(x.ends.low, -y.ends.high);
            close(x.ends.high, -y.ends.low);
        }
        if let (Some(x), Some(y)) = (one.share, two.share) {
            close(x.point, y.point);
            close(x.ends.low, y.ends.low);
            close(x.ends.high, y.ends.high);
        }
    }
    close(told.unexplained.unwrap(), -swapped.unexplained.unwrap());
    close(
        told.unexplained_ends.unwrap().low,
        -swapped.unexplained_ends.unwrap().high,
    );
}

#[test]
fn the_unit_of_a_characteristic_changes_no_share() {
    let share = |factor: f64| {
        let known = sensitivities(
            &[],
            &[stated("collection-rate", 28.0 / factor, 6.0 / factor)],
            &[catch()],
            48.0,
        );
        let one = differ(catch(), -0.25 * factor, 0.02 * factor, 0.02 * factor);
        explain(&coupons(-9.0, Some(1.4)), &[one], &known)
            .unwrap()
            .parts[0]
            .share
            .unwrap()
    };
    let (one, thousand) = (share(1.0), share(1000.0));
    assert!((one.point - thousand.point).abs() < 1e-12);
    assert!((one.ends.low - thousand.ends.low).abs() < 1e-9);
    assert!((one.ends.high - thousand.ends.high).abs() < 1e-9);
}

#[test]
fn mass_loss_goes_with_hours() {
    let known = sensitivities(
        &[],
        &[stated("collection-rate", 28.0, 6.0)],
        &[catch()],
        48.0,
    );
    let long = CouponDifference {
        hours: 96.0,
        ..coupons(-18.0, Some(1.4))
    };
    let told = explain(&long, &[differ(catch(), -0.25, 0.02, 0.02)], &known).unwrap();
    assert_eq!(told.parts[0].sensitivity, Some(56.0));
    assert_eq!(told.parts[0].mass_loss.map(|m| m.point), Some(-14.0));
}

#[test]
fn no_share_of_a_difference_that_may_be_nothing() {
    for difference in [0.0, -1.0, 2.0] {
        let told = explain(
            &coupons(difference, Some(1.4)),
            &demo_differences(),
            &demo_known(),
        );
        let told = told.unwrap();
        assert!(told.parts.iter().all(|part| part.share.is_none()));
        assert!(
            told.says.contains("may be nothing, so no share"),
            "{}",
            told.says
        );
        assert!(told.check_next.is_empty());
        assert_words(&told);
    }
}

#[test]
fn one_coupon_each_gives_no_interval_and_says_so() {
    let told = explain(&coupons(-9.0, None), &demo_differences(), &demo_known()).unwrap();
    assert_eq!((told.ends, told.unexplained_ends), (None, None));
    assert_eq!(told.unexplained, Some(-2.0));
    assert!(told.parts.iter().all(|part| part.share.is_none()));
    assert!(
        told.parts[0].mass_loss.is_some(),
        "the stated sensitivity has its own interval"
    );
    assert!(
        told.says.contains("its uncertainty is not known"),
        "{}",
        told.says
    );
    assert!(
        told.check_next[0].contains("at least two coupons"),
        "{:?}",
        told.check_next
    );
    assert_words(&told);
}

#[test]
fn exact_numbers_and_nothing_at_all_are_answered_in_words() {
    let exact = sensitivities(
        &[],
        &[stated("collection-rate", 28.0, 0.0)],
        &[catch()],
        48.0,
    );
    let one = differ(catch(), -0.25, 0.0, 0.0);
    let told = explain(&coupons(-9.0, Some(0.0)), &[one], &exact).unwrap();
    let share = told.parts[0].share.unwrap();
    assert!((share.ends.low - share.point).abs() + (share.ends.high - share.point).abs() < 1e-12);
    assert_words(&told);
    // D = 0 exactly is no denominator, even with no uncertainty.
    let none = explain(
        &coupons(0.0, Some(0.0)),
        &[differ(catch(), 0.0, 0.0, 0.0)],
        &exact,
    );
    let none = none.unwrap();
    assert_eq!(
        (none.parts[0].share, none.parts[0].instruments_explain),
        (None, false)
    );
    assert_words(&none);
    // No daily check to compare.
    let empty = explain(&coupons(-9.0, Some(1.0)), &[], &exact).unwrap();
    assert!(empty.parts.is_empty() && empty.unexplained.is_none());
    assert!(empty.says.contains("No daily check"), "{}", empty.says);
    assert!(
        empty.check_next[0].contains("Coupon lot"),
        "{:?}",
        empty.check_next
    );
}

#[test]
fn without_sensitivities_it_says_that_it_cannot() {
    let names = [catch(), ph()];
    let known = sensitivities(&[], &[], &names, 48.0);
    let told = explain(&coupons(-9.0, Some(1.4)), &demo_differences(), &known).unwrap();
    assert_eq!((told.method, told.unexplained), (Method::None, None));
    // The clearest difference comes first; the meters' stays last.
    assert_eq!(told.parts[0].characteristic, "collection-rate");
    assert_eq!(told.parts[2].characteristic, "ph");
    assert!(
        told.says.contains("no sensitivity is known"),
        "{}",
        told.says
    );
    assert!(
        told.method_says.contains("takes 2 rounds with 5 cabinets"),
        "{}",
        told.method_says
    );
    assert_words(&told);
}

#[test]
fn a_part_that_points_the_other_way_ranks_after_and_says_so() {
    let names = [catch(), ph()];
    let both = [
        stated("collection-rate", 28.0, 6.0),
        stated("ph", -30.0, 5.0),
    ];
    let known = sensitivities(&[], &both, &names, 48.0);
    let two = [
        differ(catch(), -0.25, 0.02, 0.02),
        differ(ph(), -0.2, 0.01, 0.02),
    ];
    let told = explain(&coupons(-9.0, Some(1.4)), &two, &known).unwrap();
    assert_eq!(told.parts[1].mass_loss.map(|m| m.point), Some(6.0));
    assert!(told.parts[1].share.unwrap().point < 0.0);
    assert!(
        told.parts[1].says.contains("against the coupon difference"),
        "{}",
        told.parts[1].says
    );
    assert_eq!(told.unexplained, Some(-8.0));
    assert_words(&told);
}

#[test]
fn numbers_that_are_none_are_refused_with_their_name() {
    let known = demo_known();
    let refused = |coupons: CouponDifference, difference: Difference| {
        explain(&coupons, &[difference], &known)
            .unwrap_err()
            .to_string()
    };
    let fine = || differ(catch(), 0.1, 0.01, 0.01);
    assert!(refused(coupons(f64::NAN, None), fine()).contains("coupon difference"));
    assert!(refused(coupons(1.0, Some(-1.0)), fine()).contains("uncertainty"));
    let text = refused(coupons(1.0, None), differ(catch(), f64::INFINITY, 0.0, 0.0));
    assert!(text.contains("difference of collection rate"), "{text}");
    let text = refused(coupons(1.0, None), differ(catch(), 0.0, 0.0, f64::NAN));
    assert!(text.contains("instruments"), "{text}");
    let timeless = CouponDifference {
        hours: 0.0,
        ..coupons(1.0, None)
    };
    assert!(refused(timeless, fine()).contains("hours"));
}

#[test]
fn the_same_input_gives_the_same_output_in_any_order() {
    let mut reversed = demo_differences();
    reversed.reverse();
    let told = explain(&coupons(-9.0, Some(1.4)), &reversed, &demo_known()).unwrap();
    assert_eq!(told, demo());
}
