//! Columns on one screen.

use std::io::{Result, Write};

use netlist::project::Judged;
use solver::compare::{Figure, Role, Row};
use solver::judge::Severity;

use super::work::Column;
use super::{Compared, verdict, words};
use crate::words::{folded, watts};

/// Width of the names of rows.
const NAMES: usize = 24;
/// Width of the whole.
const WIDTH: usize = 80;
/// Widest column.
const WIDEST: usize = 15;
/// Columns that stand side by side; more are rows.
const BESIDE: usize = 6;
/// Lines of parts that differ.
const PARTS: usize = 14;

pub(super) fn print(compared: &Compared, full: bool, out: &mut dyn Write) -> Result<()> {
    let columns = &compared.columns;
    let names: Vec<&str> = columns.iter().map(|column| column.name.as_str()).collect();
    folded(&verdict::sentence(&names, &compared.comparison), 0, out)?;
    for text in verdict::against_the_first(&names, &compared.comparison) {
        folded(&format!("- {text}"), 2, out)?;
    }
    writeln!(out)?;
    for (number, column) in columns.iter().enumerate() {
        let designed = match column.outcome {
            Some(_) => "",
            None => "; network as in the file",
        };
        let early = if column.interrupted() {
            "; ended early"
        } else {
            ""
        };
        let text = format!(
            "{}  {}: {}{designed}{early}",
            number + 1,
            column.description,
            words::shape(column)
        );
        folded(&text, 3, out)?;
    }
    writeln!(out)?;
    if columns.len() <= BESIDE {
        beside(compared, out)?;
    } else {
        below(compared, out)?;
    }
    over_values(compared, out)?;
    legend(compared, out)?;
    not_kept(columns, out)?;
    parts(compared, full, out)?;
    Ok(())
}

/// Width of a column.
fn wide(count: usize) -> usize {
    ((WIDTH - NAMES) / count.max(1)).clamp(9, WIDEST)
}

fn cut(text: &str, width: usize) -> String {
    if text.chars().count() <= width {
        return text.to_owned();
    }
    let kept: String = text.chars().take(width - 1).collect();
    format!("{kept}…")
}

/// A row: its name, then a cell and its mark for each column.
fn line(name: &str, cells: &[(String, char)], out: &mut dyn Write) -> Result<()> {
    let wide = wide(cells.len());
    let mut text = format!("{:<NAMES$}", cut(name, NAMES - 1));
    for (cell, mark) in cells {
        text += &format!("{:>width$}{mark}", cut(cell, wide - 1), width = wide - 1);
    }
    writeln!(out, "{}", text.trim_end())
}

fn beside(compared: &Compared, out: &mut dyn Write) -> Result<()> {
    let columns = &compared.columns;
    let room = wide(columns.len()) - 1;
    let heads: Vec<(String, char)> = (columns.iter().enumerate())
        .map(|(place, column)| {
            let whole = format!("{} {}", place + 1, column.name);
            // They are numbered above, in this order.
            let fits = whole.chars().count() <= room;
            (if fits { whole } else { column.name.clone() }, ' ')
        })
        .collect();
    line("", &heads, out)?;
    for row in &compared.comparison.rows {
        let cells: Vec<(String, char)> = (row.values.iter().enumerate())
            .map(|(place, value)| {
                let cell = value.map_or("–".to_owned(), |value| words::value(row.figure, value));
                (cell, if row.best(place) { '*' } else { ' ' })
            })
            .collect();
        line(
            &words::figure(row.figure, &compared.comparison),
            &cells,
            out,
        )?;
    }
    let hottest: Vec<(String, char)> = (columns.iter())
        .map(|column| {
            let cell = column.hottest().map_or("–".to_owned(), |(part, power_w)| {
                format!("{part} {}", watts(power_w))
            });
            (cell, ' ')
        })
        .collect();
    line("hottest part", &hottest, out)?;
    let stand: Vec<(String, char)> = columns
        .iter()
        .map(|column| (dangers(column), ' '))
        .collect();
    line("dangers, cautions", &stand, out)
}

fn dangers(column: &Column) -> String {
    format!(
        "{}, {}",
        column.count(Severity::Danger),
        column.count(Severity::Caution)
    )
}

/// One row a column, for many of them.
fn below(compared: &Compared, out: &mut dyn Write) -> Result<()> {
    const FIGURES: [(Figure, &str); 8] = [
        (Figure::Flatness, "flat"),
        (Figure::Farthest, "most"),
        (Figure::Ways, "ways"),
        (Figure::Phases, "phases"),
        (Figure::Level, "level"),
        (Figure::LeastLoad, "load"),
        (Figure::Builds, "builds"),
        (Figure::Parts, "parts"),
    ];
    let heads: String = FIGURES
        .iter()
        .map(|(_, head)| format!("{head:>7} "))
        .collect();
    writeln!(out, "{:<16}{}", "", heads.trim_end())?;
    for (place, column) in compared.columns.iter().enumerate() {
        let cells: String = (FIGURES.iter())
            .map(|&(figure, _)| {
                let row = compared.comparison.row(figure);
                let value = row.and_then(|row| row.values[place]);
                let cell = value.map_or("–".to_owned(), |value| words::value(figure, value));
                let mark = if row.is_some_and(|row| row.best(place)) {
                    '*'
                } else {
                    ' '
                };
                format!("{cell:>7}{mark}")
            })
            .collect();
        let name = format!("{} {}", place + 1, column.name);
        writeln!(out, "{:<16}{}", cut(&name, 15), cells.trim_end())?;
    }
    folded(
        "flat and most: the sum off its aim, dB rms and at most; ways: the one farthest off its target, dB; phases: \
         of the two ways farthest apart, degrees; level: dB SPL; load: the least, Ω; builds: 95 of 100 stay within, dB",
        0,
        out,
    )
}

/// Values of a field from which on figures are shown as a curve.
pub(super) const CURVE_FROM: usize = 5;

/// Figures over the values of the field that is varied, where there are enough of them: each from its least to its
/// greatest.
fn over_values(compared: &Compared, out: &mut dyn Write) -> Result<()> {
    const STEPS: [char; 8] = ['▁', '▂', '▃', '▄', '▅', '▆', '▇', '█'];
    const FIGURES: [Figure; 4] = [
        Figure::Flatness,
        Figure::Ways,
        Figure::Level,
        Figure::LeastLoad,
    ];
    let Some(varied) =
        (compared.varied.as_ref()).filter(|varied| varied.values.len() >= CURVE_FROM)
    else {
        return Ok(());
    };
    let ends =
        [varied.values.first(), varied.values.last()].map(|end| end.map_or("", String::as_str));
    writeln!(out, "\nover {}, {} to {}", varied.field, ends[0], ends[1])?;
    for figure in FIGURES {
        let row = compared.comparison.row(figure);
        let values: Option<Vec<f64>> = row.and_then(|row| row.values.iter().copied().collect());
        let Some(values) = values else { continue };
        let least = values.iter().copied().fold(f64::INFINITY, f64::min);
        let most = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let step = |value: f64| {
            let share = (value - least) / (most - least).max(f64::MIN_POSITIVE);
            STEPS[((share * 7.0).round() as usize).min(7)]
        };
        let curve: String = values.iter().flat_map(|&value| [step(value); 2]).collect();
        let (name, [from, to]) = (
            words::figure(figure, &compared.comparison),
            [least, most].map(|v| words::value(figure, v)),
        );
        let range = if from == to {
            format!("{from} throughout")
        } else {
            format!("{from} to {to}")
        };
        writeln!(out, "{name:<NAMES$}{curve}  {range}")?;
    }
    writeln!(out)
}

fn legend(compared: &Compared, out: &mut dyn Write) -> Result<()> {
    let comparison = &compared.comparison;
    let marks = comparison.rows.iter().any(|row| !row.better.is_empty());
    let mut text = match (marks, comparison.builds) {
        (true, _) => format!(
            "* is better than others, in 95 of 100 builds within the tolerance of parts and drivers ({} drawn), and none is better than it; what is ahead without it is blurred",
            comparison.builds
        ),
        (false, 0) => {
            "nothing is called better: no builds were drawn to see what tolerance blurs".to_owned()
        }
        (false, builds) => format!(
            "nothing is called better: the parts' tolerance blurs what differs ({builds} builds drawn)"
        ),
    };
    let apart: Vec<&str> = (comparison.rows.iter())
        .filter(|row| !row.comparable)
        .filter_map(|row| match row.figure {
            Figure::Flatness => Some("flat"),
            Figure::Farthest => Some("most off"),
            Figure::Builds => Some("builds"),
            Figure::Level => None,
            _ => Some("flat together"),
        })
        .collect();
    if !apart.is_empty() {
        text += &format!(
            "; not held against each other, because other things are asked for: {}",
            apart.join(", ")
        );
    }
    let level = |row: &Row| row.figure == Figure::Level && !row.comparable;
    if comparison.rows.iter().any(level) {
        text += "; more level is not better where a level is asked for";
    }
    let over_window = |column: &Column| column.project.aim.judged == Judged::Window;
    if compared.columns.iter().all(over_window) {
        text += "; all sums are judged over the listening window";
    }
    folded(&text, 0, out)?;
    for text in unlike(compared) {
        folded(&format!("note: {text}"), 2, out)?;
    }
    Ok(())
}

/// Columns that are about something else than the first, in words.
pub(super) fn unlike(compared: &Compared) -> Vec<String> {
    let name = |place: usize| format!("{} {}", place + 1, compared.columns[place].name);
    let told = |places: &[usize], says: [&str; 2]| {
        let names: Vec<String> = places.iter().map(|&place| name(place)).collect();
        let says = if names.len() == 1 { says[0] } else { says[1] };
        (!names.is_empty()).then(|| format!("{} {}", names.join(", "), says.replace('*', &name(0))))
    };
    let found = &compared.likeness;
    let mut list = Vec::new();
    list.extend(told(
        &found.other_loudspeaker,
        [
            "has no driver in common with *: it is another loudspeaker",
            "have no driver in common with *: they are other loudspeakers",
        ],
    ));
    let judged = compared.columns[0].project.aim.judged;
    list.extend(told(
        &found.judged_elsewhere,
        match judged {
            Judged::Axis => [
                "is judged over the listening window, * on the axis",
                "are judged over the listening window, * on the axis",
            ],
            Judged::Window => [
                "is judged on the axis, * over the listening window",
                "are judged on the axis, * over the listening window",
            ],
        },
    ));
    // Of one file the command varies it.
    if compared.varied.is_none() {
        let amplifier = [
            "has another amplifier than *",
            "have another amplifier than *",
        ];
        list.extend(told(&found.other_amplifier, amplifier));
        let place = [
            "is heard from another place than *",
            "are heard from another place than *",
        ];
        list.extend(told(&found.other_listener, place));
    }
    list
}

fn not_kept(columns: &[Column], out: &mut dyn Write) -> Result<()> {
    let told: Vec<String> = (columns.iter().enumerate())
        .filter(|(_, column)| !column.broken.is_empty())
        .map(|(number, column)| {
            let wishes: Vec<&str> = column
                .broken
                .iter()
                .map(|&wish| words::wish(wish))
                .collect();
            format!("{} {}: {}", number + 1, column.name, wishes.join(", "))
        })
        .collect();
    let text = match told.is_empty() {
        true => "all keep what is asked for".to_owned(),
        false => format!("wishes that are not kept: {}", told.join("; ")),
    };
    folded(&text, 0, out)
}

/// Name of a row of ways.
pub(super) fn way_name(compared: &Compared, row: usize) -> String {
    let mut names: Vec<&str> = Vec::new();
    for (column, way) in compared.columns.iter().zip(&compared.ways[row]) {
        if let (Ok(assessed), Some(way)) = (&column.check.assessment, way) {
            let name = assessed.job.ways[*way].name.as_str();
            if !names.contains(&name) {
                names.push(name);
            }
        }
    }
    names.join("/")
}

fn parts(compared: &Compared, full: bool, out: &mut dyn Write) -> Result<()> {
    if compared.columns.len() > BESIDE {
        return Ok(());
    }
    let differ: Vec<&Role> = compared
        .roles
        .iter()
        .filter(|role| full || !role.same())
        .collect();
    let same = compared.roles.len() - differ.len();
    let others = match same {
        0 => String::new(),
        1 => " (one more is the same)".to_owned(),
        more => format!(" ({more} more are the same)"),
    };
    if differ.is_empty() {
        return match same {
            0 => Ok(()),
            _ => writeln!(out, "\nthe parts are the same in all of them"),
        };
    }
    let what = if full { "parts" } else { "parts that differ" };
    writeln!(out, "\n{what}, by what they do{others}")?;
    let shown = if full { differ.len() } else { PARTS };
    let mut before = None;
    for role in differ.iter().take(shown) {
        if before != Some(role.way) {
            writeln!(out, "{}", way_name(compared, role.way))?;
        }
        before = Some(role.way);
        let cells: Vec<(String, char)> = (role.values.iter())
            .map(|value| {
                (
                    value.map_or("–".to_owned(), |value| {
                        words::piece_value(role.piece, value)
                    }),
                    ' ',
                )
            })
            .collect();
        line(&format!("  {}", words::piece(role.piece)), &cells, out)?;
    }
    match differ.len().saturating_sub(shown) {
        0 => Ok(()),
        more => writeln!(out, "and {more} more: add --full, or see the page (-o)"),
    }
}
