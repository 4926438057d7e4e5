//! A chart as elements: what lies under the curves, the curves, and their names.

use super::axis::{Axis, AxisSide};
use super::chart::{Chart, ChartGeometry, Shade};
use super::label::{ChartRect, Placed, SAMPLE, SAMPLE_GAP, place};
use super::svg::SvgElement;
use super::text;
use super::trace::{ChartPoint, Frame, area, path, pieces, without_straight};

/// Names longer than this, or than this share of the width, are cut.
const NAME_MOST: f64 = 190.0;
const NAME_SHARE: f64 = 0.45;

/// Distance of the points of a curve that is drawn.
const SPACING: f64 = 2.2;

/// A name with the lines that it may stand at.
type Named = (String, Vec<Vec<ChartPoint>>);

impl Chart {
    pub(super) fn axis(&self, side: AxisSide) -> &Axis {
        match side {
            AxisSide::Left => &self.left,
            AxisSide::Right => self.right.as_ref().unwrap_or(&self.left),
        }
    }

    fn shade(&self, frame: &Frame, shade: &Shade) -> SvgElement {
        let mut d = String::new();
        for ([from_hz, to_hz], [least, greatest]) in &shade.cells {
            let [left, right] = [frame.x(*from_hz), frame.x(*to_hz)];
            let [top, bottom] = [frame.y(&self.left, *greatest), frame.y(&self.left, *least)];
            d += &format!("M{left:.1} {top:.1}H{right:.1}V{bottom:.1}H{left:.1}Z");
        }
        let class = format!("shade{}", shade.level.min(2) + 1);
        SvgElement::new("path").class(&class).set("d", d)
    }

    pub(super) fn draw(&self, sheet: &ChartGeometry, id: &str, stand_alone: bool) -> SvgElement {
        let frame = &sheet.frame;
        let (title, description) = (format!("{id}-title"), format!("{id}-description"));
        let mut parts = vec![
            SvgElement::new("title").set("id", &title).text(&self.title),
            SvgElement::new("desc")
                .set("id", &description)
                .text(&self.description),
        ];
        let edges: Vec<[Vec<Vec<ChartPoint>>; 2]> = (self.bands.iter())
            .map(|band| {
                [&band.greatest, &band.least].map(|v| pieces(frame, &self.left, &band.f_hz, v))
            })
            .collect();
        parts.extend(self.shades.iter().map(|shade| self.shade(frame, shade)));
        for [greatest, least] in &edges {
            let d = area(&greatest.concat(), &least.concat());
            parts.push(SvgElement::new("path").class("band").set("d", d));
        }
        parts.extend(self.grid(sheet));
        let marks = self.marks(sheet);
        let taken: Vec<ChartRect> = marks.iter().map(|(_, _, room)| *room).collect();
        for (line, name, _) in marks {
            parts.extend([line, name]);
        }
        let (lines, named) = self.lines(sheet, edges);
        // A changed curve may leave the plot; it is cut there, as the drawn ones are.
        let clip = format!("{id}-plot");
        let plot_area = SvgElement::rectangle(
            frame.left,
            frame.top,
            frame.right - frame.left,
            frame.bottom - frame.top,
        );
        parts.push(
            SvgElement::new("clipPath")
                .set("id", &clip)
                .child(plot_area),
        );
        let clipped = SvgElement::new("g").set("clip-path", format!("url(#{clip})"));
        parts.push(clipped.children(lines));
        let (names, height) = self.names(sheet, &named, &taken);
        parts.extend(names);
        let picture = SvgElement::picture(sheet.width, height);
        let picture = match stand_alone {
            true => picture.stand_alone(sheet.width, height),
            false => picture,
        };
        picture
            .class("chart")
            .set("id", id)
            .set("role", "img")
            .set("aria-labelledby", format!("{title} {description}"))
            .set("font-size", sheet.letters)
            .children(parts)
    }

    /// The curves and spots, and what is named in the picture: curves, bands, spots.
    fn lines(
        &self,
        sheet: &ChartGeometry,
        edges: Vec<[Vec<Vec<ChartPoint>>; 2]>,
    ) -> (Vec<SvgElement>, Vec<Named>) {
        let frame = &sheet.frame;
        let most = NAME_MOST.min(NAME_SHARE * (frame.right - frame.left));
        let cut = |name: &str| text::shortened(name, most, sheet.letters);
        let mut named: Vec<Named> = Vec::new();
        let mut names: Vec<String> = Vec::new();
        let (mut lines, mut spots) = (Vec::new(), Vec::new());
        for (number, curve) in self.curves.iter().enumerate() {
            let axis = self.axis(curve.side);
            let (f_hz, values) = thinned(&curve.f_hz, &curve.values, frame.right - frame.left);
            let pieces = pieces(frame, axis, &f_hz, &values);
            let d: String = pieces
                .iter()
                .map(|piece| path(&without_straight(piece)))
                .collect();
            let line = SvgElement::new("path").class(&curve.ink.class());
            lines.push(line.set("data-curve", number as f64).set("d", d));
            named.push((told_apart(&mut names, &curve.name, &cut), pieces));
        }
        for spot in &self.points {
            let (x, y) = (frame.x(spot.f_hz), frame.y(&self.left, spot.value));
            let ring = SvgElement::new("circle").class("spot");
            lines.push(ring.set("cx", x).set("cy", y).set("r", 4.0));
            // Its name finds a place as those of curves do.
            let about = [-9.0, 0.0, 9.0].map(|off| [x + off, y]);
            spots.push((
                told_apart(&mut names, &spot.name, &cut),
                vec![about.to_vec()],
            ));
        }
        for (band, [greatest, _]) in self.bands.iter().zip(edges) {
            named.push((told_apart(&mut names, &band.name, &cut), greatest));
        }
        named.extend(spots);
        (lines, named)
    }

    /// The names where they have room, those without below the picture; and how high it is with them.
    fn names(
        &self,
        sheet: &ChartGeometry,
        named: &[Named],
        taken: &[ChartRect],
    ) -> (Vec<SvgElement>, f64) {
        let frame = &sheet.frame;
        let mut parts = Vec::new();
        let plot = ChartRect {
            left: frame.left + 3.0,
            top: frame.top + 2.0,
            right: frame.right - 3.0,
            bottom: frame.bottom - 2.0,
        };
        let placed = place(named, sheet.letters, plot, taken);
        let mut homeless = Vec::new();
        for (which, ((name, _), placed)) in named.iter().zip(placed).enumerate() {
            match placed {
                _ if name.is_empty() => {}
                Some(placed) => parts.extend(self.name(which, name, &placed, sheet.letters)),
                None => homeless.push(which),
            }
        }
        let mut height = sheet.height;
        for which in homeless {
            // A line of its own below the picture.
            let (name, pieces) = &named[which];
            let words = match pieces.is_empty() {
                true => format!("{name} (outside of the picture)"),
                false => name.clone(),
            };
            let room = ChartRect {
                left: frame.left,
                top: height,
                right: frame.right,
                bottom: height + 1.4 * sheet.letters,
            };
            let placed = Placed { room, leader: None };
            parts.extend(self.name(which, &words, &placed, sheet.letters));
            height = room.bottom;
        }
        if height > sheet.height {
            height += 0.5 * sheet.letters;
        }
        (parts, height)
    }

    /// The name of a curve with a piece of its line.
    fn name(&self, which: usize, name: &str, placed: &Placed, letters: f64) -> Vec<SvgElement> {
        let ChartRect {
            left, top, bottom, ..
        } = placed.room;
        let middle = 0.5 * (top + bottom);
        let mut parts = Vec::new();
        // Bands and spots are those of the design: they are marked, for who moves the curves.
        let mut own = "";
        if let Some([from, to]) = placed.leader {
            parts.push(SvgElement::line(from, to).class("leader"));
        }
        if let Some(curve) = self.curves.get(which) {
            let sample = SvgElement::line([left, middle], [left + SAMPLE, middle]);
            parts.push(sample.class(&curve.ink.class()));
        } else if which >= self.curves.len() + self.bands.len() {
            own = " spot-name";
            let ring = SvgElement::new("circle").class("spot").set("r", 4.0);
            parts.push(ring.set("cx", left + 0.5 * SAMPLE).set("cy", middle));
        } else {
            own = " band-name";
            let sample = SvgElement::rectangle(left, middle - 4.0, SAMPLE, 8.0);
            parts.push(sample.class("band"));
        }
        let x = left + SAMPLE + SAMPLE_GAP;
        parts.push(
            SvgElement::label(x, middle + 0.35 * letters, name).class(&format!("name left{own}")),
        );
        parts
    }
}

/// A name cut to fit; where another came out the same it is numbered.
fn told_apart(names: &mut Vec<String>, name: &str, cut: &dyn Fn(&str) -> String) -> String {
    let mut short = cut(name);
    let alike = names.iter().filter(|other| **other == short).count();
    names.push(short.clone());
    if alike > 0 && !short.is_empty() {
        short = format!("{} {}", cut(name), alike + 1);
    }
    short
}

/// Fewer points where there are several within [`SPACING`] of the width.
fn thinned(f_hz: &[f64], values: &[f64], width: f64) -> (Vec<f64>, Vec<f64>) {
    let stride = ((f_hz.len() as f64 * SPACING / width) as usize).max(1);
    let last = f_hz.len().saturating_sub(1);
    (0..f_hz.len().min(values.len()))
        .filter(|i| i % stride == 0 || *i == last)
        .map(|i| (f_hz[i], values[i]))
        .unzip()
}
