//! JSON text (RFC 8259) to the common tree, with the place of every value.

use std::ops::Range;

use super::mend::{mark_broken, mend};
use super::tree::{Node, NodeValue, SyntaxMistake, TreeEntry};

/// Deeper nesting is no project file, and would exhaust the stack.
const DEEPEST: usize = 80;

/// Reads the text, up to the first mistake of form; names that come twice are all told.
pub(super) fn parse(text: &str) -> (Option<Node>, Vec<SyntaxMistake>) {
    let mut reader = JsonReader {
        text,
        at: 0,
        depth: 0,
        duplicates: Vec::new(),
    };
    let node = reader.document();
    let mut mistakes = reader.duplicates;
    match node {
        Ok(node) => (Some(node), mistakes),
        Err(mistake) => {
            mistakes.push(mistake);
            (None, mistakes)
        }
    }
}

/// Reads past mistakes of form that can be kept to one value, and gives the places of those values.
pub(super) fn parse_past_mistakes(
    text: &str,
) -> (Option<Node>, Vec<SyntaxMistake>, Vec<Range<usize>>) {
    let first = |text: &str| parse(text).1.into_iter().find(|mistake| !mistake.harmless);
    let Some(mended) = mend(text, ':', first) else {
        let (root, mistakes) = parse(text);
        return (root, mistakes, Vec::new());
    };
    let (mut root, twice) = parse(&mended.text);
    if let Some(root) = &mut root {
        mark_broken(root, &mended.ranges);
    }
    let mut mistakes = mended.mistakes;
    for mistake in &mut mistakes {
        mistake.harmless = true;
    }
    mistakes.extend(twice);
    (root, mistakes, mended.ranges)
}

struct JsonReader<'a> {
    text: &'a str,
    at: usize,
    depth: usize,
    duplicates: Vec<SyntaxMistake>,
}

type Read<T> = Result<T, SyntaxMistake>;

impl JsonReader<'_> {
    fn document(&mut self) -> Read<Node> {
        self.blanks();
        let node = self.value()?;
        self.blanks();
        if self.at < self.text.len() {
            return Err(self.fail("there is more text after the end of the table", None));
        }
        Ok(node)
    }

    fn peek(&self) -> Option<u8> {
        self.text.as_bytes().get(self.at).copied()
    }

    fn blanks(&mut self) {
        while matches!(self.peek(), Some(b' ' | b'\t' | b'\n' | b'\r')) {
            self.at += 1;
        }
    }

    fn fail(&self, message: impl Into<String>, help: Option<&str>) -> SyntaxMistake {
        let rest = self.text.get(self.at..).unwrap_or("");
        let len = rest.chars().next().map_or(0, char::len_utf8);
        SyntaxMistake {
            harmless: false,
            span: self.at..self.at + len,
            message: format!("this is not JSON: {}", message.into()),
            help: help.map(String::from),
        }
    }

    fn value(&mut self) -> Read<Node> {
        let start = self.at;
        let value = match self.peek() {
            Some(b'{') => self.table()?,
            Some(b'[') => self.list()?,
            Some(b'"') => NodeValue::Text(self.string()?),
            Some(b'-' | b'0'..=b'9') => self.number()?,
            Some(b'a'..=b'z' | b'A'..=b'Z') => self.word()?,
            Some(b'\'') => {
                return Err(self.fail(
                    "text stands between double quotes",
                    Some("write \"...\" instead of '...'"),
                ));
            }
            Some(_) => return Err(self.fail("a value is expected here", None)),
            None => {
                return Err(self.fail(
                    "the file ends where a value is expected",
                    Some("is the file whole?"),
                ));
            }
        };
        Ok(Node {
            span: start..self.at,
            value,
        })
    }

    fn enter(&mut self) -> Read<()> {
        self.depth += 1;
        if self.depth > DEEPEST {
            return Err(self.fail("tables and lists are nested too deeply", None));
        }
        self.at += 1;
        self.blanks();
        Ok(())
    }

    fn table(&mut self) -> Read<NodeValue> {
        self.enter()?;
        let mut entries: Vec<TreeEntry> = Vec::new();
        if self.peek() == Some(b'}') {
            self.at += 1;
            self.depth -= 1;
            return Ok(NodeValue::Table(entries));
        }
        loop {
            let start = self.at;
            if self.peek() != Some(b'"') {
                return Err(self.fail(
                    "a field's name between double quotes is expected here",
                    Some("is there a comma too many before it, or are quotes missing?"),
                ));
            }
            let key = self.string()?;
            let key_span = start..self.at;
            self.blanks();
            if self.peek() != Some(b':') {
                return Err(self.fail("a ':' is expected after the field's name", None));
            }
            self.at += 1;
            self.blanks();
            let node = self.value()?;
            let first = entries.iter().find(|entry| entry.key == key);
            if let Some(first) = first {
                self.note_duplicate(&key, &key_span, first.key_span.start);
            } else {
                entries.push(TreeEntry {
                    key,
                    key_span,
                    node,
                });
            }
            if self.next_or_end(b'}')? {
                return Ok(NodeValue::Table(entries));
            }
        }
    }

    fn note_duplicate(&mut self, key: &str, span: &Range<usize>, first: usize) {
        let line = self.text[..first].matches('\n').count() + 1;
        self.duplicates.push(SyntaxMistake {
            harmless: true,
            span: span.clone(),
            message: format!("'{key}' comes twice in the same table"),
            help: Some(format!(
                "the first '{key}' is on line {line}; rename or delete one of them"
            )),
        });
    }

    fn list(&mut self) -> Read<NodeValue> {
        self.enter()?;
        let mut items = Vec::new();
        if self.peek() == Some(b']') {
            self.at += 1;
            self.depth -= 1;
            return Ok(NodeValue::List(items));
        }
        loop {
            items.push(self.value()?);
            if self.next_or_end(b']')? {
                return Ok(NodeValue::List(items));
            }
        }
    }

    /// After an item: true at the closing sign, false after a comma.
    fn next_or_end(&mut self, close: u8) -> Read<bool> {
        self.blanks();
        match self.peek() {
            Some(byte) if byte == close => {
                self.at += 1;
                self.depth -= 1;
                Ok(true)
            }
            Some(b',') => {
                self.at += 1;
                self.blanks();
                Ok(false)
            }
            _ => {
                let close = char::from(close);
                Err(self.fail(format!("a ',' or '{close}' is expected here"), None))
            }
        }
    }

    fn word(&mut self) -> Read<NodeValue> {
        let rest = &self.text[self.at..];
        let len = rest
            .find(|c: char| !c.is_ascii_alphanumeric())
            .unwrap_or(rest.len());
        let value = match &rest[..len] {
            "true" => NodeValue::Switch(true),
            "false" => NodeValue::Switch(false),
            "null" => NodeValue::Other("null"),
            word => {
                let message = format!("'{word}' is not a value");
                return Err(self.fail(message, Some("text stands between double quotes")));
            }
        };
        self.at += len;
        Ok(value)
    }

    fn digits(&mut self) -> usize {
        let start = self.at;
        while matches!(self.peek(), Some(b'0'..=b'9')) {
            self.at += 1;
        }
        self.at - start
    }

    fn number(&mut self) -> Read<NodeValue> {
        let start = self.at;
        if self.peek() == Some(b'-') {
            self.at += 1;
        }
        let leading_zero = self.peek() == Some(b'0');
        let whole = self.digits();
        let mut fine = whole > 0 && (whole == 1 || !leading_zero);
        if self.peek() == Some(b'.') {
            self.at += 1;
            fine &= self.digits() > 0;
        }
        if matches!(self.peek(), Some(b'e' | b'E')) {
            self.at += 1;
            if matches!(self.peek(), Some(b'+' | b'-')) {
                self.at += 1;
            }
            fine &= self.digits() > 0;
        }
        let written = &self.text[start..self.at];
        match written.parse() {
            Ok(number) if fine => Ok(NodeValue::Number(number)),
            _ => {
                let message = format!("'{written}' is not a number");
                self.at = start;
                Err(self.fail(
                    message,
                    Some("a value with a unit stands between double quotes"),
                ))
            }
        }
    }

    fn string(&mut self) -> Read<String> {
        let open = self.at;
        self.at += 1;
        let mut text = String::new();
        loop {
            let Some(c) = self.text[self.at..].chars().next() else {
                self.at = open;
                return Err(self.fail("the closing quote of this text is missing", None));
            };
            match c {
                '"' => {
                    self.at += 1;
                    return Ok(text);
                }
                '\\' => text.push(self.escape()?),
                c if c < ' ' => {
                    return Err(self.fail(
                        "a line end or control character inside text",
                        Some("is a closing quote missing? a line end is written \\n"),
                    ));
                }
                c => {
                    text.push(c);
                    self.at += c.len_utf8();
                }
            }
        }
    }

    fn escape(&mut self) -> Read<char> {
        let start = self.at;
        self.at += 1;
        let c = match self.peek() {
            Some(b'"') => '"',
            Some(b'\\') => '\\',
            Some(b'/') => '/',
            Some(b'b') => '\u{8}',
            Some(b'f') => '\u{c}',
            Some(b'n') => '\n',
            Some(b'r') => '\r',
            Some(b't') => '\t',
            Some(b'u') => {
                self.at += 1;
                return self.unicode_escape(start);
            }
            _ => {
                self.at = start;
                return Err(self.fail(
                    "a backslash with a letter that means nothing",
                    Some("a backslash itself is written \\\\; folders may be parted by /"),
                ));
            }
        };
        self.at += 1;
        Ok(c)
    }

    fn hex4(&mut self) -> Option<u32> {
        let digits = self.text.get(self.at..self.at + 4)?;
        if !digits.bytes().all(|byte| byte.is_ascii_hexdigit()) {
            return None;
        }
        self.at += 4;
        u32::from_str_radix(digits, 16).ok()
    }

    fn unicode_escape(&mut self, start: usize) -> Read<char> {
        let first = self.hex4();
        let code = match first {
            Some(high @ 0xD800..=0xDBFF) if self.text[self.at..].starts_with("\\u") => {
                self.at += 2;
                self.hex4()
                    .filter(|low| (0xDC00..=0xDFFF).contains(low))
                    .map(|low| 0x10000 + ((high - 0xD800) << 10) + (low - 0xDC00))
            }
            other => other,
        };
        code.and_then(char::from_u32).ok_or_else(|| {
            self.at = start;
            self.fail("\\u needs the four hexadecimal digits of a character", None)
        })
    }
}
