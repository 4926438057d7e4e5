//! A comparison as one JSON document.

use serde::Serialize;
use solver::compare::{Likeness, Role, RolePiece, Row, Wish};
use solver::judge::Finding;
use solver::judge::check::AmplifierLoad;
use solver::judge::tolerance::{Tolerance, Yield};
use solver::search::Lies;

use super::plan::Varied;
use super::work::Column;
use super::{Compared, screen, verdict, words};
use crate::document::CheckedFigures;

/// All of it.
#[derive(Serialize)]
pub(super) struct CompareDocument<'a> {
    verdict: String,
    columns: Vec<ComparedColumn<'a>>,
    figures: &'a [Row],
    order: &'a [usize],
    common_band_hz: Option<[f64; 2]>,
    roles: Vec<ComparedPart<'a>>,
    unlike_the_first: &'a Likeness,
    varied: Option<&'a Varied>,
    builds: usize,
    seconds: f64,
    interrupted: bool,
}

/// A loudspeaker with what its check found.
#[derive(Serialize)]
struct ComparedColumn<'a> {
    name: &'a str,
    is: &'a str,
    file: &'a str,
    designed: bool,
    title: Option<&'a str>,
    #[serde(flatten)]
    figures: CheckedFigures,
    load: Option<&'a AmplifierLoad>,
    findings: &'a [Finding],
    tolerance: Option<ColumnTolerance<'a>>,
    parts: usize,
    price_of_pair: Option<f64>,
    copper_of_pair_kg: f64,
    hottest: Option<HottestPart<'a>>,
    broken: &'a [Wish],
}

/// How its builds do.
#[derive(Serialize)]
struct ColumnTolerance<'a> {
    builds: usize,
    seed: u64,
    own_level: bool,
    all: &'a Yield,
    parts_alone: Option<&'a Yield>,
}

#[derive(Serialize)]
struct HottestPart<'a> {
    part: &'a str,
    power_w: f64,
}

/// What does the same in all.
#[derive(Serialize)]
struct ComparedPart<'a> {
    way: String,
    is: String,
    lies: Option<&'static str>,
    values: &'a [Option<f64>],
    same: bool,
}

impl<'a> CompareDocument<'a> {
    pub(super) fn new(compared: &'a Compared) -> Self {
        let comparison = &compared.comparison;
        let names: Vec<&str> = (compared.columns.iter())
            .map(|column| column.name.as_str())
            .collect();
        let roles = compared.roles.iter();
        Self {
            verdict: verdict::sentence(&names, comparison),
            columns: compared.columns.iter().map(ComparedColumn::from).collect(),
            figures: &comparison.rows,
            order: &comparison.order,
            common_band_hz: comparison.common_hz,
            roles: roles
                .map(|role| ComparedPart::new(compared, role))
                .collect(),
            unlike_the_first: &compared.likeness,
            varied: compared.varied.as_ref(),
            builds: comparison.builds,
            seconds: compared.seconds,
            interrupted: compared.interrupted,
        }
    }
}

impl<'a> From<&'a Column> for ComparedColumn<'a> {
    fn from(column: &'a Column) -> Self {
        let check = &column.check;
        let hottest = column.hottest();
        Self {
            name: &column.name,
            is: &column.description,
            file: &column.file,
            designed: column.outcome.is_some(),
            title: column.project.title.as_deref(),
            figures: CheckedFigures::new(check),
            load: check.load.as_ref(),
            findings: &check.findings,
            tolerance: check.tolerance.as_ref().ok().map(ColumnTolerance::from),
            parts: column.bill.parts,
            price_of_pair: column.bill.price_of_pair,
            copper_of_pair_kg: column.bill.copper_of_pair_kg,
            hottest: hottest.map(|(part, power_w)| HottestPart { part, power_w }),
            broken: &column.broken,
        }
    }
}

impl<'a> From<&'a Tolerance> for ColumnTolerance<'a> {
    fn from(found: &'a Tolerance) -> Self {
        Self {
            builds: found.builds,
            seed: found.seed,
            own_level: found.own_level,
            all: &found.all,
            parts_alone: found.parts_alone.as_ref(),
        }
    }
}

impl<'a> ComparedPart<'a> {
    fn new(compared: &Compared, role: &'a Role) -> Self {
        Self {
            way: screen::way_name(compared, role.way),
            is: words::piece(role.piece),
            lies: match role.piece {
                RolePiece::Part {
                    lies: Lies::InLead, ..
                } => Some("in_lead"),
                RolePiece::Part { .. } => Some("across"),
                _ => None,
            },
            values: &role.values,
            same: role.same(),
        }
    }
}
