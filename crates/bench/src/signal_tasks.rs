//! Spectra, filters, robust statistics, stability.

use crate::figures::{at, sum, sum_less};
use crate::{Done, Inputs, Task};
use serde_json::{Map, Value, json};
use signal::allan::{self, Kind};
use signal::butterworth::{self, Band};
use signal::coherence::coherence;
use signal::detrend::Detrend;
use signal::harmonics::fit_even;
use signal::lomb_scargle::{Grid, lomb_scargle};
use signal::multitaper::{Dpss, Tapers, Weighting, dpss, given, multitaper};
use signal::robust::{MAD_TO_SIGMA, hampel, running_median};
use signal::spectrogram::spectrogram;
use signal::spectrum::{Segments, welch};
use signal::window::Window;

const SERIES: &str = "series-10M.f64";
const SECOND: &str = "series-b-10M.f64";
const UNEVEN: &str = "uneven-100k.csv";
const SPIKED: &str = "spiked";
/// Tapers that the shared tasks ask for: the time-bandwidth product and how many.
const SLEPIAN: (f64, usize) = (4.0, 7);
const LEVEL: f64 = 48_500.0;

/// The tasks of this file.
pub static TASKS: &[Task] = &[
    task(
        "median11",
        &[SERIES],
        spiked,
        |i| Ok(one(running_median(i.first(SPIKED), 5))),
        median_check,
    ),
    task("hampel11_exact", &[SERIES], spiked, hampel_run, hampel_check),
    task("welch_4096", &[SERIES], nothing, |i| welch_run(i, 4096), psd_check),
    task("welch_65536", &[SERIES], nothing, |i| welch_run(i, 65_536), psd_check),
    task("multitaper_tapers", &[SERIES], nothing, tapers_run, tapers_check),
    task("multitaper", &[SERIES], nothing, multitaper_run, psd_check),
    task("multitaper_given_tapers", &[SERIES], ready_tapers, given_run, psd_check),
    task("lombscargle_100k", &[UNEVEN], nothing, |i| lomb_run(i, usize::MAX), lomb_check),
    task("lombscargle_5k", &[UNEVEN], nothing, |i| lomb_run(i, 5000), lomb_check),
    task("butter_zero_phase", &[SERIES], nothing, butter_run, butter_check),
    task("spectrogram_4096", &[SERIES], nothing, spectrogram_run, spectrogram_check),
    task("coherence_4096", &[SERIES, SECOND], nothing, coherence_run, coherence_check),
    task(
        "harmonic6",
        &[SERIES],
        nothing,
        harmonic_run,
        |_, d| json!({ "mean": d.first()[0], "cos_sin_1_to_6": &d.first()[1..] }),
    ),
    task("oadev_octave", &[SERIES], nothing, oadev_run, oadev_check),
];

const fn task(
    name: &'static str,
    files: &'static [&'static str],
    ready: fn(&mut Inputs),
    run: fn(&Inputs) -> Result<Done, String>,
    check: fn(&Inputs, &Done) -> Value,
) -> Task {
    Task { name, files, ready, run, check }
}

fn nothing(_: &mut Inputs) {}

fn one(list: Vec<f64>) -> Done {
    Done::One(list)
}

fn said(error: impl std::fmt::Display) -> String {
    error.to_string()
}

fn total(list: &[f64]) -> f64 {
    sum_less(list, 0.0)
}

fn spiked(inputs: &mut Inputs) {
    if inputs.holds(SPIKED) {
        return;
    }
    let mut x = inputs.first(SERIES).to_vec();
    for (k, place) in (17..x.len()).step_by(5003).enumerate() {
        x[place] += if k % 2 == 0 { 50.0 } else { -50.0 };
    }
    inputs.keep(SPIKED, vec![x]);
}

fn median_check(_: &Inputs, done: &Done) -> Value {
    let m = done.first();
    let off = sum_less(&m[5..m.len() - 5], LEVEL);
    json!({ "sum_minus_48500": off, "at": at(m, &[17, 1000, m.len() / 2]) })
}

// The peers' 1.4826 has five digits.
fn hampel_run(inputs: &Inputs) -> Result<Done, String> {
    let x = inputs.first(SPIKED);
    let found = hampel(x, 5, 3.0 * 1.4826 / MAD_TO_SIGMA, 0.0);
    let repaired = |k: usize| if found.spike[k] { found.median[k] } else { x[k] };
    let flags = found.spike.iter().map(|s| f64::from(u8::from(*s))).collect();
    Ok(Done::Many(vec![(0..x.len()).map(repaired).collect(), flags]))
}

fn hampel_check(_: &Inputs, done: &Done) -> Value {
    let (y, flags) = (&done.all()[0], &done.all()[1]);
    let inside = 10..y.len() - 10;
    let off = sum_less(&y[inside.clone()], LEVEL);
    json!({
        "flagged": total(&flags[inside]), "sum_minus_48500": off,
        "spike_17_repaired": y[17], "spike_5020_repaired": y[5020],
    })
}

fn cut(len: usize) -> Segments {
    Segments { len, overlap: len / 2, window: Window::Hann, detrend: Detrend::Mean }
}

fn welch_run(inputs: &Inputs, len: usize) -> Result<Done, String> {
    Ok(one(welch(inputs.first(SERIES), 1.0, &cut(len)).map_err(said)?.density))
}

fn psd_check(_: &Inputs, done: &Done) -> Value {
    let p = done.first();
    let bins: &[usize] = match p.len() {
        2049 => &[1, 10, 91, 500, 2000],
        32_769 => &[1, 100, 1456, 10_000, 32_000],
        _ => &[12, 100, 23_302, 100_000, 500_000],
    };
    json!({ "bins": p.len(), "psd_at_bin": at(p, bins), "sum": total(p) })
}

/// The first samples, as many as the largest power of two up to 2^20.
fn head(inputs: &Inputs) -> &[f64] {
    let x = inputs.first(SERIES);
    &x[..1 << x.len().max(1).ilog2().min(20)]
}

fn slepian(inputs: &Inputs) -> Result<Dpss, String> {
    dpss(head(inputs).len(), SLEPIAN.0, SLEPIAN.1).map_err(said)
}

fn tapers_run(inputs: &Inputs) -> Result<Done, String> {
    let found = slepian(inputs)?;
    let mut lists = vec![found.concentration];
    lists.extend(found.tapers);
    Ok(Done::Many(lists))
}

fn tapers_check(_: &Inputs, done: &Done) -> Value {
    let (eigenvalues, tapers) = (done.first(), &done.all()[1..]);
    let n = tapers.first().map_or(0, Vec::len);
    let across = |k: usize| tapers.iter().map(|taper| taper[k]).collect::<Vec<f64>>();
    let picked = [n / 8, n / 4, n / 2].map(|k| (k.to_string(), json!(across(k))));
    let picked: Map<String, Value> = picked.into_iter().collect();
    json!({ "eigenvalues": eigenvalues, "taper_at": picked })
}

fn multitaper_run(inputs: &Inputs) -> Result<Done, String> {
    let tapers = Tapers::Dpss { nw: SLEPIAN.0, count: SLEPIAN.1 };
    let found = multitaper(head(inputs), 1.0, tapers, Weighting::Concentration);
    Ok(one(found.map_err(said)?.density))
}

fn ready_tapers(inputs: &mut Inputs) {
    inputs.tapers = slepian(inputs).ok();
}

fn given_run(inputs: &Inputs) -> Result<Done, String> {
    let family = inputs.tapers.as_ref().ok_or("the tapers are not ready")?;
    let found = given(head(inputs), 1.0, family, Weighting::Concentration);
    Ok(one(found.map_err(said)?.density))
}

fn lomb_run(inputs: &Inputs, most: usize) -> Result<Done, String> {
    let [t, y] = inputs.columns(UNEVEN) else { return Err("two columns are needed".to_owned()) };
    let n = t.len().min(most);
    let (t, y) = (&t[..n], &y[..n]);
    let step_hz = 1.0 / (5.0 * (t[n - 1] - t[0]));
    let grid = Grid { first_hz: step_hz, step_hz, count: n };
    Ok(one(lomb_scargle(t, y, None, grid).map_err(said)?.power))
}

fn lomb_check(inputs: &Inputs, done: &Done) -> Value {
    let p = done.first();
    let t = inputs.first(UNEVEN);
    let span = t[p.len() - 1] - t[0];
    let day = 5.0 * span / 86_400.0;
    let n = p.len() as f64;
    let places = [day, 2.0 * day, 5.0 * span / 5731.0, 0.5 * n, n];
    // numpy rounds halves to even.
    let bin = |k: f64| (k.round_ties_even() as usize).clamp(1, p.len());
    let picked: Map<String, Value> =
        places.iter().map(|k| (bin(*k).to_string(), json!(p[bin(*k) - 1]))).collect();
    let peak = (0..p.len()).max_by(|a, b| p[*a].total_cmp(&p[*b])).unwrap_or(0) + 1;
    json!({ "peak_bin": peak, "power_at_bin": picked, "sum": total(p) })
}

fn butter_run(inputs: &Inputs) -> Result<Done, String> {
    let sections = butterworth::design(4, Band::Low(0.01), 1.0).map_err(said)?;
    Ok(one(butterworth::zero_phase(&sections, inputs.first(SERIES)).map_err(said)?))
}

fn butter_check(_: &Inputs, done: &Done) -> Value {
    let y = done.first();
    json!({
        "at": at(y, &[0, 1, 1000, y.len() / 2, y.len() - 1]),
        "sum_minus_48500": sum_less(y, LEVEL),
        "sum_sq_minus_48500": sum(y.iter().map(|v| (v - LEVEL) * (v - LEVEL))),
    })
}

fn spectrogram_run(inputs: &Inputs) -> Result<Done, String> {
    Ok(one(spectrogram(inputs.first(SERIES), 1.0, &cut(4096)).map_err(said)?.density))
}

fn spectrogram_check(_: &Inputs, done: &Done) -> Value {
    const BINS: usize = 2049;
    let s = done.first();
    let k = s.len() / BINS;
    let mut cells = Map::new();
    for j in [0, k / 2, k - 1] {
        for b in [1, 91, 2000] {
            cells.insert(format!("{j},{b}"), json!(s[j * BINS + b]));
        }
    }
    let mean = sum(s.iter().skip(91).step_by(BINS).copied()) / k as f64;
    json!({ "segments": k, "bins": BINS, "bin_91_mean": mean, "at_seg_bin": cells })
}

fn coherence_run(inputs: &Inputs) -> Result<Done, String> {
    let found = coherence(inputs.first(SERIES), inputs.first(SECOND), 1.0, &cut(4096));
    Ok(one(found.map_err(said)?.coherence))
}

fn coherence_check(_: &Inputs, done: &Done) -> Value {
    let c = done.first();
    let mean = total(c) / c.len() as f64;
    json!({ "coherence_at_bin": at(c, &[1, 10, 91, 500, 2000]), "mean": mean })
}

fn harmonic_run(inputs: &Inputs) -> Result<Done, String> {
    let periods: Vec<f64> = (1..=6).map(|k| 86_400.0 / f64::from(k)).collect();
    let found = fit_even(inputs.first(SERIES), 1.0, &periods).map_err(said)?;
    let mut list = vec![found.level];
    list.extend(found.terms.iter().flat_map(|t| [t.cos, t.sin]));
    Ok(one(list))
}

fn oadev_run(inputs: &Inputs) -> Result<Done, String> {
    let x = inputs.first(SERIES);
    let found = allan::curve(&x[..x.len().min(1_000_000)], 1.0, Kind::Overlapping, 1);
    let points = found.map_err(said)?;
    let (m, d) = points.iter().map(|p| (p.m as f64, p.deviation)).unzip();
    Ok(Done::Many(vec![m, d]))
}

fn oadev_check(_: &Inputs, done: &Done) -> Value {
    let (m, d) = (&done.all()[0], &done.all()[1]);
    let wanted = [1.0, 16.0, 256.0, 4096.0, 65_536.0];
    let picked = m.iter().zip(d).filter(|(m, _)| wanted.contains(*m));
    let picked: Map<String, Value> = picked.map(|(m, d)| (m.to_string(), json!(d))).collect();
    json!({ "adev_at_m": picked })
}
