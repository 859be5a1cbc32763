//! The charts of the fixture, looked at as text.

use super::*;
use crate::report::fixture::{comparison, large_comparison, poisoned_comparison};
use crate::report::wire::Comparison;

fn every(comparison: &Comparison) -> Vec<Chart> {
    let names = Names::new(comparison);
    let mut charts = Vec::new();
    for one in &comparison.characteristics {
        charts.extend(all(comparison, one, &names).unwrap());
    }
    for explanation in &comparison.explanations {
        charts.extend(shares(comparison, explanation, &names).unwrap());
    }
    for (a, b) in consecutive_rounds(comparison) {
        charts.extend(two_rounds(a, b, &names).unwrap());
    }
    charts
}

fn of_kind(charts: &[Chart], kind: Kind) -> &str {
    &charts.iter().find(|c| c.kind == kind).unwrap().svg
}

/// A text of a chart with the box it is likely to take, in drawing units.
#[derive(Debug)]
struct Told {
    text: String,
    left: f64,
    right: f64,
    top: f64,
    bottom: f64,
}

fn told(svg: &str) -> Vec<Told> {
    svg.split("<text ")
        .skip(1)
        .map(|rest| {
            let (attributes, rest) = rest.split_once('>').unwrap();
            let attribute = |name: &str| {
                let from = attributes.split_once(&format!("{name}=\"")).map(|(_, f)| f);
                from.map(|f| f.split('"').next().unwrap())
            };
            let number = |name: &str| attribute(name).map(|v| v.parse::<f64>().unwrap());
            let text = rest.split('<').next().unwrap().trim().to_owned();
            let size = number("font-size").unwrap_or(40.0);
            let written = [
                ("&lt;", "<"),
                ("&gt;", ">"),
                ("&quot;", "\""),
                ("&apos;", "'"),
                ("&amp;", "&"),
            ]
            .iter()
            .fold(text.clone(), |t, (escaped, plain)| {
                t.replace(escaped, plain)
            });
            let width = written.chars().count() as f64 * size * 0.54;
            let x = number("x").unwrap();
            let left = match attribute("text-anchor") {
                Some("middle") => x - width / 2.0,
                Some("end") => x - width,
                _ => x,
            };
            let y = number("y").unwrap();
            Told {
                text,
                left,
                right: left + width,
                top: y - size * 0.4,
                bottom: y + size * 0.4,
            }
        })
        .collect()
}

fn size_of(svg: &str) -> (f64, f64) {
    let from = svg.split_once("viewBox=\"0 0 ").unwrap().1;
    let (width, rest) = from.split_once(' ').unwrap();
    (
        width.parse().unwrap(),
        rest.split('"').next().unwrap().parse().unwrap(),
    )
}

#[test]
fn texts_stay_inside_and_apart() {
    let several = [
        comparison(),
        large_comparison(20),
        large_comparison(70),
        poisoned_comparison(),
    ];
    for one in several {
        for chart in every(&one) {
            let (width, height) = size_of(&chart.svg);
            let texts = told(&chart.svg);
            for (i, a) in texts.iter().enumerate() {
                assert!(a.left >= 0.0 && a.right <= width, "{:?}: {a:?}", chart.kind);
                assert!(
                    a.top >= 0.0 && a.bottom <= height,
                    "{:?}: {a:?}",
                    chart.kind
                );
                for b in &texts[i + 1..] {
                    let apart = a.right <= b.left
                        || b.right <= a.left
                        || a.bottom <= b.top
                        || b.bottom <= a.top;
                    assert!(apart, "{:?}: {a:?} meets {b:?}", chart.kind);
                }
            }
        }
    }
}

#[test]
fn scores_stand_with_their_words_and_lines() {
    let charts = every(&comparison());
    let svg = of_kind(&charts, Kind::Scores);
    let texts: Vec<String> = told(svg).into_iter().map(|t| t.text).collect();
    for wanted in [
        "z −3.42  action signal",
        "z −2.29  warning signal",
        "z +0.58  acceptable",
        "−3",
        "−2",
        "+2",
        "+3",
        "Labs as a whole",
        "Curlew",
    ] {
        assert!(texts.iter().any(|t| t == wanted), "{wanted} in {texts:?}");
    }
    let ph = charts
        .iter()
        .filter(|c| c.kind == Kind::Scores)
        .nth(1)
        .unwrap();
    let texts: Vec<String> = told(&ph.svg).into_iter().map(|t| t.text).collect();
    assert!(
        texts.iter().any(|t| t == "z′ −0.57  acceptable"),
        "{texts:?}"
    );
    assert!(texts.iter().any(|t| t == "Not scored, n = 1"), "{texts:?}");
}

#[test]
fn a_score_beyond_the_panel_ends_at_its_edge_in_an_arrow_and_keeps_its_number() {
    let mut one = comparison();
    one.characteristics.truncate(1);
    one.characteristics[0].participants[4].z = Some(-41.25);
    let svg = of_kind(&every(&one), Kind::Scores).to_owned();
    assert!(svg.contains("z −41.25  action signal"));
    // The panel begins at 240 px; the arrow's tip is 9 px beyond the end of the bar.
    let tip = svg
        .lines()
        .find(|l| l.contains("stroke=\"#9C4A06\" stroke-width=\"6\""));
    let from = tip.unwrap().split_once("d=\"M").unwrap().1;
    let x: f64 = from.split(' ').next().unwrap().parse().unwrap();
    assert_eq!(x, (240.0 + 8.0) * 4.0);
}

#[test]
fn pairs_stand_with_their_margin_and_verdict() {
    let charts = every(&comparison());
    let svg = of_kind(&charts, Kind::Differences);
    let texts: Vec<String> = told(svg).into_iter().map(|t| t.text).collect();
    for wanted in [
        "agreement: ± 0.10\u{a0}mL/h per 80 cm²",
        "differ",
        "agree",
        "cannot tell",
        "Tidewrack Test Hou… less Saltmarsh Bench",
    ] {
        let wanted = wanted.to_owned();
        assert!(texts.contains(&wanted), "{wanted} in {texts:?}");
    }
}

#[test]
fn marked_coupons_are_hollow() {
    let charts = every(&comparison());
    let svg = of_kind(&charts, Kind::Coupons);
    assert_eq!(svg.matches("r=\"16\" fill=\"none\"").count(), 3);
    assert!(svg.contains("3 coupons, 3 marked"));
    assert!(svg.contains("assigned 70.0"));
}

#[test]
fn the_calendar_whole() {
    let mut one = comparison();
    let names = comparison();
    let names = Names::new(&names);
    let ph = &mut one.characteristics[1];
    ph.participants.truncate(2);
    ph.participants[0].calendar = "ii..o".into();
    ph.participants[1].calendar = "??..x".into();
    let ph = one.characteristics[1].clone();
    let chart = calendar::calendar(&one, &ph, &names).unwrap().unwrap();
    insta::assert_snapshot!(chart.svg);
}

#[test]
fn a_large_comparison_draws_what_has_room_and_says_so() {
    let charts = every(&large_comparison(1000));
    let scores = charts.iter().find(|c| c.kind == Kind::Scores).unwrap();
    assert!(
        scores.left_out.starts_with("40 of 1000 cabinets"),
        "{}",
        scores.left_out
    );
    let pairs = charts.iter().find(|c| c.kind == Kind::Differences).unwrap();
    assert!(
        pairs.left_out.starts_with("30 of 499500 pairs"),
        "{}",
        pairs.left_out
    );
    for chart in &charts {
        assert!(
            chart.svg.len() < 60_000,
            "{:?}: {}",
            chart.kind,
            chart.svg.len()
        );
    }
}

#[test]
fn every_chart_is_named_and_told_and_holds_no_harm() {
    for chart in every(&poisoned_comparison()) {
        let svg = &chart.svg;
        assert!(svg.contains("role=\"img\"") && svg.contains("<title>") && svg.contains("<desc>"));
        assert!(!svg.contains("<script") && !svg.contains("NaN") && !svg.contains("inf"));
        let bad = |c: char| (c.is_control() && c != '\n') || matches!(c, '\u{202e}' | '\u{2066}');
        assert_eq!(svg.chars().find(|&c| bad(c)), None);
    }
}

#[test]
fn values_all_alike_and_lone_cabinets_are_drawn() {
    let mut one = comparison();
    for characteristic in &mut one.characteristics {
        characteristic.participants.truncate(1);
        characteristic.labs.clear();
        for pair in characteristic
            .pairs
            .iter_mut()
            .chain(&mut characteristic.lab_pairs)
        {
            pair.difference = 0.0;
            (pair.low, pair.high) = (Some(0.0), Some(0.0));
            (pair.total_low, pair.total_high) = (None, None);
        }
        characteristic.margin = None;
        for participant in &mut characteristic.participants {
            participant.quantiles = vec![35.0; 21];
            participant.z = Some(0.0);
            participant.h = Some(0.0);
            participant.k = None;
        }
    }
    for explanation in &mut one.explanations {
        explanation.difference = 0.0;
        (explanation.low, explanation.high) = (None, None);
    }
    one.mismatch.clear();
    for chart in every(&one) {
        assert!(!chart.svg.contains("NaN"), "{:?}", chart.kind);
    }
}
