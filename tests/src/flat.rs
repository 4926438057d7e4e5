//! Projects whose drivers are plain resistors of flat response, so that everything has a closed form.

use std::io;
use std::path::Path;

use netlist::network::{Network, NodeId, Part, PartKind};
use netlist::project::{Project, load_from};

/// A project, its drivers `low` and `high` of 8 Ω and 90 dB at all frequencies and 2.83 V.
///
/// # Panics
/// If the text has mistakes, which are shown.
#[must_use]
pub fn flat_project(text: &str) -> Project {
    let drivers = r#"
[drivers.low]
measured = { impedance = "z.txt", response = "r.txt" }
resonance = "50 Hz"
[drivers.high]
measured = { impedance = "z.txt", response = "r.txt" }
resonance = "500 Hz"
power = "5 W"
"#;
    let text = format!("{text}\n{drivers}");
    let rows = |row: &str| -> String {
        (0..40)
            .map(|i| 10.0 * 10f64.powf(3.5 * f64::from(i) / 39.0))
            .map(|f_hz| format!("{f_hz:.3} {row}\n"))
            .collect()
    };
    let files = |path: &Path| -> io::Result<Vec<u8>> {
        match path.to_str() {
            Some("p.toml") => Ok(text.clone().into_bytes()),
            Some("z.txt") => Ok(rows("8 0").into_bytes()),
            Some("r.txt") => Ok(rows("90 0").into_bytes()),
            _ => Err(io::ErrorKind::NotFound.into()),
        }
    };
    match load_from(&files, Path::new("p.toml")) {
        Ok(loaded) => loaded.project,
        Err(problems) => panic!("{problems}\n{text}"),
    }
}

/// A driver alone on the amplifier.
#[must_use]
pub fn bare(driver: &str) -> Network {
    let mut network = Network::new();
    let kind = PartKind::Driver {
        driver: driver.to_owned(),
        between: [NodeId::IN, NodeId::GND],
        inverted: false,
    };
    network.insert("DRIVER", Part::new(kind));
    network
}
