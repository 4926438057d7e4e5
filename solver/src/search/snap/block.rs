//! What the amplifier joins and nothing else does: the parts of a way, solved apart from the others.
//!
//! Between `in` and `gnd` lie blocks that share no other node. For one volt at `in` each has the
//! voltages of its drivers and the admittance that it shows; behind an output impedance the blocks
//! only meet in the voltage at `in`, `E / (1 + Z₀ Σ Y)`.

use netlist::network::{Groups, Network, PartKind};

use super::goal::GoalTables;
use super::response::BlockResponse;
use crate::nodal::lanes::Lanes;
use crate::nodal::{Cascade, Output, Plan, PlanError, Values};
use crate::search::job::Job;
use crate::stock::PartChoices;

/// One block with the parts of it that may be moved.
#[derive(Debug, Clone)]
pub(super) struct Block {
    /// Ways whose drivers are in it.
    pub(super) ways: Vec<usize>,
    /// Numbers of the parts that may be moved, among all that may be, in the order of the cascade.
    pub(super) parts: Vec<usize>,
    pub(super) cascade: Cascade,
}

/// For each part of a network the number of its block.
fn block_numbers(network: &Network) -> Vec<usize> {
    let count = network.parts().len();
    // Nodes first, then one more for each part, for those between `in` and `gnd` alone.
    let own = |part: usize| network.node_count() + part;
    let mut groups = Groups::new(own(count));
    for (i, part) in network.parts().values().enumerate() {
        let inner = part.kind.nodes().filter(|node| node.is_inner());
        groups.unite(std::iter::once(own(i)).chain(inner.map(|node| node.0)));
        if let PartKind::Coupling { inductors, .. } = &part.kind {
            let coils = inductors
                .iter()
                .filter_map(|name| network.parts().get_index_of(name));
            groups.unite(std::iter::once(i).chain(coils).map(own));
        }
    }
    (0..count).map(|part| groups.of(own(part))).collect()
}

/// Splits a network with its drivers in any order into blocks, for the parts that may be moved.
pub(super) fn blocks(
    job: &Job,
    network: &Network,
    movable: &[PartChoices],
    tables: &GoalTables,
) -> Result<Vec<Block>, PlanError> {
    let numbers = block_numbers(network);
    let mut known: Vec<usize> = Vec::new();
    for &number in &numbers {
        if !known.contains(&number) {
            known.push(number);
        }
    }
    known
        .into_iter()
        .map(|number| {
            let mut own = Network::new();
            for name in network.node_names() {
                own.node(name);
            }
            let members: Vec<usize> = (0..numbers.len())
                .filter(|&part| numbers[part] == number)
                .collect();
            for &part in &members {
                let (name, part) = network.parts().get_index(part).expect("a part");
                own.insert(name.clone(), part.clone());
            }
            block(job, &own.without_bare_nodes(), &members, movable, tables)
        })
        .collect()
}

fn block(
    job: &Job,
    network: &Network,
    members: &[usize],
    movable: &[PartChoices],
    tables: &GoalTables,
) -> Result<Block, PlanError> {
    let plan = Plan::compile(network)?;
    let mut parts: Vec<usize> = (0..movable.len())
        .filter(|&number| members.contains(&movable[number].part))
        .collect();
    // The part with most choices last: the last step is the cheapest.
    parts.sort_by_key(|&number| movable[number].choices.len());
    let positions: Vec<usize> = (parts.iter())
        .map(|&number| {
            let is_it = |member: &usize| *member == movable[number].part;
            members.iter().position(is_it).expect("a member")
        })
        .collect();
    let ways: Vec<usize> = (plan.drivers().iter())
        .map(|name| {
            let is_it = |way: &crate::search::Way| way.name == *name;
            job.ways.iter().position(is_it).expect("a way")
        })
        .collect();
    let outputs: Vec<Output> = plan.driver_outputs().map(|(output, _)| output).collect();
    let loads: Vec<_> = ways.iter().map(|&way| &job.ways[way].z_ohm).collect();
    let cascade = Cascade::new(
        &plan,
        &Values::of(network),
        &positions,
        &outputs,
        &tables.grids(job, &loads),
    )?;
    Ok(Block {
        ways,
        parts,
        cascade,
    })
}

impl Block {
    /// What it does with values and losses of its parts, by their numbers among all that may be moved.
    pub(super) fn respond(
        &self,
        tables: &GoalTables,
        value_and_loss: &dyn Fn(usize) -> (f64, f64),
    ) -> BlockResponse {
        let mut room = self.cascade.room();
        for (step, &number) in self.parts.iter().enumerate() {
            let (value, loss) = value_and_loss(number);
            self.cascade.place(&mut room, step, (value, loss));
        }
        let state = &room[self.parts.len()];
        let len = self.ways.len() + 1;
        self.response_of(tables, |chunk| &state[chunk * len..][..len])
    }

    /// The same from the voltages at its drivers for one volt at `in`, then its admittance, chunk by chunk.
    pub(super) fn response_of<'s>(
        &self,
        tables: &GoalTables,
        outputs: impl Fn(usize) -> &'s [Lanes],
    ) -> BlockResponse {
        let chunks = self.cascade.chunks();
        let mut response = BlockResponse::new(self.ways.len(), chunks);
        for chunk in 0..chunks {
            let state = outputs(chunk);
            for (o, &way) in self.ways.iter().enumerate() {
                response.sound[o * chunks + chunk] = state[o].times(&tables.sound[way][chunk]);
            }
            response.admittance[chunk] = state[self.ways.len()];
        }
        response
    }
}
