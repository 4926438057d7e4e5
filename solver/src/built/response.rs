//! What an impedance does not show: polarity, the level of each way, how far the loudspeaker is from the
//! aim, and which steps of the pads bring it nearer. From measured responses of the sum, of ways, or both.
//!
//! A measured sum is held against the drawn ways with every combination of polarities. For each of them
//! the level of every way and a small difference of its flight time are fitted; the combinations are
//! weighed by what is left, points a sixth of an octave apart taken as independent.

use netlist::project::Project;
use netlist::quantity::Quantity;
use serde::Serialize;

use super::aim::against_aim;
use super::combination::{Combination, Drawn, SumHeard};
use super::evidence::Normal;
use crate::grid::Grid;
use crate::judge::{Finding, FindingCode};
use crate::loudspeaker::Loudspeaker;
use crate::nodal::PlanError;
use crate::sound::level_db;
use crate::spectrum::Spectrum;

/// A measured response.
#[derive(Debug, Clone, PartialEq)]
pub struct Response {
    /// File it came from, for messages.
    pub file: String,
    /// Frequencies, Hz, rising.
    pub f_hz: Vec<f64>,
    /// Level, dB.
    pub level_db: Vec<f64>,
    /// Driver of the way; the sum where none is named.
    pub way: Option<String>,
}

/// A way as it is heard.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WayHeard {
    /// Its driver.
    pub driver: String,
    /// Level against the drawing, dB, the mean of all ways being 0; `None` where nothing says it.
    pub level_db: Option<f64>,
    /// Whether its polarity against the lowest way is the other one; `None` without a sum.
    pub reversed: Option<bool>,
    /// Share of 1 of that polarity.
    pub share: Option<f64>,
}

/// What responses show.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Heard {
    /// The ways, in the order of the network.
    pub ways: Vec<WayHeard>,
    /// The sum; `None` where it was not measured.
    pub sum: Option<SumHeard>,
    /// What the builder must know.
    #[serde(skip)]
    pub findings: Vec<Finding>,
}

/// Points of a comparison: six to an octave are independent.
const PER_OCTAVE: f64 = 6.0;
/// Deviation of a response in a room, dB; of a way's level, dB; of its flight time, s (5 mm).
const NOISE_DB: f64 = 1.0;
const LEVEL_DB: f64 = 1.5;
const FLIGHT_S: f64 = 15e-6;
/// A way is compared where it is at most so far below its top, dB.
const WAY_BELOW_TOP_DB: f64 = 12.0;
/// Levels further off than this are told, dB.
const LEVEL_OFF_DB: f64 = 1.5;
/// Ways of which all combinations of polarities are tried; of more ways one after the other.
const MOST_TOGETHER: usize = 8;
/// A polarity less likely than this is not told as sure.
const SURE: f64 = 0.9;
/// Looks at measured responses; `None` for a brief. Every response has points inside the aim's band.
///
/// # Errors
/// If the network cannot be solved.
pub fn heard(project: &Project, responses: &[Response]) -> Result<Option<Heard>, PlanError> {
    let Some(network) = &project.network else {
        return Ok(None);
    };
    let drivers: Vec<String> = network.driver_names().map(String::from).collect();
    let mut offsets: Vec<Option<f64>> = vec![None; drivers.len()];
    for response in responses.iter().filter(|response| response.way.is_some()) {
        let place = drivers
            .iter()
            .position(|name| Some(name) == response.way.as_ref());
        if let (Some(place), Some(drawn)) = (place, ways(project, response)?) {
            offsets[place] = Some(way_offset(&drawn.ways[place], &drawn.at));
        }
    }
    let mut levels = offsets.clone();
    let (mut polarity, mut sum, mut findings) = (None, None, Vec::new());
    if let Some(response) = responses.iter().find(|response| response.way.is_none())
        && let Some(drawn) = ways(project, response)?
    {
        let fits = fits(&drawn, &centred(&offsets));
        let best = fits
            .first()
            .cloned()
            .unwrap_or_else(|| Combination::none(drivers.len()));
        for (level, found) in levels.iter_mut().zip(&best.levels_db) {
            *level = Some(*found);
        }
        sum = Some(against_aim(project, network, &drawn, &best));
        polarity = Some(fits);
    }
    let levels = centred(&levels);
    let ways: Vec<WayHeard> = (drivers.iter().enumerate())
        .map(|(place, driver)| {
            let best = polarity.as_ref().and_then(|fits| fits.first());
            let reversed = best.map(|best| best.reversed[place]);
            let share = polarity.as_ref().map(|fits| {
                let same = fits
                    .iter()
                    .filter(|fit| Some(fit.reversed[place]) == reversed);
                same.map(|fit| fit.share).sum()
            });
            WayHeard {
                driver: driver.clone(),
                level_db: levels[place],
                reversed,
                share,
            }
        })
        .collect();
    for way in &ways {
        findings.extend(of_way(way));
    }
    Ok(Some(Heard {
        ways,
        sum,
        findings,
    }))
}

fn of_way(way: &WayHeard) -> Option<Finding> {
    let driver = &way.driver;
    if way.reversed == Some(true) {
        let share = way.share.unwrap_or_default();
        let message = match share > SURE {
            true => format!(
                "{driver} has the other polarity than the drawing ({:.0} %): exchange the two wires at it, \
                 amplifier off",
                100.0 * share
            ),
            false => format!(
                "{driver} may have the other polarity than the drawing ({:.0} %): look at the wires at it, \
                 amplifier off, or measure the sum with it reversed",
                100.0 * share
            ),
        };
        return Some(Finding::caution(FindingCode::Polarity, message));
    }
    let off = way.level_db.filter(|off| off.abs() > LEVEL_OFF_DB)?;
    Some(Finding::caution(
        FindingCode::WayLevel,
        format!(
            "{driver} is {:.1} dB {} against the other ways than drawn: measure the resistors of its pad, and \
             that the driver is the one of the design",
            off.abs(),
            if off > 0.0 { "louder" } else { "softer" }
        ),
    ))
}

/// Levels about their mean.
fn centred(levels: &[Option<f64>]) -> Vec<Option<f64>> {
    let known: Vec<f64> = levels.iter().flatten().copied().collect();
    if known.is_empty() {
        return levels.to_vec();
    }
    let mean = known.iter().sum::<f64>() / known.len() as f64;
    levels
        .iter()
        .map(|level| level.map(|db| db - mean))
        .collect()
}

/// `None` where the response has no point in the aim's band.
fn ways(project: &Project, response: &Response) -> Result<Option<Drawn>, PlanError> {
    let from = project.aim.from.si().max(response.f_hz[0]);
    let to = project
        .aim
        .to
        .si()
        .min(response.f_hz[response.f_hz.len() - 1]);
    if from >= to {
        return Ok(None);
    }
    let points = ((to / from).log2() * PER_OCTAVE).ceil().max(3.0) as usize + 1;
    let Ok(grid) = Grid::log_spaced(from, to, points) else {
        return Ok(None);
    };
    let Some(system) = Loudspeaker::new(project, grid.clone())? else {
        return Ok(None);
    };
    let ways = system
        .curves()?
        .ways
        .into_iter()
        .map(|(_, sound)| sound)
        .collect();
    let at = smoothed(response, &grid);
    Ok(Some(Drawn { grid, ways, at }))
}

/// A measured level about each point: the mean over a sixth of an octave, or between neighbours where the
/// table has none there.
fn smoothed(response: &Response, grid: &Grid) -> Vec<f64> {
    let half = 2f64.powf(0.5 / PER_OCTAVE);
    let (f, db) = (&response.f_hz, &response.level_db);
    (grid.f_hz().iter())
        .map(|&at| {
            let from = f.partition_point(|g| *g < at / half);
            let to = f.partition_point(|g| *g <= at * half);
            if to > from {
                return db[from..to].iter().sum::<f64>() / (to - from) as f64;
            }
            let upper = f.partition_point(|g| *g < at).clamp(1, f.len() - 1);
            let part = (at / f[upper - 1]).ln() / (f[upper] / f[upper - 1]).ln();
            db[upper - 1] + (db[upper] - db[upper - 1]) * part.clamp(0.0, 1.0)
        })
        .collect()
}

/// How much louder a measured way is than drawn: the median where it is not far below its top.
fn way_offset(drawn: &Spectrum, at: &[f64]) -> f64 {
    let levels: Vec<f64> = drawn.iter().map(level_db).collect();
    let top = levels.iter().copied().fold(f64::MIN, f64::max);
    let mut off: Vec<f64> = (levels.iter().zip(at))
        .filter(|(level, _)| **level > top - WAY_BELOW_TOP_DB)
        .map(|(level, measured)| measured - level)
        .collect();
    off.sort_by(f64::total_cmp);
    off.get(off.len() / 2).copied().unwrap_or(0.0)
}

/// Combinations of polarities, the likeliest first; the lowest way keeps its own.
fn fits(drawn: &Drawn, levels: &[Option<f64>]) -> Vec<Combination> {
    let ways = drawn.ways.len();
    let fit = |reversed: Vec<bool>| {
        let mut one = Combination::none(ways);
        one.reversed = reversed;
        for (level, known) in one.levels_db.iter_mut().zip(levels) {
            *level = known.unwrap_or(0.0);
        }
        fit_one(drawn, one, levels)
    };
    let mut list: Vec<(f64, Combination)> = match ways <= MOST_TOGETHER {
        true => (0..1usize << ways.saturating_sub(1))
            .filter_map(|bits| fit((0..ways).map(|way| bits << 1 >> way & 1 == 1).collect()))
            .collect(),
        false => one_at_a_time(ways, fit),
    };
    list.sort_by(|a, b| b.0.total_cmp(&a.0));
    let top = list.first().map_or(0.0, |first| first.0);
    let all: f64 = list.iter().map(|(ln, _)| (ln - top).exp()).sum();
    (list.into_iter())
        .map(|(ln, mut one)| {
            one.share = (ln - top).exp() / all;
            one
        })
        .collect()
}

/// The polarities as drawn, and those on the way from there to the likeliest by one way at a time.
fn one_at_a_time(
    ways: usize,
    fit: impl Fn(Vec<bool>) -> Option<(f64, Combination)>,
) -> Vec<(f64, Combination)> {
    let mut list: Vec<(f64, Combination)> = fit(vec![false; ways]).into_iter().collect();
    let mut best = 0;
    while best < list.len() {
        let from = best;
        for way in 1..ways {
            let mut reversed = list[from].1.reversed.clone();
            reversed[way] = !reversed[way];
            if list.iter().all(|(_, known)| known.reversed != reversed) {
                list.extend(fit(reversed));
            }
        }
        best = (0..list.len())
            .max_by(|&a, &b| list[a].0.total_cmp(&list[b].0).then(b.cmp(&a)))
            .expect("the first is there");
        if best == from {
            break;
        }
    }
    list
}

/// Fits levels, flight times and the common level; gives the logarithm of the likelihood.
fn fit_one(
    drawn: &Drawn,
    mut one: Combination,
    known: &[Option<f64>],
) -> Option<(f64, Combination)> {
    /// A common level of any size.
    const ANY_DB: f64 = 100.0;
    /// Deviation of a level that was measured apart, dB.
    const KNOWN_DB: f64 = 0.5;
    const ROUNDS: usize = 8;
    const STEP: f64 = 1e-3;
    let ways = one.levels_db.len();
    let start = one.clone();
    let size = 2 * ways + 1;
    let deviation = |way: usize| {
        if known[way].is_some() {
            KNOWN_DB
        } else {
            LEVEL_DB
        }
    };
    let place = |u: &[f64]| {
        let mut moved = start.clone();
        for way in 0..ways {
            moved.levels_db[way] += deviation(way) * u[way];
            moved.flights_s[way] += FLIGHT_S * u[ways + way];
        }
        moved
    };
    let none = vec![0.0; ways];
    let weight = vec![NOISE_DB.powi(-2); drawn.at.len()];
    let mut u = vec![0.0; size];
    u[size - 1] = {
        let level = one.level_db(drawn, &none);
        let off = drawn
            .at
            .iter()
            .zip(&level)
            .map(|(measured, level)| measured - level);
        off.sum::<f64>() / drawn.at.len() as f64 / ANY_DB
    };
    let mut ln = f64::NEG_INFINITY;
    for _ in 0..ROUNDS {
        let level = place(&u).level_db(drawn, &none);
        let off: Vec<f64> = (drawn.at.iter().zip(&level))
            .map(|(measured, level)| measured - level - ANY_DB * u[size - 1])
            .collect();
        let mut slopes = vec![0.0; off.len() * size];
        for k in 0..size - 1 {
            let mut moved = u.clone();
            moved[k] += STEP;
            let other = place(&moved).level_db(drawn, &none);
            for i in 0..off.len() {
                slopes[i * size + k] = (other[i] - level[i]) / STEP;
            }
        }
        for i in 0..off.len() {
            slopes[i * size + size - 1] = ANY_DB;
        }
        let normal = Normal::new(size, &slopes, &off, &weight);
        let squares = normal.squares + u.iter().map(|u| u * u).sum::<f64>();
        let solved = normal.about(&u).solve()?;
        ln = -0.5 * (squares + solved.ln_det);
        for (u, du) in u.iter_mut().zip(&solved.u) {
            *u += du.clamp(-1.0, 1.0);
        }
    }
    one = place(&u);
    ln.is_finite().then_some((ln, one))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// More ways than whose polarities could all be tried.
    #[test]
    fn polarities_of_many_ways_are_found_one_at_a_time() {
        let ways = 11;
        let grid = Grid::log_spaced(100.0, 10_000.0, 10 * ways).unwrap();
        let own = |way: usize| {
            Spectrum::from_fn(10 * ways, |i| {
                let away = i as f64 / 10.0 - way as f64 - 0.5;
                f64::exp(-away * away).into()
            })
        };
        let mut drawn = Drawn {
            ways: (0..ways).map(own).collect(),
            at: Vec::new(),
            grid,
        };
        let mut built = Combination::none(ways);
        (built.reversed[3], built.reversed[8]) = (true, true);
        drawn.at = built.level_db(&drawn, &vec![0.0; ways]);
        let found = fits(&drawn, &vec![None; ways]);
        assert_eq!(found[0].reversed, built.reversed);
        assert!(
            found[0].share > SURE && found.len() < 100,
            "{}",
            found.len()
        );
        let shares: f64 = found.iter().map(|one| one.share).sum();
        assert!((shares - 1.0).abs() < 1e-9);
    }
}
