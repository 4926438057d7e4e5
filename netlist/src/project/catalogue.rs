//! A catalogue as a file of separated values: what can be bought, or the builder's own drawer.
//!
//! The first line names the columns, in any order: `kind` and `value` must be there; `tolerance`,
//! `dcr_or_esr`, `rating`, `price`, `name` and `count` may be. Columns are parted by commas, or by
//! semicolons or tabs when the first line has them. A line that begins with `#` is a comment.

use std::ops::Range;

use super::fields::{Limit, meant, with_way_out};
use super::{CatalogueItem, StockKind};
use crate::problem::{Collector, SourceText, TextMistake};
use crate::quantity::{Dimension, Fraction, Ohms};

const COLUMNS: [&str; 8] = [
    "kind",
    "value",
    "tolerance",
    "dcr_or_esr",
    "rating",
    "price",
    "name",
    "count",
];

pub(super) fn read(source: &SourceText, collector: &mut Collector) -> Vec<CatalogueItem> {
    let mut reader = CatalogueReader {
        source,
        mistakes: Vec::new(),
    };
    let items = reader.items();
    collector.first_of(source, reader.mistakes);
    items
}

struct CatalogueReader<'s> {
    source: &'s SourceText,
    mistakes: Vec<TextMistake>,
}

/// A line of the file: its bytes and its fields.
struct CatalogueRow {
    span: Range<usize>,
    fields: Vec<String>,
}

impl CatalogueReader<'_> {
    fn wrong(&mut self, span: Range<usize>, message: String, help: impl Into<Option<String>>) {
        self.mistakes.push(TextMistake {
            span,
            message,
            help: help.into(),
        });
    }

    fn rows(&mut self) -> Vec<CatalogueRow> {
        let text = &self.source.text;
        let first = text.lines().find(|line| {
            let line = line.trim();
            !line.is_empty() && !line.starts_with('#')
        });
        let delimiter = match first {
            Some(line) if line.contains(';') => b';',
            Some(line) if line.contains('\t') => b'\t',
            _ => b',',
        };
        let mut csv = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .comment(Some(b'#'))
            .delimiter(delimiter)
            .trim(csv::Trim::All)
            .from_reader(text.as_bytes());
        let mut rows = Vec::new();
        let mut record = csv::StringRecord::new();
        loop {
            match csv.read_record(&mut record) {
                Ok(true) => {
                    let start = record.position().map_or(0, |at| at.byte() as usize);
                    let end = csv.position().byte() as usize;
                    let line = text.get(start..end).unwrap_or("");
                    // The reader counts the comment lines before a record as its beginning.
                    let mut kept = line.trim_start();
                    while kept.starts_with('#') {
                        kept = kept
                            .split_once('\n')
                            .map_or("", |(_, rest)| rest)
                            .trim_start();
                    }
                    let start = start + line.len() - kept.len();
                    let blank = record.iter().all(str::is_empty);
                    if !blank {
                        rows.push(CatalogueRow {
                            span: start..start + kept.trim_end().len(),
                            fields: record.iter().map(String::from).collect(),
                        });
                    }
                }
                Ok(false) => return rows,
                Err(error) => {
                    let at = csv.position().byte() as usize;
                    self.wrong(
                        at..at,
                        format!("the catalogue cannot be read: {error}"),
                        None,
                    );
                    return rows;
                }
            }
        }
    }

    fn items(&mut self) -> Vec<CatalogueItem> {
        let rows = self.rows();
        let Some((head, rows)) = rows.split_first() else {
            self.wrong(
                0..0,
                "the catalogue is empty".into(),
                "its first line names the columns: ".to_owned() + &COLUMNS.join(","),
            );
            return Vec::new();
        };
        let Some(columns) = self.columns(head) else {
            return Vec::new();
        };
        rows.iter()
            .filter_map(|row| self.item(row, &columns))
            .collect()
    }

    /// For each column of the file the index into [`COLUMNS`].
    fn columns(&mut self, head: &CatalogueRow) -> Option<Vec<usize>> {
        let before = self.mistakes.len();
        let mut columns: Vec<usize> = Vec::new();
        for (index, written) in head.fields.iter().enumerate() {
            let span = self.span_of(head, index);
            let name = written.to_lowercase().replace([' ', '-'], "_");
            match COLUMNS.iter().position(|column| *column == name) {
                Some(column) if columns.contains(&column) => {
                    self.wrong(span, format!("the column '{written}' comes twice"), None);
                }
                Some(column) => columns.push(column),
                None => {
                    let all = format!("the first line names the columns: {}", COLUMNS.join(","));
                    let help = meant(written, COLUMNS.into_iter(), all);
                    let shown: String = written.chars().take(40).collect();
                    self.wrong(span, format!("a catalogue has no column '{shown}'"), help);
                }
            }
        }
        for (column, name) in COLUMNS.iter().enumerate().take(2) {
            let misspelt = self.mistakes.len() > before;
            if !columns.contains(&column) && !misspelt {
                self.wrong(
                    head.span.clone(),
                    format!("the catalogue lacks the column '{name}'"),
                    format!("the first line names the columns: {}", COLUMNS.join(",")),
                );
            }
        }
        (self.mistakes.len() == before).then_some(columns)
    }

    /// The bytes of a field, or of the line where it cannot be told.
    fn span_of(&self, row: &CatalogueRow, index: usize) -> Range<usize> {
        let line = &self.source.text[row.span.clone()];
        let mut from = 0;
        for (at, field) in row.fields.iter().enumerate() {
            let Some(found) = line[from..].find(field.as_str()) else {
                break;
            };
            let start = from + found;
            if at == index {
                return row.span.start + start..row.span.start + start + field.len();
            }
            from = start + field.len();
        }
        row.span.clone()
    }

    fn item(&mut self, row: &CatalogueRow, columns: &[usize]) -> Option<CatalogueItem> {
        if row.fields.len() > columns.len()
            && row.fields[columns.len()..]
                .iter()
                .any(|field| !field.is_empty())
        {
            self.wrong(
                row.span.clone(),
                format!(
                    "this line has {} fields, the first line names {}",
                    row.fields.len(),
                    columns.len()
                ),
                "a field with a comma stands between double quotes; numbers take a decimal point"
                    .to_owned(),
            );
            return None;
        }
        let before = self.mistakes.len();
        let mut cells: [Option<(usize, &str)>; COLUMNS.len()] = [None; COLUMNS.len()];
        for (index, &column) in columns.iter().enumerate() {
            let field = row.fields.get(index).map_or("", String::as_str);
            if !field.is_empty() {
                cells[column] = Some((index, field));
            }
        }
        let [kind, value, tolerance, loss, rating, price, name, count] = cells;
        for (cell, column) in [(kind, "kind"), (value, "value")] {
            if cell.is_none() {
                self.wrong(row.span.clone(), format!("this line has no {column}"), None);
            }
        }
        let kind = kind.and_then(|(index, text)| match text.parse::<StockKind>() {
            Ok(kind) => Some(kind),
            Err(error) => {
                let span = self.span_of(row, index);
                self.wrong(span, error.to_string(), None);
                None
            }
        });
        let value_si = (value.zip(kind))
            .and_then(|(cell, kind)| self.cell(row, cell, kind.dimension(), Limit::Positive));
        let tolerance = tolerance.and_then(|cell| {
            let share = self.cell(row, cell, Dimension::Share, Limit::NotNegative)?;
            if share >= 1.0 {
                let span = self.span_of(row, cell.0);
                let message = format!(
                    "a tolerance of {} allows a value of nothing",
                    Fraction(share)
                );
                self.wrong(span, message, "write it like '5 %' or 0.05".to_owned());
            }
            Some(Fraction(share))
        });
        let loss = (loss
            .and_then(|cell| self.cell(row, cell, Dimension::Resistance, Limit::NotNegative)))
        .map(Ohms);
        let rating = (rating.zip(kind)).and_then(|(cell, kind)| {
            self.cell(row, cell, kind.rating_dimension(), Limit::Positive)
        });
        let price = price.and_then(|cell| self.price(row, cell));
        let count = count.and_then(|cell| self.count(row, cell));
        if self.mistakes.len() > before {
            return None;
        }
        Some(CatalogueItem {
            tolerance,
            loss,
            rating,
            price,
            count,
            ..CatalogueItem::of(kind?, value_si?, name.map(|(_, name)| name.to_owned()))
        })
    }

    /// A quantity in SI.
    fn cell(
        &mut self,
        row: &CatalogueRow,
        (index, text): (usize, &str),
        dimension: Dimension,
        limit: Limit,
    ) -> Option<f64> {
        let (message, help) = match dimension.parse(text) {
            Ok(value) => {
                let name = format!("'{text}': the {}", dimension.what());
                let bare = text.trim().parse::<f64>().is_ok();
                let help = format!("write it like \"{}\"", dimension.example());
                match limit.wrong(&name, (value, dimension), bare, (help, false)) {
                    Some((message, help)) => (message, Some(help)),
                    None => return Some(value),
                }
            }
            Err(error) => with_way_out(&error.to_string()),
        };
        let span = self.span_of(row, index);
        self.wrong(span, message, help);
        None
    }

    fn price(&mut self, row: &CatalogueRow, (index, text): (usize, &str)) -> Option<f64> {
        match text.parse::<f64>() {
            Ok(price) if (0.0..1e12).contains(&price) => Some(price),
            _ => {
                let span = self.span_of(row, index);
                self.wrong(
                    span,
                    format!("'{text}' is not a price"),
                    "a price is a number without currency and with a decimal point, like 3.50"
                        .to_owned(),
                );
                None
            }
        }
    }

    fn count(&mut self, row: &CatalogueRow, (index, text): (usize, &str)) -> Option<u32> {
        let count = text.parse::<u32>().ok();
        if count.is_none() {
            let span = self.span_of(row, index);
            self.wrong(
                span,
                format!("'{text}' is not a count"),
                "a count is a whole number, like 4; leave it out when there are plenty".to_owned(),
            );
        }
        count
    }
}
