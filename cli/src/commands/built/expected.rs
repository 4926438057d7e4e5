//! What a meter should show before the first switch-on.

use std::io::{Result, Write};

use netlist::project::Project;
use netlist::quantity::Hertz;
use serde::Serialize;
use solver::built::{Expectation, Expected};

use crate::words;

/// The same as a JSON document.
#[derive(Serialize)]
pub(super) struct ExpectDocument<'a> {
    pub(super) title: Option<&'a str>,
    pub(super) expect: &'a Expectation,
}

pub(super) fn print(project: &Project, found: &Expectation, out: &mut dyn Write) -> Result<()> {
    words::title(project, out)?;
    writeln!(
        out,
        "What a meter should show at the loudspeaker's terminals, amplifier not connected\n"
    )?;
    writeln!(
        out,
        "{:>16}{:>14}{:>24}",
        "frequency", "as drawn", "tolerance allows"
    )?;
    for reading in &found.readings {
        writeln!(out, "{}", row(reading))?;
    }
    let text = format!(
        "\n{} of {} plain mistakes (a part or a driver open, bridged, exchanged, ten times or a tenth of its \
         value) leave one of these bands.",
        found.seen, found.mistakes
    );
    words::folded(&text, 2, out)?;
    if !found.unseen_parts.is_empty() {
        let text = format!(
            "No such mistake shows of: {}.",
            found.unseen_parts.join(", ")
        );
        words::folded(&text, 2, out)?;
    }
    words::folded(
        "\nDirect current: an ohmmeter. Elsewhere: a sine of less than 1 V through a resistor of about 10 ohm, \
         voltage across the loudspeaker over the current. A reading outside its band: connect no amplifier; \
         measure a whole sweep and let handover built look at it. A reading inside proves little of parts \
         that do not show.",
        2,
        out,
    )
}

fn row(reading: &Expected) -> String {
    let frequency = match reading.frequency_hz {
        f_hz if f_hz > 0.0 => format!("{:.4}", Hertz(f_hz)),
        _ => "direct current".to_owned(),
    };
    let ohm = |ohm: f64| match ohm {
        ohm if ohm < 9.995 => format!("{ohm:.2}"),
        ohm => format!("{ohm:.1}"),
    };
    match (reading.ohm, reading.least_ohm, reading.most_ohm) {
        (Some(drawn), Some(least), Some(most)) => format!(
            "{frequency:>16}{:>14}{:>24}",
            format!("{} ohm", ohm(drawn)),
            format!("{} to {} ohm", ohm(least), ohm(most))
        ),
        _ => format!(
            "{frequency:>16}{:>14}{:>24}",
            "none flows", "above 100 kilohm"
        ),
    }
}
