//! Random loudspeakers with networks from closed forms, so that nothing depends on the search.

use std::f64::consts::{FRAC_1_SQRT_2, SQRT_2};
use std::path::Path;

use netlist::project::{Project, load_from};

use crate::planted::Dice;

/// A loudspeaker of two to four ways with ladders from closed forms: Butterworth low and high passes on
/// the drivers' nominal resistance, L-pads, impedance correction; values of E12. All of it invented.
///
/// # Panics
/// Never, unless its own text is broken.
#[must_use]
pub fn random_loudspeaker(seed: u64) -> Project {
    let text = random_text(seed);
    let read = |_: &Path| -> std::io::Result<Vec<u8>> { Ok(text.clone().into_bytes()) };
    match load_from(&read, Path::new("random.toml")) {
        Ok(loaded) => loaded.project,
        Err(problems) => panic!("{problems}\n{text}"),
    }
}

/// A two-way with an autoformer in place of a pad, and two coils that see each other; all of it invented.
///
/// # Panics
/// Never, unless its own text is broken.
#[must_use]
pub fn wound_loudspeaker() -> Project {
    let read = |_: &Path| -> std::io::Result<Vec<u8>> { Ok(WOUND.as_bytes().to_vec()) };
    match load_from(&read, Path::new("wound.toml")) {
        Ok(loaded) => loaded.project,
        Err(problems) => panic!("{problems}"),
    }
}

const WOUND: &str = r#"title = "Invented, with windings"
[aim]
from = "60 Hz"
to = "17 kHz"
[drivers.low]
modelled = { re = 5.8, fs = 34, qms = 5, qes = 0.35, vas = "190 L", sd = "855 cm2", l1 = "0.3 mH", l2 = "0.6 mH", r2 = "8 ohm", box = { volume = "130 L", tuning = "36 Hz", ql = 7 } }
[drivers.high]
modelled = { re = 6.2, l1 = "0.05 mH", l2 = "0.07 mH", r2 = "4 ohm", level = "107 dB", horn = { cutoff = "500 Hz" }, resonances = [{ r = 10, f = 620, q = 2.6 }, { r = 4, f = 1000, q = 4 }] }
[[crossovers]]
between = ["low", "high"]
frequency = "1200 Hz"
alignment = "LR4"
[parts]
L1 = { inductor = "1.8 mH", between = ["in", "l1"], dcr = "0.4 ohm" }
C1 = { capacitor = "27 uF", between = ["l1", "gnd"], esr = "20 mohm" }
L2 = { inductor = "0.82 mH", between = ["l1", "l2"], dcr = "0.25 ohm" }
LOW = { driver = "low", between = ["l2", "gnd"] }
C2 = { capacitor = "6.8 uF", between = ["in", "h1"], esr = "20 mohm" }
L3 = { inductor = "1.2 mH", between = ["h1", "gnd"], dcr = "0.35 ohm" }
C3 = { capacitor = "18 uF", between = ["h1", "h2"], esr = "20 mohm" }
T1 = { autoformer = "35 mH", between = ["h2", "gnd"], taps = { h3 = 0.35 }, coupling = 0.999, dcr = "0.5 ohm" }
R1 = { resistor = "10 ohm", between = ["h3", "gnd"] }
HIGH = { driver = "high", between = ["h3", "gnd"] }
K1 = { coupling = ["L1", "L2"], factor = 0.06 }
"#;

/// The nearest value of E12.
fn e12(value: f64) -> f64 {
    let series = netlist::series::Series::E12;
    series
        .nearest_step(value)
        .map_or(value, |step| series.value(step))
}

/// Elements of a Butterworth ladder at a resistance of 1 ohm driven by a voltage, the source first
/// (handbook tables, such as Zverev 1967).
const BUTTERWORTH: [&[f64]; 4] = [
    &[1.0],
    &[SQRT_2, FRAC_1_SQRT_2],
    &[1.5, 1.3333, 0.5],
    &[1.5307, 1.5772, 1.0824, 0.3827],
];

fn random_text(seed: u64) -> String {
    let mut dice = Dice::new(seed);
    let ways = 2 + dice.below(3);
    let mut text = String::from(
        "title = \"Invented\"\n[amplifier]\nrated_power = \"20 W\"\nrated_load = \"8 ohm\"\n[aim]\nfrom = \"60 Hz\"\nto = \"17 kHz\"\n",
    );
    let crossings: Vec<f64> = match ways {
        2 => vec![dice.between(600.0, 1800.0)],
        3 => vec![dice.between(350.0, 800.0), dice.between(3000.0, 6500.0)],
        _ => vec![
            dice.between(120.0, 250.0),
            dice.between(600.0, 1100.0),
            dice.between(3500.0, 7000.0),
        ],
    };
    let mut parts = String::new();
    let mut numbers = [0usize; 3];
    for way in 0..ways {
        let name = ["low", "mid", "high", "top"][way];
        let re = dice.between(5.0, 7.5);
        let lower = (way > 0).then(|| crossings[way - 1]);
        let upper = crossings.get(way).copied();
        text += &driver_text(name, way, re, lower.unwrap_or(33.0), &mut dice);
        parts += &way_text(name, way, re * 1.1, (lower, upper), &mut numbers, &mut dice);
    }
    text += "[stock]\ncapacitors = { series = \"E12\", tolerance = \"5 %\" }\ninductors = { series = \"E12\", tolerance = \"3 %\" }\nresistors = { series = \"E12\", tolerance = \"5 %\" }\n";
    for (way, f_hz) in crossings.iter().enumerate() {
        let between = ["low", "mid", "high", "top"];
        text += &format!(
            "[[crossovers]]\nbetween = [\"{}\", \"{}\"]\nfrequency = \"{f_hz:.0} Hz\"\nalignment = \"LR4\"\n",
            between[way],
            between[way + 1]
        );
    }
    text + "[parts]\n" + &parts
}

fn driver_text(name: &str, way: usize, re: f64, lower_hz: f64, dice: &mut Dice) -> String {
    if way == 0 {
        return format!(
            "[drivers.{name}]\nmodelled = {{ re = {re:.3}, fs = {:.2}, qms = {:.2}, qes = {:.3}, vas = \"200 L\", sd = \"855 cm2\", l1 = \"0.3 mH\", l2 = \"0.7 mH\", r2 = \"9 ohm\", box = {{ volume = \"{:.0} L\", tuning = \"{:.1} Hz\", ql = 7 }} }}\n",
            dice.between(25.0, 40.0),
            dice.between(4.0, 7.0),
            dice.between(0.25, 0.4),
            dice.between(90.0, 180.0),
            dice.between(28.0, 40.0),
        );
    }
    let f1 = lower_hz * dice.between(0.45, 0.75);
    let (f2, f3) = (f1 * dice.between(1.4, 1.7), f1 * dice.between(2.1, 2.8));
    format!(
        "[drivers.{name}]\nmodelled = {{ re = {re:.3}, l1 = \"{:.3} mH\", l2 = \"{:.3} mH\", r2 = \"4 ohm\", level = \"{:.1} dB\", horn = {{ cutoff = \"{:.1} Hz\" }}, resonances = [{{ r = {:.2}, f = {f1:.1}, q = {:.2} }}, {{ r = {:.2}, f = {f2:.1}, q = 4 }}, {{ r = {:.2}, f = {f3:.1}, q = 5 }}] }}\n",
        40.0 / lower_hz,
        60.0 / lower_hz,
        dice.between(103.0, 109.0),
        f1 * 0.9,
        dice.between(6.0, 14.0),
        dice.between(2.0, 3.5),
        dice.between(2.0, 6.0),
        dice.between(0.8, 3.0),
    )
}

/// One way's lines of `[parts]`, from the amplifier on.
struct WayText<'a> {
    way: usize,
    ohm: f64,
    text: String,
    node: String,
    nodes: usize,
    /// Coils, capacitors and resistors of all ways so far.
    numbers: &'a mut [usize; 3],
}

const COIL: usize = 0;
const CAPACITOR: usize = 1;
const RESISTOR: usize = 2;

impl WayText<'_> {
    fn fresh(&mut self) -> String {
        self.nodes += 1;
        format!("{}{}", ["l", "m", "h", "t"][self.way], self.nodes)
    }

    fn part(&mut self, kind: usize, value: f64, [from, to]: [&str; 2]) {
        self.numbers[kind] += 1;
        let name = format!("{}{}", ["L", "C", "R"][kind], self.numbers[kind]);
        let word = ["inductor", "capacitor", "resistor"][kind];
        let loss = match kind {
            COIL => format!(", dcr = {:.3}", 0.35 * (value / 1e-3).powf(0.6)),
            CAPACITOR => ", esr = 0.02".to_owned(),
            _ => String::new(),
        };
        self.text +=
            &format!("{name} = {{ {word} = {value}, between = [\"{from}\", \"{to}\"]{loss} }}\n");
    }

    fn ladder(&mut self, f_hz: f64, order: usize, high: bool) {
        let (omega, ohm) = (std::f64::consts::TAU * f_hz, self.ohm);
        for (k, g) in BUTTERWORTH[order - 1].iter().enumerate() {
            let series = k % 2 == 0;
            let from = self.node.clone();
            let to = if series {
                self.fresh()
            } else {
                "gnd".to_owned()
            };
            let (kind, value) = match (series != high, high) {
                (true, true) => (COIL, ohm / (omega * g)),
                (true, false) => (COIL, g * ohm / omega),
                (false, true) => (CAPACITOR, 1.0 / (omega * g * ohm)),
                (false, false) => (CAPACITOR, g / (omega * ohm)),
            };
            self.part(kind, e12(value), [&from, &to]);
            if series {
                self.node = to;
            }
        }
    }

    fn pad(&mut self, attenuation_db: f64) {
        let k = 10f64.powf(-attenuation_db / 20.0);
        let (from, to) = (self.node.clone(), self.fresh());
        self.part(RESISTOR, e12(self.ohm * (1.0 - k)), [&from, &to]);
        self.part(RESISTOR, e12(self.ohm * k / (1.0 - k)), [&to, "gnd"]);
        self.node = to;
    }

    /// Impedance correction of the voice coil's inductance.
    fn correction(&mut self) {
        let (from, middle) = (self.node.clone(), self.fresh());
        self.part(RESISTOR, e12(self.ohm * 1.1), [&from, &middle]);
        let c = e12(0.7e-3 / (self.ohm * self.ohm));
        self.part(CAPACITOR, c, [&middle, "gnd"]);
    }
}

fn way_text(
    name: &str,
    way: usize,
    ohm: f64,
    (lower, upper): (Option<f64>, Option<f64>),
    numbers: &mut [usize; 3],
    dice: &mut Dice,
) -> String {
    let mut text = WayText {
        way,
        ohm,
        text: String::new(),
        node: "in".to_owned(),
        nodes: 0,
        numbers,
    };
    let attenuation_db = if way == 0 {
        0.0
    } else {
        dice.between(4.0, 12.0)
    };
    if let Some(f_hz) = lower {
        text.ladder(f_hz, 2 + dice.below(2), true);
    }
    if let Some(f_hz) = upper {
        text.ladder(f_hz, 2 + dice.below(3), false);
    }
    if attenuation_db > 0.0 {
        text.pad(attenuation_db);
    } else if dice.unit() < 0.6 {
        text.correction();
    }
    let (driver, node) = (name.to_uppercase(), &text.node);
    format!(
        "{}{driver} = {{ driver = \"{name}\", between = [\"{node}\", \"gnd\"] }}\n",
        text.text
    )
}
