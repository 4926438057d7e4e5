//! `built` with measured responses.

use serde_json::Value;
use tests::command::handover;
use tests::document::document;

use super::built::Bench;

/// One way measured alone, its pad 3 dB off: the way is named with its level.
#[test]
fn the_response_of_one_way_shows_its_level() {
    let bench = Bench::new();
    let swept = document(&handover(&[
        "sweep",
        &bench.design,
        "--json",
        "--points",
        "200",
    ]));
    let column = |value: &Value| -> Vec<f64> {
        let list = value.as_array().unwrap();
        list.iter().map(|v| v.as_f64().unwrap()).collect()
    };
    let f_hz = column(&swept["frequency_hz"]);
    let file = |name: &str, by_db: f64| {
        let level = column(&swept["ways"][name]["level_db"]);
        let rows = f_hz
            .iter()
            .copied()
            .zip(level.into_iter().map(|l| l + by_db));
        let path = bench.write(&format!("{name}.txt"), rows);
        format!("{name}={path}")
    };
    let (low, mid) = (file("low", 0.0), file("mid", -3.0));
    let outcome = bench.built(&["--response", &low, "--response", &mid, "--json"]);
    assert_eq!(outcome.status, 0, "{}", outcome.err);
    let found = document(&outcome);
    let ways = found["response"]["ways"].as_array().unwrap();
    let level = |name: &str| {
        let way = ways.iter().find(|way| way["driver"] == name).unwrap();
        way["level_db"].as_f64()
    };
    let off = level("mid").unwrap() - level("low").unwrap();
    assert!((off + 3.0).abs() < 0.3, "{ways:?}");
    let twice = bench.built(&["--response", &mid, "--response", &mid]);
    assert_eq!(twice.status, 2);
    assert!(twice.err.contains("named twice"), "{}", twice.err);
}

#[test]
fn a_response_alone_will_do() {
    let bench = Bench::new();
    let swept = handover(&["sweep", &bench.design, "--json", "--points", "200"]);
    let swept = document(&swept);
    let column = |value: &Value| -> Vec<f64> {
        value
            .as_array()
            .unwrap()
            .iter()
            .map(|v| v.as_f64().unwrap())
            .collect()
    };
    let f_hz = column(&swept["frequency_hz"]);
    let sum = column(&swept["system"]["level_db"]);
    let file = bench.write("sum.txt", f_hz.into_iter().zip(sum));
    let outcome = bench.built(&["--response", &file, "--json"]);
    assert_eq!(outcome.status, 0, "{}", outcome.err);
    let found = document(&outcome);
    assert!(found["measurement"].is_null() && found["as_designed"].is_null());
    for way in found["response"]["ways"].as_array().unwrap() {
        assert_eq!(way["reversed"], false, "{way}");
        assert!(way["level_db"].as_f64().unwrap().abs() < 0.3, "{way}");
        assert!(way["share"].as_f64().unwrap() > 0.9, "{way}");
    }
    assert!(found["response"]["sum"]["rms_db"].as_f64().unwrap() < 2.0);
    let screen = bench.built(&["--response", &file]);
    assert!(
        screen.out.contains("as drawn") && screen.out.contains("off the aim"),
        "{}",
        screen.out
    );
}
