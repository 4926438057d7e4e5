//! An invented two-way brief for the tests, any field of which can be replaced.

use std::io;
use std::path::Path;

use netlist::project::{Project, load_from};

use super::{Finding, brief_findings};
use crate::search::Job;

const TEMPLATE: &str = r#"
[amplifier]
output_impedance = "{output}"
{amplifier}
[aim]
from = "80 Hz"
to = "15 kHz"
{aim}
[drivers.low]
{low_key} = {low}
usable = { from = "{usable_low}" }
{power_low}
position = { back = "{back_low}" }
[drivers.high]
{high_key} = {high}
usable = { from = "{usable_high}" }
{stated}
{power_high}
position = { back = "{back_high}" }
[[crossovers]]
between = ["low", "high"]
frequency = "{crossover}"
alignment = {alignment}
{extra}
{parts}
"#;

const FIELDS: [(&str, &str); 24] = [
    (
        "low",
        r#"{ re = "{re_low}", fs = "30 Hz", qms = 6, qes = 0.4, vas = "200 L", sd = "850 cm2", l1 = "0.1 mH" }"#,
    ),
    (
        "high",
        r#"{ re = "{re_high}", level = "{level}", horn = { cutoff = "{cutoff}" }{peaks} }"#,
    ),
    (
        "peaks",
        r#", resonances = [{ r = "20 ohm", f = "{resonance}", q = 2.5 }]"#,
    ),
    ("low_key", "modelled"),
    ("high_key", "modelled"),
    ("re_low", "6.5 ohm"),
    ("re_high", "6.5 ohm"),
    ("level", "108 dB"),
    ("cutoff", "300 Hz"),
    ("resonance", "380 Hz"),
    ("output", "0 ohm"),
    (
        "amplifier",
        "rated_power = \"20 W\"\nrated_load = \"8 ohm\"",
    ),
    ("aim", ""),
    ("usable_low", "20 Hz, 3 kHz"),
    ("usable_high", "300 Hz, 18 kHz"),
    ("stated", ""),
    ("power_low", "power = \"200 W\""),
    ("power_high", "power = \"50 W\""),
    ("back_low", "0 m"),
    ("back_high", "0 m"),
    ("crossover", "800 Hz"),
    ("alignment", "\"LR4\""),
    ("extra", ""),
    ("parts", ""),
];

/// A network for the template: second order, the upper way behind an L-pad of about 10 dB.
pub(super) const PARTS: &str = r#"
[parts]
L1 = { inductor = "1.8 mH", between = ["in", "l"], dcr = "0.3 ohm" }
C1 = { capacitor = "22 uF", between = ["l", "gnd"] }
LOW = { driver = "low", between = ["l", "gnd"] }
C2 = { capacitor = "18 uF", between = ["in", "h"] }
L2 = { inductor = "2.2 mH", between = ["h", "gnd"], dcr = "0.4 ohm" }
R1 = { resistor = "6.8 ohm", between = ["h", "p"] }
R2 = { resistor = "3.9 ohm", between = ["p", "gnd"] }
HIGH = { driver = "high", between = ["p", "gnd"], inverted = true }
"#;

/// A table of 40 rows from `from` to `to` hertz, by a function of frequency.
pub(super) fn table(from_hz: f64, to_hz: f64, row: impl Fn(f64) -> String) -> String {
    (0..40)
        .map(|i| from_hz * (to_hz / from_hz).powf(f64::from(i) / 39.0))
        .map(|f| format!("{f:.3} {}\n", row(f)))
        .collect()
}

/// The brief.
#[derive(Clone)]
pub(super) struct Brief {
    fields: Vec<(&'static str, String)>,
    files: Vec<(&'static str, String)>,
}

impl Default for Brief {
    fn default() -> Self {
        let fields = FIELDS.map(|(name, value)| (name, value.to_owned())).into();
        Self {
            fields,
            files: Vec::new(),
        }
    }
}

impl Brief {
    /// With one field replaced.
    pub(super) fn with(&self, field: &str, value: &str) -> Self {
        let mut brief = self.clone();
        let place = brief.fields.iter_mut().find(|(name, _)| *name == field);
        place.expect("a field of the template").1 = value.to_owned();
        brief
    }

    /// With a driver measured in two tables.
    pub(super) fn measured(&self, way: &str, impedance: String, response: String) -> Self {
        let (z, r) = match way {
            "low" => ("low-z.txt", "low-r.txt"),
            _ => ("high-z.txt", "high-r.txt"),
        };
        let mut brief = self.with(
            way,
            &format!("{{ impedance = \"{z}\", response = \"{r}\" }}"),
        );
        let key = format!("{way}_key");
        brief = brief.with(&key, "measured");
        brief.files.extend([(z, impedance), (r, response)]);
        brief
    }

    /// With a file more.
    pub(super) fn file(mut self, name: &'static str, text: String) -> Self {
        self.files.push((name, text));
        self
    }

    /// Read as a file would be.
    pub(super) fn project(&self) -> Project {
        let mut text = TEMPLATE.to_owned();
        for (name, value) in &self.fields {
            let value = match name.strip_prefix("usable") {
                Some(_) => value.replace(", ", "\", to = \""),
                None => value.clone(),
            };
            text = text.replace(&format!("{{{name}}}"), &value);
        }
        let files = |path: &Path| -> io::Result<Vec<u8>> {
            if path == Path::new("p.toml") {
                return Ok(text.as_bytes().to_vec());
            }
            let found = self.files.iter().find(|(name, _)| path == Path::new(name));
            found
                .map(|(_, text)| text.as_bytes().to_vec())
                .ok_or_else(|| io::ErrorKind::NotFound.into())
        };
        match load_from(&files, Path::new("p.toml")) {
            Ok(loaded) => loaded.project,
            Err(problems) => panic!("{problems}\n{text}"),
        }
    }

    /// Made ready.
    pub(super) fn job(&self) -> Job {
        Job::new(&self.project()).expect("a brief that can be designed")
    }

    /// Findings on it.
    pub(super) fn findings(&self) -> Vec<Finding> {
        brief_findings(&self.project(), &self.job())
    }
}

/// Whether there is a finding of that code.
pub(super) fn has(findings: &[Finding], code: &str) -> bool {
    findings.iter().any(|finding| finding.code.text() == code)
}

/// The first finding of that code.
pub(super) fn find<'a>(findings: &'a [Finding], code: &str) -> &'a Finding {
    let found = findings.iter().find(|finding| finding.code.text() == code);
    found.unwrap_or_else(|| panic!("no {code} in {findings:#?}"))
}
