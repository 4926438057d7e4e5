//! Taking typed fields out of a table of the tree, with a message for each that is wrong.

use std::ops::Range;
use std::path::PathBuf;

use super::files::{Files, plain_words};
use super::near_names::similar;
use super::tree::{Node, NodeValue, TreeEntry};
use crate::problem::{Collector, SourceText};
use crate::quantity::{Dimension, Quantity};

pub(super) use super::limit::Limit;
pub(super) use super::near_names::{meant, suggestion};

/// What reading needs everywhere: the project file's text, the other files, the mistakes so far.
pub(super) struct Context<'a> {
    pub(super) source: &'a SourceText,
    pub(super) folder: PathBuf,
    pub(super) files: &'a dyn Files,
    pub(super) collector: &'a mut Collector,
    /// Values with a mistake of form, which has been told: all else about them follows from it.
    broken: Vec<Range<usize>>,
    /// Mistakes that were kept quiet for it.
    quiet: usize,
    /// Names of other files in the project file.
    pub(super) named: Vec<NamedFile>,
}

/// The name of another file in a project file.
#[derive(Debug, Clone)]
pub(super) struct NamedFile {
    /// The value's place in the text, its quotes included.
    pub(super) span: Range<usize>,
    /// The name as it is meant.
    pub(super) name: String,
}

impl<'a> Context<'a> {
    pub(super) fn new(
        source: &'a SourceText,
        folder: PathBuf,
        files: &'a dyn Files,
        collector: &'a mut Collector,
        broken: Vec<Range<usize>>,
    ) -> Self {
        Self {
            source,
            folder,
            files,
            collector,
            broken,
            quiet: 0,
            named: Vec::new(),
        }
    }

    /// How many mistakes so far, those that were kept quiet among them.
    pub(super) fn mistakes(&self) -> usize {
        self.collector.count() + self.quiet
    }

    /// A mistake in the project file.
    pub(super) fn problem(
        &mut self,
        span: &Range<usize>,
        message: impl Into<String>,
        help: impl Into<Option<String>>,
    ) {
        if self.broken.iter().any(|range| range.contains(&span.start)) {
            self.quiet += 1;
            return;
        }
        self.collector.at(self.source, span.clone(), message, help);
    }

    /// A quantity or a bare number in its SI unit.
    pub(super) fn quantity<Q: Quantity>(
        &mut self,
        name: &str,
        node: &Node,
        limit: Limit,
    ) -> Option<Q> {
        (self.quantity_si(Q::DIMENSION, name, node, limit)).map(Q::from_si)
    }

    /// The same in SI, of what is known only when it is read.
    pub(super) fn quantity_si(
        &mut self,
        dimension: Dimension,
        name: &str,
        node: &Node,
        limit: Limit,
    ) -> Option<f64> {
        let help = format!("write it like \"{}\"", dimension.example());
        self.quantity_with(dimension, name, node, limit, (help, false))
    }

    /// The same for a field whose values are written in a way of its own, as `help` says.
    pub(super) fn quantity_as<Q: Quantity>(
        &mut self,
        name: &str,
        node: &Node,
        limit: Limit,
        help: &str,
    ) -> Option<Q> {
        let help = (help.to_owned(), true);
        (self.quantity_with(Q::DIMENSION, name, node, limit, help)).map(Q::from_si)
    }

    fn quantity_with(
        &mut self,
        dimension: Dimension,
        name: &str,
        node: &Node,
        limit: Limit,
        (help, always): (String, bool),
    ) -> Option<f64> {
        let (value, bare) = match &node.value {
            NodeValue::Text(text) => match dimension.parse(text) {
                Ok(value) => (value, text.trim().parse::<f64>().is_ok()),
                Err(error) => {
                    let (message, way_out) = with_way_out(&error.to_string());
                    let help = way_out.filter(|_| !always).unwrap_or(help);
                    self.problem(&node.span, message, help);
                    return None;
                }
            },
            NodeValue::Number(number) => (*number, true),
            other => {
                let (what, needed) = (other.a_what(), dimension.a_what());
                let message = format!("{name} is {what}, but {needed} is needed");
                let example = format!("write {name} = \"{}\"", dimension.example());
                self.problem(&node.span, message, if always { help } else { example });
                return None;
            }
        };
        let Some((message, help)) = limit.wrong(name, (value, dimension), bare, (help, always))
        else {
            return Some(value);
        };
        self.problem(&node.span, message, help);
        None
    }

    /// A plain number.
    pub(super) fn number(&mut self, name: &str, node: &Node, limit: Limit) -> Option<f64> {
        let NodeValue::Number(number) = node.value else {
            let message = format!("{name} is {}, but a number is needed", node.value.a_what());
            self.problem(
                &node.span,
                message,
                format!("{name} has no unit: write the number without quotes"),
            );
            return None;
        };
        if let Some(broken) = limit.broken(number) {
            let message = format!("{name} {broken}, and is {number}");
            let help = "look at the sign, and whether a digit is missing".to_owned();
            self.problem(&node.span, message, help);
            return None;
        }
        if number.abs().to_bits() != 0 && !(1e-9..=1e9).contains(&number.abs()) {
            let message = format!("{name} is {number:e}, out of all reason");
            let help = "look at the exponent, and whether a digit is missing".to_owned();
            self.problem(&node.span, message, help);
            return None;
        }
        Some(number)
    }

    /// A whole number within limits.
    pub(super) fn whole(&mut self, name: &str, node: &Node, least: u32, most: u32) -> Option<u32> {
        let number = self.number(name, node, Limit::Any)?;
        let fine = number.fract() == 0.0 && (f64::from(least)..=f64::from(most)).contains(&number);
        if !fine {
            self.problem(
                &node.span,
                format!("{name} must be a whole number from {least} to {most}"),
                None,
            );
        }
        fine.then_some(number as u32)
    }

    /// Text that is not empty.
    pub(super) fn text(&mut self, name: &str, node: &Node) -> Option<String> {
        match &node.value {
            NodeValue::Text(text) if !text.trim().is_empty() => Some(text.clone()),
            NodeValue::Text(_) => {
                self.problem(&node.span, format!("{name} is empty"), None);
                None
            }
            other => {
                let message = format!("{name} is {}, but text is needed", other.a_what());
                self.problem(&node.span, message, format!("write {name} = \"...\""));
                None
            }
        }
    }

    /// One of some words, whether written large or small, and what it stands for. `wrong` says what there is not, and
    /// `help` what can be written where no word is near.
    pub(super) fn one_of<T: Copy>(
        &mut self,
        name: &str,
        node: &Node,
        words: &[(&'static str, T)],
        wrong: impl Fn(&str) -> String,
        help: &str,
    ) -> Option<T> {
        let NodeValue::Text(text) = &node.value else {
            let message = format!("{name} is {}, but text is needed", node.value.a_what());
            self.problem(&node.span, message, help.to_owned());
            return None;
        };
        let written = text.trim();
        let found = (words.iter()).find(|(word, _)| *word == written.to_lowercase());
        if found.is_none() {
            let help = match suggestion(written, words.iter().map(|(word, _)| *word)) {
                Some(word) => format!("did you mean \"{word}\"?"),
                None => help.to_owned(),
            };
            self.problem(&node.span, wrong(text), help);
        }
        found.map(|(_, meant)| *meant)
    }

    /// True or false.
    pub(super) fn switch(&mut self, name: &str, node: &Node) -> Option<bool> {
        if let NodeValue::Switch(switch) = node.value {
            return Some(switch);
        }
        let message = format!(
            "{name} is {}, but true or false is needed",
            node.value.a_what()
        );
        self.problem(
            &node.span,
            message,
            format!("write {name} = true, without quotes"),
        );
        None
    }

    /// The items of a list.
    pub(super) fn list<'n>(
        &mut self,
        name: &str,
        node: &'n Node,
        example: &str,
    ) -> Option<&'n [Node]> {
        if let NodeValue::List(items) = &node.value {
            return Some(items);
        }
        let message = format!("{name} is {}, but a list is needed", node.value.a_what());
        self.problem(&node.span, message, format!("write {name} = {example}"));
        None
    }

    /// Exactly two texts, each with its place.
    pub(super) fn pair<'n>(
        &mut self,
        name: &str,
        node: &'n Node,
        example: &str,
    ) -> Option<[(String, &'n Range<usize>); 2]> {
        let items = self.list(name, node, example)?;
        let [first, second] = items else {
            let message = format!("{name} needs two names, but {} are given", items.len());
            self.problem(&node.span, message, format!("write {name} = {example}"));
            return None;
        };
        let one = self.text(name, first);
        let two = self.text(name, second);
        Some([(one?, &first.span), (two?, &second.span)])
    }

    /// The fields of a table.
    pub(super) fn fields<'n>(
        &mut self,
        name: &str,
        node: &'n Node,
        example: &str,
    ) -> Option<Fields<'n>> {
        if let NodeValue::Table(entries) = &node.value {
            return Some(Fields::new(name, entries, node.span.clone()));
        }
        let message = format!("{name} is {}, but a table is needed", node.value.a_what());
        self.problem(&node.span, message, format!("write {example}"));
        None
    }

    /// The text of a file named in the project, or a mistake at that name.
    pub(super) fn file(&mut self, name: &str, node: &Node) -> Option<SourceText> {
        let written = self.text(name, node)?;
        let path = self.folder.join(&written);
        self.named.push(NamedFile {
            span: node.span.clone(),
            name: written,
        });
        match self.files.read(&path) {
            Ok(bytes) => {
                let source = SourceText::new(path.display().to_string(), &bytes);
                self.collector.source(&source);
                Some(source)
            }
            Err(error) => {
                let message = format!("cannot read '{}': {}", path.display(), plain_words(&error));
                self.problem(
                    &node.span,
                    message,
                    "file names are relative to the project file".to_owned(),
                );
                None
            }
        }
    }
}

/// What is wrong with a quantity, and the way out that follows the last semicolon.
pub(super) fn with_way_out(message: &str) -> (String, Option<String>) {
    match message.rsplit_once("; ") {
        Some((wrong, way_out)) => (wrong.to_owned(), Some(way_out.to_owned())),
        None => (message.to_owned(), None),
    }
}

/// The fields of a table, taken one by one; what is left over is unknown.
pub(super) struct Fields<'n> {
    /// What the table is, for messages: `[amplifier]`, `driver 'mid'`.
    pub(super) name: String,
    /// Where the table is.
    pub(super) span: Range<usize>,
    entries: &'n [TreeEntry],
    taken: Vec<bool>,
    known: Vec<&'static str>,
    /// Fields that must be there and are not, with the field that may be meant for each.
    perhaps_misspelt: Vec<PerhapsMisspelt>,
}

#[derive(Debug)]
struct PerhapsMisspelt {
    key: &'static str,
    example: String,
    /// Place among the entries of the one that may be meant.
    meant: usize,
}

impl<'n> Fields<'n> {
    pub(super) fn new(name: &str, entries: &'n [TreeEntry], span: Range<usize>) -> Self {
        Self {
            name: name.to_owned(),
            span,
            entries,
            taken: vec![false; entries.len()],
            known: Vec::new(),
            perhaps_misspelt: Vec::new(),
        }
    }

    /// Whether a field is there, without taking it.
    pub(super) fn has(&self, key: &str) -> bool {
        self.entries.iter().any(|entry| entry.key == key)
    }

    /// The names of all fields, taken or not.
    pub(super) fn names(&self) -> impl Iterator<Item = &'n str> {
        self.entries.iter().map(|entry| entry.key.as_str())
    }

    /// The field of that name, which becomes known.
    pub(super) fn take(&mut self, key: &'static str) -> Option<&'n Node> {
        self.known.push(key);
        let index = self.entries.iter().position(|entry| entry.key == key)?;
        self.taken[index] = true;
        Some(&self.entries[index].node)
    }

    /// A field that does not exist, for a message of its own.
    pub(super) fn take_unknown(&mut self, key: &str) -> Option<&'n Node> {
        let index = self.entries.iter().position(|entry| entry.key == key)?;
        self.taken[index] = true;
        Some(&self.entries[index].node)
    }

    /// The field of that name; its absence is a mistake.
    pub(super) fn need(
        &mut self,
        context: &mut Context<'_>,
        key: &'static str,
        example: &str,
    ) -> Option<&'n Node> {
        let node = self.take(key);
        if node.is_none() {
            let alike = |i: &usize| !self.taken[*i] && similar(&self.entries[*i].key, key);
            match (0..self.entries.len()).find(alike) {
                // Told once, as unknown, unless it turns out to be a field in its own right.
                Some(meant) => self.perhaps_misspelt.push(PerhapsMisspelt {
                    key,
                    example: example.to_owned(),
                    meant,
                }),
                None => self.lacks(context, key, example),
            }
        }
        node
    }

    fn lacks(&self, context: &mut Context<'_>, key: &str, example: &str) {
        let message = format!("{} lacks '{key}'", self.name);
        context.problem(&self.span, message, format!("add {key} = {example}"));
    }

    /// An optional quantity.
    pub(super) fn quantity<Q: Quantity>(
        &mut self,
        context: &mut Context<'_>,
        key: &'static str,
        limit: Limit,
    ) -> Option<Q> {
        let node = self.take(key)?;
        context.quantity(key, node, limit)
    }

    /// A quantity that must be there.
    pub(super) fn need_quantity<Q: Quantity>(
        &mut self,
        context: &mut Context<'_>,
        key: &'static str,
        limit: Limit,
    ) -> Option<Q> {
        let example = format!("\"{}\"", Q::DIMENSION.example());
        let node = self.need(context, key, &example)?;
        context.quantity(key, node, limit)
    }

    /// An optional plain number.
    pub(super) fn number(
        &mut self,
        context: &mut Context<'_>,
        key: &'static str,
        limit: Limit,
    ) -> Option<f64> {
        let node = self.take(key)?;
        context.number(key, node, limit)
    }

    /// A plain number that must be there.
    pub(super) fn need_number(
        &mut self,
        context: &mut Context<'_>,
        key: &'static str,
        limit: Limit,
    ) -> Option<f64> {
        let node = self.need(context, key, "0.7")?;
        context.number(key, node, limit)
    }

    fn left_over(&self) -> impl Iterator<Item = &'n TreeEntry> {
        let left = self.entries.iter().zip(&self.taken);
        left.filter(|(_, taken)| !**taken).map(|(entry, _)| entry)
    }

    /// Every field that nobody took is a mistake, told with the name that was probably meant.
    pub(super) fn finish(self, context: &mut Context<'_>) {
        for absent in &self.perhaps_misspelt {
            if self.taken[absent.meant] {
                self.lacks(context, absent.key, &absent.example);
            }
        }
        for entry in self.left_over() {
            let takes = format!("{} takes {}", self.name, self.known.join(", "));
            let help = meant(&entry.key, self.known.iter().copied(), takes);
            let message = format!("{} has no field '{}'", self.name, entry.key);
            context.problem(&entry.key_span, message, help);
        }
    }
}
