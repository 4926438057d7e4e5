//! Words and numbers for people.

use std::io::Write;
use std::sync::atomic::{AtomicUsize, Ordering};

use netlist::network::{Joined, MadeOf};
use netlist::project::{AlignmentPair, Project, StockKind};
use netlist::quantity::{Hertz, Watts};
use solver::judge::Rating;
use solver::load::{Curve, Note};
use solver::pad::{LevelStep, PartChange, PlaceOfChange, Step};
use solver::stock::Choice;
use solver::synthesis::PadKind;

/// A frequency with three figures.
pub(crate) fn hz(f_hz: f64) -> String {
    format!("{:.3}", Hertz(f_hz))
}

/// Column in which what is said of a subject begins.
const SUBJECT: usize = 11;

/// A line about a subject.
pub(crate) fn about(subject: &str, text: &str, out: &mut dyn Write) -> std::io::Result<()> {
    folded(&format!("{subject:<SUBJECT$}{text}"), SUBJECT, out)
}

/// A note about a driver's data as one line.
pub(crate) fn note(driver: &str, note: &Note) -> String {
    let which = |curve: Curve| match curve {
        Curve::Impedance => "impedance",
        Curve::Response => "response",
    };
    match *note {
        Note::PhaseReconstructed { curve } => format!(
            "{driver}: the {} has no phase; the minimum phase was worked out from its magnitude",
            which(curve)
        ),
        Note::OutsideTable {
            curve,
            table_from_hz,
            table_to_hz,
            ..
        } => format!(
            "{driver}: the {} is measured from {} to {}; beyond, it is continued from its end slopes",
            which(curve),
            hz(table_from_hz),
            hz(table_to_hz)
        ),
        Note::PhaseLimited {
            from_hz,
            to_hz,
            worst_deg,
        } => format!(
            "{driver}: the impedance's phase reaches {worst_deg:.0}° between {} and {}, which no \
             driver has; it was limited",
            hz(from_hz),
            hz(to_hz)
        ),
        Note::PhaseTooCoarse { curve, at_hz } => format!(
            "{driver}: the phase of the {} turns too fast to follow near {}; take the flight time \
             out of the measurement or measure more points",
            which(curve),
            hz(at_hz)
        ),
        Note::NearFieldJoined(join) => format!(
            "{driver}: the near field below and the far field above are joined at {}, where the near field is {:+.1} dB",
            hz(join.at_hz),
            join.misfit_db
        ),
        Note::ReEstimated { re_ohm } => format!(
            "{driver}: the voice coil's resistance was estimated as {re_ohm:.2} ohm from its impedance"
        ),
    }
}

/// A text of the builder's as it goes to a terminal: nothing in it moves the cursor or sets colours.
pub(crate) fn plain(text: &str) -> String {
    text.replace(|c: char| c.is_control() && c != '\n', " ")
}

/// The title of a project, where it has one.
pub(crate) fn title(project: &Project, out: &mut dyn Write) -> std::io::Result<()> {
    match &project.title {
        Some(title) => writeln!(out, "{}", title.replace(char::is_control, " ")),
        None => Ok(()),
    }
}

/// Its title, and the remark on where its data come from.
pub(crate) fn heading(project: &Project, out: &mut dyn Write) -> std::io::Result<()> {
    title(project, out)?;
    match &project.note {
        Some(note) => folded(note, 0, out),
        None => Ok(()),
    }
}

/// As a shell takes it.
pub(crate) fn quoted(word: &str) -> String {
    let plain = |c: char| c.is_alphanumeric() || "-_./,=+:".contains(c);
    match !word.is_empty() && word.chars().all(plain) {
        true => word.to_owned(),
        false => format!("'{}'", word.replace('\'', "'\\''")),
    }
}

/// So many of something: `1 part`, `2 parts`.
pub(crate) fn plural(count: usize, what: &str) -> String {
    match count {
        1 => format!("1 {what}"),
        more => format!("{more} {what}s"),
    }
}

/// With its sign, but never as −0.
pub(crate) fn signed(value: f64, decimals: usize) -> String {
    let text = format!("{value:+.decimals$}");
    match text.contains(|digit| ('1'..='9').contains(&digit)) {
        true => text,
        false => text.replacen('-', "+", 1),
    }
}

/// Widest line of running text, and its width where nobody looks.
const WIDEST: usize = 100;
/// Narrower than this nothing can be read.
const NARROWEST: usize = 60;

/// Width of running text.
static WIDTH: AtomicUsize = AtomicUsize::new(WIDEST);

/// Folds running text to a terminal of so many columns from now on.
pub(crate) fn fit(columns: usize) {
    WIDTH.store(columns.clamp(NARROWEST, WIDEST), Ordering::Relaxed);
}

/// A tap of an autoformer as it is spoken of: what it takes away. A digit more near the whole winding, so that no tap is
/// said to take nothing.
pub(crate) fn tap_words(ratio: f64) -> String {
    let db = 20.0 * ratio.log10();
    let text = if db.abs() < 0.05 {
        format!("{db:.2} dB")
    } else {
        format!("{db:.1} dB")
    };
    text.replace('-', "−")
}

/// A power as it is read off a meter: in watt with two figures from 10 mW on, three from 10 W.
pub(crate) fn watts(power_w: f64) -> String {
    /// Less is nothing to anybody.
    const LEAST_W: f64 = 1e-6;
    match power_w {
        w if w <= 0.0 => "none".to_owned(),
        w if w < LEAST_W => "below 1 µW".to_owned(),
        w if w < 9.95e-3 => format!("{:.2}", Watts(w)),
        w if w < 0.0995 => format!("{w:.3} W"),
        w if w < 0.995 => format!("{w:.2} W"),
        w if w < 99.95 => format!("{w:.1} W"),
        w => format!("{:.3}", Watts(w)),
    }
}

/// Running text, folded; what follows the first line is indented.
pub(crate) fn folded(text: &str, indent: usize, out: &mut dyn Write) -> std::io::Result<()> {
    let (text, width) = (plain(text), WIDTH.load(Ordering::Relaxed));
    let begin = text.len() - text.trim_start_matches(' ').len();
    let mut line = text[..begin].to_owned();
    // Whether the line has a word yet.
    let mut empty = true;
    for word in text[begin..].split(' ') {
        if !empty && line.chars().count() + 1 + word.chars().count() > width {
            writeln!(out, "{}", line.trim_end())?;
            line = " ".repeat(indent);
        } else if !empty {
            line.push(' ');
        }
        line.push_str(word);
        empty = false;
    }
    writeln!(out, "{}", line.trim_end())
}

/// The slopes of a crossover: `LR4`, or `LR4 / BW3` where the two sides differ.
pub(crate) fn slopes(pair: AlignmentPair) -> String {
    if pair.lower == pair.upper {
        return pair.lower.to_string();
    }
    format!("{} / {}", pair.lower, pair.upper)
}

/// A value with the parts that make it: `59 µF: 47 µF ∥ 12 µF`, `17.1 µF: 27 µF in series with 47 µF`. A plus
/// stands only where the values add up.
pub(crate) fn made_of(kind: StockKind, value_si: f64, made_of: Option<&MadeOf>) -> String {
    let shown = kind.show(value_si);
    let Some(made_of) = made_of.filter(|made_of| made_of.values.len() > 1) else {
        return shown;
    };
    let values: Vec<String> = made_of.values.iter().map(|v| kind.show(*v)).collect();
    match made_of.joined {
        Joined::Parallel => format!("{shown}: {}", values.join(" ∥ ")),
        Joined::Series if made_of.joined.adds_up(kind == StockKind::Capacitor) => {
            format!("{shown}: {}", values.join(" + "))
        }
        Joined::Series => format!("{shown}: {}", values.join(" in series with ")),
    }
}

/// A resistor of the stock, with what it is made of: `5.6 Ω`, or `6 Ω (3 + 3)`.
pub(crate) fn bought(resistor: &Choice, ohm: fn(f64) -> String) -> String {
    let shown = ohm(resistor.value_si);
    let Some(made_of) = &resistor.made_of else {
        return shown;
    };
    let values: Vec<String> = made_of.values.iter().map(f64::to_string).collect();
    let sign = match made_of.joined {
        Joined::Parallel => " ∥ ",
        Joined::Series => " + ",
    };
    format!("{shown} ({})", values.join(sign))
}

/// Why a step has no part of the stock.
pub(crate) const NOTHING_NEAR: &str = "nothing of the stock comes within half a decibel";

/// Why there is no pad of a kind for a step by ear.
pub(crate) fn no_pad(step: &Step, kind: PadKind) -> &'static str {
    match kind {
        _ if step.without_pad => "no pad takes that little: leave it out",
        PadKind::Autoformer => "no tap at hand comes within half a decibel",
        _ => NOTHING_NEAR,
    }
}

/// A number for a column in which points stand under each other: what is missing of `places` decimals is left blank, as
/// wide as digits are.
pub(crate) fn aligned(value: f64, places: usize) -> String {
    let text = format!("{value:.places$}");
    let kept = match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.'),
        false => &text,
    };
    let blanks = (kept.len()..text.len()).map(|at| match &text[at..=at] {
        "." => '\u{2008}',
        _ => '\u{2007}',
    });
    kept.chars().chain(blanks).collect()
}

/// What a step of a level set inside its filter exchanges or puts in: `R4 6.8 Ω, 5 W; new 1.5 mH before it`.
pub(crate) fn level_changes(step: &LevelStep) -> String {
    if step.is_design() {
        return "as it is".to_owned();
    }
    let words: Vec<String> = step.changes.iter().map(level_change).collect();
    words.join("; ")
}

fn level_change(change: &PartChange) -> String {
    let value = change.kind.show(change.to_si);
    let what = match change.place {
        PlaceOfChange::InPlace => format!("{} {value}", change.part),
        PlaceOfChange::BeforeDriver => format!("new {value} before the driver"),
        PlaceOfChange::AcrossDriver => format!("new {value} across the driver"),
    };
    match change.rating {
        // What a capacitor must stand hardly moves with a step.
        Some(Rating::PowerW(power_w)) => format!("{what}, {}", watts(power_w)),
        _ => what,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plus_stands_only_where_values_add_up() {
        let of = |kind, joined, values: [f64; 2]| {
            let values = values.to_vec();
            made_of(kind, 10.0 * values[0], Some(&MadeOf { joined, values }))
        };
        let capacitors = of(StockKind::Capacitor, Joined::Series, [27e-6, 47e-6]);
        assert!(
            capacitors.ends_with("27 µF in series with 47 µF"),
            "{capacitors}"
        );
        let capacitors = of(StockKind::Capacitor, Joined::Parallel, [27e-6, 47e-6]);
        assert!(capacitors.ends_with("27 µF ∥ 47 µF"), "{capacitors}");
        let resistors = of(StockKind::Resistor, Joined::Series, [10.0, 1.0]);
        assert!(resistors.ends_with("10 Ω + 1 Ω"), "{resistors}");
    }

    #[test]
    fn one_piece_is_no_several() {
        let one = MadeOf {
            joined: Joined::Parallel,
            values: vec![10e-6],
        };
        assert_eq!(made_of(StockKind::Capacitor, 10e-6, Some(&one)), "10 µF");
    }

    #[test]
    fn nothing_is_neither_more_nor_less() {
        for (value, places, shown) in [
            (-0.004, 2, "+0.00"),
            (0.004, 2, "+0.00"),
            (-0.04, 1, "+0.0"),
            (-0.126, 2, "-0.13"),
            (1.26, 1, "+1.3"),
        ] {
            assert_eq!(signed(value, places), shown);
        }
    }

    #[test]
    fn no_text_moves_the_cursor() {
        let mut out = Vec::new();
        folded("\nin \u{1b}[31mred\u{7}", 0, &mut out).unwrap();
        assert_eq!(String::from_utf8(out).unwrap(), "\nin  [31mred\n");
    }

    #[test]
    fn a_shell_takes_a_name_with_a_blank_as_one() {
        assert_eq!(quoted("a/b-1.toml"), "a/b-1.toml");
        assert_eq!(quoted("my brief.toml"), "'my brief.toml'");
        assert_eq!(quoted("it's"), "'it'\\''s'");
        assert_eq!(quoted(""), "''");
    }

    #[test]
    fn powers_are_read_as_of_a_meter() {
        for (power_w, shown) in [
            (0.0, "none"),
            (3e-7, "below 1 µW"),
            (78e-6, "78 µW"),
            (4.2e-3, "4.2 mW"),
            (0.024, "0.024 W"),
            (0.5791, "0.58 W"),
            (0.9951, "1.0 W"),
            (3.54, "3.5 W"),
            (14.13, "14.1 W"),
            (148_721.0, "149 kW"),
        ] {
            assert_eq!(watts(power_w), shown);
        }
    }
}
