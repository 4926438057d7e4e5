//! What lies under the curves: grid, words of the axes, marked frequencies.

use super::axis::{frequency_between, frequency_ticks};
use super::chart::{Chart, ChartGeometry, Mark};
use super::label::ChartRect;
use super::svg::SvgElement;
use super::text;

impl Chart {
    /// Lines and words of the axes, and the frame.
    pub(super) fn grid(&self, sheet: &ChartGeometry) -> Vec<SvgElement> {
        let frame = &sheet.frame;
        let upright = |f_hz: f64| {
            let x = frame.x(f_hz);
            SvgElement::line([x, frame.top], [x, frame.bottom])
        };
        let level = |value: f64| {
            let y = frame.y(&self.left, value);
            SvgElement::line([frame.left, y], [frame.right, y])
        };
        let mut parts = Vec::new();
        let (between, ticks) = match &self.across {
            Some(axis) => (
                axis.between_ticks()
                    .into_iter()
                    .map(|value| self.place(value))
                    .collect(),
                axis.ticks()
                    .into_iter()
                    .map(|(value, words)| (self.place(value), words))
                    .collect(),
            ),
            None => (
                frequency_between(self.from_hz, self.to_hz),
                frequency_ticks(self.from_hz, self.to_hz),
            ),
        };
        for f_hz in between {
            parts.push(upright(f_hz).class("faint"));
        }
        for value in self.left.between_ticks() {
            parts.push(level(value).class("faint"));
        }
        let below = frame.bottom + 1.35 * sheet.letters;
        for (f_hz, words) in ticks {
            parts.push(upright(f_hz).class("grid"));
            parts.push(SvgElement::label(frame.x(f_hz), below, &words).class("middle"));
        }
        for (value, words) in self.left.ticks() {
            parts.push(level(value).class("grid"));
            let y = frame.y(&self.left, value) + 0.35 * sheet.letters;
            parts.push(SvgElement::label(frame.left - 6.0, y, &words).class("right"));
        }
        if let Some(right) = &self.right {
            for (value, words) in right.ticks() {
                let y = frame.y(right, value) + 0.35 * sheet.letters;
                parts.push(SvgElement::label(frame.right + 6.0, y, &words).class("left"));
            }
            let above = frame.top - 0.8 * sheet.letters;
            parts.push(SvgElement::label(sheet.width - 2.0, above, &right.unit).class("right"));
        }
        let above = frame.top - 0.8 * sheet.letters;
        parts.push(SvgElement::label(2.0, above, &self.left.unit).class("left"));
        let unit = self.across.as_ref().map_or("Hz", |axis| &axis.unit);
        let lower = if self.across.is_some() {
            1.15 * sheet.letters
        } else {
            0.0
        };
        parts.push(SvgElement::label(sheet.width - 2.0, below + lower, unit).class("right"));
        parts.push(
            SvgElement::rectangle(
                frame.left,
                frame.top,
                frame.right - frame.left,
                frame.bottom - frame.top,
            )
            .class("frame"),
        );
        parts
    }

    /// Lines at frequencies, their names above the plot; a name without room is left out.
    pub(super) fn marks(&self, sheet: &ChartGeometry) -> Vec<(SvgElement, SvgElement, ChartRect)> {
        let frame = &sheet.frame;
        let y = frame.top - 0.8 * sheet.letters;
        let unit = |text: &str| text::width(text, sheet.letters) + 8.0;
        let mut free_from = 2.0 + unit(&self.left.unit);
        let free_to = match &self.right {
            Some(right) => sheet.width - 2.0 - unit(&right.unit),
            None => sheet.width,
        };
        let mut marks: Vec<&Mark> = (self.marks.iter())
            .filter(|mark| mark.f_hz >= self.from_hz && mark.f_hz <= self.to_hz)
            .collect();
        marks.sort_by(|a, b| a.f_hz.total_cmp(&b.f_hz));
        marks
            .into_iter()
            .map(|mark| {
                let x = frame.x(mark.f_hz);
                let half = 0.5 * text::width(&mark.name, sheet.letters);
                let fits = x - half >= free_from && x + half <= free_to;
                let words = if fits { mark.name.as_str() } else { "" };
                if fits {
                    free_from = x + half + 8.0;
                }
                let line = SvgElement::line([x, frame.top], [x, frame.bottom]).class("mark");
                let name = SvgElement::label(x, y, words).class("middle");
                let room = ChartRect {
                    left: x - half,
                    top: y - sheet.letters,
                    right: x + half,
                    bottom: y + 2.0,
                };
                (line, name, room)
            })
            .collect()
    }
}
