//! A draft of `lab.toml` from what was understood of the logs.
//!
//! What is known is written as lines in force; what a person must decide stands in
//! comments. The caller writes the file, and never over an existing one.

use super::plan::toml_text;
use super::read::Intake;
use crate::issue::{Effect, Issue};
use crate::lab::Lab;
use std::collections::BTreeSet;
use std::fmt::Write as _;

/// The text of the draft.
///
/// It reads back with no error as it stands: open questions are comments.
pub fn lab_toml(lab: &Lab, intake: &Intake) -> String {
    let mut out = String::from(
        "# lab.toml, drafted from the logs. Read every line before you rely on it.\n\
         # Lines that start with # are questions or suggestions: settle them, then take the # away.\n\n\
         [lab]\n",
    );
    line(&mut out, "name", &lab.name);
    out.push_str(
        "# Zone of the wall clock in the logs; without it times are taken as written.\n\
         # zone = \"Europe/Lisbon\"\n\
         # Which standard the cabinets run to: astm-b117-nss, iso-9227-nss, iso-9227-aass or\n\
         # iso-9227-cass. Without it nothing is judged against conformance limits.\n\
         # profile = \"iso-9227-nss\"\n\
         # Horizontal collecting area of a funnel and length of the collection period:\n\
         # without them, volumes cannot become rates per 80 cm².\n\
         # funnel_area_cm2 = 80\n\
         # collection_hours = 24\n\
         # What a written specific gravity means.\n\
         # gravity = { temperature = \"25 °C\", relative_to = \"density\" }\n",
    );
    for id in intake.checks.cabinets() {
        out.push_str("\n[[cabinet]]\n");
        line(&mut out, "id", id);
        let name = intake.cabinet_names.get(id).map_or(&**id, String::as_str);
        line(&mut out, "name", name);
    }
    let questions = questions(&intake.issues);
    if !questions.is_empty() {
        out.push_str("\n# Open questions. Each names its log, says what is open, and gives the lines that settle it.\n");
    }
    for (place, problem, hint) in questions {
        let _ = write!(out, "\n# {place}: {problem}\n");
        for hint_line in hint.lines() {
            let _ = writeln!(out, "# {hint_line}");
        }
    }
    out
}

fn line(out: &mut String, key: &str, value: &str) {
    let _ = writeln!(out, "{key} = {}", toml_text(value));
}

/// Issues that lines of `lab.toml` settle, each once.
fn questions(issues: &[Issue]) -> Vec<(String, String, String)> {
    let mut seen = BTreeSet::new();
    let mut all = Vec::new();
    for issue in issues {
        let Some(hint) = issue.hint.as_ref().filter(|h| h.contains("[[log]]")) else {
            continue;
        };
        if issue.effect == Effect::Kept || !seen.insert(hint.clone()) {
            continue;
        }
        let place = &issue.place;
        let mut at = one_line(&place.path);
        if let Some(sheet) = &place.sheet {
            at.push_str(&format!(", sheet {}", one_line(sheet)));
        }
        if let Some(column) = &place.column {
            at.push_str(&format!(", column {}", one_line(column)));
        }
        all.push((at, one_line(&issue.problem), hint.clone()));
    }
    all
}

/// A line break in a name must not end the comment.
fn one_line(text: &str) -> String {
    text.split(char::is_control).collect::<Vec<_>>().join(" ")
}
