//! What the builder must know about faults.

use netlist::quantity::{Hertz, Ohms, Watts};

use super::super::finding::{Finding, listed};
use super::super::finding_code::FindingCode;
use super::{Fault, FaultKind, Faults, FilterResonance, Hazard};

/// Faults of one sort that are told in full; the rest is counted.
const TOLD: usize = 3;
/// Two dips of the load are the same where their frequencies differ by less than this share.
const SAME_DIP: f64 = 0.01;

/// Findings on faults, one for each sort of hazard.
///
/// A fault is not there yet. What it would do may be a danger in the list of faults, and is a caution
/// among the findings: a sound design is not a dangerous one.
#[must_use]
pub fn fault_findings(faults: &Faults) -> Vec<Finding> {
    let sorts: [(FindingCode, Sort); 6] = [
        (FindingCode::FaultShortsAmplifier, Sort::DeadShort),
        (FindingCode::FaultNoLoad, Sort::NoLoad),
        (FindingCode::FaultUnloadedFilter, Sort::UnloadedFilter),
        (FindingCode::FaultLowLoad, Sort::LowLoad),
        (FindingCode::FaultBassInDriver, Sort::Bass),
        (FindingCode::FaultTooMuchPower, Sort::Power),
    ];
    (sorts.into_iter())
        .filter_map(|(code, sort)| {
            let mut told: Vec<(&Fault, &Hazard)> = (faults.faults.iter())
                .flat_map(|fault| fault.hazards.iter().map(move |hazard| (fault, hazard)))
                .filter(|(fault, hazard)| sort_of(fault, hazard) == sort)
                .collect();
            // A loose wire at a driver is the likeliest.
            told.sort_by_key(|(fault, _)| fault.kind != FaultKind::DriverDisconnected);
            let sentences = sentences(&told);
            let shown = sentences.get(..TOLD).unwrap_or(&sentences);
            let more = told.len() - shown.iter().map(|(faults, _)| faults.len()).sum::<usize>();
            let texts: Vec<String> = (shown.iter())
                .map(|(faults, what)| format!("with {} {what}", faults.join(" or ")))
                .collect();
            let more = match more {
                0 => String::new(),
                more => format!(" (and {more} more)"),
            };
            (!told.is_empty()).then(|| {
                let message = format!(
                    "{}{more}; {}",
                    listed(&texts),
                    way_out(sort, faults.limit_ohm)
                );
                Finding::caution(code, message)
            })
        })
        .collect()
}

/// What faults do, those that do the same together.
fn sentences(told: &[(&Fault, &Hazard)]) -> Vec<(Vec<String>, String)> {
    let mut sentences: Vec<(Vec<String>, String)> = Vec::new();
    for (fault, hazard) in told {
        let what = hazard_words(hazard) + &fault.made_by(hazard);
        match sentences.iter_mut().find(|(_, same)| *same == what) {
            Some((faults, _)) => faults.push(fault.words()),
            None => sentences.push((vec![fault.words()], what)),
        }
    }
    sentences
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Sort {
    DeadShort,
    NoLoad,
    UnloadedFilter,
    LowLoad,
    Bass,
    Power,
}

fn sort_of(fault: &Fault, hazard: &Hazard) -> Sort {
    match hazard {
        Hazard::DeadShort => Sort::DeadShort,
        Hazard::NoLoad => Sort::NoLoad,
        Hazard::LowLoad { .. } if fault.resonance_of(hazard).is_some() => Sort::UnloadedFilter,
        Hazard::LowLoad { .. } => Sort::LowLoad,
        Hazard::BassInDriver { .. } => Sort::Bass,
        Hazard::TooMuchPower { .. } => Sort::Power,
    }
}

impl Fault {
    /// The series resonance that a low load is.
    fn resonance_of(&self, hazard: &Hazard) -> Option<&FilterResonance> {
        let Hazard::LowLoad { at_hz, .. } = hazard else {
            return None;
        };
        let at_it = |found: &&FilterResonance| (found.frequency_hz / at_hz).ln().abs() < SAME_DIP;
        self.resonance.as_ref().filter(at_it)
    }

    /// What makes a low load, for people: ` (resonance of L1 and C1)`; nothing where it is no resonance.
    #[must_use]
    pub fn made_by(&self, hazard: &Hazard) -> String {
        let parts = (self.resonance_of(hazard)).and_then(|found| found.parts.as_ref());
        parts.map_or(String::new(), |[coil, capacitor]| {
            format!(" (resonance of {coil} and {capacitor})")
        })
    }
}

/// A hazard for people: `the load falls to 2.1 Ω at 3.5 kHz`.
#[must_use]
pub fn hazard_words(hazard: &Hazard) -> String {
    match hazard {
        Hazard::DeadShort => "the amplifier is shorted".to_owned(),
        Hazard::NoLoad => "the amplifier has no load at all".to_owned(),
        Hazard::LowLoad { least_ohm, at_hz } => format!(
            "the load falls to {:.2} at {:.3}",
            Ohms(*least_ohm),
            Hertz(*at_hz)
        ),
        Hazard::TooMuchPower {
            driver,
            power_w,
            rated_w,
        } => format!(
            "{driver} gets {:.2} of programme, rated {:.3}",
            Watts(*power_w),
            Watts(*rated_w)
        ),
        Hazard::BassInDriver { driver, times } => {
            format!("the diaphragm of {driver} moves {times:.0} times as far")
        }
    }
}

fn way_out(sort: Sort, limit_ohm: f64) -> String {
    let limit = format!("{:.3}", Ohms(limit_ohm));
    match sort {
        Sort::DeadShort => {
            "measure the resistance between the terminals before the first connection, and put a fuse in the cable".to_owned()
        }
        Sort::NoLoad => "a valve amplifier without a load can break its output transformer: screw or solder what carries the whole current, and switch the amplifier off before you touch it".to_owned(),
        Sort::UnloadedFilter => format!(
            "the least load is {limit}: play nothing while a driver is disconnected, switch the amplifier off first, and fix the wires so that none can come loose"
        ),
        Sort::LowLoad => format!(
            "the least load is {limit}: mount these parts so that no wire can touch or break, and measure the impedance of each build before the first connection"
        ),
        Sort::Bass => "a diaphragm made for a short travel breaks within seconds: take capacitors of ample voltage rating there, check each joint, and begin quietly".to_owned(),
        Sort::Power => "rate resistors at twice their power (common practice), solder every joint, and keep the level low until each driver has been heard to work".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::super::super::Severity;
    use super::*;

    fn fault(part: &str, hazard: Hazard) -> Fault {
        Fault {
            part: part.to_owned(),
            kind: FaultKind::PartShorted,
            section: None,
            severity: Severity::Danger,
            hazards: vec![hazard],
            least_load: None,
            resonance: None,
            sum: super::super::SumChange {
                rise_db: 0.0,
                rise_at_hz: 20.0,
                fall_db: 0.0,
                fall_at_hz: 20.0,
            },
            drivers: Vec::new(),
        }
    }

    fn with(faults: Vec<Fault>) -> Vec<Finding> {
        fault_findings(&Faults {
            least_load: None,
            drivers: Vec::new(),
            limit_ohm: 5.6,
            untried: 0,
            faults,
        })
    }

    #[test]
    fn one_finding_a_sort_the_rest_counted() {
        let bass = |(i, name): (usize, &&str)| {
            let hazard = Hazard::BassInDriver {
                driver: "mid".to_owned(),
                times: [9.3, 9.2, 8.0, 7.0, 6.0][i],
            };
            fault(name, hazard)
        };
        let names = ["C1", "C2", "C3", "C4", "C5"];
        let found = with(names.iter().enumerate().map(bass).collect());
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].code.text(), "fault-bass-in-driver");
        assert_eq!(found[0].severity, Severity::Caution);
        assert!(
            (found[0].message).starts_with(
                "with C1 shorted or C2 shorted the diaphragm of mid moves 9 times as far, with C3 shorted"
            ),
            "{found:?}"
        );
        assert!(found[0].message.contains("(and 1 more); "), "{found:?}");
    }

    #[test]
    fn a_resonance_is_told_with_its_parts() {
        let mut unloaded = fault(
            "LOW",
            Hazard::LowLoad {
                least_ohm: 0.812,
                at_hz: 446.8,
            },
        );
        unloaded.kind = FaultKind::DriverDisconnected;
        unloaded.resonance = Some(super::super::FilterResonance {
            frequency_hz: 446.8,
            load_ohm: 0.812,
            parts: Some(["L1".to_owned(), "C1".to_owned()]),
        });
        let low = fault(
            "L3",
            Hazard::LowLoad {
                least_ohm: 3.1,
                at_hz: 900.0,
            },
        );
        let found = with(vec![unloaded, low]);
        let codes: Vec<&str> = found.iter().map(|f| f.code.text()).collect();
        assert_eq!(codes, ["fault-unloaded-filter", "fault-low-load"]);
        assert!(
            found[0].message.starts_with("with LOW disconnected the load falls to 0.81 Ω at 447 Hz (resonance of L1 and C1); the least load is 5.6 Ω"),
            "{found:?}"
        );
        assert!(with(vec![]).is_empty());
    }
}
