//! The page of the fixture: whole without charts, walked, poisoned and large.

use super::*;
use crate::report::fixture::checks::{
    assert_page_can_be_walked, assert_page_is_harmless, without_charts,
};
use crate::report::fixture::{HOSTILE, comparison, large_comparison, poisoned_comparison};

#[test]
fn the_page_without_its_charts() {
    insta::assert_snapshot!(without_charts(&render(&comparison()).unwrap()));
}

/// Written for looking at in a browser: `LOOK_AT=dir cargo test`.
#[test]
fn the_same_comparison_gives_the_same_bytes() {
    let page = render(&comparison()).unwrap();
    assert_eq!(page, render(&comparison()).unwrap());
    if let Some(folder) = std::env::var_os("LOOK_AT") {
        let folder = std::path::Path::new(&folder);
        std::fs::write(folder.join("compare.html"), &page).unwrap();
        for (name, cabinets) in [("compare-middle.html", 24), ("compare-large.html", 1000)] {
            let page = render(&large_comparison(cabinets)).unwrap();
            std::fs::write(folder.join(name), page).unwrap();
        }
    }
}

#[test]
fn nothing_hostile_survives() {
    let mut one = poisoned_comparison();
    one.made_at = HOSTILE.into();
    one.period.from = HOSTILE.into();
    one.rounds[0].to = HOSTILE.into();
    assert_page_is_harmless(&render(&one).unwrap(), 300);
}

#[test]
fn the_page_is_self_contained_and_can_be_walked() {
    let page = render(&comparison()).unwrap();
    assert_page_can_be_walked(&page, 15, 19);
    assert_eq!(page.matches("<figure").count(), 19);
}

#[test]
fn every_sentence_of_the_comparison_is_on_the_page() {
    let one = comparison();
    let page = render(&one).unwrap();
    let mut sentences: Vec<&str> = vec![&one.period_says];
    sentences.extend(one.method.iter().chain(&one.cautions).map(String::as_str));
    for c in &one.characteristics {
        sentences.extend([
            &*c.says,
            &*c.sigma_p_says,
            &*c.precision_says,
            &*c.margin_says,
        ]);
        sentences.extend(c.assigned.iter().map(|a| a.says.as_str()));
        sentences.extend(c.pairs.iter().chain(&c.lab_pairs).map(|p| p.says.as_str()));
    }
    for round in &one.rounds {
        sentences.push(&round.blank_says);
        sentences.extend(round.says.iter().map(String::as_str));
    }
    sentences.extend(one.mismatch.iter().map(|m| m.says.as_str()));
    for e in &one.explanations {
        sentences.extend([&*e.says, &*e.method_says]);
        sentences.extend(e.check_next.iter().map(String::as_str));
        sentences.extend(e.evidence.iter().map(|e| e.says.as_str()));
    }
    for f in &one.findings {
        sentences.extend(f.evidence.iter().map(|e| e.says.as_str()));
        sentences.extend(f.look_at.iter().map(String::as_str));
    }
    assert!(sentences.len() > 50);
    for sentence in sentences {
        let written = sentence
            .replace('&', "&amp;")
            .replace('\'', "&#x27;")
            .replace('/', "&#x2f;");
        assert!(page.contains(&written), "{sentence}");
    }
}

#[test]
fn a_thousand_cabinets_give_a_bounded_page_that_says_what_it_leaves_out() {
    let page = render(&large_comparison(1000)).unwrap();
    assert!(page.len() < 1_500_000, "{} bytes", page.len());
    assert!(page.contains("The 60 of 1000 cabinets with the largest scores"));
    assert!(page.contains(
        "60 of 499500 pairs stand here, the clearest differences first; compare.json lists 200."
    ));
    assert!(page.contains("40 of 1000 cabinets are drawn"));
}

#[test]
fn an_empty_comparison_says_that_there_is_nothing() {
    let mut one = comparison();
    one.labs.truncate(1);
    one.characteristics.clear();
    one.rounds.clear();
    one.mismatch.clear();
    one.explanations.clear();
    one.findings.clear();
    one.issues.clear();
    let page = render(&one).unwrap();
    assert!(page.contains("There is nothing to compare in the period."));
    assert!(page.contains("Nothing: no difference beyond instruments and chance"));
    assert!(page.contains("Every cell could be used."));
    assert!(!page.contains("id=\"mismatch\"") && !page.contains("id=\"two-rounds\""));
}

#[test]
fn two_of_one_mark_do_not_share_an_id() {
    let mut one = comparison();
    let again = one.characteristics[0].clone();
    one.characteristics.push(again);
    let page = render(&one).unwrap();
    let ids: Vec<&str> = page.split(" id=\"").skip(1).collect();
    let named = |rest: &&&str| rest.starts_with("compared-5\"");
    assert_eq!(ids.iter().filter(named).count(), 1);
}

#[test]
fn more_characteristics_than_have_room_are_named() {
    let mut one = comparison();
    let round = one.characteristics[3].clone();
    for i in 0..MOST_SECTIONS {
        let mut more = round.clone();
        more.round = Some(format!("further-{i}"));
        one.characteristics.push(more);
    }
    let page = render(&one).unwrap();
    assert!(page.contains("Coupon mass loss, round further-23 have no section on this page"));
    assert_eq!(
        page.matches("class=\"cabinet compared\"").count(),
        MOST_SECTIONS
    );
}
