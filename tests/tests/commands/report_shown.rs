//! The page of `report` as a browser shows and prints it. Needs Chromium.

use tests::browser::{Measured, answer, measure, print};
use tests::command::handover;
use tests::made::REPORT;

fn demo_page() -> &'static str {
    REPORT.text("network.html")
}

/// With so many pictures of curves.
fn sound(measured: &Measured, curves: usize) {
    assert!(measured.wrong.is_empty(), "{:#?}", measured.wrong);
    assert!(
        measured.content_width <= measured.width,
        "{} px do not fit in {} px",
        measured.content_width,
        measured.width
    );
    assert!(measured.overlaps.is_empty(), "{:#?}", measured.overlaps);
    assert!(measured.outside.is_empty(), "{:#?}", measured.outside);
    assert!(measured.cells > 50, "{} cells", measured.cells);
    assert!(measured.spilt.is_empty(), "{:#?}", measured.spilt);
    assert!(measured.unnamed.is_empty(), "{:#?}", measured.unnamed);
    assert!(measured.twice.is_empty(), "{:#?}", measured.twice);
    assert!(measured.faint.is_empty(), "{:#?}", measured.faint);
    assert!(
        measured.small_targets.is_empty(),
        "{:#?}",
        measured.small_targets
    );
    assert!(
        measured.pictures >= 5 && measured.texts > 100,
        "{measured:#?}"
    );
    assert!(
        measured.smallest_text >= 9.0,
        "{} px",
        measured.smallest_text
    );
    // The key moved on from 1 kHz, in all pictures of curves.
    let readout = &measured.readout;
    assert!(readout.starts_with("1.01 kHz sum "), "{readout}");
    assert_eq!(measured.cursors, curves);
}

#[test]
fn on_a_desk_screen() {
    let measured = measure(demo_page(), 1280);
    assert!((measured.width - 1280.0).abs() < 20.0, "{}", measured.width);
    sound(&measured, 8);
}

#[test]
fn on_a_telephone() {
    let measured = measure(demo_page(), 390);
    assert!((measured.width - 390.0).abs() < 1.0, "{}", measured.width);
    sound(&measured, 8);
}

/// What is read off the curves is what the program computes there.
#[test]
fn the_values_under_the_pointer_are_those_of_the_sweep() {
    let folder = REPORT.copy();
    let design = folder.path().join("network.toml");
    let swept = handover(&[
        "sweep",
        design.to_str().unwrap(),
        "--json",
        "--points",
        "600",
    ]);
    let swept: serde_json::Value = serde_json::from_str(&swept.out).unwrap();
    let script = "function read(id, times) { var figure = document.getElementById(id); figure.focus();\
        for (var i = 0; i < times; i += 1) { figure.dispatchEvent(new KeyboardEvent('keydown', { key: 'ArrowRight', bubbles: true, cancelable: true })); }\
        var says = figure.querySelector('.readout').textContent; figure.blur(); return says; }\
        return [read('response', 40), read('load', 40), read('response', 0)];";
    let says = answer(demo_page(), 1280, script);
    let f_hz = swept["frequency_hz"].as_array().unwrap().iter();
    let off = |f: &serde_json::Value| (f.as_f64().unwrap() / 1000.0).ln().abs();
    let middle = (0..600)
        .zip(f_hz)
        .min_by(|a, b| off(a.1).total_cmp(&off(b.1)))
        .unwrap()
        .0;
    let at = |pointer: &str, i: usize| swept.pointer(pointer).unwrap()[i].as_f64().unwrap();
    for (place, i) in [(0, middle + 40), (2, middle)] {
        for (name, pointer) in [
            ("sum", "/system/level_db"),
            ("low", "/ways/low/level_db"),
            ("mid", "/ways/mid/level_db"),
        ] {
            let words = format!("{name} {:.1} dB", at(pointer, i));
            let says = says[place].as_str().unwrap();
            assert!(says.contains(&words), "{words} in {says}");
        }
    }
    let load = says[1].as_str().unwrap();
    let words = [
        format!("impedance {:.2} Ω", at("/load/magnitude_ohm", middle + 40)),
        format!("{:.0}°", at("/load/phase_deg", middle + 40)).replace('-', "−"),
    ];
    assert!(
        words.iter().all(|words| load.contains(words)),
        "{words:?} in {load}"
    );
}

/// Five ways, names that nobody would like to read, prices, and a load that is a danger.
#[test]
fn long_names_fit_too() {
    let folder = tempfile::tempdir().unwrap();
    let names = [
        "woofer at the bottom of the box",
        "middle",
        "horn-with-a-name-that-has-no-blank-in-it-at-all-and-goes-on",
        "high",
        "<super> & \u{3a9}",
    ];
    let mut text =
        String::from("title = \"Titleswithoutblanksthatgoonandonandonandonandonandon\"\n");
    text += "[amplifier]\nrated_power = \"200 W\"\nrated_load = \"4 ohm\"\n";
    for (i, name) in names.iter().enumerate() {
        let fs = 33.0 * 3f64.powi(i as i32);
        text += &format!(
            "[drivers.\"{name}\"]\nmodelled = {{ re = \"6 ohm\", fs = {fs}, qms = 5, qes = 0.4, \
             vas = \"{} L\", sd = \"50 cm2\" }}\n",
            100.0 / 8f64.powi(i as i32)
        );
    }
    text += "[stock]\ncatalogue = \"stock.csv\"\n[parts]\n";
    for (i, name) in names.iter().enumerate() {
        let micro = 100.0 / 4f64.powi(i as i32);
        text += &format!(
            "C{i} = {{ capacitor = \"{micro} uF\", between = [\"in\", \"node {i} of the network\"] }}\n\
             L{i} = {{ inductor = \"{} mH\", between = [\"node {i} of the network\", \"gnd\"], dcr = \"0.3 ohm\" }}\n\
             \"{name} driver\" = {{ driver = \"{name}\", between = [\"node {i} of the network\", \"gnd\"], inverted = {} }}\n",
            3.0 / 3f64.powi(i as i32),
            i % 2 == 1
        );
    }
    std::fs::write(folder.path().join("many.toml"), text).unwrap();
    let list = "kind,value,tolerance,dcr_or_esr,rating,price,name\n\
                capacitor,100 uF,10 %,,100 V,8.50,bipolar hundred of a name that is long\n";
    std::fs::write(folder.path().join("stock.csv"), list).unwrap();
    let outcome = handover(&["report", folder.path().join("many.toml").to_str().unwrap()]);
    assert!(outcome.status < 2, "{}", outcome.err);
    let page = std::fs::read_to_string(folder.path().join("many.html")).unwrap();
    for width in [390, 1280] {
        sound(&measure(&page, width), 7);
    }
}

/// What the checks above would say of a page that is wrong.
#[test]
fn a_bad_page_is_seen_to_be_bad() {
    let bad = "<!DOCTYPE html><html><head><meta charset=\"utf-8\"></head><body>\
        <div style=\"width:900px\">wide</div><svg viewBox=\"0 0 100 20\" width=\"100\" height=\"20\">\
        <text x=\"10\" y=\"15\">one</text><text x=\"12\" y=\"15\">two</text><text x=\"95\" y=\"15\">out</text></svg>\
        <table><tr><td style=\"max-width:2rem;white-space:nowrap\"><span style=\"color:#999\">much too long</span></td></tr></table>\
        <button id=\"b\"></button><i id=\"b\"></i>\
        <script>console.error('no')</script></body></html>";
    let measured = measure(bad, 390);
    assert!(measured.content_width >= 900.0);
    assert_eq!(measured.overlaps.len(), 1, "{measured:#?}");
    assert_eq!(measured.outside.len(), 1, "{measured:#?}");
    assert_eq!(measured.wrong, ["console: no"]);
    assert_eq!(measured.spilt, ["much too long"]);
    assert_eq!(measured.faint.len(), 1, "{measured:#?}");
    assert_eq!(measured.twice, ["#b"]);
    assert_eq!(measured.unnamed.len(), 1, "{measured:#?}");
    assert_eq!(measured.small_targets.len(), 1, "{measured:#?}");
}

#[test]
fn on_paper_it_is_a4_and_a_dozen_pages() {
    let pdf = print(demo_page());
    let text = String::from_utf8_lossy(&pdf);
    assert!(text.starts_with("%PDF"));
    let boxes: Vec<&str> = text
        .match_indices("/MediaBox")
        .map(|(at, _)| &text[at..])
        .collect();
    assert!((8..=13).contains(&boxes.len()), "{} pages", boxes.len());
    for page in boxes {
        let inside = page.split(['[', ']']).nth(1).unwrap();
        let sides: Vec<f64> = inside
            .split_whitespace()
            .map(|n| n.parse().unwrap())
            .collect();
        // A4 is 210 mm by 297 mm, 595.3 by 841.9 points (ISO 216).
        assert!(
            (sides[2] - 595.3).abs() < 1.0 && (sides[3] - 841.9).abs() < 1.0,
            "{inside}"
        );
    }
}
