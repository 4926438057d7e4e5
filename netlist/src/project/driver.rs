//! What is known of a driver.

use super::cabinet::{Baffle, Cabinet};
use super::directivity::{Coverage, OffAxis};
use super::horn::{HornDriver, Opening};
use super::near_field::NearField;
pub use crate::network::Joined as Wired;
use crate::quantity::{
    CubicMetres, Decibels, Henries, Hertz, Kelvins, Metres, Ohms, SquareMetres, Volts, Watts,
};
use crate::table::Table;

/// A driver of the project, or several of the same that play as one way.
#[derive(Debug, Clone)]
pub struct Driver {
    /// Where impedance and response of one come from.
    pub source: Source,
    /// How many of them play this way, 1 to 12; 1 when not said.
    pub count: u32,
    /// How they are wired to each other; parallel when not said, and for one without meaning.
    pub wired: Wired,
    /// Band in which the builder trusts it, from and to.
    pub usable: Option<[Hertz; 2]>,
    /// Main resonance; found from the impedance when absent.
    pub resonance: Option<Hertz>,
    /// Rated power of one.
    pub power: Option<Watts>,
    /// Where its acoustic centre is; that of all where there are several.
    pub position: Position,
    /// The cabinet's front around it; `None` without a cabinet, and for what holds its cabinet already.
    pub baffle: Option<Baffle>,
    /// The cabinet in whose front it is, whatever its sound holds of it already; `None` where its place is not on one.
    pub stands_in: Option<Cabinet>,
    /// The driver in whose place it can be tried: it need not be in a crossover.
    pub instead_of: Option<String>,
    /// What it radiates from, as stated; see [`Driver::radiates_from`].
    pub size: Option<Opening>,
    /// What it is stated to cover.
    pub coverage: Option<Coverage>,
}

impl Driver {
    /// What it radiates from: as stated, the mouth of a horn of stated shape, or a circle as large as its diaphragm;
    /// `None` where nothing says it.
    #[must_use]
    pub fn radiates_from(&self) -> Option<Opening> {
        self.size.or(match &self.source {
            Source::Horn(driver) => Some(driver.horn.mouth),
            Source::Cone(cone) => Some(Opening::of_area(cone.sd)),
            Source::Measured(driver) => driver.sd.map(Opening::of_area),
            Source::Compression(_) => None,
        })
    }

    /// Rated power of all of them together; each takes the same share of what they get.
    #[must_use]
    pub fn rated_power(&self) -> Option<Watts> {
        self.power.map(|one| Watts(f64::from(self.count) * one.0))
    }
}

/// Place of an acoustic centre; all 0 when not said.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Position {
    /// To the right of the origin, seen by the listener.
    pub right: Metres,
    /// Above the origin.
    pub up: Metres,
    /// Behind the plane of the origin; where it is open the end nearest to the front.
    pub back: Metres,
    /// How far back it can be set; `None` where `back` is fixed.
    pub back_to: Option<Metres>,
}

/// Where impedance and response of a driver come from.
#[derive(Debug, Clone)]
pub enum Source {
    /// From measured tables.
    Measured(Box<MeasuredDriver>),
    /// From the data sheet of a cone driver.
    Cone(Cone),
    /// From the data sheet of a compression driver on a horn.
    Compression(Compression),
    /// From the moving parts of a compression driver and the shape of its horn.
    Horn(Box<HornDriver>),
}

impl Source {
    /// Whether its sound is worked out with the front of the cabinet around it: a far field holds its cabinet already,
    /// and a horn has its own front.
    #[must_use]
    pub fn is_in_the_cabinet(&self) -> bool {
        match self {
            Self::Cone(_) => true,
            Self::Measured(driver) => driver.near.is_some(),
            Self::Compression(_) | Self::Horn(_) => false,
        }
    }
}

/// Measured impedance and response.
#[derive(Debug, Clone)]
pub struct MeasuredDriver {
    /// Impedance: ohm and, where the table has it, degrees.
    pub impedance: Table,
    /// Response: dB SPL and, where the table has it, degrees. In the far field, unless `near` says that this table is of
    /// the near field.
    pub response: Table,
    /// What was measured close to the diaphragm; `None` where nothing was.
    pub near: Option<NearField>,
    /// Area of the diaphragm, where it is said.
    pub sd: Option<SquareMetres>,
    /// Voltage at the driver's terminals during the measurement; 2.83 V when not said.
    pub drive: Volts,
    /// Distance of the microphone; 1 m when not said.
    pub distance: Metres,
    /// Lowest frequency at which the response holds: the limit of its gate; all of it when not said.
    pub reliable_from: Option<Hertz>,
    /// Whether the tables are as they are, however odd they look.
    pub trust: bool,
    /// Responses off the axis, in the far field.
    pub off_axis: Vec<OffAxis>,
}

impl MeasuredDriver {
    /// Whether nothing of its response was measured at a distance, so that its phase does not hold the way there.
    #[must_use]
    pub fn is_near_only(&self) -> bool {
        (self.near.as_ref()).is_some_and(|near| near.joined.is_none())
    }

    /// The tables that its response is made of, the lowest first: near field, then far field.
    pub fn responses(&self) -> impl Iterator<Item = &Table> {
        let joined = self.near.as_ref().and_then(|near| near.joined.as_ref());
        (joined.map(|joined| &joined.response).into_iter()).chain([&self.response])
    }

    /// Lowest and highest frequency of its response, Hz.
    #[must_use]
    pub fn response_ends_hz(&self) -> [f64; 2] {
        self.responses()
            .map(Table::ends_hz)
            .fold([f64::INFINITY, 0.0], |a, b| {
                [a[0].min(b[0]), a[1].max(b[1])]
            })
    }
}

/// A cone driver after Thiele and Small.
#[derive(Debug, Clone, PartialEq)]
pub struct Cone {
    /// DC resistance of the voice coil.
    pub re: Ohms,
    /// Free-air resonance.
    pub fs: Hertz,
    /// Mechanical Q at the resonance.
    pub qms: f64,
    /// Electrical Q at the resonance.
    pub qes: f64,
    /// Equivalent volume of the suspension.
    pub vas: CubicMetres,
    /// Area of the diaphragm.
    pub sd: SquareMetres,
    /// Lossy inductance of the voice coil.
    pub inductance: LossyInductance,
    /// The box; an infinite baffle when absent.
    pub enclosure: Option<Enclosure>,
    /// Resonances of the cone itself, as stated.
    pub break_up: Vec<BreakUp>,
    /// Temperature rise of the voice coil; 0 when not said.
    pub coil_rise: Kelvins,
}

/// A resonance of a cone that no longer moves as one: a peak of its sound, or a dip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BreakUp {
    /// Where.
    pub frequency: Hertz,
    /// Quality factor.
    pub q: f64,
    /// Above the rest; below where negative.
    pub level: Decibels,
}

/// A closed or vented box.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Enclosure {
    /// Net volume.
    pub volume: CubicMetres,
    /// Tuning of the vent; a closed box when absent.
    pub tuning: Option<Hertz>,
    /// Q of the leakage at the tuning, as said; see [`Enclosure::leakage_q`].
    pub ql: Option<f64>,
}

impl Enclosure {
    /// Q of the leakage at the tuning of a vent; 7 when not said, the usual figure for a vented box. A closed
    /// box has no use for it.
    #[must_use]
    pub fn leakage_q(&self) -> f64 {
        self.ql.unwrap_or(7.0)
    }
}

/// How the voice coil's impedance rises above the resonances.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LossyInductance {
    /// L1 in series with (L2 ∥ R2); all 0 for none.
    SeriesParallel {
        /// Series inductance.
        l1: Henries,
        /// Inductance shunted by `r2`; 0 when absent.
        l2: Henries,
        /// Resistance across `l2`.
        r2: Ohms,
    },
    /// K·(jω)^n after Leach (2002); `k` in SI, `n` from 0 to 1.
    Power {
        /// Coefficient, Ω·sⁿ.
        k: f64,
        /// Exponent.
        n: f64,
    },
}

/// A compression driver on a horn, from its data sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Compression {
    /// DC resistance of the voice coil.
    pub re: Ohms,
    /// Lossy inductance of the voice coil.
    pub inductance: LossyInductance,
    /// Impedance peaks: resonances of diaphragm and horn.
    pub resonances: Vec<Resonance>,
    /// Level on the horn in the flat part at 2.83 V, 1 m.
    pub level: Decibels,
    /// The horn.
    pub horn: Horn,
    /// Above this corner the response falls by 6 dB per octave for the diaphragm's mass; none when absent.
    pub mass_corner: Option<Hertz>,
    /// A resonance at the top of the band, as a low pass of second order; none when absent.
    pub top: Option<Top>,
    /// Temperature rise of the voice coil; 0 when not said.
    pub coil_rise: Kelvins,
}

/// A parallel resonance in an impedance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Resonance {
    /// Height of the peak above the rest.
    pub r: Ohms,
    /// Frequency of the peak.
    pub f: Hertz,
    /// Quality factor.
    pub q: f64,
}

/// A horn's lower limit, as a high pass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Horn {
    /// Cut-off frequency.
    pub cutoff: Hertz,
    /// Order, 1 to 4; 2 when not said.
    pub order: u8,
    /// Q of the second-order pair; 0.707 when not said.
    pub q: f64,
}

/// A resonance at the top of a driver's band.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Top {
    /// Frequency.
    pub f: Hertz,
    /// Quality factor.
    pub q: f64,
}
