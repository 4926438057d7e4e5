//! Names of figures, pieces and wishes, and their values, for people.

use netlist::project::StockKind;
use solver::compare::{Comparison, Figure, RolePiece, Wish};

use super::work::Column;
use crate::purpose::section;
use crate::words;

/// Name of a figure with its unit.
pub(super) fn figure(figure: Figure, comparison: &Comparison) -> String {
    let name = match figure {
        Figure::Score => "error and parts",
        Figure::Flatness => "flat, dB rms",
        Figure::Farthest => "most off, dB",
        Figure::CommonFlatness => {
            let hz = comparison.common_hz.unwrap_or_default();
            let [from, to] = hz.map(words::hz);
            return format!("flat, {from}-{to}");
        }
        Figure::Ways => "ways off target, dB",
        Figure::Phases => "phases apart, °",
        Figure::Level => "level, dB SPL",
        Figure::LeastLoad => "least load, Ω",
        Figure::LeastEpdr => "heats as (EPDR), Ω",
        Figure::Builds => "95 of 100 builds, ±dB",
        Figure::Parts => "parts",
        Figure::Price => "price of a pair",
        Figure::Copper => "copper of a pair, kg",
    };
    name.to_owned()
}

/// A value of a figure, without its unit.
pub(super) fn value(figure: Figure, value: f64) -> String {
    let digits = match figure {
        Figure::Parts | Figure::Phases => 0,
        Figure::Level | Figure::Score => 1,
        _ => 2,
    };
    format!("{value:.digits$}")
}

/// In what one is better than another, as it follows "it is" or "it has".
pub(super) fn better(figure: Figure, is: f64, than: f64) -> String {
    let shown = |v: f64| value(figure, v);
    let (a, b) = (shown(is), shown(than));
    match figure {
        Figure::Score => format!("better in error and parts ({a} against {b})"),
        Figure::Flatness | Figure::CommonFlatness => format!("flatter ({a} against {b} dB rms)"),
        Figure::Farthest => format!("off by less at its worst ({a} against {b} dB)"),
        Figure::Ways => format!("nearer to its slopes ({a} against {b} dB)"),
        Figure::Phases => format!("better in phase ({a} against {b}°)"),
        Figure::Level => format!("{:.1} dB louder", is - than),
        Figure::LeastLoad => format!("easier to drive ({a} against {b} Ω)"),
        Figure::LeastEpdr => format!("cooler for the amplifier ({a} against {b} Ω EPDR)"),
        Figure::Builds => format!("steadier from build to build (±{a} against ±{b} dB)"),
        Figure::Parts => match (than - is).round() {
            one if (one - 1.0).abs() < 0.5 => "one part smaller".to_owned(),
            more => format!("{more:.0} parts smaller"),
        },
        Figure::Price => format!("{:.2} cheaper a pair", than - is),
        Figure::Copper => format!("{:.2} kg lighter in copper", than - is),
    }
}

/// A part by what it does.
pub(super) fn piece(piece: RolePiece) -> String {
    match piece {
        RolePiece::Swapped => "wires swapped".to_owned(),
        RolePiece::Tap => "autoformer tap".to_owned(),
        RolePiece::Part { lies, has, kind } => {
            let section = section(lies, has);
            let alone = has.iter().filter(|has| **has).count() < 2;
            match alone {
                true => section.to_owned(),
                false => format!(
                    "{}, {}",
                    section.split(',').next().unwrap_or_default(),
                    short(kind)
                ),
            }
        }
    }
}

fn short(kind: StockKind) -> &'static str {
    match kind {
        StockKind::Capacitor => "C",
        StockKind::Inductor => "L",
        StockKind::Resistor => "R",
    }
}

/// Value of a piece.
pub(super) fn piece_value(piece: RolePiece, value: f64) -> String {
    match piece {
        RolePiece::Swapped => if value > 0.5 { "yes" } else { "no" }.to_owned(),
        RolePiece::Tap => format!("{:.1} dB", 20.0 * value.log10()),
        RolePiece::Part { kind, .. } => kind.show(value),
    }
}

/// A wish that is not kept.
pub(super) fn wish(wish: Wish) -> &'static str {
    match wish {
        Wish::LeastLoad => "least load",
        Wish::Level => "level",
        Wish::Flatness => "flat sum",
        Wish::Ways => "slopes",
        Wish::Phases => "phases",
        Wish::Protection => "protection of a diaphragm",
        Wish::UsableBand => "usable bands",
        Wish::Power => "rated powers",
        Wish::Parts => "number of parts",
        Wish::Price => "price",
    }
}

fn ways(count: usize) -> String {
    match count {
        2 => "two ways".to_owned(),
        3 => "three ways".to_owned(),
        4 => "four ways".to_owned(),
        5 => "five ways".to_owned(),
        count => format!("{count} ways"),
    }
}

/// What a column is: ways, crossovers, slopes.
pub(super) fn shape(column: &Column) -> String {
    let Ok(assessed) = &column.check.assessment else {
        return "not held against an aim".to_owned();
    };
    let ways = ways(assessed.job.ways.len());
    let crossovers: Vec<String> = (assessed.job.crossovers.iter().zip(&assessed.alignments))
        .map(|(crossover, &pair)| format!("{:.3} {}", crossover.frequency, words::slopes(pair)))
        .collect();
    format!("{ways}, {}", crossovers.join(", "))
}

#[cfg(test)]
mod tests {
    #[test]
    fn five_ways_are_no_four() {
        assert_eq!(super::ways(4), "four ways");
        assert_eq!(super::ways(5), "five ways");
    }
}
