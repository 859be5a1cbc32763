//! How names of cabinets are compared: case, spaces, hyphens and underscores folded.
//!
//! It does not bring together names that differ in more than that ("Cab 1" and
//! "Cab1"): those need an alias in `lab.toml`, because two cabinets taken for one
//! would be worse than one taken for two.

use unicode_normalization::UnicodeNormalization;

/// The identifier of a written name: lower-case letters and digits joined by single hyphens.
///
/// Any script's letters stay; everything else parts words. Empty when the name holds
/// no letter or digit.
///
/// ```
/// use steadyfog::lab::fold_name;
/// assert_eq!(fold_name("  Hall B / CAB_01 "), "hall-b-cab-01");
/// assert_eq!(fold_name("Kammer Süd"), "kammer-süd");
/// assert_eq!(fold_name("--"), "");
/// ```
pub fn fold_name(written: &str) -> String {
    let mut folded = String::with_capacity(written.len());
    let mut parted = false;
    for c in written.nfkc().flat_map(char::to_lowercase) {
        if c.is_alphanumeric() {
            if parted && !folded.is_empty() {
                folded.push('-');
            }
            parted = false;
            folded.push(c);
        } else {
            parted = true;
        }
    }
    folded
}
