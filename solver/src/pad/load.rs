//! What a pad works on: a resistor, or a driver of a project in its band.

use std::ops::Range;

use netlist::network::Network;
use netlist::project::{Driver, LEAST_SHARE_OF_RATED_LOAD, Project};
use netlist::quantity::Quantity;
use num_complex::Complex64;

use super::in_network::PadInNetwork;
use super::open::{OpenPlace, PadBranches, PadOnLoad, PadPort};
use crate::grid::{AUDIO_BAND_HZ, Grid};
use crate::load::{Conditions, Note, driver_load, driver_resonance, least_impedance};
use crate::sound::Side;
use crate::spectrum::Spectrum;
use crate::synthesis::{AutoformerWinding, Pad};
use crate::wiring::lead_ohm;

/// Points of the grid, 48 an octave.
const POINTS: usize = 479;
/// Rated impedances of the trade, in ohm.
const RATED_OHM: [f64; 9] = [2.0, 3.0, 4.0, 6.0, 8.0, 12.0, 16.0, 24.0, 32.0];
/// A crossover lets a way be heard this much beyond itself.
const FILTER_REACH: f64 = 2.0;

/// The load that a pad stands in front of.
#[derive(Debug, Clone)]
pub struct PadLoad {
    /// Frequencies, evenly spaced in log-frequency over the audio band.
    pub grid: Grid,
    /// Impedance behind the pad, in ohm: the driver with its lead.
    pub z_ohm: Spectrum,
    /// Whether something bridges the series resistor of the pad.
    pub bridged: bool,
    /// Whether the pad stands before the filter or a part of it.
    pub ahead_of_filter: bool,
    /// Whether the rest of a larger pad is between the pad and the driver, such as the third resistor of a T: it counts
    /// in the attenuation.
    pub tail: bool,
    open: Option<OpenPlace>,
    /// Data of an autoformer; `None` where nothing is known of it, and it is taken as ideal.
    pub winding: Option<AutoformerWinding>,
    /// Pressure at 1 m in pascal per volt; for a driver.
    pub pressure_pa_per_v: Option<Spectrum>,
    /// The band that the driver plays: between its crossovers, or to the end of its usable band.
    pub band_hz: [f64; 2],
    /// The band in which the filter works: an octave beyond each crossover.
    pub filter_band_hz: [f64; 2],
    /// Crossovers of the driver, lowest first; rising is where it begins to play.
    pub crossovers: Vec<(f64, Side)>,
    /// Resistance of the lead between pad and driver, which is part of the impedance; ohm.
    pub lead_ohm: f64,
    /// Rated impedance, for which a textbook sizes the pad; ohm.
    pub rated_ohm: f64,
    /// The load to which the nominal attenuation refers: the geometric mean of |Z| over the band; ohm.
    pub reference_ohm: f64,
    /// Main resonance, where there is one; hertz.
    pub resonance_hz: Option<f64>,
    /// What had to be supplied where the driver's data have gaps.
    pub notes: Vec<Note>,
}

impl PadLoad {
    /// A plain resistor, in ohm, above 0.
    #[must_use]
    pub fn resistor(ohm: f64) -> Self {
        let grid = audio_grid(31);
        let z_ohm = Spectrum::from_fn(grid.len(), |_| ohm.into());
        Self {
            grid,
            z_ohm,
            bridged: false,
            ahead_of_filter: false,
            tail: false,
            open: None,
            winding: None,
            pressure_pa_per_v: None,
            band_hz: AUDIO_BAND_HZ,
            filter_band_hz: AUDIO_BAND_HZ,
            crossovers: Vec::new(),
            lead_ohm: 0.0,
            rated_ohm: ohm,
            reference_ohm: ohm,
            resonance_hz: None,
            notes: Vec::new(),
        }
    }

    /// A driver of a project; `rated` in ohm overrides what its impedance says. `None` when the project has no driver of
    /// that name.
    #[must_use]
    pub fn driver(project: &Project, name: &str, rated: Option<f64>) -> Option<Self> {
        let driver = project.drivers.get(name)?;
        let crossovers = crossovers(project, name);
        let [band_hz, filter_band_hz] = bands(project, driver, &crossovers);
        // Of all drivers, so that their loads are on one grid.
        let bands_hz = (project.drivers.iter())
            .flat_map(|(name, driver)| bands(project, driver, &self::crossovers(project, name)));
        // What is worst in a band is often at its end.
        let grid = audio_grid(POINTS).with(&bands_hz.flatten().collect::<Vec<_>>());
        let lead_ohm = lead_ohm(project, name);
        let cold = driver_load(driver, &grid, &Conditions::default());
        let resonance = driver_resonance(driver);
        let rated_ohm = rated.unwrap_or_else(|| rated_ohm(&grid, &cold.z_ohm, band_hz));
        let load = cold.behind_lead(lead_ohm);
        let mut this = Self {
            grid,
            z_ohm: load.z_ohm,
            pressure_pa_per_v: Some(load.pressure_pa_per_v),
            band_hz,
            filter_band_hz,
            crossovers,
            lead_ohm,
            resonance_hz: resonance.map(Quantity::si),
            notes: load.notes,
            ..Self::resistor(rated_ohm)
        };
        this.reference_ohm = this.mean_behind_ohm();
        Some(this)
    }

    /// Geometric mean of what is behind the pad over the driver's band; ohm.
    fn mean_behind_ohm(&self) -> f64 {
        let ln_ohm = |i: usize| -self.open_at(i).behind_siemens.norm().ln();
        self.mean_over(self.band(), ln_ohm).exp()
    }

    /// The same load on other frequencies, its voice coil so much hotter, K; bands and reference stay. `driver` is the
    /// project and the name with which it was made.
    #[must_use]
    pub fn around(&self, driver: Option<(&Project, &str)>, grid: Grid, coil_rise_k: f64) -> Self {
        let conditions = Conditions {
            coil_rise_k,
            ..Conditions::default()
        };
        let driver = driver.and_then(|(project, name)| project.drivers.get(name));
        let load = driver.map(|driver| driver_load(driver, &grid, &conditions));
        let load = load.map(|load| load.behind_lead(self.lead_ohm));
        let (z_ohm, pressure_pa_per_v) = match load {
            Some(load) => (load.z_ohm, Some(load.pressure_pa_per_v)),
            None => {
                let ohm = self.reference_ohm.into();
                (Spectrum::from_fn(grid.len(), |_| ohm), None)
            }
        };
        Self {
            grid,
            z_ohm,
            pressure_pa_per_v,
            ..self.clone()
        }
    }

    /// The same with what the network has across the driver, across the pad's series resistor and between
    /// pad and driver, and with the data of the winding. The mean over the band is taken anew where the pad
    /// is not right before the driver. Other drivers that lie across this one count where `z_ohm_of` gives their
    /// impedance, lead included, over [`PadLoad::grid`].
    #[must_use]
    pub fn beside(
        mut self,
        network: &Network,
        place: &PadInNetwork,
        z_ohm_of: &dyn Fn(&str) -> Option<Spectrum>,
    ) -> Self {
        self.open = place.open(network, &self.grid, &self.z_ohm, z_ohm_of);
        self.bridged = !place.bridge.is_empty();
        self.ahead_of_filter = place.ahead_of_filter();
        self.tail = place.tail;
        self.winding = Some(place.winding.clone());
        if self.ahead_of_filter || self.tail {
            self.reference_ohm = self.mean_behind_ohm();
        }
        self
    }

    /// The same with the data of a winding, for an autoformer.
    #[must_use]
    pub fn wound(self, winding: Option<AutoformerWinding>) -> Self {
        Self { winding, ..self }
    }

    /// The same without what bridges the series resistor.
    #[must_use]
    pub fn without_bridge(mut self) -> Self {
        self.open = self.open.map(OpenPlace::without_bridge);
        self.bridged = false;
        self
    }

    /// What the tail of a larger pad takes at a place of the grid, in dB; 0 without one.
    #[must_use]
    pub fn tail_db(&self, i: usize) -> f64 {
        match self.tail {
            true => -20.0 * self.onward(i).norm().log10(),
            false => 0.0,
        }
    }

    /// Mean of [`PadLoad::tail_db`] over the driver's band.
    #[must_use]
    pub fn mean_tail_db(&self) -> f64 {
        self.mean_over(self.band(), |i| self.tail_db(i))
    }

    /// Voltage at the driver over that at the pad's output, at a place of the grid.
    #[must_use]
    pub fn onward(&self, i: usize) -> Complex64 {
        (self.open.as_ref()).map_or(Complex64::ONE, |open| open.onward(i))
    }

    /// Impedance that the driver sees at a place of the grid when the pad's output is `source_ohm`: with what
    /// lies across the driver, or through the filter, and with its lead; ohm.
    #[must_use]
    pub fn at_driver_ohm(&self, i: usize, source_ohm: Complex64) -> Complex64 {
        let at_terminal = (self.open.as_ref()).map_or(source_ohm, |open| {
            open.at_driver_ohm(i, self.z_ohm.at(i), source_ohm)
        });
        at_terminal + self.lead_ohm
    }

    /// The network with the pad taken out, at a place of the grid.
    pub(super) fn open_at(&self, i: usize) -> PadPort {
        (self.open.as_ref()).map_or_else(|| PadPort::plain(self.z_ohm.at(i)), |open| open.at(i))
    }

    /// A pad's branches at a place of the grid.
    pub(super) fn branches(&self, pad: Pad, i: usize) -> PadBranches {
        PadBranches::new(pad, self.winding.as_ref(), self.grid.omega()[i])
    }

    /// What a pad does at a place of the grid, fed from `source_ohm`.
    #[must_use]
    pub fn on(&self, pad: Pad, i: usize, source_ohm: Complex64) -> PadOnLoad {
        self.open_at(i).with(&self.branches(pad, i), source_ohm)
    }

    /// Places of the grid within [`PadLoad::band_hz`], at least one.
    #[must_use]
    pub fn band(&self) -> Range<usize> {
        self.places(self.band_hz)
    }

    /// Places of the grid within [`PadLoad::filter_band_hz`], at least one.
    #[must_use]
    pub fn filter_band(&self) -> Range<usize> {
        self.places(self.filter_band_hz)
    }

    /// Places of the grid within a band, at least one.
    #[must_use]
    pub fn places(&self, [from_hz, to_hz]: [f64; 2]) -> Range<usize> {
        let f_hz = self.grid.f_hz();
        // An end that differs from a frequency of the grid by rounding counts as inside.
        let from = f_hz.partition_point(|f| *f < from_hz * (1.0 - 1e-9));
        let to = f_hz.partition_point(|f| *f <= to_hz * (1.0 + 1e-9));
        let from = from.min(f_hz.len() - 1);
        from..to.max(from + 1)
    }

    /// Mean of a value over places of the grid.
    pub(super) fn mean_over(&self, places: Range<usize>, value: impl Fn(usize) -> f64) -> f64 {
        let count = places.len().max(1) as f64;
        places.map(value).sum::<f64>() / count
    }

    /// A value on the grid read at any frequency, straight between the points in log-frequency; held
    /// beyond the ends.
    #[must_use]
    pub fn read(&self, values: &[f64], f_hz: f64) -> f64 {
        let grid = self.grid.f_hz();
        let above = grid.partition_point(|f| *f < f_hz);
        if above == 0 {
            return values[0];
        }
        if above == grid.len() {
            return values[above - 1];
        }
        let [low, high] = [grid[above - 1], grid[above]];
        let share = (f_hz / low).ln() / (high / low).ln();
        values[above - 1] + share * (values[above] - values[above - 1])
    }
}

fn audio_grid(points: usize) -> Grid {
    let [from_hz, to_hz] = AUDIO_BAND_HZ;
    Grid::log_spaced(from_hz, to_hz, points).expect("a band that rises")
}

/// Rated impedance in ohm: the largest one of the trade whose 80 % is not above the least |Z| in the
/// band (IEC 60268-5:2003, clause 16.1); below them all, the least |Z| itself over 80 %.
#[must_use]
pub fn rated_ohm(grid: &Grid, z_ohm: &Spectrum, band_hz: [f64; 2]) -> f64 {
    let least = least_impedance(grid, z_ohm, band_hz[0], band_hz[1])
        .map_or_else(|| z_ohm.at(0).norm(), |least| least.magnitude_ohm);
    let mut fitting = RATED_OHM.iter().rev();
    let found = fitting.find(|rated| LEAST_SHARE_OF_RATED_LOAD * **rated <= least);
    found.copied().unwrap_or(least / LEAST_SHARE_OF_RATED_LOAD)
}

fn crossovers(project: &Project, name: &str) -> Vec<(f64, Side)> {
    let sides = project.crossovers.iter().flat_map(|crossover| {
        let f_hz = crossover.frequency.si();
        let [lower, upper] = &crossover.between;
        let rising = (upper == name).then_some((f_hz, Side::Rising));
        let falling = (lower == name).then_some((f_hz, Side::Falling));
        rising.into_iter().chain(falling)
    });
    sides.collect()
}

/// The band of the driver and that of its filter.
fn bands(project: &Project, driver: &Driver, crossovers: &[(f64, Side)]) -> [[f64; 2]; 2] {
    let at = |side: Side| {
        let found = crossovers.iter().find(|(_, of)| *of == side);
        found.map(|(f_hz, _)| *f_hz)
    };
    let (low, high) = (at(Side::Rising), at(Side::Falling));
    // Where no crossover ends the band, what the driver can do does, within what is asked for.
    let usable = driver.usable.map(|ends| ends.map(Quantity::si));
    let open = match (crossovers.is_empty(), usable) {
        (_, Some([from, to])) => [
            from.max(project.aim.from.si()),
            to.min(project.aim.to.si()).max(from),
        ],
        (false, None) => [project.aim.from.si(), project.aim.to.si()],
        (true, None) => AUDIO_BAND_HZ,
    };
    let clamp = |[from, to]: [f64; 2]| {
        let from = from.clamp(AUDIO_BAND_HZ[0], AUDIO_BAND_HZ[1]);
        [from, to.clamp(from, AUDIO_BAND_HZ[1])]
    };
    let band = clamp([low.unwrap_or(open[0]), high.unwrap_or(open[1])]);
    let filter = clamp([
        low.map_or(band[0], |f| f / FILTER_REACH),
        high.map_or(band[1], |f| f * FILTER_REACH),
    ]);
    [band, filter]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_rated_impedance_is_the_largest_that_the_standard_allows() {
        let grid = audio_grid(9);
        for (least, rated) in [
            (6.4, 8.0),
            (6.39, 6.0),
            (12.8, 16.0),
            (3.2, 4.0),
            (1.0, 1.25),
        ] {
            let z = Spectrum::from_fn(9, |i| (least + i as f64).into());
            let found = rated_ohm(&grid, &z, AUDIO_BAND_HZ);
            assert!((found - rated).abs() < 1e-12, "{least}: {found}");
        }
    }

    #[test]
    fn a_band_holds_a_point_however_narrow_and_reading_is_between_points() {
        let load = PadLoad::resistor(8.0);
        assert_eq!(load.band(), 0..31);
        for band in [[1000.1, 1000.2], [1.0, 2.0], [30e3, 40e3]] {
            assert!(!load.places(band).is_empty(), "{band:?}");
            assert!(load.places(band).end <= 31);
        }
        let ln: Vec<f64> = load.grid.f_hz().iter().map(|f| f.ln()).collect();
        assert!((load.read(&ln, 777.0) - 777f64.ln()).abs() < 1e-12);
        assert!((load.read(&ln, 1.0) - 20f64.ln()).abs() < 1e-12);
    }
}
