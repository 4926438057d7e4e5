//! `compare`: fields varied, other loudspeakers, what cannot be compared.

use tests::command::handover;
use tests::compared::{brief, spare};
use tests::document::document;

use super::compare::{Folder, agrees, checked, demo};

#[test]
fn a_field_is_varied_on_a_finished_network() {
    let folder = demo();
    let values = "amplifier.output_impedance=0 ohm,0.5 ohm,1 ohm,2 ohm,3 ohm";
    let told = folder.compare(&[
        "@network.toml",
        "--vary",
        values,
        "--json",
        "-o",
        "@page.html",
    ]);
    assert_eq!(told.status, 0, "{}", told.err);
    let found = document(&told);
    assert_eq!(found["varied"]["field"], "amplifier.output_impedance");
    assert_eq!(found["columns"].as_array().unwrap().len(), 5);
    // The same parts: only what the amplifier does differs.
    assert!(
        found["roles"]
            .as_array()
            .unwrap()
            .iter()
            .all(|role| role["same"] == true)
    );
    let level = |place: usize| found["columns"][place]["level_db"].as_f64().unwrap();
    assert!((0..4).all(|place| level(place) > level(place + 1)));
    let page = std::fs::read_to_string(folder.at("page.html")).unwrap();
    assert!(page.contains("id=\"varied\""), "five values make a curve");
    // As the edited file has it.
    let text = std::fs::read_to_string(folder.at("network.toml")).unwrap();
    let edited = text.replace(
        "output_impedance = \"1.8 ohm\"",
        "output_impedance = \"3 ohm\"",
    );
    assert_ne!(text, edited);
    std::fs::write(folder.at("edited.toml"), edited).unwrap();
    agrees(&found["columns"][4], &checked(&folder.at("edited.toml")));

    let eight = "amplifier.output_impedance=0 ohm,0.5 ohm,1 ohm,2 ohm,3 ohm,4 ohm,5 ohm,6 ohm";
    let told = folder.compare(&["@network.toml", "--vary", eight]);
    assert!(told.out.contains("8 6 ohm"), "many are rows: {}", told.out);
    assert!(
        told.out
            .contains("over amplifier.output_impedance, 0 ohm to 6 ohm"),
        "{}",
        told.out
    );
    assert!(
        told.out.contains("██▇▇"),
        "the louder the stiffer: {}",
        told.out
    );
}

#[test]
fn other_loudspeakers_are_told_and_compared_all_the_same() {
    let folder = demo();
    std::fs::write(folder.at("other.toml"), brief("high", "")).unwrap();
    let told = folder.compare(&["@network.toml", "@two-way-design.toml", "@other.toml"]);
    assert_eq!(told.status, 0, "{}", told.err);
    let notes: Vec<&str> = told
        .out
        .lines()
        .filter(|line| line.starts_with("note:"))
        .collect();
    assert!(
        notes[0].contains("3 other has no driver in common with 1 network"),
        "{}",
        told.out
    );
    assert!(
        notes[1].contains("3 other has another amplifier than 1 network"),
        "{}",
        told.out
    );
    assert_eq!(
        notes.len(),
        2,
        "the two-way is of the same drivers: {notes:?}"
    );
}

#[test]
fn what_cannot_be_compared_is_told_with_the_way_out() {
    let table = "[drivers.high-b]\ninstead_of = \"high\"\nmeasured = { impedance = \"z.txt\", response = \"r.txt\" }\n";
    let table = table.to_owned();
    let folder = Folder::new(&[
        ("mine.toml", &brief("high", &spare())),
        ("bad.toml", "[drivers.low]\nmodeled = 1\n"),
        (
            "empty.toml",
            &brief("high", "[drivers.high-b]\ninstead_of = \"high\"\n"),
        ),
        ("table.toml", &brief("high", &table)),
    ]);
    let cases: [(&[&str], &str); 18] = [
        (
            &["@empty.toml", "--swap", "high=high-b"],
            "neither measured nor modelled",
        ),
        (
            &["@table.toml", "--swap", "high=high-b"],
            "there is no such file",
        ),
        (&["@mine.toml"], "only one file"),
        (&["@mine.toml", "@gone.toml"], "there is no such file"),
        (&["@mine.toml", "@bad.toml"], "modeled"),
        (
            &["@mine.toml", "--swap", "hihg=high-b"],
            "did you mean 'high'?",
        ),
        (
            &["@mine.toml", "--swap", "high=high-c"],
            "there is no driver 'high-c'",
        ),
        (&["@mine.toml", "--swap", "high"], "--swap high=high-b"),
        (&["@mine.toml", "--swap", "high=,"], "empty name"),
        (
            &["@mine.toml", "--without", "mid"],
            "the ways are low, high",
        ),
        (
            &["@mine.toml", "--without", "high"],
            "only the way 'low' would be left",
        ),
        (
            &["@mine.toml", "--ways", "low"],
            "only the way 'low' would be left",
        ),
        (
            &["@mine.toml", "--vary", "aim.form=1 Hz,2 Hz"],
            "did you mean 'from'?",
        ),
        (&["@mine.toml", "--vary", "aim.from"], "gives no values"),
        (
            &["@mine.toml", "--vary", "aim.from=80 Hz"],
            "nothing to compare",
        ),
        (
            &["@mine.toml", "--vary", "aim.from=80 Hz,2 kHz"],
            "outside the aim's band",
        ),
        (
            &["@mine.toml", "@mine.toml", "--swap", "high=high-b"],
            "change one file",
        ),
        (
            &["@mine.toml", "--swap", "high=high-b", "-o", "@mine.toml"],
            "one of the files",
        ),
    ];
    for (args, says) in cases {
        let told = folder.compare(args);
        assert_eq!(told.status, 2, "{args:?}: {}", told.out);
        assert!(told.err.contains(says), "{args:?}: {}", told.err);
        assert!(told.err.contains("help:"), "{args:?}: {}", told.err);
        assert!(told.out.is_empty());
    }
    let many: Vec<String> = (0..7).map(|_| folder.at("mine.toml")).collect();
    let mut line = vec!["compare"];
    line.extend(many.iter().map(String::as_str));
    let told = handover(&line);
    assert!(
        told.status == 2 && told.err.contains("7 files"),
        "{}",
        told.err
    );
    let none = handover(&["compare"]);
    assert_eq!(none.status, 2);
}
