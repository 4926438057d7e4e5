//! Whether columns are about one loudspeaker at all.

use netlist::project::{Driver, Project, Source};
use netlist::table::Table;
use serde::Serialize;

use super::figure::Contender;

/// Columns that are about something else than the first.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct Likeness {
    /// Those that have no driver in common with the first: another loudspeaker.
    pub other_loudspeaker: Vec<usize>,
    /// Those on another amplifier.
    pub other_amplifier: Vec<usize>,
    /// Those heard from another place.
    pub other_listener: Vec<usize>,
    /// Those whose sum is judged elsewhere: on the axis, or over the listening window.
    pub judged_elsewhere: Vec<usize>,
}

/// How columns differ from the first in what is not theirs to choose.
#[must_use]
pub fn likeness(candidates: &[Contender<'_>]) -> Likeness {
    let Some((first, rest)) = candidates.split_first() else {
        return Likeness::default();
    };
    let those = |differs: &dyn Fn(&Project) -> bool| -> Vec<usize> {
        let places = rest
            .iter()
            .enumerate()
            .filter(|(_, other)| differs(other.project));
        places.map(|(place, _)| place + 1).collect()
    };
    // Tables and data, whatever the driver is called and wherever its tables are.
    let of_table =
        |table: &Table| format!("{:?}", (&table.f_hz, &table.magnitude, &table.phase_deg));
    let data = |project: &Project| -> Vec<String> {
        let of_driver = |driver: &Driver| match &driver.source {
            Source::Measured(measured) => {
                let tables = std::iter::once(&measured.impedance).chain(measured.responses());
                tables.map(of_table).collect()
            }
            source => format!("{source:?}"),
        };
        project.drivers.values().map(of_driver).collect()
    };
    let own = data(first.project);
    Likeness {
        other_loudspeaker: those(&|other| data(other).iter().all(|driver| !own.contains(driver))),
        other_amplifier: those(&|other| other.amplifier != first.project.amplifier),
        other_listener: those(&|other| other.listener != first.project.listener),
        judged_elsewhere: those(&|other| other.aim.judged != first.project.aim.judged),
    }
}
