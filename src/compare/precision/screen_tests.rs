//! The order of the tests, what each leaves out, and where leaving out ends.

use super::screen::{Stop, screen};
use super::{Screening, Table, Test, Verdict, analyse};

/// Participants with three results each: `mean` and `mean` ± `spread`.
fn triples(cells: &[(f64, f64)]) -> Table {
    let own = |(mean, spread): &(f64, f64)| vec![mean - spread, *mean, mean + spread];
    Table::new(cells.iter().map(own).collect()).unwrap()
}

fn found(screening: &Screening) -> Vec<(Test, Verdict, &[usize], usize, bool)> {
    let marks = screening.marks.iter();
    marks
        .map(|m| {
            let test = &m.test;
            let who = test.participants.as_slice();
            (test.test, test.verdict, who, m.among, m.left_out)
        })
        .collect()
}

#[test]
fn cochran_is_repeated_and_stops_at_two_in_nine() {
    let mut cells: Vec<(f64, f64)> = (0..9).map(|i| (f64::from(i), 1.0)).collect();
    (cells[1].1, cells[4].1, cells[7].1) = (30.0, 1000.0, 31_000.0);
    let screening = screen(&triples(&cells));
    let outlier = |who: &'static [usize], among, left_out| {
        (Test::Cochran, Verdict::Outlier, who, among, left_out)
    };
    assert_eq!(
        found(&screening)[..3],
        [
            outlier(&[7], 9, true),
            outlier(&[4], 8, true),
            outlier(&[1], 7, false)
        ]
    );
    assert_eq!(screening.left_out, [4, 7]);
    assert_eq!(screening.stopped, Some(Stop::TooManyLeftOut));
    assert_eq!(screening.without_outliers.map(|w| w.participants), Some(7));
}

#[test]
fn after_a_single_outlier_the_other_end_is_tested_and_no_pair() {
    let mut cells: Vec<(f64, f64)> = (0..12).map(|i| (f64::from(i % 5), 1.0)).collect();
    (cells[3].0, cells[8].0) = (1000.0, -100.0);
    // Without the two, two more at one end would make an outlying pair.
    (cells[5].0, cells[6].0) = (30.0, 30.5);
    let screening = screen(&triples(&cells));
    assert_eq!(
        found(&screening),
        [
            (Test::GrubbsLargest, Verdict::Outlier, &[3][..], 12, true),
            (Test::GrubbsSmallest, Verdict::Outlier, &[8][..], 11, true),
        ]
    );
    assert_eq!((screening.left_out, screening.stopped), (vec![3, 8], None));
    // The analysis of all is of all, pairs included.
    assert_eq!(screening.all.participants, 12);
    assert_eq!(screening.all.grubbs.len(), 4);
}

#[test]
fn two_that_hide_each_other_are_found_as_a_pair() {
    let mut cells: Vec<(f64, f64)> = (0..10).map(|i| (f64::from(i % 4), 1.0)).collect();
    (cells[2].0, cells[9].0) = (100.0, 101.0);
    let screening = screen(&triples(&cells));
    assert_eq!(
        found(&screening),
        [(
            Test::GrubbsTwoLargest,
            Verdict::Outlier,
            &[9, 2][..],
            10,
            true
        )]
    );
    assert_eq!(screening.left_out, [2, 9]);
}

#[test]
fn of_four_a_pair_is_marked_but_stays() {
    let screening = screen(&triples(&[
        (1.0, 1.0),
        (90.0, 1.0),
        (1.001, 1.0),
        (91.0, 1.0),
    ]));
    let marks = found(&screening);
    assert_eq!(
        marks[0],
        (
            Test::GrubbsTwoLargest,
            Verdict::Outlier,
            &[3, 1][..],
            4,
            false
        )
    );
    assert_eq!(screening.stopped, Some(Stop::TooFewWouldRemain));
    assert!(screening.left_out.is_empty() && screening.without_outliers.is_none());
}

#[test]
fn the_pair_statistic_is_what_remains_of_the_squares() {
    let table = Table::new([0.0, 1.0, 10.0, 2.0, 11.0, 3.0].map(|x| vec![x]).to_vec()).unwrap();
    let tests = analyse(&table).grubbs;
    // Squares: 5 of 0, 1, 2, 3 and 113.5 of all; 65 of 2, 3, 10, 11.
    assert!((tests[2].statistic - 5.0 / 113.5).abs() < 1e-14);
    assert_eq!(
        (tests[2].test, &tests[2].participants[..]),
        (Test::GrubbsTwoLargest, &[4, 2][..])
    );
    assert!((tests[3].statistic - 65.0 / 113.5).abs() < 1e-14);
    // 11 less 4.5 over √(113.5/5).
    assert!((tests[0].statistic - 6.5 / 22.7_f64.sqrt()).abs() < 1e-14);
}
