//! The file that a command makes of a project: its place, and its text, which can be read from there.

use std::cell::Cell;
use std::ffi::OsStr;
use std::io::Write;
use std::path::{Component, Path, PathBuf};

use netlist::network::Network;
use netlist::project::{Form, Loaded, Settled, rename_files, write_parts, write_settled};

use crate::args::SourceArguments;
use crate::demo;
use crate::failure::Failure;
use crate::files::{can_be_written, folder_of, is_stdout, is_stream, write_out, write_whole};

/// Where a project with its network goes.
pub(crate) struct ProjectFile {
    /// As the builder names it, or beside the project.
    pub(crate) path: PathBuf,
    /// The page that goes with it, where it has one.
    pub(crate) page: Option<PathBuf>,
    /// The demo's measured tables that it needs beside it.
    tables: Vec<(PathBuf, &'static str)>,
    force: bool,
}

/// How the builder asks for it.
pub(crate) struct OutputRequest<'a> {
    /// `-o`.
    pub(crate) output: Option<&'a PathBuf>,
    /// `--force`.
    pub(crate) force: bool,
    /// `--json`, which takes stdout for itself.
    pub(crate) json: bool,
    /// A page goes beside it.
    pub(crate) page: bool,
    /// What is added to the project's name.
    pub(crate) added: &'static str,
}

impl ProjectFile {
    /// Where it goes: where the builder says, or beside the project's file; nowhere for the demo. Before the
    /// work, so that nothing is worked out that cannot be written.
    ///
    /// # Errors
    /// What is there and may not be overwritten, what cannot be written, and a name of the other form.
    pub(crate) fn new(
        asked: &OutputRequest<'_>,
        source: &SourceArguments,
        loaded: &Loaded,
    ) -> Result<Option<Self>, Failure> {
        let path = match asked.output {
            Some(path) => path.clone(),
            None if source.demo => return Ok(None),
            None => beside(loaded, asked.added),
        };
        if asked.json && is_stdout(&path) {
            return Err(Failure::unusable(
                "--json and the file would both go to the same output",
                "leave one of them away, or name a file with -o",
            ));
        }
        let streams = is_stream(&path);
        if !streams && Form::of(&path, &loaded.text) != loaded.form {
            return Err(Failure::unusable(
                format!(
                    "{} would be read as {}, but {} is {}",
                    path.display(),
                    form_name(Form::of(&path, &loaded.text)),
                    loaded.path.display(),
                    form_name(loaded.form)
                ),
                "end its name as that of the project file ends",
            ));
        }
        let page = (asked.page && !streams).then(|| path.with_extension("html"));
        if page.as_ref() == Some(&path) {
            let name = path.file_name().unwrap_or_default().to_string_lossy();
            return Err(Failure::unusable(
                format!("{name} is for the report that goes with the design"),
                "end the name of the design file in .toml or .json",
            ));
        }
        let tables = match source.demo && !streams {
            true => demo::tables_for(&path),
            false => Vec::new(),
        };
        let table_paths = tables.iter().map(|(path, _)| path);
        for path in [&path].into_iter().chain(&page).chain(table_paths) {
            can_be_written(path, asked.force)?;
        }
        Ok(Some(Self {
            path,
            page,
            tables,
            force: asked.force,
        }))
    }

    /// Whether the program's output is this file's, and nothing else may be printed there.
    pub(crate) fn is_stdout(&self) -> bool {
        is_stdout(&self.path)
    }

    /// Text of the project with this network, and what was left open as it is `settled`, the names of its tables
    /// leading to where they are.
    ///
    /// # Errors
    /// A network that cannot be written, and names that are no text.
    pub(crate) fn text(
        &self,
        source: &SourceArguments,
        loaded: &Loaded,
        network: &Network,
        settled: Option<&Settled>,
    ) -> Result<String, Failure> {
        let unusable =
            |message: String| Failure::unusable(message, "mend the project file as said above");
        let text = match source.demo {
            // Its tables come along, or are there already.
            true => loaded.text.clone(),
            false => named_from(loaded, &self.path)?,
        };
        let text = match settled {
            Some(settled) => write_settled(&text, loaded.form, settled)
                .map_err(|error| unusable(format!("what is decided cannot be written: {error}")))?,
            None => text,
        };
        write_parts(&text, loaded.form, network)
            .map_err(|error| unusable(format!("the network cannot be written: {error}")))
    }

    /// Writes it with its page and tables, and says so.
    pub(crate) fn write(
        &self,
        text: &str,
        page: Option<&str>,
        what: &str,
        out: &mut dyn Write,
        err: &mut dyn Write,
    ) -> Result<(), Failure> {
        for (path, table) in &self.tables {
            write_whole(path, table.as_bytes(), self.force)?;
        }
        write_out(&self.path, text.as_bytes(), self.force, out)?;
        if let (Some(path), Some(page)) = (&self.page, page) {
            write_whole(path, page.as_bytes(), self.force)?;
        }
        if self.is_stdout() {
            return Ok(());
        }
        writeln!(err, "{what} written to {}", self.path.display())?;
        if !self.tables.is_empty() {
            let count = self.tables.len();
            writeln!(err, "{count} measured tables of the demo written beside it")?;
        }
        if let Some(page) = &self.page {
            writeln!(err, "report written to {}", page.display())?;
        }
        Ok(())
    }
}

fn form_name(form: Form) -> &'static str {
    match form {
        Form::Toml => "TOML",
        Form::Json => "JSON",
    }
}

/// Beside the project's file, with `added` to the name.
fn beside(loaded: &Loaded, added: &str) -> PathBuf {
    let stem = loaded.path.file_stem().unwrap_or_default();
    let ending = match loaded.form {
        Form::Toml => "toml",
        Form::Json => "json",
    };
    let name = format!("{}-{added}.{ending}", stem.to_string_lossy());
    loaded.path.with_file_name(name)
}

/// Text of a project as a file at another place holds it.
fn named_from(loaded: &Loaded, path: &Path) -> Result<String, Failure> {
    let failed = |error| Failure::Write {
        path: path.to_owned(),
        error,
    };
    // What goes to stdout is most likely kept in the folder where the command is run.
    let to = match is_stream(path) {
        true => Path::new("."),
        false => folder_of(path),
    };
    let to = to.canonicalize().map_err(failed)?;
    let from = folder_of(&loaded.path).canonicalize().map_err(failed)?;
    if to == from {
        return Ok(loaded.text.clone());
    }
    let lost = Cell::new(false);
    let text = rename_files(loaded, |name| {
        let file = from.join(name);
        // The folder as it is and not as it is called: `..` behind a link leads elsewhere.
        let folder = folder_of(&file).canonicalize();
        let new = match (folder, file.file_name()) {
            _ if Path::new(name).is_absolute() => Some(name.to_owned()),
            (Ok(folder), Some(file)) => name_from(&to, &folder, file),
            _ => None,
        };
        lost.set(lost.get() || new.is_none());
        new.unwrap_or_default()
    });
    if lost.get() {
        return Err(Failure::unusable(
            format!(
                "{} names tables that {} cannot name: a folder's name is no text",
                loaded.path.display(),
                path.display()
            ),
            "name a file beside the project file with -o",
        ));
    }
    Ok(text)
}

/// Name of a file as seen from a folder, both folders in full; `None` where it is no text.
fn name_from(to: &Path, folder: &Path, file: &OsStr) -> Option<String> {
    let common = (to.components().zip(folder.components()))
        .take_while(|(a, b)| a == b)
        .count();
    // Only the root in common: from there is as good.
    if common <= 1 {
        return folder.join(file).to_str().map(str::to_owned);
    }
    let up = to.components().skip(common).map(|_| Component::ParentDir);
    let down = folder.components().skip(common);
    let name: PathBuf = up.chain(down).collect::<PathBuf>().join(file);
    let parts: Option<Vec<&str>> = name.iter().map(OsStr::to_str).collect();
    Some(parts?.join("/"))
}
