//! What a search is doing, in words.

use netlist::quantity::Hertz;
use solver::search::SearchProgress;

use crate::words::slopes;

/// One step in a line.
pub(crate) fn words(step: &SearchProgress) -> String {
    match step {
        SearchProgress::Variant {
            frequencies_hz,
            alignments,
            rank,
        } => {
            let slopes: Vec<String> = alignments.iter().map(|&pair| slopes(pair)).collect();
            let hz: Vec<String> = (frequencies_hz.iter())
                .map(|&f| format!("{:.3}", Hertz(f)))
                .collect();
            format!(
                "{} with {}: {rank:.1} in a quick design (error and parts, the less the better)",
                hz.join(", "),
                slopes.join(", ")
            )
        }
        SearchProgress::Way { name, fits, parts } => {
            format!("{name}: grown alone to {parts} parts, {fits} networks fitted so far")
        }
        SearchProgress::Growing { parts, rank, fits } => format!(
            "all together: {parts} parts, {rank:.2} (error and parts), {fits} networks fitted so far"
        ),
        SearchProgress::Refining { networks } => {
            format!("{networks} networks fitted on all frequencies")
        }
        SearchProgress::Snapping { networks } => {
            format!("{networks} networks moved onto the stock")
        }
    }
}
