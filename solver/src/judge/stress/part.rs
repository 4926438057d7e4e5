//! Stress on one part.

use netlist::network::{Part, PartKind};
use netlist::project::{Project, Stock, StockKind};
use netlist::quantity::{Ohms, Quantity};
use serde::Serialize;

use super::pieces::{StressedPiece, pieces};
use super::{Meter, NoiseStress, SineStress, Worst, rating};
use crate::nodal::Flow;
use crate::spectrum::Spectrum;
use crate::stock::{listed_rating, resistor_power_w, whole_rating};
use crate::wiring::is_wire;

/// Stress on one part.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PartStress {
    /// Name of the part, or of the wire.
    pub part: String,
    /// What it is.
    pub kind: StressedKind,
    /// Its value for people.
    pub value: String,
    /// Under noise. For an autoformer the current is that of the section that has the most.
    pub noise: NoiseStress,
    /// Under the worst sine.
    pub sine: SineStress,
    /// Of an autoformer: the most volts rms for each hertz that a sine gives it, and where; its core stands
    /// so much of that.
    pub volts_per_hertz: Option<Worst>,
    /// Pieces that the part is made of: mostly one.
    pub pieces: usize,
    /// The largest share that one of them has of what counts: of a resistor's power, a capacitor's
    /// voltage, a coil's current.
    pub largest_share: f64,
    /// What each piece must be rated for, by common practice; a coil without a core needs no rating.
    /// `None` for wire, and where the amplifier's power is not stated.
    pub buy: Option<Rating>,
    /// What the part as a whole stands before the first of its pieces gets more than its rating, where
    /// the part, the catalogue or the stock states one.
    pub rated: Option<Rating>,
}

/// What a part is that is stressed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum StressedKind {
    /// A resistor.
    Resistor,
    /// A coil.
    Inductor,
    /// A capacitor.
    Capacitor,
    /// A winding with taps.
    Autoformer,
    /// A cable or a lead inside.
    Wire,
}

impl StressedKind {
    /// `None` for what stands nothing as a part: drivers, and what only couples.
    fn of(kind: &PartKind, wire: bool) -> Option<Self> {
        Some(match kind {
            _ if wire => StressedKind::Wire,
            PartKind::Resistor { .. } => StressedKind::Resistor,
            PartKind::Inductor { .. } => StressedKind::Inductor,
            PartKind::Capacitor { .. } => StressedKind::Capacitor,
            PartKind::Autoformer { .. } => StressedKind::Autoformer,
            PartKind::Coupling { .. } | PartKind::Driver { .. } => return None,
        })
    }
}

/// A rating.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Rating {
    /// Power of a resistor, W.
    PowerW(f64),
    /// Voltage of a capacitor, V.
    VoltageV(f64),
    /// Peak current of a coil with a core, A.
    CurrentA(f64),
}

impl Rating {
    /// How much, in W, V or A.
    #[must_use]
    pub fn size(self) -> f64 {
        match self {
            Rating::PowerW(size) | Rating::VoltageV(size) | Rating::CurrentA(size) => size,
        }
    }
}

impl PartStress {
    /// The larger of the peaks of noise and sine, V.
    #[must_use]
    pub fn peak_v(&self) -> f64 {
        self.noise.peak_v.max(self.sine.peak_v)
    }

    /// The larger of the peaks of noise and sine, A.
    #[must_use]
    pub fn peak_a(&self) -> f64 {
        self.noise.peak_a.max(self.sine.peak_a)
    }
}

/// Stress on a part through which these flow; `None` where it is nothing that stands stress as a part.
pub(super) fn part_stress(
    project: &Project,
    name: &str,
    part: &Part,
    meter: &Meter<'_>,
    flows: &[&Flow],
) -> Option<PartStress> {
    // The sections of a winding are in series.
    let voltage_v = Spectrum::from_fn(meter.grid.len(), |i| {
        flows.iter().map(|flow| flow.voltage_v.at(i)).sum()
    });
    let (noise, sine) = meter.measure(&voltage_v, flows);
    let wire = (project.network.as_ref()).is_some_and(|network| is_wire(network, name));
    let pieces = pieces(part);
    let largest_share = pieces.iter().map(|piece| piece.share).fold(0.0, f64::max);
    let mut stress = PartStress {
        part: name.to_owned(),
        kind: StressedKind::of(&part.kind, wire)?,
        value: shown(&part.kind),
        noise,
        sine,
        volts_per_hertz: matches!(part.kind, PartKind::Autoformer { .. }).then(|| {
            let f_hz = meter.grid.f_hz();
            meter.worst(|i| meter.gain * voltage_v.at(i).norm() / f_hz[i])
        }),
        pieces: pieces.len(),
        largest_share,
        buy: None,
        rated: None,
    };
    if wire {
        return Some(stress);
    }
    let stands = |stated: Option<f64>, kind: StockKind| {
        whole(&pieces, |value| {
            stated.or_else(|| listed_rating(&project.stock, kind, value))
        })
    };
    match part.kind {
        PartKind::Resistor { .. } => {
            stress.buy = Some(Rating::PowerW(rating::resistor_w(
                largest_share * noise.power_w,
                largest_share * sine.power_w.most,
            )));
            stress.rated = resistor_rated_w(&project.stock, part).map(Rating::PowerW);
        }
        PartKind::Capacitor { .. } => {
            let volts = rating::capacitor_v(largest_share * stress.peak_v());
            stress.buy = Some(Rating::VoltageV(volts));
            let stated = part.voltage.map(Quantity::si);
            stress.rated = stands(stated, StockKind::Capacitor).map(Rating::VoltageV);
        }
        PartKind::Inductor { .. } | PartKind::Autoformer { .. } => {
            let amperes = rating::coil_a(largest_share * stress.peak_a());
            stress.buy = Some(Rating::CurrentA(amperes));
            let stated = part.current.map(Quantity::si);
            stress.rated = stands(stated, StockKind::Inductor).map(Rating::CurrentA);
        }
        PartKind::Coupling { .. } | PartKind::Driver { .. } => {}
    }
    if !meter.stated {
        stress.buy = None;
    }
    Some(stress)
}

/// Power that a resistor of a network stands as a whole, W: of its pieces what the part, the catalogue or the stock states.
pub(crate) fn resistor_rated_w(stock: &Stock, part: &Part) -> Option<f64> {
    whole(&pieces(part), |value| {
        (part.power.map(Quantity::si)).or_else(|| resistor_power_w(stock, value))
    })
}

/// What the whole stands when each piece stands what `rating` says of its value.
fn whole(pieces: &[StressedPiece], rating: impl Fn(f64) -> Option<f64>) -> Option<f64> {
    whole_rating(
        pieces
            .iter()
            .map(|piece| (rating(piece.value), piece.share)),
    )
}

fn shown(kind: &PartKind) -> String {
    match kind {
        PartKind::Resistor { resistance, .. } => match resistance.0 {
            milli if milli < 0.1 => format!("{:.2}", Ohms(milli)),
            ohm => Ohms(ohm).to_string(),
        },
        PartKind::Inductor { inductance, .. } | PartKind::Autoformer { inductance, .. } => {
            inductance.to_string()
        }
        PartKind::Capacitor { capacitance, .. } => capacitance.to_string(),
        PartKind::Coupling { .. } | PartKind::Driver { .. } => String::new(),
    }
}
