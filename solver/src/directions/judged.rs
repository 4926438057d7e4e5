//! Where a sum is judged: on the axis, or over the listening window. Search, figures, tolerance and report ask here.

use netlist::project::{Driver, Judged, Project};

use super::Window;
use crate::grid::Grid;
use crate::sound::{Coherence, Ear, pivot};

/// How the sounds of some drivers add where the project's aim judges their sum; `None` on the axis. Drivers that the
/// project has not are none.
#[must_use]
pub fn judged_over(project: &Project, names: &[&str], grid: &Grid) -> Option<Coherence> {
    if project.aim.judged != Judged::Window {
        return None;
    }
    let drivers: Vec<&Driver> = (names.iter())
        .filter_map(|name| project.drivers.get(*name))
        .collect();
    let ear = Ear::of(project.listener.as_ref());
    let rays = Window::listening().rays;
    Some(Coherence::over(&rays, &drivers, &ear, pivot(project), grid))
}
