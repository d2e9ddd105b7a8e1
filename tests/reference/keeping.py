"""Keeps a reference script's figures beside it, or checks those that are kept.

A script ends with `keep("name.json", figures)`.  Run plainly, it writes the
file; run with `--check`, as `cargo xtask test` does, it writes nothing, and
fails when a kept figure is not what it has just computed.  Figures are numbers,
texts, lists and objects of them.

Tolerance: 1e-9 of the value, or 1e-12: what another processor's order of
summation may change in the double precision of numpy and scipy.  A script whose
figures come from an iteration gives the tolerance that its stopping rule earns.
"""

import json
import math
import pathlib
import sys

RELATIVE = 1e-9
ABSOLUTE = 1e-12


def keep(name, figures, indent=1, relative=RELATIVE):
    """Writes `figures` as JSON to the file `name` beside this module, or checks it."""
    path = pathlib.Path(__file__).with_name(name)
    text = json.dumps(figures, indent=indent, allow_nan=False) + "\n"
    if "--check" not in sys.argv[1:]:
        path.write_text(text, encoding="utf-8")
        return
    kept = json.loads(path.read_text(encoding="utf-8"))
    found = list(differences(kept, json.loads(text), relative))
    for line in found[:20]:
        print(f"{name}{line}")
    print(f"{name}: {count(kept)} figures checked, {len(found)} differ")
    if found:
        sys.exit(1)


def differences(kept, now, relative=RELATIVE, place=""):
    """A line for each figure that is not what was kept."""
    if isinstance(kept, dict) and isinstance(now, dict):
        for key in sorted(kept.keys() | now.keys()):
            if key in kept and key in now:
                yield from differences(kept[key], now[key], relative, f"{place}.{key}")
            else:
                yield f"{place}.{key}: {'no longer computed' if key in kept else 'not kept'}"
    elif isinstance(kept, list) and isinstance(now, list) and len(kept) == len(now):
        for at, (one, other) in enumerate(zip(kept, now)):
            yield from differences(one, other, relative, f"{place}[{at}]")
    elif not same(kept, now, relative):
        yield f"{place}: kept {kept!r}, computed {now!r}"


def same(kept, now, relative):
    """Whether two single figures agree."""
    if is_number(kept) and is_number(now):
        return math.isclose(kept, now, rel_tol=relative, abs_tol=ABSOLUTE)
    return type(kept) is type(now) and kept == now


def is_number(value):
    """A number, and not true or false."""
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def count(figures):
    """How many single figures there are."""
    if isinstance(figures, dict):
        figures = list(figures.values())
    if isinstance(figures, list):
        return sum(count(one) for one in figures)
    return 1
