//! The project: amplifier, aim, drivers, crossovers, stock and, in a design, the network.
//!
//! A *brief* is a project without parts, a *design* is one with parts. The types here are what the
//! rest of the program works with.

mod alignment;
mod amplifier;
mod cabinet;
mod catalogue;
mod directivity;
mod driver;
mod edit;
mod fields;
mod files;
mod horn;
mod json_form;
mod limit;
mod load;
mod mend;
mod near_field;
mod near_names;
mod read;
mod read_amplifier;
mod read_cabinet;
mod read_coil;
mod read_compression;
mod read_crossovers;
mod read_directivity;
mod read_driver;
mod read_horn;
mod read_measured;
mod read_parts;
mod read_range;
mod read_stock;
mod read_table;
mod read_wiring;
mod settle;
mod stock;
#[cfg(test)]
mod tests;
mod toml_form;
mod toml_words;
mod tree;
mod wire_gauge;
mod wiring;
mod write;

pub use alignment::AlignmentError;
pub use amplifier::{Amplifier, OutputImpedance};
pub use cabinet::{Baffle, Cabinet, RoomLoading};

pub use directivity::{Coverage, OffAxis, Plane};
pub use driver::{
    BreakUp, Compression, Cone, Driver, Enclosure, Horn, LossyInductance, MeasuredDriver, Position,
    Resonance, Source, Top, Wired,
};
pub use edit::Edit;
pub use files::{Disk, Files, plain_words};
pub use horn::{FiniteHorn, Flare, HornDriver, Opening, tractrix_length_m};
pub use load::{Form, Loaded, load, load_edited, load_from};
pub use near_field::{NearField, NearJoin, NearPort};
pub use settle::{Settled, write_settled};
pub use stock::{AutoformerRange, CatalogueItem, SeriesRange, Stock, StockKind, StockKindError};
pub use wiring::{Wire, Wiring};
pub use write::{WriteError, rename_files, write_parts};

use indexmap::IndexMap;

use crate::network::Network;
use crate::quantity::{Decibels, Hertz, Metres, Ohms};

/// Everything that a project file says, its measured tables read.
#[derive(Debug, Clone)]
pub struct Project {
    /// The builder's name for it.
    pub title: Option<String>,
    /// A remark on where the data come from, for every reader to see: `note = "..."`.
    pub note: Option<String>,
    /// The amplifier.
    pub amplifier: Amplifier,
    /// What is asked for.
    pub aim: Aim,
    /// Where the listener sits; far away on the axis when absent.
    pub listener: Option<Listener>,
    /// The cabinet; where there is none modelled cones radiate from a wall without end.
    pub cabinet: Option<Cabinet>,
    /// The drivers by name, in file order.
    pub drivers: IndexMap<String, Driver>,
    /// Drivers that play nowhere and are there to be tried: name, and the driver whose place each can take.
    pub spares: Vec<(String, String)>,
    /// The crossovers, lowest first.
    pub crossovers: Vec<Crossover>,
    /// What can be bought.
    pub stock: Stock,
    /// The wire between amplifier and drivers.
    pub wiring: Wiring,
    /// The network; absent in a brief.
    pub network: Option<Network>,
}

impl Project {
    /// The same with another network in the place of its own.
    #[must_use]
    pub fn with_network(&self, network: &Network) -> Self {
        Self {
            network: Some(network.clone()),
            ..self.clone()
        }
    }

    /// Drivers that the network does not feed, in file order; all of them in a brief.
    pub fn unfed_drivers(&self) -> impl Iterator<Item = &str> {
        self.drivers.keys().map(String::as_str).filter(|name| {
            let network = self.network.as_ref();
            !network.is_some_and(|network| network.driver_names().any(|fed| fed == *name))
        })
    }
}

/// Share of the rated load that the load must not fall below when nothing else is asked for: IEC 60268-5:2003,
/// clause 16.1.
pub const LEAST_SHARE_OF_RATED_LOAD: f64 = 0.8;

/// What the builder asks for.
#[derive(Debug, Clone, PartialEq)]
pub struct Aim {
    /// Lower end of the band in which the sum is judged; 60 Hz when not said.
    pub from: Hertz,
    /// Upper end of that band; 17 kHz when not said.
    pub to: Hertz,
    /// Level at 2.83 V (open circuit), 1 m, wherever the listener is; `None` is `"auto"`.
    pub level: Option<Decibels>,
    /// Slope of the aim, per octave, about 1 kHz.
    pub tilt: Decibels,
    /// Least load asked for; when not said what the amplifier is rated for, as far as the drivers allow it.
    pub minimum_load: Option<Ohms>,
    /// Where the sum is judged; on the axis when not said.
    pub judged: Judged,
}

/// Where the sum is judged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Judged {
    /// At the listener's place, or far away on the axis.
    #[default]
    Axis,
    /// As the mean power over the listening window about it.
    Window,
}

impl Aim {
    /// What its tilt asks for at a frequency, dB against 1 kHz.
    #[must_use]
    pub fn tilt_db(&self, f_hz: f64) -> f64 {
        self.tilt.0 * (f_hz / 1000.0).log2()
    }
}

impl Default for Aim {
    /// A level line from 60 Hz to 17 kHz, at the level that fits best.
    fn default() -> Self {
        Self {
            from: Hertz(60.0),
            to: Hertz(17e3),
            level: None,
            tilt: Decibels(0.0),
            minimum_load: None,
            judged: Judged::Axis,
        }
    }
}

/// Where the listener is, seen from the origin of the drivers' positions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Listener {
    /// Distance in front of the baffle.
    pub distance: Metres,
    /// Height above the origin.
    pub up: Metres,
    /// To the right of the origin.
    pub right: Metres,
}

/// Where one way hands over to the next.
#[derive(Debug, Clone, PartialEq)]
pub struct Crossover {
    /// The lower and the upper driver, by name.
    pub between: [String; 2],
    /// Crossover frequency. Where it is [`open`](Crossover::open) only a place to begin: the geometric middle of
    /// the range, or of what the drivers on both sides can do.
    pub frequency: Hertz,
    /// How far the builder leaves the frequency open; `None` where it is fixed.
    pub open: Option<OpenFrequency>,
    /// Acoustic targets of the two sides; `None` is `"auto"`.
    pub alignment: Option<AlignmentPair>,
}

/// A crossover frequency that is to be found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum OpenFrequency {
    /// Between these ends, the first below the second.
    Range([Hertz; 2]),
    /// Wherever both drivers can do it: `"auto"`.
    Auto,
}

/// The acoustic targets on the two sides of a crossover.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct AlignmentPair {
    /// Falling side, of the lower driver.
    pub lower: Alignment,
    /// Rising side, of the upper driver.
    pub upper: Alignment,
}

/// A target slope: family and order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Alignment {
    /// Family.
    pub family: Family,
    /// Acoustic order: 6 dB per octave for each.
    pub order: u8,
}

/// Families of target slopes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Family {
    /// Linkwitz–Riley, orders 2, 4, 6, 8 (6 dB down at the crossover).
    LinkwitzRiley,
    /// Butterworth, orders 1 to 8 (3 dB down at the crossover).
    Butterworth,
    /// Bessel, orders 1 to 8, scaled to 3 dB down at the crossover.
    Bessel,
}
