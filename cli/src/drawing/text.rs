//! How much room a text takes, without a font at hand.
//!
//! The reader's sans-serif face is not known, so each sign is given the width that it has in the
//! widest of the usual faces (read off DejaVu Sans and Liberation Sans, rounded up); a sign outside
//! the table counts as a full em. Texts are then never wider than said, at most narrower.

/// How a text looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Style {
    /// Name of a part: bold.
    Name,
    /// A value.
    Value,
    /// Name of a node, ratio of a tap: small.
    Small,
}

impl Style {
    /// Font size in units of the picture.
    pub(super) fn size(self) -> i32 {
        match self {
            Style::Name | Style::Value => 13,
            Style::Small => 11,
        }
    }

    /// Height above the base line, accents included.
    pub(super) fn ascent(self) -> i32 {
        match self {
            Style::Name | Style::Value => 11,
            Style::Small => 9,
        }
    }

    /// Depth below the base line.
    pub(super) fn descent(self) -> i32 {
        3
    }

    /// From one base line to the next.
    pub(super) fn leading(self) -> i32 {
        self.ascent() + self.descent() + 1
    }
}

/// Width of a sign in thousandths of an em, in a regular face.
fn sign(c: char) -> i32 {
    match c {
        'i' | 'j' | 'l' => 280,
        ' ' | '.' | ',' | ':' | ';' | '\'' | '|' | 'I' => 340,
        'f' | 't' | 'r' | '(' | ')' | '[' | ']' | '/' | '\\' | '!' | '`' => 420,
        '-' | '"' => 470,
        '*' | '_' | '?' | 's' | 'J' => 540,
        'c' | 'k' | 'v' | 'x' | 'y' | 'z' => 600,
        '0'..='9' | '$' | 'µ' | '°' | 'a'..='h' | 'n'..='q' | 'u' => 650,
        'B' | 'E' | 'F' | 'K' | 'L' | 'P' | 'S' | 'T' | 'X' | 'Y' | 'Z' => 700,
        'A' | 'C' | 'R' | 'V' | 'Ω' => 770,
        'D' | 'G' | 'H' | 'N' | 'O' | 'Q' | 'U' | '&' => 800,
        '+' | '−' | '=' | '<' | '>' | '~' | '^' | '#' => 850,
        'M' | 'm' | 'w' | '%' | '@' | 'W' => 1010,
        _ => 1060,
    }
}

/// Width of a line of text, never too small; in units of the picture.
pub(super) fn width(text: &str, style: Style) -> i32 {
    let thousandths: i32 = text.chars().map(sign).sum();
    let size = match style {
        // Bold faces run up to a tenth wider.
        Style::Name => style.size() * 112 / 10,
        Style::Value | Style::Small => style.size() * 10,
    };
    // `size` is in tenths here.
    thousandths * size / 10_000 + 1
}

/// Signs on a line of a long name.
const LINE: usize = 20;

/// A name as lines that are not too long. Signs that cannot be shown become blanks.
pub(super) fn lines(name: &str) -> Vec<String> {
    let shown: Vec<char> = (name.chars())
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect();
    let mut lines = Vec::new();
    let mut rest = shown.as_slice();
    while rest.len() > LINE {
        // After a blank or a hyphen when there is one in the second half.
        let at = (LINE / 2..LINE)
            .rev()
            .find(|i| matches!(rest[*i], ' ' | '-' | '_'))
            .map_or(LINE, |i| i + 1);
        lines.push(rest[..at].iter().collect());
        rest = &rest[at..];
    }
    lines.push(rest.iter().collect());
    lines
}

/// A sentence as lines of at most `signs` signs where blanks allow it.
pub(super) fn folded(sentence: &str, signs: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in sentence.split(|c: char| c.is_whitespace() || c.is_control()) {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= signs => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}
