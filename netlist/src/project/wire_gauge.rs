//! American wire gauge: `16 AWG` in place of a section or a diameter.
//!
//! Diameters are those of ASTM B258: gauge 36 is 0.005 in and gauge 4/0 is 0.46 in, with 39 equal ratios
//! between them, so that d = 0.127 mm · 92^((36 − n)/39). Gauges 1/0, 2/0 and 3/0 are n = 0, −1 and −2.

use std::f64::consts::PI;

/// Gauges that the standard has and that wire of a loudspeaker or a coil comes near to.
const THINNEST: i32 = 40;

/// Diameter in metres of a solid conductor of gauge `n`; −1 for 2/0.
fn diameter_m(n: i32) -> f64 {
    0.127e-3 * 92f64.powf(f64::from(36 - n) / 39.0)
}

/// What a text that names a gauge says: `None` where it names none, an error where it names one that the
/// standard does not have.
fn gauge(text: &str) -> Option<Result<i32, ()>> {
    let text = text.trim().to_ascii_uppercase();
    let number = text.strip_suffix("AWG").or(text.strip_prefix("AWG"))?;
    let number = number.trim();
    let aught = ["1/0", "2/0", "3/0", "4/0"]
        .iter()
        .position(|name| *name == number);
    let n = match aught {
        Some(index) => Some(-(index as i32)),
        None => number.parse().ok(),
    };
    Some(n.filter(|n| (-3..=THINNEST).contains(n)).ok_or(()))
}

/// Diameter in metres of the wire that a text names by its gauge.
pub(super) fn named_diameter_m(text: &str) -> Option<Result<f64, ()>> {
    Some(gauge(text)?.map(diameter_m))
}

/// Section in m² of the conductor that a text names by its gauge; that of a solid one, to which a
/// stranded one is made.
pub(super) fn named_section_m2(text: &str) -> Option<Result<f64, ()>> {
    let diameter = named_diameter_m(text)?;
    Some(diameter.map(|d| PI / 4.0 * d * d))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rounded figures of the table of ASTM B258 as handbooks print it; from memory.
    #[test]
    fn diameters_and_sections_of_the_table() {
        for (text, mm, mm2) in [
            ("10 AWG", 2.588, 5.261),
            ("12 AWG", 2.053, 3.309),
            ("14 AWG", 1.628, 2.081),
            ("16 AWG", 1.291, 1.309),
            ("18 AWG", 1.024, 0.823),
            ("20 AWG", 0.812, 0.518),
            ("36 AWG", 0.127, 0.01267),
            ("1/0 AWG", 8.251, 53.48),
            ("4/0 AWG", 11.684, 107.2),
        ] {
            let d = named_diameter_m(text).unwrap().unwrap() * 1e3;
            let section = named_section_m2(text).unwrap().unwrap() * 1e6;
            assert!((d / mm - 1.0).abs() < 5e-4, "{text}: {d} mm");
            assert!((section / mm2 - 1.0).abs() < 1e-3, "{text}: {section} mm2");
        }
    }

    #[test]
    fn ways_to_write_a_gauge() {
        for text in ["16 AWG", "16AWG", "AWG 16", "awg16", " 16 awg "] {
            assert_eq!(gauge(text), Some(Ok(16)), "{text}");
        }
        assert_eq!(gauge("2/0 AWG"), Some(Ok(-1)));
        for text in [
            "AWG",
            "1.5 AWG",
            "99 AWG",
            "-4 AWG",
            "5/0 AWG",
            "AWG 16 AWG",
        ] {
            assert_eq!(gauge(text), Some(Err(())), "{text}");
        }
        assert_eq!(gauge("2.5 mm2"), None);
    }
}
