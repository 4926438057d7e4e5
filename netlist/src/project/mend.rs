//! Reading past mistakes of form, so that all mistakes of a file are told at once.
//!
//! The value in which a mistake of form stands is overwritten by a plain number of the same length, so that
//! every other place of the text stays where it is, and the text is read again. In the tree that value is
//! one that no field takes; what is then said about it is no mistake of its own, see `fields::Context`.

use std::ops::Range;

use super::tree::{Node, NodeValue, SyntaxMistake};

/// With more mistakes of form than this the text is something else altogether.
const MOST: usize = 20;

/// A text whose mistakes of form have been overwritten.
pub(super) struct Mended {
    pub(super) text: String,
    /// What was overwritten.
    pub(super) ranges: Vec<Range<usize>>,
    /// The mistakes, in the order in which they were met.
    pub(super) mistakes: Vec<SyntaxMistake>,
}

/// Overwrites values until `first_mistake` finds none that hinders reading; `sign` stands between a name and
/// its value. `None` when a mistake cannot be kept to one value.
pub(super) fn mend(
    text: &str,
    sign: char,
    first_mistake: impl Fn(&str) -> Option<SyntaxMistake>,
) -> Option<Mended> {
    let mut mended = Mended {
        text: text.to_owned(),
        ranges: Vec::new(),
        mistakes: Vec::new(),
    };
    // A mistake may take two rounds: its value, then all behind its name.
    for _ in 0..=2 * MOST {
        let Some(mistake) = first_mistake(&mended.text) else {
            return Some(mended);
        };
        let line = line_of(text, mistake.span.start);
        let touched = |range: &Range<usize>| {
            let mut ranges = mended.ranges.iter();
            ranges.any(|old| old.start < range.end && range.start < old.end)
        };
        let value = bare_value(&mended.text, mistake.span.start, &line, sign);
        let (range, new) = match value.filter(|range| !touched(range)) {
            Some(range) => (range, true),
            None => {
                let range = all_behind_name(&mended.text, &line, sign)?;
                if mended.ranges.contains(&range) {
                    return None;
                }
                let stumble = touched(&range);
                (range, !stumble)
            }
        };
        let filler = format!("0{}", " ".repeat(range.len() - 1));
        mended.text.replace_range(range.clone(), &filler);
        mended.ranges.push(range);
        if new {
            mended.mistakes.push(mistake);
        }
        if mended.mistakes.len() > MOST {
            return None;
        }
    }
    None
}

/// Makes the overwritten values of a tree such that no field takes them.
pub(super) fn mark_broken(node: &mut Node, ranges: &[Range<usize>]) {
    if ranges.iter().any(|range| range.contains(&node.span.start)) {
        node.value = NodeValue::Other("unreadable");
    }
    match &mut node.value {
        NodeValue::Table(entries) => {
            for entry in entries {
                mark_broken(&mut entry.node, ranges);
            }
        }
        NodeValue::List(items) => {
            for item in items {
                mark_broken(item, ranges);
            }
        }
        _ => {}
    }
}

/// The line that holds a place, without its end.
fn line_of(text: &str, at: usize) -> Range<usize> {
    let at = at.min(text.len());
    let start = text[..at].rfind('\n').map_or(0, |end| end + 1);
    let end = text[at..].find('\n').map_or(text.len(), |end| at + end);
    start..end
}

/// The value without quotes or brackets in which, or right behind which, a mistake stands.
fn bare_value(text: &str, at: usize, line: &Range<usize>, sign: char) -> Option<Range<usize>> {
    let before = text.get(line.start..at.min(line.end))?;
    let mut start = line.start + before.rfind(sign)? + sign.len_utf8();
    start += blanks(&text[start..line.end]);
    let rest = &text[start..line.end];
    let end = rest.char_indices().find(|&(at, c)| {
        let decimal_comma = c == ',' && rest[at + 1..].starts_with(|c: char| c.is_ascii_digit());
        matches!(c, '"' | '\'' | '[' | ']' | '{' | '}' | '#' | ',') && !decimal_comma
    });
    let len = end.map_or(rest.len(), |(at, _)| at);
    let len = rest[..len].trim_end().len();
    // A quote or bracket at once is no bare value; nothing at all leaves no room.
    (len > 0).then_some(start..start + len)
}

/// All behind the first name of a line that is a name with its value.
fn all_behind_name(text: &str, line: &Range<usize>, sign: char) -> Option<Range<usize>> {
    let whole = &text[line.clone()];
    let begin = whole.trim_start().chars().next()?;
    if matches!(begin, '[' | '#' | '{' | '}' | ']') {
        return None;
    }
    let start = line.start + whole.find(sign)? + sign.len_utf8();
    // In JSON the comma behind the value parts it from the next.
    let kept = if sign == ':' {
        &[',', '\r', ' '][..]
    } else {
        &['\r']
    };
    let end = start + text[start..line.end].trim_end_matches(kept).len();
    (end > start).then_some(start..end)
}

fn blanks(text: &str) -> usize {
    text.len() - text.trim_start().len()
}
