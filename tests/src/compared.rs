//! Small invented loudspeakers to compare: two ways from data sheets, and a driver to try in the place of one.

/// The brief of a two-way; `extra` are drivers to try, `upper` is the driver of the upper way.
#[must_use]
pub fn brief(upper: &str, extra: &str) -> String {
    let drivers = [LOW, &driver(upper), extra].concat();
    format!(
        "title = \"Invented two-way\"\n{AMPLIFIER}{drivers}[[crossovers]]\nbetween = [\"low\", \"{upper}\"]\n\
         frequency = \"1.1 kHz\"\nalignment = \"LR4\"\n{STOCK}"
    )
}

/// A driver to try in the place of `high`.
#[must_use]
pub fn spare() -> String {
    driver("high-b").replace(
        "[drivers.high-b]\n",
        "[drivers.high-b]\ninstead_of = \"high\"\n",
    )
}

fn driver(name: &str) -> String {
    let (level, resonance) = match name {
        "high-b" => ("104 dB", "380 Hz"),
        _ => ("107 dB", "520 Hz"),
    };
    format!(
        "[drivers.{name}]\nusable = {{ from = \"800 Hz\", to = \"16 kHz\" }}\nresonance = \"{resonance}\"\npower = \"40 W\"\n\
         modelled = {{ re = \"6.4 ohm\", l1 = \"0.05 mH\", level = \"{level}\", mass_corner = \"5 kHz\", \
         resonances = [{{ r = \"9 ohm\", f = \"{resonance}\", q = 2.5 }}], horn = {{ cutoff = \"420 Hz\", order = 3, q = 0.8 }} }}\n"
    )
}

const AMPLIFIER: &str = "[amplifier]\noutput_impedance = \"1 ohm\"\nrated_power = \"20 W\"\nrated_load = \"8 ohm\"\n\
    [aim]\nfrom = \"80 Hz\"\nto = \"14 kHz\"\nminimum_load = \"5 ohm\"\n";

const LOW: &str = "[drivers.low]\nusable = { from = \"40 Hz\", to = \"2 kHz\" }\npower = \"100 W\"\nmodelled = { re = \"6 ohm\", fs = \"33 Hz\", qms = 5, \
    qes = 0.3, vas = \"200 L\", sd = \"850 cm2\", l1 = \"0.6 mH\", box = { volume = \"120 L\", tuning = \"38 Hz\" } }\n";

const STOCK: &str = "[stock]\ncapacitors = { series = \"E12\", from = \"0.1 uF\", to = \"220 uF\", tolerance = \"5 %\" }\n\
    inductors = { series = \"E12\", from = \"50 uH\", to = \"12 mH\", tolerance = \"3 %\", wire = \"1.25 mm\" }\n\
    resistors = { series = \"E24\", from = \"0.47 ohm\", to = \"100 ohm\", tolerance = \"5 %\", power = \"20 W\" }\n";
