//! Words and numbers for people.

use std::io::Write;

use netlist::network::{Joined, MadeOf};
use netlist::project::{AlignmentPair, StockKind};
use netlist::quantity::Hertz;
use solver::load::{Curve, Note};

/// A note about a driver's data as one line.
pub(crate) fn note(driver: &str, note: &Note) -> String {
    let hz = |f_hz: f64| format!("{:.3}", Hertz(f_hz));
    let which = |curve: Curve| match curve {
        Curve::Impedance => "impedance",
        Curve::Response => "response",
    };
    match *note {
        Note::PhaseReconstructed { curve } => format!(
            "{driver}: the {} has no phase; the minimum phase was worked out from its magnitude",
            which(curve)
        ),
        Note::OutsideTable {
            curve,
            table_from_hz,
            table_to_hz,
            ..
        } => format!(
            "{driver}: the {} is measured from {} to {}; beyond, its end slopes are held",
            which(curve),
            hz(table_from_hz),
            hz(table_to_hz)
        ),
        Note::PhaseLimited {
            from_hz,
            to_hz,
            worst_deg,
        } => format!(
            "{driver}: the impedance's phase reaches {worst_deg:.0}° between {} and {}, which no \
             driver has; it was limited",
            hz(from_hz),
            hz(to_hz)
        ),
        Note::PhaseTooCoarse { curve, at_hz } => format!(
            "{driver}: the phase of the {} turns too fast to follow near {}; take the flight time \
             out of the measurement or measure more points",
            which(curve),
            hz(at_hz)
        ),
        Note::ReEstimated { re_ohm } => format!(
            "{driver}: the voice coil's resistance was estimated as {re_ohm:.2} ohm from its impedance"
        ),
        _ => format!("{driver}: {note:?}"),
    }
}

/// Widest line of running text.
const WIDTH: usize = 100;

/// Running text, folded at the widest line; what follows the first line is indented.
pub(crate) fn folded(text: &str, indent: usize, out: &mut dyn Write) -> std::io::Result<()> {
    let begin = text.len() - text.trim_start_matches(' ').len();
    let mut line = text[..begin].to_owned();
    // Whether the line has a word yet.
    let mut empty = true;
    for word in text[begin..].split(' ') {
        if !empty && line.chars().count() + 1 + word.chars().count() > WIDTH {
            writeln!(out, "{}", line.trim_end())?;
            line = " ".repeat(indent);
        } else if !empty {
            line.push(' ');
        }
        line.push_str(word);
        empty = false;
    }
    writeln!(out, "{}", line.trim_end())
}

/// The slopes of a crossover: `LR4`, or `LR4 / BW3` where the two sides differ.
pub(crate) fn slopes(pair: AlignmentPair) -> String {
    if pair.lower == pair.upper {
        return pair.lower.to_string();
    }
    format!("{} / {}", pair.lower, pair.upper)
}

/// A value with the parts that make it: `59 µF: 47 µF ∥ 12 µF`.
pub(crate) fn made_of(kind: StockKind, value_si: f64, made_of: Option<&MadeOf>) -> String {
    let shown = kind.show(value_si);
    let Some(made_of) = made_of else {
        return shown;
    };
    let values: Vec<String> = made_of.values.iter().map(|v| kind.show(*v)).collect();
    match made_of.joined {
        Joined::Parallel => format!("{shown}: {}", values.join(" ∥ ")),
        Joined::Series => format!("{shown}: {}", values.join(" + ")),
    }
}
