//! A driver on one side of a crossover: how far its band, its resonance and its horn are from it.

use netlist::project::{Driver, Source};
use netlist::quantity::{Hertz, Quantity};

use super::finding::{Finding, beyond};
use super::finding_code::FindingCode;
use crate::load::{driver_resonance, horn_cutoff, is_delicate};

/// Least ratio of a crossover to the horn's cut-off (common practice).
const CUTOFF_RATIO: f64 = 1.2;
/// Ratio that is preferred at full power (common practice).
const PREFERRED_CUTOFF_RATIO: f64 = 2.0;
/// Half an octave, over which both drivers of a crossover are at work.
const HALF_OCTAVE: f64 = std::f64::consts::SQRT_2;

/// A driver at a crossover.
pub(super) struct MarginSide<'a> {
    pub(super) name: &'a str,
    pub(super) driver: &'a Driver,
}

impl MarginSide<'_> {
    /// Lowest crossover that a driver stands with steep slopes, Hz, and what says so; `None` where nothing does.
    pub(super) fn begins_hz(&self) -> Option<(f64, &'static str)> {
        let usable = (self.driver.usable).map(|[from, _]| (from.si(), "its usable band"));
        let resonance = driver_resonance(self.driver)
            .filter(|_| is_delicate(self.driver))
            .map(|f| {
                (
                    least_resonance_ratio(4) * f.si(),
                    "1.5 times its resonance, common practice",
                )
            });
        let horn = horn_cutoff(self.driver).map(|cutoff| {
            (
                CUTOFF_RATIO * cutoff.si(),
                "1.2 times its horn's cut-off, common practice",
            )
        });
        let all = [usable, resonance, horn].into_iter().flatten();
        all.max_by(|a, b| a.0.total_cmp(&b.0))
    }

    pub(super) fn top_of_usable_band(&self, f: Hertz, findings: &mut Vec<Finding>) {
        let Some([_, to]) = self.driver.usable else {
            return;
        };
        let name = self.name;
        if f.si() > to.si() {
            findings.push(Finding::caution(
                FindingCode::CrossoverOutsideUsableBand,
                format!(
                    "{name} is to play up to the crossover at {f}, but is usable up to {to} only; cross it lower or take a driver that goes higher"
                ),
            ));
        } else if f.si() * HALF_OCTAVE > to.si() {
            findings.push(Finding::note(
                FindingCode::CrossoverNearEndOfUsableBand,
                format!(
                    "{name} is usable up to {to}, less than half an octave above the crossover at {f}; it is still heard there, so its faults above {to} will be too; a crossover at {:.3} or below would leave half an octave",
                    Hertz(to.si() / HALF_OCTAVE)
                ),
            ));
        }
    }

    pub(super) fn bottom_of_usable_band(&self, f: Hertz, findings: &mut Vec<Finding>) {
        let Some([from, _]) = self.driver.usable else {
            return;
        };
        let name = self.name;
        if f.si() < from.si() {
            findings.push(Finding::caution(
                FindingCode::CrossoverOutsideUsableBand,
                format!(
                    "{name} is to play down to the crossover at {f}, but is usable from {from} only; cross it higher or take a driver that goes lower"
                ),
            ));
        } else if f.si() < from.si() * HALF_OCTAVE {
            findings.push(Finding::note(
                FindingCode::CrossoverNearEndOfUsableBand,
                format!(
                    "{name} is usable from {from}, less than half an octave below the crossover at {f}; it is still heard there, so its faults below {from} will be too; a crossover at {:.3} or above would leave half an octave",
                    Hertz(from.si() * HALF_OCTAVE)
                ),
            ));
        }
    }

    pub(super) fn resonance(&self, f: Hertz, order: u8, findings: &mut Vec<Finding>) {
        let name = self.name;
        let Some(resonance) = driver_resonance(self.driver) else {
            findings.push(Finding::note(
                FindingCode::NoResonanceKnown,
                format!(
                    "no resonance of {name} is stated and its impedance shows none, so that the crossover at {f} cannot be checked against it; write resonance = \"...\" if you know it"
                ),
            ));
            return;
        };
        let least = least_resonance_ratio(order);
        let ratio = f.si() / resonance.si();
        if ratio < 1.0 && is_delicate(self.driver) {
            findings.push(Finding::danger(
                FindingCode::CrossoverBelowResonance,
                format!(
                    "{name} would be crossed at {f}, below its resonance at {resonance:.3}: its diaphragm moves most there and can break at a level that sounds harmless; cross it at {:.3} or above ({least} times the resonance, common practice)",
                    Hertz(least * resonance.si())
                ),
            ));
        } else if ratio < least {
            findings.push(Finding::caution(
                FindingCode::CrossoverNearResonance,
                format!(
                    "{name} is crossed at {f}, {} its resonance at {resonance:.3}; common practice with {} dB per octave is {least} times or more: cross it at {:.3} or above{}",
                    beyond(ratio, least, 2, "times"),
                    6 * u32::from(order),
                    Hertz(least * resonance.si()),
                    if order < 4 { ", or choose a steeper slope" } else { "" }
                ),
            ));
        }
    }

    pub(super) fn horn(&self, f: Hertz, order: u8, findings: &mut Vec<Finding>) {
        let on_horn = matches!(self.driver.source, Source::Compression(_) | Source::Horn(_));
        if on_horn && order < 2 {
            findings.push(Finding::caution(
                FindingCode::SlopeTooGentle,
                format!(
                    "{} is a compression driver and is crossed at {f} with 6 dB per octave; common practice is 12 dB per octave or more, so that little voltage is left at its resonance; choose a steeper alignment for the upper side",
                    self.name
                ),
            ));
        }
        if let Some(cutoff) = horn_cutoff(self.driver) {
            self.horn_cutoff(f, cutoff, findings);
        }
    }

    pub(super) fn horn_cutoff(&self, f: Hertz, cutoff: Hertz, findings: &mut Vec<Finding>) {
        let name = self.name;
        let ratio = f.si() / cutoff.si();
        let above = Hertz(CUTOFF_RATIO * cutoff.si());
        if ratio < 1.0 {
            findings.push(Finding::danger(
                FindingCode::CrossoverBelowHornCutoff,
                format!(
                    "{name} would be crossed at {f}, below its horn's cut-off at {cutoff:.3}: the horn no longer loads the diaphragm, which can break; cross it at {above:.3} or above ({CUTOFF_RATIO} times the cut-off, common practice) or take a larger horn"
                ),
            ));
        } else if ratio < CUTOFF_RATIO {
            findings.push(Finding::caution(
                FindingCode::CrossoverNearHornCutoff,
                format!(
                    "{name} is crossed at {f}, {} its horn's cut-off at {cutoff:.3}; common practice is {CUTOFF_RATIO} times or more: cross it at {above:.3} or above or take a larger horn",
                    beyond(ratio, CUTOFF_RATIO, 2, "times")
                ),
            ));
        } else if ratio < PREFERRED_CUTOFF_RATIO {
            findings.push(Finding::note(
                FindingCode::CrossoverWithinOctaveOfHornCutoff,
                format!(
                    "{name} is crossed at {f}, {} its horn's cut-off at {cutoff:.3}; an octave ({:.3}) is preferred where it is played at full power (common practice)",
                    beyond(ratio, PREFERRED_CUTOFF_RATIO, 2, "times"),
                    Hertz(PREFERRED_CUTOFF_RATIO * cutoff.si())
                ),
            ));
        }
    }
}

/// Least ratio of a crossover to the resonance for an order of the slope. Common practice knows 12 and
/// 24 dB per octave; 18 lies between.
fn least_resonance_ratio(order: u8) -> f64 {
    match order {
        0..=2 => 2.0,
        3 => 1.75,
        _ => 1.5,
    }
}
