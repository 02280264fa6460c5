#!/usr/bin/env python3
"""Width and depth of molten tracks in nickel alloy 625: published values against the moving-spot solution.

As melt_tracks_316l, with the alloy's own figures from data.toml. Rows deeper than half their width (a vapour channel) are
marked and left out of the verdict.

    compare.py [--plot FILE]
"""

import pathlib
import statistics
import sys
import tomllib

import circumfluence as cf

DATA = tomllib.loads((pathlib.Path(__file__).resolve().parent / "data.toml").read_text())
METAL = DATA["metal"]
BODY = dict(conductivity=METAL["conductivity"],
            diffusivity=METAL["conductivity"] / (METAL["density"] * METAL["heat_capacity"]))
NEEDED = float(cf.linear_rise(at_start=METAL["conductivity"], slope=METAL["conductivity_slope"], rise=METAL["solidus"] - 293.15))


def per_watt(group, speed, **at):
    radius = DATA[group]["spot_diameter"] * 0.5e-6
    return cf.peak(along=radius, across=radius, speed=speed * 1e-3, **BODY, **at)[0]


def reach(group, power, speed, direction, absorptivity):
    low, high = 0.0, 1e-3
    if power * absorptivity * per_watt(group, speed) < NEEDED:
        return 0.0
    for _ in range(14):
        middle = (low + high) / 2
        low, high = (middle, high) if power * absorptivity * per_watt(group, speed, **{direction: middle}) > NEEDED else (low, middle)
    return 1e6 * low


def rows():
    """Group, power, speed, quantity, published [um], whether a vapour channel is open (None: depth not known)."""
    for group in ("benchmark", "benchmark_wide", "widths"):
        for power, speed, width, *depth in DATA[group]["tracks"]:
            channel = depth[0] > 0.5 * width if depth else None
            yield group, power, speed, "width", width, channel
            if depth:
                yield group, power, speed, "depth", depth[0], channel


def ours(row, absorptivity):
    group, power, speed, quantity, *_ = row
    return (2 if quantity == "width" else 1) * reach(group, power, speed, "y" if quantity == "width" else "z", absorptivity)


def results():
    table = [(row, ours(row, METAL["absorptivity"])) for row in rows()]
    solid = [(row, value, value / row[4] - 1) for row, value in table if not row[5]]
    worst = max(solid, key=lambda entry: abs(entry[2]))
    channel = [(row[4], value, value / row[4] - 1) for row, value in table if row[5] and row[3] == "depth"]
    return {
        f"width or depth, {len(solid)} values without a known vapour channel, median [um]": (
            statistics.median(row[4] for row, *_ in solid), statistics.median(value for _, value, _ in solid),
            statistics.median(off for *_, off in solid)),
        "the farthest of them [um]": (worst[0][4], worst[1], worst[2]),
        f"depth of {len(channel)} tracks with a vapour channel, median [um]": tuple(statistics.median(c[i] for c in channel) for i in range(3))}


def plot(path):
    import matplotlib
    matplotlib.use("Agg")
    from matplotlib import pyplot as plt

    figure, axis = plt.subplots(figsize=(5, 4.5))
    for quantity, mark in (("width", "o"), ("depth", "s")):
        some = [row for row in rows() if row[3] == quantity]
        axis.plot([r[4] for r in some], [ours(r, METAL["absorptivity"]) for r in some], mark, label=quantity)
    axis.plot([0, 290], [0, 290], "k-", lw=0.8)
    axis.set(xlabel="measured [um]", ylabel="computed [um]")
    axis.legend()
    figure.tight_layout()
    figure.savefig(path, dpi=90)


def main():
    print("| source | W | mm/s | quantity | published [um] | ours [um] | difference | remark |")
    print("| --- | --- | --- | --- | --- | --- | --- | --- |")
    differences = []
    for row in rows():
        first = ours(row, METAL["absorptivity"])
        if not row[5]:
            differences.append(first / row[4] - 1)
        remark = {True: "vapour channel", False: "", None: ""}[row[5]]
        print(f"| {row[0]} | {row[1]} | {row[2]} | {row[3]} | {row[4]} | {first:.0f} | {first / row[4] - 1:+.0%} | {remark} |")
    print(f"{len(differences)} without a known vapour channel: median {statistics.median(differences):+.0%}, "
          f"from {min(differences):+.0%} to {max(differences):+.0%}")
    if "--plot" in sys.argv:
        plot(sys.argv[sys.argv.index("--plot") + 1])


if __name__ == "__main__":
    main()
