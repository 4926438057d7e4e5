//! The nodal solution: from a network and loads to voltages, currents and the load on the amplifier.
//!
//! Compile a network once into a [`Plan`], run it over the frequencies of a [`Workspace`] as often
//! as values change. Nothing is allocated while it runs, but for frequencies that are handed to the
//! dense fallback.
//!
//! # What is solved
//!
//! `Y v = i` over all nodes but `gnd`, `Y` complex symmetric. The amplifier is an open-circuit
//! voltage `E` behind an impedance `Z₀` (0 allowed). With `t_k` the voltage at node k for one volt
//! at `in`, and `D` the admittance that the network shows at `in`,
//!
//! ```text
//! v_in = E / (1 + Z₀ D),   v_k = t_k v_in
//! ```
//!
//! # Sensitivities
//!
//! By reciprocity, with `z_ok` the voltage across branch k for a unit current into output o,
//! `∂V_o/∂Y_k = −z_ok v_k`. Where `w` is the same with `in` held at 0 V,
//! `z_ok = w_ok + t_o (Z₀/E) v_k`: the second term is what all ways share through the amplifier.
//!
//! # What-if
//!
//! One branch changed by `Δ` moves each output by a bilinear law,
//! `V_o(Y_k + Δ) = V_o − z_ok Δ v_k / (1 + Δ z_kk)`, and so it moves what a change of the next branch starts from:
//! `what_if` puts values in place one after the other, `transfers` changes of any form.

mod chunk;
mod closer;
mod dense;
mod drive;
mod elimination;
mod flow;
pub(crate) mod lanes;
mod pass;
mod plan;
mod ports;
mod sensitivity;
mod solution;
mod steps;
mod topology;
mod transfers;
mod values;
mod what_if;
mod workspace;

pub use closer::{Closer, Look};
pub use drive::{Drive, STIFF, SourceImpedance};
pub use flow::Flow;
pub use plan::{Output, Plan, PlanError};
pub(crate) use ports::{Coupled, Ports, inverse};
pub use sensitivity::Sensitivities;
pub use solution::Solution;
pub use steps::{BranchStep, GroupStep, PlanSteps};
pub use transfers::{BranchChange, ChangedBranch, Transfers};
pub use values::Values;
pub(crate) use what_if::{Cascade, Standing};
pub use workspace::{RunReport, Workspace};
