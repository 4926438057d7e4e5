//! Findings for people, one below the other.

use std::io::{Result, Write};

use solver::judge::{Finding, FindingCode, Severity};

use crate::words;

/// Lines of a screen.
const SCREEN: usize = 50;
/// Characters of a caution that is cut short: one line.
const GIST: usize = 86;

/// Cautions that are about people, amplifier and diaphragms: never cut.
const CAN_HURT: [FindingCode; 4] = [
    FindingCode::ValveAmplifier,
    FindingCode::HotPadResistors,
    FindingCode::DirectCurrentPath,
    FindingCode::ExcursionLittleProtected,
];

/// Whether a finding of severity `danger` stands.
pub(crate) type Danger = bool;

/// Whether one of the findings is a danger.
pub(crate) fn danger(findings: &[Finding]) -> Danger {
    count(findings, Severity::Danger) > 0
}

/// How many findings of a severity stand.
pub(crate) fn count(findings: &[Finding], severity: Severity) -> usize {
    (findings.iter())
        .filter(|finding| finding.severity == severity)
        .count()
}

/// Findings below so many lines of a screen: whole where there is room, else dangers and what can hurt
/// somebody whole, and of the rest what was found, without reasons and ways out. Gives whether anything
/// was cut.
pub(crate) fn on_screen(used: usize, findings: &[Finding], out: &mut dyn Write) -> Result<bool> {
    let mut text = Vec::new();
    whole(findings, &mut text)?;
    if used + lines(&text) < SCREEN {
        out.write_all(&text)?;
        return Ok(false);
    }
    let short: Vec<Finding> = (findings.iter())
        .map(|finding| Finding {
            message: if finding.severity == Severity::Danger || CAN_HURT.contains(&finding.code) {
                finding.message.clone()
            } else {
                gist(&finding.message)
            },
            ..*finding
        })
        .collect();
    whole(&short, out)?;
    Ok(short != findings)
}

/// Lines of a text.
pub(crate) fn lines(text: &[u8]) -> usize {
    text.iter().filter(|byte| **byte == b'\n').count()
}

/// Findings, one below the other, long ones folded.
pub(crate) fn whole(findings: &[Finding], out: &mut dyn Write) -> Result<()> {
    if !findings.is_empty() {
        writeln!(out)?;
    }
    for finding in findings {
        let severity = match finding.severity {
            Severity::Note => "note",
            Severity::Caution => "caution",
            Severity::Danger => "DANGER",
        };
        words::folded(&format!("{severity}: {}", finding.message), 2, out)?;
    }
    Ok(())
}

/// What a message says before it goes on to reasons and ways out, within one line.
fn gist(message: &str) -> String {
    /// Shorter than this it says nothing.
    const LEAST: usize = 30;
    let clause = (message.match_indices([';', ':']))
        .map(|(at, _)| &message[..at])
        .find(|clause| {
            clause.chars().count() >= LEAST && message[clause.len() + 1..].starts_with(' ')
        });
    let text = clause.unwrap_or(message);
    if text.chars().count() <= GIST {
        return text.to_owned();
    }
    let mut cut = String::new();
    for word in text.split(' ') {
        if cut.chars().count() + 1 + word.chars().count() > GIST {
            break;
        }
        if !cut.is_empty() {
            cut.push(' ');
        }
        cut.push_str(word);
    }
    cut + " …"
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_gist_is_what_was_found() {
        for (message, says) in [
            (
                "the sum is off the aim by 3.0 dB at 80.2 Hz; see why",
                "the sum is off the aim by 3.0 dB at 80.2 Hz",
            ),
            // Too short to be a clause.
            (
                "note: the sum is off the aim by much, which is bad: see why",
                "note: the sum is off the aim by much, which is bad",
            ),
            ("short", "short"),
            (
                "the ratio is 3:4 at all the frequencies there are",
                "the ratio is 3:4 at all the frequencies there are",
            ),
        ] {
            assert_eq!(gist(message), says);
        }
        let long = gist(&"word ".repeat(40));
        assert!(
            long.ends_with(" …") && long.chars().count() <= GIST + 2,
            "{long}"
        );
        assert_eq!(gist(&"a".repeat(200)), " …");
    }
}
