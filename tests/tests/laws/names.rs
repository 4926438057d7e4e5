//! One name, one meaning: no type of the program has the name of another.

use std::collections::BTreeMap;
use std::fs;

use tests::source_text::{CRATES, code, files, repository};

#[test]
fn no_type_has_the_name_of_another() {
    let mut declared: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for file in CRATES
        .iter()
        .flat_map(|folder| files(&repository().join(folder)))
    {
        let text = fs::read_to_string(&file).expect("a file of the program");
        for name in types(&text) {
            declared
                .entry(name)
                .or_default()
                .push(file.display().to_string());
        }
    }
    assert!(declared.len() > 400, "{}", declared.len());
    declared.retain(|_, files| files.len() > 1);
    assert!(declared.is_empty(), "{declared:#?}");
}

#[test]
fn types_are_seen() {
    let text = "pub(crate) struct A<T> {\n    b: u8,\n}\n// struct No;\nenum B {}\npub trait C: D {}\ntype E = f64;\n\
                impl C for A {\n    type F = u8;\n}\nfn f() {\n    struct G;\n}\n\
                #[cfg(test)]\nmod tests {\n    struct No;\n}\n";
    assert_eq!(types(text), ["A", "B", "C", "E", "G"]);
}

/// Names of the types that a file declares, tests left out.
fn types(text: &str) -> Vec<String> {
    let declared = |line: &str| {
        let words = line.trim_start();
        // An associated type is no name of its own; it is never at the margin.
        let at_margin = words.len() == line.len();
        let words = match words.strip_prefix("pub") {
            Some(rest) if rest.starts_with('(') => rest.split_once(") ")?.1,
            Some(rest) => rest.trim_start(),
            None => words,
        };
        let (word, name) = words.split_once(' ')?;
        let is_type = matches!(word, "struct" | "enum" | "trait" | "union");
        (is_type || (word == "type" && at_margin)).then(|| {
            name.chars()
                .take_while(|c| c.is_alphanumeric() || *c == '_')
                .collect()
        })
    };
    code(text).lines().filter_map(declared).collect()
}
