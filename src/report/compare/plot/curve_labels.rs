//! Where the names of rising curves stand: on the line where nothing is crossed, else in
//! a list in an empty corner, each with a sample of its line.

use super::rows::SMALL;
use crate::report::plot::canvas::{Anchor, At, text_width};

/// Half the height that a name takes.
const HALF: f64 = 7.0;
/// Pixels between a line and its name.
const GAP: f64 = 8.0;
/// A bold name against the width that the canvas takes it to have, in a wide font.
const BOLD: f64 = 1.3;
/// Length of a sample.
const SAMPLE: f64 = 30.0;

/// A curve that wants its name; its points rise from left to right.
pub(super) struct Wanted {
    pub(super) name: String,
    pub(super) curve: Vec<At>,
}

/// Where a name stands.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Label {
    pub(super) at: At,
    pub(super) anchor: Anchor,
    /// A piece of line before the name; `None` where the name touches its curve.
    pub(super) sample: Option<[At; 2]>,
}

/// A box: left, top, right, bottom.
type Area = [f64; 4];

/// A place for each name, in the order wanted.
pub(super) fn place(wanted: &[Wanted], area: Area) -> Vec<Label> {
    let mut taken: Vec<Area> = Vec::new();
    let mut labels: Vec<Option<Label>> = Vec::new();
    for one in wanted {
        let label = beside(one, wanted, &taken, area);
        taken.extend(label.as_ref().map(|(_, area)| *area));
        labels.push(label.map(|(label, _)| label));
    }
    let without: Vec<&Wanted> = wanted
        .iter()
        .zip(&labels)
        .filter(|(_, label)| label.is_none())
        .map(|(one, _)| one)
        .collect();
    let mut listed = list(&without, wanted, &taken, area).into_iter();
    labels
        .into_iter()
        .filter_map(|label| label.or_else(|| listed.next()))
        .collect()
}

/// A place beside the curve where the name crosses no curve and no other name; middle
/// heights first.
fn beside(one: &Wanted, all: &[Wanted], taken: &[Area], area: Area) -> Option<(Label, Area)> {
    let width = text_width(&one.name, SMALL) * BOLD;
    let middle = one.curve.len() / 2;
    let mut order: Vec<usize> = (0..one.curve.len()).collect();
    order.sort_by_key(|i| i.abs_diff(middle));
    for at in order.iter().filter_map(|i| one.curve.get(*i)) {
        let places = [
            (Anchor::Start, at.0 + GAP, at.0 + GAP),
            (Anchor::End, at.0 - GAP, at.0 - GAP - width),
        ];
        for (anchor, x, left) in places {
            let wanted = [left, at.1 - HALF, left + width, at.1 + HALF];
            let inside = wanted[0] >= area[0]
                && wanted[1] >= area[1]
                && wanted[2] <= area[2]
                && wanted[3] <= area[3];
            if inside
                && taken.iter().all(|t| !overlap(t, &wanted))
                && all.iter().all(|c| !crosses(&c.curve, &wanted))
            {
                let label = Label {
                    at: (x, at.1),
                    anchor,
                    sample: None,
                };
                return Some((label, wanted));
            }
        }
    }
    None
}

/// The other names one under another, in the corner where they cross least.
fn list(names: &[&Wanted], all: &[Wanted], taken: &[Area], area: Area) -> Vec<Label> {
    let width = names
        .iter()
        .map(|n| text_width(&n.name, SMALL) * BOLD)
        .fold(0.0, f64::max)
        + SAMPLE
        + 12.0;
    let height = names.len() as f64 * 2.0 * HALF;
    let corners = [
        [area[0], area[1], area[0] + width, area[1] + height],
        [area[2] - width, area[3] - height, area[2], area[3]],
    ];
    let hits = |corner: &Area| {
        all.iter().filter(|c| crosses(&c.curve, corner)).count()
            + taken.iter().filter(|t| overlap(t, corner)).count()
    };
    let Some(corner) = corners.into_iter().min_by_key(hits) else {
        return Vec::new();
    };
    (0..names.len())
        .map(|i| {
            let y = corner[1] + (2.0 * i as f64 + 1.0) * HALF;
            Label {
                at: (corner[0] + SAMPLE + 6.0, y),
                anchor: Anchor::Start,
                sample: Some([(corner[0], y), (corner[0] + SAMPLE, y)]),
            }
        })
        .collect()
}

fn overlap(a: &Area, b: &Area) -> bool {
    a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3]
}

/// Whether a curve enters the box, looked at in small steps.
fn crosses(curve: &[At], area: &Area) -> bool {
    curve.windows(2).any(|pair| {
        let [a, b] = *pair else { return false };
        let apart = a.0.max(b.0) < area[0]
            || a.0.min(b.0) > area[2]
            || a.1.max(b.1) < area[1]
            || a.1.min(b.1) > area[3];
        let steps = ((b.0 - a.0).hypot(b.1 - a.1) / 2.0).ceil().max(1.0) as usize;
        !apart
            && (0..=steps).any(|step| {
                let share = step as f64 / steps as f64;
                let (x, y) = (a.0 + (b.0 - a.0) * share, a.1 + (b.1 - a.1) * share);
                x > area[0] && x < area[2] && y > area[1] && y < area[3]
            })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rising(from: f64) -> Wanted {
        Wanted {
            name: format!("cabinet {from}"),
            curve: (0..=20)
                .map(|i| (from + f64::from(i) * 3.0, 200.0 - f64::from(i) * 10.0))
                .collect(),
        }
    }

    const AREA: Area = [0.0, 0.0, 600.0, 200.0];

    #[test]
    fn curves_apart_carry_their_names_and_no_name_meets_another() {
        let labels = place(&[rising(100.0), rising(300.0)], AREA);
        assert!(labels.iter().all(|l| l.sample.is_none()), "{labels:?}");
        assert!(labels[0].at.0 < labels[1].at.0);
    }

    #[test]
    fn names_without_room_are_listed_where_no_curve_is() {
        let bundle: Vec<Wanted> = (0..24).map(|i| rising(250.0 + f64::from(i))).collect();
        let labels = place(&bundle, AREA);
        assert_eq!(labels.len(), 24);
        let listed: Vec<&Label> = labels.iter().filter(|l| l.sample.is_some()).collect();
        assert!(!listed.is_empty() && listed.len() < 24, "{labels:?}");
        for pair in listed.windows(2) {
            assert_eq!(pair[1].at.1 - pair[0].at.1, 2.0 * HALF);
        }
        let first = listed[0].at.0;
        assert!(!(250.0..340.0).contains(&first), "{first}");
    }
}
