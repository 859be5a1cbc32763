//! How a probability of chance is told: never as zero, never with digits it has not.

/// The p-value as text for a sentence: "p < 0.001", "p = 0.012", "p = 0.34", "p > 0.99".
///
/// Three decimals below 0.1, two above; "p unknown" for anything but a number in 0..=1.
///
/// ```
/// use steadyfog::stats::p_text;
/// assert_eq!(p_text(1e-9), "p < 0.001");
/// assert_eq!(p_text(0.0123), "p = 0.012");
/// ```
pub fn p_text(p: f64) -> String {
    if !(0.0..=1.0).contains(&p) {
        "p unknown".to_owned()
    } else if p < 0.001 {
        "p < 0.001".to_owned()
    } else if p > 0.99 {
        "p > 0.99".to_owned()
    } else if p < 0.1 {
        format!("p = {p:.3}")
    } else {
        format!("p = {p:.2}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_probability_is_told_as_zero_or_one() {
        for exponent in 0..=300 {
            let text = p_text(10f64.powi(-exponent));
            assert_ne!(text, "p = 0.00");
            assert_ne!(text, "p = 0.000");
        }
        assert_eq!(p_text(0.0), "p < 0.001");
        assert_eq!(p_text(0.001), "p = 0.001");
        assert_eq!(p_text(0.0999), "p = 0.100");
        assert_eq!(p_text(0.25), "p = 0.25");
        assert_eq!(p_text(1.0), "p > 0.99");
        assert_eq!(p_text(f64::NAN), "p unknown");
        assert_eq!(p_text(1.2), "p unknown");
    }
}
