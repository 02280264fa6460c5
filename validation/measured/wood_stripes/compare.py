#!/usr/bin/env python3
"""Hardwood under broad CO2-laser stripes: published dose, and whether the record birch chars where the wood turned black.

Ours: dose P/(v b); the surface of a half-space under P/b^2 for b/v (the beam taken as 10 mm long as well, which the paper
does not say); the share pyrolysed there by the record's law; the dose at which the
library's threshold for removal is passed; and the depth of char (half gone).

    compare.py [--plot FILE]
"""

import math
import pathlib
import sys
import tomllib

import circumfluence as cf
import numpy as np
from scipy.special import erfc

DATA = tomllib.loads((pathlib.Path(__file__).resolve().parent / "data.toml").read_text())
BIRCH = cf.material("birch")
CONDUCTIVITY = BIRCH.conductivity.value
DIFFUSIVITY = CONDUCTIVITY / (BIRCH.density.value * BIRCH.heat_capacity.value)
CHAR = cf.Reaction(rate=BIRCH.char_rate.value, activation=BIRCH.char_activation.value)
LIMIT = BIRCH.removal_temperature.value  # pyrolysis holds the surface here


def temperature(flux, dwell, depth, time):
    """Half-space heated for `dwell` [s] from 293 K; the surface is not let above LIMIT, nor what lies below."""
    def rise(t):
        root = math.sqrt(DIFFUSIVITY * t)
        x = depth / (2 * root)
        return 2 * flux / CONDUCTIVITY * root * (math.exp(-x * x) / math.sqrt(math.pi) - x * erfc(x))

    total = rise(time) - (rise(time - dwell) if time > dwell else 0.0)
    return min(LIMIT, 293.0 + total)


def charred(flux, dwell, depth):
    """Share pyrolysed at a depth [m], heating and twice as long a cooling."""
    times = np.linspace(1e-3, 3, 600) * dwell
    rises = np.array([temperature(flux, dwell, depth, t) for t in times]) - 293.0
    if rises.max() < 1.0:
        return 0.0
    dose = cf.Dose(reaction=CHAR, times=times, shares=rises / rises.max(), start=293.0, greatest=1500)
    return float(cf.bleached(dose.of(rises.max())))


def char_depth(flux, dwell):
    low, high = 0.0, 5e-3
    if charred(flux, dwell, 0.0) < 0.5:
        return 0.0
    for _ in range(20):
        middle = (low + high) / 2
        low, high = (middle, high) if charred(flux, dwell, middle) > 0.5 else (low, middle)
    return low


def table():
    absorbed = BIRCH.optics_at("10.6 um").absorptivity.value
    for speed, dose in DATA["rows"]:
        dwell = DATA["width"] / (speed * 1e-3)
        flux = absorbed * DATA["power"] / DATA["width"] ** 2
        threshold = 1e-4 * cf.threshold(BIRCH, start=293.0, dwell=dwell) / absorbed
        yield speed, dose, 1e-1 * DATA["power"] / speed / DATA["width"], charred(flux, dwell, 0.0), 1e6 * char_depth(flux, dwell), threshold


def results():
    rows = list(table())
    far = max(rows, key=lambda row: abs(row[2] / row[1] - 1))
    least, most = rows[0], rows[-1]
    return {f"dose by P/(v b), farthest of {len(rows)} rows, {far[0]} mm/s [J/cm^2]": (far[1], far[2], far[2] / far[1] - 1),
            f"share charred at {least[1]} J/cm^2": ("seen, not black", least[3], max(0.0, least[3] - 0.5)),
            f"share charred at {most[1]} J/cm^2": ("black", most[3], min(0.0, most[3] - 0.95))}


def plot(path):
    import matplotlib
    matplotlib.use("Agg")
    from matplotlib import pyplot as plt

    rows = list(table())
    figure, axis = plt.subplots(figsize=(6, 4))
    axis.semilogx([r[1] for r in rows], [r[3] for r in rows], "o-", label="share charred at the surface")
    axis.semilogx([r[1] for r in rows], [r[4] / 1000 for r in rows], "s-", label="char depth [mm]")
    axis.set(xlabel="dose [J/cm^2]", title="published: seen at the lowest dose, black at the highest")
    axis.legend()
    figure.tight_layout()
    figure.savefig(path, dpi=90)


def main():
    print("| mm/s | dose published [J/cm2] | dose ours | difference | share charred | char depth [um] | removal would start at [J/cm2] |")
    print("| --- | --- | --- | --- | --- | --- | --- |")
    for speed, published, ours, share, depth, threshold in table():
        print(f"| {speed} | {published} | {ours:.1f} | {ours / published - 1:+.1%} | {share:.2f} | {depth:.0f} | {threshold:.1f} |")
    if "--plot" in sys.argv:
        plot(sys.argv[sys.argv.index("--plot") + 1])


if __name__ == "__main__":
    main()
