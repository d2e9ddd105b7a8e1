//! A number with its unit and, where there is one, its standard uncertainty.

use crate::{Unit, print};

/// A value, its unit and its standard uncertainty.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Quantity {
    /// The value; NaN when it is not defined.
    pub value: f64,
    /// Standard uncertainty in the same unit; NaN when there is none to give.
    pub sigma: f64,
    /// Unit of both.
    pub unit: Unit,
}

impl Quantity {
    /// A value with its standard uncertainty.
    pub fn new(value: f64, sigma: f64, unit: Unit) -> Self {
        Self { value, sigma, unit }
    }

    /// A value without an uncertainty.
    pub fn exact(value: f64, unit: Unit) -> Self {
        Self { value, sigma: f64::NAN, unit }
    }

    /// For reading: `49,812 ± 15 nT`, `1.84 ± 0.13°`; the uncertainty to two
    /// figures and the value to the same place.
    pub fn readable(&self) -> String {
        let number = print::with_sigma(self.value, self.sigma);
        print::with_unit(&number, self.unit)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_uncertainty_has_two_figures_and_the_value_ends_at_the_same_place() {
        let q = Quantity::new(1.8372, 0.1312, Unit::Degree);
        assert_eq!(q.readable(), "1.84 ± 0.13°");
        let q = Quantity::new(-49_812.3, 15.2, Unit::Nanotesla);
        assert_eq!(q.readable(), "−49,812 ± 15 nT");
    }
}
