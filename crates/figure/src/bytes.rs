//! Plans as bytes, to cross from the worker to the page.
//!
//! Both sides come from one build, so the bytes carry no version: they are
//! never kept.

use crate::model::Plan;
use record::{Fault, say, words::word};
use std::fmt;

/// Why bytes are not a plan.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum PlanFault {
    /// They end early or were changed on the way.
    Garbled {
        /// How many bytes there were.
        bytes: usize,
    },
}

impl fmt::Display for PlanFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self::Garbled { bytes } = self;
        f.write_str(&say!("The {bytes} bytes of this figure could not be read."))
    }
}

impl std::error::Error for PlanFault {}

impl From<PlanFault> for Fault {
    fn from(fault: PlanFault) -> Self {
        Self::new("figure/plan", fault.to_string(), word("Reload the page and open the log again."))
    }
}

/// A plan as bytes.
pub fn to_bytes(plan: &Plan) -> Vec<u8> {
    // Writing to memory cannot fail for a type without unknown lengths.
    postcard::to_allocvec(plan).unwrap_or_default()
}

/// The plan in bytes made by [`to_bytes`].
///
/// # Errors
///
/// [`PlanFault::Garbled`] when the bytes end early, run on, or hold no plan.
pub fn from_bytes(bytes: &[u8]) -> Result<Plan, PlanFault> {
    match postcard::take_from_bytes::<Plan>(bytes) {
        Ok((plan, [])) => Ok(plan),
        _ => Err(PlanFault::Garbled { bytes: bytes.len() }),
    }
}
