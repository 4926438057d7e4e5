//! Compression driver on a horn of stated shape, from its moving parts.
//!
//! ```text
//!   Re ── lossy inductance ── Bl²/Zm        Zm = Rms + jωMms + 1/(jωCms) + Sd²·(Zrear + Zfront)
//!   Zrear = ρc²/(jωV) of the closed chamber behind the diaphragm
//!   Zfront = the front chamber's ρc²/(jωV) beside the horn's throat (see `waveguide`)
//! ```
//!
//! (L. L. Beranek, *Acoustics*, the chapter on horn loudspeakers; from memory.) The sound at 1 m on the axis is
//! that of the power which leaves the mouth, W = |U|²·Re(Zmouth), sent where the horn sends it:
//! p² = W·ρc·Q/(4π), Q the directivity factor of the mouth as a flat piston, or of the stated coverage where that
//! is wider. For the piston alone this is p = ωρU/(2π), exactly.
//!
//! The phase is that of the flow at the mouth, the way through the horn within it: the acoustic centre that
//! `position` says is the mouth.

use netlist::project::{Coverage, HornDriver};
use num_complex::Complex64;

use super::voice_coil::lossy_inductance_ohm;
use super::waveguide::Waveguide;
use super::{Conditions, DriverLoad};
use crate::air::Air;
use crate::coil::copper::hot_factor;
use crate::grid::Grid;
use crate::radiation::{Pattern, radiation_impedance};
use crate::spectrum::Spectrum;

/// Impedance and sound of a compression driver on its horn over the grid.
pub(super) fn horn_load(
    driver: &HornDriver,
    coverage: Option<Coverage>,
    grid: &Grid,
    conditions: &Conditions,
) -> DriverLoad {
    let air = conditions.air;
    let re_hot = driver.re.0 * hot_factor(driver.coil_rise.0 + conditions.coil_rise_k);
    let guide = Waveguide::new(&driver.horn);
    let mut beam = coverage.map(|coverage| Beam::new(driver, coverage));
    let (bl, sd) = (driver.bl.0, driver.sd.0);
    let bulk = air.rho_kg_per_m3 * air.c_m_per_s * air.c_m_per_s;

    let mut z_ohm = Spectrum::zeros(grid.len());
    let mut pressure = Spectrum::zeros(grid.len());
    for (i, &omega) in grid.omega().iter().enumerate() {
        let throat = guide.throat(omega, air);
        let jomega = Complex64::new(0.0, omega);
        // Share of the diaphragm's flow that goes on into the throat, past the front chamber.
        let into_throat = match driver.front_chamber {
            Some(volume) => (1.0 + jomega * volume.0 / bulk * throat.impedance).inv(),
            None => Complex64::new(1.0, 0.0),
        };
        let z_mechanical = diaphragm(driver, omega, air) + sd * sd * throat.impedance * into_throat;
        let z = re_hot + lossy_inductance_ohm(&driver.inductance, omega) + bl * bl / z_mechanical;
        // v = Bl·i/Zm
        let flow = bl / (z * z_mechanical) * sd * into_throat * throat.mouth_flow;
        let on_axis = jomega * air.rho_kg_per_m3 / std::f64::consts::TAU * flow;
        let spread = beam.as_mut().map_or(1.0, |beam| beam.spread(omega, air));
        z_ohm.set(i, z);
        pressure.set(i, on_axis * spread);
    }
    DriverLoad {
        z_ohm,
        pressure_pa_per_v: pressure,
        re_ohm: re_hot,
        notes: Vec::new(),
    }
}

/// Mechanical impedance of the diaphragm with the air behind it, N·s/m.
fn diaphragm(driver: &HornDriver, omega: f64, air: Air) -> Complex64 {
    let omega_s = std::f64::consts::TAU * driver.fs.0;
    let (mass, loss) = (driver.mms.0, omega_s * driver.mms.0 / driver.qms);
    let stiffness = omega_s * omega_s * mass + rear_stiffness(driver, air);
    Complex64::new(loss, omega * mass - stiffness / omega)
}

/// Stiffness of the air behind the diaphragm where its volume is stated, N/m.
fn rear_stiffness(driver: &HornDriver, air: Air) -> f64 {
    let bulk = air.rho_kg_per_m3 * air.c_m_per_s * air.c_m_per_s;
    let volume = driver.rear_chamber;
    volume.map_or(0.0, |volume| bulk * driver.sd.0 * driver.sd.0 / volume.0)
}

/// Resonance of the diaphragm off its horn with the air behind it, Hz.
pub(super) fn diaphragm_resonance_hz(driver: &HornDriver) -> f64 {
    let own = (std::f64::consts::TAU * driver.fs.0).powi(2) * driver.mms.0;
    let stiffness = own + rear_stiffness(driver, Air::default());
    (stiffness / driver.mms.0).sqrt() / std::f64::consts::TAU
}

/// What a beam wider than the mouth's own takes of the pressure on the axis.
struct Beam {
    pattern: Pattern,
    radius_m: f64,
}

impl Beam {
    fn new(driver: &HornDriver, coverage: Coverage) -> Self {
        Self {
            pattern: Pattern {
                size: Some(driver.horn.mouth),
                coverage: Some(coverage),
                cabinet: None,
            },
            radius_m: driver.horn.mouth.radius_m(),
        }
    }

    /// √(Q of the beam / Q of the piston), the power being the same.
    fn spread(&mut self, omega: f64, air: Air) -> f64 {
        // The piston's mean square over the half space, 2R₁/(ka)², from the power by its impedance.
        let ka = omega * self.radius_m / air.c_m_per_s;
        let area_m2 = std::f64::consts::PI * self.radius_m * self.radius_m;
        let unit = air.rho_kg_per_m3 * air.c_m_per_s / area_m2;
        let resistance = radiation_impedance(self.radius_m, omega, air).re / unit;
        let piston = 2.0 * resistance / (ka * ka);
        (piston / self.pattern.front_mean_square(omega, air)).sqrt()
    }
}

#[cfg(test)]
mod tests {
    use netlist::project::{FiniteHorn, Flare, LossyInductance, Opening};
    use netlist::quantity::{
        CubicMetres, Degrees, Henries, Hertz, Kelvins, Kilograms, Metres, Ohms, SquareMetres,
        TeslaMetres,
    };

    use super::*;
    use crate::sound::level_db;

    /// An invented driver with a diaphragm of 45 mm on a horn of 300 mm.
    fn driver() -> HornDriver {
        HornDriver {
            re: Ohms(6.0),
            inductance: LossyInductance::SeriesParallel {
                l1: Henries(0.05e-3),
                l2: Henries(0.0),
                r2: Ohms(0.0),
            },
            mms: Kilograms(1.0e-3),
            fs: Hertz(450.0),
            qms: 5.0,
            bl: TeslaMetres(8.0),
            sd: SquareMetres(16e-4),
            rear_chamber: None,
            front_chamber: None,
            horn: FiniteHorn {
                throat: Opening::Round {
                    diameter: Metres(0.025),
                },
                mouth: Opening::Round {
                    diameter: Metres(0.3),
                },
                length: Metres(0.28),
                flare: Flare::Exponential,
            },
            coil_rise: Kelvins(0.0),
        }
    }

    fn grid() -> Grid {
        Grid::log_spaced(50.0, 20e3, 200).unwrap()
    }

    fn load(driver: &HornDriver, coverage: Option<Coverage>) -> DriverLoad {
        horn_load(driver, coverage, &grid(), &Conditions::default())
    }

    /// The power that the amplifier gives is what the coil, the suspension and the air take, and the last is the
    /// sound: p²/(ρc) over the half space is never more than what goes in, and with all losses taken out all of it.
    #[test]
    fn power_in_is_power_out() {
        let mut lossless = driver();
        lossless.qms = 1e12;
        lossless.front_chamber = Some(CubicMetres(0.5e-6));
        lossless.rear_chamber = Some(CubicMetres(30e-6));
        let found = load(&lossless, None);
        let air = Air::default();
        for (i, &omega) in grid().omega().iter().enumerate() {
            let z = found.z_ohm.at(i);
            let taken = (z.re - lossless.re.0) / z.norm_sqr();
            let pattern = Pattern {
                size: Some(lossless.horn.mouth),
                coverage: None,
                cabinet: None,
            };
            let p = found.pressure_pa_per_v.at(i).norm_sqr();
            let mean = pattern.front_mean_square(omega, air);
            let sound = p * mean * std::f64::consts::TAU / (air.rho_kg_per_m3 * air.c_m_per_s);
            assert!(
                (sound / taken - 1.0).abs() < 0.02,
                "{}: {sound} {taken}",
                grid().f_hz()[i]
            );
        }
    }

    /// A stated coverage moves no power: what it takes of the axis it gives to the sides.
    #[test]
    fn coverage_keeps_the_power() {
        let coverage = Coverage {
            horizontal: Degrees(90.0),
            vertical: Degrees(60.0),
        };
        let (plain, wide) = (load(&driver(), None), load(&driver(), Some(coverage)));
        let air = Air::default();
        for (i, &omega) in grid().omega().iter().enumerate() {
            assert!((plain.z_ohm.at(i) - wide.z_ohm.at(i)).norm() < 1e-12);
            let power = |found: &DriverLoad, coverage| {
                let pattern = Pattern {
                    size: Some(driver().horn.mouth),
                    coverage,
                    cabinet: None,
                };
                found.pressure_pa_per_v.at(i).norm_sqr() * pattern.front_mean_square(omega, air)
            };
            let ratio = power(&plain, None) / power(&wide, Some(coverage));
            assert!((ratio - 1.0).abs() < 0.02, "{}: {ratio}", grid().f_hz()[i]);
        }
        // At the top the mouth alone would beam.
        let last = grid().len() - 1;
        let [plain, wide] = [&plain, &wide].map(|found| level_db(found.pressure_pa_per_v.at(last)));
        assert!(plain - wide > 10.0, "{plain} {wide}");
    }

    /// Without a horn to speak of, below its cut-off, the impedance peaks near the diaphragm's resonance, and a
    /// small chamber behind it raises that.
    #[test]
    fn rear_chamber_raises_the_resonance() {
        assert!((diaphragm_resonance_hz(&driver()) - 450.0).abs() < 1e-9);
        let mut closed = driver();
        closed.rear_chamber = Some(CubicMetres(20e-6));
        // ρc² = 141.8 kPa: 141.8e3·(16e-4)²/20e-6 = 18.2 kN/m beside 8.0 kN/m.
        let found = diaphragm_resonance_hz(&closed);
        assert!((found / 814.0 - 1.0).abs() < 0.01, "{found}");
    }

    /// A front chamber is a low pass: its compliance V/ρc² beside the throat's resistance ρc/S, here 13.4 kHz,
    /// √(1 + (20/13.4)²) = 1.80 at 20 kHz.
    #[test]
    fn front_chamber_takes_the_top() {
        let mut chamber = driver();
        chamber.front_chamber = Some(CubicMetres(2e-6));
        let [open, closed] = [driver(), chamber].map(|driver| load(&driver, None));
        let ratio =
            |i: usize| closed.pressure_pa_per_v.at(i).norm() / open.pressure_pa_per_v.at(i).norm();
        let (low, high) = (ratio(40), ratio(grid().len() - 1));
        assert!(
            (low - 1.0).abs() < 0.1 && (high * 1.80 - 1.0).abs() < 0.05,
            "{low} {high}"
        );
    }
}
