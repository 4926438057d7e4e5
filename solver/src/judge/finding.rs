//! A finding: something the builder must know.

use serde::Serialize;

use super::finding_code::FindingCode;

/// How much a finding matters, the least first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Severity {
    /// Good to know.
    Note,
    /// To be looked into before money is spent.
    Caution,
    /// Can hurt somebody, the amplifier or a driver.
    Danger,
}

/// Something the builder must know.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Finding {
    /// How much it matters.
    pub severity: Severity,
    /// What kind of finding it is.
    pub code: FindingCode,
    /// What was found, the number, the limit and the way out.
    pub message: String,
}

impl Finding {
    pub(crate) fn note(code: FindingCode, message: String) -> Self {
        Self::new(Severity::Note, code, message)
    }

    pub(crate) fn caution(code: FindingCode, message: String) -> Self {
        Self::new(Severity::Caution, code, message)
    }

    pub(crate) fn danger(code: FindingCode, message: String) -> Self {
        Self::new(Severity::Danger, code, message)
    }

    pub(crate) fn new(severity: Severity, code: FindingCode, message: String) -> Self {
        Self {
            severity,
            code,
            message,
        }
    }
}

/// Dangers first, notes last; findings of one severity keep their order.
pub fn sort_findings(findings: &mut [Finding]) {
    findings.sort_by_key(|finding| std::cmp::Reverse(finding.severity));
}

/// Names as people list them: `a`, `a and b`, `a, b and c`.
#[must_use]
pub fn listed<S: AsRef<str>>(names: &[S]) -> String {
    let names: Vec<&str> = names.iter().map(AsRef::as_ref).collect();
    match names.split_last() {
        None => String::new(),
        Some((last, [])) => (*last).to_owned(),
        Some((last, head)) => format!("{} and {last}", head.join(", ")),
    }
}

/// A number that broke a limit, with as many decimals beyond `decimals` as it takes to see that it did:
/// 1.83 against 1.8 is not "1.8".
pub(super) fn beyond(value: f64, limit: f64, decimals: usize, unit: &str) -> String {
    const MOST_DECIMALS: usize = 9;
    let side = value.partial_cmp(&limit);
    let text = (decimals..MOST_DECIMALS)
        .map(|decimals| format!("{value:.decimals$}"))
        .find(|text| {
            text.parse::<f64>()
                .is_ok_and(|shown| shown.partial_cmp(&limit) == side)
        })
        .unwrap_or_else(|| value.to_string());
    let gap = if unit == "°" { "" } else { " " };
    format!("{text}{gap}{unit}")
}

/// A number to three figures.
#[must_use]
pub fn rounded(value: f64) -> f64 {
    format!("{value:.2e}").parse().unwrap_or(value)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_figures() {
        for (value, shown) in [
            (7.426_470_588, "7.43"),
            (20.0, "20"),
            (0.1, "0.1"),
            (1500.0, "1500"),
        ] {
            assert_eq!(rounded(value).to_string(), shown);
        }
        assert!(rounded(f64::NAN).is_nan());
    }

    #[test]
    fn a_broken_limit_is_seen_in_the_number() {
        for (value, limit, decimals, shown) in [
            (2.31, 1.8, 1, "2.3 dB"),
            (1.83, 1.8, 1, "1.83 dB"),
            (1.801, 1.8, 1, "1.801 dB"),
            (0.6, 0.7, 0, "0.6 dB"),
            (20.4, 20.0, 0, "20.4 dB"),
            (3.196, 3.2, 2, "3.196 dB"),
            (1.8, 1.8, 1, "1.8 dB"),
        ] {
            assert_eq!(beyond(value, limit, decimals, "dB"), shown);
        }
        assert_eq!(beyond(30.2, 30.0, 0, "°"), "30.2°");
        assert!(beyond(f64::NAN, 1.0, 1, "dB").contains("NaN"));
    }

    #[test]
    fn dangers_come_first_and_equals_keep_their_order() {
        let mut findings = vec![
            Finding::note(FindingCode::Leads, String::new()),
            Finding::danger(FindingCode::BuiltWrong, String::new()),
            Finding::caution(FindingCode::WireCosts, String::new()),
            Finding::danger(FindingCode::DriverOverloaded, String::new()),
            Finding::note(FindingCode::Scale, String::new()),
        ];
        sort_findings(&mut findings);
        let codes: Vec<&str> = findings.iter().map(|f| f.code.text()).collect();
        assert_eq!(
            codes,
            [
                "built-wrong",
                "driver-overloaded",
                "wire-costs",
                "leads",
                "scale"
            ]
        );
    }

    #[test]
    fn names_are_listed_as_people_do() {
        assert_eq!(listed::<&str>(&[]), "");
        assert_eq!(listed(&["low"]), "low");
        assert_eq!(listed(&["low", "mid"]), "low and mid");
        assert_eq!(listed(&["low", "mid", "high"]), "low, mid and high");
    }
}
