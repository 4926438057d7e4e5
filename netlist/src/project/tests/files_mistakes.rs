//! Mistakes of form, of whole files, and of the files that a project names.

use std::path::Path;

use super::super::*;
use super::PROJECT;
use super::mistakes::problems;

#[test]
fn names_that_come_twice() {
    for (text, expected) in [
        (
            PROJECT
                .replace("L2 = {", "L1 = {")
                .replace("\"L1\", \"L2\"", "\"L1\", \"L3\""),
            "box/p.toml:52:1: 'L1' comes twice in the same table\n  help: the first 'L1' is on line 49",
        ),
        (
            PROJECT.replace("tilt =", "from ="),
            "box/p.toml:13:1: 'from' comes twice in the same table\n  help: the first 'from' is on line 10",
        ),
        (
            PROJECT.replace("[drivers.high]", "[drivers.mid]"),
            "'mid' comes twice in the same table\n  help: the first 'mid' is on line 22",
        ),
        (
            PROJECT.replace("vas =", "qes ="),
            "'qes' comes twice in the same table\n  help: the first 'qes' is on line 20",
        ),
    ] {
        let found = problems("p.toml", &text).to_string();
        assert!(found.contains(expected), "{expected}\n{found}");
    }
    let header = PROJECT.replace("[drivers.high]", "[drivers.mid]");
    assert_eq!(problems("p.toml", &header).list().len(), 1);
    let json = "{\n\"drivers\": {},\n\"drivers\": {}}";
    let found = problems("p.json", json).to_string();
    let expected = "box/p.json:3:1: 'drivers' comes twice in the same table\n  help: the first 'drivers' is on line 2";
    assert!(found.contains(expected), "{found}");
}

/// All mistakes come at once, in the order of the file, those of measured tables behind them.
#[test]
fn all_at_once_in_file_order() {
    let text = PROJECT
        .replace("rated_power = \"20 W\"", "rated_power = \"20 V\"")
        .replace("distance = \"3 m\"", "distance = \"3 s\"")
        .replace("\"mid-z.txt\"", "\"nowhere.txt\"")
        .replace("\"mid-r.txt\"", "\"stock.csv\"")
        .replace("m4 = 0.35", "m4 = \"x\"");
    let found = problems("p.toml", &text);
    let heads: Vec<String> = found
        .list()
        .iter()
        .map(|problem| {
            let place = problem.place.as_ref().expect("a place");
            format!("{}:{}", problem.file.replace("box/", ""), place.line)
        })
        .collect();
    assert_eq!(
        heads,
        [
            "p.toml:6",
            "p.toml:16",
            "p.toml:23",
            "p.toml:51",
            "stock.csv:1"
        ]
    );
    assert!(
        found
            .to_string()
            .contains("cannot read 'box/nowhere.txt': there is no such file")
    );
    for problem in found.list() {
        let source = found.source(&problem.file).expect("the text");
        let span = problem.place.clone().expect("a place").span;
        assert!(source.get(span).is_some());
    }
}

#[test]
fn broken_forms() {
    for (name, text, expected) in [
        (
            "p.toml",
            "garbage",
            "p.toml:1:8: this is not TOML: a name without a value",
        ),
        (
            "p.toml",
            "title = \n[aim]\n",
            "p.toml:1:9: this is not TOML: a value is missing after the '='",
        ),
        (
            "p.toml",
            "[aim\nfrom = 1\n",
            "p.toml:1:5: this is not TOML: the ']' that closes this header",
        ),
        (
            "p.toml",
            "a = [1, 2\n",
            "this is not TOML: the ']' that closes this list",
        ),
        (
            "p.toml",
            "a = { b = 1\n",
            "this is not TOML: the '}' that closes this table",
        ),
        (
            "p.toml",
            "a = \"x\nb = 2\n",
            "p.toml:1:7: this is not TOML: the closing quote",
        ),
        (
            "p.toml",
            "a = 24 uF\n",
            "p.toml:1:5: this is not TOML: this is neither a number nor text",
        ),
        (
            "p.toml",
            "a = { b = \"x\" c = 2 }\n",
            "p.toml:1:15: this is not TOML: a comma is missing",
        ),
        (
            "p.toml",
            "a = 1,5\n",
            "p.toml:1:5: this is not TOML: a comma in a number",
        ),
        (
            "p.toml",
            "a = 1 b = 2\n",
            "this is not TOML: this stands behind a value",
        ),
        (
            "p.toml",
            "a = 05\n",
            "p.toml:1:5: this is not TOML: a number does not begin with 0",
        ),
        (
            "p.json",
            "",
            "p.json:1:1: this is not JSON: the file ends where a value is expected",
        ),
        (
            "p.json",
            "garbage",
            "p.json:1:1: this is not JSON: 'garbage' is not a value",
        ),
        (
            "p.json",
            "{\n  'a': 1}",
            "p.json:2:3: this is not JSON: a field's name between double quotes",
        ),
        (
            "p.json",
            "{\"a\": 1,\n}",
            "p.json:2:1: this is not JSON: a field's name",
        ),
        (
            "p.json",
            "{\"a\": 1 \"b\": 2}",
            "p.json:1:9: this is not JSON: a ',' or '}' is expected",
        ),
        (
            "p.json",
            "{\"a\" 1}",
            "p.json:1:6: this is not JSON: a ':' is expected",
        ),
        (
            "p.json",
            "{\"a\": 01}",
            "p.json:1:7: this is not JSON: '01' is not a number",
        ),
        ("p.json", "{\"a\": 1.}", "'1.' is not a number"),
        ("p.json", "{\"a\": -}", "'-' is not a number"),
        (
            "p.json",
            "{\"a\": \"x\ny\"}",
            "p.json:1:9: this is not JSON: a line end",
        ),
        (
            "p.json",
            "{\"a\": \"x",
            "p.json:1:7: this is not JSON: the closing quote",
        ),
        (
            "p.json",
            "{\"a\": \"c:\\mid.txt\"}",
            "p.json:1:10: this is not JSON: a backslash",
        ),
        (
            "p.json",
            "{\"a\": \"\\ud800\"}",
            "p.json:1:8: this is not JSON: \\u needs",
        ),
        (
            "p.json",
            "{} {}",
            "p.json:1:4: this is not JSON: there is more text",
        ),
        (
            "p.json",
            "[1]",
            "p.json:1:1: a project file is a table, but this is a list",
        ),
    ] {
        let found = problems(name, text);
        assert!(found.to_string().contains(expected), "{text}\n{found}");
        let of_form =
            |problem: &&crate::problem::FileProblem| problem.message.starts_with("this is not");
        let count = found.list().iter().filter(of_form).count();
        assert_eq!(count, usize::from(text != "[1]"), "{found}");
    }
    let deep = problems("p.json", &"[".repeat(100_000));
    assert!(deep.to_string().contains("nested too deeply"));
    problems("p.toml", &format!("a = {}", "[".repeat(100_000)));
}

/// A mistake of form in one value hides no other mistake, and makes none.
#[test]
fn a_broken_value_hides_no_other_mistake() {
    for (from, to, line, says) in [
        (
            "rated_power = \"20 W\"",
            "rated_power = 20,5",
            6,
            "a comma in a number",
        ),
        (
            "rated_power = \"20 W\"",
            "rated_power = 20 W",
            6,
            "neither a number nor text",
        ),
        (
            "rated_power = \"20 W\"",
            "rated_power = \"20 W",
            6,
            "closing quote",
        ),
        (
            "rated_power = \"20 W\"",
            "rated_power = 20,5 # at 8 ohm",
            6,
            "a comma in a number",
        ),
        ("m4 = 0.35", "m4 = 0,35", 51, "a comma in a number"),
        (
            "coupling = 0.999",
            "coupling = 0,999",
            51,
            "a comma in a number",
        ),
    ] {
        assert!(PROJECT.contains(from), "{from}");
        let text = (PROJECT.replace(from, to))
            .replace("distance = \"3 m\"", "distance = \"3 s\"")
            .replace(
                "output_impedance = \"1.8 ohm\"",
                "output_impedance = \"1,8 ohm\"",
            );
        let found = problems("p.toml", &text);
        let lines: Vec<usize> = (found.list().iter())
            .map(|problem| problem.place.as_ref().expect("a place").line)
            .collect();
        let mut expected = vec![5, line, 16];
        expected.sort_unstable();
        assert_eq!(lines, expected, "{to}: {found}");
        assert!(found.to_string().contains(says), "{says}: {found}");
    }
    // Two on one line, and one that makes the whole line unreadable.
    let text = PROJECT.replace("m3 = 0.5, m4 = 0.35", "m3 = 0,5, m4 = 0,35");
    assert_eq!(problems("p.toml", &text).list().len(), 2);
    let json =
        "{\n\"titel\": \"x\",\n\"aim\": { \"tilt\": 0,5, \"from\": \"9 ohm\" },\n\"drivers\": {}}";
    let found = problems("p.json", json).to_string();
    for words in ["no field 'titel'", "p.json:3:", "'9 ohm' is a resistance"] {
        assert!(found.contains(words), "{words}: {found}");
    }
    assert!(!found.contains("tilt"), "{found}");
}

#[test]
fn files_that_cannot_be_read() {
    let missing = load(Path::new("no/such/place/p.toml"))
        .map(|_| ())
        .expect_err("is not there");
    assert_eq!(
        missing.to_string(),
        "no/such/place/p.toml: cannot read the project file: there is no such file\n  \
         help: check the name and the folder"
    );
    let latin =
        |_: &Path| -> std::io::Result<Vec<u8>> { Ok(b"# caf\xe9\ntitle = \"x\"\n".to_vec()) };
    let found = load_from(&latin, Path::new("p.toml"))
        .map(|_| ())
        .expect_err("is no UTF-8");
    assert!(
        found
            .to_string()
            .starts_with("p.toml:1:6: this is not UTF-8 text"),
        "{found}"
    );
}

/// The catalogue's mistakes name its own lines.
#[test]
fn catalogues() {
    let with = |catalogue: &str| {
        let text = PROJECT.to_owned();
        let catalogue = catalogue.to_owned();
        let files = move |path: &Path| -> std::io::Result<Vec<u8>> {
            if path.ends_with("stock.csv") {
                return Ok(catalogue.clone().into_bytes());
            }
            let text = if path.ends_with("p.toml") {
                text.as_str()
            } else {
                super::RESPONSE
            };
            Ok(text.as_bytes().to_vec())
        };
        load_from(&files, Path::new("p.toml"))
    };
    let items = |catalogue: &str| match with(catalogue) {
        Ok(loaded) => loaded.project.stock.catalogue,
        Err(problems) => panic!("{problems}"),
    };
    let semicolons = items(
        "Name;Kind;Value\r\n\"a;b\";capacitor;22 uF\r\n\r\n#x;y\r\n;coil;1,5 mH\r\n"
            .replace("1,5", "1.5")
            .as_str(),
    );
    assert_eq!(semicolons.len(), 2);
    assert_eq!(
        (semicolons[0].name.as_str(), semicolons[1].name.as_str()),
        ("a;b", "inductor 1.5 mH")
    );
    assert_eq!(items("\u{feff}kind\tvalue\nresistor\t8R2\n").len(), 1);
    for (catalogue, expected) in [
        ("", "stock.csv:1:1: the catalogue is empty"),
        (
            "kind,valeu\n",
            "stock.csv:1:6: a catalogue has no column 'valeu'\n  help: did you mean 'value'?",
        ),
        (
            "kind,price\n",
            "stock.csv:1:1: the catalogue lacks the column 'value'",
        ),
        (
            "kind,value,kind\n",
            "stock.csv:1:12: the column 'kind' comes twice",
        ),
        (
            "kind,value\n#\ncapacitor,2 mH\n",
            "stock.csv:3:11: '2 mH' is an inductance",
        ),
        (
            "kind,value\nchoke,2 mH\n",
            "stock.csv:2:1: 'choke' is not a kind of part",
        ),
        (
            "kind,value\n,2 mH\n",
            "stock.csv:2:1: this line has no kind",
        ),
        (
            "kind,value\ncoil\n",
            "stock.csv:2:1: this line has no value",
        ),
        (
            "kind,value\ncoil,0\n",
            "stock.csv:2:6: '0': the inductance must be above 0",
        ),
        (
            "kind,value\ncoil,1,5 mH\n",
            "stock.csv:2:1: this line has 3 fields, the first line names 2",
        ),
        (
            "kind,value\ncoil,1e300 H\n",
            "stock.csv:2:6: '1e300 H': the inductance is 1e300 H, out of all reason",
        ),
        // As in a project file, a number of henry or farad is a unit that was forgotten.
        (
            "kind,value\ncoil,2.2\n",
            "stock.csv:2:6: '2.2': the inductance without a unit would be 2.2 H\n  help: write it with its unit, like \"0.33 mH\"",
        ),
        (
            "kind,value\ncapacitor,22\n",
            "stock.csv:2:11: '22': the capacitance without a unit would be 22 F",
        ),
        (
            "kind,value,price\ncoil,1 mH,-3\n",
            "stock.csv:2:11: '-3' is not a price",
        ),
        (
            "kind,value,price\ncoil,1 mH,3 EUR\n",
            "stock.csv:2:11: '3 EUR' is not a price",
        ),
        (
            "kind;value;price\ncoil;1 mH;3,5\n",
            "stock.csv:2:11: '3,5' is not a price",
        ),
        (
            "kind,value,count\ncoil,1 mH,1.5\n",
            "stock.csv:2:11: '1.5' is not a count",
        ),
        (
            "kind,value,tolerance\ncoil,1 mH,5\n",
            "stock.csv:2:11: a tolerance of 500 %",
        ),
        (
            "kind,value,rating\ncoil,1 mH,5 V\n",
            "stock.csv:2:11: '5 V' is a voltage\n  help: a current",
        ),
        (
            "kind,value,dcr_or_esr\ncoil,1 mH,-1\n",
            "stock.csv:2:11: '-1': the resistance must not be negative",
        ),
    ] {
        let found = with(catalogue).map(|_| ()).expect_err(catalogue);
        assert_eq!(found.list().len(), 1, "{found}");
        assert!(
            found.to_string().starts_with(expected),
            "{expected}\n{found}"
        );
    }
    let many = format!("kind,value\n{}", "coil,x\n".repeat(50));
    assert_eq!(
        with(&many)
            .map(|_| ())
            .expect_err("50 mistakes")
            .list()
            .len(),
        9
    );
}
