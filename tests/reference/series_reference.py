"""Each estimator of crates/signal on five seeded series: even, odd, gappy, tiny, red.

Writes series_reference.json beside this file, or checks it (`--check`); the
series and how figures are picked are those of signal_reference.py, which also
says how to run.

Trusted: scipy.signal (welch, csd, butter, sosfilt, sosfiltfilt, sosfreqz,
firwin, kaiser_beta, windows.dpss), scipy.stats (linregress,
median_abs_deviation), numpy (histogram, quantile, convolve, lstsq, fft),
astropy (LombScargle), allantools (oadev).  What these do not know, gaps above
all, is written here from its definition.
"""

import allantools
import numpy as np
from astropy.timeseries import LombScargle
from keeping import keep
from scipy import signal, stats
from signal_reference import BANDS, SCIPY_BANDS, Seeded, every, series, white

# An even, an odd, a gappy, a tiny and a red series; every estimator below answers all that it can.
FIVE = ("white-1000-1", "white-997-2", "gappy-3000-9", "white-7-5", "red-1000-3")


def bare(values):
    """Missing values become 0: JSON has no NaN, and their places are compared elsewhere."""
    return every(np.nan_to_num(np.asarray(values, dtype=float)))


def correlations(x, most):
    """Deviations' products at each lag over those at lag 0, scaled up by the pairs that are missing."""
    n, there = len(x), ~np.isnan(x)
    off = np.where(there, x - np.nanmean(x), 0.0)
    out = []
    for lag in range(min(most, n - 1) + 1):
        pairs = np.sum(there[: n - lag] & there[lag:])
        scale = there.sum() * (1 - lag / n) / pairs if pairs else np.nan
        out.append(off[: n - lag] @ off[lag:] / (off @ off) * scale)
    return np.array(out)


def effective(x):
    """Variance of a mean (Bayley and Hammersley 1946) over Geyer's initial positive sequence (1992)."""
    n = np.sum(~np.isnan(x))
    r = correlations(x, 4000)
    total = -1.0
    for pair in range(0, len(r), 2):
        both = r[pair : pair + 2]
        if both.sum() <= 0:
            break
        total += 2 * np.sum(both * (1 - np.arange(pair, pair + len(both)) / n))
    return float(np.clip(n / max(total, 1.0), 1, n))


def windows_of(x, half):
    return [x[max(0, k - half) : k + half + 1] for k in range(len(x))]


def shared(x, weights, least):
    """Weighted means, the weights of missing samples shared out; missing where too little is there."""
    there = (~np.isnan(x)).astype(float)
    whole = np.convolve(there, weights, mode="same" if len(x) >= len(weights) else "full")
    sums = np.convolve(np.nan_to_num(x), weights, mode="same" if len(x) >= len(weights) else "full")
    if len(x) < len(weights):
        start = len(weights) // 2
        whole, sums = whole[start : start + len(x)], sums[start : start + len(x)]
    share = whole / weights.sum()
    return np.where(share >= least - 1e-9, sums / np.where(share > 0, share, 1), np.nan)


def thinned(x, factor):
    """Low-pass ending at 0.4 to 0.5 of the new rate, 80 dB down, then each factor-th sample."""
    width, cut = 0.1 / factor, 0.45 / factor
    order = int(np.ceil((80.0 - 8) / (2.285 * 2 * np.pi * width) / 2)) * 2
    weights = signal.firwin(order + 1, cut, window=("kaiser", signal.kaiser_beta(80.0)), fs=1.0)
    return shared(x, weights, 0.9)[::factor]


def minutes(x):
    """Gaussian of INTERMAGNET's manual on readings each second, rounded to its eight digits."""
    width = 120 * np.sqrt(np.log(2)) / (2 * np.pi)
    t = np.arange(-45, 46)
    weights = np.exp(-(t**2) / (2 * width**2))
    weights = np.round(weights / weights.sum(), 8)
    return shared(x, weights / weights.sum(), 0.9)[::60]


def rates(x, step, half):
    out = np.full(len(x), np.nan)
    out[half:-half] = (x[2 * half :] - x[: -2 * half]) / (2 * half * step)
    return out


def plain_cases():
    """What needs no frequencies."""
    out = []
    for name in FIVE:
        x = series(name)
        known = x[~np.isnan(x)]
        counts, edges = np.histogram(known, bins=7)
        blocks = [x[k : k + 60] for k in range(0, len(x), 60)]
        full = [np.sum(~np.isnan(b)) >= 0.8 * 60 for b in blocks]
        means = [np.nanmean(b) if ok else np.nan for b, ok in zip(blocks, full)]
        errors = [np.nanstd(b, ddof=1) / np.sqrt(np.sum(~np.isnan(b))) if ok else np.nan
                  for b, ok in zip(blocks, full)]
        running = [np.nanmean(w) if np.sum(~np.isnan(w)) >= 0.5 * 11 else np.nan for w in windows_of(x, 5)]
        centred = [np.nanmedian(w) if np.any(~np.isnan(w)) else np.nan for w in windows_of(x, 5)]
        lower = [np.nanquantile(w, 0.3) if np.any(~np.isnan(w)) else np.nan for w in windows_of(x, 5)]
        places = np.flatnonzero(~np.isnan(x))
        mean_off, line = known - known.mean(), stats.linregress(places, known)
        out.append(
            {
                "series": name,
                "mean": float(known.mean()),
                "sd": float(known.std(ddof=1)),
                "median": float(np.median(known)),
                "mad": float(stats.median_abs_deviation(known)),
                "quantile_0.3": float(np.quantile(known, 0.3)),
                "histogram": {"counts": counts.tolist(), "edges": edges.tolist()},
                "correlation": bare(correlations(x, 300)),
                "effective_count": effective(x),
                "rate": bare(rates(x, 0.5, 1)),
                "rate_3": bare(rates(x, 0.5, 3)),
                "thinned_4": bare(thinned(x, 4)),
                "minutes": bare(minutes(x)),
                "block_means": bare(means),
                "block_errors": bare(errors),
                "running_mean": bare(running),
                "running_median": bare(centred),
                "running_quantile": bare(lower),
                "mean_taken_off": bare(mean_off),
                "line_taken_off": bare(known - line.intercept - line.slope * places),
            }
        )
    return out


def partner(name):
    """A second series that shares much of the first and follows it a sample later."""
    kind, n, seed = name.split("-")
    x, other = series(name), white(int(n), int(seed) + 50)
    late = np.concatenate(([0.0], np.nan_to_num(x)[:-1]))
    return np.where(np.isnan(x), np.nan, 0.5 * other + late)


def cut_of(name):
    return (4, 2) if name == "white-7-5" else (64, 32)


def segments_of(x, length, hop):
    """Places of segments inside unbroken runs."""
    starts, edges = [], np.flatnonzero(np.isnan(np.concatenate(([np.nan], x, [np.nan]))))
    for a, b in zip(edges[:-1], edges[1:]):
        starts += list(range(a, b - length, hop))
    return starts


def frequency_cases():
    """Spectrogram, coherence, gain and phase of each series with its partner."""
    out = []
    for name in FIVE:
        x, y = series(name), partner(name)
        length, overlap = cut_of(name)
        # Gaps are short and many: segments of 16 fit between some of them.
        if name.startswith("gappy"):
            length, overlap = 16, 8
        starts = segments_of(x, length, length - overlap)
        plan = {"fs": 2.0, "window": "hann", "nperseg": length, "noverlap": overlap, "detrend": "constant"}
        sxx = syy = sxy = 0
        for a in starts:
            u, v = x[a : a + length], y[a : a + length]
            sxx = sxx + signal.welch(u, **plan)[1]
            syy = syy + signal.welch(v, **plan)[1]
            sxy = sxy + signal.csd(u, v, **plan)[1]
        rows = [
            signal.welch(x[a : a + length], **plan)[1] if not np.isnan(x[a : a + length]).any()
            else np.zeros(length // 2 + 1)
            for a in range(0, len(x) - length + 1, length - overlap)
        ]
        # The mean was taken off: nothing is left to compare at 0 Hz.
        out.append(
            {
                "series": name,
                "len": length,
                "overlap": overlap,
                "segments": len(starts),
                "coherence": every((np.abs(sxy) ** 2 / (sxx * syy))[1:]),
                "gain": every((np.abs(sxy) / sxx)[1:]),
                "lag": every(-np.angle(sxy)[1:]),
                "spectrogram": every(np.concatenate(rows), 200),
            }
        )
    return out


def adaptive(powers, kept, variance):
    """Thomson's adaptive weights (Proc. IEEE 70, 1982, section V), iterated to rest."""
    estimate = powers[:2].mean()
    for _ in range(2000):
        weights = kept * (estimate / (kept * estimate + (1 - kept) * variance)) ** 2
        estimate, before = weights @ powers / weights.sum(), estimate
        if abs(estimate - before) <= 1e-15 * estimate:
            break
    return estimate, 2 * weights.sum() ** 2 / (weights @ weights)


def taper_cases():
    """Sine tapers (Riedel and Sidorenko 1995), and adaptive weights on Slepian's."""
    out = []
    for name in ("white-1000-1", "white-997-2", "white-16-6", "red-1000-3", "red-997-4"):
        x = series(name) - series(name).mean()
        n, count = len(x), 5
        t = np.arange(1, n + 1)
        sines = np.array([np.sqrt(2 / (n + 1)) * np.sin(np.pi * (k + 1) * t / (n + 1)) for k in range(count)])
        sine = (np.abs(np.fft.rfft(sines * x, axis=1)) ** 2).mean(axis=0) / 2.5
        slepian, kept = signal.windows.dpss(n, 3.0, count, return_ratios=True)
        powers = np.abs(np.fft.rfft(slepian * x, axis=1)) ** 2
        both = [adaptive(powers[:, k], kept, np.mean(x**2)) for k in range(1, powers.shape[1])]
        density, freedom = np.array(both).T / [[2.5], [1.0]]
        for d, first in ((sine, 1), (density, 0)):
            d[first : (n + 1) // 2 - 1 + first] *= 2
        out.append(
            {
                "series": name,
                "sine": every(sine[1:]),
                "adaptive": every(density),
                "freedom": every(freedom),
            }
        )
    return out


def uneven_cases():
    """Lomb-Scargle on each series at uneven times."""
    out = []
    for name in FIVE:
        y = series(name)
        seeded = Seeded(len(y))
        t = np.cumsum([0.5 + seeded.uniform() for _ in y])
        ok = ~np.isnan(y)
        step, count = (0.02, 40) if len(y) < 10 else (0.0004, 1200)
        power = LombScargle(t[ok], y[ok]).power(step * np.arange(1, count + 1), method="cython")
        out.append({"series": name, "step": step, "count": count, "power": every(power)})
    return out


def gappy_deviation(y, m):
    """Overlapping Allan deviation from its definition; terms with a missing reading are left out."""
    means = np.convolve(y, np.ones(m) / m, mode="valid")
    terms = means[m:] - means[:-m]
    terms = terms[~np.isnan(terms)]
    return float(np.sqrt(np.mean(terms**2) / 2)), len(terms)


def stability_cases():
    """Overlapping Allan deviations of each series; allantools, where there are no gaps, agrees."""
    out = []
    for name in FIVE:
        y = series(name)
        factors = [1, 2] if len(y) < 10 else [1, 2, 4]
        found = [gappy_deviation(y, m) for m in factors]
        if not np.isnan(y).any():
            _, again, _, _ = allantools.oadev(y, rate=4.0, data_type="freq", taus=[0.25 * m for m in factors])
            assert np.allclose(again, [d for d, _ in found], rtol=1e-9)
        out.append({"series": name, "m": factors, "deviation": [d for d, _ in found],
                    "terms": [n for _, n in found]})
    return out


def wave_cases():
    """Least-squares waves in each series."""
    out = []
    for name in FIVE:
        y = series(name)
        periods = [5.0] if len(y) < 10 else [100.0, 37.5, 12.0]
        t = 2.0 * np.arange(len(y))
        ok = ~np.isnan(y)
        columns = [np.ones(len(y))]
        for p in periods:
            columns += [np.cos(2 * np.pi * t / p), np.sin(2 * np.pi * t / p)]
        solution = np.linalg.lstsq(np.array(columns).T[ok], y[ok], rcond=None)[0]
        out.append({"series": name, "periods": periods, "coefficients": solution.tolist()})
    return out


def steep_cases():
    """Responses of Butterworth filters of high order."""
    out = []
    at = np.array([0.01, 0.04, 0.05, 0.06, 0.1, 0.19, 0.2, 0.21, 0.3, 0.4])
    for kind, edges in BANDS.items():
        for order in (9, 12, 20, 31, 40):
            edge = edges[0] if len(edges) == 1 else edges
            sos = signal.butter(order, edge, SCIPY_BANDS[kind], fs=1.0, output="sos")
            gain = np.abs(signal.sosfreqz(sos, at, fs=1.0)[1])
            out.append({"kind": kind, "edges": edges, "order": order, "frequency": at.tolist(),
                        "gain": gain.tolist()})
    return out


def one_way_cases():
    """Filters along each series: forward from rest between gaps, and both ways where there are none."""
    out = []
    for name in FIVE:
        x = series(name)
        sos = signal.butter(1 if len(x) < 10 else 3, 0.1, fs=1.0, output="sos")
        rest = np.full(len(x), np.nan)
        edges = np.flatnonzero(np.isnan(np.concatenate(([np.nan], x, [np.nan]))))
        for a, b in zip(edges[:-1], edges[1:] - 1):
            if b > a:
                rest[a:b] = signal.sosfilt(sos, x[a:b])
        case = {"series": name, "from_rest": bare(rest)}
        if not np.isnan(x).any():
            case["both_ways"] = every(signal.sosfiltfilt(sos, x))
        out.append(case)
    return out


def main():
    results = {
        "plain": plain_cases(),
        "frequency": frequency_cases(),
        "tapers": taper_cases(),
        "uneven": uneven_cases(),
        "stability": stability_cases(),
        "waves": wave_cases(),
        "steep": steep_cases(),
        "one_way": one_way_cases(),
    }
    keep("series_reference.json", results, indent=0)


if __name__ == "__main__":
    main()
