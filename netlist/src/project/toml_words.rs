//! What the TOML reader finds, in words for a builder who has never seen its grammar.

use std::ops::Range;

use super::tree::SyntaxMistake;

const ANY_HELP: &str =
    "a value is written as name = \"text\" or name = 1.5, a table begins with [name]";

/// A mistake of form; `found` is the reader's own message, which begins with one of its fixed texts.
pub(super) fn mistake(text: &str, span: Range<usize>, found: &str) -> SyntaxMistake {
    let rest = text.get(span.start..).unwrap_or("");
    let rest_of_line = rest.lines().next().unwrap_or("").trim();
    let begins = |message: &str| found.starts_with(message);
    let mut span = span;
    let (message, help) = if let Some(number) = decimal_comma(text, span.start) {
        span = number;
        (
            "a comma in a number".to_owned(),
            "the decimal sign is a point: write 6.8, or with its unit \"6.8 uF\"",
        )
    } else if begins("carriage return must be followed by newline") {
        (
            "a line ends with CR alone, as on very old systems".to_owned(),
            "save the file with LF or CR LF at the ends of lines",
        )
    } else if begins("key with no value") {
        (
            "a name without a value".to_owned(),
            "write name = \"text\"; a remark begins with #",
        )
    } else if (begins("string values must be quoted") && rest_of_line.is_empty())
        || begins("missing value")
    {
        (
            "a value is missing after the '='".to_owned(),
            "write name = \"text\" or name = 1.5",
        )
    } else if begins("string values must be quoted") || begins("invalid value") {
        (
            "this is neither a number nor text between quotes".to_owned(),
            "a value with a unit is text: write \"4.7 uF\"",
        )
    } else if begins("unclosed table") || begins("unclosed array table") {
        (
            "the ']' that closes this header is missing".to_owned(),
            "write [name]",
        )
    } else if begins("unclosed array") {
        (
            "the ']' that closes this list is missing".to_owned(),
            "write [\"in\", \"m1\"]",
        )
    } else if begins("unclosed inline table") {
        (
            "the '}' that closes this table is missing".to_owned(),
            "write { name = \"text\" }",
        )
    } else if begins("invalid basic string") || begins("invalid literal string") {
        (
            "the closing quote of this text is missing".to_owned(),
            "text ends on the line on which it begins",
        )
    } else if begins("missing comma between") {
        (
            "a comma is missing before this".to_owned(),
            "separate fields and items by commas",
        )
    } else if begins("unexpected key or value") {
        (
            "this stands behind a value that has ended".to_owned(),
            "write one field on a line; a remark begins with #",
        )
    } else if begins("unexpected leading zero") {
        (
            "a number does not begin with 0".to_owned(),
            "write 5 or 0.5",
        )
    } else {
        (found.to_owned(), ANY_HELP)
    };
    SyntaxMistake {
        harmless: false,
        span,
        message: format!("this is not TOML: {message}"),
        help: Some(help.to_owned()),
    }
}

/// The number such as 6,8 at whose comma, or right behind which, a mistake stands.
fn decimal_comma(text: &str, at: usize) -> Option<Range<usize>> {
    let digits_before = |end: usize| {
        let before = &text[..end];
        end - before.trim_end_matches(|c: char| c.is_ascii_digit()).len()
    };
    let before = text.get(..at)?.trim_end_matches(' ').len();
    let comma = text[at..].starts_with(',').then_some(at + 1);
    [Some(before), comma].into_iter().flatten().find_map(|end| {
        let end = end + text[end..].bytes().take_while(u8::is_ascii_digit).count();
        let fraction = digits_before(end);
        let comma = text[..end - fraction].strip_suffix(',')?.len();
        let whole = digits_before(comma);
        (fraction > 0 && whole > 0).then_some(comma - whole..end)
    })
}
