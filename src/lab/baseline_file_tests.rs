//! Baseline files there and back, and broken ones.

use super::*;

fn file() -> BaselineFile {
    let limits = Limits {
        origin: Origin::Frozen,
        n: 30,
        from: Instant(1_767_268_800),
        to: Instant(1_770_000_000),
        centre: 1.0 / 3.0,
        sigma: 1e-7,
        sigma_method: SigmaMethod::IntervalCensored,
        lower: 1.0 / 3.0 - 3e-7,
        upper: 1.0 / 3.0 + 3e-7,
        moving_range_mean: 1.128e-7,
        moving_range_upper: 3.686e-7,
        lag1: Some(-0.1),
        resolution: None,
        plain_sigma: 35.0,
        plain_centre: -0.0,
        moving_ranges: 28,
        moving_ranges_skipped: 1,
        screened: vec![(Instant(1_768_000_000), 7.25)],
    };
    let frozen = FrozenLimits {
        limits,
        approved_by: "quality \"desk\"\t\u{7f} ü".into(),
        frozen_at: Instant(1_770_000_001),
        excluded: vec![(Instant(1_768_000_000), 0.1 + 0.2, "lid \\ open".into())],
        digest: digest(&[Instant(0)], &[6.8]),
    };
    BaselineFile {
        cabinet: "plover".into(),
        program: "steadyfog 0.1.0".into(),
        limits: [
            (Characteristic::Ph, frozen.clone()),
            (Characteristic::Own("reservoir-level".into()), frozen),
        ]
        .into(),
    }
}

#[test]
fn a_file_reads_back_exactly() {
    let text = render(&file());
    let back = parse("baselines/plover.toml", &text).unwrap();
    assert_eq!(back, file());
    assert_eq!(render(&back), text);
}

#[test]
fn broken_files_are_errors_with_their_place() {
    let broken = |from: &str, to: &str| {
        let text = render(&file()).replacen(from, to, 1);
        parse("baselines/plover.toml", &text)
            .unwrap_err()
            .to_string()
    };
    assert_eq!(
        broken("sigma = 1e-7", "sigma = 0.0"),
        "baselines/plover.toml:16:9: \"sigma\" is 0.0; expected a number above 0"
    );
    assert_eq!(
        broken("centre =", "center ="),
        "baselines/plover.toml:15:1: unknown key \"center\"; did you mean \"centre\"?"
    );
    let missing = broken("digest", "# digest");
    assert!(missing.contains("needs the key \"digest\""), "{missing}");
    assert!(broken("[[baseline]]", "[[baseline").contains("plover.toml:7:"));
    assert!(broken("\"reservoir-level\"", "\"ph\"").contains("\"ph\" is already given above"));
    assert!(broken("steadyfog.baseline/1", "steadyfog.baseline/2").contains("expected one of"));
}
