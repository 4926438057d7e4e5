//! Modules import one way: in no folder of the program do they need each other in a circle.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use tests::source_text::{CRATES, code, files, repository};

type Graph = BTreeMap<String, BTreeSet<String>>;

#[test]
fn modules_need_each_other_one_way() {
    let mut found = Vec::new();
    let folders: Vec<String> = CRATES.into_iter().flat_map(folders).collect();
    for folder in &folders {
        let graph = graph(folder);
        found.extend(circles(&graph).into_iter().map(|circle| (folder, circle)));
    }
    assert!(found.is_empty(), "{found:#?}");
    for folder in [
        "cli/src/report/live",
        "cli/src/args",
        "solver/src/search/grow",
    ] {
        assert!(folders.iter().any(|known| known == folder), "{folder}");
    }
    // Needs are seen at all.
    assert!(graph("cli/src")["commands"].contains("report"));
    assert!(graph("netlist/src")["project"].contains("quantity"));
}

#[test]
fn circles_and_paths_are_found() {
    let graph: Graph = [("a", "b"), ("b", "c"), ("c", "b"), ("d", "a")]
        .into_iter()
        .map(|(from, to)| (from.to_owned(), BTreeSet::from([to.to_owned()])))
        .collect();
    assert_eq!(circles(&graph), [["b", "c"]]);
    let text = "use crate::{a::{self, B}, c};\n// crate::no\nfn f() { let s = \"crate::no\"; super::d::g(s) }\n\
                #[cfg(test)]\nmod tests {\n use crate::no;\n}\n";
    let here = ["x".to_owned(), "y".to_owned()];
    let mut paths: Vec<String> = (paths(text, &here).iter())
        .map(|path| path.join("::"))
        .collect();
    paths.sort();
    assert_eq!(paths, ["a::B", "a::self", "c", "x::d::g"]);
}

/// A folder of the program and all below it, tests left out.
fn folders(folder: &str) -> Vec<String> {
    let entries = fs::read_dir(repository().join(folder)).expect("a folder of the program");
    let below = entries.flat_map(|entry| {
        let entry = entry.expect("an entry");
        let name = entry.file_name().to_string_lossy().into_owned();
        match entry.path().is_dir() && name != "tests" {
            true => folders(&format!("{folder}/{name}")),
            false => Vec::new(),
        }
    });
    std::iter::once(folder.to_owned()).chain(below).collect()
}

/// Which modules of a folder need which others of it.
fn graph(folder: &str) -> Graph {
    let repository = repository();
    let (crate_name, inside) = folder.split_once("/src").expect("a folder of a crate");
    let source = repository.join(crate_name).join("src");
    let parent: Vec<String> = (inside.split('/').filter(|name| !name.is_empty()))
        .map(str::to_owned)
        .collect();
    let mut graph = Graph::new();
    let mut found = Vec::new();
    for file in files(&repository.join(folder)) {
        let module = module(&source, &file);
        if let Some(child) = module.get(parent.len()) {
            graph.entry(child.clone()).or_default();
            let text = fs::read_to_string(&file).expect("a file of the program");
            found.push((child.clone(), paths(&text, &module)));
        }
    }
    for (child, paths) in found {
        for path in paths.iter().filter(|path| path.starts_with(&parent)) {
            let needed = path.get(parent.len());
            if let Some(needed) = needed.filter(|name| **name != child && graph.contains_key(*name))
            {
                let needed = needed.clone();
                graph.entry(child.clone()).or_default().insert(needed);
            }
        }
    }
    graph
}

/// The module that a file is, from the root of its crate.
fn module(source: &Path, file: &Path) -> Vec<String> {
    let inside = file.strip_prefix(source).expect("a file of the crate");
    let names = inside.with_extension("");
    (names.iter().map(|name| name.to_string_lossy().into_owned()))
        .filter(|name| name != "mod" && name != "lib")
        .collect()
}

/// All paths of its own crate that a module names, from the root of the crate.
fn paths(text: &str, module: &[String]) -> Vec<Vec<String>> {
    let text = code(text);
    let mut paths = Vec::new();
    for root in ["crate::", "super::"] {
        for (at, _) in text.match_indices(root) {
            let before = text[..at].chars().next_back();
            // Within a path, `super` is told by the first one.
            if before.is_some_and(|c| c.is_alphanumeric() || c == '_' || c == ':') {
                continue;
            }
            let mut base = if root == "crate::" {
                Vec::new()
            } else {
                module.to_vec()
            };
            let mut rest = &text[at..];
            while let Some(after) = rest.strip_prefix("super::") {
                base.pop();
                rest = after;
            }
            let tree = rest.strip_prefix("crate::").unwrap_or(rest);
            expand(&base, tree, &mut paths);
        }
    }
    paths
}

/// The paths of a use tree at the beginning of a text; gives how much of the text it is.
fn expand(base: &[String], tree: &str, paths: &mut Vec<Vec<String>>) -> usize {
    let mut path = base.to_vec();
    let mut at = 0;
    loop {
        let rest = &tree[at..];
        let name: String = (rest.chars())
            .take_while(|c| c.is_alphanumeric() || *c == '_' || *c == '*')
            .collect();
        if !name.is_empty() {
            at += name.len();
            path.push(name);
            match tree[at..].strip_prefix("::") {
                Some(_) => at += 2,
                None => {
                    paths.push(path);
                    return at;
                }
            }
        } else if rest.starts_with('{') {
            at += 1;
            while let Some(next) = tree[at..].chars().next().filter(|c| *c != '}') {
                if next.is_alphanumeric() || next == '_' || next == '{' {
                    at += expand(&path, &tree[at..], paths).max(1);
                } else {
                    at += next.len_utf8();
                }
            }
            return at + 1;
        } else {
            return at;
        }
    }
}

/// Groups of modules that each need all others of their group, however far round.
fn circles(graph: &Graph) -> Vec<Vec<String>> {
    let reached: BTreeMap<&String, BTreeSet<&String>> = (graph.keys())
        .map(|module| (module, reached(graph, module)))
        .collect();
    let mut circles: Vec<Vec<String>> = Vec::new();
    for (module, far) in &reached {
        let circle: Vec<String> = (far.iter())
            .filter(|other| reached.get(*other).is_some_and(|far| far.contains(module)))
            .map(|other| (*other).clone())
            .collect();
        if circle.len() > 1 && !circles.contains(&circle) {
            circles.push(circle);
        }
    }
    circles
}

fn reached<'a>(graph: &'a Graph, from: &String) -> BTreeSet<&'a String> {
    let mut reached = BTreeSet::new();
    let mut open: Vec<&String> = graph[from].iter().collect();
    while let Some(module) = open.pop() {
        if reached.insert(module) {
            open.extend(graph.get(module).into_iter().flatten());
        }
    }
    reached
}
