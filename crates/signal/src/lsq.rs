//! Linear least squares by Householder reflections.
//!
//! In: columns and a series.  Out: coefficients with covariance and the
//! residual.  Normal equations are not formed: they would square the loss of
//! digits.

use record::{Fault, say, words::word};
use std::fmt;

/// Coefficients and how well they are known.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// One coefficient a column.
    pub coefficients: Vec<f64>,
    /// Standard uncertainty of each, for independent residuals of equal
    /// spread; NaN without a degree of freedom.
    pub sigma: Vec<f64>,
    /// Covariance of the coefficients, row after row.
    pub covariance: Vec<f64>,
    /// Sum of the squared residuals.
    pub residual_squares: f64,
    /// Rows less columns.
    pub degrees_of_freedom: usize,
}

impl Fit {
    /// Residual standard deviation; NaN without a degree of freedom.
    pub fn residual_sd(&self) -> f64 {
        (self.residual_squares / self.degrees_of_freedom as f64).sqrt()
    }
}

/// Why there is no fit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FitError {
    /// Fewer rows than columns.
    TooFew {
        /// Rows.
        rows: usize,
        /// Columns.
        columns: usize,
    },
    /// A column has another length than the series.
    Length(usize),
    /// A column is a sum of the others, or all zero.
    Dependent(usize),
    /// A value is not finite.
    Gap(usize),
}

impl fmt::Display for FitError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooFew { rows, columns } => {
                f.write_str(&say!("{rows} samples cannot settle {columns} unknowns."))
            }
            Self::Length(column) => {
                f.write_str(&say!("Column {} has another length than the series.", column + 1))
            }
            Self::Dependent(column) => {
                f.write_str(&say!("Unknown {} cannot be told from the ones before it.", column + 1))
            }
            Self::Gap(row) => f.write_str(&say!("Row {} has a value missing.", row + 1)),
        }
    }
}

impl std::error::Error for FitError {}

impl From<FitError> for Fault {
    fn from(error: FitError) -> Self {
        let remedy =
            word("Fit fewer terms, or use a longer record that covers more of each period.");
        Self::new("signal/fit", error.to_string(), remedy)
    }
}

/// A diagonal of the triangle this small beside its column means dependence.
const DEPENDENT: f64 = 1e-13;

/// The coefficients that make `y - sum of coefficient * column` smallest.
///
/// # Errors
///
/// [`FitError`] for too few rows, columns of another length, dependent
/// columns, or a value that is not finite.
///
/// # Accuracy
///
/// NIST's Longley set to 1e-9; see the tests.
///
/// # Source
///
/// G. H. Golub, Numer. Math. 7 (1965) 206, columns scaled to length 1.
pub fn solve(columns: &[Vec<f64>], y: &[f64]) -> Result<Fit, FitError> {
    let (rows, wide) = (y.len(), columns.len());
    if let Some(column) = columns.iter().position(|column| column.len() != rows) {
        return Err(FitError::Length(column));
    }
    if rows < wide {
        return Err(FitError::TooFew { rows, columns: wide });
    }
    let finite = |row: &usize| y[*row].is_finite() && columns.iter().all(|c| c[*row].is_finite());
    if let Some(row) = (0..rows).find(|row| !finite(row)) {
        return Err(FitError::Gap(row));
    }
    let scales: Vec<f64> = columns.iter().map(|column| length(column)).collect();
    let mut work: Vec<Vec<f64>> = columns
        .iter()
        .zip(&scales)
        .map(|(column, scale)| column.iter().map(|v| v / scale).collect())
        .collect();
    let mut right = y.to_vec();
    triangle(&mut work, &mut right)?;
    Ok(finish(&work, &right, &scales))
}

fn length(x: &[f64]) -> f64 {
    let largest = x.iter().fold(0.0, |most: f64, v| most.max(v.abs()));
    if largest == 0.0 {
        return 1.0;
    }
    largest * x.iter().map(|v| (v / largest) * (v / largest)).sum::<f64>().sqrt()
}

/// Reflects the columns to an upper triangle, and the right side with them.
fn triangle(work: &mut [Vec<f64>], right: &mut [f64]) -> Result<(), FitError> {
    for k in 0..work.len() {
        let (done, after) = work.split_at_mut(k + 1);
        let column = &mut done[k];
        let norm = length(&column[k..]);
        if !(column[k..].iter().any(|v| *v != 0.0) && norm > DEPENDENT) {
            return Err(FitError::Dependent(k));
        }
        let diagonal = if column[k] > 0.0 { -norm } else { norm };
        let mut mirror = column[k..].to_vec();
        mirror[0] -= diagonal;
        let square: f64 = mirror.iter().map(|v| v * v).sum();
        for other in after.iter_mut() {
            reflect(&mirror, square, &mut other[k..]);
        }
        reflect(&mirror, square, &mut right[k..]);
        column[k] = diagonal;
    }
    Ok(())
}

fn reflect(mirror: &[f64], square: f64, x: &mut [f64]) {
    let product: f64 = mirror.iter().zip(&*x).map(|(a, b)| a * b).sum();
    let scale = 2.0 * product / square;
    for (value, m) in x.iter_mut().zip(mirror) {
        *value -= scale * m;
    }
}

fn finish(work: &[Vec<f64>], right: &[f64], scales: &[f64]) -> Fit {
    let wide = work.len();
    let residual_squares: f64 = right[wide..].iter().map(|v| v * v).sum();
    let degrees_of_freedom = right.len() - wide;
    let coefficients = back_substitute(work, right);
    // Columns of the inverse triangle.
    let inverse: Vec<Vec<f64>> = (0..wide)
        .map(|k| {
            let unit: Vec<f64> = (0..wide).map(|i| f64::from(u8::from(i == k))).collect();
            back_substitute(work, &unit)
        })
        .collect();
    let variance = residual_squares / degrees_of_freedom as f64;
    let element = |i: usize, j: usize| {
        let sum: f64 = inverse.iter().map(|column| column[i] * column[j]).sum();
        variance * sum / (scales[i] * scales[j])
    };
    let covariance: Vec<f64> =
        (0..wide * wide).map(|place| element(place / wide, place % wide)).collect();
    Fit {
        coefficients: coefficients.iter().zip(scales).map(|(c, s)| c / s).collect(),
        sigma: (0..wide).map(|i| covariance[i * wide + i].sqrt()).collect(),
        covariance,
        residual_squares,
        degrees_of_freedom,
    }
}

fn back_substitute(work: &[Vec<f64>], right: &[f64]) -> Vec<f64> {
    let mut out = right[..work.len()].to_vec();
    for i in (0..work.len()).rev() {
        out[i] /= work[i][i];
        for j in 0..i {
            out[j] -= work[i][j] * out[i];
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn residuals_are_square_to_every_column(
            a in prop::collection::vec(-5.0..5.0f64, 12..13),
            b in prop::collection::vec(-5.0..5.0f64, 12..13),
            y in prop::collection::vec(-5.0..5.0f64, 12..13),
        ) {
            let columns = [vec![1.0; 12], a, b];
            let Ok(fit) = solve(&columns, &y) else { return Ok(()) };
            let rest: Vec<f64> = (0..12)
                .map(|i| y[i] - (0..3).map(|k| fit.coefficients[k] * columns[k][i]).sum::<f64>())
                .collect();
            let size = fit.coefficients.iter().fold(1.0, |most: f64, c| most.max(c.abs()));
            for column in &columns {
                let product: f64 = column.iter().zip(&rest).map(|(u, v)| u * v).sum();
                prop_assert!(product.abs() < 1e-9 * size);
            }
            let squares: f64 = rest.iter().map(|v| v * v).sum();
            prop_assert!((squares - fit.residual_squares).abs() < 1e-8 * size * size);
        }
    }

    #[test]
    fn what_cannot_be_told_apart_is_refused() {
        let twice = [vec![1.0, 2.0, 3.0], vec![2.0, 4.0, 6.0]];
        assert_eq!(solve(&twice, &[1.0, 2.0, 3.0]), Err(FitError::Dependent(1)));
        assert_eq!(solve(&[vec![0.0; 3]], &[1.0; 3]), Err(FitError::Dependent(0)));
        assert_eq!(solve(&[vec![1.0; 2]], &[1.0; 3]), Err(FitError::Length(0)));
        let few = solve(&[vec![1.0], vec![2.0]], &[1.0]);
        assert_eq!(few, Err(FitError::TooFew { rows: 1, columns: 2 }));
        assert_eq!(solve(&[vec![1.0; 2]], &[1.0, f64::NAN]), Err(FitError::Gap(1)));
    }
}
