//! The verdict on a pair in a sentence for the person who keeps the logs.
//!
//! It rounds; it decides nothing that is not decided in `verdict`.

use super::verdict::{Judged, MOST_CHECKS};
use super::{Settings, Verdict};
use crate::signal::wording::{decimals_for, number, with_unit};

/// What there is to say.
#[derive(Debug, Clone, Copy)]
pub(super) struct Case {
    /// `None` when chance cannot be judged.
    pub(super) judged: Option<Judged>,
    pub(super) difference: f64,
    /// Expanded.
    pub(super) u_instruments: f64,
    pub(super) one_instrument: bool,
    pub(super) copies: bool,
    /// Whether one of them has one result only.
    pub(super) single_result: bool,
    pub(super) more_checks: Option<u64>,
    pub(super) of_labs: bool,
    /// Labs with one cabinet among the two.
    pub(super) single: usize,
}

/// The sentence.
pub(super) fn says(case: &Case, settings: &Settings) -> String {
    let Some(judged) = case.judged else {
        return without_chance(case).to_owned();
    };
    let words = Words::new(case, &judged, settings);
    let mut text = match judged.verdict {
        Verdict::Differ => words.differ(),
        Verdict::Agree => words.agree(),
        Verdict::CannotTell => words.cannot_tell(),
    };
    match case.single {
        0 => {}
        1 => text.push_str(
            " One of the two labs has a single cabinet: how its cabinets differ among \
             themselves is not counted.",
        ),
        _ => text.push_str(
            " Each lab has a single cabinet: how cabinets of one lab differ among themselves \
             is not counted.",
        ),
    }
    text
}

fn without_chance(case: &Case) -> &'static str {
    if case.copies {
        "It cannot be told whether they differ: the two series are equal reading by reading, \
         so one of them is probably a copy of the other."
    } else if case.single_result {
        "It cannot be told whether they differ by more than chance: one of them has a single \
         result, which shows nothing of chance."
    } else {
        "It cannot be told whether they differ by more than chance: all readings of one are \
         equal and the step in which they were written is not known; state the resolution of \
         its instrument."
    }
}

struct Words<'a> {
    case: &'a Case,
    judged: &'a Judged,
    settings: &'a Settings,
    decimals: usize,
}

impl<'a> Words<'a> {
    fn new(case: &'a Case, judged: &'a Judged, settings: &'a Settings) -> Words<'a> {
        // A margin keeps two digits of its own.
        let of_margin = settings.margin.filter(|m| *m > 0.0).map_or(0, |margin| {
            (0..=6)
                .find(|&d| {
                    let scaled = margin * 10_f64.powi(d);
                    (scaled - scaled.round()).abs() < 1e-6
                })
                .map_or(0, |d| d as usize)
                .min(decimals_for(0.1 * margin))
        });
        // The last digit means something beside the total uncertainty; the interval by
        // chance, which may be far narrower, does not shrink to one number.
        let mut decimals = decimals_for(judged.total).max(of_margin);
        while judged.chance > 0.0
            && decimals < 6
            && 10_f64.powi(-(decimals as i32)) > 2.0 * judged.chance
        {
            decimals += 1;
        }
        Words {
            case,
            judged,
            settings,
            decimals,
        }
    }

    fn number(&self, value: f64) -> String {
        number(value, self.decimals)
    }

    fn with_unit(&self, value: f64) -> String {
        with_unit(&self.number(value), &self.settings.unit)
    }

    fn size(&self) -> String {
        self.with_unit(self.case.difference.abs())
    }

    /// The interval of the difference's size: "0.21 to 0.29".
    fn by_chance(&self) -> String {
        let size = self.case.difference.abs();
        let by = if self.counts_cabinets() {
            "by chance and between cabinets of one lab"
        } else {
            "by chance"
        };
        format!(
            "{} to {} {by}",
            self.number(size - self.judged.chance),
            self.number(size + self.judged.chance)
        )
    }

    /// Whether a lab's cabinets, not only its readings, make the difference uncertain.
    fn counts_cabinets(&self) -> bool {
        self.case.of_labs && self.case.single < 2
    }

    fn the_instruments(&self) -> String {
        if self.case.one_instrument {
            // Its offset cancels; a funnel's area, say, does not.
            "the parts that each cabinet has of its own".to_owned()
        } else if self.case.of_labs {
            format!("the {}", self.settings.instruments)
        } else {
            format!("the two {}", self.settings.instruments)
        }
    }

    fn up_to(&self) -> String {
        self.with_unit(self.case.u_instruments)
    }

    fn differ(&self) -> String {
        let explained = if self.case.one_instrument {
            let one = &self.settings.instrument;
            if self.case.u_instruments > 0.0 {
                format!(
                    "one {one} read both and {} explain up to {} of it",
                    self.the_instruments(),
                    self.up_to()
                )
            } else {
                format!("one {one} read both and explains none of it")
            }
        } else if self.case.u_instruments > 0.0 {
            format!(
                "{} explain up to {} of it",
                self.the_instruments(),
                self.up_to()
            )
        } else {
            format!("{} were taken as exact", self.the_instruments())
        };
        format!(
            "They differ by more than instruments and chance explain: {}, {}; {explained}.",
            self.size(),
            self.by_chance(),
        )
    }

    fn agree(&self) -> String {
        let margin = self.with_unit(self.settings.margin.unwrap_or(0.0));
        let size = self.case.difference.abs();
        if size > self.judged.total {
            return format!(
                "They agree within ± {margin}: the difference of {} is more than instruments and \
                 chance explain, and too small to matter here.",
                self.size()
            );
        }
        format!(
            "They agree within ± {margin}: the difference is {}, at most {} with chance and \
             instruments counted.",
            self.size(),
            self.with_unit(size + self.judged.equivalence)
        )
    }

    fn cannot_tell(&self) -> String {
        let size = self.case.difference.abs();
        let beyond_chance = size > self.judged.chance;
        let counted = self.case.u_instruments > 0.0;
        let found = if counted && beyond_chance && size <= self.case.u_instruments {
            format!(
                "The difference of {} is within what {} explain (up to {})",
                self.size(),
                self.the_instruments(),
                self.up_to()
            )
        } else if beyond_chance {
            format!(
                "The difference of {} is more than chance explains ({}) but not more than \
                 chance and {} together, which explain up to {}",
                self.size(),
                self.by_chance(),
                self.the_instruments(),
                self.up_to()
            )
        } else {
            let also = if counted {
                format!(
                    ", and {} explain up to {}",
                    self.the_instruments(),
                    self.up_to()
                )
            } else {
                String::new()
            };
            format!(
                "It cannot be told with these data whether they differ: {}, {}{also}",
                self.size(),
                self.by_chance(),
            )
        };
        format!("{found}; {}.", self.what_would_tell())
    }

    fn what_would_tell(&self) -> String {
        match self.case.more_checks {
            Some(1) => "one more check of each would tell".to_owned(),
            Some(more) if more > MOST_CHECKS => {
                "it would take more than 10\u{202f}000 more checks of each to tell".to_owned()
            }
            Some(more) => format!("about {} more checks of each would tell", rounded_up(more)),
            None if self.counts_cabinets() => {
                "more checks would not tell, more cabinets might".to_owned()
            }
            None if self.case.u_instruments > 0.0 && self.case.one_instrument => format!(
                "no number of checks would tell: measure {} anew, and compare again",
                self.the_instruments()
            ),
            None if self.case.u_instruments > 0.0 => format!(
                "no number of checks would tell: calibrate {} against one standard, or \
                 exchange them, and compare again",
                self.the_instruments()
            ),
            None => "no number of checks would tell so small a difference".to_owned(),
        }
    }
}

/// To two digits, upward: it is an estimate.
fn rounded_up(checks: u64) -> u64 {
    let step = match checks {
        0..=19 => 1,
        20..=99 => 5,
        100..=999 => 10,
        _ => 100,
    };
    checks.div_ceil(step) * step
}
