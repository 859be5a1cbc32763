//! The charts of the fixture, looked at as text.

use super::*;
use crate::report::fixture::{poisoned, review};
use crate::report::wire::{Review, Series};

fn find<'a>(review: &'a Review, mark: &str) -> &'a Series {
    review
        .series
        .iter()
        .find(|s| chart_mark(s) == mark)
        .unwrap()
}

fn chart(review: &Review, mark: &str) -> String {
    chart_svg(review, find(review, mark), Size::default())
        .unwrap()
        .unwrap()
}

/// The texts of an SVG with the point each stands at, in drawing units.
fn texts(svg: &str) -> Vec<(f64, f64, String)> {
    svg.split("<text ")
        .skip(1)
        .map(|rest| {
            let attribute = |name: &str| -> f64 {
                let from = rest.split_once(&format!("{name}=\"")).unwrap().1;
                from.split('"').next().unwrap().parse().unwrap()
            };
            let text = rest.split_once('>').unwrap().1.split('<').next().unwrap();
            (attribute("x"), attribute("y"), text.trim().to_owned())
        })
        .collect()
}

/// How many separate strokes the lines with these attributes make.
fn strokes(svg: &str, attributes: &str) -> usize {
    let moves = |line: &str| {
        let data = line.split_once(" d=\"").map_or("", |(_, data)| data);
        data.matches(['M', 'm']).count()
    };
    let lines = svg.lines();
    lines
        .filter(|l| l.starts_with("<path") && l.contains(attributes))
        .map(moves)
        .sum()
}

#[test]
fn a_small_chart_whole() {
    let review = review();
    insta::assert_snapshot!(chart(&review, "knot/collection-rate"));
}

#[test]
fn a_spark_whole() {
    let review = review();
    let series = find(&review, "knot/collection-rate");
    insta::assert_snapshot!(spark_svg(&review, series).unwrap().unwrap());
}

#[test]
fn every_line_signal_and_forecast_is_named() {
    let review = review();
    let svg = chart(&review, "plover/collection-rate");
    let told: Vec<String> = texts(&svg).into_iter().map(|t| t.2).collect();
    for wanted in [
        "upper conformance 2.00",
        "lower conformance 1.00",
        "upper control 1.700",
        "centre 1.550",
        "lower control 1.400",
        "mean 0.056",
        "frozen baseline",
        "moving range",
        "new nozzle fitted after crust…",
        "lid left ajar overnight",
        "one-sided-run ↓, explained",
        "range-beyond-limit",
        "ramp ↓",
        "smoothed-beyond-limit ↓",
        "forecast: 9 to 27 April 2026 (80\u{a0}%)",
        "2026",
    ] {
        assert!(told.iter().any(|t| t == wanted), "{wanted} in {told:?}");
    }
    // A heavy line for each conformance limit, dashes for the control limits of two stages.
    assert_eq!(strokes(&svg, "stroke=\"#9C4A06\" stroke-dash"), 0);
    assert_eq!(strokes(&svg, "stroke=\"#9C4A06\" stroke-width=\"8\""), 2);
    assert_eq!(strokes(&svg, "stroke-dasharray=\"22 14\""), 6 + 3);
}

#[test]
fn excluded_readings_are_hollow_and_breaches_square() {
    let mut review = review();
    let hollow = "r=\"12\" fill=\"none\"";
    assert_eq!(
        chart(&review, "plover/collection-rate")
            .matches(hollow)
            .count(),
        2
    );
    let i = review
        .series
        .iter()
        .position(|s| s.state == "drifting")
        .unwrap();
    review.series[i].points[102].excluded = None;
    assert_eq!(
        chart(&review, "plover/collection-rate")
            .matches(hollow)
            .count(),
        1
    );
    let squares = "width=\"24\" height=\"24\" fill=\"#9C4A06\"";
    assert_eq!(chart(&review, "whimbrel/ph").matches(squares).count(), 2);
}

#[test]
fn texts_stay_inside_and_names_at_the_right_do_not_meet() {
    let review = review();
    for series in &review.series {
        let svg = chart(&review, &chart_mark(series));
        let view = svg.split_once("viewBox=\"0 0 ").unwrap().1;
        let mut size = view.split('"').next().unwrap().split(' ');
        let (width, height): (f64, f64) = (
            size.next().unwrap().parse().unwrap(),
            size.next().unwrap().parse().unwrap(),
        );
        let mut right: Vec<f64> = Vec::new();
        for (x, y, text) in texts(&svg) {
            assert!(x >= 0.0 && x <= width && y >= 0.0 && y <= height, "{text}");
            if text.starts_with("upper ")
                || text.starts_with("lower ")
                || text.starts_with("centre ")
            {
                assert!(
                    right.iter().all(|other| (other - y).abs() >= 48.0),
                    "{text}"
                );
                right.push(y);
            }
        }
        assert!(!svg.contains("NaN") && !svg.contains("inf"));
    }
}

#[test]
fn hostile_texts_arrive_as_text() {
    let review = poisoned();
    for series in &review.series {
        let svg = chart_svg(&review, series, Size::default());
        let spark = spark_svg(&review, series);
        for text in [svg.unwrap().unwrap(), spark.unwrap().unwrap()] {
            assert!(!text.contains("<script") && text.contains("&lt;script&gt;"));
            assert!(text.chars().all(|c| c == '\n' || !c.is_control()));
            assert!(!text.contains('\u{202e}') && !text.contains('\u{2066}'));
        }
    }
}

#[test]
fn a_step_is_shaded_and_named() {
    let review = review();
    let svg = chart(&review, "curlew/tower-temperature");
    let told: Vec<String> = texts(&svg).into_iter().map(|t| t.2).collect();
    let name = "step +0.9 about 12 January 2026";
    assert!(told.iter().any(|t| t == name), "{told:?}");
}

#[test]
fn readings_that_are_not_neighbours_are_not_joined() {
    let mut review = review();
    let data = "stroke=\"#245673\"";
    let lines = |review: &Review| {
        let svg = chart(review, "dunlin/ph");
        let dots = strokes(&svg, "stroke-linecap");
        strokes(&svg, data) - dots
    };
    let whole = lines(&review);
    let i = review
        .series
        .iter()
        .position(|s| chart_mark(s) == "dunlin/ph")
        .unwrap();
    // As with `--points signals`: two stretches of an unbroken series.
    let gap = (20..90).find(|&k| {
        let points = &review.series[i].points;
        (points[k].value - points[9].value).abs() != points[k].moving_range.unwrap()
    });
    review.series[i].points.drain(10..gap.unwrap());
    assert_eq!(lines(&review), whole + 2, "both panels break once");
}

#[test]
fn odd_series_are_drawn_or_skipped() {
    let mut review = review();
    let series = &mut review.series[0];
    series.points.truncate(1);
    series.points[0].moving_range = None;
    series.limits = None;
    series.stages.clear();
    series.conformance = None;
    let one = chart_svg(&review, &review.series[0], Size::default());
    assert!(one.unwrap().unwrap().contains("<circle"));
    for point in &mut review.series[1].points {
        point.value = 47.0;
        point.moving_range = point.moving_range.map(|_| 0.0);
    }
    review.series[1].limits = None;
    assert!(chart(&review, "plover/tower-temperature").contains("<path"));
    review.series[2].points.clear();
    let none = chart_svg(&review, &review.series[2], Size::default());
    assert!(none.unwrap().is_none());
    assert!(spark_svg(&review, &review.series[2]).unwrap().is_none());
}

#[test]
fn a_reading_alone_in_a_long_series_gets_a_dot() {
    let mut review = review();
    let series = &mut review.series[0];
    let template = series.points[0].clone();
    // Two a day: 250 days.
    series.points = (0..500)
        .map(|i| {
            let mut point = template.clone();
            let day =
                chrono::NaiveDate::from_ymd_opt(2024, 1, 1).unwrap() + chrono::Days::new(i / 2);
            point.at = format!("{day}T{:02}:00:00Z", 7 + 8 * (i % 2));
            point.value = 35.0 + (i % 7) as f64 * 0.05;
            point.moving_range = None;
            point.excluded = None;
            point
        })
        .collect();
    let dots = |review: &Review| {
        let svg = chart_svg(review, &review.series[0], Size::default());
        strokes(&svg.unwrap().unwrap(), "stroke-linecap=\"round\"")
    };
    assert_eq!(dots(&review), 500, "none follows another");
    let series = &mut review.series[0];
    for i in 1..500 {
        let distance = (series.points[i].value - series.points[i - 1].value).abs();
        series.points[i].moving_range = Some(distance);
    }
    assert_eq!(dots(&review), 0, "the line shows them");
}

#[test]
fn of_years_the_latest_days_are_drawn_and_the_rest_is_counted() {
    let mut review = review();
    let i = review
        .series
        .iter()
        .position(|s| chart_mark(s) == "dunlin/ph")
        .unwrap();
    let mut early = review.series[i].points[0].clone();
    early.at = "2019-01-07T07:00:00Z".into();
    early.value = 3.0;
    review.series[i].points.insert(0, early);
    let svg = chart(&review, "dunlin/ph");
    let told: Vec<String> = texts(&svg).into_iter().map(|t| t.2).collect();
    let more = "◂ 1 earlier reading not drawn";
    assert!(told.iter().any(|t| t == more), "{told:?}");
    assert!(told.iter().all(|t| t != "2019" && t != "3.0"), "{told:?}");
}

#[test]
fn file_names_are_tame() {
    let mut series = review().series[0].clone();
    series.cabinet = "../Öl 7/\u{202e}<b>".into();
    assert_eq!(chart_name(&series), "---öl-7---b--cabinet-temperature");
}
