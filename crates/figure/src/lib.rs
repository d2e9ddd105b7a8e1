//! Results become plans, and plans become drawings.
//!
//! A [`Plan`] holds everything that is decided about a figure: where its
//! panels stand, which ticks and labels they carry, the thinned lines, and
//! the words beside it.  [`plan`] makes plans from results; [`draw`] puts one
//! on any drawing backend and decides nothing; [`svg`], [`table`] and
//! [`readout`] are other ways of reading the same plan.
//!
//! A plan names meanings in place of colours; a [`Palette`] gives those their
//! shade.  Nothing here computes a result, reads a clock or knows a browser.

mod axis;
mod bytes;
mod clip;
pub mod draw;
mod layout;
mod metrics;
mod model;
mod palette;
pub mod plan;
pub mod png;
pub mod qr;
pub mod readout;
mod request;
pub mod svg;
pub mod table;
pub mod thin;
mod ticks;
mod writing;

pub use bytes::{PlanFault, from_bytes, to_bytes};
pub use metrics::{run_width_px, text_width_px};
pub use model::{
    Anchor, Axis, Band, Bars, Cells, Colour, Dash, Duty, Label, Layer, Line, Outline, Panel, Plan,
    Points, Rect, Rule, Run, Scale, Script, Shape, Span, Stroke, Tick, Whiskers,
};
pub use palette::{Palette, PaletteFault, Rgb};
pub use request::{Frame, View, Words};
