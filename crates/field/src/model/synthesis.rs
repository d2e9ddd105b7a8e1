//! Spherical harmonic synthesis: Gauss coefficients and a place to a field vector.
//!
//! Knows both coefficient tables and how each moves with time; knows nothing of elements,
//! uncertainty or zones.

use super::geodetic::Geocentric;
use super::{igrf14, wmm2025};
use record::vector::Vec3;

/// Reference radius of both models, km.
pub(super) const RADIUS_KM: f64 = 6371.2;

/// Highest degree of either model.
const MAX_DEGREE: usize = 13;

const fn count(degree: usize) -> usize {
    degree * (degree + 2)
}

/// Gauss coefficients and their rates at one date, Schmidt semi-normalised.
#[derive(Clone, Debug, PartialEq)]
pub struct Coefficients {
    degree: usize,
    /// nT and nT a year, in the order g10 g11 h11 g20 ...
    rows: Vec<[f64; 2]>,
}

impl Coefficients {
    /// IGRF-14 at a decimal year: linear between epochs, secular variation after the last.
    pub(super) fn igrf14(year: f64) -> Self {
        let rows = (0..count(MAX_DEGREE)).map(|k| igrf14_row(k, year)).collect();
        Self { degree: MAX_DEGREE, rows }
    }

    /// WMM2025 at a decimal year: value at 2025.0 plus rate times elapsed years.
    pub(super) fn wmm2025(year: f64) -> Self {
        let rows = wmm2025::ROWS.iter().map(|[value, rate]| {
            let rate = f64::from(*rate) / 100.0;
            [f64::from(*value) / 100.0 + (year - wmm2025::EPOCH) * rate, rate]
        });
        Self { degree: 12, rows: rows.collect() }
    }

    /// `g` of a degree and order, nT; 0 beyond the model.
    pub fn g(&self, n: usize, m: usize) -> f64 {
        self.pair(n, m).map_or(0.0, |[g, _]| g[0])
    }

    /// `h` of a degree and order, nT; 0 beyond the model and for order 0.
    pub fn h(&self, n: usize, m: usize) -> f64 {
        self.pair(n, m).map_or(0.0, |[_, h]| h[0])
    }

    /// Value and rate of g and h.
    fn pair(&self, n: usize, m: usize) -> Option<[[f64; 2]; 2]> {
        if n == 0 || m > n || n > self.degree {
            return None;
        }
        let first = count(n - 1);
        if m == 0 {
            return Some([*self.rows.get(first)?, [0.0; 2]]);
        }
        Some([*self.rows.get(first + 2 * m - 1)?, *self.rows.get(first + 2 * m)?])
    }
}

fn igrf14_row(k: usize, year: f64) -> [f64; 2] {
    let secular = igrf14::SECULAR.get(k).map_or(0.0, |v| f64::from(*v) / 100.0);
    let last = (igrf14::LAST_EPOCH - igrf14::FIRST_EPOCH) / igrf14::STEP_YEARS;
    let steps = (year - igrf14::FIRST_EPOCH) / igrf14::STEP_YEARS;
    if steps >= last {
        let value = igrf14_value(k, last as usize);
        return [value + secular * (year - igrf14::LAST_EPOCH), secular];
    }
    let epoch = steps as usize;
    let (from, to) = (igrf14_value(k, epoch), igrf14_value(k, epoch + 1));
    [from + (to - from) * (steps - epoch as f64), (to - from) / igrf14::STEP_YEARS]
}

fn igrf14_value(k: usize, epoch: usize) -> f64 {
    let hundredths = match igrf14::LOW.get(k) {
        Some(row) => row.get(epoch),
        None => epoch
            .checked_sub(20)
            .and_then(|epoch| igrf14::HIGH.get(k - igrf14::LOW.len())?.get(epoch)),
    };
    hundredths.map_or(0.0, |v| f64::from(*v) / 100.0)
}

/// Schmidt functions of order m >= 1 divided by sin θ, and those of order 0 as they are.
///
/// Dividing keeps every term finite at the poles, where the limit is needed.
struct Schmidt {
    /// `over[n][m]`.
    over: [[f64; MAX_DEGREE + 1]; MAX_DEGREE + 1],
    sin: f64,
    cos: f64,
}

impl Schmidt {
    fn at(sin: f64, cos: f64, degree: usize) -> Self {
        let mut over = [[0.0; MAX_DEGREE + 1]; MAX_DEGREE + 1];
        over[0][0] = 1.0;
        over[1][1] = 1.0;
        for m in 2..=degree {
            let k = (2 * m - 1) as f64 / (2 * m) as f64;
            over[m][m] = k.sqrt() * sin * over[m - 1][m - 1];
        }
        for n in 1..=degree {
            let one_below = over[n - 1];
            let two_below = if n >= 2 { over[n - 2] } else { [0.0; MAX_DEGREE + 1] };
            for (m, value) in over[n].iter_mut().enumerate().take(n) {
                let first = (2 * n - 1) as f64 * cos * one_below[m];
                *value = (first - root(n - 1, m) * two_below[m]) / root(n, m);
            }
        }
        Self { over, sin, cos }
    }

    /// P, dP/dθ and P/sin θ (0 for order 0) of a degree and order.
    fn terms(&self, n: usize, m: usize) -> [f64; 3] {
        let over = self.over[n][m];
        if m == 0 {
            let slope = -((n * (n + 1)) as f64 / 2.0).sqrt() * self.sin * self.over[n][1];
            return [over, slope, 0.0];
        }
        let below = if n > m { self.over[n - 1][m] } else { 0.0 };
        [self.sin * over, n as f64 * self.cos * over - root(n, m) * below, over]
    }
}

/// √(n² − m²), 0 where it has no meaning.
fn root(n: usize, m: usize) -> f64 {
    let (n, m) = (n as f64, m as f64);
    (n * n - m * m).max(0.0).sqrt()
}

/// Field and its rate, nT and nT a year, in the geodetic frame (X north, Y east, Z down).
pub(super) fn vector(c: &Coefficients, place: &Geocentric, longitude_deg: f64) -> [Vec3; 2] {
    geocentric(c, place, longitude_deg).map(|v| place.to_geodetic(v))
}

/// The same in the geocentric frame.
pub(super) fn geocentric(c: &Coefficients, place: &Geocentric, longitude_deg: f64) -> [Vec3; 2] {
    let longitude = longitude_deg.to_radians();
    let (sin, cos) = (place.cos_latitude, place.sin_latitude);
    let schmidt = Schmidt::at(sin, cos, c.degree);
    let turns: Vec<(f64, f64)> =
        (0..=c.degree).map(|m| libm::sincos(m as f64 * longitude)).collect();
    let mut out = [[0.0; 3]; 2];
    let ratio = RADIUS_KM / place.radius_km;
    let mut q = ratio * ratio;
    for n in 1..=c.degree {
        q *= ratio;
        for (m, (sin_m, cos_m)) in turns.iter().enumerate().take(n + 1) {
            let Some([g, h]) = c.pair(n, m) else { continue };
            let [p, slope, over] = schmidt.terms(n, m);
            for (v, (g, h)) in out.iter_mut().zip(g.into_iter().zip(h)) {
                let along = g * cos_m + h * sin_m;
                v[0] += q * along * slope;
                v[1] += q * m as f64 * (g * sin_m - h * cos_m) * over;
                v[2] -= (n + 1) as f64 * q * along * p;
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn low_schmidt_functions_have_their_closed_forms() {
        // Closed forms of the Schmidt semi-normalised functions, without the Condon-Shortley
        // sign, as in Alken et al. 2021, doi 10.1186/s40623-020-01288-x.
        let (sin, cos) = libm::sincos(0.7);
        let schmidt = Schmidt::at(sin, cos, 13);
        let want = [
            ((1, 0), cos),
            ((1, 1), sin),
            ((2, 0), (3.0 * cos * cos - 1.0) / 2.0),
            ((2, 1), 3f64.sqrt() * cos * sin),
            ((2, 2), 3f64.sqrt() / 2.0 * sin * sin),
            ((3, 0), cos * (5.0 * cos * cos - 3.0) / 2.0),
            ((3, 1), 6f64.sqrt() / 4.0 * sin * (5.0 * cos * cos - 1.0)),
        ];
        for ((n, m), value) in want {
            assert!((schmidt.terms(n, m)[0] - value).abs() < 1e-15, "{n} {m}");
        }
    }

    #[test]
    fn slopes_are_differences_of_the_functions() {
        let step = 1e-6;
        for theta in [0.3, 1.2, 2.9] {
            let at = |t: f64| {
                let (sin, cos) = libm::sincos(t);
                Schmidt::at(sin, cos, 13)
            };
            let (below, here, above) = (at(theta - step), at(theta), at(theta + step));
            for n in 1..=13 {
                for m in 0..=n {
                    let slope = (above.terms(n, m)[0] - below.terms(n, m)[0]) / (2.0 * step);
                    assert!((here.terms(n, m)[1] - slope).abs() < 1e-7, "{n} {m}");
                }
            }
        }
    }

    #[test]
    fn coefficients_beyond_a_model_are_nought() {
        let c = Coefficients::wmm2025(2025.0);
        assert_eq!(c.g(13, 0), 0.0);
        assert_eq!(c.h(1, 0), 0.0);
        assert_eq!(c.g(1, 2), 0.0);
    }
}
