"""Geometric ellipsoid, sphere and flat ellipse fits by scipy, for comparison with ours.

Reads the logs under ../shared/data (from the root of the workspace; see the MANIFEST there for
origin and licence: they are read, not copied), minimises
    sum (|S (m - V)| - 1)^2        over V and a symmetric S       (ellipsoid)
    sum (|m - V| - R)^2            over V and R                   (sphere)
and, for a turntable, the first in the plane x y over a made turn (the test in Rust makes it again)
with scipy.optimize.least_squares, and writes ellipsoid_reference.json beside this file, or checks
it (`--check`): names, SHA-256, and what was found.  Run it from the root of the workspace:
    python tests/reference/ellipsoid_reference.py
"""

import hashlib
import pathlib

import numpy
import scipy
from keeping import keep
from scipy.optimize import least_squares

DATA = pathlib.Path("../shared/data")

# File, separator (None: blanks), columns of x y z from 0, lines to pass over, model.
LOGS = [
    ("mag/rocket_jackpot_launch_1.csv", ",", (12, 13, 14), 1, "ellipsoid"),
    ("mag/broad_03_slow_rotation.csv", ",", (7, 8, 9), 1, "ellipsoid"),
    ("more/lowcost/hmc5883l_tilt-sphere.csv", ",", (1, 2, 3), 1, "ellipsoid"),
    ("mag/rocket_jackpot_launch_1.csv", ",", (12, 13, 14), 1, "sphere"),
    ("mag/broad_03_slow_rotation.csv", ",", (7, 8, 9), 1, "sphere"),
    ("mag/fusion_sensor_data.csv", ",", (7, 8, 9), 1, "sphere"),
    ("mag/polulu_raw.txt", None, (6, 7, 8), 0, "sphere"),
]


def points(name, separator, columns, skip):
    """The finite rows of three columns."""
    rows = []
    for line in (DATA / name).read_text().splitlines()[skip:]:
        cells = line.split(separator)
        try:
            rows.append([float(cells[k]) for k in columns])
        except (ValueError, IndexError):
            continue
    p = numpy.array(rows)
    return p[numpy.isfinite(p).all(axis=1)]


def symmetric(q):
    return numpy.array([[q[0], q[1], q[2]], [q[1], q[3], q[4]], [q[2], q[4], q[5]]])


def ellipsoid(p):
    """Offset, matrix of unit radius, residuals of unit radius; in the unit of p."""
    centre = p.mean(axis=0)
    scale = numpy.sqrt(((p - centre) ** 2).sum(axis=1).mean())
    u = (p - centre) / scale

    def residual(q):
        return numpy.linalg.norm((u - q[:3]) @ symmetric(q[3:]), axis=1) - 1.0

    start = numpy.array([0, 0, 0, 1, 0, 0, 1, 0, 1], float)
    found = least_squares(residual, start, method="lm", xtol=1e-15, ftol=1e-15, gtol=1e-15,
                          max_nfev=100_000)
    return centre + scale * found.x[:3], symmetric(found.x[3:]) / scale, residual(found.x)


def sphere(p):
    """The same with the matrix 1/R; residuals over R."""
    centre = p.mean(axis=0)
    scale = numpy.sqrt(((p - centre) ** 2).sum(axis=1).mean())
    u = (p - centre) / scale

    def residual(q):
        return numpy.linalg.norm(u - q[:3], axis=1) - q[3]

    found = least_squares(residual, [0, 0, 0, 1], method="lm", xtol=1e-15, ftol=1e-15,
                          gtol=1e-15, max_nfev=100_000)
    radius = found.x[3]
    matrix = numpy.eye(3) / (radius * scale)
    return centre + scale * found.x[:3], matrix, residual(found.x) / radius


def flat_turn():
    """A level turn of 150 readings through soft iron, with a wobble in place of noise."""
    k = numpy.arange(150.0)
    east, north = 18_000.0 * numpy.cos(0.041 * k), -18_000.0 * numpy.sin(0.041 * k)
    x = 1.06 * east + 0.03 * north + 900.0 + 90.0 * numpy.sin(1.7 * k)
    y = 0.03 * east + 0.95 * north - 2_500.0 + 90.0 * numpy.cos(2.9 * k)
    return numpy.column_stack([x, y])


def flat_ellipse(p):
    """Offset, matrix of unit radius in the plane, residuals of unit radius."""
    centre, scale = p.mean(axis=0), 18_000.0
    u = (p - centre) / scale

    def residual(q):
        s = numpy.array([[q[2], q[3]], [q[3], q[4]]])
        return numpy.linalg.norm((u - q[:2]) @ s, axis=1) - 1.0

    found = least_squares(residual, [0, 0, 1, 0, 1], method="lm", xtol=1e-15, ftol=1e-15,
                          gtol=1e-15, max_nfev=100_000)
    a, b, c = found.x[2:]
    return centre + scale * found.x[:2], numpy.array([[a, b], [b, c]]) / scale, residual(found.x)


def main():
    if not DATA.is_dir():
        print(f"{DATA} is not there: nothing to fit, nothing checked")
        return
    fits = []
    for name, separator, columns, skip, model in LOGS:
        p = points(name, separator, columns, skip)
        offset, matrix, residuals = {"ellipsoid": ellipsoid, "sphere": sphere}[model](p)
        fits.append({
            "file": name,
            "sha256": hashlib.sha256((DATA / name).read_bytes()).hexdigest(),
            "separator": separator,
            "columns": columns,
            "skip": skip,
            "model": model,
            "rows": len(p),
            "offset": list(offset),
            "matrix_to_unit": matrix.tolist(),
            "rms_relative": float(numpy.sqrt((residuals ** 2).mean())),
        })
        print(name, model, len(p), offset, fits[-1]["rms_relative"])
    offset, matrix, residuals = flat_ellipse(flat_turn())
    flat = {
        "offset": list(offset),
        "matrix_to_unit": matrix.tolist(),
        "rms_relative": float(numpy.sqrt((residuals ** 2).mean())),
    }
    out = {
        "source": f"scipy {scipy.__version__} least_squares (lm), numpy {numpy.__version__}, "
                  "tests/reference/ellipsoid_reference.py",
        "fits": fits,
        "flat_ellipse": flat,
    }
    # A minimum is flat: where its sum of squares stands still to rounding, the place is known
    # to about the square root of rounding, 1e-8; 1e-6 leaves room for another processor.
    keep("ellipsoid_reference.json", out, relative=1e-6)


if __name__ == "__main__":
    main()
