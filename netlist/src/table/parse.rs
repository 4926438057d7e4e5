//! Rows to columns, with every mistake named.

use std::ops::Range;

use super::lines::{
    Commas, DataLine, FieldText, Unsplit, commas_of, commas_only, data_lines, split,
};
use super::{LEAST_ROWS, Table, TableKind};
use crate::problem::{Collector, SourceText, TextMistake};

/// Frequencies outside are no measurement of a loudspeaker, and squares of them overflow.
const FREQUENCY_HZ: Range<f64> = 1e-3..1e9;
const IMPEDANCE_OHM: Range<f64> = 1e-6..1e9;
const LEVEL_DB: Range<f64> = -400.0..400.0;
const PHASE_DEG: Range<f64> = -1e7..1e7;

pub(crate) fn parse(
    source: &SourceText,
    kind: TableKind,
    collector: &mut Collector,
) -> Option<Table> {
    let mut mistakes = Vec::new();
    let table = read(source, kind, &mut mistakes);
    collector.first_of(source, mistakes);
    table
}

fn read(source: &SourceText, kind: TableKind, mistakes: &mut Vec<TextMistake>) -> Option<Table> {
    let mut lines = data_lines(&source.text);
    let commas = commas_of(&lines);
    lines.drain(..header_lines(&lines, commas));
    let zero_hz_left_out = lines.first().is_some_and(|line| is_zero_hz(*line, commas));
    if zero_hz_left_out {
        lines.remove(0);
    }
    if commas == Commas::Unclear {
        let line = lines.iter().find(|line| line.text.contains(','))?;
        mistakes.push(TextMistake {
            span: line.span(),
            message: "the commas of this table can be read in two ways: as decimal commas, or \
                      between columns"
                .into(),
            help: Some("use decimal points, and one kind of separator".into()),
        });
        return None;
    }
    let rows = rows(&lines, kind, commas, mistakes);
    if lines.len() < LEAST_ROWS {
        let found = match lines.len() {
            0 => "no row that begins with a number".to_owned(),
            1 => "only 1 row".to_owned(),
            n => format!("only {n} rows"),
        };
        let end = source.text.trim_end().len();
        let first = lines.first().map_or(0..end.min(1), DataLine::span);
        mistakes.push(TextMistake {
            span: first,
            message: format!("the table has {found}; at least {LEAST_ROWS} are needed"),
            help: Some(expected_columns(kind).into()),
        });
    }
    if !mistakes.is_empty() {
        return None;
    }
    let column = |index: usize| rows.iter().map(|row| row[index]).collect();
    Some(Table {
        file: source.name.clone(),
        f_hz: column(0),
        magnitude: column(1),
        phase_deg: (rows.first().map(Vec::len) >= Some(3)).then(|| column(2)),
        zero_hz_left_out,
    })
}

/// The numbers of all rows that can be read.
fn rows(
    lines: &[DataLine<'_>],
    kind: TableKind,
    commas: Commas,
    mistakes: &mut Vec<TextMistake>,
) -> Vec<Vec<f64>> {
    let four = !commas_only(lines);
    let mut rows: Vec<Vec<f64>> = Vec::new();
    let mut width: Option<usize> = None;
    let mut last_f_hz: Option<f64> = None;
    let mut falls: Vec<TextMistake> = Vec::new();
    for line in lines {
        let Some(fields) = fields_of(*line, commas, mistakes) else {
            continue;
        };
        let Some(row) = numbers_of(&fields, kind, four, mistakes) else {
            continue;
        };
        let expected = *width.get_or_insert(row.len());
        if row.len() != expected {
            mistakes.push(TextMistake {
                span: line.span(),
                message: format!(
                    "this row has {} columns, the rows before it have {expected}",
                    row.len()
                ),
                help: Some("give every row the same columns".into()),
            });
        }
        let f_hz = row[0];
        if let Some(last) = last_f_hz.filter(|last| *last >= f_hz) {
            let message = if last > f_hz {
                format!("the frequencies must rise, but {f_hz} Hz comes after {last} Hz")
            } else {
                format!("{f_hz} Hz comes twice")
            };
            falls.push(TextMistake {
                span: fields[0].span.clone(),
                message,
                help: Some("sort the rows by frequency and keep one row for each".into()),
            });
        }
        last_f_hz = Some(f_hz);
        rows.push(row);
    }
    // Of a table that runs downwards all is said at once.
    let run_down = falls.len() > 2 && 2 * falls.len() > rows.len();
    if let Some(first) = falls.first_mut().filter(|_| run_down) {
        first.message += ", and so on: the table runs from high to low";
        first.help = Some("turn the rows round; is column 1 the frequency in Hz?".into());
        falls.truncate(1);
    }
    mistakes.append(&mut falls);
    rows
}

/// How many lines before the rows are of numbers and no rows: a single number, or fewer than the row after them has
/// and a first one that is not below its frequency.
fn header_lines(lines: &[DataLine<'_>], commas: Commas) -> usize {
    let numbers = |at: usize| -> Option<Vec<f64>> {
        let fields = split(lines[at], commas).ok()?;
        (fields.iter())
            .map(|field| field.text.parse().ok())
            .collect()
    };
    let is_header = |at: usize| {
        let (Some(this), Some(next)) = (numbers(at), numbers(at + 1)) else {
            return false;
        };
        let fewer = this.len() == 2 && next.len() > 2 && this[0] >= next[0];
        this.len() == 1 || fewer
    };
    // More than these, and it is a table with mistakes.
    let most = lines.len().saturating_sub(LEAST_ROWS).min(4);
    let count = (0..most).take_while(|at| is_header(*at)).count();
    let row = lines.get(count).and_then(|_| numbers(count));
    if row.is_some_and(|row| row.len() > 1) {
        count
    } else {
        0
    }
}

fn is_zero_hz(line: DataLine<'_>, commas: Commas) -> bool {
    let fields = split(line, commas).unwrap_or_default();
    fields.len() > 1
        && fields[0]
            .text
            .parse::<f64>()
            .is_ok_and(|f_hz| f_hz.abs() < f64::MIN_POSITIVE)
}

fn expected_columns(kind: TableKind) -> &'static str {
    match kind {
        TableKind::Impedance => {
            "columns: frequency in Hz, impedance in ohm, and if measured phase in degrees"
        }
        TableKind::Response => {
            "columns: frequency in Hz, level in dB, and if measured phase in degrees"
        }
    }
}

fn fields_of(
    line: DataLine<'_>,
    commas: Commas,
    mistakes: &mut Vec<TextMistake>,
) -> Option<Vec<FieldText>> {
    match split(line, commas) {
        Ok(fields) => Some(fields),
        Err(Unsplit::UnclearComma(span)) => {
            mistakes.push(TextMistake {
                span,
                message: "this comma can be a decimal comma or stand between two columns".into(),
                help: Some("use decimal points, and one kind of separator".into()),
            });
            None
        }
        Err(Unsplit::Missing(span)) => {
            mistakes.push(TextMistake {
                span,
                message: "a value is missing between two separators".into(),
                help: Some("fill in the value or delete the row".into()),
            });
            None
        }
    }
}

/// The numbers of a row, each within reason; `None` when one is not, or their count is wrong.
fn numbers_of(
    fields: &[FieldText],
    kind: TableKind,
    four: bool,
    mistakes: &mut Vec<TextMistake>,
) -> Option<Vec<f64>> {
    let before = mistakes.len();
    let mut row = Vec::with_capacity(3);
    for (column, field) in fields.iter().enumerate() {
        let shown: String = field.text.chars().take(40).collect();
        let (message, help) = match field.text.parse::<f64>() {
            Ok(value) if !value.is_finite() => (
                format!("'{shown}' is not a number to work with"),
                format!("{}; {REPAIR}", column_help(column, kind)),
            ),
            Ok(value) => {
                row.push(value);
                match out_of_reason(column, value, kind) {
                    Some(message) => (message, format!("{}; {REPAIR}", column_help(column, kind))),
                    None => continue,
                }
            }
            Err(_) => (
                format!("'{shown}' is not a number"),
                "a comment line that begins with a number needs another sign before it, as in '# 1 m, on axis'"
                    .to_owned(),
            ),
        };
        mistakes.push(TextMistake {
            span: field.span.clone(),
            message,
            help: Some(help),
        });
        // The rest of a line of prose would only repeat it.
        return None;
    }
    let coherence = four && row.len() == 4 && (0.0..=1.0).contains(&row[3]);
    if !(2..=3).contains(&row.len()) && !coherence {
        let start = fields.first().map_or(0, |field| field.span.start);
        let end = fields.last().map_or(0, |field| field.span.end);
        mistakes.push(TextMistake {
            span: start..end,
            message: format!(
                "this row has {} column{}; a table has 2 or 3",
                row.len(),
                if row.len() == 1 { "" } else { "s" }
            ),
            help: Some(expected_columns(kind).into()),
        });
    }
    (mistakes.len() == before).then_some(row)
}

/// What to do about a row that was not measured well.
const REPAIR: &str = "measure the row again, or delete it";

/// What a column holds.
fn column_help(column: usize, kind: TableKind) -> &'static str {
    match (column, kind) {
        (0, _) => "column 1 is the frequency in Hz",
        (1, TableKind::Impedance) => "column 2 is the magnitude of the impedance in ohm, above 0",
        (1, TableKind::Response) => "column 2 is the level in dB SPL",
        _ => "column 3 is the phase in degrees",
    }
}

fn out_of_reason(column: usize, value: f64, kind: TableKind) -> Option<String> {
    let (range, what, unit) = match (column, kind) {
        (0, _) => (FREQUENCY_HZ, "a frequency", "Hz"),
        (1, TableKind::Impedance) => (IMPEDANCE_OHM, "an impedance", "ohm"),
        (1, TableKind::Response) => (LEVEL_DB, "a level", "dB"),
        (2, _) => (PHASE_DEG, "a phase", "degrees"),
        // A row too long is told as such.
        _ => return None,
    };
    if range.contains(&value) {
        return None;
    }
    if range.start > 0.0 && value <= 0.0 {
        return Some(format!(
            "{what} of {value} {unit} cannot be: it must be above 0"
        ));
    }
    Some(format!("{what} of {value} {unit} is out of all reason"))
}
