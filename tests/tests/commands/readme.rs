//! What the README shows is what the program prints and draws. To write it anew after a change:
//! `HANDOVER_REFRESH=1 cargo test --workspace --test commands readme -- --include-ignored`.

use std::path::{Path, PathBuf};

use tests::command::handover;
use tests::made::REPORT;

fn refresh() -> bool {
    std::env::var_os("HANDOVER_REFRESH").is_some()
}

fn in_repository(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..").join(name)
}

/// Words of a command line, those between quotes together.
fn words(line: &str) -> Vec<String> {
    line.split('"')
        .enumerate()
        .flat_map(|(i, piece)| match i % 2 {
            0 => piece.split_whitespace().map(str::to_owned).collect(),
            _ => vec![piece.to_owned()],
        })
        .collect()
}

/// An output in the README: its command and the lines that are shown of it.
struct Shown {
    line: String,
    from: String,
    to: String,
}

impl Shown {
    /// `<!-- shown: COMMAND | from: WORDS | to: WORDS -->`
    fn read(marker: &str) -> Option<Self> {
        let inside = marker.trim().strip_prefix("<!-- shown: ")?;
        let mut pieces = inside.strip_suffix(" -->")?.split(" | ");
        let line = pieces.next()?.to_owned();
        let from = pieces.next()?.strip_prefix("from: ")?.to_owned();
        let to = pieces.next()?.strip_prefix("to: ")?.to_owned();
        Some(Self { line, from, to })
    }

    /// The lines from the first with the one words to the next with the others.
    fn lines(&self) -> String {
        let args = words(&self.line);
        let args: Vec<&str> = args.iter().map(String::as_str).collect();
        let outcome = handover(&args);
        assert!(outcome.status < 2, "{}: {}", self.line, outcome.err);
        let lines: Vec<&str> = outcome.out.lines().collect();
        let first = lines.iter().position(|line| line.contains(&self.from));
        let first = first.unwrap_or_else(|| panic!("no '{}' in {}", self.from, outcome.out));
        let count = lines[first..]
            .iter()
            .position(|line| line.contains(&self.to));
        let count = count.unwrap_or_else(|| panic!("no '{}' in {}", self.to, outcome.out));
        lines[first..=first + count].join("\n")
    }
}

/// Holds the outputs in the README whose command `takes` against the commands, or writes them.
fn outputs(takes: impl Fn(&str) -> bool) {
    let path = in_repository("README.md");
    let readme = std::fs::read_to_string(&path).unwrap();
    let mut new = readme.clone();
    let mut found = 0;
    for marker in readme.lines().filter(|line| line.starts_with("<!-- shown")) {
        let shown = Shown::read(marker).unwrap_or_else(|| panic!("{marker}"));
        if !takes(&shown.line) {
            continue;
        }
        found += 1;
        let begin = format!("{marker}\n```text\n");
        let at = new.find(&begin).expect("a block behind the marker") + begin.len();
        let end = at + new[at..].find("```").expect("the end of the block");
        new.replace_range(at..end, &format!("{}\n", shown.lines()));
    }
    assert!(found > 0, "nothing is shown");
    if refresh() {
        std::fs::write(path, new).unwrap();
    } else {
        assert!(
            new == readme,
            "the README shows another output; {HOW}\n{new}"
        );
    }
}

const HOW: &str = "write it anew with HANDOVER_REFRESH=1 cargo test --workspace --test commands readme -- --include-ignored --test-threads 1";

#[test]
fn outputs_are_those_of_the_commands() {
    outputs(|line| !line.starts_with("design") && !line.starts_with("snap"));
}

/// Searches take long: CI asks for it.
#[test]
#[ignore = "searches take long; .ci/run asks for it"]
fn outputs_of_searches_are_those_of_the_commands() {
    outputs(|line| line.starts_with("design") || line.starts_with("snap"));
}

#[test]
fn pictures_are_what_the_program_draws() {
    for name in ["response.svg", "schematic.svg"] {
        let drawn = REPORT.text(&format!("pictures/{name}"));
        let path = in_repository("cli/demo").join(name);
        if refresh() {
            std::fs::write(&path, drawn).unwrap();
        }
        let kept = std::fs::read_to_string(&path).unwrap_or_default();
        assert!(kept == drawn, "{name} is drawn otherwise; {HOW}");
        let readme = std::fs::read_to_string(in_repository("README.md")).unwrap();
        assert!(readme.contains(&format!("(cli/demo/{name})")));
    }
}

#[test]
fn the_first_page_is_short() {
    let readme = std::fs::read_to_string(in_repository("README.md")).unwrap();
    assert!(readme.lines().count() < 150);
}
