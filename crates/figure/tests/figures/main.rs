//! Figures from end to end: invented results to plans, and plans to drawings,
//! tables, readouts and bytes.

mod blessed;
mod hardy;
mod outputs;
mod scenes;
