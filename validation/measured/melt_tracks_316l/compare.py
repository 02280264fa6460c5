#!/usr/bin/env python3
"""Width and depth of molten tracks on bare 316L plates: published sections against the moving-spot solution.

Ours: half the width is where the peak rise at distance y from the track reaches the solidus, depth likewise under it, with
the library's moving Gaussian, the record aisi_316 with k(T), and its absorptivity at 1064 nm. No latent heat, no flow, no
vapour, so rows deeper than half their width (a vapour channel has opened) are left out of the verdict.

    compare.py [--plot FILE]
"""

import csv
import pathlib
import statistics
import sys

import circumfluence as cf

HERE = pathlib.Path(__file__).resolve().parent
STEEL = cf.material("aisi_316")
BODY = dict(conductivity=STEEL.conductivity.value,
            diffusivity=STEEL.conductivity.value / (STEEL.density.value * STEEL.heat_capacity.value))
NEEDED = float(cf.linear_rise(at_start=STEEL.conductivity.value, slope=STEEL.conductivity_slope.value,
                              rise=STEEL.solidus.value - 293.15))  # [K], in the linear problem


def reach(row, direction, absorptivity):
    """Distance [m] from the track, along y or z, at which the peak just reaches the solidus; 0 when nothing melts."""
    radius = row["spot_diameter_um"] * 0.5e-6
    spot = dict(along=radius, across=radius, speed=row["speed_mm_s"] * 1e-3, **BODY)

    def hot(distance):
        return row["power_W"] * absorptivity * cf.peak(**spot, **{direction: distance})[0] > NEEDED

    if not hot(0.0):
        return 0.0
    low, high = 0.0, 1e-3
    for _ in range(14):
        middle = (low + high) / 2
        low, high = (middle, high) if hot(middle) else (low, middle)
    return low


def rows():
    for row in csv.DictReader(open(HERE / "data.csv")):
        yield {key: float(value) for key, value in row.items()}


def judged():
    absorptivity = STEEL.optics_at("1064 nm").absorptivity.value
    table = []
    for row in rows():
        row["channel"] = row["depth_um"] > 0.5 * row["width_um"]
        row["width"], row["depth"] = 2e6 * reach(row, "y", absorptivity), 1e6 * reach(row, "z", absorptivity)
        table.append(row)
    return table


def results():
    table, found = judged(), {}
    for channel, name in ((False, "melted by conduction"), (True, "with a vapour channel")):
        for key in ("width", "depth"):
            some = [r for r in table if r["channel"] == channel]
            found[f"{key} of {len(some)} tracks {name}, median [um]"] = (
                statistics.median(r[key + "_um"] for r in some), statistics.median(r[key] for r in some),
                statistics.median(r[key] / r[key + "_um"] - 1 for r in some))
    return found


def plot(path):
    table = judged()

    import matplotlib
    matplotlib.use("Agg")
    from matplotlib import pyplot as plt

    figure, axes = plt.subplots(1, 2, figsize=(9, 4.2))
    for axis, key in zip(axes, ("width", "depth")):
        for channel, mark in ((False, "o"), (True, "x")):
            some = [r for r in table if r["channel"] == channel]
            axis.plot([r[key + "_um"] for r in some], [r[key] for r in some], mark, ms=4,
                      label="deeper than half its width" if channel else "melted by conduction")
        most = max(r[key + "_um"] for r in table)
        axis.plot([0, most], [0, most], "k-", lw=0.8)
        axis.set(xlabel=f"{key} measured [um]", ylabel=f"{key} computed [um]")
    axes[0].legend()
    figure.tight_layout()
    figure.savefig(path, dpi=80)


def main():
    table = judged()
    print("| rows | quantity | unit | published (median) | ours (median) | difference, median | 10 % to 90 % |")
    print("| --- | --- | --- | --- | --- | --- | --- |")
    for channel, name in ((False, "conduction"), (True, "vapour channel")):
        for key in ("width", "depth"):
            some = [r for r in table if r["channel"] == channel]
            off = sorted(r[key] / r[key + "_um"] - 1 for r in some)
            tenth = statistics.quantiles(off, n=10)
            print(f"| {len(some)} {name} | {key} | um | {statistics.median(r[key + '_um'] for r in some):.0f} | "
                  f"{statistics.median(r[key] for r in some):.0f} | {statistics.median(off):+.0%} | {tenth[0]:+.0%} to {tenth[-1]:+.0%} |")
    if "--plot" in sys.argv:
        plot(sys.argv[sys.argv.index("--plot") + 1])


if __name__ == "__main__":
    main()
