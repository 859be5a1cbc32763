//! Whole lab folders through [`read_logs`]: three dialects, dirt, and what must hold for
//! any bytes.

use super::checks::{CabinetChecks, Collector, Measure};
use super::*;
use crate::issue::Effect;
use crate::lab::Lab;
use crate::progress::Silent;
use crate::time::Instant;
use std::path::Path;

mod dialects;
mod dirt;
mod invariants;
pub(in crate::intake) mod quick;

/// A lab of no folder.
pub(super) fn lab() -> Lab {
    Lab::bare("nowhere")
}

/// 1 July 2026, noon.
const NOW: Instant = Instant(1_782_907_200);

/// Reads logs given as name and bytes.
fn read(logs: &[(&str, &[u8])]) -> Intake {
    read_with(logs, |_| {})
}

fn read_with(logs: &[(&str, &[u8])], change: impl Fn(&mut Lab)) -> Intake {
    let folder = tempfile::tempdir().unwrap();
    write(folder.path(), logs);
    let mut lab = Lab::bare(folder.path());
    change(&mut lab);
    read_logs(&lab, NOW, &Silent)
}

fn write(root: &Path, logs: &[(&str, &[u8])]) {
    std::fs::create_dir_all(root.join("logs")).unwrap();
    for (name, bytes) in logs {
        std::fs::write(root.join("logs").join(name), bytes).unwrap();
    }
}

fn column(intake: &Intake, measure: &Measure) -> Vec<f64> {
    let of_cabinet = |of: &CabinetChecks| match of.column(measure) {
        Some(values) => values.to_vec(),
        None => vec![f64::NAN; of.len()],
    };
    let all: Vec<f64> = intake.checks.all().iter().flat_map(of_cabinet).collect();
    if all.iter().all(|value| value.is_nan()) {
        return Vec::new();
    }
    all
}

/// Issues as texts, for messages of failed assertions.
fn told(intake: &Intake) -> String {
    let texts = intake.issues.iter().map(|i| {
        format!(
            "{} {:?} {:?} {:?}: {} | {:?} | {:?} ×{}\n",
            i.place.path,
            i.place.sheet,
            i.place.line,
            i.place.column,
            i.problem,
            i.hint,
            i.effect,
            i.count
        )
    });
    texts.collect()
}

fn rejected(intake: &Intake) -> Vec<&crate::issue::Issue> {
    intake
        .issues
        .iter()
        .filter(|i| i.effect != Effect::Kept)
        .collect()
}
