//! What a block of a network gives with its values.

use crate::nodal::lanes::Lanes;

/// What a block does for one volt at `in`, chunk by chunk.
#[derive(Debug, Clone)]
pub(super) struct BlockResponse {
    /// Sound of each of its ways, way by way.
    pub(super) sound: Vec<Lanes>,
    /// Admittance at `in`.
    pub(super) admittance: Vec<Lanes>,
}

impl BlockResponse {
    pub(super) fn new(ways: usize, chunks: usize) -> Self {
        Self {
            sound: vec![Lanes::ZERO; ways * chunks],
            admittance: vec![Lanes::ZERO; chunks],
        }
    }
}
