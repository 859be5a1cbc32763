//! Any bytes as a CSV log: no panic, finite values only, and the same result twice.

#![no_main]

use libfuzzer_sys::fuzz_target;
use steadyfog::intake::read_logs;
use steadyfog::lab::Lab;
use steadyfog::progress::Silent;
use steadyfog::time::Instant;

/// 2026-07-01T00:00:00Z.
const NOW: Instant = Instant(1_782_864_000);

fuzz_target!(|bytes: &[u8]| {
    let Ok(folder) = tempfile::tempdir() else {
        return;
    };
    let logs = folder.path().join("logs");
    if std::fs::create_dir(&logs).is_err() || std::fs::write(logs.join("log.csv"), bytes).is_err() {
        return;
    }
    let Ok(lab) = Lab::open(folder.path()) else {
        return;
    };
    let intake = read_logs(&lab, NOW, &Silent);
    let checks = &intake.checks;
    for measure in checks.measures() {
        let column = checks.column(measure).unwrap_or_default();
        assert_eq!(column.len(), checks.len());
        assert!(column.iter().all(|value| !value.is_infinite()));
    }
    let again = read_logs(&lab, NOW, &Silent);
    assert_eq!(again.checks.len(), checks.len());
    assert_eq!(again.checks.at(), checks.at());
});
