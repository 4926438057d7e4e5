//! Results of long commands that several tests look at and none changes: made once a test binary.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::LazyLock;

use serde_json::Value;
use tempfile::TempDir;

use crate::command::{Outcome, handover};

/// A search short enough for tests that are not about what it finds.
pub const SHORT: [&str; 3] = ["--quick", "--seed", "7"];

/// A network of one coil and one driver, for tests that are about files and not about what is in them.
pub const SMALL_NETWORK: &str = "title = \"Small\"\n\
    [drivers.low]\nmodelled = { re = \"6 ohm\", fs = \"33 Hz\", qms = 5, qes = 0.4, vas = \"100 L\", sd = \"500 cm2\" }\n\
    [parts]\nL1 = { inductor = \"1 mH\", between = [\"in\", \"a\"], dcr = \"0.2 ohm\" }\n\
    LOW = { driver = \"low\", between = [\"a\", \"gnd\"] }\n";

/// What a command printed, and the files that were in its folder afterwards.
#[derive(Debug)]
pub struct Made {
    /// What it printed.
    pub outcome: Outcome,
    /// Its folder, which is gone: for names in its output.
    pub folder: String,
    files: BTreeMap<String, String>,
}

impl Made {
    /// Text of a file, by its name within the folder.
    ///
    /// # Panics
    /// If there was none.
    #[must_use]
    pub fn text(&self, name: &str) -> &str {
        let text = self.files.get(name);
        text.unwrap_or_else(|| panic!("no {name} after {:?}", self.outcome))
    }

    /// The JSON document that it printed.
    ///
    /// # Panics
    /// If it is none.
    #[must_use]
    pub fn document(&self) -> Value {
        crate::document::document(&self.outcome)
    }

    /// The same files in a folder of the test's own.
    ///
    /// # Panics
    /// If they cannot be written.
    #[must_use]
    pub fn copy(&self) -> TempDir {
        let folder = tempfile::tempdir().expect("a folder");
        for (name, text) in &self.files {
            let path = folder.path().join(name);
            std::fs::create_dir_all(path.parent().expect("a folder")).expect("a folder");
            std::fs::write(path, text).expect("a file that can be written");
        }
        folder
    }

    /// Runs a command on the demo's files; in its arguments, `@` before a name stands for their folder.
    fn of(args: &[&str], prepare: impl Fn(&Path)) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let name = folder.path().to_str().expect("a name in UTF-8").to_owned();
        assert_eq!(handover(&["demo", &name]).status, 0);
        prepare(folder.path());
        let args: Vec<String> = (args.iter())
            .map(|arg| match arg.strip_prefix('@') {
                Some(file) => format!("{name}/{file}"),
                None => (*arg).to_owned(),
            })
            .collect();
        let args: Vec<&str> = args.iter().map(String::as_str).collect();
        let outcome = handover(&args);
        assert_eq!(outcome.status, 0, "{args:?}: {}", outcome.err);
        let mut files = BTreeMap::new();
        read_into(&mut files, folder.path(), "");
        Self {
            outcome,
            folder: name,
            files,
        }
    }
}

fn read_into(files: &mut BTreeMap<String, String>, folder: &Path, before: &str) {
    for entry in std::fs::read_dir(folder).expect("a folder") {
        let entry = entry.expect("an entry");
        let name = entry.file_name().into_string().expect("a name in UTF-8");
        let (path, name) = (entry.path(), format!("{before}{name}"));
        if path.is_dir() {
            read_into(files, &path, &format!("{name}/"));
        } else {
            files.insert(name, std::fs::read_to_string(path).expect("a text"));
        }
    }
}

/// The demo's three-way designed, as JSON, to `new/mine.toml`, where its tables were not.
pub static THREE_WAY: LazyLock<Made> = LazyLock::new(|| {
    let mut line = vec!["design", "--demo", "-o", "@new/mine.toml", "--json"];
    line.extend(SHORT);
    Made::of(&line, |folder| {
        std::fs::create_dir(folder.join("new")).expect("a folder");
    })
});

/// The demo's two-way designed, for people, to the usual file beside it.
pub static TWO_WAY: LazyLock<Made> = LazyLock::new(|| {
    let mut line = vec!["design", "@two-way.toml"];
    line.extend(SHORT);
    Made::of(&line, |_| {})
});

/// The demo's two-way with 6 m of cable and as much to its woofer, designed as JSON, to `new/there.toml`.
pub static WIRED_TWO_WAY: LazyLock<Made> = LazyLock::new(|| {
    let mut line = vec!["design", "@two-way.toml", "-o", "@new/there.toml", "--json"];
    line.extend(SHORT);
    Made::of(&line, |folder| {
        let brief = folder.join("two-way.toml");
        let text = std::fs::read_to_string(&brief).expect("the brief");
        let wire = "{ length = \"6 m\", gauge = \"0.75 mm2\" }";
        let wiring = format!("[wiring]\ncable = {wire}\ninternal = {{ low = {wire} }}\n\n[stock]");
        let wired = text.replace("[stock]", &wiring);
        assert_ne!(wired, text);
        std::fs::write(&brief, wired).expect("a file that can be written");
        std::fs::create_dir(folder.join("new")).expect("a folder");
    })
});

/// The report of the demo's finished network, `network.html`, with its pictures in `pictures`.
pub static REPORT: LazyLock<Made> = LazyLock::new(|| {
    let line = ["report", "@network.toml", "--pictures", "@pictures"];
    Made::of(&line, |_| {})
});
