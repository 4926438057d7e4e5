//! Wishes that a loudspeaker does not keep.

use serde::Serialize;

use crate::judge::{Finding, FindingCode, Severity};

/// Something that is wished for, or a limit that a driver sets.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Wish {
    /// The least load.
    LeastLoad,
    /// The level.
    Level,
    /// A flat sum.
    Flatness,
    /// Ways that follow their slopes.
    Ways,
    /// Ways in phase at the crossovers.
    Phases,
    /// A delicate diaphragm kept from its resonance.
    Protection,
    /// Each driver in the band in which it may be used, its resonance and horn with it.
    UsableBand,
    /// Each driver and part within its rated power.
    Power,
    /// The number of parts.
    Parts,
    /// The price.
    Price,
}

impl Wish {
    /// Whether it is asked for, or a limit of what is at hand; the others are what is usual, and count by how much
    /// they are missed.
    #[must_use]
    pub fn is_asked(self) -> bool {
        !matches!(self, Wish::Flatness | Wish::Ways | Wish::Phases)
    }
}

/// Wishes that findings say are broken, in the order of [`Wish`].
#[must_use]
pub fn broken(findings: &[Finding]) -> Vec<Wish> {
    let mut broken: Vec<Wish> = (findings.iter())
        .filter(|finding| finding.severity > Severity::Note)
        .filter_map(|finding| wish(finding.code))
        .collect();
    broken.sort_unstable();
    broken.dedup();
    broken
}

fn wish(code: FindingCode) -> Option<Wish> {
    Some(match code {
        FindingCode::LoadTooLow
        | FindingCode::LoadDangerouslyLow
        | FindingCode::LeastLoadOutOfReach => Wish::LeastLoad,
        FindingCode::LevelOutOfReach => Wish::Level,
        FindingCode::SumNotFlat | FindingCode::SumFarOffTheAim => Wish::Flatness,
        FindingCode::WayOffItsTarget => Wish::Ways,
        FindingCode::PhasesApart => Wish::Phases,
        FindingCode::ExcursionUnprotected
        | FindingCode::ExcursionLittleProtected
        | FindingCode::SlopeTooGentle => Wish::Protection,
        FindingCode::CrossoverOutsideUsableBand
        | FindingCode::AimOutsideUsableBand
        | FindingCode::CrossoverBelowResonance
        | FindingCode::CrossoverNearResonance
        | FindingCode::CrossoverBelowHornCutoff
        | FindingCode::CrossoverNearHornCutoff => Wish::UsableBand,
        FindingCode::DriverOverloaded
        | FindingCode::ResistorOverloaded
        | FindingCode::CapacitorOverVoltage
        | FindingCode::CoilSaturates => Wish::Power,
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wishes_are_told_once_and_notes_break_none() {
        let finding = |severity, code| Finding {
            severity,
            code,
            message: String::new(),
        };
        let findings = [
            finding(Severity::Caution, FindingCode::SumNotFlat),
            finding(Severity::Caution, FindingCode::SumFarOffTheAim),
            finding(Severity::Danger, FindingCode::LoadDangerouslyLow),
            finding(Severity::Note, FindingCode::PhasesApart),
            finding(Severity::Caution, FindingCode::ValveAmplifier),
        ];
        assert_eq!(broken(&findings), [Wish::LeastLoad, Wish::Flatness]);
    }
}
