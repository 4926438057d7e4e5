//! A small SVG writer.

use std::fmt::Write;

/// Name space of SVG (W3C, Scalable Vector Graphics 1.1); a name, not a place to fetch from.
const NAME_SPACE: &str = "http://www.w3.org/2000/svg";

/// An element being written.
#[derive(Debug, Clone)]
pub(crate) struct SvgElement {
    name: &'static str,
    attributes: String,
    content: String,
}

/// What an attribute can be set to.
pub(crate) trait Value {
    /// Writes the value, escaped.
    fn write(&self, into: &mut String);
}

impl Value for f64 {
    fn write(&self, into: &mut String) {
        number(*self, into);
    }
}

impl Value for &str {
    fn write(&self, into: &mut String) {
        escape(self, into);
    }
}

impl Value for String {
    fn write(&self, into: &mut String) {
        escape(self, into);
    }
}

impl Value for &String {
    fn write(&self, into: &mut String) {
        escape(self, into);
    }
}

impl SvgElement {
    pub(crate) fn new(name: &'static str) -> Self {
        Self {
            name,
            attributes: String::new(),
            content: String::new(),
        }
    }

    /// The root of a picture of this size, which scales to the width it is given.
    pub(crate) fn picture(width: f64, height: f64) -> Self {
        let mut view = String::from("0 0 ");
        number(width, &mut view);
        view.push(' ');
        number(height, &mut view);
        Self::new("svg").set("viewBox", view)
    }

    /// The root of a picture that is a file of its own.
    pub(crate) fn stand_alone(self, width: f64, height: f64) -> Self {
        self.set("xmlns", NAME_SPACE)
            .set("width", width)
            .set("height", height)
    }

    pub(crate) fn set(mut self, name: &str, value: impl Value) -> Self {
        let _ = write!(self.attributes, " {name}=\"");
        value.write(&mut self.attributes);
        self.attributes.push('"');
        self
    }

    pub(crate) fn class(self, class: &str) -> Self {
        self.set("class", class)
    }

    pub(crate) fn text(mut self, text: &str) -> Self {
        escape(text, &mut self.content);
        self
    }

    /// Style sheets hold no markup, so they are written as they are.
    pub(crate) fn style_sheet(sheet: &str) -> Self {
        let mut style = Self::new("style");
        style.content.push_str(sheet);
        style
    }

    pub(crate) fn child(mut self, child: SvgElement) -> Self {
        child.write(&mut self.content);
        self
    }

    pub(crate) fn children(mut self, children: impl IntoIterator<Item = SvgElement>) -> Self {
        for child in children {
            child.write(&mut self.content);
        }
        self
    }

    pub(crate) fn line(from: [f64; 2], to: [f64; 2]) -> Self {
        Self::new("line")
            .set("x1", from[0])
            .set("y1", from[1])
            .set("x2", to[0])
            .set("y2", to[1])
    }

    pub(crate) fn rectangle(x: f64, y: f64, width: f64, height: f64) -> Self {
        Self::new("rect")
            .set("x", x)
            .set("y", y)
            .set("width", width)
            .set("height", height)
    }

    pub(crate) fn label(x: f64, y: f64, text: &str) -> Self {
        Self::new("text").set("x", x).set("y", y).text(text)
    }

    fn write(&self, into: &mut String) {
        let Self {
            name,
            attributes,
            content,
        } = self;
        let _ = if content.is_empty() {
            write!(into, "<{name}{attributes}/>")
        } else {
            write!(into, "<{name}{attributes}>{content}</{name}>")
        };
    }

    pub(crate) fn into_text(self) -> String {
        let mut text = String::new();
        self.write(&mut text);
        text
    }
}

/// So many tenths as a number, as short as it can be written.
pub(crate) fn tenths(tenths: i64, into: &mut String) {
    let (whole, rest) = (tenths.abs() / 10, tenths.abs() % 10);
    if tenths < 0 {
        into.push('-');
    }
    let _ = match (whole, rest) {
        (whole, 0) => write!(into, "{whole}"),
        (0, rest) => write!(into, ".{rest}"),
        (whole, rest) => write!(into, "{whole}.{rest}"),
    };
}

/// A number to a hundredth, without zeros that say nothing. What is no number becomes 0, so that a
/// picture is always valid.
pub(crate) fn number(value: f64, into: &mut String) {
    if !value.is_finite() {
        into.push('0');
        return;
    }
    let start = into.len();
    let _ = write!(into, "{value:.2}");
    while into.ends_with('0') {
        into.pop();
    }
    if into.ends_with('.') {
        into.pop();
    }
    if &into[start..] == "-0" {
        into.truncate(start);
        into.push('0');
    }
}

/// Text for markup; what XML 1.0 does not allow at all becomes a replacement character.
pub(crate) fn escape(text: &str, into: &mut String) {
    for c in text.chars() {
        match c {
            '&' => into.push_str("&amp;"),
            '<' => into.push_str("&lt;"),
            '>' => into.push_str("&gt;"),
            '"' => into.push_str("&quot;"),
            '\t' | '\n' | '\r' => into.push(' '),
            '\u{0}'..='\u{1f}' | '\u{fffe}' | '\u{ffff}' => into.push('\u{fffd}'),
            c => into.push(c),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_have_few_digits_and_are_always_numbers() {
        for (value, expected) in [
            (1.0, "1"),
            (10.0, "10"),
            (1.005, "1"),
            (0.1 + 0.2, "0.3"),
            (-0.001, "0"),
            (-3.456, "-3.46"),
            (f64::NAN, "0"),
            (f64::INFINITY, "0"),
            (1200.0, "1200"),
        ] {
            let mut text = String::new();
            number(value, &mut text);
            assert_eq!(text, expected);
        }
    }

    #[test]
    fn names_of_the_builder_cannot_break_the_markup() {
        let text = SvgElement::new("text")
            .set("id", "a\"b")
            .text("<x> & \u{1}\ny")
            .into_text();
        assert_eq!(
            text,
            "<text id=\"a&quot;b\">&lt;x&gt; &amp; \u{fffd} y</text>"
        );
        let empty = SvgElement::line([0.0, 1.0], [2.5, 3.0]).into_text();
        assert_eq!(empty, r#"<line x1="0" y1="1" x2="2.5" y2="3"/>"#);
    }
}
