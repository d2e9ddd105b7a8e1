//! The boundary between the page and the engine: converts, computes nothing.
//!
//! JSON text and bytes go in and come out.  [`engine`] is what the worker
//! holds; [`plans`] and [`canvas`] are what the page does with a plan.  Every
//! decision stands behind this crate, in `procedure` and `figure`, where it is
//! tested natively.  Nothing here knows a step, a unit or a file format.

pub mod canvas;
pub mod engine;
mod fault;
pub mod plans;
mod request;
pub mod speech;
