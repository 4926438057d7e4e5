//! The options of every command that searches networks.

use clap::Args;
use solver::search::DesignSettings;

use super::value::{price, whole};

#[derive(Debug, Args)]
pub(crate) struct SearchArguments {
    /// Of each brief take the best network with at most N parts
    #[arg(long, value_name = "N", allow_hyphen_values = true, value_parser = whole::<u32>(1..=99))]
    pub(crate) parts: Option<u32>,
    /// Of each brief take the best network whose parts cost no more (the catalogue must have prices)
    #[arg(long, value_name = "PRICE", allow_hyphen_values = true, value_parser = price)]
    pub(crate) budget: Option<f64>,
    /// Seed of the search; the same seed gives the same design
    #[arg(long, value_name = "N", default_value_t = 1, allow_hyphen_values = true, value_parser = whole::<u64>(0..=u64::MAX))]
    pub(crate) seed: u64,
    /// A quick look: fewer networks, a second or two
    #[arg(long)]
    pub(crate) quick: bool,
    /// Starts for each ladder that networks grow from; more take longer and find little more
    #[arg(long, value_name = "N", default_value_t = 2, allow_hyphen_values = true, value_parser = whole::<u32>(1..=1000))]
    pub(crate) starts: u32,
}

impl SearchArguments {
    pub(crate) fn settings(&self) -> DesignSettings {
        DesignSettings {
            seed: self.seed,
            starts: self.starts as usize,
            most_parts: self.parts.map(|parts| parts as usize),
            budget: self.budget,
            quick: self.quick,
        }
    }

    /// As they would be typed.
    pub(crate) fn words(&self) -> String {
        let mut words = String::new();
        if let Some(parts) = self.parts {
            words += &format!("--parts {parts} ");
        }
        if let Some(budget) = self.budget {
            words += &format!("--budget {budget} ");
        }
        words += &format!("--seed {} --starts {}", self.seed, self.starts);
        if self.quick {
            words += " --quick";
        }
        words
    }
}
