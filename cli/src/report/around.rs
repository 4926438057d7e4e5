//! Pictures of what the loudspeaker sends in other directions, as it was designed.

use solver::directions::Directions;

use super::facts::{Facts, nearest};
use crate::picture::{Axis, AxisSide, Chart, Ink, Shade};

/// Levels below the axis at which the map's shades begin, quietest first, dB.
const STEPS_DB: [f64; 3] = [-12.0, -6.0, -3.0];

/// Both pictures.
pub(super) fn charts(facts: &Facts) -> Vec<Chart> {
    let found = &facts.check.directions;
    vec![windows(found), vertical_map(found)]
}

fn windows(found: &Directions) -> Chart {
    let at = |f_hz: f64| {
        nearest(&found.frequency_hz, f_hz).map_or(0.0, |i| found.directivity_index_db[i])
    };
    let description = format!(
        "Level on the axis, over the listening window, of the early reflections and of all sound, after ANSI/CTA-2034-A, as the design stands; changed values do not move it. The listening window is off by {:.2} dB rms in the band of the aim, the axis by {:.2}. It is above all sound by {:.1} dB at 1 kHz and {:.1} dB at 10 kHz.",
        found.listening_window.rms_db,
        found.on_axis.rms_db,
        at(1e3),
        at(1e4),
    );
    let highest = found.on_axis_db.iter().copied().fold(f64::MIN, f64::max);
    let axis = Axis::level("dB SPL", highest);
    let mut chart = Chart::new(
        "windows",
        "Windows of directions, as designed",
        description,
        axis,
    );
    chart.height = 350.0;
    for (name, ink, values) in [
        ("axis", Ink::Sum, &found.on_axis_db),
        ("listening window", Ink::Way(0), &found.listening_window_db),
        (
            "early reflections",
            Ink::Way(1),
            &found.early_reflections_db,
        ),
        ("all around", Ink::Way(2), &found.sound_power_db),
    ] {
        chart.curve(
            name,
            ink,
            AxisSide::Left,
            &found.frequency_hz,
            values.clone(),
        );
    }
    chart
}

/// Level over angle and frequency, darker where less is left of it; plain paper where it is as on the axis.
fn vertical_map(found: &Directions) -> Chart {
    let map = &found.vertical_map;
    let most = map.angle_deg.last().copied().unwrap_or(60.0);
    let change = &found.vertical_change;
    let description = format!(
        "Level against that on the axis, from {most:.0} degrees below it to {most:.0} above, as the design stands; three shades, of what is more than 3 dB, 6 dB and 12 dB below it. Within 10 degrees it changes by {:+.1} dB at most, at {:.0} Hz and {:+.0} degrees.",
        change.most_db, change.at_hz, change.angle_deg
    );
    let axis = Axis::even("° up", -most, most, 8.0);
    let title = "Vertical map, as designed: where 3, 6 and 12 dB are missing";
    let mut chart = Chart::new("vertical-map", title, description, axis);
    chart.height = 260.0;
    let half = 0.5
        * map
            .angle_deg
            .get(1)
            .map_or(1.0, |next| next - map.angle_deg[0]);
    for (level, &most_db) in STEPS_DB.iter().enumerate() {
        let least_db = level
            .checked_sub(1)
            .map_or(f64::NEG_INFINITY, |quieter| STEPS_DB[quieter]);
        let mut cells = Vec::new();
        for (angle, row) in map.angle_deg.iter().zip(&map.level_db) {
            let inside = |i: usize| row[i] < most_db && row[i] >= least_db;
            let between = [(angle - half).max(-most), (angle + half).min(most)];
            let mut from = None;
            for i in 0..=row.len() {
                match (from, i < row.len() && inside(i)) {
                    (None, true) => from = Some(i),
                    (Some(first), false) => {
                        let band = edges(&found.frequency_hz, first, i - 1);
                        cells.push((band, between));
                        from = None;
                    }
                    _ => {}
                }
            }
        }
        chart.shades.push(Shade { level, cells });
    }
    let band = [found.frequency_hz[0], 20e3];
    for deg in [-10.0, 10.0] {
        let name = if deg > 0.0 { "10° up" } else { "10° down" };
        chart.curve(name, Ink::Limit, AxisSide::Left, &band, vec![deg; 2]);
    }
    chart
}

/// From half way to the frequency before the first to half way to the one after the last.
fn edges(f_hz: &[f64], first: usize, last: usize) -> [f64; 2] {
    let half = |a: usize, b: usize| (f_hz[a] * f_hz[b]).sqrt();
    [
        if first == 0 {
            f_hz[0]
        } else {
            half(first - 1, first)
        },
        if last + 1 == f_hz.len() {
            f_hz[last]
        } else {
            half(last, last + 1)
        },
    ]
}
