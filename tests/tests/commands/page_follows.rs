//! What stands on the page beside its curves follows a changed value as the program has it of the saved file. Needs
//! Chromium.

use std::collections::BTreeSet;

use serde_json::Value;
use tests::browser::answer;
use tests::check::FEW;
use tests::command::handover;
use tests::document::document;
use tests::made::REPORT;

/// Texts of what follows: of each table row by row. Of the leaf the names of the pieces, which a changed part keeps.
const TEXTS: &str = "function rows(selector) { return [].map.call(document.querySelectorAll(selector), function (row) {\
        return [].map.call(row.cells || row.children, function (cell) { return cell.textContent.trim(); }).join(' | '); }); }\
    var texts = { parts: rows('.leaf-parts tbody tr'), first: rows('table.first tbody tr'), shopping: rows('table.shopping tbody tr'),\
        names: rows('table.parts tbody tr'), stress: rows('#stress tr[data-part]'), labels: rows('.labels li'),\
        foot: rows('table.shopping tfoot tr'), noise: document.querySelector('[data-noise]').textContent, drawn: [].map.call(document.querySelectorAll('#drawing .value, #leaf .schematic .value'), function (t) { return t.textContent; }),\
        small: [].map.call(document.querySelectorAll('#leaf .schematic .small'), function (t) { return t.textContent; }).filter(function (t) { return /Ω$/.test(t); }),\
        swapped: document.querySelector('#swapped span').textContent, values: rows('#curves tr[data-row]') };";

/// Findings that are arithmetic on what the page computes.
const FOLLOWED: [&str; 16] = [
    "load-dangerously-low",
    "load-too-low",
    "phase-heats-amplifier",
    "direct-current-path",
    "resistor-overloaded",
    "resistor-without-margin",
    "capacitor-over-voltage",
    "capacitor-without-margin",
    "coil-saturates",
    "driver-overloaded",
    "steady-tone-overloads-driver",
    "hot-pad-resistors",
    "sum-not-flat",
    "sum-far-off-the-aim",
    "way-off-its-target",
    "phases-apart",
];

/// Changes the page of the demo's network and gives its texts and codes with those of the file that it saves.
fn followed(changes: &str) -> ([Value; 2], [BTreeSet<String>; 2]) {
    let folder = REPORT.copy();
    let script = format!(
        "var B = handoverBench; {changes}; B.update(); B.finish(); {TEXTS}\
         return {{ texts: texts, file: B.file(), codes: [].map.call(document.querySelectorAll('[data-live]'), function (li) {{ return li.dataset.live; }}) }};"
    );
    let found = answer(REPORT.text("network.html"), 1280, &script);
    let saved = folder.path().join("saved.toml");
    std::fs::write(&saved, found["file"].as_str().unwrap()).unwrap();
    let saved = saved.to_str().unwrap();
    let outcome = handover(&["report", saved]);
    assert!(outcome.status < 2, "{}", outcome.err);
    let page = std::fs::read_to_string(folder.path().join("saved.html")).unwrap();
    let own = answer(&page, 1280, &format!("{TEXTS} return texts;"));
    let checked = document(&handover(&["check", saved, "--json", FEW[0], FEW[1]]));
    let findings = checked["findings"].as_array().unwrap().iter();
    let told = findings
        .filter(|finding| finding["severity"] != "note")
        .map(|finding| finding["code"].as_str().unwrap().to_owned())
        .filter(|code| FOLLOWED.contains(&code.as_str()));
    let codes = found["codes"].as_array().unwrap().iter();
    let codes = codes.map(|code| code.as_str().unwrap().to_owned());
    (
        [found["texts"].clone(), own],
        [codes.collect(), told.collect()],
    )
}

/// Peaks of programme behind a filter keep their ratio to its rms value on the page, which is near, not the same; what
/// comes of them is compared where a sine is the larger.
fn same(texts: &[Value; 2], names: &[&str], changes: &str) {
    for name in names {
        assert_eq!(texts[0][name], texts[1][name], "{name} after {changes}");
        assert!(
            !texts[0][name].as_array().is_some_and(Vec::is_empty),
            "{name}"
        );
    }
}

const ALL: [&str; 6] = ["parts", "first", "labels", "drawn", "small", "values"];

#[test]
fn bench_leaf_drawing_labels_and_lists_are_those_of_the_saved_file() {
    for changes in [
        "B.step('L1', true); B.step('L2', false); B.value('R2', 4.7)",
        "B.value('C4', 4.7e-6); B.step('C2', true); B.value('R3', 1500); B.wires('MID', '', true)",
    ] {
        let (texts, codes) = followed(changes);
        same(&texts, &ALL, changes);
        for name in ["swapped", "noise"] {
            assert_eq!(texts[0][name], texts[1][name], "{name} after {changes}");
        }
        // Which pieces, how many and of what value; ratings may differ by a step where a peak is nearly one.
        for name in ["shopping", "names"] {
            let short = |texts: &Value| -> Vec<String> {
                let rows = texts[name].as_array().unwrap().iter();
                let cut = |row: &Value| {
                    let row = row.as_str().unwrap();
                    row.split(" | ")
                        .take(3 - usize::from(name == "names"))
                        .collect::<Vec<_>>()
                        .join(" | ")
                };
                rows.map(cut).collect()
            };
            assert_eq!(short(&texts[0]), short(&texts[1]), "{name} after {changes}");
        }
        assert_eq!(codes[0], codes[1], "{changes}");
    }
}

/// Ratings and prices of the list, and a danger: a resistor of small rating that gets too much.
#[test]
fn ratings_prices_and_dangers_follow() {
    let list = "kind,value,tolerance,dcr_or_esr,rating,price,name\n\
                resistor,4.7 ohm,5 %,,2 W,1.10,small four point seven\n\
                resistor,9.1 ohm,5 %,,20 W,2.50,large nine point one\n";
    let text = REPORT.text("network.toml");
    let priced = text.replace("[stock]", "[stock]\ncatalogue = \"list.csv\"");
    assert_ne!(priced, text);
    let folder = REPORT.copy();
    std::fs::write(folder.path().join("list.csv"), list).unwrap();
    let design = folder.path().join("mine.toml");
    std::fs::write(&design, priced).unwrap();
    assert!(handover(&["report", design.to_str().unwrap()]).status < 2);
    let page = std::fs::read_to_string(folder.path().join("mine.html")).unwrap();
    let script = format!(
        "var B = handoverBench; B.value('R2', 4.7); B.update(); B.finish(); {TEXTS}\
         return {{ texts: texts, says: document.querySelector('.live-warned').textContent, verdict: document.getElementById('verdict').textContent }};"
    );
    let found = answer(&page, 1280, &script);
    let rows = |name: &str| -> Vec<&str> {
        let rows = found["texts"][name].as_array().unwrap().iter();
        rows.map(|row| row.as_str().unwrap()).collect()
    };
    // R5 has the value that R2 gets: both are of one sort. What burns in R2 is more than its 2 W, and what is to be bought for it is said.
    let row = rows("shopping")
        .into_iter()
        .find(|row| row.contains("small four"))
        .unwrap();
    assert!(row.contains("not the stock’s 2 W"), "{row}");
    let foot = rows("foot")[0];
    assert!(
        foot.contains("4.40") && foot.contains("without 28 pieces"),
        "{foot}"
    );
    let says = found["says"].as_str().unwrap();
    assert!(says.contains("Danger: R2 turns"), "{says}");
    assert!(
        found["verdict"].as_str().unwrap().starts_with("1 danger"),
        "{found}"
    );
}

/// What the page cannot work out is marked as the design's while something is changed, and only then.
#[test]
fn what_cannot_follow_says_so() {
    let script = "var B = handoverBench; function marked() { return { old: [].map.call(document.querySelectorAll('.as-designed'), function (n) { return n.id || n.className || n.tagName; }).length,\
          lines: [].filter.call(document.querySelectorAll('.stale-line'), function (p) { return !p.hidden; }).length,\
          coils: document.querySelector('#coils .content').classList.contains('as-designed'),\
          band: getComputedStyle(document.querySelector('#response .band')).visibility }; }\
        var log = [marked()]; B.step('R2', true); B.update(); B.finish(); log.push(marked());\
        B.step('L1', true); B.update(); B.finish(); log.push(marked());\
        B.reset(); B.update(); B.finish(); log.push(marked()); return log;";
    let log = answer(REPORT.text("network.html"), 1280, script);
    assert_eq!(log[0], log[3], "{log}");
    assert_eq!(log[0]["old"], 0, "{log}");
    assert_eq!(log[0]["lines"], 0, "{log}");
    assert_eq!(log[0]["band"], "visible", "{log}");
    for after in [1, 2] {
        assert!(log[after]["lines"].as_u64().unwrap() >= 5, "{log}");
        assert_eq!(log[after]["band"], "hidden", "{log}");
        assert_eq!(log[after]["coils"], after == 2, "{log}");
    }
}
