//! Cone driver in an infinite baffle, a closed or a vented box, from its data sheet.
//!
//! After R. H. Small, *Closed-Box Loudspeaker Systems* and *Vented-Box Loudspeaker Systems*, J. Audio
//! Eng. Soc. 20–21, 1972–73. Everything is brought to the electrical side of the motor:
//!
//! ```text
//!   Re ── lossy inductance ──┬───────┬───────┬───────┐
//!                           Res    Lces    Cmes    box: Lceb ── Cmep ── R
//!                            └───────┴───────┴───────┘
//! ```
//!
//! The voltage over the parallel parts is Bl times the velocity of the diaphragm. The air in the box is
//! an inductance Lceb = Lces/α, α = Vas/Vb. A vent resonates with it at the tuning ωb:
//! Cmep = 1/(ωb²·Lceb); a leak of quality QL at the tuning is R = ωb·Lceb/QL. What the loudspeaker
//! gives off is the flow that compresses the air in the box, so the volume velocity is Sd/Bl times the
//! voltage over Lceb; in a closed box and in a baffle that is the voltage over the motional branch.
//! Sound: a small source into a half space, p = jωρU/(2πr) at r = 1 m.
//!
//! Resonances of the cone itself are stated: each is a peak (or a dip) of its sound, of minimum phase,
//! `(s² + A·s·ω₀/Q + ω₀²)/(s² + s·ω₀/Q + ω₀²)` with A its level as a ratio.
//!
//! Limits: small signals, no directivity; the cabinet's front is `baffle`.

use std::f64::consts::TAU;

use netlist::project::{BreakUp, Cone};
use num_complex::Complex64;

use super::voice_coil::lossy_inductance_ohm;
use super::{Conditions, DriverLoad};
use crate::air::Air;
use crate::coil::copper::hot_factor;
use crate::grid::Grid;
use crate::spectrum::Spectrum;

/// Mechanical quantities of a cone driver, derived from its data sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ConeMechanics {
    /// Force factor, in tesla metre.
    pub bl_t_m: f64,
    /// Moving mass with its air load, in kilogram.
    pub mms_kg: f64,
    /// Compliance of the suspension, in metre per newton.
    pub cms_m_per_n: f64,
    /// Mechanical resistance, in newton second per metre.
    pub rms_n_s_per_m: f64,
}

impl ConeMechanics {
    /// Cms = Vas/(ρc²Sd²), Mms = 1/(ωs²Cms), Rms = ωs·Mms/Qms, Bl = √(ωs·Mms·Re/Qes); cold coil.
    #[must_use]
    pub fn of(cone: &Cone, air: Air) -> Self {
        let omega_s = TAU * cone.fs.0;
        let stiffness = air.rho_kg_per_m3 * air.c_m_per_s.powi(2) * cone.sd.0.powi(2);
        let cms_m_per_n = cone.vas.0 / stiffness;
        let mms_kg = 1.0 / (omega_s * omega_s * cms_m_per_n);
        Self {
            bl_t_m: (omega_s * mms_kg * cone.re.0 / cone.qes).sqrt(),
            mms_kg,
            cms_m_per_n,
            rms_n_s_per_m: omega_s * mms_kg / cone.qms,
        }
    }
}

/// The parts of the box branch on the electrical side.
#[derive(Debug, Clone, Copy)]
struct BoxBranch {
    lceb: f64,
    /// Elastance 1/Cmep and leak R; `None` without a vent.
    vent: Option<(f64, f64)>,
}

/// What the stated resonances of a cone make of its sound.
fn break_up(resonances: &[BreakUp], omega: f64) -> Complex64 {
    resonances.iter().fold(Complex64::ONE, |product, one| {
        let s = Complex64::new(0.0, omega / (TAU * one.frequency.0));
        let level = 10f64.powf(one.level.0 / 20.0);
        product * (s * s + s * level / one.q + 1.0) / (s * s + s / one.q + 1.0)
    })
}

/// Impedance and sound of a cone driver over the grid.
pub(super) fn cone_load(cone: &Cone, grid: &Grid, conditions: &Conditions) -> DriverLoad {
    let air = conditions.air;
    let mechanics = ConeMechanics::of(cone, air);
    let re_hot = cone.re.0 * hot_factor(cone.coil_rise.0 + conditions.coil_rise_k);

    // Electrical equivalents from the Qs directly: Res = Re·Qms/Qes and so on hold Bl² within.
    let omega_s = TAU * cone.fs.0;
    let res = cone.re.0 * cone.qms / cone.qes;
    let lces = cone.re.0 / (omega_s * cone.qes);
    let cmes = cone.qes / (omega_s * cone.re.0);
    let branch = cone.enclosure.map(|enclosure| {
        let lceb = lces * enclosure.volume.0 / cone.vas.0;
        let vent = enclosure.tuning.map(|tuning| {
            let omega_b = TAU * tuning.0;
            let leak = omega_b * lceb / enclosure.leakage_q();
            (omega_b * omega_b * lceb, leak)
        });
        BoxBranch { lceb, vent }
    });
    let flow_per_volt = cone.sd.0 / mechanics.bl_t_m;

    let mut z_ohm = Spectrum::zeros(grid.len());
    let mut pressure = Spectrum::zeros(grid.len());
    for (i, &omega) in grid.omega().iter().enumerate() {
        let mut y = Complex64::new(1.0 / res, omega * cmes - 1.0 / (omega * lces));
        // Share of the motional voltage that is over Lceb.
        let mut share = Complex64::new(1.0, 0.0);
        if let Some(BoxBranch { lceb, vent }) = branch {
            let (elastance, leak) = vent.unwrap_or((0.0, 0.0));
            let x_box = Complex64::new(0.0, omega * lceb);
            let z_box = x_box + Complex64::new(leak, -elastance / omega);
            // A lossless vent at its tuning shorts the motional branch: keep the admittance finite.
            let z_box = if z_box.norm() < 1e-12 * x_box.norm() {
                Complex64::new(1e-12 * x_box.norm(), 0.0)
            } else {
                z_box
            };
            y += z_box.inv();
            share = x_box / z_box;
        }
        let z_motional = y.inv();
        let z = re_hot + lossy_inductance_ohm(&cone.inductance, omega) + z_motional;
        let flow = share * z_motional / z * flow_per_volt * break_up(&cone.break_up, omega);
        z_ohm.set(i, z);
        pressure.set(
            i,
            Complex64::new(0.0, omega * air.rho_kg_per_m3 / TAU) * flow,
        );
    }
    DriverLoad {
        z_ohm,
        pressure_pa_per_v: pressure,
        re_ohm: re_hot,
        notes: Vec::new(),
    }
}
