//! The library's SVG written shorter, without loss: a page holds many charts.
//!
//! Neighbouring lines of one look become one path with relative steps, neighbouring dots
//! of one look become one path of round-capped points, and a text stands on one line.
//! Nothing is reordered, rounded or left out. A line of the input that begins with `<` is
//! always an element of ours: the text of a chart has its markup escaped.

use std::fmt::Write as _;

/// A drawing unit; the library writes whole ones.
type Unit = i32;

/// What is being gathered into one path.
#[derive(Debug, PartialEq)]
enum Look {
    /// Lines with these attributes.
    Line(String),
    /// Dots of this colour and radius.
    Dot { fill: String, radius: Unit },
}

/// A path that is still growing.
struct Growing {
    look: Look,
    data: String,
    /// Where the pen is; `None` before the first step.
    pen: Option<(Unit, Unit)>,
    parts: usize,
    first: (Unit, Unit),
}

/// The body of an SVG as the plotting library writes it, written shorter.
pub(super) fn compacted(body: &str) -> String {
    let mut out = String::with_capacity(body.len() / 2);
    let mut growing: Option<Growing> = None;
    let mut in_text = false;
    for line in body.lines() {
        if in_text {
            // The library sets a text's words on a line of their own.
            in_text = !line.ends_with("</text>");
            out.push_str(line);
            if !in_text {
                out.push('\n');
            }
            continue;
        }
        if let Some((look, points)) = shape(line) {
            let path = match growing.take() {
                Some(path) if path.look == look => growing.insert(path),
                other => {
                    finish(&mut out, other);
                    growing.insert(Growing::new(look))
                }
            };
            path.take(&points);
            continue;
        }
        finish(&mut out, growing.take());
        out.push_str(line);
        in_text = line.starts_with("<text") && !line.ends_with("</text>");
        if !in_text {
            out.push('\n');
        }
    }
    finish(&mut out, growing.take());
    out
}

/// The look and points of a line or dot; `None` for any other element.
fn shape(line: &str) -> Option<(Look, Vec<(Unit, Unit)>)> {
    if let Some(rest) = line.strip_prefix("<polyline ") {
        let (look, points) = rest.strip_suffix("/>")?.split_once(" points=\"")?;
        let points: Option<Vec<_>> = points
            .trim_end_matches('"')
            .split_whitespace()
            .map(|pair| {
                let (x, y) = pair.split_once(',')?;
                Some((x.parse().ok()?, y.parse().ok()?))
            })
            .collect();
        let look = look.replace(" opacity=\"1\"", "");
        return Some((Look::Line(look), points.filter(|p| !p.is_empty())?));
    }
    let rest = line.strip_prefix("<circle ")?;
    let plain = rest.contains(" opacity=\"1\"") && rest.contains(" stroke=\"none\"");
    let attribute = |name: &str| {
        let (_, value) = rest.split_once(name)?;
        value.split('"').next()
    };
    let number = |name: &str| attribute(name)?.parse::<Unit>().ok();
    let fill = attribute("fill=\"")?.to_owned();
    let radius = number(" r=\"")?;
    let at = (number("cx=\"")?, number("cy=\"")?);
    plain.then(|| (Look::Dot { fill, radius }, vec![at]))
}

impl Growing {
    fn new(look: Look) -> Growing {
        Growing {
            look,
            data: String::new(),
            pen: None,
            parts: 0,
            first: (0, 0),
        }
    }

    fn take(&mut self, points: &[(Unit, Unit)]) {
        let Some((&start, rest)) = points.split_first() else {
            return;
        };
        self.parts += 1;
        let (x, y) = start;
        // A relative move after the first, which is shorter.
        match self.pen {
            None => {
                self.first = start;
                let _ = write!(self.data, "M{x} {y}");
            }
            Some((a, b)) => {
                self.data.push('m');
                self.step((x - a, y - b), true);
            }
        }
        self.pen = Some(start);
        if let Look::Dot { .. } = self.look {
            self.data.push_str("h0");
            return;
        }
        let (mut a, mut b) = start;
        for (i, &(x, y)) in rest.iter().enumerate() {
            match (i, rest.len(), y == b) {
                (0, 1, true) => {
                    let _ = write!(self.data, "h{}", x - a);
                }
                (0, _, _) => {
                    self.data.push('l');
                    self.step((x - a, y - b), true);
                }
                _ => self.step((x - a, y - b), false),
            }
            (a, b) = (x, y);
        }
        self.pen = Some((a, b));
    }

    /// Two numbers, with blanks only where a minus does not part them.
    fn step(&mut self, (dx, dy): (Unit, Unit), after_letter: bool) {
        let gap = |n: Unit, needed: bool| if needed && n >= 0 { " " } else { "" };
        let _ = write!(
            self.data,
            "{}{dx}{}{dy}",
            gap(dx, !after_letter),
            gap(dy, true)
        );
    }
}

fn finish(out: &mut String, path: Option<Growing>) {
    let Some(path) = path else { return };
    let data = &path.data;
    let _ = match &path.look {
        Look::Line(look) => writeln!(out, "<path {look} d=\"{data}\"/>"),
        Look::Dot { fill, radius } if path.parts == 1 => {
            let (x, y) = path.first;
            writeln!(
                out,
                "<circle cx=\"{x}\" cy=\"{y}\" r=\"{radius}\" fill=\"{fill}\"/>"
            )
        }
        Look::Dot { fill, radius } => writeln!(
            out,
            "<path fill=\"none\" stroke=\"{fill}\" stroke-width=\"{}\" stroke-linecap=\"round\" d=\"{data}\"/>",
            2 * radius
        ),
    };
}

#[cfg(test)]
mod tests {
    use super::*;

    const LINE: &str =
        "<polyline fill=\"none\" opacity=\"1\" stroke=\"#245673\" stroke-width=\"4\" points=\"";
    const DOT: &str = "fill=\"#245673\" stroke=\"none\" stroke-width=\"1\"/>";

    #[test]
    fn lines_of_one_look_become_one_path() {
        let body = format!("{LINE}10,20 30,15 30,40 \"/>\n{LINE}50,40 90,40 \"/>\n");
        assert_eq!(
            compacted(&body),
            "<path fill=\"none\" stroke=\"#245673\" stroke-width=\"4\" d=\"M10 20l20-5 0 25m20 0h40\"/>\n"
        );
        let other = LINE.replace("#245673", "#1D2B33");
        let body = format!("{LINE}1,2 3,4 \"/>\n{other}1,2 3,4 \"/>\n");
        assert_eq!(compacted(&body).matches("<path").count(), 2);
    }

    #[test]
    fn dots_of_one_look_become_one_path_and_a_lone_one_stays() {
        let dot =
            |x, y, r| format!("<circle cx=\"{x}\" cy=\"{y}\" r=\"{r}\" opacity=\"1\" {DOT}\n");
        let body = [dot(5, 6, 7), dot(9, 4, 7), dot(12, 14, 7), dot(1, 1, 3)].concat();
        assert_eq!(
            compacted(&body),
            "<path fill=\"none\" stroke=\"#245673\" stroke-width=\"14\" stroke-linecap=\"round\" d=\"M5 6h0m4-2h0m3 10h0\"/>\n\
             <circle cx=\"1\" cy=\"1\" r=\"3\" fill=\"#245673\"/>\n"
        );
    }

    #[test]
    fn texts_stand_on_one_line_and_other_elements_stay() {
        let body = "<rect x=\"1\"/>\n<text x=\"1\">\n6.8 &lt;circle cx\n</text>\n</svg>\n";
        assert_eq!(
            compacted(body),
            "<rect x=\"1\"/>\n<text x=\"1\">6.8 &lt;circle cx</text>\n</svg>\n"
        );
    }
}
