//! Curves over frequency, as one picture.

use super::axis::{Axis, AxisSide};
use super::palette::{Ink, STYLE};
use super::svg::SvgElement;
use super::text;
use super::trace::Frame;

/// How large a picture is drawn; both are as wide as what they are shown in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Layout {
    /// For a desk screen or paper.
    Wide,
    /// For a telephone: fewer units across, so that letters come out as large.
    Narrow,
}

/// A curve over frequency.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct PlottedCurve {
    /// Empty for a curve whose style says what it is.
    pub(crate) name: String,
    pub(crate) ink: Ink,
    pub(crate) side: AxisSide,
    pub(crate) f_hz: Vec<f64>,
    /// One a frequency; what is no number leaves a gap.
    pub(crate) values: Vec<f64>,
}

/// An area between two curves on the left axis.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Band {
    pub(crate) name: String,
    pub(crate) f_hz: Vec<f64>,
    pub(crate) least: Vec<f64>,
    pub(crate) greatest: Vec<f64>,
}

/// Rectangles of one shade under the curves.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Shade {
    /// 0 for the darkest, up to 2.
    pub(crate) level: usize,
    /// From and to in frequency, and on the left axis.
    pub(crate) cells: Vec<([f64; 2], [f64; 2])>,
}

/// A frequency worth a line.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Mark {
    pub(crate) f_hz: f64,
    pub(crate) name: String,
}

/// A point on the left axis worth a ring.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Spot {
    pub(crate) f_hz: f64,
    pub(crate) value: f64,
    pub(crate) name: String,
}

/// Curves over frequency.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Chart {
    /// Letters and digits; no two pictures of a page have the same.
    pub(crate) id: String,
    pub(crate) title: String,
    /// What there is to see, for who cannot see it.
    pub(crate) description: String,
    pub(crate) from_hz: f64,
    pub(crate) to_hz: f64,
    /// Height for a width of 760.
    pub(crate) height: f64,
    pub(crate) left: Axis,
    pub(crate) right: Option<Axis>,
    /// What runs across where it is no frequency; curves then hold [`Chart::place`] of it.
    pub(crate) across: Option<Axis>,
    /// Drawn first to last; names are placed first to last too.
    pub(crate) curves: Vec<PlottedCurve>,
    pub(crate) bands: Vec<Band>,
    pub(crate) marks: Vec<Mark>,
    pub(crate) points: Vec<Spot>,
    pub(crate) shades: Vec<Shade>,
}

/// Sizes of a layout.
pub(super) struct ChartGeometry {
    pub(super) width: f64,
    pub(super) height: f64,
    pub(super) letters: f64,
    pub(super) frame: Frame,
}

impl Chart {
    /// The whole audio band and a left axis; curves are to be added.
    pub(crate) fn new(id: &str, title: &str, description: String, left: Axis) -> Self {
        Self {
            id: id.to_owned(),
            title: title.to_owned(),
            description,
            from_hz: 20.0,
            to_hz: 20e3,
            height: 330.0,
            left,
            right: None,
            across: None,
            curves: Vec::new(),
            bands: Vec::new(),
            marks: Vec::new(),
            points: Vec::new(),
            shades: Vec::new(),
        }
    }

    /// Where a value of the axis across lies, as a frequency.
    pub(crate) fn place(&self, value: f64) -> f64 {
        match &self.across {
            Some(axis) => self.from_hz * (self.to_hz / self.from_hz).powf(axis.share(value)),
            None => value,
        }
    }

    pub(crate) fn curve(
        &mut self,
        name: &str,
        ink: Ink,
        side: AxisSide,
        f_hz: &[f64],
        values: Vec<f64>,
    ) {
        self.curves.push(PlottedCurve {
            name: name.to_owned(),
            ink,
            side,
            f_hz: f_hz.to_vec(),
            values,
        });
    }

    /// For a page that has [`STYLE`] already.
    pub(crate) fn inline(&self, layout: Layout) -> String {
        let suffix = match layout {
            Layout::Wide => "wide",
            Layout::Narrow => "narrow",
        };
        let sheet = self.sheet(layout, 0.0);
        let id = format!("{}-{suffix}", self.id);
        self.draw(&sheet, &id, false)
            .set("data-chart", &self.id)
            .set("data-left", sheet.frame.left)
            .set("data-right", sheet.frame.right)
            .set("data-top", sheet.frame.top)
            .set("data-bottom", sheet.frame.bottom)
            .set("data-from", sheet.frame.from_hz)
            .set("data-to", sheet.frame.to_hz)
            .set("data-scales", self.scales())
            .into_text()
    }

    /// A picture that is a file of its own, with its title in it.
    pub(crate) fn file(&self) -> String {
        let sheet = self.sheet(Layout::Wide, 26.0);
        let mut text = String::from("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
        let picture = self
            .draw(&sheet, &self.id, true)
            .child(SvgElement::style_sheet(STYLE))
            .child(SvgElement::label(sheet.frame.left, 20.0, &self.title).class("heading left"));
        text.push_str(&picture.into_text());
        text.push('\n');
        text
    }

    fn sheet(&self, layout: Layout, heading: f64) -> ChartGeometry {
        let (width, height, letters) = match layout {
            Layout::Wide => (760.0, self.height, 12.5),
            Layout::Narrow => (360.0, (0.8 * self.height).max(240.0), 11.0),
        };
        // Room for the words of the axes.
        let words = |axis: &Axis| {
            let widths = axis
                .ticks()
                .into_iter()
                .map(|(_, words)| text::width(&words, letters));
            widths.fold(0.0, f64::max) + 8.0
        };
        // Pictures that stand under each other line up: most words fit into the same room.
        let left = words(&self.left).max(4.2 * letters);
        // The unit of the frequencies stands at the right of the last of them.
        let right = self.right.as_ref().map_or(0.0, words).max(3.6 * letters);
        // A unit across may be long, and stands below its numbers.
        let below = letters * if self.across.is_some() { 3.2 } else { 2.1 };
        ChartGeometry {
            width,
            height: height + heading,
            letters,
            frame: Frame {
                left,
                top: heading + letters * 2.0,
                right: width - right,
                bottom: height + heading - below,
                from_hz: self.from_hz,
                to_hz: self.to_hz,
            },
        }
    }

    /// Both scales for the script: from, to, and `log` or `turn` where it is one.
    fn scales(&self) -> String {
        let scale = |axis: &Axis| {
            let kind = match (axis.logarithmic, axis.wraps) {
                (true, _) => "log",
                (_, true) => "turn",
                _ => "even",
            };
            format!("{} {} {kind}", axis.from, axis.to)
        };
        let sides = [&self.left, self.axis(AxisSide::Right)].map(scale);
        sides.join(",")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn chart(curves: usize) -> Chart {
        let axis = Axis::level("dB SPL", 96.0);
        let mut chart = Chart::new("t", "Title & more", "what <it> shows".to_owned(), axis);
        let f_hz: Vec<f64> = (0..200)
            .map(|i| 20.0 * 1000f64.powf(f64::from(i) / 199.0))
            .collect();
        for i in 0..curves {
            let centre = 100.0 * 3f64.powi(i as i32 % 6);
            let values = (f_hz.iter())
                .map(|f| 95.0 - i as f64 - 10.0 * (f / centre).ln().powi(2))
                .collect();
            chart.curve(
                &format!("way {i}"),
                Ink::Way(i),
                AxisSide::Left,
                &f_hz,
                values,
            );
        }
        chart
    }

    fn count(text: &str, what: &str) -> usize {
        text.matches(what).count()
    }

    #[test]
    fn every_curve_is_named_once_however_many_there_are() {
        for curves in [0, 1, 4, 40] {
            for layout in [Layout::Wide, Layout::Narrow] {
                let svg = chart(curves).inline(layout);
                for i in 0..curves {
                    assert_eq!(
                        count(&svg, &format!(">way {i}</text>")),
                        1,
                        "{i} of {curves}"
                    );
                }
                assert!(!svg.contains("NaN") && !svg.contains("inf"), "{svg}");
            }
        }
    }

    #[test]
    fn a_curve_that_is_not_in_the_picture_is_told_of() {
        let mut chart = chart(1);
        chart.curve(
            "silent",
            Ink::Way(1),
            AxisSide::Left,
            &[20.0, 2e4],
            vec![-400.0, -400.0],
        );
        chart.curve(
            "nothing",
            Ink::Way(2),
            AxisSide::Left,
            &[20.0, 2e4],
            vec![f64::NAN; 2],
        );
        let svg = chart.inline(Layout::Wide);
        assert!(svg.contains(">silent (outside of the picture)<"), "{svg}");
        assert!(svg.contains(">nothing (outside of the picture)<"), "{svg}");
    }

    #[test]
    fn a_file_is_whole_and_says_what_it_shows() {
        let svg = chart(2).file();
        for part in [
            "<?xml version=\"1.0\"",
            "xmlns=\"http://www.w3.org/2000/svg\"",
            "role=\"img\"",
            "Title &amp; more</title>",
            "what &lt;it&gt; shows</desc>",
            ">10k<",
            "prefers-color-scheme:dark",
        ] {
            assert!(svg.contains(part), "{part}: {svg}");
        }
        assert_eq!(count(&svg, "http"), 1, "nothing is fetched");
    }

    #[test]
    fn marks_are_named_above_the_plot_where_there_is_room() {
        let mut chart = chart(1);
        for (f_hz, name) in [(650.0, "650 Hz"), (660.0, "660 Hz"), (6500.0, "6.5 kHz")] {
            chart.marks.push(Mark {
                f_hz,
                name: name.to_owned(),
            });
        }
        let svg = chart.inline(Layout::Wide);
        assert_eq!(count(&svg, "class=\"mark\""), 3);
        assert!(svg.contains(">650 Hz<") && svg.contains(">6.5 kHz<"));
        assert!(!svg.contains(">660 Hz<"), "two names in one place");
    }

    #[test]
    fn a_band_is_an_area_between_its_edges() {
        let mut chart = chart(1);
        let f_hz = vec![60.0, 1000.0, 17e3];
        chart.bands.push(Band {
            name: "aim ±1 dB".to_owned(),
            f_hz,
            least: vec![94.0; 3],
            greatest: vec![96.0; 3],
        });
        let svg = chart.inline(Layout::Wide);
        assert!(svg.contains("class=\"band\" d=\"M") && svg.contains("aim ±1 dB"));
    }
}
