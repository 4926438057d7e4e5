//! Pictures as SVG, for the report and for files of their own.
//!
//! | file | what |
//! |---|---|
//! | `svg` | elements, escaping, numbers of limited digits |
//! | `palette` | colours, line styles, the style sheet of all pictures |
//! | `text` | how wide a text comes out |
//! | `axis` | scales, ticks and their words |
//! | `trace` | curves as paths, cut at the borders of the plot |
//! | `ground` | what lies under the curves: grid, words of the axes, marked frequencies |
//! | `label` | a place for the name of each curve |
//! | `chart` | what a picture of curves over frequency holds |
//! | `drawn` | all of it together, as elements |

mod axis;
mod chart;
mod drawn;
mod ground;
mod label;
pub(crate) mod palette;
pub(crate) mod svg;
mod text;
mod trace;

pub(crate) use axis::{Axis, AxisSide};
pub(crate) use chart::{Band, Chart, Layout, Mark, PlottedCurve, Shade, Spot};
pub(crate) use palette::Ink;
