"""Reference figures for crates/signal, computed with numpy and scipy.

Writes signal_reference.json beside this file, or checks it (`--check`).  The series are made from a
linear congruential generator, so that the tests in Rust make the same ones bit
for bit and only results are stored.  Run:

    python -m venv .venv && .venv/bin/pip install -r requirements.txt
    .venv/bin/python signal_reference.py

Trusted: scipy.signal (welch, spectrogram, coherence, csd, butter, sosfiltfilt,
sosfilt, sosfreqz, get_window, firwin, kaiser_beta, windows.dpss), scipy.stats
(chi2, t, f, norm, linregress), numpy (lstsq, fft, correlate), astropy
(LombScargle, fap_baluev), allantools.
"""

import allantools
import astropy
import numpy as np
import scipy
from astropy.timeseries import LombScargle
from astropy.timeseries.periodograms.lombscargle._statistics import fap_baluev
from keeping import keep
from scipy import signal, stats

MASK = (1 << 64) - 1


class Seeded:
    """The generator of the Rust tests: D. E. Knuth's MMIX constants."""

    def __init__(self, seed):
        self.state = seed

    def uniform(self):
        self.state = (self.state * 6364136223846793005 + 1442695040888963407) & MASK
        return ((self.state >> 11) + 0.5) / (1 << 53)


def white(n, seed):
    """n values, uniform in -0.5..0.5."""
    seeded = Seeded(seed)
    return np.array([seeded.uniform() - 0.5 for _ in range(n)])


def red(n, seed):
    """A random walk on a level of 100, summed one by one."""
    out, level = [], 100.0
    for step in white(n, seed):
        level += step
        out.append(level)
    return np.array(out)


def gappy(n, seed):
    """White values with about one in ten missing."""
    seeded = Seeded(seed)
    out = []
    for _ in range(n):
        value = seeded.uniform() - 0.5
        out.append(np.nan if seeded.uniform() < 0.1 else value)
    return np.array(out)


def series(name):
    kind, n, seed = name.split("-")
    return {"white": white, "red": red, "gappy": gappy}[kind](int(n), int(seed))


def every(values, most=40):
    """At most `most` values, evenly picked, and the sum of all."""
    values = np.asarray(values, dtype=float)
    step = max(1, len(values) // most)
    return {"step": step, "values": values[::step].tolist(), "sum": float(np.sum(values))}


def welch_cases():
    out = []
    plans = [
        ("white-1000-1", 256, 128, "hann", "constant"),
        ("white-997-2", 255, 100, "hann", "linear"),
        ("red-1000-3", 200, 150, "blackmanharris", "constant"),
        ("red-997-4", 333, 0, "hamming", "linear"),
        ("white-7-5", 4, 2, "boxcar", False),
        ("white-16-6", 16, 0, "hann", "constant"),
        ("white-2-7", 2, 0, "boxcar", "constant"),
        ("white-3-8", 3, 0, "boxcar", "linear"),
    ]
    for name, length, overlap, window, detrend in plans:
        f, p = signal.welch(
            series(name), 2.5, window, length, overlap, detrend=detrend, scaling="density"
        )
        out.append(
            {
                "series": name,
                "len": length,
                "overlap": overlap,
                "window": window,
                "detrend": detrend or "none",
                "frequency": every(f),
                "density": every(p),
            }
        )
    return out


def runs_case():
    """Mean over segments that lie inside unbroken runs of a series with gaps."""
    x = series("gappy-3000-9")
    runs = np.split(x, np.flatnonzero(np.isnan(x)))
    total, count = np.zeros(9), 0
    for run in runs:
        run = run[~np.isnan(run)]
        if len(run) < 16:
            continue
        n = (len(run) - 16) // 8 + 1
        _, p = signal.welch(run, 1.0, "hann", 16, 8, detrend="constant")
        total, count = total + n * p, count + n
    return {"series": "gappy-3000-9", "segments": count, "density": every(total / count)}


def window_cases():
    names = {
        "hann": "hann",
        "hamming": "hamming",
        "blackman": "blackman",
        "blackman-harris": "blackmanharris",
        "nuttall-4c": "nuttall",
        "bohman": "bohman",
        "tukey": ("tukey", 0.25),
        "kaiser": ("kaiser", 3 * np.pi),
    }
    out = []
    for name, scipy_name in names.items():
        for n in (1, 2, 7, 64):
            periodic = signal.get_window(scipy_name, n, fftbins=True)
            symmetric = signal.get_window(scipy_name, n, fftbins=False)
            out.append(
                {
                    "window": name,
                    "n": n,
                    "periodic": every(periodic, 1000),
                    "symmetric": every(symmetric, 1000),
                }
            )
    return out


BANDS = {
    "low": (0.05,),
    "high": (0.2,),
    "pass": (0.05, 0.2),
    "stop": (0.1, 0.3),
}
SCIPY_BANDS = {"low": "lowpass", "high": "highpass", "pass": "bandpass", "stop": "bandstop"}


def filter_cases():
    out = []
    x = series("red-1000-3")
    at = np.array([0.001, 0.03, 0.05, 0.1, 0.2, 0.3, 0.45])
    for kind, edges in BANDS.items():
        for order in range(1, 9):
            edge = edges[0] if len(edges) == 1 else edges
            sos = signal.butter(order, edge, SCIPY_BANDS[kind], fs=1.0, output="sos")
            _, h = signal.sosfreqz(sos, at, fs=1.0)
            zi = signal.sosfilt_zi(sos) * x[0]
            out.append(
                {
                    "kind": kind,
                    "edges": edges,
                    "order": order,
                    "series": "red-1000-3",
                    "response": {
                        "frequency": at.tolist(),
                        "gain": np.abs(h).tolist(),
                        "phase": np.angle(h).tolist(),
                    },
                    "zero_phase": every(signal.sosfiltfilt(sos, x)),
                    "causal": every(signal.sosfilt(sos, x, zi=zi)[0]),
                    "from_rest": every(signal.sosfilt(sos, x)),
                }
            )
    return out


def distribution_cases():
    ps = [1e-10, 1e-4, 0.025, 0.3, 0.5, 0.9, 0.975, 0.9999]
    nus = [0.5, 1.0, 2.0, 7.63, 15.26, 200.0, 1e4, 1e6]
    return {
        "p": ps,
        "nu": nus,
        "chi2": [[float(stats.chi2.ppf(p, nu)) for p in ps] for nu in nus],
        "student": [[float(stats.t.ppf(p, nu)) for p in ps] for nu in nus],
        "normal": [float(stats.norm.ppf(p)) for p in ps],
        "f_survival": [
            [float(stats.f.sf(f, a, b)) for f in (0.01, 0.5, 1.0, 4.0, 30.0)]
            for a, b in ((1.0, 5.0), (2.0, 12.0), (7.5, 33.0), (100.0, 40.0))
        ],
        "chi2_survival": [float(stats.chi2.sf(x, nu)) for x in (1.0, 30.0, 400.0) for nu in nus[1:6]],
    }


def robust_cases():
    """The exact identifier, window by window."""
    out = []
    for name in ("red-1000-3", "gappy-3000-9", "white-7-5"):
        for half in (1, 5, 20):
            x = series(name)
            medians, spreads = [], []
            for i in range(len(x)):
                w = x[max(0, i - half) : i + half + 1]
                w = w[~np.isnan(w)]
                m = np.median(w) if len(w) else np.nan
                medians.append(m)
                spreads.append(stats.median_abs_deviation(w, scale="normal") if len(w) else np.nan)
            medians, spreads = np.array(medians), np.array(spreads)
            spikes = np.flatnonzero(np.abs(x - medians) > 2.0 * spreads)
            out.append(
                {
                    "series": name,
                    "half": half,
                    "median": every(np.nan_to_num(medians)),
                    "spread": every(np.nan_to_num(spreads)),
                    "spikes": spikes.tolist(),
                }
            )
    return out


def trend_cases():
    out = []
    for name in ("red-1000-3", "white-7-5", "gappy-3000-9"):
        x = series(name)
        place = np.arange(len(x))
        ok = ~np.isnan(x)
        found = stats.linregress(place[ok], x[ok])
        u = 2 * place / (len(x) - 1) - 1
        quartic = np.polynomial.chebyshev.chebfit(u[ok], x[ok], 4)
        out.append(
            {
                "series": name,
                "level": float(found.intercept),
                "slope": float(found.slope),
                "level_sigma": float(found.intercept_stderr),
                "slope_sigma": float(found.stderr),
                "chebyshev": quartic.tolist(),
            }
        )
    return out


def multitaper_cases():
    """Concentration-weighted means; Thomson's F for a line (Proc. IEEE 70, 1982)."""
    out = []
    for name, nw, count in (("red-1000-3", 4.0, 7), ("white-997-2", 2.5, 4), ("white-16-6", 2.0, 3)):
        x = series(name)
        x = x - x.mean()
        n = len(x)
        tapers, kept = signal.windows.dpss(n, nw, count, return_ratios=True)
        y = np.fft.rfft(tapers * x, axis=1)
        density = kept @ np.abs(y) ** 2 / kept.sum() / 2.5
        density[1 : (n + 1) // 2] *= 2
        h = tapers.sum(axis=1)
        line = h @ y / (h @ h)
        rest = np.sum(np.abs(y - np.outer(h, line)) ** 2, axis=0)
        f = (count - 1) * np.abs(line) ** 2 * (h @ h) / rest
        # 0 Hz is left out: the mean was taken off.
        out.append(
            {
                "series": name,
                "nw": nw,
                "count": count,
                "concentration": kept.tolist(),
                "last_taper": every(tapers[-1]),
                "density": every(density),
                "line_f": every(f[1:]),
            }
        )
    return out


def lomb_cases():
    out = []
    for name, errors in (("gappy-3000-9", False), ("red-1000-3", True)):
        y = series(name)
        seeded = Seeded(len(y))
        t = np.cumsum([0.5 + seeded.uniform() for _ in y])
        sigma = np.array([0.5 + seeded.uniform() for _ in y]) if errors else None
        ok = ~np.isnan(y)
        frequency = 0.0002 * np.arange(1, 1201)
        ls = LombScargle(t[ok], y[ok], sigma[ok] if errors else None)
        out.append(
            {
                "series": name,
                "errors": errors,
                "power": every(ls.power(frequency, method="cython")),
                # The method of LombScargle would round the highest frequency up to its own grid.
                "false_alarm_of_0.02": float(
                    fap_baluev(0.02, frequency[-1], t[ok], y[ok], sigma[ok] if errors else None)
                ),
            }
        )
    return out


def allan_cases():
    out = []
    for name in ("white-997-2", "red-1000-3"):
        y = series(name)
        entry = {"series": name, "m": [1, 2, 7, 40]}
        functions = {
            "allan": allantools.adev,
            "overlapping": allantools.oadev,
            "modified": allantools.mdev,
            "time": allantools.tdev,
            "hadamard": allantools.hdev,
            "overlapping_hadamard": allantools.ohdev,
            "total": allantools.totdev,
        }
        for label, function in functions.items():
            taus = [0.25 * m for m in entry["m"]]
            _, deviation, _, terms = function(y, rate=4.0, data_type="freq", taus=taus)
            entry[label] = {"deviation": deviation.tolist(), "terms": [int(n) for n in terms]}
        out.append(entry)
    return out


def pair_cases():
    """Coherence, gain and phase of two series, and a spectrogram."""
    x, y = series("white-1000-1"), series("red-1000-3")
    y = y + 3 * x
    plan = {"fs": 2.0, "window": "hann", "nperseg": 64, "noverlap": 32, "detrend": "constant"}
    f, coherence = signal.coherence(x, y, **plan)
    _, cross = signal.csd(x, y, **plan)
    _, auto = signal.welch(x, **plan)
    _, start, power = signal.spectrogram(x, mode="psd", scaling="density", **plan)
    return {
        "coherence": every(coherence),
        "gain": every(np.abs(cross) / auto),
        "lag": every(-np.angle(cross)),
        "segments": len(start),
        "spectrogram": every(power.T.ravel(), 200),
    }


def harmonic_cases():
    out = []
    periods = [100.0, 37.5, 12.0]
    for name in ("red-1000-3", "gappy-3000-9"):
        y = series(name)
        t = 2.0 * np.arange(len(y))
        ok = ~np.isnan(y)
        columns = [np.ones(len(y))]
        for p in periods:
            columns += [np.cos(2 * np.pi * t / p), np.sin(2 * np.pi * t / p)]
        design = np.array(columns).T[ok]
        solution, squares, _, _ = np.linalg.lstsq(design, y[ok], rcond=None)
        out.append(
            {
                "series": name,
                "periods": periods,
                "coefficients": solution.tolist(),
                "residual_sd": float(np.sqrt(squares[0] / (ok.sum() - 7))),
            }
        )
    return out


def filter_weights():
    """Kaiser low-pass weights and their use."""
    order = int(np.ceil((70.0 - 8) / (2.285 * 2 * np.pi * 0.05) / 2)) * 2
    weights = signal.firwin(order + 1, 0.1, window=("kaiser", signal.kaiser_beta(70.0)), fs=1.0)
    x = series("red-1000-3")
    return {
        "weights": every(weights, 1000),
        "whole": every(np.convolve(x, weights, mode="valid")),
    }


def correlation_case():
    x = series("red-1000-3")
    off = x - x.mean()
    r = np.correlate(off, off, mode="full")[len(x) - 1 :]
    return every(r[:301] / r[0])


def main():
    results = {
        "made_with": {
            "numpy": np.__version__,
            "scipy": scipy.__version__,
            "astropy": astropy.__version__,
            "allantools": allantools.__version__,
        },
        "welch": welch_cases(),
        "runs": runs_case(),
        "windows": window_cases(),
        "filters": filter_cases(),
        "distributions": distribution_cases(),
        "robust": robust_cases(),
        "trends": trend_cases(),
        "multitaper": multitaper_cases(),
        "lomb": lomb_cases(),
        "allan": allan_cases(),
        "pair": pair_cases(),
        "harmonics": harmonic_cases(),
        "fir": filter_weights(),
        "autocorrelation": correlation_case(),
    }
    keep("signal_reference.json", results, indent=0)


if __name__ == "__main__":
    main()
