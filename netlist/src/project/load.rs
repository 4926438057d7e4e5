//! Reading a project file with everything it names.

use std::path::{Path, PathBuf};

use super::edit::Edit;
use super::fields::{Context, NamedFile};
use super::files::{Disk, Files, plain_words};
use super::{Project, json_form, read, toml_form};
use crate::problem::{Collector, Problems, SourceText};

/// The two forms of a project file; both hold the same fields.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// TOML.
    Toml,
    /// JSON.
    Json,
}

impl Form {
    /// The form of a file: by its ending, and by its first sign where the ending says nothing.
    #[must_use]
    pub fn of(path: &Path, text: &str) -> Self {
        let ending = path.extension().map(std::ffi::OsStr::to_ascii_lowercase);
        match ending.as_deref().and_then(std::ffi::OsStr::to_str) {
            Some("json") => Form::Json,
            Some("toml") => Form::Toml,
            _ if text.trim_start().starts_with('{') => Form::Json,
            _ => Form::Toml,
        }
    }
}

/// A project together with the text that it was read from.
#[derive(Debug, Clone)]
pub struct Loaded {
    /// What the file says.
    pub project: Project,
    /// The file.
    pub path: PathBuf,
    /// Its text, without byte order mark; [`super::write_parts`] starts from it.
    pub text: String,
    /// Its form.
    pub form: Form,
    /// Where it names other files.
    pub(super) named: Vec<NamedFile>,
}

/// Reads a project file and all files that it names, from the disk.
///
/// # Errors
/// All mistakes of all these files, with their places.
pub fn load(path: &Path) -> Result<Loaded, Problems> {
    load_from(&Disk, path)
}

/// Reads a project file and all files that it names, from anywhere.
///
/// A relative name in the file is asked for as the folder of `path` joined with that name.
///
/// # Errors
/// All mistakes of all these files, with their places.
pub fn load_from(files: &dyn Files, path: &Path) -> Result<Loaded, Problems> {
    load_edited(files, path, &[])
}

/// The same with edits, made one after the other on what the file says: as if the builder had written them. The
/// text of what is loaded stays that of the file.
///
/// # Errors
/// All mistakes of all these files, with their places, and edits that cannot be made.
pub fn load_edited(files: &dyn Files, path: &Path, edits: &[Edit]) -> Result<Loaded, Problems> {
    let mut collector = Collector::default();
    let loaded = load_into(files, path, edits, &mut collector);
    collector.finish(loaded)
}

fn load_into(
    files: &dyn Files,
    path: &Path,
    edits: &[Edit],
    collector: &mut Collector,
) -> Option<Loaded> {
    let name = path.display().to_string();
    let bytes = match files.read(path) {
        Ok(bytes) => bytes,
        Err(error) => {
            let message = format!("cannot read the project file: {}", plain_words(&error));
            collector.whole(&name, message, "check the name and the folder".to_owned());
            return None;
        }
    };
    let source = SourceText::new(name, &bytes);
    collector.source(&source);
    if let Some(at) = source.text.find('\u{fffd}')
        && std::str::from_utf8(&bytes).is_err()
    {
        collector.at(
            &source,
            at..at + '\u{fffd}'.len_utf8(),
            "this is not UTF-8 text",
            "save the file as UTF-8".to_owned(),
        );
        return None;
    }
    let form = Form::of(path, &source.text);
    let (root, mistakes, broken_values) = match form {
        Form::Toml => {
            let parsed = toml_form::parse(&source.text);
            (Some(parsed.root), parsed.mistakes, parsed.broken)
        }
        Form::Json => json_form::parse_past_mistakes(&source.text),
    };
    let broken = mistakes.iter().any(|mistake| !mistake.harmless);
    for mistake in mistakes {
        collector.at(&source, mistake.span, mistake.message, mistake.help);
    }
    // What a broken form leaves over would give mistakes that are none.
    let mut root = root.filter(|_| !broken)?;
    for edit in edits {
        if let Err(mistake) = edit.make(&mut root) {
            let name = path.display().to_string();
            collector.whole(&name, mistake.message, mistake.help);
            return None;
        }
    }
    let folder = path.parent().unwrap_or(Path::new("")).to_path_buf();
    let mut context = Context::new(&source, folder, files, collector, broken_values);
    let project = read::project(&mut context, &root)?;
    let named = context.named;
    Some(Loaded {
        project,
        path: path.to_path_buf(),
        text: source.text,
        form,
        named,
    })
}
