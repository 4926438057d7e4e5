//! What a part is. A new part kind starts here; DEVELOPERS.md lists the other places.

use super::NodeId;
use crate::quantity::{Amperes, Dimension, Farads, Fraction, Henries, Ohms, Volts, Watts};

/// One part of a network.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// What it is, with its values and nodes.
    pub kind: PartKind,
    /// The builder wants this value kept: search and snapping leave it alone.
    pub fixed: bool,
    /// Tolerance of the value, where the part's own differs from the stock's.
    pub tolerance: Option<Fraction>,
    /// Rated power, for a resistor.
    pub power: Option<Watts>,
    /// Rated voltage, for a capacitor.
    pub voltage: Option<Volts>,
    /// Greatest current, for an inductor or autoformer: the peak at which a core begins to saturate.
    pub current: Option<Amperes>,
    /// The parts that together make this one, when it is not a single part.
    pub made_of: Option<MadeOf>,
}

impl Part {
    /// A part with nothing said beyond what it is.
    #[must_use]
    pub fn new(kind: PartKind) -> Self {
        Self {
            kind,
            fixed: false,
            tolerance: None,
            power: None,
            voltage: None,
            current: None,
            made_of: None,
        }
    }
}

/// The kind of a part with its values, in SI, and its nodes.
///
/// The first node of a pair is the one from which the current through the part is counted.
#[derive(Debug, Clone, PartialEq)]
pub enum PartKind {
    /// A resistor.
    Resistor {
        /// Resistance, above 0.
        resistance: Ohms,
        /// From, to.
        between: [NodeId; 2],
    },
    /// An inductor with its coil resistance in series.
    Inductor {
        /// Inductance, above 0.
        inductance: Henries,
        /// DC resistance of the coil, 0 or more.
        dcr: Ohms,
        /// From, to.
        between: [NodeId; 2],
    },
    /// A capacitor with its equivalent series resistance.
    Capacitor {
        /// Capacitance, above 0.
        capacitance: Farads,
        /// Equivalent series resistance, 0 or more.
        esr: Ohms,
        /// From, to.
        between: [NodeId; 2],
    },
    /// A tapped winding: the sections between neighbouring taps are coupled coils of one core.
    Autoformer {
        /// Inductance of the whole winding, above 0.
        inductance: Henries,
        /// DC resistance of the whole winding, 0 or more; shared among the sections by turns.
        dcr: Ohms,
        /// Coupling factor of any two sections, 0 or more and below 1.
        coupling: f64,
        /// Top of the winding, and its bottom (usually `gnd`).
        between: [NodeId; 2],
        /// Taps, each with its share of the turns counted from the bottom.
        taps: Vec<Tap>,
    },
    /// Magnetic coupling between two inductors of the network; has no nodes of its own.
    Coupling {
        /// Names of the two inductors.
        inductors: [String; 2],
        /// Coupling factor, 0 or more and below 1; both coils count from their first node.
        factor: f64,
    },
    /// A driver of the project, with its positive terminal at the first node.
    Driver {
        /// Name of the driver in the project.
        driver: String,
        /// Positive terminal, negative terminal.
        between: [NodeId; 2],
        /// The builder swaps the two wires at the driver.
        inverted: bool,
    },
}

/// A tap of an autoformer.
#[derive(Debug, Clone, PartialEq)]
pub struct Tap {
    /// The node it leads to.
    pub node: NodeId,
    /// Share of the turns between the bottom and this tap, strictly between 0 and 1.
    pub ratio: f64,
}

/// The bought parts that together act as one part of the network.
#[derive(Debug, Clone, PartialEq)]
pub struct MadeOf {
    /// How they are joined.
    pub joined: Joined,
    /// Their values in the SI unit of the part they make.
    pub values: Vec<f64>,
}

/// How several are joined into one: bought pieces into a part, drivers into a way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Joined {
    /// Side by side.
    Parallel,
    /// One after the other.
    Series,
}

impl MadeOf {
    /// The value of the whole, SI: the sum of the values, or the inverse of the sum of their inverses.
    #[must_use]
    pub fn value_si(&self, capacitors: bool) -> f64 {
        let values = self.values.iter();
        match self.joined.adds_up(capacitors) {
            true => values.sum(),
            false => values.map(|value| value.recip()).sum::<f64>().recip(),
        }
    }

    /// What each has of the whole, together 1: of the value, or of its inverse where inverses add up. Resistors have
    /// as much of the power, and a piece's tolerance moves the whole by as much.
    #[must_use]
    pub fn shares(&self, capacitors: bool) -> Vec<f64> {
        let adds_up = self.joined.adds_up(capacitors);
        let whole = self.value_si(capacitors);
        let share = |&value: &f64| match adds_up {
            true => value / whole,
            false => whole / value,
        };
        self.values.iter().map(share).collect()
    }
}

impl Joined {
    /// As it is written in a file, and said.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Joined::Parallel => "parallel",
            Joined::Series => "series",
        }
    }

    /// Whether values add up: those of capacitors side by side, those of coils and resistors one after the
    /// other. Of the rest the inverses add up.
    #[must_use]
    pub fn adds_up(self, capacitors: bool) -> bool {
        (self == Joined::Parallel) == capacitors
    }
}

impl PartKind {
    /// Whether it is a coupling of a coil of that name.
    #[must_use]
    pub fn couples(&self, name: &str) -> bool {
        match self {
            PartKind::Coupling { inductors, .. } => inductors.iter().any(|coil| coil == name),
            _ => false,
        }
    }

    /// The two nodes between which the part lies; none for a coupling.
    #[must_use]
    pub fn between(&self) -> Option<[NodeId; 2]> {
        match self {
            PartKind::Resistor { between, .. }
            | PartKind::Inductor { between, .. }
            | PartKind::Capacitor { between, .. }
            | PartKind::Autoformer { between, .. }
            | PartKind::Driver { between, .. } => Some(*between),
            PartKind::Coupling { .. } => None,
        }
    }

    /// What its value measures; nothing of a coupling or a driver.
    #[must_use]
    pub fn dimension(&self) -> Option<Dimension> {
        match self {
            PartKind::Resistor { .. } => Some(Dimension::Resistance),
            PartKind::Inductor { .. } | PartKind::Autoformer { .. } => Some(Dimension::Inductance),
            PartKind::Capacitor { .. } => Some(Dimension::Capacitance),
            PartKind::Coupling { .. } | PartKind::Driver { .. } => None,
        }
    }

    /// What the trade calls it.
    #[must_use]
    pub fn word(&self) -> &'static str {
        match self {
            PartKind::Resistor { .. } => "resistor",
            PartKind::Inductor { .. } => "inductor",
            PartKind::Capacitor { .. } => "capacitor",
            PartKind::Autoformer { .. } => "autoformer",
            PartKind::Coupling { .. } => "coupling",
            PartKind::Driver { .. } => "driver",
        }
    }
}
