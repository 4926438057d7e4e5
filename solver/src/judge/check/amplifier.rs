//! What the amplifier sees, and what its output impedance does.

use netlist::project::{LEAST_SHARE_OF_RATED_LOAD, OutputImpedance, Project};
use netlist::quantity::{Ohms, Quantity};
use serde::Serialize;

use super::assess::assess;
use super::change::{Changes, changes};
use super::input::{DrawnCurrent, direct_current_ohm, most_drawn};
use crate::amplifier::{NOMINAL_HZ, VALVE_OHM, nominal_output_ohm};
use crate::goal::LoadFigures;
use crate::grid::Grid;
use crate::judge::judged_loudspeaker::JudgedLoudspeaker;
use crate::loudspeaker::{Circumstances, Curves, Loudspeaker};
use crate::nodal::PlanError;
use crate::programme::power_weights;

/// Output taps that valve amplifiers have, ohm (common practice).
const TAPS_OHM: [f64; 3] = [4.0, 8.0, 16.0];

/// The load on the amplifier over the audio band, cable and leads included.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AmplifierLoad {
    /// Where it is least.
    #[serde(flatten)]
    pub figures: LoadFigures,
    /// Mean |Z|: geometric, each frequency weighted with its power in programme noise; ohm.
    pub mean_ohm: f64,
    /// Rated load of the amplifier, ohm.
    pub rated_ohm: Option<f64>,
    /// Least load asked for, ohm: the aim's, or 80 % of the rated one.
    pub minimum_ohm: Option<f64>,
    /// The part at the amplifier that draws most current where the load is least.
    pub drawn_by: Option<DrawnCurrent>,
    /// What direct current sees, ohm; `None` where none flows.
    pub direct_current_ohm: Option<f64>,
    /// What the output impedance does; `None` where it is 0.
    pub output_impedance: Option<OutputImpedanceCost>,
    /// Which tap of a valve amplifier fits; `None` where the output impedance is too low for one.
    pub taps: Option<Taps>,
}

/// Change of response due to the amplifier's output impedance, against 0 ohm.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OutputImpedanceCost {
    /// The output impedance, ohm; where it changes with frequency its magnitude at
    /// [`NOMINAL_HZ`](crate::amplifier::NOMINAL_HZ).
    pub ohm: f64,
    /// That frequency, Hz; `None` where it is a resistance.
    pub at_hz: Option<f64>,
    /// What it changes.
    #[serde(flatten)]
    pub changes: Changes,
}

/// The same loudspeaker on another amplifier, against its own.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OtherAmplifier {
    /// Output impedance of the other, ohm.
    pub ohm: f64,
    /// What it changes against the project's amplifier.
    #[serde(flatten)]
    pub changes: Changes,
    /// Rms deviation of the sum from the aim on it, dB; `None` where no aim is held against it.
    pub rms_db: Option<f64>,
    /// Largest deviation on it, dB.
    pub max_db: Option<f64>,
}

/// A design on amplifiers of other output impedances, ohm; none for a brief.
///
/// # Errors
/// If the network cannot be solved.
pub fn other_amplifiers(project: &Project, ohm: &[f64]) -> Result<Vec<OtherAmplifier>, PlanError> {
    let grid = Grid::audio_band();
    let Some(network) = &project.network else {
        return Ok(Vec::new());
    };
    let Some(as_written) = Loudspeaker::new(project, grid.clone())? else {
        return Ok(Vec::new());
    };
    let own = as_written.curves()?;
    let mut others = Vec::new();
    for &ohm in ohm {
        let Some(other) = as_written.changed(project, &on_ohm(ohm))? else {
            continue;
        };
        let other = other.curves()?;
        let mut moved = project.clone();
        moved.amplifier.output_impedance = OutputImpedance::Resistance(Ohms(ohm));
        let figures = assess(&moved, network)
            .ok()
            .map(|assessed| assessed.figures);
        others.push(OtherAmplifier {
            ohm,
            changes: changes(project, grid.f_hz(), &own, &other),
            rms_db: figures.as_ref().map(|figures| figures.rms_db),
            max_db: figures.as_ref().map(|figures| figures.max_db),
        });
    }
    Ok(others)
}

/// Output taps of a valve amplifier.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Taps {
    /// Tap in use, ohm; `None` where the rated load is not stated.
    pub in_use_ohm: Option<f64>,
    /// Tap that fits best: of those whose least load is held, the one nearest to the mean load; ohm.
    pub best_ohm: f64,
    /// Share of a tap's load that the least load must be: the aim's least load over the rated load, or
    /// 0.8, IEC 60268-5:2003, 16.1.
    pub least_share: f64,
    /// The taps.
    pub taps: Vec<OutputTap>,
}

/// One output tap.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct OutputTap {
    /// Load for which it is made, ohm.
    pub ohm: f64,
    /// Least load over the tap's.
    pub least_over_tap: f64,
    /// Mean load over the tap's; 1 is best for the valves.
    pub mean_over_tap: f64,
    /// Whether the least load is [`Taps::least_share`] of the tap's or more.
    pub holds: bool,
    /// Output impedance on that tap, ohm: it goes with the tap's load. `None` where the rated load is not
    /// stated.
    pub output_impedance_ohm: Option<f64>,
}

impl AmplifierLoad {
    /// Whether the least load asked for is kept.
    #[must_use]
    pub fn holds(&self) -> bool {
        (self.minimum_ohm).is_none_or(|limit| self.figures.least_ohm >= limit)
    }
}

/// The load of a loudspeaker, wire included, whose curves are finished; `None` where no current flows at
/// all.
pub(super) fn amplifier_load(
    project: &Project,
    speaker: &JudgedLoudspeaker,
    views: &super::Views,
) -> Result<Option<AmplifierLoad>, PlanError> {
    let Some(figures) = speaker.loudspeaker.load_figures()? else {
        return Ok(None);
    };
    Ok(Some(AmplifierLoad {
        drawn_by: most_drawn(project, figures.at_hz)?,
        direct_current_ohm: direct_current_ohm(speaker)?,
        ..with_limits(project, speaker, views, figures)
    }))
}

/// The load's figures with what they mean to the amplifier.
fn with_limits(
    project: &Project,
    speaker: &JudgedLoudspeaker,
    views: &super::Views,
    figures: LoadFigures,
) -> AmplifierLoad {
    let f_hz = views.grid.f_hz();
    let mean_ohm = mean_ohm(views.grid, &views.normal);
    let rated_ohm = project.amplifier.rated_load.map(Quantity::si);
    let minimum_ohm = speaker.least_load_ohm;
    let output_ohm = nominal_output_ohm(&project.amplifier).norm();
    AmplifierLoad {
        figures,
        mean_ohm,
        drawn_by: None,
        direct_current_ohm: None,
        rated_ohm,
        minimum_ohm,
        output_impedance: (views.stiff.as_ref()).map(|stiff| OutputImpedanceCost {
            ohm: output_ohm,
            at_hz: match project.amplifier.output_impedance {
                OutputImpedance::Resistance(_) => None,
                _ => Some(NOMINAL_HZ),
            },
            changes: changes(project, f_hz, stiff, &views.normal),
        }),
        taps: (output_ohm > VALVE_OHM).then(|| {
            let asked = (project.aim.minimum_load.map(Quantity::si))
                .zip(rated_ohm)
                .map(|(least, rated)| least / rated);
            let share = asked.unwrap_or(LEAST_SHARE_OF_RATED_LOAD);
            taps(figures.least_ohm, mean_ohm, share, output_ohm, rated_ohm)
        }),
    }
}

/// On an amplifier of another output impedance, ohm.
pub(super) fn on_ohm(ohm: f64) -> Circumstances {
    Circumstances {
        output_impedance_ohm: Some(ohm),
        ..Circumstances::default()
    }
}

fn mean_ohm(grid: &crate::grid::Grid, curves: &Curves) -> f64 {
    let weights = power_weights(grid);
    let (mut sum, mut weight) = (0.0, 0.0);
    for (z, w) in curves.load.iter().zip(&weights) {
        if let Some(z) = z {
            sum += w * z.norm().ln();
            weight += w;
        }
    }
    (sum / weight).exp()
}

fn taps(
    least_ohm: f64,
    mean_ohm: f64,
    least_share: f64,
    output_ohm: f64,
    rated_ohm: Option<f64>,
) -> Taps {
    let taps: Vec<OutputTap> = (TAPS_OHM.iter())
        .map(|&ohm| OutputTap {
            ohm,
            least_over_tap: least_ohm / ohm,
            mean_over_tap: mean_ohm / ohm,
            holds: least_ohm >= least_share * ohm,
            output_impedance_ohm: rated_ohm.map(|rated| output_ohm * ohm / rated),
        })
        .collect();
    let off = |tap: &OutputTap| tap.mean_over_tap.ln().abs();
    let best_ohm = (taps.iter())
        .filter(|tap| tap.holds)
        .min_by(|a, b| off(a).total_cmp(&off(b)))
        .map_or(TAPS_OHM[0], |tap| tap.ohm);
    Taps {
        in_use_ohm: rated_ohm,
        best_ohm,
        least_share,
        taps,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_tap_that_holds_the_least_and_is_nearest_to_the_mean() {
        let best = |least, mean| taps(least, mean, 0.8, 1.8, Some(8.0)).best_ohm;
        for (least, mean, tap) in [
            (6.4, 9.0, 8.0),
            // The least load rules out what the mean would choose.
            (6.3, 9.0, 4.0),
            (13.0, 15.0, 16.0),
            (13.0, 9.0, 8.0),
            // None holds: the lowest is still the best.
            (2.0, 5.0, 4.0),
        ] {
            assert!((best(least, mean) - tap).abs() < 1e-12, "{least} {mean}");
        }
        let four = taps(5.0, 6.0, 0.8, 1.8, Some(8.0)).taps[0];
        assert!(
            four.output_impedance_ohm
                .is_some_and(|z| (z - 0.9).abs() < 1e-12)
        );
        assert!(four.holds && (four.mean_over_tap - 1.5).abs() < 1e-12);
    }
}
