//! The student's method: typed steps, the engine that runs them, and all that
//! is written from them.
//!
//! A step is defined once, in one file under `steps/`: its parameters, its
//! sentence, its computation, its remark and its Why.  The page's controls,
//! the methods text, the procedure file, the link and the native replay are
//! all derived from that definition.  Plain data goes out; nothing here knows
//! a browser, a clock or a file system.

pub mod archive;
pub mod auto;
mod engine;
mod export;
pub mod handin;
mod history;
mod inputs;
pub mod json;
pub mod link;
mod outcome;
mod param;
mod plates;
mod procedure;
pub mod replay;
pub mod session;
mod step;
mod steps;
mod tries;
mod view;

pub use engine::Engine;
pub use inputs::{Input, Inputs, Use};
pub use intake::{Choices, Reader};
pub use outcome::{
    Figure, Figures, Line, Named, Outcome, Reference, State, Table, Value as ResultValue,
};
pub use param::{Kind, Param, Value};
pub use procedure::{Choice, LogReading, Procedure, SCHEMA};
pub use step::{Context, Stage, Step, Why};
pub use steps::{ALL, find};

/// The version stamped on every output.
pub const VERSION: &str = env!("CARGO_PKG_VERSION");
