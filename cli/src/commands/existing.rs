//! A network that exists, opened by the commands that make another of it.

use std::fmt::Display;

use netlist::network::Network;
use netlist::project::Loaded;
use solver::judge::check::{Assessment, assess};

use super::open;
use crate::args::SourceArguments;
use crate::failure::Failure;
use crate::project_file::{OutputRequest, ProjectFile};

/// The project of a network, and where the other network goes.
pub(super) struct ExistingNetwork {
    pub(super) loaded: Loaded,
    pub(super) target: Option<ProjectFile>,
    file: String,
}

impl ExistingNetwork {
    pub(super) fn open(
        source: &SourceArguments,
        asked: &OutputRequest<'_>,
    ) -> Result<Self, Failure> {
        let loaded = open(source, "network.toml")?;
        Ok(Self {
            target: ProjectFile::new(asked, source, &loaded)?,
            file: loaded.path.display().to_string(),
            loaded,
        })
    }

    /// What is wrong with the file, and the way out.
    pub(super) fn unusable(&self, message: &dyn Display, help: &str) -> Failure {
        Failure::unusable(format!("{}: {message}", self.file), help)
    }

    /// The network with its figures; what to say, and the way out, where the project has none.
    pub(super) fn assessed(
        &self,
        (none, help): (&str, &str),
    ) -> Result<(&Network, Assessment), Failure> {
        let project = &self.loaded.project;
        let network = (project.network.as_ref()).ok_or_else(|| self.unusable(&none, help))?;
        let assessment = assess(project, network).map_err(|error| {
            self.unusable(
                &error,
                "complete the project: every driver of a crossover is fed by one part of the network",
            )
        })?;
        Ok((network, assessment))
    }
}
