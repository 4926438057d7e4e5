//! Writing parts back: exact values, and the builder's text around them.

use super::super::*;
use super::{PROJECT, as_json, good, read, set_r1};
use crate::network::Network;

fn network() -> Network {
    good(PROJECT).network.expect("a network")
}

fn written(text: &str, form: Form, network: &Network) -> String {
    match write_parts(text, form, network) {
        Ok(text) => text,
        Err(error) => panic!("{error}"),
    }
}

#[test]
fn toml_keeps_everything_but_the_values() {
    let mut network = network();
    let exact = 0.1 + 0.2;
    set_r1(&mut network, exact);
    let text = written(PROJECT, Form::Toml, &network);
    assert!(text.contains("R1 = { resistor = \"0.30000000000000004 ohm\", between = [\"m1\", \"m2\"], tolerance = \"1 %\", power = \"20 W\" }"), "{text}");
    let head = PROJECT.find("[parts]").expect("parts");
    assert_eq!(text[..head], PROJECT[..head]);
    assert!(
        text.contains("[parts]\n# the series capacitor\nC1 = {"),
        "{text}"
    );
    assert!(text.contains(" } # film\nL1 = {"), "{text}");
    assert_eq!(good(&text).network, Some(network));
}

/// What follows `[parts]`, comments above it and odd layout elsewhere stay as they are.
#[test]
fn toml_keeps_layout_around_the_parts() {
    let (head, parts) = PROJECT.split_at(PROJECT.find("[parts]").expect("parts"));
    let (before, stock) = head.split_at(head.find("[stock]").expect("stock"));
    let stock = stock
        .trim_end()
        .replace("tolerance = \"5 %\"", "tolerance   =  0.05");
    let text = format!(
        "# top\n{before}\n# my network\n{parts}\n# what I can buy\n{stock} # end\n\n# last\n"
    );
    let network = network();
    let again = written(&text, Form::Toml, &network);
    for kept in [
        format!("# top\n{before}\n# my network\n[parts]\n# the series capacitor\nC1 = {{"),
        format!(" }}\n\n# what I can buy\n{stock} # end\n\n# last\n"),
    ] {
        assert!(again.contains(&kept), "{kept}\n---\n{again}");
    }
    assert_eq!(written(&again, Form::Toml, &network), again);
    assert_eq!(good(&again).network, Some(network));
}

#[test]
fn a_brief_gets_its_parts_at_the_end() {
    let brief = PROJECT[..PROJECT.find("[parts]").expect("parts")].trim_end();
    let network = network();
    for text in [format!("{brief}\n"), format!("{brief}\n# end, no line end")] {
        let design = written(&text, Form::Toml, &network);
        assert!(design.starts_with(brief), "{design}");
        assert!(
            design.contains("\n[parts]\nC1 = { capacitor = \"24 uF\""),
            "{design}"
        );
        assert_eq!(text.matches('#').count(), design.matches('#').count());
        assert_eq!(good(&design).network.as_ref(), Some(&network));
    }
    let json = as_json(brief);
    let design = written(&json, Form::Json, &network);
    assert!(design.starts_with(json.trim_end_matches("\n}")), "{design}");
    let loaded = read("p.json", &design).expect("a good project");
    assert_eq!(loaded.project.network, Some(network));
}

/// Other ways to write the same table of parts.
#[test]
fn parts_in_other_shapes() {
    let brief = PROJECT[..PROJECT.find("[parts]").expect("parts")].trim_end();
    let lines: Vec<&str> = PROJECT
        .lines()
        .skip_while(|line| *line != "[parts]")
        .filter(|line| line.contains(" = {"))
        .collect();
    let mut dotted = String::new();
    let mut tables = String::new();
    for line in lines {
        dotted.push_str(&format!("parts.{line}\n"));
        let (name, value) = line.split_once(" = ").expect("a part");
        let item: toml_edit::DocumentMut = format!("{name} = {value}").parse().expect("TOML");
        tables.push_str(&format!("# about {name}\n[parts.{name}]\n"));
        for (key, value) in item[name].as_inline_table().expect("a table").iter() {
            tables.push_str(&format!("{key} = {}\n", value.to_string().trim()));
        }
    }
    let network = network();
    for text in [
        format!("# first\n{dotted}\n{brief}\n"),
        format!("{brief}\n\n{tables}"),
    ] {
        assert_eq!(good(&text).network.as_ref(), Some(&network), "{text}");
        let again = written(&text, Form::Toml, &network);
        assert_eq!(good(&again).network.as_ref(), Some(&network), "{again}");
        for comment in ["# first", "# about C1", "# about HIGH"] {
            assert_eq!(again.contains(comment), text.contains(comment), "{again}");
        }
    }
}

#[test]
fn json_keeps_every_byte_around_the_parts() {
    let network = network();
    let json = as_json(PROJECT).replace("\"title\":", "\"title\"  :  ");
    let start = json.find("\"parts\": ").expect("parts") + "\"parts\": ".len();
    let again = written(&json, Form::Json, &network);
    assert_eq!(again[..start], json[..start]);
    assert!(again.ends_with("\n  }\n}"), "{again}");
    assert_eq!(
        read("p.json", &again)
            .expect("a good project")
            .project
            .network
            .as_ref(),
        Some(&network)
    );
    assert_eq!(written(&again, Form::Json, &network), again);
    let alone = written("{ }", Form::Json, &network);
    assert!(
        alone.starts_with("{\n  \"parts\": {\n    \"C1\": { \"capacitor\": \"24 uF\""),
        "{alone}"
    );
}

#[test]
fn what_cannot_be_written_is_refused() {
    let mut broken = network();
    broken.parts_mut()["R1"].tolerance = Some(crate::quantity::Fraction(f64::NAN));
    let not_finite = Err(WriteError::NotFinite("R1".into()));
    assert_eq!(write_parts(PROJECT, Form::Toml, &broken), not_finite);
    for (text, form) in [("a = ", Form::Toml), ("{", Form::Json), ("[1]", Form::Json)] {
        assert!(matches!(
            write_parts(text, form, &network()),
            Err(WriteError::Form(_))
        ));
    }
}

/// Carriage returns and a byte order mark do not come in between.
#[test]
fn files_of_other_systems() {
    let network = network();
    let text = format!("\u{feff}{}", PROJECT.replace('\n', "\r\n"));
    let loaded = read("p.toml", &text).expect("a good project");
    assert_eq!(loaded.project.network.as_ref(), Some(&network));
    let again = written(&loaded.text, Form::Toml, &network);
    assert_eq!(good(&again).network.as_ref(), Some(&network));
}

/// A value that was not moved stays as the builder typed it, in whatever form; one that was moved does not.
#[test]
fn what_has_not_changed_stays_as_typed() {
    let typed = [
        "R1 = { resistor = \"4R7\", between = [\"in\", \"a\"], power = 20 }",
        "C1 = { capacitor = \"1500 µF\", between = [\"a\", \"gnd\"], esr = \"0.020 Ω\", tolerance = 0.05 }",
        "L1 = { inductor = 1.5e-3, between = [\"in\", \"b\"], dcr = \"310 mohm\" }",
        "D = { driver = \"d\", between = [\"b\", \"gnd\"] }",
    ];
    let driver = "[drivers.d]\nmodelled = { re = \"6 ohm\", level = \"100 dB\", horn = { cutoff = \"350 Hz\" } }\n";
    let text = format!("{driver}[parts]\n{}\n", typed.join("\n"));
    let mut network = good(&text).network.unwrap();
    assert_eq!(write_parts(&text, Form::Toml, &network).unwrap(), text);
    set_r1(&mut network, 5.1);
    let written = write_parts(&text, Form::Toml, &network).unwrap();
    assert!(
        written.contains("resistor = \"5.1 ohm\", between = [\"in\", \"a\"], power = 20 }"),
        "{written}"
    );
    assert!(
        written.contains(typed[1]) && written.contains(typed[2]),
        "{written}"
    );
}
