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
        'i' | 'j' | 'l' => 310,
        ' ' | '.' | ',' | '\'' | '|' | 'I' => 340,
        ':' | ';' => 360,
        'f' | 't' | 'r' | '(' | ')' | '[' | ']' | '/' | '\\' | '!' => 445,
        '-' | '"' | '`' => 500,
        '*' | '_' | '?' | 's' | 'J' => 560,
        'c' | 'k' | 'v' | 'x' | 'y' | 'z' => 600,
        '0'..='9' | '$' | 'µ' | '°' | 'a'..='h' | 'n'..='q' | 'u' => 660,
        'B' | 'E' | 'F' | 'K' | 'L' | 'P' | 'S' | 'T' | 'X' | 'Y' | 'Z' => 700,
        'A' | 'C' | 'R' | 'V' | 'Ω' => 770,
        'D' | 'G' | 'H' | 'N' | 'O' | 'Q' | 'U' | '&' => 800,
        '+' | '−' | '=' | '<' | '>' | '~' | '^' | '#' => 850,
        'M' | 'm' | 'w' | '%' | '@' | 'W' => 1020,
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

#[cfg(test)]
mod tests {
    use super::*;

    /// Widest of DejaVu Sans 2.37 and Liberation Sans 2.1 for the signs from `!` to `~`, read off the
    /// font files; thousandths of an em.
    const REGULAR: [i32; 94] = [
        401, 460, 838, 636, 950, 780, 275, 390, 390, 500, 838, 318, 361, 318, 337, 636, 636, 636,
        636, 636, 636, 636, 636, 636, 636, 337, 337, 838, 838, 838, 556, 1015, 684, 686, 722, 770,
        667, 611, 778, 752, 295, 500, 667, 557, 863, 748, 787, 667, 787, 722, 667, 611, 732, 684,
        989, 685, 667, 685, 390, 337, 390, 838, 556, 500, 613, 635, 550, 635, 615, 352, 635, 634,
        278, 278, 579, 278, 974, 634, 612, 635, 635, 411, 521, 392, 634, 592, 818, 592, 592, 525,
        636, 337, 636, 838,
    ];
    /// The same of the bold faces.
    const BOLD: [i32; 94] = [
        456, 521, 838, 696, 1002, 872, 306, 457, 457, 523, 838, 380, 415, 380, 365, 696, 696, 696,
        696, 696, 696, 696, 696, 696, 696, 400, 400, 838, 838, 838, 611, 1000, 774, 762, 734, 830,
        683, 683, 821, 837, 372, 556, 775, 637, 995, 837, 850, 733, 850, 770, 720, 682, 812, 774,
        1103, 771, 724, 725, 457, 365, 457, 838, 556, 500, 675, 716, 593, 716, 678, 435, 716, 712,
        343, 343, 665, 343, 1042, 712, 687, 716, 716, 493, 595, 478, 712, 652, 924, 645, 652, 582,
        712, 365, 712, 838,
    ];

    #[test]
    fn no_sign_is_wider_than_said() {
        for (i, sign) in ('!'..='~').enumerate() {
            // A long line, so that rounding to whole units says nothing.
            let line = sign.to_string().repeat(100);
            for (style, widths) in [
                (Style::Name, &BOLD),
                (Style::Value, &REGULAR),
                (Style::Small, &REGULAR),
            ] {
                let true_width = f64::from(widths[i] * style.size()) / 10.0;
                let said = f64::from(width(&line, style));
                assert!(
                    said >= true_width,
                    "{sign} {style:?}: {said} < {true_width}"
                );
                assert!(
                    said < 1.7 * true_width,
                    "{sign} {style:?}: {said} of {true_width}"
                );
            }
        }
    }

    #[test]
    fn names_are_kept_whole_when_they_are_folded() {
        for name in [
            "R1",
            "",
            "a name-of several_words that is long",
            &"x".repeat(65),
        ] {
            assert_eq!(lines(name).concat(), name);
            assert!(lines(name).iter().all(|line| line.chars().count() <= LINE));
        }
        assert_eq!(lines("a\nb"), ["a b"]);
    }
}
