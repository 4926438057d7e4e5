//! What was measured close to a diaphragm, as sound at a distance; and near and far field as one response.
//!
//! In front of the middle of a piston of radius a in a wall without end, as long as it is small to the wave, the
//! pressure is 2r/a times that at a distance r (D. B. Keele, "Low-Frequency Loudspeaker Assessment by Nearfield
//! Sound-Pressure Measurement", J. Audio Eng. Soc. 22, 1974; from memory). Both follow from the piston's closed form:
//!
//! ```text
//! p_near = 2 ρ c u sin(ka/2),   p_far = ρ c u k a² / (2 r)
//! ```
//!
//! which is 0.4 dB off at ka = 1 and 1 dB at ka = 1.6. A vent's near field adds with the ratio of radii, since sound far
//! away goes by volume velocity, p_near · radius. The cabinet's front is then put around the sum (`baffle`), as a near
//! field knows nothing of it.
//!
//! **Joining**. Levels stay as they follow; over half an octave to each side of the join one gives way to the other, in
//! dB and in unwrapped phase. The phase of the far field is kept, and that of the near field is made late by the time,
//! and turned by half a turn where it must be, with which both agree best over that band.

use std::borrow::Cow;
use std::f64::consts::{PI, SQRT_2, TAU};

use netlist::project::{Baffle, Driver, MeasuredDriver, NearField, NearJoin, RoomLoading, Source};
use netlist::table::Table;
use num_complex::Complex64;

use super::Curve;
use super::baffle;
use super::table_curve::measured_curve;
use crate::air::SPEED_OF_SOUND_M_PER_S;
use crate::grid::Grid;
use crate::logarithm::DB_PER_NEPER;

/// Rows over the band in which one gives way to the other.
const ROWS: usize = 25;
/// How much of the wave a near field may take: ka where its level is 1 dB off.
const MOST_KA: f64 = 1.6;

/// How near and far field of a response meet.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Join {
    /// Where the one takes over from the other, Hz.
    pub at_hz: f64,
    /// Where it begins to, Hz.
    pub from_hz: f64,
    /// Where it has, Hz.
    pub to_hz: f64,
    /// How much louder the near field is than the far field between these, dB.
    pub misfit_db: f64,
    /// What their phases are apart there once the near field is late, degrees rms; `None` where the far field has no
    /// phase.
    pub misfit_deg: Option<f64>,
    /// By how much the near field was made late, s; 0 where the far field has no phase.
    pub delay_s: f64,
    /// Whether the one was wired the other way round.
    pub inverted: bool,
}

/// The response of a measured driver as one table, at the distance and drive of its far field, with the phase
/// reference of that; `None` for a modelled one.
#[must_use]
pub fn measured_response(driver: &Driver) -> Option<Cow<'_, Table>> {
    let Source::Measured(measured) = &driver.source else {
        return None;
    };
    Some(whole(measured, driver.baffle.as_ref(), SPEED_OF_SOUND_M_PER_S).0)
}

/// Highest frequency at which a near field tells the level at a distance within 1 dB, Hz.
#[must_use]
pub fn near_field_to_hz(near: &NearField) -> f64 {
    MOST_KA * SPEED_OF_SOUND_M_PER_S / (TAU * radius_m(near))
}

fn radius_m(near: &NearField) -> f64 {
    (near.sd.0 / PI).sqrt()
}

/// The response as one table, and how its fields meet where there are two.
pub(super) fn whole<'a>(
    measured: &'a MeasuredDriver,
    front: Option<&Baffle>,
    c_m_per_s: f64,
) -> (Cow<'a, Table>, Option<Join>) {
    let Some(near) = &measured.near else {
        return (Cow::Borrowed(&measured.response), None);
    };
    let at_distance = |table: &Table, drive_v: f64, front: Option<&Baffle>| {
        let gain = 0.5 * radius_m(near) / measured.distance.0 * measured.drive.0 / drive_v;
        far_away(table, near, gain, front, c_m_per_s)
    };
    let Some(joined) = &near.joined else {
        let table = at_distance(&measured.response, measured.drive.0, front);
        return (Cow::Owned(table), None);
    };
    let lower = at_distance(&joined.response, joined.drive.0, front);
    // A far field is one without a room, and that is what the near field is held against.
    let free = front.map(|front| {
        let mut front = *front;
        front.cabinet.room = RoomLoading::Free;
        front
    });
    let compared = match front.is_some_and(|front| front.cabinet.room != RoomLoading::Free) {
        true => &at_distance(&joined.response, joined.drive.0, free.as_ref()),
        false => &lower,
    };
    let join = FieldJoin::new(compared, &measured.response, joined);
    let table = join.table(&lower, &measured.response);
    (Cow::Owned(table), Some(join.found))
}

/// A near field as sound at a distance: times `gain`, with its vent, behind the front of the cabinet.
fn far_away(
    table: &Table,
    near: &NearField,
    gain: f64,
    front: Option<&Baffle>,
    c_m_per_s: f64,
) -> Table {
    let mut phase_deg = table.phase_deg.clone();
    let mut level_db = table.magnitude.clone();
    let mut turn = |i: usize, factor: Complex64| {
        level_db[i] += DB_PER_NEPER * factor.norm().ln();
        if let Some(phase) = &mut phase_deg {
            phase[i] += factor.arg().to_degrees();
        }
    };
    let port = near.port.as_ref().map(|port| {
        let share = f64::from(port.count) * port.size.radius_m() / radius_m(near);
        (share, measured_curve(&port.response, Curve::Response))
    });
    let cone = measured_curve(table, Curve::Response);
    // Rows of a table rise and are above 0, so that they are a grid.
    let front = (front.zip(Grid::new(table.f_hz.clone()).ok()))
        .map(|(front, grid)| baffle::factor(front, radius_m(near), &grid, c_m_per_s));
    for (i, &f_hz) in table.f_hz.iter().enumerate() {
        let mut factor = Complex64::from(gain);
        if let Some((share, port)) = &port {
            let (port, cone) = (port.at(f_hz), cone.at(f_hz));
            factor *= 1.0 + share * Complex64::from_polar((port.0 - cone.0).exp(), port.1 - cone.1);
        }
        if let Some(front) = &front {
            factor *= front.at(i);
        }
        turn(i, factor);
    }
    Table {
        file: table.file.clone(),
        f_hz: table.f_hz.clone(),
        magnitude: level_db,
        phase_deg,
        zero_hz_left_out: table.zero_hz_left_out,
    }
}

/// How two tables are joined.
struct FieldJoin {
    f_hz: Vec<f64>,
    found: Join,
    /// Whether there is a phase.
    phase: bool,
}

impl FieldJoin {
    fn new(near: &Table, far: &Table, joined: &NearJoin) -> Self {
        let at_hz = joined.at.0;
        let last = |table: &Table| table.f_hz[table.f_hz.len() - 1];
        let from_hz = (at_hz / SQRT_2).max(near.f_hz[0]).max(far.f_hz[0]);
        let to_hz = (at_hz * SQRT_2).min(last(near)).min(last(far));
        let f_hz: Vec<f64> = (0..ROWS)
            .map(|i| from_hz * (to_hz / from_hz).powf(i as f64 / (ROWS - 1) as f64))
            .collect();
        let (near, far_curve) = (
            measured_curve(near, Curve::Response),
            measured_curve(far, Curve::Response),
        );
        let phase = far.phase_deg.is_some();
        let apart: Vec<(f64, f64)> = (f_hz.iter())
            .map(|&f| {
                let (near, far) = (near.at(f), far_curve.at(f));
                (DB_PER_NEPER * (near.0 - far.0), far.1 - near.1)
            })
            .collect();
        let mut found = Join {
            at_hz,
            from_hz,
            to_hz,
            misfit_db: apart.iter().map(|(db, _)| db).sum::<f64>() / ROWS as f64,
            misfit_deg: None,
            delay_s: 0.0,
            inverted: false,
        };
        if phase {
            let radian: Vec<f64> = apart.iter().map(|(_, radian)| *radian).collect();
            let (delay_s, turns, rms) = late(&f_hz, &radian);
            found.delay_s = delay_s;
            found.inverted = turns.rem_euclid(2.0) > 0.5;
            found.misfit_deg = Some(rms.to_degrees());
        }
        Self { f_hz, found, phase }
    }

    /// Both as one; `near` is that whose levels are used.
    fn table(&self, near: &Table, far: &Table) -> Table {
        let Join { from_hz, to_hz, .. } = self.found;
        let (near_curve, far_curve) = (
            measured_curve(near, Curve::Response),
            measured_curve(far, Curve::Response),
        );
        // Near fields in the phase of the far field, rad.
        let turned = |f: f64, phase: f64| {
            let half = if self.found.inverted { PI } else { 0.0 };
            phase + half - TAU * f * self.found.delay_s
        };
        let lower = |f: f64| {
            let (ln, phase) = near_curve.at(f);
            (ln, turned(f, phase))
        };
        let at_hz = self.found.at_hz;
        // Whole turns between two phases that were each unwrapped from their own ends.
        let turns = ((far_curve.at(at_hz).1 - lower(at_hz).1) / TAU).round() * TAU;
        let mut rows: Vec<(f64, f64, f64)> = Vec::new();
        let mut put = |f: f64, (ln, phase): (f64, f64)| {
            rows.push((f, DB_PER_NEPER * ln, phase.to_degrees()));
        };
        let below = |f: &&f64| **f < from_hz * (1.0 - 1e-9);
        let above = |f: &&f64| **f > to_hz * (1.0 + 1e-9);
        for &f in near.f_hz.iter().take_while(below) {
            put(f, lower(f));
        }
        for &f in &self.f_hz {
            let x = (f / from_hz).ln() / (to_hz / from_hz).ln();
            let share = x * x * (3.0 - 2.0 * x);
            let (near, far) = (lower(f), far_curve.at(f));
            let between = |a: f64, b: f64| a + share * (b - a);
            put(f, (between(near.0, far.0), between(near.1, far.1 - turns)));
        }
        for &f in far.f_hz.iter().skip_while(|f| !above(f)) {
            put(f, far_curve.at(f));
        }
        Table {
            file: far.file.clone(),
            f_hz: rows.iter().map(|row| row.0).collect(),
            magnitude: rows.iter().map(|row| row.1).collect(),
            phase_deg: (self.phase).then(|| rows.iter().map(|row| row.2).collect()),
            zero_hz_left_out: near.zero_hz_left_out,
        }
    }
}

/// With which delay a phase difference is nothing but that and half turns: the delay in s, the half turns, and
/// what is left, rad rms.
fn late(f_hz: &[f64], radian: &[f64]) -> (f64, f64, f64) {
    let count = f_hz.len() as f64;
    let omega = || f_hz.iter().map(|f| TAU * f);
    let mean = |values: &mut dyn Iterator<Item = f64>| values.sum::<f64>() / count;
    let (x, y) = (mean(&mut omega()), mean(&mut radian.iter().copied()));
    let (above, below) = (omega().zip(radian)).fold((0.0, 0.0), |sums, (omega, radian)| {
        let dx = omega - x;
        (sums.0 + dx * (radian - y), sums.1 + dx * dx)
    });
    let slope = if below > 0.0 { above / below } else { 0.0 };
    let turns = ((y - slope * x) / PI).round();
    let left = || radian.iter().map(|radian| radian - turns * PI);
    let delay_s = -mean(&mut omega().zip(left()).map(|(omega, left)| omega * left))
        / mean(&mut omega().map(|omega| omega * omega));
    let square = mean(&mut (omega().zip(left())).map(|(w, left)| (left + w * delay_s).powi(2)));
    (delay_s, turns, square.sqrt())
}
