//! Colours and line styles of all pictures.
//!
//! The palette is that of Okabe and Ito, "Color Universal Design" (2008, values from memory), made to be
//! told apart by all kinds of colour vision: blue, vermilion, bluish green and reddish purple on light
//! paper, sky blue in the place of blue on dark. On light paper the purple is darker than theirs, and on
//! dark the vermilion and the green are lighter, so that thin lines stand out (contrast of 3 to 1 or
//! more). Colour never speaks alone: each way has a line style too.

/// What a curve is drawn with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Ink {
    /// The whole: thick, unbroken, in the colour of the text.
    Sum,
    /// A way by its position from the lowest; colours and styles repeat after four.
    Way(usize),
    /// What a way or the whole should be: dotted, in the way's colour.
    Target(usize),
    /// A second quantity over the same axis, such as a phase.
    Second,
    /// A limit that should not be crossed.
    Limit,
    /// One of several loudspeakers by its number; colours and styles repeat after six.
    Whole(usize),
}

impl Ink {
    pub(crate) fn class(self) -> String {
        match self {
            Ink::Sum => "curve sum".to_owned(),
            Ink::Way(way) => format!("curve way{}", way % 4 + 1),
            Ink::Target(way) => format!("curve target way{}", way % 4 + 1),
            Ink::Second => "curve second".to_owned(),
            Ink::Limit => "curve limit".to_owned(),
            Ink::Whole(number) => format!("curve whole{}", number % 6 + 1),
        }
    }
}

/// Style of the pictures, for a page or inside a file. Light, dark and print by the reader's wish.
pub(crate) const STYLE: &str = "\
.chart{--ink:#16181a;--quiet:#565c62;--paper:#fff;--line:#8a9097;--grid:#c9ced3;--faint:#e6e9ec;\
--fill:#dfe6ec;--way1:#0072b2;--way2:#d55e00;--way3:#009e73;--way4:#b0568a;--second:#565c62;--limit:#16181a}\
@media (prefers-color-scheme:dark){.chart{--ink:#eceae4;--quiet:#b3b6b9;--paper:#15181b;--line:#7d848b;\
--grid:#434a51;--faint:#292e33;--fill:#2c3741;--way1:#56b4e9;--way2:#e87d1e;--way3:#12b486;--way4:#cc79a7;\
--second:#b3b6b9;--limit:#eceae4}}\
@media print{.chart{--ink:#000;--quiet:#333;--paper:#fff;--line:#555;--grid:#aaa;--faint:#ddd;--fill:#e4e4e4;\
--way1:#000;--way2:#000;--way3:#000;--way4:#000;--second:#444;--limit:#000}}\
.chart{font-family:'Helvetica Neue',Helvetica,Arial,'Liberation Sans',sans-serif;background:var(--paper)}\
.chart text{fill:var(--quiet);font-variant-numeric:tabular-nums}\
.chart .heading{fill:var(--ink);font-weight:600}\
.chart .name{fill:var(--ink);stroke:var(--paper);stroke-width:3.5px;stroke-linejoin:round;paint-order:stroke}\
.chart .left,.chart .mark-name.left{text-anchor:start}.chart .middle{text-anchor:middle}.chart .right{text-anchor:end}\
.chart .frame{fill:none;stroke:var(--line)}\
.chart .grid{stroke:var(--grid);stroke-width:.8}.chart .faint{stroke:var(--faint);stroke-width:.8}\
.chart .mark{stroke:var(--line);stroke-width:1;stroke-dasharray:1.5 3}\
.chart .leader{stroke:var(--quiet);stroke-width:.7}\
.chart .band{fill:var(--fill);stroke:none}\
.chart .curve{fill:none;stroke:var(--ink);stroke-width:1.7;stroke-linejoin:round}\
.chart .sum{stroke-width:1.8}\
.chart .way1{stroke:var(--way1);stroke-dasharray:16 3}\
.chart .way2{stroke:var(--way2);stroke-dasharray:6 3}\
.chart .way3{stroke:var(--way3);stroke-dasharray:14 3 2 3}\
.chart .way4{stroke:var(--way4);stroke-dasharray:2.5 2.5}\
.chart .target{stroke-width:1.6;stroke-dasharray:.1 4;stroke-linecap:round}\
.chart .second{stroke:var(--second);stroke-width:1.3;stroke-dasharray:3.5 2.5}\
.chart .limit{stroke:var(--limit);stroke-width:1;stroke-dasharray:9 2.5}\
.chart .shade1{fill:var(--way1);fill-opacity:.6}.chart .shade2{fill:var(--way1);fill-opacity:.35}\
.chart .shade3{fill:var(--way1);fill-opacity:.15}\
.chart .spot{fill:none;stroke:var(--ink);stroke-width:1.6}\
.chart .asdrawn{stroke:var(--line);stroke-width:1;stroke-dasharray:none}\
.chart .cursor{stroke:var(--ink);stroke-width:1}";

/// More of it, for pages with [`Ink::Whole`].
pub(crate) const WHOLES: &str = "\
.chart .whole1{stroke-width:2.4}\
.chart .whole2{stroke:var(--way2);stroke-width:2.2;stroke-dasharray:9 3}\
.chart .whole3{stroke:var(--way1);stroke-width:2.2;stroke-dasharray:3.5 2.5}\
.chart .whole4{stroke:var(--way3);stroke-width:2.2;stroke-dasharray:12 3 2.5 3}\
.chart .whole5{stroke:var(--way4);stroke-width:2.2;stroke-dasharray:7 3 2 3 2 3}\
.chart .whole6{stroke:var(--second);stroke-width:2.2;stroke-dasharray:1.8 3}";

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance after WCAG 2.2.
    fn luminance(colour: &str) -> f64 {
        let digits: Vec<u32> = colour.chars().filter_map(|c| c.to_digit(16)).collect();
        let channel = |i: usize| match digits.len() {
            3 => 17 * digits[i],
            _ => 16 * digits[2 * i] + digits[2 * i + 1],
        };
        let linear = |i: usize| {
            let c = f64::from(channel(i)) / 255.0;
            if c <= 0.04045 {
                c / 12.92
            } else {
                ((c + 0.055) / 1.055).powf(2.4)
            }
        };
        0.2126 * linear(0) + 0.7152 * linear(1) + 0.0722 * linear(2)
    }

    fn contrast(a: &str, b: &str) -> f64 {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    /// WCAG 2.2: 4.5 to 1 for text (1.4.3), 3 to 1 for what a picture needs to be understood (1.4.11).
    #[test]
    fn text_and_curves_stand_out_in_light_dark_and_print() {
        assert!((contrast("#000", "#fff") - 21.0).abs() < 1e-9);
        assert!((contrast("#767676", "#ffffff") - 4.54).abs() < 0.01);
        let sheets: Vec<&str> = STYLE.split(".chart{--").skip(1).collect();
        assert_eq!(sheets.len(), 3);
        for sheet in sheets {
            let sheet = sheet.split('}').next().unwrap();
            let colour = |name: &str| {
                let found = sheet.split(';').find_map(|rule| {
                    rule.trim_start_matches("--")
                        .strip_prefix(name)?
                        .strip_prefix(':')
                });
                found.unwrap_or_else(|| panic!("{name} in {sheet}"))
            };
            let paper = colour("paper");
            for (name, least) in [
                ("ink", 7.0),
                ("quiet", 4.5),
                ("line", 3.0),
                ("way1", 3.0),
                ("way2", 3.0),
                ("way3", 3.0),
                ("way4", 3.0),
                ("second", 3.0),
                ("limit", 3.0),
            ] {
                let found = contrast(colour(name), paper);
                assert!(found >= least, "{name} on {paper}: {found:.2}");
            }
        }
    }

    #[test]
    fn ways_and_loudspeakers_differ_in_more_than_colour() {
        let ways = (1..=4).map(|way| format!(".chart .way{way}{{"));
        // The first is unbroken.
        let wholes = (2..=6).map(|number| format!(".chart .whole{number}{{"));
        differ(ways.collect());
        differ(wholes.collect());
    }

    fn differ(rules: Vec<String>) {
        let sheet = [STYLE, WHOLES].concat();
        let dashes: Vec<&str> = (rules.into_iter())
            .map(|rule| {
                let rule = sheet
                    .split(&rule)
                    .nth(1)
                    .unwrap()
                    .split('}')
                    .next()
                    .unwrap();
                rule.split("stroke-dasharray:").nth(1).unwrap()
            })
            .collect();
        for (i, dash) in dashes.iter().enumerate() {
            assert!(dashes[i + 1..].iter().all(|other| other != dash));
        }
    }
}
