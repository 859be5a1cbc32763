//! A drawing surface in CSS pixels over the plotting library's SVG area.
//!
//! The library works in whole units; the surface is four times finer than a pixel, so
//! lines do not jitter. The finished text is then written shorter (`compact`), given its
//! accessible name and its dashes, and relieved of attributes that say the default. Those replacements name whole
//! attributes with their quotes, which escaped text can never contain.

use super::PlotError;
use super::compact::compacted;
use super::palette::{BROKEN, MUTED, PAPER};
use crate::report::format::clean;
use plotters::backend::SVGBackend;
use plotters::coord::Shift;
use plotters::drawing::{DrawingArea, IntoDrawingArea};
use plotters::element::{Circle, PathElement, Polygon, Rectangle, Text};
use plotters::style::text_anchor::{HPos, Pos, VPos};
use plotters::style::{Color, FontDesc, FontFamily, FontStyle, RGBColor, ShapeStyle};

/// Drawing units to a CSS pixel.
const SCALE: f64 = 4.0;

/// The library divides the size of its text by this when it writes SVG.
const FONT_FACTOR: f64 = 1.24;

/// Written once on the root instead of on every text.
const FAMILY: &str = "sans-serif";

/// Size of most texts in drawing units, written once on the root.
const USUAL_FONT_SIZE: u32 = 40;

/// A point in CSS pixels.
pub(in crate::report) type At = (f64, f64);

/// Where a text stands against its point, which is at half its height.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::report) enum Anchor {
    /// It begins there.
    Start,
    /// It is centred there.
    Middle,
    /// It ends there.
    End,
}

/// How a text looks.
#[derive(Debug, Clone, Copy)]
pub(in crate::report) struct Look {
    pub(in crate::report) size: f64,
    pub(in crate::report) colour: RGBColor,
    pub(in crate::report) anchor: Anchor,
    pub(in crate::report) bold: bool,
}

/// The width a text of that size is likely to take; no font is measured.
pub(in crate::report) fn text_width(text: &str, size: f64) -> f64 {
    text.chars().count() as f64 * size * 0.54
}

/// The surface handed to the code that draws; it keeps the first error for the end.
pub(in crate::report) struct Canvas<'a> {
    area: DrawingArea<SVGBackend<'a>, Shift>,
    failure: Option<String>,
}

fn units((x, y): At) -> (i32, i32) {
    ((x * SCALE).round() as i32, (y * SCALE).round() as i32)
}

fn stroke(colour: RGBColor, width: f64) -> ShapeStyle {
    colour.stroke_width((width * SCALE).round().max(1.0) as u32)
}

impl Canvas<'_> {
    /// A line through the points; nothing below two.
    pub(in crate::report) fn line(&mut self, points: &[At], colour: RGBColor, width: f64) {
        if points.len() > 1 {
            let path: Vec<_> = points.iter().copied().map(units).collect();
            let drawn = self
                .area
                .draw(&PathElement::new(path, stroke(colour, width)));
            self.note(drawn);
        }
    }

    /// A filled shape.
    pub(in crate::report) fn polygon(&mut self, points: &[At], colour: RGBColor) {
        let path: Vec<_> = points.iter().copied().map(units).collect();
        let drawn = self.area.draw(&Polygon::new(path, colour.filled()));
        self.note(drawn);
    }

    /// A filled rectangle.
    pub(in crate::report) fn block(&mut self, from: At, to: At, colour: RGBColor) {
        let corners = [units(from), units(to)];
        let drawn = self.area.draw(&Rectangle::new(corners, colour.filled()));
        self.note(drawn);
    }

    /// A dot.
    pub(in crate::report) fn dot(&mut self, at: At, radius: f64, colour: RGBColor) {
        let size = (radius * SCALE).round() as i32;
        let drawn = self
            .area
            .draw(&Circle::new(units(at), size, colour.filled()));
        self.note(drawn);
    }

    /// A hollow dot on paper.
    pub(in crate::report) fn ring(&mut self, at: At, radius: f64, colour: RGBColor) {
        self.dot(at, radius, PAPER);
        let size = (radius * SCALE).round() as i32;
        let drawn = self
            .area
            .draw(&Circle::new(units(at), size, stroke(colour, 1.2)));
        self.note(drawn);
    }

    /// The outline of a square on its corner.
    pub(in crate::report) fn diamond(&mut self, (x, y): At, radius: f64, colour: RGBColor) {
        let corners = [
            (x, y - radius),
            (x + radius, y),
            (x, y + radius),
            (x - radius, y),
            (x, y - radius),
        ];
        self.line(&corners, colour, 1.5);
    }

    /// A text; control and direction-changing characters are replaced.
    pub(in crate::report) fn text(&mut self, at: At, text: &str, look: Look) {
        let style = if look.bold {
            FontStyle::Bold
        } else {
            FontStyle::Normal
        };
        let size = look.size * SCALE * FONT_FACTOR;
        let h_pos = match look.anchor {
            Anchor::Start => HPos::Left,
            Anchor::Middle => HPos::Center,
            Anchor::End => HPos::Right,
        };
        let style = FontDesc::new(FontFamily::Name(FAMILY), size, style)
            .color(&look.colour)
            .pos(Pos::new(h_pos, VPos::Center));
        let drawn = self.area.draw(&Text::new(clean(text), units(at), style));
        self.note(drawn);
    }

    fn note<E: std::fmt::Display>(&mut self, drawn: Result<(), E>) {
        if let (Err(error), None) = (drawn, &self.failure) {
            self.failure = Some(error.to_string());
        }
    }
}

/// An SVG of that size in CSS pixels, with the name and description that a screen reader speaks.
pub(in crate::report) fn drawing(
    (width, height): At,
    title: &str,
    description: &str,
    draw: impl FnOnce(&mut Canvas<'_>),
) -> Result<String, PlotError> {
    let mut svg = String::new();
    let size = (
        (width * SCALE).round() as u32,
        (height * SCALE).round() as u32,
    );
    let failure = {
        let area = SVGBackend::with_string(&mut svg, size).into_drawing_area();
        let mut canvas = Canvas {
            area,
            failure: None,
        };
        draw(&mut canvas);
        let presented = canvas.area.present();
        canvas.note(presented);
        canvas.failure
    };
    match failure {
        Some(problem) => Err(PlotError(problem)),
        None => finished(&svg, size, (width, height), title, description),
    }
}

/// The library's text with our root element, dashes and without defaults.
fn finished(
    svg: &str,
    (units_wide, units_high): (u32, u32),
    (width, height): At,
    title: &str,
    description: &str,
) -> Result<String, PlotError> {
    let (_, body) = svg
        .split_once(">\n")
        .ok_or_else(|| PlotError("it has no root element".to_owned()))?;
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" width=\"{width}\" height=\"{height}\" \
         viewBox=\"0 0 {units_wide} {units_high}\" font-family=\"system-ui, {FAMILY}\" \
         font-size=\"{USUAL_FONT_SIZE}\" fill=\"{}\" stroke-linejoin=\"round\">\n<title>{}</title>\n<desc>{}</desc>\n",
        hex(MUTED),
        escaped(title),
        escaped(description)
    );
    let mut body = compacted(body)
        .replace(" opacity=\"1\"", "")
        .replace(" stroke=\"none\" stroke-width=\"1\"", "")
        .replace(" stroke=\"none\"", "")
        .replace(&format!(" font-family=\"{FAMILY}\""), "")
        .replace(" text-anchor=\"start\"", "")
        .replace(&format!(" fill=\"{}\"", hex(MUTED)), "")
        .replace(&format!(" font-size=\"{USUAL_FONT_SIZE}\""), "")
        .replace(" \"/>", "\"/>");
    for (colour, dashes) in BROKEN {
        let stroke = format!("stroke=\"{}\"", hex(colour));
        body = body.replace(&stroke, &format!("{stroke} stroke-dasharray=\"{dashes}\""));
    }
    out.push_str(&body);
    Ok(out)
}

/// A colour as the library writes it.
fn hex(RGBColor(r, g, b): RGBColor) -> String {
    format!("#{r:02X}{g:02X}{b:02X}")
}

/// A text as XML character data, cleaned.
fn escaped(text: &str) -> String {
    clean(text)
        .replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::plot::palette::{CONTROL, INK};

    const LOOK: Look = Look {
        size: 10.0,
        colour: INK,
        anchor: Anchor::End,
        bold: false,
    };

    #[test]
    fn hostile_text_arrives_as_text() {
        let hostile = "<script>\"&'\u{1b}[2J\u{202e}</text> opacity=\"1\"";
        let svg = drawing((100.0, 20.0), hostile, hostile, |c| {
            c.text((50.0, 10.0), hostile, LOOK);
        })
        .unwrap();
        assert!(!svg.contains("<script") && !svg.contains('\u{1b}') && !svg.contains('\u{202e}'));
        assert_eq!(svg.matches("&lt;script&gt;").count(), 3);
        assert!(svg.contains("opacity=&quot;1&quot;"), "text stays whole");
        assert_eq!(svg.matches("</text>").count(), 1);
    }

    #[test]
    fn control_lines_are_dashed_and_defaults_left_out() {
        let svg = drawing((100.0, 20.0), "t", "d", |c| {
            c.line(&[(0.0, 1.0), (10.0, 1.26)], CONTROL, 1.0);
            c.line(&[(0.0, 2.0), (10.0, 2.0)], INK, 1.0);
        })
        .unwrap();
        assert_eq!(svg.matches("stroke-dasharray").count(), 1);
        assert!(svg.contains("d=\"M0 4l40 1\""));
        assert!(!svg.contains("opacity"));
        assert!(
            svg.starts_with("<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" width=\"100\"")
        );
        assert!(svg.ends_with("</svg>\n"));
    }
}
