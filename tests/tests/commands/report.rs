//! `report` as a whole command: the page as text. What a browser makes of it is in
//! `report_shown`.

use std::path::{Path, PathBuf};

use tests::command::{Outcome, handover};
use tests::made::{REPORT, TWO_WAY};
use tests::markup::{Element, read};

struct Folder(tempfile::TempDir);

impl Folder {
    fn new() -> Self {
        Self(tempfile::tempdir().unwrap())
    }

    /// With the demo's files.
    fn demo() -> Self {
        let folder = Self::new();
        assert_eq!(handover(&["demo", &folder.at("")]).status, 0);
        folder
    }

    fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    fn at(&self, name: &str) -> String {
        self.path(name).to_str().unwrap().to_owned()
    }

    fn text(&self, name: &str) -> String {
        std::fs::read_to_string(self.path(name)).unwrap()
    }

    fn names(&self) -> Vec<String> {
        let entries = std::fs::read_dir(self.0.path()).unwrap();
        let mut names: Vec<String> = entries
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    }
}

fn well_formed(page: &str) -> Vec<Element> {
    read(page).unwrap_or_else(|error| panic!("{error}"))
}

fn fetches_nothing(page: &str) {
    // What is left is the policy that forbids fetching, and the name of SVG, which nobody fetches.
    let page = page
        .replace("http-equiv", "")
        .replace("xmlns=\"http://www.w3.org/2000/svg\"", "");
    assert!(!page.contains("http"), "an address");
    // The clip of a picture is named by its id.
    let page = page.replace("url(#", "");
    for way in ["url(", "@import", "<link", "<img", "<iframe", " src="] {
        assert!(!page.contains(way), "{way}");
    }
    assert!(page.contains("default-src 'none'"));
}

fn report(design: &str) -> (Outcome, Folder, String) {
    let folder = Folder::new();
    std::fs::write(folder.path("d.toml"), design).unwrap();
    let outcome = handover(&["report", &folder.at("d.toml")]);
    assert!(outcome.status < 2, "{}", outcome.err);
    let page = folder.text("d.html");
    (outcome, folder, page)
}

/// A design without crossovers: nothing to judge it by.
const BARE: &str = "title = \"Bare <b>&\\\"\"\n\
    [drivers.low]\nmodelled = { re = \"6 ohm\", fs = \"33 Hz\", qms = 5, qes = 0.4, vas = \"100 L\", sd = \"500 cm2\" }\n\
    [parts]\n";

#[test]
fn the_demo_s_page_is_whole_and_names_every_part_and_node() {
    let (outcome, folder) = (&REPORT.outcome, Folder::demo());
    assert!(outcome.out.is_empty(), "the page is a file");
    assert!(outcome.err.contains("network.html"), "{}", outcome.err);
    let page = REPORT.text("network.html");
    let elements = well_formed(page);
    fetches_nothing(page);

    let project = netlist::project::load(Path::new(&folder.at("network.toml"))).unwrap();
    let network = project.project.network.unwrap();
    let cells: Vec<&str> = (elements.iter())
        .filter(|e| e.attribute("scope") == Some("row"))
        .map(|e| e.text.as_str())
        .collect();
    let bought: Vec<&str> = cells.iter().flat_map(|cell| cell.split(", ")).collect();
    let ends: Vec<&str> = (elements.iter())
        .filter(|e| e.attribute("class") == Some("end"))
        .map(|e| e.text.as_str())
        .collect();
    for (name, part) in network.parts() {
        let soldered = ends.iter().filter(|end| {
            **end == name.as_str()
                || end
                    .strip_prefix(name.as_str())
                    .is_some_and(|r| r.starts_with(' '))
        });
        assert_eq!(soldered.count(), 2, "{name} has two ends");
        if part.value_si().is_some() {
            assert!(bought.contains(&name.as_str()), "{name} is to be bought");
        }
    }
    for node in network.node_names() {
        assert!(cells.contains(&node), "node {node}");
    }
}

#[test]
fn headings_tables_and_pictures_are_told_to_who_cannot_see_them() {
    let elements = well_formed(REPORT.text("network.html"));
    let levels: Vec<u32> = (elements.iter())
        .filter_map(|e| {
            e.name
                .strip_prefix('h')
                .and_then(|level| level.parse().ok())
        })
        .collect();
    assert_eq!(levels[0], 1);
    assert_eq!(levels.iter().filter(|level| **level == 1).count(), 1);
    for pair in levels.windows(2) {
        assert!(
            pair[1] <= pair[0] + 1,
            "no level of heading is left out: {levels:?}"
        );
    }
    let ids: Vec<&str> = elements.iter().filter_map(|e| e.attribute("id")).collect();
    for element in &elements {
        match element.name.as_str() {
            "th" => assert!(element.attribute("scope").is_some(), "{element:?}"),
            "svg" => assert_eq!(element.attribute("role"), Some("img"), "{element:?}"),
            "html" => assert_eq!(element.attribute("lang"), Some("en")),
            "input" => assert!(element.attribute("aria-label").is_some()),
            "title" | "desc" => assert!(!element.text.is_empty(), "{element:?}"),
            _ => {}
        }
        for key in ["aria-labelledby", "aria-describedby"] {
            for id in element
                .attribute(key)
                .into_iter()
                .flat_map(str::split_whitespace)
            {
                assert!(ids.contains(&id), "{key} names {id}");
            }
        }
        if let Some(target) = element.attribute("href") {
            assert!(ids.contains(&target.trim_start_matches('#')), "{target}");
        }
    }
    let count = |name: &str| elements.iter().filter(|e| e.name == name).count();
    assert_eq!(
        count("table"),
        count("caption"),
        "every table has a caption"
    );
}

/// The numbers of the page are those of `sweep`, which is another way to the same curves.
#[test]
fn findings_and_cautions_come_first() {
    let page = REPORT.text("network.html");
    let place = |words: &str| page.find(words).unwrap_or_else(|| panic!("{words}"));
    for caution in [
        "Never run one without a load",
        "burn skin",
        "may hold a charge",
        "damage hearing",
        "local electrical code",
    ] {
        assert!(place(caution) < place("<figure"), "{caution}");
    }
    assert!(place("Invented data") < place("<main>"));
    assert!(place("class=\"caution\"") < place("class=\"note\""));
    assert!(place("local electrical code") < place("class=\"note\""));
}

#[test]
fn a_danger_is_the_status_of_the_command() {
    let folder = Folder::demo();
    let text = folder.text("network.toml");
    let low = text.replace("resistor = \"1 ohm\"", "resistor = \"0.01 ohm\"");
    let low = low.replace("inductor = \"2.7 mH\"", "inductor = \"0.1 mH\"");
    assert_ne!(low, text);
    std::fs::write(folder.path("network.toml"), low).unwrap();
    let outcome = handover(&["report", &folder.at("network.toml")]);
    let page = folder.text("network.html");
    assert_eq!(outcome.status, 1, "{}", outcome.err);
    assert!(page.contains("class=\"danger\""));
    assert!(outcome.err.contains("danger"), "{}", outcome.err);
}

#[test]
fn odd_networks_and_names_have_a_page_too() {
    let parts = [
        "LOW = { driver = \"low\", between = [\"in\", \"gnd\"] }",
        "T1 = { autoformer = \"40 mH\", between = [\"in\", \"gnd\"], taps = { a = 0.5 }, coupling = 0.99 }\n\
         LOW = { driver = \"low\", between = [\"a\", \"gnd\"], inverted = true }",
        "L1 = { inductor = \"1 mH\", between = [\"in\", \"a\"], dcr = \"0.2 ohm\" }\n\
         L2 = { inductor = \"1 mH\", between = [\"a\", \"gnd\"], dcr = \"0.2 ohm\" }\n\
         K1 = { coupling = [\"L1\", \"L2\"], factor = 0.1 }\n\
         LOW = { driver = \"low\", between = [\"a\", \"gnd\"] }",
        "\"C<1>&\" = { capacitor = \"10 uF\", between = [\"in\", \"n <i>\"] }\n\
         LOW = { driver = \"low\", between = [\"n <i>\", \"gnd\"] }",
        "C1 = { capacitor = \"14.7 uF\", made_of = { parallel = [\"10 uF\", \"4.7 uF\"] }, between = [\"in\", \"a\"] }\n\
         LOW = { driver = \"low\", between = [\"a\", \"gnd\"] }",
    ];
    for parts in parts {
        let (_, _folder, page) = report(&format!("{BARE}{parts}\n"));
        let elements = well_formed(&page);
        fetches_nothing(&page);
        // The script may ask for what is no number; the page shows none.
        let (shown, _) = page.rsplit_once("<script>").unwrap();
        assert!(!shown.contains("NaN") && !shown.contains(">inf"), "{parts}");
        assert!(
            page.contains("could not be held against"),
            "without crossovers there is no judgement"
        );
        let title = elements.iter().find(|e| e.name == "h1").unwrap();
        assert_eq!(title.text, "Bare <b>&\"");
        for line in parts.lines().filter(|line| line.contains("between")) {
            let name = line.split(" = ").next().unwrap().trim_matches('"');
            let named = |e: &Element| e.text == name || e.text.starts_with(&format!("{name} "));
            assert!(elements.iter().any(named), "{name}");
        }
    }
}

#[test]
fn what_is_there_is_not_overwritten_unasked() {
    let folder = Folder::demo();
    let design = folder.at("network.toml");
    std::fs::write(folder.path("network.html"), "mine").unwrap();
    let before = folder.names();
    let outcome = handover(&["report", &design]);
    assert_eq!(outcome.status, 2);
    assert!(outcome.err.contains("--force"), "{}", outcome.err);
    assert_eq!(folder.text("network.html"), "mine");
    assert_eq!(folder.names(), before);
    assert_eq!(handover(&["report", &design, "--force"]).status, 0);
    // The page says where its design is; all else is the same.
    let page = folder.text("network.html").replace(&folder.at(""), "");
    let before = REPORT.text("network.html");
    let before = before.replace(&format!("{}/", REPORT.folder), "");
    assert!(page == before, "the same design gives the same page");

    // One picture that is there keeps all of them, and the page, from being written.
    let pictures = folder.at("pictures");
    std::fs::create_dir(&pictures).unwrap();
    std::fs::write(folder.path("pictures/phase.svg"), "mine").unwrap();
    let page = folder.at("new.html");
    let outcome = handover(&["report", &design, "-o", &page, "--pictures", &pictures]);
    assert_eq!(outcome.status, 2);
    assert!(!folder.path("new.html").exists());
    assert_eq!(std::fs::read_dir(&pictures).unwrap().count(), 1);
    let outcome = handover(&["report", &design, "-o", &design, "--force"]);
    assert_eq!(outcome.status, 2);
    assert!(outcome.err.contains("the design itself"), "{}", outcome.err);
}

#[test]
fn pictures_are_files_of_their_own() {
    for name in [
        "response",
        "phase",
        "load",
        "transfer",
        "group-delay",
        "schematic",
    ] {
        let svg = REPORT.text(&format!("pictures/{name}.svg"));
        let elements = well_formed(svg);
        assert_eq!(elements[0].name, "svg");
        assert_eq!(
            elements[0].attribute("xmlns"),
            Some("http://www.w3.org/2000/svg")
        );
        assert_eq!(svg.matches("http").count(), 1, "{name} fetches nothing");
    }
}

#[test]
fn a_brief_has_no_page_and_is_told_the_way() {
    let folder = Folder::demo();
    let outcome = handover(&["report", &folder.at("brief.toml")]);
    assert_eq!(outcome.status, 2);
    assert!(outcome.err.contains("handover design"), "{}", outcome.err);
    assert!(!folder.path("brief.html").exists());
}

#[test]
fn design_writes_the_page_beside_the_design() {
    let (err, folder) = (&TWO_WAY.outcome.err, Folder(TWO_WAY.copy()));
    let brief = folder.at("two-way.toml");
    assert!(err.contains("two-way-design.html"), "{err}");
    let page = TWO_WAY.text("two-way-design.html");
    well_formed(page);
    fetches_nothing(page);
    assert!(page.contains("--seed 7"), "how to repeat it");
    // One point a proposal, and a ring about the one that was taken.
    let proposals = page.split("id=\"proposals\"").nth(1).unwrap();
    let proposals = proposals.split("</svg>").next().unwrap();
    assert!(
        proposals.matches("class=\"dot\"").count() > 2,
        "{proposals}"
    );
    assert_eq!(proposals.matches("class=\"spot\"").count(), 1);
    assert!(proposals.contains("(taken)"), "{proposals}");

    // The page alone is enough to keep the design from being overwritten.
    std::fs::remove_file(folder.path("two-way-design.toml")).unwrap();
    let again = handover(&["design", &brief]);
    assert_eq!(again.status, 2);
    assert!(again.err.contains("two-way-design.html"), "{}", again.err);
    assert!(!folder.path("two-way-design.toml").exists());
}

/// What the page says of two coils against the same network with their coupling written into it.
#[test]
fn the_effect_of_coupled_coils_is_that_of_a_network_with_the_coupling() {
    let folder = Folder::demo();
    let page = REPORT.text("network.html");
    // The row of L1 and L3, its second cell: on one axis, 10 cm apart.
    let row = page
        .split("L1 and L3</th>")
        .nth(1)
        .expect("a row for L1 and L3");
    let cell = row.split("<td class=\"number\">").nth(2).unwrap();
    let (change_db, rest) = cell.split_once(" dB<small>").unwrap();
    let (percent, _) = rest.split_once(" %").unwrap();
    let (change_db, percent): (f64, f64) = (change_db.parse().unwrap(), percent.parse().unwrap());
    assert!(
        change_db > 0.05 && percent > 0.5,
        "something to compare: {cell}"
    );

    let text = folder.text("network.toml");
    let levels = |text: &str| -> Vec<f64> {
        std::fs::write(folder.path("coupled.toml"), text).unwrap();
        let coupled = folder.at("coupled.toml");
        let line = [
            "sweep", &coupled, "--json", "--from", "60 Hz", "--to", "17 kHz", "--points", "400",
        ];
        let outcome = handover(&line);
        assert_eq!(outcome.status, 0, "{}", outcome.err);
        let swept: serde_json::Value = serde_json::from_str(&outcome.out).unwrap();
        let list = swept
            .pointer("/system/level_db")
            .unwrap()
            .as_array()
            .unwrap();
        list.iter().map(|v| v.as_f64().unwrap()).collect()
    };
    let alone = levels(&text);
    let coupling = format!(
        "\nK1 = {{ coupling = [\"L1\", \"L3\"], factor = {} }}\n",
        percent / 100.0
    );
    let turned = text.replace(
        "between = [\"m1\", \"gnd\"], dcr = \"0.475",
        "between = [\"gnd\", \"m1\"], dcr = \"0.475",
    );
    assert_ne!(turned, text);
    let most = [text, turned]
        .iter()
        .flat_map(|text| levels(&(text.clone() + &coupling)))
        .zip(alone.iter().cycle())
        .map(|(with, without)| (with - without).abs())
        .fold(0.0, f64::max);
    assert!(
        (most - change_db).abs() < 0.02,
        "{most} dB, the page says {change_db} dB"
    );
}

/// The builder's meter is at the loudspeaker's terminals, where the amplifier's cable is not connected yet.
#[test]
fn the_first_readings_are_without_the_cable() {
    let folder = Folder::demo();
    let first = |name: &str, cable: &str| {
        let text = folder.text("network.toml");
        std::fs::write(folder.path(name), text + cable).unwrap();
        let page = folder.at("page.html");
        let outcome = handover(&["report", &folder.at(name), "-o", &page, "--force"]);
        assert_eq!(outcome.status, 0, "{}", outcome.err);
        let page = folder.text("page.html");
        let from = page.find("<table class=\"first\">").unwrap();
        page[from..].split("</table>").next().unwrap().to_owned()
    };
    let bare = first("bare.toml", "");
    let cable = "\n[wiring]\ncable = { length = \"20 m\", gauge = \"0.75 mm2\" }\n";
    assert_eq!(first("cable.toml", cable), bare);
}
