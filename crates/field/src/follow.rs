//! A temperature as a sensor behind a thermometer has it: later, or as a body that warms slowly.
//!
//! Values at ascending times in; values at the same times out.  NaN where the thermometer says
//! nothing, across gaps, and until a slow response has settled.

/// How the sensor follows the thermometer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Response {
    /// As a body in a box does: the lag is the time constant of a first-order response.
    FirstOrder,
    /// The same curve, later (or, for a thermometer deeper in the box, earlier).
    Delay,
}

/// A temperature that can be read between its samples.
pub struct Lagged<'a> {
    times_s: &'a [f64],
    values: &'a [f64],
    widest_s: f64,
}

impl<'a> Lagged<'a> {
    /// Ascending times in seconds and values of equal length.
    pub fn new(times_s: &'a [f64], values: &'a [f64]) -> Self {
        let mut steps: Vec<f64> =
            times_s.windows(2).map(|w| w[1] - w[0]).filter(|s| *s > 0.0).collect();
        let middle = steps.len() / 2;
        let widest_s =
            if steps.is_empty() { 0.0 } else { 3.0 * record::sort::nth(&mut steps, middle) };
        Self { times_s, values, widest_s }
    }

    /// The value at a time, seconds; NaN outside, across a gap and beside a NaN.
    pub fn at(&self, time_s: f64) -> f64 {
        let next = self.times_s.partition_point(|t| *t < time_s);
        if self.times_s.get(next).is_some_and(|t| *t == time_s) {
            return self.values[next];
        }
        if next == 0 || next == self.times_s.len() {
            return f64::NAN;
        }
        let (from, to) = (self.times_s[next - 1], self.times_s[next]);
        if to - from > self.widest_s {
            return f64::NAN;
        }
        let share = (time_s - from) / (to - from);
        self.values[next - 1] * (1.0 - share) + self.values[next] * share
    }
}

impl Lagged<'_> {
    /// The values as something that follows them has them, at the same times.
    pub fn followed(&self, response: Response, lag_s: f64) -> Vec<f64> {
        match response {
            Response::Delay => self.times_s.iter().map(|t| self.at(t - lag_s)).collect(),
            Response::FirstOrder => self.first_order(lag_s),
        }
    }

    /// y′ = (x − y)/τ, exact for values that run straight between samples; NaN for three time
    /// constants after the start and after each gap.
    fn first_order(&self, constant_s: f64) -> Vec<f64> {
        if constant_s.is_nan() || constant_s <= 0.0 {
            return self.values.to_vec();
        }
        let mut out = Vec::with_capacity(self.values.len());
        let mut state: Option<(f64, f64, f64, f64)> = None;
        let mut decay = (f64::NAN, f64::NAN);
        for (t, x) in self.times_s.iter().zip(self.values) {
            if x.is_nan() {
                out.push(f64::NAN);
                continue;
            }
            let (begun, y) = match state {
                Some((begun, t0, x0, y0)) if t - t0 <= self.widest_s => {
                    let step = t - t0;
                    if step != decay.0 {
                        decay = (step, libm::exp(-step / constant_s));
                    }
                    let run = if step > 0.0 { (x - x0) / step * constant_s } else { 0.0 };
                    (begun, x - run + (y0 - x0 + run) * decay.1)
                }
                _ => (*t, *x),
            };
            state = Some((begun, *t, *x, y));
            out.push(if t - begun >= 3.0 * constant_s { y } else { f64::NAN });
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_first_order_response_to_a_step_is_exponential() {
        let times: Vec<f64> = (0..200).map(|k| 10.0 * f64::from(k)).collect();
        let values: Vec<f64> = times.iter().map(|t| if *t < 600.0 { 0.0 } else { 1.0 }).collect();
        let found = Lagged::new(&times, &values).followed(Response::FirstOrder, 100.0);
        assert!(found[29].is_nan() && found[30] == 0.0);
        // The step runs straight over the ten seconds before 600 s: half of them late.
        assert!((found[80] - (1.0 - libm::exp(-205.0 / 100.0))).abs() < 1e-3, "{}", found[80]);
        let plain = Lagged::new(&times, &values).followed(Response::FirstOrder, 0.0);
        assert_eq!(plain, values);
    }

    #[test]
    fn a_temperature_is_read_between_samples_but_not_across_a_gap() {
        let times = [0.0, 10.0, 20.0, 30.0, 100.0];
        let values = [1.0, 2.0, f64::NAN, 4.0, 5.0];
        let lagged = Lagged::new(&times, &values);
        assert_eq!(lagged.at(5.0), 1.5);
        assert_eq!(lagged.at(10.0), 2.0);
        assert!(lagged.at(15.0).is_nan() && lagged.at(60.0).is_nan() && lagged.at(-1.0).is_nan());
    }
}
