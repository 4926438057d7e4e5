//! Mistakes in files: what, where, and the way out, all of a set of files at once.

use std::fmt;
use std::ops::Range;

use indexmap::IndexMap;

/// Where in a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Location {
    /// Bytes of the text as held in [`Problems::source`].
    pub span: Range<usize>,
    /// Line, counted from 1.
    pub line: usize,
    /// Column in characters, counted from 1.
    pub column: usize,
}

/// One mistake.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub struct FileProblem {
    /// File, as it was named.
    pub file: String,
    /// Where in it; `None` when the file as a whole is meant.
    pub place: Option<Location>,
    /// What is wrong.
    pub message: String,
    /// The way out.
    pub help: Option<String>,
}

impl fmt::Display for FileProblem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.file)?;
        if let Some(place) = &self.place {
            write!(f, ":{}:{}", place.line, place.column)?;
        }
        write!(f, ": {}", self.message)?;
        if let Some(help) = &self.help {
            write!(f, "\n  help: {help}")?;
        }
        Ok(())
    }
}

/// All mistakes of a set of files, in file order, with the texts to show them in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problems {
    list: Vec<FileProblem>,
    sources: IndexMap<String, String>,
}

impl Problems {
    /// The mistakes, file by file and from top to bottom. Never empty.
    #[must_use]
    pub fn list(&self) -> &[FileProblem] {
        &self.list
    }

    /// The text of a file in which a mistake has its place.
    #[must_use]
    pub fn source(&self, file: &str) -> Option<&str> {
        self.sources.get(file).map(String::as_str)
    }
}

impl fmt::Display for Problems {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, problem) in self.list.iter().enumerate() {
            if index > 0 {
                writeln!(f)?;
            }
            write!(f, "{problem}")?;
        }
        Ok(())
    }
}

impl std::error::Error for Problems {}

fn from_utf16(bytes: &[u8], unit: fn([u8; 2]) -> u16) -> String {
    let (pairs, _) = bytes.as_chunks();
    let units: Vec<u16> = pairs.iter().map(|pair| unit(*pair)).collect();
    String::from_utf16_lossy(&units)
}

/// A file's text that can tell lines and columns.
#[derive(Debug, Clone)]
pub(crate) struct SourceText {
    pub(crate) name: String,
    pub(crate) text: String,
    line_starts: Vec<usize>,
}

impl SourceText {
    /// Takes the bytes of a file in UTF-8, or in UTF-16 with its byte order mark; the mark is dropped and what
    /// is neither becomes replacement characters.
    pub(crate) fn new(name: String, bytes: &[u8]) -> Self {
        let text = match bytes {
            // What spreadsheets call Unicode text is UTF-16.
            [0xff, 0xfe, rest @ ..] => from_utf16(rest, u16::from_le_bytes),
            [0xfe, 0xff, rest @ ..] => from_utf16(rest, u16::from_be_bytes),
            [0xef, 0xbb, 0xbf, rest @ ..] => String::from_utf8_lossy(rest).into_owned(),
            _ => String::from_utf8_lossy(bytes).into_owned(),
        };
        // A line ends with LF, CR LF or, in files of old systems, CR alone.
        let bytes = text.as_bytes();
        let ends = (0..bytes.len()).filter(|&at| {
            bytes[at] == b'\n' || (bytes[at] == b'\r' && bytes.get(at + 1) != Some(&b'\n'))
        });
        let line_starts = std::iter::once(0).chain(ends.map(|at| at + 1)).collect();
        Self {
            name,
            text,
            line_starts,
        }
    }

    /// Line, column and byte span, made safe to slice with.
    pub(crate) fn place(&self, span: Range<usize>) -> Location {
        let floor = |mut at: usize| {
            at = at.min(self.text.len());
            while !self.text.is_char_boundary(at) {
                at -= 1;
            }
            at
        };
        let start = floor(span.start);
        let end = floor(span.end).max(start);
        let line = self.line_starts.partition_point(|at| *at <= start);
        let line_start = self.line_starts[line - 1];
        Location {
            span: start..end,
            line,
            column: self.text[line_start..start].chars().count() + 1,
        }
    }
}

/// A mistake in a text, with the way out.
#[derive(Debug)]
pub(crate) struct TextMistake {
    pub(crate) span: Range<usize>,
    pub(crate) message: String,
    pub(crate) help: Option<String>,
}

/// Gathers mistakes while files are read.
#[derive(Debug, Default)]
pub(crate) struct Collector {
    list: Vec<FileProblem>,
    sources: IndexMap<String, String>,
}

impl Collector {
    /// Makes a file known; mistakes are later sorted in the order in which files came.
    pub(crate) fn source(&mut self, source: &SourceText) {
        self.sources
            .entry(source.name.clone())
            .or_insert_with(|| source.text.clone());
    }

    /// A mistake at a place of a text.
    pub(crate) fn at(
        &mut self,
        source: &SourceText,
        span: Range<usize>,
        message: impl Into<String>,
        help: impl Into<Option<String>>,
    ) {
        self.source(source);
        let problem = FileProblem {
            file: source.name.clone(),
            place: Some(source.place(span)),
            message: message.into(),
            help: help.into(),
        };
        // One file may be read for two drivers: its mistakes are told once.
        if !self.list.contains(&problem) {
            self.list.push(problem);
        }
    }

    /// The first mistakes of a text that may have very many, and how many more there are.
    pub(crate) fn first_of(&mut self, source: &SourceText, mistakes: Vec<TextMistake>) {
        /// So many are shown.
        const SHOWN: usize = 8;
        let hidden = mistakes.len().saturating_sub(SHOWN);
        for (index, mistake) in mistakes.into_iter().enumerate() {
            if index == SHOWN {
                let more = if hidden == 1 { "mistake" } else { "mistakes" };
                let message = format!("and {hidden} more {more} from here on");
                self.at(source, mistake.span, message, None);
                break;
            }
            self.at(source, mistake.span, mistake.message, mistake.help);
        }
    }

    /// A mistake of a file as a whole.
    pub(crate) fn whole(
        &mut self,
        file: &str,
        message: impl Into<String>,
        help: impl Into<Option<String>>,
    ) {
        self.list.push(FileProblem {
            file: file.to_owned(),
            place: None,
            message: message.into(),
            help: help.into(),
        });
    }

    /// How many mistakes so far.
    pub(crate) fn count(&self) -> usize {
        self.list.len()
    }

    /// The value when there was no mistake, all mistakes otherwise.
    pub(crate) fn finish<T>(mut self, value: Option<T>) -> Result<T, Problems> {
        match value {
            Some(value) if self.list.is_empty() => Ok(value),
            _ => {
                let order = |problem: &FileProblem| {
                    let file = self.sources.get_index_of(&problem.file);
                    let start = problem.place.as_ref().map(|place| place.span.start);
                    (file, start)
                };
                self.list.sort_by_key(order);
                debug_assert!(
                    !self.list.is_empty(),
                    "a value is missing without a mistake"
                );
                Err(Problems {
                    list: self.list,
                    sources: self.sources,
                })
            }
        }
    }
}
