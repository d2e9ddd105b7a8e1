//! Times the estimators on files of raw numbers, one JSON line a task.
//!
//! `cargo run --release -p signal --example bench -- FOLDER [TASK] [RUNS]` reads
//! `series-10M.f64` and `series-b-10M.f64` (little-endian, 1 Hz) and
//! `uneven-100k.csv` (`t_s,value`) from a folder.  Every line gives the median,
//! least and greatest time of the runs, processor time over wall time (below 1
//! on a busy machine; Linux only), and a few figures of the result, so that
//! times are compared only where results agree.  Writes nothing.

#![allow(clippy::unwrap_used, clippy::print_stdout, reason = "a tool for developers")]

use signal::allan::{Kind, curve};
use signal::butterworth::{Band, design, zero_phase};
use signal::coherence::coherence;
use signal::detrend::Detrend;
use signal::harmonics::fit_even;
use signal::lomb_scargle::{Grid, lomb_scargle};
use signal::multitaper::{Dpss, Multitaper, Weighting, dpss, given};
use signal::robust::{hampel, running_median};
use signal::spectrogram::spectrogram;
use signal::spectrum::{Segments, Spectrum, welch};
use signal::window::Window;
use std::path::PathBuf;
use std::time::Instant;

struct Bench {
    folder: PathBuf,
    only: String,
    runs: usize,
}

impl Bench {
    fn series(&self, name: &str) -> Vec<f64> {
        let bytes = std::fs::read(self.folder.join(name)).unwrap();
        bytes.chunks_exact(8).map(|b| f64::from_le_bytes(b.try_into().unwrap())).collect()
    }

    fn uneven(&self) -> (Vec<f64>, Vec<f64>) {
        let text = std::fs::read_to_string(self.folder.join("uneven-100k.csv")).unwrap();
        let pair = |line: &str| {
            let (t, y) = line.split_once(',')?;
            Some((t.parse::<f64>().ok()?, y.parse::<f64>().ok()?))
        };
        text.lines().filter_map(pair).unzip()
    }

    fn wants(&self, task: &str) -> bool {
        task.contains(&self.only)
    }

    fn task<T>(&self, task: &str, n: usize, run: impl Fn() -> T, show: impl Fn(&T) -> Vec<f64>) {
        if !self.wants(task) {
            return;
        }
        let result = run();
        let (wall, processor) = (Instant::now(), processor_s());
        let mut times: Vec<f64> = (0..self.runs)
            .map(|_| {
                let start = Instant::now();
                std::hint::black_box(run());
                start.elapsed().as_secs_f64()
            })
            .collect();
        times.sort_by(f64::total_cmp);
        let share = (processor_s() - processor) / wall.elapsed().as_secs_f64();
        let (least, most) = (times[0], times[times.len() - 1]);
        let median = times[times.len() / 2];
        println!(
            "{{\"task\": \"{task}\", \"peer\": \"native, one thread, no wide instructions\", \
             \"n\": {n}, \"runs\": {}, \"median_s\": {median:.4}, \"min_s\": {least:.4}, \
             \"max_s\": {most:.4}, \"cpu_over_wall\": {share:.3}, \"figures\": {:?}}}",
            self.runs,
            show(&result)
        );
    }
}

/// Processor time of this process, seconds.
fn processor_s() -> f64 {
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let after = stat.rsplit(')').next().unwrap_or_default();
    let ticks = |place| after.split_whitespace().nth(place).and_then(|v| v.parse::<f64>().ok());
    // User and system time in hundredths of a second.
    (ticks(11).unwrap_or(f64::NAN) + ticks(12).unwrap_or(f64::NAN)) / 100.0
}

fn spiked(x: &[f64]) -> Vec<f64> {
    let mut out = x.to_vec();
    for (k, place) in (17..x.len()).step_by(5003).enumerate() {
        out[place] += if k % 2 == 0 { 50.0 } else { -50.0 };
    }
    out
}

fn medians(bench: &Bench, x: &[f64]) {
    let x = spiked(x);
    let n = x.len();
    bench.task(
        "median11",
        n,
        || running_median(&x, 5),
        |m| vec![m[5..n - 5].iter().map(|v| v - 48_500.0).sum(), m[17], m[1000], m[n / 2]],
    );
    let floor = 0.0;
    bench.task(
        "hampel11_exact",
        n,
        || hampel(&x, 5, 3.0, floor),
        |h| {
            let inner = 10..n - 10;
            let repaired = |i: usize| if h.spike[i] { h.median[i] } else { x[i] };
            let flagged = h.spike[inner.clone()].iter().filter(|s| **s).count() as f64;
            vec![flagged, inner.map(|i| repaired(i) - 48_500.0).sum(), repaired(17), repaired(5020)]
        },
    );
}

fn hann(len: usize) -> Segments {
    Segments { len, overlap: len / 2, window: Window::Hann, detrend: Detrend::Mean }
}

fn picked(density: &[f64], bins: &[usize]) -> Vec<f64> {
    bins.iter().map(|k| density[*k]).chain([density.iter().sum()]).collect()
}

fn spectra(bench: &Bench, x: &[f64]) {
    let show = |bins: &'static [usize]| move |s: &Spectrum| picked(&s.density, bins);
    let n = x.len();
    let (short, long) = (&[1, 10, 91, 500, 2000], &[1, 100, 1456, 10_000, 32_000]);
    bench.task("welch_4096", n, || welch(x, 1.0, &hann(4096)).unwrap(), show(short));
    bench.task("welch_65536", n, || welch(x, 1.0, &hann(65_536)).unwrap(), show(long));
    bench.task(
        "spectrogram_4096",
        n,
        || spectrogram(x, 1.0, &hann(4096)).unwrap(),
        |s| {
            let rows = s.start.len();
            let mean = (0..rows).map(|k| s.segment(k)[91]).sum::<f64>() / rows as f64;
            vec![
                rows as f64,
                mean,
                s.segment(0)[1],
                s.segment(rows / 2)[91],
                s.segment(rows - 1)[2000],
            ]
        },
    );
}

fn multitapers(bench: &Bench, x: &[f64]) {
    let n = 1 << 20;
    let x = &x[..n.min(x.len())];
    let n = x.len();
    let tapers = || dpss(n, 4.0, 7).unwrap();
    let bins = &[12, 100, 23_302, 100_000, 500_000];
    let show = |m: &Multitaper| picked(&m.density, bins);
    bench.task("multitaper_tapers", n, tapers, |d: &Dpss| {
        let at = |place: usize| d.tapers.iter().map(move |taper| taper[place].abs());
        d.concentration.iter().copied().chain(at(n / 8)).chain(at(n / 4)).collect()
    });
    let spectrum = |family: &Dpss| given(x, 1.0, family, Weighting::Concentration).unwrap();
    bench.task("multitaper", n, || spectrum(&tapers()), show);
    if bench.wants("multitaper_given_tapers") {
        let ready = tapers();
        bench.task("multitaper_given_tapers", n, || spectrum(&ready), show);
    }
}

fn uneven(bench: &Bench) {
    if !bench.wants("lombscargle_100k") && !bench.wants("lombscargle_5k") {
        return;
    }
    let (t, y) = bench.uneven();
    for (task, n) in [("lombscargle_100k", t.len()), ("lombscargle_5k", 5000)] {
        let (t, y) = (&t[..n], &y[..n]);
        let step_hz = 1.0 / (5.0 * (t[n - 1] - t[0]));
        let grid = Grid { first_hz: step_hz, step_hz, count: n };
        bench.task(
            task,
            n,
            || lomb_scargle(t, y, None, grid).unwrap(),
            |p| {
                let best = p.peaks(1)[0].place;
                vec![best as f64 + 1.0, p.power[best], p.power[n / 2 - 1], p.power.iter().sum()]
            },
        );
    }
}

fn rest(bench: &Bench, x: &[f64]) {
    let n = x.len();
    let low = || zero_phase(&design(4, Band::Low(0.01), 1.0).unwrap(), x).unwrap();
    bench.task("butter_zero_phase", n, low, |y| {
        let sum: f64 = y.iter().map(|v| v - 48_500.0).sum();
        let squares: f64 = y.iter().map(|v| (v - 48_500.0) * (v - 48_500.0)).sum();
        vec![y[0], y[1], y[1000], y[n / 2], y[n - 1], sum, squares]
    });
    if bench.wants("coherence_4096") {
        let y = bench.series("series-b-10M.f64");
        let run = || coherence(x, &y, 1.0, &hann(4096)).unwrap();
        bench.task("coherence_4096", n, run, |c| {
            let mean = c.coherence.iter().sum::<f64>() / c.coherence.len() as f64;
            [1, 10, 91, 500, 2000].iter().map(|k| c.coherence[*k]).chain([mean]).collect()
        });
    }
    let periods: Vec<f64> = (1..=6).map(|k| 86_400.0 / f64::from(k)).collect();
    bench.task(
        "harmonic6",
        n,
        || fit_even(x, 1.0, &periods).unwrap(),
        |h| {
            let pairs = h.terms.iter().flat_map(|term| [term.cos, term.sin]);
            std::iter::once(h.level).chain(pairs).collect()
        },
    );
    let million = &x[..n.min(1_000_000)];
    let run = || curve(million, 1.0, Kind::Overlapping, 1).unwrap();
    bench.task("oadev_octave", million.len(), run, |points| {
        let at = |m: &usize| points.iter().find(|p| p.m == *m).map_or(f64::NAN, |p| p.deviation);
        [1, 16, 256, 4096, 65_536].iter().map(at).collect()
    });
}

fn main() {
    let mut words = std::env::args().skip(1);
    let bench = Bench {
        folder: PathBuf::from(words.next().unwrap_or_else(|| ".".to_owned())),
        only: words.next().unwrap_or_default(),
        runs: words.next().and_then(|runs| runs.parse().ok()).unwrap_or(5),
    };
    let x = bench.series("series-10M.f64");
    medians(&bench, &x);
    spectra(&bench, &x);
    multitapers(&bench, &x);
    uneven(&bench);
    rest(&bench, &x);
}
