//! A picture of a pad on its load: what the filter sees, and what is left behind the pad.

use solver::pad::{PadAnswer, PadLoad};
use solver::sound::Side;

use super::text::{hertz, ohm};
use crate::picture::{Axis, AxisSide, Chart, Ink, Mark};

/// Room above and below the level curves, in dB.
const ROOM_DB: f64 = 2.0;

/// The picture as the text of an SVG file.
pub(super) fn picture(answer: &PadAnswer<'_>) -> String {
    let load = &answer.bench.load;
    let name = answer.name();
    let study = &answer.chosen.study;
    let alone = load.z_ohm.magnitude();
    let seen = study.curves.seen_ohm.magnitude();
    let textbook = answer.textbook.as_ref().map(|textbook| &textbook.study);
    let textbook_seen = textbook.map(|study| study.curves.seen_ohm.magnitude());
    let [from_hz, to_hz] = shown(load);
    let places = load.places([from_hz, to_hz]);
    let highest = [Some(&alone), Some(&seen), textbook_seen.as_ref()]
        .into_iter()
        .flatten()
        .flat_map(|curve| curve[places.clone()].iter().copied())
        .fold(0.0, f64::max);

    let level = |attenuation_db: &[f64]| attenuation_db.iter().map(|db| -db).collect::<Vec<_>>();
    let levels = level(&study.curves.attenuation_db);
    let within = levels[places].iter().copied();
    let least = within.clone().fold(f64::INFINITY, f64::min);
    let most = within.fold(f64::NEG_INFINITY, f64::max);

    let sees = format!("{} sees", answer.seen_by());
    let pad = study.pad;
    let words = [
        (pad.ratio()).map(|ratio| format!("tap at {:.1} %", 100.0 * ratio)),
        pad.series_ohm().map(|r| format!("{} in series", ohm(r))),
        pad.shunt_ohm().map(|r| format!("shunt {}", ohm(r))),
    ];
    let words: Vec<String> = words.into_iter().flatten().collect();
    let title = format!("Pad for {name}: {}", words.join(", "));
    let description = format!(
        "Impedances over frequency on the left axis, and on the right what is left of the level behind the pad. \
         From {} to {} {sees} {:.1} to {:.1} ohm; from {} to {} the pad takes {:.1} to {:.1} dB.",
        hertz(load.filter_band_hz[0]),
        hertz(load.filter_band_hz[1]),
        study.seen.least,
        study.seen.most,
        hertz(load.band_hz[0]),
        hertz(load.band_hz[1]),
        study.attenuation.least,
        study.attenuation.most,
    );
    let mut chart = Chart::new("pad", &title, description, Axis::ohm(highest));
    chart.right = Some(Axis::even("dB", least - ROOM_DB, most + ROOM_DB, 6.0));
    (chart.from_hz, chart.to_hz) = (from_hz, to_hz);
    let f_hz = load.grid.f_hz();
    let left = AxisSide::Left;
    chart.curve(&format!("{name} alone"), Ink::Way(0), left, f_hz, alone);
    chart.curve(&sees, Ink::Sum, left, f_hz, seen);
    if let Some(seen) = textbook_seen {
        chart.curve(
            &format!("{sees}, textbook"),
            Ink::Target(0),
            left,
            f_hz,
            seen,
        );
    }
    let right = AxisSide::Right;
    chart.curve("level behind the pad", Ink::Way(1), right, f_hz, levels);
    if let Some(study) = textbook {
        let levels = level(&study.curves.attenuation_db);
        chart.curve("level, textbook", Ink::Target(1), right, f_hz, levels);
    }
    chart.marks = (load.crossovers.iter())
        .map(|(f_hz, side)| Mark {
            f_hz: *f_hz,
            name: match side {
                Side::Rising => format!("from {}", hertz(*f_hz)),
                Side::Falling => format!("to {}", hertz(*f_hz)),
            },
        })
        .collect();
    chart.file()
}

/// The frequencies that are shown: the filter's band and an octave on either side.
fn shown(load: &PadLoad) -> [f64; 2] {
    let f_hz = load.grid.f_hz();
    let [from, to] = load.filter_band_hz;
    [
        (from / 2.0).max(f_hz[0]),
        (to * 2.0).min(f_hz[f_hz.len() - 1]),
    ]
}
