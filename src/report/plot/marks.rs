//! What stands above the panels: event flags and signal bars, in lanes that never overlap.

use super::axis::Scale;
use super::canvas::{Anchor, Canvas, Look, text_width};
use super::palette::{EVENT, MUTED, PAPER, SIGNAL};
use crate::report::format::{clean, count, shortened};
use crate::report::wire::Signal;

/// Size of the texts.
const TEXT: f64 = 10.0;
/// Height of a lane.
pub(super) const LANE: f64 = 14.0;
/// Lanes for flags, and lanes for signals.
const MOST_LANES: usize = 4;
/// Longest label of an event.
const LONGEST: usize = 30;

/// An event to flag.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Flag {
    /// When, in days.
    pub(super) day: f64,
    /// What happened.
    pub(super) what: String,
    /// Whether it opens a stage, which draws its pole through the panels.
    pub(super) opens_stage: bool,
}

/// Something placed in a lane: pixels it takes, and where its label stands.
#[derive(Debug, Clone, PartialEq)]
struct Placed {
    lane: usize,
    label_at: f64,
    anchor: Anchor,
}

/// What is placed: the pixels it spans and the width of its label.
#[derive(Debug, Clone, Copy)]
struct Mark {
    span: (f64, f64),
    label: f64,
    /// Whether a pole hangs from its left end through every lane below.
    pole: bool,
}

/// Lanes from the top down, each remembering the stretches taken.
#[derive(Debug, Default)]
struct Lanes {
    taken: [Vec<(f64, f64)>; MOST_LANES],
    used: usize,
}

impl Lanes {
    /// Puts a mark in the first lane with room, its label to the right or, where that
    /// would pass the edge, to the left; `None` when all lanes are full there.
    fn place(&mut self, mark: Mark, edges: (f64, f64)) -> Option<Placed> {
        let (a, b) = mark.span;
        let right = (a, b + 6.0 + mark.label);
        let left = (a - 6.0 - mark.label, b);
        for lane in 0..MOST_LANES {
            let (upper, below) = self.taken.split_at_mut_checked(lane + 1)?;
            let here = upper.last_mut()?;
            let crosses = |stretches: &Vec<(f64, f64)>| {
                stretches
                    .iter()
                    .any(|&(p, q)| (p - 3.0..=q + 3.0).contains(&a))
            };
            if mark.pole && below.iter().any(crosses) {
                continue;
            }
            let free = |(x, y): (f64, f64)| here.iter().all(|&(p, q)| y < p - 6.0 || x > q + 6.0);
            let (span, label_at, anchor) = if right.1 <= edges.1 && free(right) {
                (right, b + 6.0, Anchor::Start)
            } else if left.0 >= edges.0 && free(left) {
                (left, a - 6.0, Anchor::End)
            } else {
                continue;
            };
            here.push(span);
            if mark.pole {
                below.iter_mut().for_each(|lane| lane.push((a, a)));
            }
            self.used = self.used.max(lane + 1);
            return Some(Placed {
                lane,
                label_at,
                anchor,
            });
        }
        None
    }
}

fn look(anchor: Anchor) -> Look {
    Look {
        size: TEXT,
        colour: EVENT,
        anchor,
        bold: false,
    }
}

/// Flags laid out in lanes.
pub(super) struct Flags {
    placed: Vec<(f64, Flag, Option<Placed>)>,
    lanes: usize,
}

impl Flags {
    /// Lays the flags out between the pixels of `edges`.
    pub(super) fn new(flags: Vec<Flag>, x: Scale, edges: (f64, f64)) -> Flags {
        let mut lanes = Lanes::default();
        let placed = flags
            .into_iter()
            .map(|flag| {
                let px = x.px(flag.day);
                let label = shortened(&flag.what, LONGEST);
                let mark = Mark {
                    span: (px, px + 7.0),
                    label: text_width(&label, TEXT),
                    pole: true,
                };
                let place = lanes.place(mark, edges);
                (px, flag, place)
            })
            .collect();
        Flags {
            placed,
            lanes: lanes.used,
        }
    }

    /// The height they take.
    pub(super) fn height(&self) -> f64 {
        self.lanes as f64 * LANE
    }

    /// Draws them from `top` down; the poles end at `bottom`, those of notes at `panel_top`.
    pub(super) fn draw(&self, c: &mut Canvas<'_>, top: f64, panel_top: f64, bottom: f64) {
        for (px, flag, placed) in &self.placed {
            let lane = placed
                .as_ref()
                .map_or(self.lanes.saturating_sub(1), |p| p.lane);
            let y = top + lane as f64 * LANE + LANE / 2.0;
            let foot = if flag.opens_stage {
                bottom
            } else {
                panel_top + 6.0
            };
            c.line(&[(*px, y - 4.0), (*px, foot)], EVENT, 1.2);
            let pennant = [(*px, y - 5.0), (*px + 7.0, y - 1.5), (*px, y + 2.0)];
            c.polygon(&pennant, EVENT);
            if let Some(p) = placed {
                let label = shortened(&flag.what, LONGEST);
                c.text((p.label_at, y), &label, look(p.anchor));
            }
        }
    }
}

/// The bar of a signal.
struct Bar {
    from: f64,
    known: f64,
    to: f64,
    label: String,
    explained: bool,
    ongoing: bool,
    placed: Placed,
}

/// Signals laid out in lanes.
pub(super) struct Bars {
    bars: Vec<Bar>,
    lanes: usize,
    left_out: u64,
}

impl Bars {
    /// Lays the signals out; `day_of` reads a wire time.
    pub(super) fn new(
        signals: &[Signal],
        x: Scale,
        edges: (f64, f64),
        day_of: impl Fn(&str) -> Option<f64>,
    ) -> Bars {
        let mut lanes = Lanes::default();
        let mut bars = Vec::new();
        let mut left_out = 0;
        for signal in signals {
            let times = (
                day_of(&signal.starts_at),
                day_of(&signal.known_at),
                day_of(&signal.last_at),
            );
            let (Some(start), Some(known), Some(last)) = times else {
                continue;
            };
            let (from, to) = (
                x.clamped(start),
                x.clamped(last).max(x.clamped(start) + 3.0),
            );
            let arrow = match signal.direction.as_str() {
                "up" => " ↑",
                "down" => " ↓",
                _ => "",
            };
            let explained = signal.explained_by.is_some();
            let note = if explained { ", explained" } else { "" };
            let label = format!("{}{arrow}{note}", clean(&signal.rule));
            let mark = Mark {
                span: (from, to),
                label: text_width(&label, TEXT),
                pole: false,
            };
            match lanes.place(mark, edges) {
                Some(placed) => bars.push(Bar {
                    from,
                    known: x.clamped(known),
                    to,
                    label,
                    explained,
                    ongoing: signal.ongoing,
                    placed,
                }),
                None => left_out += 1,
            }
        }
        Bars {
            bars,
            lanes: lanes.used,
            left_out,
        }
    }

    /// The height they take.
    pub(super) fn height(&self) -> f64 {
        let more = if self.left_out > 0 { LANE } else { 0.0 };
        self.lanes as f64 * LANE + more
    }

    /// Draws them from `top` down: bar, diamond where it was known, arrow while it goes on.
    pub(super) fn draw(&self, c: &mut Canvas<'_>, top: f64, right: f64) {
        for bar in &self.bars {
            let y = top + bar.placed.lane as f64 * LANE + LANE / 2.0;
            c.block((bar.from, y - 1.5), (bar.to, y + 1.5), SIGNAL);
            if bar.explained {
                c.block(
                    (bar.from + 0.75, y - 0.75),
                    (bar.to - 0.75, y + 0.75),
                    PAPER,
                );
            }
            if bar.ongoing {
                let tip = [(bar.to, y - 4.0), (bar.to + 5.0, y), (bar.to, y + 4.0)];
                c.polygon(&tip, SIGNAL);
            }
            c.diamond((bar.known, y), 4.0, SIGNAL);
            let look = Look {
                colour: SIGNAL,
                ..look(bar.placed.anchor)
            };
            c.text((bar.placed.label_at + 1.0, y), &bar.label, look);
        }
        if self.left_out > 0 {
            let y = top + self.lanes as f64 * LANE + LANE / 2.0;
            let more = count(self.left_out, "more signal", "more signals");
            let look = Look {
                colour: MUTED,
                ..look(Anchor::End)
            };
            c.text((right, y), &format!("{more}, not drawn"), look);
        }
    }
}

/// Labels at the right end of lines, pushed apart so that none covers another.
///
/// Takes the wanted heights in any order and gives heights in the same order, at least
/// `apart` from one another and inside `top..bottom` as far as there is room.
pub(super) fn spread(wanted: &[f64], apart: f64, top: f64, bottom: f64) -> Vec<f64> {
    let mut order: Vec<usize> = (0..wanted.len()).collect();
    let at = |i: usize| wanted.get(i).copied().unwrap_or(top);
    order.sort_by(|&a, &b| at(a).total_cmp(&at(b)).then(a.cmp(&b)));
    let mut placed = wanted.to_vec();
    let mut floor = top;
    for &i in &order {
        if let Some(y) = placed.get_mut(i) {
            *y = y.max(floor);
            floor = *y + apart;
        }
    }
    let mut ceiling = bottom;
    for &i in order.iter().rev() {
        if let Some(y) = placed.get_mut(i) {
            *y = y.min(ceiling);
            ceiling = *y - apart;
        }
    }
    placed
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lanes_never_overlap_and_labels_stay_inside() {
        let mut lanes = Lanes::default();
        let mut seen: Vec<(usize, f64, f64, f64)> = Vec::new();
        for i in 0..40 {
            let x = f64::from(i) * 37.0 % 500.0;
            let mark = Mark {
                span: (x, x + 7.0),
                label: 80.0,
                pole: true,
            };
            if let Some(p) = lanes.place(mark, (0.0, 500.0)) {
                let span = match p.anchor {
                    Anchor::Start => (x, p.label_at + 80.0),
                    _ => (p.label_at - 80.0, x + 7.0),
                };
                assert!(span.0 >= 0.0 && span.1 <= 500.0);
                for &(lane, a, b, pole) in &seen {
                    assert!(lane != p.lane || span.1 < a || span.0 > b, "labels meet");
                    assert!(p.lane >= lane || x < a || x > b, "a pole crosses a label");
                    assert!(
                        lane >= p.lane || pole < span.0 || pole > span.1,
                        "a pole crosses"
                    );
                }
                seen.push((p.lane, span.0, span.1, x));
            }
        }
        assert!(seen.len() >= 6 && seen.len() < 40, "{}", seen.len());
    }

    #[test]
    fn labels_are_pushed_apart() {
        let placed = spread(&[50.0, 52.0, 10.0, 99.0], 12.0, 0.0, 100.0);
        assert_eq!(placed, [50.0, 62.0, 10.0, 99.0]);
        let crowded = spread(&[98.0, 99.0, 100.0], 12.0, 0.0, 100.0);
        assert_eq!(crowded, [76.0, 88.0, 100.0]);
    }
}
