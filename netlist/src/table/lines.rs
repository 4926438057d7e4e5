//! Splitting a table's lines into fields, and deciding what its commas mean.

use std::ops::Range;

/// A field of a row: its bytes in the file, and its text with a decimal point.
pub(super) struct FieldText {
    pub(super) span: Range<usize>,
    pub(super) text: String,
}

/// A line that begins with a number, without surrounding blanks.
#[derive(Clone, Copy)]
pub(super) struct DataLine<'a> {
    pub(super) start: usize,
    pub(super) text: &'a str,
}

impl DataLine<'_> {
    pub(super) fn span(&self) -> Range<usize> {
        self.start..self.start + self.text.len()
    }
}

/// What the commas of a table are.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Commas {
    /// Between columns.
    Separate,
    /// Inside numbers.
    Decimal,
    /// Either; the file must not be read.
    Unclear,
}

/// All lines that begin with a number; the others are comments.
pub(super) fn data_lines(text: &str) -> Vec<DataLine<'_>> {
    let mut lines = Vec::new();
    let mut offset = 0;
    for line in text.split_inclusive(['\n', '\r']) {
        let trimmed = line.trim_start_matches(is_blank);
        let start = offset + line.len() - trimmed.len();
        // Separators at the end of a row are empty columns of a spreadsheet.
        let trimmed = trimmed.trim_end_matches(is_separator);
        if begins_with_number(trimmed) {
            lines.push(DataLine {
                start,
                text: trimmed,
            });
        }
        offset += line.len();
    }
    lines
}

fn is_blank(c: char) -> bool {
    c.is_whitespace() || c == '\0'
}

fn is_separator(c: char) -> bool {
    is_blank(c) || matches!(c, ',' | ';')
}

fn is_quote(c: char) -> bool {
    matches!(c, '"' | '\'')
}

fn begins_with_number(line: &str) -> bool {
    let line = line.trim_start_matches(is_quote);
    let mut bytes = line.bytes().peekable();
    if matches!(bytes.peek(), Some(b'+' | b'-')) {
        bytes.next();
    }
    if bytes.peek() == Some(&b'.') {
        bytes.next();
    }
    if bytes.next().is_some_and(|byte| byte.is_ascii_digit()) {
        return true;
    }
    // "nan 8.0 12" is a broken row, not a comment.
    let mut fields = line.split(is_separator).filter(|field| !field.is_empty());
    let first = fields.next().unwrap_or("");
    let odd = first.parse::<f64>().is_ok();
    odd && line.contains(is_separator) && fields.all(|field| field.parse::<f64>().is_ok())
}

/// A comma with a digit on either side, as in "20,5".
fn tight_commas(line: &str) -> impl Iterator<Item = usize> + '_ {
    let bytes = line.as_bytes();
    (1..bytes.len().saturating_sub(1)).filter(move |&at| {
        bytes[at] == b',' && bytes[at - 1].is_ascii_digit() && bytes[at + 1].is_ascii_digit()
    })
}

/// Looks at the whole file: a comma between digits is a decimal comma when semicolons or tabs part
/// the columns and no number has a decimal point.
pub(super) fn commas_of(lines: &[DataLine<'_>]) -> Commas {
    let tight = lines
        .iter()
        .any(|line| tight_commas(line.text).next().is_some());
    let hard = lines.iter().any(|line| line.text.contains([';', '\t']));
    let point = lines.iter().any(|line| line.text.contains('.'));
    match (tight && hard, point) {
        (false, _) => Commas::Separate,
        (true, false) => Commas::Decimal,
        (true, true) => Commas::Unclear,
    }
}

/// Whether commas are all that parts the columns of a line, with a digit on either side, and no number has a
/// decimal point: they may be decimal commas as well.
pub(super) fn commas_only(lines: &[DataLine<'_>]) -> bool {
    let tight = |line: &DataLine<'_>| tight_commas(line.text).next().is_some();
    lines
        .iter()
        .all(|line| tight(line) && !line.text.contains('.'))
}

/// Why a line could not be split.
pub(super) enum Unsplit {
    /// Commas between digits and blanks between columns.
    UnclearComma(Range<usize>),
    /// Two separators with nothing between.
    Missing(Range<usize>),
}

/// The fields of a line.
pub(super) fn split(line: DataLine<'_>, commas: Commas) -> Result<Vec<FieldText>, Unsplit> {
    let decimal: Vec<usize> = match commas {
        Commas::Decimal => tight_commas(line.text).collect(),
        _ => Vec::new(),
    };
    let parts = |at: usize, c: char| is_separator(c) && !decimal.contains(&at);
    let mut fields: Vec<FieldText> = Vec::new();
    let mut rest = line.text.char_indices().peekable();
    let mut soft_gap = false;
    while let Some(&(start, _)) = rest.peek() {
        let mut end = start;
        let mut text = String::new();
        while let Some((at, c)) = rest.next_if(|&(at, c)| !parts(at, c)) {
            end = at + c.len_utf8();
            if !is_quote(c) {
                text.push(if c == ',' { '.' } else { c });
            }
        }
        fields.push(FieldText {
            span: line.start + start..line.start + end,
            text,
        });
        let gap_start = end;
        let mut gap_end = end;
        let mut marks = 0;
        while let Some((at, c)) = rest.next_if(|&(at, c)| parts(at, c)) {
            gap_end = at + c.len_utf8();
            marks += usize::from(matches!(c, ',' | ';'));
        }
        if marks > 1 {
            return Err(Unsplit::Missing(
                line.start + gap_start..line.start + gap_end,
            ));
        }
        soft_gap |= marks == 0 && rest.peek().is_some();
    }
    if commas == Commas::Separate
        && soft_gap
        && let Some(at) = tight_commas(line.text).next()
    {
        return Err(Unsplit::UnclearComma(line.start + at..line.start + at + 1));
    }
    Ok(fields)
}
