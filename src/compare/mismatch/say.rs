//! The sentences of a pair's explanation; numbers are rounded here for reading.
//!
//! Nothing is decided or computed here beyond rounding. All sentences speak of what goes
//! with what, never of what causes what.

use super::explain::{Amount, PairExplanation, Row};
use super::input::CouponDifference;
use super::sensitivity::Sensitivities;

/// 97.5 % point of the normal distribution.
pub(super) const NORMAL_95: f64 = 1.959_963_984_540_054;
/// Characteristics that the explanation of a pair speaks of at most; the rows have all.
const MOST_NAMED: usize = 4;

/// A number with so many decimals, a true minus sign and no negative zero.
pub(super) fn fixed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(digits) if digits.bytes().all(|b| matches!(b, b'0' | b'.')) => digits.to_owned(),
        Some(digits) => format!("−{digits}"),
        None => text,
    }
}

/// Decimals that show a number of that size with two digits, at most eight.
fn decimals_for(size: f64) -> usize {
    if size > 0.0 && size.is_finite() {
        (1.0 - size.log10().floor()).clamp(0.0, 8.0) as usize
    } else {
        0
    }
}

/// Two significant digits without trailing zeros.
pub(super) fn short(value: f64) -> String {
    let text = fixed(value, decimals_for(value.abs()));
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

fn with_unit(value: f64, unit: &str) -> String {
    match unit {
        "" => short(value),
        "%" => format!("{} %", short(value)),
        _ => format!("{} {unit}", short(value)),
    }
}

/// Decimals of a mass loss, from the half-width of its interval: whole g/m² from 2 up.
fn loss_decimals(half_width: Option<f64>) -> usize {
    match half_width {
        Some(width) if width > 0.0 && width < 0.2 => 2,
        Some(width) if width > 0.0 && width < 2.0 => 1,
        _ => 0,
    }
}

/// A point and its interval: `−7 g/m² (−10 to −4)`.
fn amount(of: Amount, unit: &str, decimals: usize) -> String {
    let (low, high) = (fixed(of.ends.low, decimals), fixed(of.ends.high, decimals));
    format!("{}{unit} ({low} to {high})", fixed(of.point, decimals))
}

fn half(low: f64, high: f64) -> Option<f64> {
    Some(0.5 * (high - low))
}

fn loss(of: Amount) -> String {
    amount(of, " g/m²", loss_decimals(half(of.ends.low, of.ends.high)))
}

/// The coupon difference with the decimals its interval allows.
fn whole(told_half_width: Option<f64>, difference: f64) -> String {
    let decimals = match told_half_width {
        None if difference.abs() < 2.0 => 1,
        width => loss_decimals(width),
    };
    format!("{} g/m²", fixed(difference, decimals))
}

fn whole_of(coupons: &CouponDifference) -> String {
    whole(coupons.u.map(|u| NORMAL_95 * u), coupons.difference)
}

/// A row in a sentence or two.
pub(super) fn row(row: &Row<'_>, coupons: &CouponDifference, known: &Sensitivities) -> String {
    let part = &row.part;
    let named = &row.from.characteristic;
    let size = with_unit(part.difference.abs(), &part.unit);
    if part.instruments_explain {
        let mut text = within_instruments(row);
        if let Some(real) = part.mass_loss_if_real {
            text.push_str(&format!(" Were it real, {} would go with it.", loss(real)));
        }
        return text;
    }
    let (lower, higher) = sides(part.difference, coupons);
    let measured = if part.difference == 0.0 {
        format!("No difference in {} was measured", named.spoken)
    } else {
        format!(
            "{} is {size} lower in {lower} than in {higher}",
            capital(&named.spoken)
        )
    };
    let Some(mass) = part.mass_loss else {
        let reason = known
            .unknown
            .get(&named.id)
            .map_or("it was not asked for", String::as_str);
        return format!("{measured}; what goes with it is not known: {reason}.");
    };
    let nothing = if mass.ends.cover_zero() {
        ", which may be nothing"
    } else {
        ""
    };
    match part.share {
        Some(share) if share.point >= 0.0 => format!(
            "{measured}: about {} of the {} goes with it{nothing}, a share of {}.",
            loss(mass),
            whole_of(coupons),
            amount(share, "", 2)
        ),
        Some(share) => format!(
            "{measured}: about {} goes with it{nothing}, against the coupon difference of {} (a share of {}).",
            loss(mass),
            whole_of(coupons),
            amount(share, "", 2)
        ),
        None => format!(
            "{measured}: about {} goes with it{nothing}; no share is given.",
            loss(mass)
        ),
    }
}

fn within_instruments(row: &Row<'_>) -> String {
    let unit = &row.part.unit;
    format!(
        "The {} difference of {} is within what the two instruments explain ({}); nothing is laid to it.",
        row.from.characteristic.spoken,
        with_unit(row.part.difference.abs(), unit),
        with_unit(super::explain::COVERAGE * row.from.u_instruments, unit)
    )
}

/// The participant with the lower and the one with the higher value.
pub(super) fn sides(difference: f64, coupons: &CouponDifference) -> (&str, &str) {
    if difference < 0.0 {
        (&coupons.a_name, &coupons.b_name)
    } else {
        (&coupons.b_name, &coupons.a_name)
    }
}

pub(super) fn capital(text: &str) -> String {
    // pH keeps its small letter.
    if text == "pH" {
        return text.to_owned();
    }
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().collect::<String>() + letters.as_str()
    })
}

/// The explanation of a pair.
pub(super) fn pair(told: &PairExplanation, rows: &[Row<'_>], coupons: &CouponDifference) -> String {
    let width = told.ends.and_then(|ends| half(ends.low, ends.high));
    let mut sentences = vec![coupon_sentence(told, coupons, width)];
    let laid: Vec<&Row<'_>> = rows
        .iter()
        .filter(|row| row.part.mass_loss.is_some())
        .collect();
    for row in laid.iter().take(MOST_NAMED) {
        sentences.push(laid_sentence(row, told, coupons, width));
    }
    if laid.len() > MOST_NAMED {
        sentences.push(format!(
            "{} more are in the table.",
            laid.len() - MOST_NAMED
        ));
    }
    let covered: Vec<&Row<'_>> = (rows.iter())
        .filter(|row| row.part.instruments_explain)
        .collect();
    match covered.as_slice() {
        [] => {}
        [only] => sentences.push(within_instruments(only)),
        several => sentences.push(format!(
            "The differences in {} are within what the instruments explain; nothing is laid to them.",
            listed(&names_of(several))
        )),
    }
    let unknown: Vec<&Row<'_>> = (rows.iter())
        .filter(|row| row.part.mass_loss.is_none() && !row.part.instruments_explain)
        .collect();
    if !unknown.is_empty() {
        sentences.push(format!(
            "Nothing can be laid to {}, since no sensitivity is known.",
            listed(&names_of(&unknown))
        ));
    }
    if rows.is_empty() {
        sentences.push("No daily check of the two can be compared.".to_owned());
    }
    let explained = laid.iter().any(|row| row.part.difference != 0.0);
    match (told.unexplained, told.unexplained_ends) {
        (Some(point), Some(ends)) if explained => {
            sentences.push(format!(
                "{} remain unexplained.",
                loss(Amount { point, ends })
            ));
        }
        (Some(point), None) if explained => {
            sentences.push(format!("{} remain unexplained.", whole(None, point)));
        }
        _ => {}
    }
    if explained {
        sentences.push("This is association, not proof of cause.".to_owned());
    }
    sentences.join(" ")
}

fn names_of<'a>(rows: &[&Row<'a>]) -> Vec<&'a str> {
    rows.iter()
        .map(|row| row.from.characteristic.spoken.as_str())
        .collect()
}

fn coupon_sentence(
    told: &PairExplanation,
    coupons: &CouponDifference,
    width: Option<f64>,
) -> String {
    let (a, b) = (&coupons.a_name, &coupons.b_name);
    let difference = whole(width, told.difference);
    let Some(ends) = told.ends else {
        return format!(
            "The coupon difference of {a} less {b} is {difference}; its uncertainty is not known (two coupons \
             or more in a cabinet would tell it), so neither an interval nor a share can be given."
        );
    };
    let decimals = loss_decimals(width);
    let interval = format!(
        "{} to {}",
        fixed(ends.low, decimals),
        fixed(ends.high, decimals)
    );
    if ends.cover_zero() {
        return format!(
            "The coupon difference of {a} less {b}, {difference} (95 % interval {interval}), may be nothing, so no share of \
             it is given."
        );
    }
    let (lower, higher) = sides(told.difference, coupons);
    format!(
        "Coupons lost {} less in {lower} than in {higher} ({a} less {b}: {difference}, 95 % interval {interval}).",
        whole(width, told.difference.abs())
    )
}

fn laid_sentence(
    row: &Row<'_>,
    told: &PairExplanation,
    coupons: &CouponDifference,
    width: Option<f64>,
) -> String {
    let part = &row.part;
    let Some(mass) = part.mass_loss else {
        return String::new();
    };
    let spoken = &row.from.characteristic.spoken;
    if part.difference == 0.0 {
        return format!("No difference in {spoken} was measured.");
    }
    let (lower, _) = sides(part.difference, coupons);
    let lead = format!(
        "{}, {} lower in {lower}, goes with about",
        capital(spoken),
        with_unit(part.difference.abs(), &part.unit)
    );
    let decimals = loss_decimals(half(mass.ends.low, mass.ends.high));
    let (low, high) = (
        fixed(mass.ends.low, decimals),
        fixed(mass.ends.high, decimals),
    );
    match part.share {
        Some(share) if share.point >= 0.0 => format!(
            "{lead} {} of the {} ({low} to {high}).",
            fixed(mass.point, decimals),
            whole(width, told.difference)
        ),
        Some(_) => format!("{lead} {}, the other way.", loss(mass)),
        None => format!("{lead} {}.", loss(mass)),
    }
}

/// "a", "a and b", "a, b and c".
pub(super) fn listed(names: &[&str]) -> String {
    match names.split_last() {
        None => String::new(),
        Some((last, [])) => (*last).to_owned(),
        Some((last, before)) => format!("{} and {last}", before.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short_and_signed_for_reading() {
        assert_eq!(short(0.08), "0.08");
        assert_eq!(short(0.25), "0.25");
        assert_eq!(short(-1.0), "−1");
        assert_eq!(short(100.0), "100");
        assert_eq!(short(0.0), "0");
        assert_eq!(short(0.00123), "0.0012");
        assert_eq!(fixed(-0.04, 1), "0.0");
        assert_eq!(listed(&["a", "b", "c"]), "a, b and c");
        assert_eq!(listed(&["a"]), "a");
        assert_eq!(capital("collection rate"), "Collection rate");
        assert_eq!(capital("pH"), "pH");
    }
}
