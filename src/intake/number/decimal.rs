//! Which decimal sign a column uses, from its samples, the rest of its file, what
//! `lab.toml` says, and what its measure can be.
//!
//! One cell with `35,1` settles a column; `1,234` alone settles nothing.

use super::body::Proof;
use super::{Style, marks};
use crate::intake::plausible::Range;
use crate::intake::unit::Conversion;
use crate::issue::shown;

/// What samples show about the decimal sign.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Evidence {
    /// The point.
    Point,
    /// The comma.
    Comma,
    /// Whole numbers only: both conventions read them alike.
    Either,
    /// Every mark stands before exactly three digits; the first such cell.
    Ambiguous(String),
    /// Both are used: one cell that proves the point, one that proves the comma.
    Mixed(String, String),
}

/// What samples show; cells without a number say nothing.
///
/// ```
/// use steadyfog::intake::number::{infer, Evidence};
/// assert_eq!(infer(["35", "35,1"]), Evidence::Comma);
/// assert_eq!(infer(["1,234"]), Evidence::Ambiguous("1,234".into()));
/// ```
pub fn infer<'a>(samples: impl IntoIterator<Item = &'a str>) -> Evidence {
    let mut point: Option<&str> = None;
    let mut comma: Option<&str> = None;
    let mut either: Option<&str> = None;
    for sample in samples {
        if marks::is_nothing(sample) {
            continue;
        }
        let Some(body) = marks::number_of(sample) else {
            continue;
        };
        if body.looks_like_date() {
            continue;
        }
        let slot = match body.proof() {
            Proof::Nothing => continue,
            Proof::Point => &mut point,
            Proof::Comma => &mut comma,
            Proof::Either(_) => &mut either,
        };
        slot.get_or_insert(sample);
    }
    match (point, comma, either) {
        (Some(p), Some(c), _) => Evidence::Mixed(shown(p), shown(c)),
        (Some(_), None, _) => Evidence::Point,
        (None, Some(_), _) => Evidence::Comma,
        (None, None, Some(e)) => Evidence::Ambiguous(shown(e)),
        (None, None, None) => Evidence::Either,
    }
}

/// How a column's numbers are written, with the reason as a sentence.
///
/// `declared` is `decimal` of `lab.toml` and wins. `rest` is the evidence of all other
/// columns of the file. `measure` is what the column holds: an ambiguous column whose
/// cells make sense in one convention only (a relative density is 1.029, never 1029)
/// is settled by that.
///
/// # Errors
/// The problem as a sentence; the hint that goes with it is the `decimal` line of
/// `lab.toml`.
pub fn settle<'a>(
    own: &Evidence,
    rest: &Evidence,
    declared: Option<char>,
    measure: Option<(Range, Conversion)>,
    samples: impl IntoIterator<Item = &'a str>,
) -> Result<(Style, String), String> {
    if let Some(style) = declared.and_then(Style::declared) {
        return Ok((style, "lab.toml gives the decimal sign".into()));
    }
    let rest_sign = match rest {
        Evidence::Point => Some('.'),
        Evidence::Comma => Some(','),
        _ => None,
    };
    match own {
        Evidence::Point => Ok((Style::POINT, "its cells have a decimal point".into())),
        Evidence::Comma => Ok((Style::COMMA, "its cells have a decimal comma".into())),
        Evidence::Mixed(p, c) => Ok((
            Style::PER_CELL,
            format!("its cells mix decimal points ({p}) and commas ({c}); each is read by itself"),
        )),
        Evidence::Either => Ok(match rest_sign {
            Some('.') => (Style::POINT, "other columns have a decimal point".into()),
            Some(_) => (Style::COMMA, "other columns have a decimal comma".into()),
            None => (Style::PER_CELL, "its cells are whole numbers".into()),
        }),
        Evidence::Ambiguous(example) => {
            let samples: Vec<&str> = samples.into_iter().collect();
            let fits = |sign: char| {
                measure.is_some_and(|(range, conversion)| {
                    samples
                        .iter()
                        .filter_map(|s| super::read(s, settled(sign)).value())
                        .all(|v| range.contains(conversion.apply(v)))
                })
            };
            // What the measure can be outweighs the other columns: gravities are often
            // copied from a meter that writes points into a log that writes commas.
            match (fits('.'), fits(','), rest_sign) {
                (true, false, _) => Ok((
                    settled('.'),
                    format!("{example} is possible with a decimal point only"),
                )),
                (false, true, _) => Ok((
                    settled(','),
                    format!("{example} is possible with a decimal comma only"),
                )),
                (_, _, Some(sign)) => Ok((
                    settled(sign),
                    format!(
                        "other columns have a decimal {}",
                        if sign == ',' { "comma" } else { "point" }
                    ),
                )),
                _ => Err(format!(
                    "{example} may be a number with three decimals or one in the thousands, \
                     and no other cell tells which"
                )),
            }
        }
    }
}

/// The style of a settled column: the other sign then marks thousands.
fn settled(sign: char) -> Style {
    Style {
        decimal: if sign == ',' {
            super::Decimal::Comma
        } else {
            super::Decimal::Point
        },
        grouped: true,
    }
}
