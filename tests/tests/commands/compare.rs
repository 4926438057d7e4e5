//! `compare` as a whole command: columns against `check` and `design`, order, edits, the page, mistakes.

use std::sync::LazyLock;

use serde_json::Value;
use tempfile::TempDir;
use tests::command::{Outcome, handover};
use tests::compared::{brief, spare};
use tests::document::{all_finite, document};
use tests::made::TWO_WAY;
use tests::markup::read;

/// Fields that a column has from its check.
const OF_CHECK: [&str; 7] = [
    "title",
    "level_db",
    "flatness",
    "ways",
    "crossovers",
    "load",
    "findings",
];

/// Few builds, and a quick search.
const SHORT: [&str; 5] = ["--builds", "60", "--quick", "--seed", "7"];

pub(super) struct Folder(TempDir);

impl Folder {
    pub(super) fn new(files: &[(&str, &str)]) -> Self {
        let folder = tempfile::tempdir().unwrap();
        for (name, text) in files {
            std::fs::write(folder.path().join(name), text).unwrap();
        }
        Self(folder)
    }

    pub(super) fn at(&self, name: &str) -> String {
        self.0.path().join(name).to_str().unwrap().to_owned()
    }

    pub(super) fn compare(&self, args: &[&str]) -> Outcome {
        let args: Vec<String> = (args.iter())
            .map(|arg| {
                arg.strip_prefix('@')
                    .map_or((*arg).to_owned(), |name| self.at(name))
            })
            .collect();
        let mut line = vec!["compare"];
        line.extend(args.iter().map(String::as_str));
        line.extend(SHORT);
        handover(&line)
    }
}

/// The demo's finished network, its designed two-way, and the tables of both.
pub(super) fn demo() -> Folder {
    Folder(TWO_WAY.copy())
}

/// A brief with a driver to try, swapped as the command does it, and its page.
static SWAPPED: LazyLock<(Folder, Outcome)> = LazyLock::new(|| {
    let folder = Folder::new(&[("mine.toml", &brief("high", &spare()))]);
    let outcome = folder.compare(&[
        "@mine.toml",
        "--swap",
        "high=high-b",
        "--json",
        "-o",
        "@page.html",
    ]);
    assert_eq!(outcome.status, 0, "{}", outcome.err);
    (folder, outcome)
});

pub(super) fn checked(file: &str) -> Value {
    document(&handover(&["check", file, "--json", SHORT[0], SHORT[1]]))
}

pub(super) fn agrees(column: &Value, checked: &Value) {
    for field in OF_CHECK {
        assert_eq!(column[field], checked[field], "{field}");
    }
    assert_eq!(column["tolerance"]["all"], checked["tolerance"]["all"]);
}

#[test]
fn a_file_against_itself_is_no_difference() {
    let folder = demo();
    // Its tables are the same wherever they lie.
    let mut text = std::fs::read_to_string(folder.at("network.toml")).unwrap();
    for way in ["low", "mid", "high"] {
        let names = ["impedance", "response"].map(|what| format!("{way}-{what}.txt"));
        for name in names {
            let copy = format!("copy-{name}");
            std::fs::copy(folder.at(&name), folder.at(&copy)).unwrap();
            text = text.replace(&name, &copy);
        }
    }
    std::fs::write(folder.at("same.toml"), text).unwrap();
    let told = folder.compare(&["@network.toml", "@same.toml", "--json"]);
    assert_eq!(told.status, 0, "{}", told.err);
    let found = document(&told);
    all_finite(&found);
    assert!(
        found["verdict"].as_str().unwrap().contains("no difference"),
        "{}",
        found["verdict"]
    );
    for figure in found["figures"].as_array().unwrap() {
        assert_eq!(figure["values"][0], figure["values"][1], "{figure}");
        assert!(figure["better"].as_array().unwrap().is_empty(), "{figure}");
    }
    let roles = found["roles"].as_array().unwrap();
    assert!(
        roles.len() > 10 && roles.iter().all(|role| role["same"] == true),
        "{roles:?}"
    );
    let screen = folder.compare(&["@network.toml", "@same.toml"]);
    assert!(screen.out.starts_with("no difference"), "{}", screen.out);
    assert!(!screen.out.contains("in common"), "{}", screen.out);
    assert!(
        screen.out.contains("the parts are the same"),
        "{}",
        screen.out
    );
    // With a level that is asked for neither is better for more, and nothing else is asked of the other.
    for name in ["network.toml", "same.toml"] {
        let text = std::fs::read_to_string(folder.at(name)).unwrap();
        let asked = text.replacen("level = \"auto\"", "level = \"95 dB\"", 1);
        assert_ne!(asked, text);
        std::fs::write(folder.at(name), asked).unwrap();
    }
    let screen = folder.compare(&["@network.toml", "@same.toml"]).out;
    assert!(!screen.contains("other things are asked for"), "{screen}");
    let screen: Vec<&str> = screen.split_whitespace().collect();
    assert!(
        (screen.join(" ")).contains("more level is not better where a level is asked for"),
        "{screen:?}"
    );
}

#[test]
fn columns_agree_with_check_and_fit_the_screen() {
    let folder = demo();
    let files = ["network.toml", "two-way-design.toml"];
    let told = folder.compare(&["@network.toml", "@two-way-design.toml", "--json"]);
    let found = document(&told);
    for (place, file) in files.iter().enumerate() {
        let column = &found["columns"][place];
        agrees(column, &checked(&folder.at(file)));
        assert_eq!(column["designed"], false);
        assert!(column["copper_of_pair_kg"].as_f64().unwrap() > 0.1);
    }
    let help = handover(&["help", "json"]).out;
    let words: Vec<&str> = help
        .split(|c: char| !c.is_alphanumeric() && c != '_')
        .collect();
    for table in [
        &found,
        &found["columns"][0],
        &found["figures"][0],
        &found["roles"][0],
    ] {
        for name in table.as_object().unwrap().keys() {
            assert!(
                words.contains(&name.as_str()),
                "{name} is not in `help json`"
            );
        }
    }
    // Another band is asked for: each against its own is not held against the other's.
    let figure = |name: &str| {
        let figures = found["figures"].as_array().unwrap();
        figures
            .iter()
            .find(|figure| figure["figure"] == name)
            .unwrap()
            .clone()
    };
    assert_eq!(figure("flatness")["comparable"], false);
    assert_eq!(figure("common_flatness")["comparable"], true);
    assert_eq!(found["common_band_hz"][1], 14_000.0);
    // Fewer parts are fewer whatever tolerance does.
    let parts = figure("parts");
    assert_eq!(parts["better"][0]["is"], 1, "{parts}");

    let six = ["@network.toml", "@two-way-design.toml"].repeat(3);
    let told = folder.compare(&six);
    assert_eq!(told.status, 0, "{}", told.err);
    let table = told
        .out
        .lines()
        .filter(|line| !line.contains(", ") || line.contains("dB"));
    for line in table {
        assert!(line.chars().count() <= 100, "{line}");
    }
    for row in [
        "flat, dB rms",
        "least load",
        "copper of a pair",
        "hottest part",
    ] {
        let line = told.out.lines().find(|line| line.starts_with(row)).unwrap();
        assert!(line.chars().count() <= 80, "{line}");
    }
    assert!(told.out.lines().count() <= 60, "{}", told.out);
}

#[test]
fn neither_the_order_of_files_nor_threads_matter() {
    let folder = demo();
    let files = ["@network.toml", "@two-way-design.toml"];
    let run = |files: [&str; 2], threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .unwrap();
        let args = [files[0], files[1], "--json"];
        let mut found = document(&pool.install(|| folder.compare(&args)));
        found["seconds"] = Value::Null;
        found
    };
    let one = run(files, 1);
    assert_eq!(one, run(files, 3));
    let turned = run([files[1], files[0]], 2);
    assert_eq!(one["columns"][0], turned["columns"][1]);
    let order = |found: &Value| -> Vec<Value> {
        let order = found["order"].as_array().unwrap();
        order
            .iter()
            .map(|place| found["columns"][place.as_u64().unwrap() as usize]["name"].clone())
            .collect()
    };
    assert_eq!(order(&one), order(&turned));
    for (figure, other) in one["figures"]
        .as_array()
        .unwrap()
        .iter()
        .zip(turned["figures"].as_array().unwrap())
    {
        assert_eq!(figure["values"][0], other["values"][1]);
        let [here, there] = [figure, other].map(|figure| figure["better"].as_array().unwrap());
        assert_eq!(here.len(), there.len(), "{figure} {other}");
        for (pair, turned) in here.iter().zip(there) {
            assert_eq!(
                (&pair["is"], &pair["share"]),
                (&turned["than"], &turned["share"])
            );
        }
    }
}

#[test]
fn a_swap_is_the_edited_brief_designed() {
    let (_, outcome) = &*SWAPPED;
    let found = document(outcome);
    assert_eq!(found["columns"][1]["is"], "high-b in the place of high");
    let by_hand = Folder::new(&[(
        "mine.toml",
        &brief("high-b", &spare().replace("instead_of = \"high\"\n", "")),
    )]);
    let text = std::fs::read_to_string(by_hand.at("mine.toml")).unwrap();
    // The spare is described once: as the driver that plays.
    let text = text.replacen(&spare().replace("instead_of = \"high\"\n", ""), "", 1);
    std::fs::write(by_hand.at("mine.toml"), text).unwrap();
    let line = [
        "design",
        &by_hand.at("mine.toml"),
        "--json",
        SHORT[2],
        SHORT[3],
        SHORT[4],
    ];
    let designed = handover(&line);
    assert_eq!(designed.status, 0, "{}", designed.err);
    let designed = document(&designed);
    let column = &found["columns"][1];
    for field in ["level_db", "flatness", "crossovers"] {
        if field != "crossovers" {
            assert_eq!(column[field], designed[field], "{field}");
        }
    }
    agrees(column, &checked(&by_hand.at("mine-design.toml")));
}

#[test]
fn the_page_is_whole_and_fetches_nothing() {
    let (folder, _) = &*SWAPPED;
    let page = std::fs::read_to_string(folder.at("page.html")).unwrap();
    let elements = read(&page).unwrap_or_else(|error| panic!("{error}"));
    for id in [
        "figures",
        "curves",
        "parts",
        "drawings",
        "sums",
        "loads",
        "way-0",
        "way-1",
        "trade-off",
    ] {
        assert!(
            elements
                .iter()
                .any(|element| element.attribute("id") == Some(id)),
            "{id}"
        );
    }
    assert_eq!(page.matches("class=\"schematic\"").count(), 2);
    let bare = page
        .replace("xmlns=\"http://www.w3.org/2000/svg\"", "")
        .replace("http-equiv", "");
    assert!(!bare.contains("http") && page.contains("default-src 'none'"));
    assert!(page.contains("handover compare") && page.contains("--swap high=high-b"));
    assert!(!page.contains("NaN") && !page.contains("inf "));
    // It is not overwritten unasked.
    let again = folder.compare(&["@mine.toml", "--swap", "high=high-b", "-o", "@page.html"]);
    assert_eq!(again.status, 2);
    assert!(again.err.contains("--force"), "{}", again.err);
}
