//! Statistics that a few wild values cannot spoil: median, median absolute
//! deviation, quantiles, running median, and the exact Hampel identifier.
//!
//! Values that are not finite count as missing and are skipped everywhere; a
//! result over nothing is `None`, or NaN inside a series.

mod hampel;
mod quantile;
mod ranked;
mod running;
mod sorted;

pub use hampel::{Hampel, hampel};
pub use quantile::{mad, median, median_in_place, quantile};
pub use running::{running_median, running_quantile};

/// 1 / (the normal quantile of 3/4): the factor that makes the median absolute
/// deviation of normal noise its standard deviation (F. R. Hampel, J. Am.
/// Stat. Assoc. 69 (1974) 383; L. Davies and U. Gather, ibid. 88 (1993) 782).
pub const MAD_TO_SIGMA: f64 = 1.482_602_218_505_602;
