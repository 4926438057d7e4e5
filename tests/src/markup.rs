//! A strict reader of the markup that the program writes: HTML whose elements are all closed, and SVG.

use std::collections::BTreeSet;

/// HTML elements without an end.
const VOID: [&str; 4] = ["meta", "input", "br", "link"];

/// An element with its attributes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Element {
    /// Name.
    pub name: String,
    /// Attributes in their order.
    pub attributes: Vec<(String, String)>,
    /// The text directly in it, up to its first child.
    pub text: String,
}

impl Element {
    /// An attribute's value.
    #[must_use]
    pub fn attribute(&self, name: &str) -> Option<&str> {
        let found = self.attributes.iter().find(|(key, _)| key == name);
        found.map(|(_, value)| value.as_str())
    }
}

/// All elements in their order.
///
/// # Errors
/// What is not well-formed: elements that are not closed in turn, attributes without quotes, stray
/// signs, an id that stands twice.
pub fn read(markup: &str) -> Result<Vec<Element>, String> {
    let mut elements: Vec<Element> = Vec::new();
    let mut open: Vec<String> = Vec::new();
    let mut ids = BTreeSet::new();
    let mut rest = markup;
    while let Some(start) = rest.find('<') {
        references(&rest[..start])?;
        rest = &rest[start..];
        if rest.starts_with("<!DOCTYPE") || rest.starts_with("<?xml") {
            rest = &rest[rest.find('>').ok_or("an opening without an end")? + 1..];
            continue;
        }
        let (tag, after) = tag(rest)?;
        rest = after;
        if let Some(name) = tag.strip_prefix('/') {
            let last = open.pop();
            if last.as_deref() != Some(name) {
                return Err(format!("</{name}> closes {last:?}"));
            }
            continue;
        }
        let (element, closed) = element(tag)?;
        if let Some(id) = element.attribute("id")
            && !ids.insert(id.to_owned())
        {
            return Err(format!("the id {id} stands twice"));
        }
        let name = element.name.clone();
        elements.push(element);
        if closed || VOID.contains(&&*name) {
            continue;
        }
        if name == "script" || name == "style" {
            let end = format!("</{name}>");
            let at = rest.find(&end).ok_or(format!("<{name}> without an end"))?;
            elements.last_mut().expect("just pushed").text = rest[..at].to_owned();
            rest = &rest[at + end.len()..];
            continue;
        }
        let text = &rest[..rest.find('<').unwrap_or(rest.len())];
        elements.last_mut().expect("just pushed").text = plain(text);
        open.push(name);
    }
    references(rest)?;
    match open.pop() {
        Some(name) => Err(format!("<{name}> is not closed")),
        None => Ok(elements),
    }
}

/// A tag between its brackets, and what follows; a bracket between quotes is part of a value.
fn tag(text: &str) -> Result<(&str, &str), String> {
    let mut quoted = false;
    for (at, c) in text.char_indices().skip(1) {
        match c {
            '"' => quoted = !quoted,
            '>' if !quoted => return Ok((&text[1..at], &text[at + 1..])),
            '<' => return Err(format!("a stray < near {:?}", text.get(..60))),
            _ => {}
        }
    }
    Err("a tag without an end".to_owned())
}

fn element(tag: &str) -> Result<(Element, bool), String> {
    let (tag, closed) = match tag.strip_suffix('/') {
        Some(tag) => (tag, true),
        None => (tag, false),
    };
    let (name, mut rest) = tag.split_once(char::is_whitespace).unwrap_or((tag, ""));
    if name.is_empty() || !name.chars().all(|c| c.is_ascii_alphanumeric()) {
        return Err(format!("<{tag}> has no name"));
    }
    let mut attributes: Vec<(String, String)> = Vec::new();
    loop {
        rest = rest.trim_start();
        if rest.is_empty() {
            break;
        }
        let (key, after) = rest
            .split_once("=\"")
            .ok_or_else(|| format!("<{tag}>: an attribute without a quoted value"))?;
        let (value, after) = after
            .split_once('"')
            .ok_or_else(|| format!("<{tag}>: a quote without an end"))?;
        if key.contains(char::is_whitespace) || attributes.iter().any(|(k, _)| k == key) {
            return Err(format!("<{tag}>: the attribute {key:?}"));
        }
        references(value)?;
        attributes.push((key.to_owned(), plain(value)));
        rest = after;
    }
    let element = Element {
        name: name.to_owned(),
        attributes,
        text: String::new(),
    };
    Ok((element, closed))
}

/// An ampersand begins a reference.
fn references(text: &str) -> Result<(), String> {
    for (at, _) in text.match_indices('&') {
        let known = ["&amp;", "&lt;", "&gt;", "&quot;"];
        if !known.iter().any(|name| text[at..].starts_with(name)) {
            return Err(format!("a stray & in {text:?}"));
        }
    }
    Ok(())
}

fn plain(text: &str) -> String {
    text.replace("&lt;", "<")
        .replace("&gt;", ">")
        .replace("&quot;", "\"")
        .replace("&amp;", "&")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_well_formed_is_read_and_the_rest_refused() {
        let good = "<!DOCTYPE html><p id=\"a\">x &amp; y<br><b title=\"1 > 0\">z</b></p>";
        let elements = read(good).unwrap();
        assert_eq!(elements.len(), 3);
        assert_eq!(elements[0].text, "x & y");
        assert_eq!(elements[2].attribute("title"), Some("1 > 0"));
        for bad in [
            "<p>",
            "<p></b>",
            "<p a=b></p>",
            "<p>a & b</p>",
            "<p>a < b</p>",
            "<p id=\"a\"></p><p id=\"a\"></p>",
            "<p a=\"1\" a=\"2\"></p>",
        ] {
            assert!(read(bad).is_err(), "{bad}");
        }
    }
}
