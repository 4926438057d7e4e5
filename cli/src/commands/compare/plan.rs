//! What is compared: the files as they are, or one file with edits.

use std::path::{Path, PathBuf};

use netlist::problem::Problems;
use netlist::project::{Disk, Edit, Loaded, load_edited};
use serde::Serialize;

use crate::args::CompareArguments;
use crate::demo;
use crate::failure::Failure;

/// Most files.
const MOST_FILES: usize = 6;
/// Most columns of one file that is edited.
const MOST_EDITED: usize = 12;

/// A column before the work.
pub(super) struct ColumnPlan {
    /// Short, for the head of the column; no two have the same.
    pub(super) name: String,
    /// What it is, in full.
    pub(super) description: String,
    /// Whether it is made from the file by an edit.
    pub(super) edited: bool,
    pub(super) loaded: Loaded,
}

/// A field that is varied, where it is the only one.
#[derive(Serialize)]
pub(super) struct Varied {
    pub(super) field: String,
    pub(super) values: Vec<String>,
}

/// Reads all that is to be compared.
pub(super) fn plan(args: &CompareArguments) -> Result<(Vec<ColumnPlan>, Option<Varied>), Failure> {
    let edits = !(args.swap.is_empty()
        && args.without.is_empty()
        && args.ways.is_empty()
        && args.vary.is_empty());
    if args.demo && !edits {
        return Ok((demo_columns()?, None));
    }
    match (edits, args.files.len()) {
        (true, 0 | 1) => {
            let source = ColumnSource::of(args);
            let mut varied = varied(args)?;
            let columns = edited(args, &source, &varied)?;
            let one = (varied.len() == 1 && columns.len() == varied[0].values.len())
                .then(|| varied.remove(0));
            Ok((columns, one))
        }
        (true, count) => Err(Failure::unusable(
            format!("--swap, --without, --ways and --vary change one file, but {count} are named"),
            "name one file, or leave these options away",
        )),
        (false, 2..=MOST_FILES) => Ok((files(&args.files)?, None)),
        (false, 0 | 1) => Err(Failure::unusable(
            "there is only one file, and nothing to compare it with",
            "name two to six files, or say what to change in the one: --swap, --without, --ways or --vary",
        )),
        (false, count) => Err(Failure::unusable(
            format!("{count} files are more than the {MOST_FILES} that go side by side"),
            "leave some away",
        )),
    }
}

/// The file that is edited.
struct ColumnSource {
    path: PathBuf,
    demo: bool,
}

impl ColumnSource {
    fn of(args: &CompareArguments) -> Self {
        let path = args.files.first().cloned();
        Self {
            path: path.unwrap_or_else(|| PathBuf::from("brief.toml")),
            demo: args.demo,
        }
    }

    fn load(&self, edits: &[Edit]) -> Result<Loaded, Problems> {
        match self.demo {
            true => demo::load_edited(&self.path.to_string_lossy(), edits),
            false => load_edited(&Disk, &self.path, edits),
        }
    }
}

fn demo_columns() -> Result<Vec<ColumnPlan>, Failure> {
    let column = |name: &str,
                  description: &str,
                  file: &str,
                  edits: &[Edit]|
     -> Result<ColumnPlan, Failure> {
        Ok(ColumnPlan {
            name: name.to_owned(),
            description: description.to_owned(),
            edited: !edits.is_empty(),
            loaded: demo::load_edited(file, edits)?,
        })
    };
    let swap = Edit::Swap {
        way: "high".to_owned(),
        driver: "high-b".to_owned(),
    };
    Ok(vec![
        column("brief", "brief.toml", "brief.toml", &[])?,
        column(
            "high-b",
            "high-b in the place of high",
            "brief.toml",
            &[swap],
        )?,
        column("two-way", "two-way.toml", "two-way.toml", &[])?,
    ])
}

fn files(paths: &[PathBuf]) -> Result<Vec<ColumnPlan>, Failure> {
    let names = file_names(paths);
    let mut plans = Vec::new();
    let mut mistakes = Vec::new();
    for (path, name) in paths.iter().zip(names) {
        match load_edited(&Disk, path, &[]) {
            Ok(loaded) => plans.push(ColumnPlan {
                name,
                description: path.display().to_string(),
                edited: false,
                loaded,
            }),
            Err(problems) => mistakes.push(problems),
        }
    }
    match mistakes.is_empty() {
        true => Ok(plans),
        false => Err(Failure::Several(
            mistakes.into_iter().map(Failure::Problems).collect(),
        )),
    }
}

/// File names without their endings; with their folder or a number where two would be the same.
fn file_names(paths: &[PathBuf]) -> Vec<String> {
    let stem = |path: &Path| {
        path.file_stem()
            .unwrap_or(path.as_os_str())
            .to_string_lossy()
            .into_owned()
    };
    let twice = |name: &str| paths.iter().filter(|path| stem(path) == name).count() > 1;
    let mut names: Vec<String> = Vec::new();
    for path in paths {
        let mut name = stem(path);
        if twice(&name)
            && let Some(folder) = path.parent().and_then(Path::file_name)
        {
            name = format!("{}/{name}", folder.to_string_lossy());
        }
        names.push(own_name(name, &names));
    }
    names
}

fn own_name(name: String, taken: &[String]) -> String {
    let mut own = name.clone();
    let mut number = 2;
    while taken.contains(&own) {
        own = format!("{name} ({number})");
        number += 1;
    }
    own
}

/// Edits that make a column, and what each is in words.
#[derive(Debug, Clone, Default)]
struct ColumnEdits {
    description: Vec<String>,
    edits: Vec<Edit>,
}

impl ColumnEdits {
    fn with(&self, description: String, edits: impl IntoIterator<Item = Edit>) -> Self {
        let mut more = self.clone();
        more.description.push(description);
        more.edits.extend(edits);
        more
    }
}

/// Every shape with every value of the fields that are varied.
fn shapes(args: &CompareArguments, varied: &[Varied]) -> Result<Vec<ColumnEdits>, Failure> {
    let file = ColumnEdits::default();
    // The file as it is comes first.
    let mut shapes = vec![file.clone()];
    shapes.extend(swaps(args)?);
    for ways in &args.without {
        let gone = names(ways, "--without", "mid")?;
        let description = format!("without {}", gone.join(", "));
        shapes.push(file.with(description, gone.into_iter().map(Edit::Without)));
    }
    for ways in &args.ways {
        let kept = names(ways, "--ways", "low,high")?;
        shapes.push(file.with(format!("only {}", kept.join(", ")), [Edit::Ways(kept)]));
    }
    for Varied { field, values } in varied {
        let set = |value: &String| Edit::Set {
            field: field.clone(),
            value: value.clone(),
        };
        let with_values = shapes.iter().flat_map(|shape| {
            (values.iter()).map(move |value| shape.with(format!("{field} {value}"), [set(value)]))
        });
        shapes = with_values.collect();
    }
    Ok(shapes)
}

fn edited(
    args: &CompareArguments,
    source: &ColumnSource,
    varied: &[Varied],
) -> Result<Vec<ColumnPlan>, Failure> {
    let all = shapes(args, varied)?;
    if all.len() > MOST_EDITED {
        let message = format!(
            "these are {} columns, more than the {MOST_EDITED} that fit",
            all.len()
        );
        return Err(Failure::unusable(message, "name fewer drivers or values"));
    }
    if all.len() < 2 {
        return Err(Failure::unusable(
            "there is only one column, and nothing to compare it with",
            "name another value",
        ));
    }
    let file = source.path.display().to_string();
    let stem = source.path.file_stem();
    let stem = stem.map_or_else(|| file.clone(), |stem| stem.to_string_lossy().into_owned());
    let mut plans: Vec<ColumnPlan> = Vec::new();
    for ColumnEdits { description, edits } in all {
        let description = description.join(" and ");
        let loaded = source.load(&edits).map_err(|problems| Failure::With {
            what: match description.is_empty() {
                true => String::new(),
                false => format!("{file}, {description}"),
            },
            failure: Box::new(Failure::Problems(problems)),
        })?;
        let taken: Vec<String> = plans.iter().map(|plan| plan.name.clone()).collect();
        plans.push(ColumnPlan {
            name: own_name(short(&edits, &stem), &taken),
            description: if description.is_empty() {
                file.clone()
            } else {
                description
            },
            edited: !edits.is_empty(),
            loaded,
        });
    }
    Ok(plans)
}

/// What tells an edit apart, in a few letters.
fn short(edits: &[Edit], stem: &str) -> String {
    let words: Vec<String> = (edits.iter())
        .map(|edit| match edit {
            Edit::Swap { driver, .. } => driver.clone(),
            Edit::Ways(ways) => ways.join("+"),
            Edit::Without(way) => format!("no {way}"),
            Edit::Set { value, .. } => value.clone(),
        })
        .collect();
    match words.is_empty() {
        true => stem.to_owned(),
        false => words.join(", "),
    }
}

/// Every combination of the drivers that are to be tried, the file's own left out.
fn swaps(args: &CompareArguments) -> Result<Vec<ColumnEdits>, Failure> {
    const LIKE: &str = "write it like --swap high=high-b,high-c";
    let mut all = vec![ColumnEdits::default()];
    let mut ways: Vec<&str> = Vec::new();
    for swap in &args.swap {
        let Some((way, drivers)) = swap.split_once('=') else {
            let message = format!("--swap {swap} does not say which drivers take which way");
            return Err(Failure::unusable(message, LIKE));
        };
        let way = way.trim();
        if way.is_empty() || ways.contains(&way) {
            let message = format!("--swap {swap} names no way, or one that is swapped already");
            return Err(Failure::unusable(message, LIKE));
        }
        let before = all.clone();
        for driver in names(drivers, "--swap", "high=high-b,high-c")? {
            let swapped = before.iter().map(|shape| {
                let edit = Edit::Swap {
                    way: way.to_owned(),
                    driver: driver.clone(),
                };
                shape.with(format!("{driver} in the place of {way}"), [edit])
            });
            all.extend(swapped);
        }
        ways.push(way);
    }
    all.remove(0);
    Ok(all)
}

fn names(list: &str, option: &str, example: &str) -> Result<Vec<String>, Failure> {
    let names: Vec<String> = list.split(',').map(|name| name.trim().to_owned()).collect();
    if names.iter().any(String::is_empty) {
        return Err(Failure::unusable(
            format!("{option} {list} has an empty name"),
            format!("write it like {option} {example}"),
        ));
    }
    Ok(names)
}

fn varied(args: &CompareArguments) -> Result<Vec<Varied>, Failure> {
    (args.vary.iter())
        .map(|vary| {
            const LIKE: &str =
                "write it like --vary amplifier.output_impedance=\"0 ohm\",\"2 ohm\"";
            let Some((field, values)) = vary.split_once('=') else {
                return Err(Failure::unusable(
                    format!("--vary {vary} gives no values"),
                    LIKE,
                ));
            };
            let values = split_values(values);
            if field.trim().is_empty() || values.iter().any(String::is_empty) {
                return Err(Failure::unusable(
                    format!("--vary {vary} has an empty field or value"),
                    LIKE,
                ));
            }
            Ok(Varied {
                field: field.trim().to_owned(),
                values,
            })
        })
        .collect()
}

/// Values between commas, save those within brackets, braces and quotes.
fn split_values(text: &str) -> Vec<String> {
    let mut values = vec![String::new()];
    let (mut depth, mut quote) = (0u32, None);
    for c in text.chars() {
        match (quote, c) {
            (Some(open), c) if c == open => quote = None,
            (None, '"' | '\'') => quote = Some(c),
            (None, '[' | '{') => depth += 1,
            (None, ']' | '}') => depth = depth.saturating_sub(1),
            (None, ',') if depth == 0 => {
                values.push(String::new());
                continue;
            }
            _ => {}
        }
        values
            .last_mut()
            .expect("there is one from the start")
            .push(c);
    }
    values
        .into_iter()
        .map(|value| value.trim().to_owned())
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_are_parted_at_commas_outside_of_brackets() {
        assert_eq!(split_values("0 ohm, 2 ohm"), ["0 ohm", "2 ohm"]);
        let ranges = split_values("{ from = \"1 kHz\", to = \"2 kHz\" },auto,\"a,b\"");
        assert_eq!(
            ranges,
            ["{ from = \"1 kHz\", to = \"2 kHz\" }", "auto", "\"a,b\""]
        );
        assert_eq!(split_values("a,,b")[1], "");
    }

    #[test]
    fn no_two_columns_have_the_same_name() {
        let paths = ["a/x.toml", "b/x.toml", "y.toml", "a/x.toml"].map(PathBuf::from);
        assert_eq!(file_names(&paths), ["a/x", "b/x", "y", "a/x (2)"]);
    }
}
