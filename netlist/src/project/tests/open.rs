//! What the builder leaves open, and several drivers in one way.

use super::super::*;
use super::mistakes::wrong;
use super::{PROJECT, as_json, good, read, set_r1};
use crate::quantity::Watts;

const FIXED: &str = "frequency = \"650 Hz\"";
const UPPER: &str = "frequency = \"6.5 kHz\"";
const BACK: &str = "back = \"0.09 m\"";
const POWER: &str = "power = \"50 W\"";

/// The project with its two crossovers at these frequencies.
fn crossed(lower: &str, upper: &str) -> Vec<Crossover> {
    let text = PROJECT.replacen(FIXED, &format!("frequency = {lower}"), 1);
    let text = text.replacen(UPPER, &format!("frequency = {upper}"), 1);
    good(&text).crossovers
}

fn frequencies(lower: &str, upper: &str) -> [f64; 2] {
    let found = crossed(lower, upper);
    [found[0].frequency.0, found[1].frequency.0]
}

fn near(found: f64, expected: f64) {
    assert!((found / expected - 1.0).abs() < 1e-12, "{found} {expected}");
}

#[test]
fn a_frequency_may_be_fixed_within_a_range_or_open() {
    let fixed = crossed("650", "\"6.5 kHz\"");
    assert_eq!((fixed[0].frequency, fixed[0].open), (Hertz(650.0), None));
    let open = crossed("{ from = \"400 Hz\", to = \"900 Hz\" }", "\" auto \"");
    let range = OpenFrequency::Range([Hertz(400.0), Hertz(900.0)]);
    // √(400·900) = 600.
    near(open[0].frequency.0, 600.0);
    assert_eq!(open[0].open, Some(range));
    assert_eq!(open[1].open, Some(OpenFrequency::Auto));
}

/// What both drivers can do: mid is measured from 20 Hz to 5 kHz and usable from 450 Hz to 16 kHz, high
/// has its horn's cut-off at 2 kHz.
#[test]
fn an_open_frequency_begins_in_the_middle_of_what_both_drivers_can_do() {
    let [_, upper] = frequencies("650", "\"auto\"");
    near(upper, (1.3 * 2e3f64 * 5e3).sqrt());
    // A stated resonance is nearer to the mark than the horn; a usable band can be narrower than the table.
    let auto = PROJECT.replacen(UPPER, "frequency = \"auto\"", 1);
    let stated = auto.replacen(
        "[drivers.high]",
        "[drivers.high]\nresonance = \"2.5 kHz\"",
        1,
    );
    near(
        good(&stated).crossovers[1].frequency.0,
        (1.3 * 2.5e3f64 * 5e3).sqrt(),
    );
    let narrow = auto.replacen("to = \"16 kHz\"", "to = \"4 kHz\"", 1);
    near(
        good(&narrow).crossovers[1].frequency.0,
        (2.6e3f64 * 4e3).sqrt(),
    );
    // Of the cone driver nothing says how high it goes: the next crossover ends the band, or else the aim.
    let [lower, _] = frequencies("\"auto\"", "\"4 kHz\"");
    near(lower, (450.0f64 * 4e3).sqrt());
    let two = "[drivers.a]\nmodelled = { re = 5, fs = 30, qms = 5, qes = 0.4, vas = \"100 L\", sd = \"500 cm2\" }\n\
               [drivers.b]\nmodelled = { re = 5, fs = 400, qms = 5, qes = 0.4, vas = \"1 L\", sd = \"50 cm2\" }\n\
               [[crossovers]]\nbetween = [\"a\", \"b\"]\nfrequency = \"auto\"\n";
    near(
        good(two).crossovers[0].frequency.0,
        (1.3 * 400.0 * 17e3f64).sqrt(),
    );
}

/// Whatever the drivers can do, crossovers stay in order.
#[test]
fn an_open_frequency_stays_between_its_neighbours() {
    for (lower, upper) in [
        ("\"auto\"", "\"auto\""),
        ("\"auto\"", "\"300 Hz\""),
        ("\"9 kHz\"", "\"auto\""),
        ("{ from = \"5 kHz\", to = \"8 kHz\" }", "\"auto\""),
    ] {
        let [low, high] = frequencies(lower, upper);
        assert!(20.0 < low && low < high && high < 20e3, "{low} {high}");
    }
    // One between two fixed ones that leave it little room.
    let more = "[drivers.top]\nmodelled = { re = 6, level = \"100 dB\", horn = { cutoff = \"9 kHz\" } }\n\n[[crossovers]]";
    let last = "[[crossovers]]\nbetween = [\"high\", \"top\"]\nfrequency = \"700 Hz\"\n\n[stock]";
    let text = PROJECT.replacen(UPPER, "frequency = \"auto\"", 1);
    let text = text.replacen("[[crossovers]]", more, 1);
    let found = good(&text.replacen("[stock]", last, 1)).crossovers;
    near(found[1].frequency.0, (650.0f64 * 700.0).sqrt());
}

#[test]
fn frequencies_that_cannot_be() {
    let frequency = |with: &str, at: &str, words: &[&str]| {
        wrong(FIXED, &format!("frequency = {with}"), at, words);
    };
    frequency(
        "{ from = \"900 Hz\", to = \"450 Hz\" }",
        "\"450 Hz\" }",
        &["frequency runs from 900 Hz down to 450 Hz", "swap them"],
    );
    frequency(
        "{ from = \"650 Hz\", to = 650 }",
        "650 }",
        &[
            "begins and ends at 650 Hz",
            "write frequency = \"650 Hz\" for one value",
        ],
    );
    frequency(
        "{ from = \"0 Hz\", to = \"900 Hz\" }",
        "\"0 Hz\"",
        &["from must be above 0"],
    );
    frequency(
        "{ from = \"450 Hz\", to = \"-900 Hz\" }",
        "\"-900 Hz\"",
        &["to must be above 0"],
    );
    frequency(
        "{ from = \"450 Hz\" }",
        "{ from = \"450 Hz\" }\nalign",
        &["frequency lacks 'to'", "add to = "],
    );
    frequency(
        "{ from = \"450 Hz\", till = \"900 Hz\", to = \"900 Hz\" }",
        "till",
        &["frequency has no field 'till'", "takes from, to"],
    );
    let forms = "write frequency = \"650 Hz\", { from = \"450 Hz\", to = \"900 Hz\" }, or \"auto\"";
    frequency("\"open\"", "\"open\"", &["'open'", forms]);
    frequency("true", "true", &["frequency is true or false", forms]);
    frequency("[450, 900]", "[450, 900]", &["frequency is a list", forms]);
    frequency("0", "0\nalign", &["frequency must be above 0"]);
}

/// Two ranges may overlap, but the middles tell which is the lower; what is open between two others does
/// not hide that they are in the wrong order.
#[test]
fn open_crossovers_are_in_order_too() {
    let overlapping = "{ from = \"400 Hz\", to = \"2 kHz\" }";
    let found = frequencies(overlapping, "{ from = \"1 kHz\", to = \"8 kHz\" }");
    assert!(found[0] < found[1]);
    wrong(
        FIXED,
        "frequency = { from = \"6 kHz\", to = \"9 kHz\" }",
        "[[crossovers]]\nbetween = [\"mid\"",
        &[
            "this crossover at 6.5 kHz is not above the one before it, with the middle of its range at 7.35 kHz",
            "the middles of their ranges rise",
        ],
    );
    let last = "[drivers.top]\nmodelled = { re = 6, level = \"100 dB\", horn = { cutoff = \"9 kHz\" } }\n\n\
                [[crossovers]]\nbetween = [\"high\", \"top\"]\nfrequency = \"600 Hz\"\n\n[stock]";
    let text = PROJECT.replacen(UPPER, "frequency = \"auto\"", 1);
    let Err(found) = read("p.toml", &text.replacen("[stock]", last, 1)) else {
        panic!("650 Hz, open, 600 Hz are in no order");
    };
    assert_eq!(found.list().len(), 1, "{found}");
    let message = "this crossover at 600 Hz is not above the one before it, at 650 Hz";
    assert_eq!(found.list()[0].message, message);
}

#[test]
fn a_driver_may_be_set_back_within_a_range() {
    let back = |with: &str| {
        let project = good(&PROJECT.replacen(BACK, with, 1));
        let position = project.drivers["mid"].position;
        (position.back.0, position.back_to.map(|to| to.0))
    };
    assert_eq!(back(BACK), (0.09, None));
    assert_eq!(
        back("back = { from = \"0 mm\", to = \"80 mm\" }"),
        (0.0, Some(0.08))
    );
    // Before the plane of the origin.
    assert_eq!(
        back("back = { from = -0.02, to = 0.01 }"),
        (-0.02, Some(0.01))
    );
    let wrong = |with: &str, at: &str, words: &[&str]| {
        wrong(BACK, with, at, words);
    };
    wrong(
        "back = { from = \"80 mm\", to = \"0 mm\" }",
        "\"0 mm\"",
        &["back runs from 80 mm down to 0 m", "swap them"],
    );
    wrong(
        "back = { from = \"80 mm\", to = \"8 cm\" }",
        "\"8 cm\"",
        &["back begins and ends at 80 mm", "for one value"],
    );
    wrong(
        "back = { to = \"80 mm\" }",
        "{ to = \"80 mm\"",
        &["back lacks 'from'"],
    );
    wrong(
        "back = { from = 0, to = 80 }",
        "80 } }",
        &["to without a unit would be 80 m"],
    );
    wrong(
        "back = true",
        "true",
        &["back is true or false, but a length is needed"],
    );
}

#[test]
fn several_drivers_may_play_one_way() {
    let mid = |with: &str| {
        let text = PROJECT.replacen(POWER, &format!("{POWER}\n{with}"), 1);
        let mid = good(&text).drivers["mid"].clone();
        (mid.count, mid.wired, mid.rated_power())
    };
    assert_eq!(mid(""), (1, Wired::Parallel, Some(Watts(50.0))));
    assert_eq!(mid("count = 1"), mid(""));
    assert_eq!(mid("count = 2"), (2, Wired::Parallel, Some(Watts(100.0))));
    assert_eq!(
        mid("count = 12\nwired = \"series\""),
        (12, Wired::Series, Some(Watts(600.0)))
    );
    assert_eq!(mid("count = 3\nwired = \"Parallel\"").1, Wired::Parallel);
    let wrong = |with: &str, at: &str, words: &[&str]| {
        wrong(POWER, &format!("{POWER}\n{with}"), at, words);
    };
    let limits = &["count must be a whole number from 1 to 12"];
    for count in ["0", "1000", "2.5", "-2", "13"] {
        wrong(
            &format!("count = {count}"),
            &format!("{count}\nposition"),
            limits,
        );
    }
    wrong(
        "count = \"two\"",
        "\"two\"",
        &["count is text, but a number is needed"],
    );
    let alone = &[
        "driver 'mid' says how it is wired to others, but it is alone",
        "count = 2",
    ];
    wrong("wired = \"series\"", "\"series\"", alone);
    wrong("count = 1\nwired = \"parallel\"", "\"parallel\"", alone);
    wrong(
        "count = 2\nwired = \"serie\"",
        "\"serie\"",
        &["drivers are not wired 'serie'", "did you mean \"series\"?"],
    );
    wrong(
        "count = 2\nwired = \"bridge\"",
        "\"bridge\"",
        &["not wired 'bridge'", "\"parallel\" or \"series\""],
    );
    wrong(
        "count = 2\nwired = 2",
        "2\nposition",
        &["wired is a number", "\"parallel\" or \"series\""],
    );
    // One mistake is told once.
    wrong("count = 0\nwired = \"series\"", "0\nwired", limits);
}

/// Both forms hold these fields, and what is written back leaves them byte for byte as they stand.
#[test]
fn what_is_open_stays_as_it_stands() {
    let text = PROJECT.replacen(
        FIXED,
        "frequency = { from = \"450 Hz\", to = 900 } # or so",
        1,
    );
    let text = text.replacen(UPPER, "frequency = \"auto\"", 1);
    let text = text.replacen(BACK, "back = { from = \"0 mm\", to = \"80 mm\" }", 1);
    let text = text.replacen(POWER, "power = \"50 W\"\ncount = 2\nwired = \"series\"", 1);
    let project = good(&text);
    let json = as_json(&text);
    let Ok(from_json) = read("p.json", &json) else {
        panic!("the same in JSON");
    };
    assert_eq!(format!("{:?}", from_json.project), format!("{project:?}"));
    let mut network = project.network.expect("a network");
    set_r1(&mut network, 11.0);
    for (text, form, begins) in [
        (&text, Form::Toml, "[parts]"),
        (&json, Form::Json, "\"parts\""),
    ] {
        let written = write_parts(text, form, &network).expect("a good network");
        let head = text.find(begins).expect("parts");
        assert_eq!(written[..head], text[..head]);
        assert_ne!(&written, text);
    }
}
