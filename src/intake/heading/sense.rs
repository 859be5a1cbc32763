//! From the words of a heading to its role.

use super::HeadingReading;

pub(super) fn read(heading: &str) -> HeadingReading {
    HeadingReading {
        why: format!("nothing is known of {heading}"),
        ..HeadingReading::default()
    }
}
