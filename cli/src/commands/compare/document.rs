//! A comparison as one JSON document.

use serde_json::{Map, Value, json};
use solver::compare::{Piece, Role};
use solver::search::Lies;

use super::work::Column;
use super::{Compared, screen, verdict, words};
use crate::commands::check;

/// What a column has from its check.
const OF_CHECK: [&str; 7] = [
    "title",
    "level_db",
    "flatness",
    "ways",
    "crossovers",
    "load",
    "findings",
];

pub(super) fn document(compared: &Compared) -> Value {
    let comparison = &compared.comparison;
    let names: Vec<&str> = compared
        .columns
        .iter()
        .map(|column| column.name.as_str())
        .collect();
    let figures: Vec<Value> = (comparison.rows.iter())
        .map(|row| {
            json!({
                "figure": row.figure,
                "values": row.values,
                "comparable": row.comparable,
                "better": row.better,
            })
        })
        .collect();
    json!({
        "verdict": verdict::sentence(&names, comparison),
        "columns": compared.columns.iter().map(column).collect::<Vec<Value>>(),
        "figures": figures,
        "order": comparison.order,
        "common_band_hz": comparison.common_hz,
        "roles": compared.roles.iter().map(|one| role(compared, one)).collect::<Vec<Value>>(),
        "unlike_the_first": compared.likeness,
        "varied": compared.varied.as_ref().map(|varied| json!({ "field": varied.field, "values": varied.values })),
        "builds": comparison.builds,
        "seconds": compared.seconds,
        "interrupted": compared.interrupted,
    })
}

fn column(column: &Column) -> Value {
    let checked = check::document(&column.project, &column.check);
    let mut fields = Map::new();
    fields.insert("name".to_owned(), json!(column.name));
    fields.insert("is".to_owned(), json!(column.told));
    fields.insert("file".to_owned(), json!(column.file));
    fields.insert("designed".to_owned(), json!(column.outcome.is_some()));
    for name in OF_CHECK {
        fields.insert(name.to_owned(), checked[name].clone());
    }
    let tolerance = match &column.check.tolerance {
        Ok(found) => json!({
            "builds": found.builds, "seed": found.seed, "own_level": found.own_level,
            "all": found.all, "parts_alone": found.parts_alone,
        }),
        Err(_) => Value::Null,
    };
    fields.insert("tolerance".to_owned(), tolerance);
    fields.insert("parts".to_owned(), json!(column.bill.parts));
    fields.insert("price_of_pair".to_owned(), json!(column.bill.price_of_pair));
    fields.insert(
        "copper_of_pair_kg".to_owned(),
        json!(column.bill.copper_of_pair_kg),
    );
    let hottest = column.hottest();
    fields.insert(
        "hottest".to_owned(),
        json!(hottest.map(|(part, power_w)| json!({ "part": part, "power_w": power_w }))),
    );
    fields.insert("broken".to_owned(), json!(column.broken));
    Value::Object(fields)
}

fn role(compared: &Compared, role: &Role) -> Value {
    let lies = match role.piece {
        Piece::Part {
            lies: Lies::InLead, ..
        } => Some("in_lead"),
        Piece::Part { .. } => Some("across"),
        _ => None,
    };
    json!({
        "way": screen::way_name(compared, role.way),
        "is": words::piece(role.piece),
        "lies": lies,
        "values": role.values,
        "same": role.same(),
    })
}
