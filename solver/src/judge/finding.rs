//! A finding: something the builder must know.

use serde::Serialize;

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
    /// What kind of finding it is: words with hyphens, the same in every release.
    pub code: &'static str,
    /// What was found, the number, the limit and the way out.
    pub message: String,
}

impl Finding {
    pub(crate) fn note(code: &'static str, message: String) -> Self {
        Self::new(Severity::Note, code, message)
    }

    pub(crate) fn caution(code: &'static str, message: String) -> Self {
        Self::new(Severity::Caution, code, message)
    }

    pub(crate) fn danger(code: &'static str, message: String) -> Self {
        Self::new(Severity::Danger, code, message)
    }

    pub(crate) fn new(severity: Severity, code: &'static str, message: String) -> Self {
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
pub(super) fn listed<S: AsRef<str>>(names: &[S]) -> String {
    let names: Vec<&str> = names.iter().map(AsRef::as_ref).collect();
    match names.split_last() {
        None => String::new(),
        Some((last, [])) => (*last).to_owned(),
        Some((last, head)) => format!("{} and {last}", head.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dangers_come_first_and_equals_keep_their_order() {
        let mut findings = vec![
            Finding::note("a", String::new()),
            Finding::danger("b", String::new()),
            Finding::caution("c", String::new()),
            Finding::danger("d", String::new()),
            Finding::note("e", String::new()),
        ];
        sort_findings(&mut findings);
        let codes: Vec<&str> = findings.iter().map(|f| f.code).collect();
        assert_eq!(codes, ["b", "d", "c", "a", "e"]);
    }

    #[test]
    fn names_are_listed_as_people_do() {
        assert_eq!(listed::<&str>(&[]), "");
        assert_eq!(listed(&["low"]), "low");
        assert_eq!(listed(&["low", "mid"]), "low and mid");
        assert_eq!(listed(&["low", "mid", "high"]), "low, mid and high");
    }
}
