//! The records behind the review: inputs, rejected cells, profile values, rules.

use super::{HtmlError, Templates, issue_table, profile_value};
use crate::report::wire::Review;
use serde::Serialize;

/// Issues listed at most.
const MOST_ISSUES: usize = 400;

/// What `records.html` places.
#[derive(Serialize)]
pub(super) struct Records {
    inputs: Vec<Vec<String>>,
    /// The table as markup.
    issues: String,
    issues_note: String,
    profiles: Vec<ProfileView>,
    rules_name: String,
    rules_source: String,
    rules: Vec<(String, String)>,
}

#[derive(Serialize)]
struct ProfileView {
    title: String,
    id: String,
    values: Vec<[String; 3]>,
}

impl Records {
    pub(super) fn new(review: &Review, templates: &Templates) -> Result<Records, HtmlError> {
        let listed = review.issues.len().min(MOST_ISSUES);
        Ok(Records {
            inputs: review
                .inputs
                .iter()
                .map(|i| {
                    vec![
                        i.path.clone(),
                        i.rows.to_string(),
                        i.checks.to_string(),
                        i.rejected_cells.to_string(),
                        i.sha256.clone(),
                    ]
                })
                .collect(),
            issues: issue_table(templates, review.issues.iter().take(listed))?,
            issues_note: if listed < review.issues.len() {
                format!(
                    "The first {listed} of {} entries; review.json holds all.",
                    review.issues.len()
                )
            } else {
                String::new()
            },
            profiles: review
                .profiles
                .iter()
                .map(|p| ProfileView {
                    title: p.title.clone(),
                    id: p.id.clone(),
                    values: p.values.iter().map(profile_value).collect(),
                })
                .collect(),
            rules_name: review.rules.name.clone(),
            rules_source: review.rules.source.clone(),
            rules: review
                .rules
                .rules
                .iter()
                .map(|r| (r.name.clone(), r.asks.clone()))
                .collect(),
        })
    }
}
