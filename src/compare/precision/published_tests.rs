//! Published experiments: ASTM E691, ISO 5725-2, NIST and the e-Handbook.

use super::fixtures::{glucose_c_as_published, groups, level};
use super::{CochranBasis, Precision, Stop, Test, Verdict, analyse, screen};
use crate::stats::reference::rows;

const PUBLISHED: &str = include_str!("../../../tests/reference/interlab-precision/published.csv");
const CERTIFIED: &str = include_str!("../../../tests/reference/nist-strd/anova_certified.csv");

#[track_caller]
fn near(found: f64, expected: f64, tolerance: f64, what: &str) {
    // The allowance is for printed halves only.
    assert!(
        (found - expected).abs() <= tolerance * (1.0 + 1e-9),
        "{what}: found {found}, expected {expected} within {tolerance}"
    );
}

fn k_of(precision: &Precision, participant: usize) -> f64 {
    precision.cells[participant].k.unwrap()
}

#[test]
fn glucose_sulfur_and_creosote_reproduce() {
    let mut seen = 0;
    for row in rows(PUBLISHED) {
        let what = format!("{} {}", row[0], row[1]);
        let left_out: Vec<usize> = row[2].split('+').filter_map(|l| l.parse().ok()).collect();
        let table = if what == "glucose C" {
            glucose_c_as_published()
        } else {
            level(row[0], row[1], &left_out)
        };
        let found = analyse(&table);
        let variances = found.variances.unwrap();
        let number = |i: usize| row[i].parse::<f64>().unwrap();
        let (of_mean, of_spread) = (number(6), number(7));
        near(found.mean, number(3), of_mean, &what);
        near(variances.s_r, number(4), of_spread, &what);
        near(variances.s_reproducibility, number(5), of_spread, &what);
        near(variances.r_limit, 2.8 * variances.s_r, 1e-12, &what);
        seen += 1;
    }
    assert_eq!(seen, 13);
    // ASTM E691: the estimate of s_L² of material A is negative and s_R is s_r.
    let negative = analyse(&level("glucose", "A", &[])).variances.unwrap();
    assert!(negative.s_l_negative && negative.s_l == 0.0);
    assert_eq!(negative.s_reproducibility, negative.s_r);
}

#[test]
fn glucose_c_as_read_is_an_outlier_case() {
    let found = screen(&level("glucose", "C", &[]));
    // Figures recomputed independently, not published.
    near(found.all.mean, 135.142_916_667, 1e-8, "mean");
    let all = found.all.variances.as_ref().unwrap();
    near(all.s_r, 2.748_272_184_482, 1e-10, "s_r");
    near(all.s_reproducibility, 3.476_977_997_063, 1e-10, "s_R");
    near(k_of(&found.all, 3), 2.408_794_403_971, 1e-10, "k");
    let mark = &found.marks[0];
    assert_eq!(
        (mark.test.test, mark.test.verdict),
        (Test::Cochran, Verdict::Outlier)
    );
    near(mark.test.statistic, 0.725_286_310_075, 1e-10, "Cochran");
    // p 8, n 3: 0.516 and 0.615 in print.
    near(mark.test.critical.at_5_percent, 0.516, 5e-4, "Cochran 5 %");
    near(mark.test.critical.at_1_percent, 0.615, 5e-4, "Cochran 1 %");
    assert_eq!((found.left_out.as_slice(), found.stopped), (&[3][..], None));
    let without = found.without_outliers.unwrap();
    assert_eq!((without.participants, without.results), (7, 21));
    assert!(without.cells.iter().all(|cell| cell.participant != 3));

    let clean = screen(&glucose_c_as_published());
    assert!(clean.marks.is_empty() && clean.without_outliers.is_none());
    // ASTM E691 Table 5 has 2.15 for h and 2.06 for k at 0.5 % (from memory).
    near(super::mandel::h_at(8, 0.005).unwrap(), 2.15, 5e-3, "h");
    near(
        super::mandel::k_at(2.0, 16.0, 0.005).unwrap(),
        2.06,
        5e-3,
        "k",
    );
}

#[test]
fn sulfur_uses_the_number_of_results_that_most_laboratories_have() {
    for (at, statistic, who) in [("1", 0.35023, 7), ("2", 0.288538, 4), ("3", 0.57971, 4)] {
        let found = analyse(&level("sulfur_in_coal", at, &[])).cochran.unwrap();
        assert_eq!(found.basis, CochranBasis::Majority(3));
        assert_eq!(found.test.participants, [who], "level {at}");
        near(found.test.statistic, statistic, 1e-6, at);
        near(found.test.critical.at_5_percent, 0.516, 5e-4, at);
    }
}

#[test]
fn unequal_numbers_enter_as_their_own_mean_number() {
    // Eight laboratories with 27 results: (27 − 95/27)/7; figures recomputed independently.
    let found = analyse(&level("sulfur_in_coal", "1", &[]))
        .variances
        .unwrap();
    near(
        found.mean_replicates,
        (27.0 - 95.0 / 27.0) / 7.0,
        1e-12,
        "mean number",
    );
    near(
        found.s_l_squared_estimate,
        0.000_466_540_760_418,
        1e-13,
        "s_L squared",
    );
    near(found.s_reproducibility, 0.026_363_792_070_721, 1e-13, "s_R");
    near(found.s_r, 0.015_116_506_604_696, 1e-13, "s_r");
}

#[test]
fn creosote_marks_the_laboratory_that_the_standard_left_out() {
    for (at, grubbs) in [("3", 2.502_222), ("4", 2.470_518)] {
        let found = screen(&level("creosote", at, &[]));
        assert_eq!(found.left_out, [0], "level {at}");
        let mark = found.marks.iter().find(|mark| mark.left_out).unwrap();
        assert_eq!(mark.test.test, Test::GrubbsLargest);
        near(mark.test.statistic, grubbs, 1e-6, at);
        // p 9: 2.215 and 2.387 in print.
        near(mark.test.critical.at_5_percent, 2.215, 1e-3, at);
        near(mark.test.critical.at_1_percent, 2.387, 1e-3, at);
        let (row, without) = (
            analyse(&level("creosote", at, &[1])),
            found.without_outliers.unwrap(),
        );
        let (once, again) = (row.variances.unwrap(), without.variances.unwrap());
        near(again.s_reproducibility, once.s_reproducibility, 1e-12, at);
        near(again.s_r, once.s_r, 1e-12, at);
    }
    // Level 4, laboratory 7: Cochran 0.667 lies between 0.638 and 0.754 (p 9, n 2).
    let fourth = screen(&level("creosote", "4", &[]));
    let straggler = &fourth.marks[0];
    assert_eq!(straggler.test.participants, [6]);
    assert_eq!(
        (straggler.test.test, straggler.test.verdict),
        (Test::Cochran, Verdict::Straggler)
    );
    assert!(!straggler.left_out);
}

#[test]
fn creosote_levels_without_an_outlier_stay_whole() {
    // The standard left laboratory 1 out of these levels too, because of the others: no
    // test of one level says so.
    for at in ["1", "2"] {
        let found = screen(&level("creosote", at, &[]));
        assert_eq!((found.marks.len(), found.stopped), (0, None::<Stop>));
        assert!(found.without_outliers.is_none());
    }
}

/// How far a figure may be from the certified one, relatively. Digits kept of F, residual
/// standard deviation and R²: SiRstv 13.1, 13.4, 13.2; AtmWtAg 10.2, 11.2, 10.3; SmLs01 15
/// and more; SmLs04 10.4, 10.6, 10.7; SmLs07 4.4, 4.6, 4.7. Exact arithmetic keeps no more
/// of AtmWtAg, SmLs04 and SmLs07, since binary64 does not hold the decimals of their data:
/// 1e12 + 0.4 is stored as 1e12 + 0.4000244 (the test below).
fn reachable(data: &str) -> f64 {
    match data {
        "SiRstv" => 1e-12,
        "AtmWtAg" => 8e-11,
        "SmLs01" => 1e-13,
        "SmLs04" => 4e-11,
        "SmLs07" => 4e-5,
        other => panic!("no data {other}"),
    }
}

#[test]
fn nist_analyses_of_variance_reproduce_as_far_as_binary64_holds_the_data() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference/nist-strd/");
    let mut seen = 0;
    for row in rows(CERTIFIED) {
        let text = std::fs::read_to_string(format!("{folder}anova_{}.csv", row[0])).unwrap();
        let table = groups(&text);
        assert_eq!(table.results().len(), row[1].parse::<usize>().unwrap());
        let found = analyse(&table).variances.unwrap();
        let pairs = [
            (found.anova.f.unwrap(), row[3], "F"),
            (found.s_r, row[4], "residual sd"),
            (found.anova.r_squared.unwrap(), row[5], "R²"),
        ];
        for (value, certified, what) in pairs {
            let certified: f64 = certified.parse().unwrap();
            near(
                value,
                certified,
                certified * reachable(row[0]),
                &format!("{} {what}", row[0]),
            );
        }
        seen += 1;
    }
    assert_eq!(seen, 5);
}

#[test]
fn large_common_parts_cost_no_digits() {
    // F of the values as they are stored, in exact rational arithmetic (our computation):
    // whatever is lost beyond it would be lost by the sums.
    for (data, exact) in [
        (
            include_str!("../../../tests/reference/nist-strd/anova_AtmWtAg.csv"),
            15.946_733_566_676_926,
        ),
        (
            include_str!("../../../tests/reference/nist-strd/anova_SmLs04.csv"),
            21.000_000_000_776_1,
        ),
        (
            include_str!("../../../tests/reference/nist-strd/anova_SmLs07.csv"),
            21.000_811_887_818_77,
        ),
    ] {
        let f = analyse(&groups(data)).variances.unwrap().anova.f.unwrap();
        near(f, exact, 1e-12 * exact, "F");
    }
}

#[test]
fn the_handbook_analysis_of_variance_reproduces() {
    // NIST/SEMATECH e-Handbook 7.4.3.3.
    let table = groups(include_str!(
        "../../../tests/reference/handbook/anova_7_4_3.csv"
    ));
    let found = analyse(&table).variances.unwrap().anova;
    near(found.ss_between, 27.897, 5e-4, "SST");
    near(found.ss_within, 17.452, 5e-4, "SSE");
    near(found.f.unwrap(), 9.59, 5e-3, "F");
    // Recomputed with scipy.
    near(found.p.unwrap(), 0.003_248_222_600_859, 1e-12, "p");
}
